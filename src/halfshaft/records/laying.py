"""What is done at the bench, kept with the revision that it was done to. Only ever added to."""

from __future__ import annotations

from typing import Any, get_args

from sqlalchemy import Select, insert, select

from halfshaft.records import rows, tables
from halfshaft.records.database import Database
from halfshaft.records.times import as_text, as_time
from halfshaft.records.values import Done, RecordError, Step, Work

MAX_ID = 64
MAX_NOTE = 2_000


def record(db: Database, *steps: Step) -> int:
    """Keep steps as they come from the tablet; how many were new. One that is there already counts once, whoever sends it again."""
    for step in steps:
        _make_sure(step)
    new = 0
    with db.writing() as connection:
        for step in steps:
            rows.find_revision(connection, step.revision)
            if connection.execute(select(tables.steps.c.id).where(tables.steps.c.id == step.id)).first() is not None:
                continue
            connection.execute(
                insert(tables.steps).values(
                    id=step.id, revision=step.revision, loom=step.loom, work=step.work, item=step.item, state=step.state,
                    by=step.by, at=as_text(step.at), note=step.note,
                )
            )  # fmt: skip
            new += 1
    return new


def _make_sure(step: Step) -> None:
    rows.checked(step.id, "step's id", MAX_ID)
    for words, what in ((step.loom, "loom"), (step.item, "wire or pair"), (step.by, "name of who did it")):
        rows.checked(words, what, rows.MAX_NAME)
    if step.work not in get_args(Work) or step.state not in get_args(Done) or len(step.note) > MAX_NOTE:
        raise RecordError(f"a step lays or tests, is done, a problem or open again, and its note has at most {MAX_NOTE} characters")


def state(db: Database, revision_id: str, loom: str, work: Work) -> dict[str, Step]:
    """The latest step of each item of a loom, at this revision. An item that was taken back (open) is not among them."""
    columns = tables.steps.c
    found = _steps(db, select(tables.steps).where(columns.revision == revision_id, columns.loom == loom, columns.work == work))
    return {step.item: step for step in {step.item: step for step in found}.values() if step.state != "open"}


def log(db: Database, conversion: str, *, loom: str | None = None) -> tuple[Step, ...]:
    """Every step of a conversion, of all its revisions, in the order in which they came in."""
    asked = select(tables.steps).join(tables.revisions).where(tables.revisions.c.conversion == conversion)
    return _steps(db, asked if loom is None else asked.where(tables.steps.c.loom == loom))


def _steps(db: Database, asked: Select[Any]) -> tuple[Step, ...]:
    with db.reading() as connection:
        found = connection.execute(asked.order_by(tables.steps.c.number)).all()
    return tuple(
        Step(
            id=row.id, revision=row.revision, loom=row.loom, work=row.work, item=row.item, state=row.state,
            by=row.by, at=as_time(row.at), note=row.note,
        )
        for row in found
    )  # fmt: skip
