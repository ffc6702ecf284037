"""What-ifs: lines of revisions that leave the main one, and are taken into it or dropped."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, select

from halfshaft.records import rows, tables
from halfshaft.records.database import Database
from halfshaft.records.merge import Merged, merge
from halfshaft.records.merging import merge_in
from halfshaft.records.revisions import read_conversion
from halfshaft.records.values import Cell, Choice, Conflict, Line, RecordError, Saved


def line(db: Database, line_id: str) -> Line:
    """One line. Raises NotThere."""
    with db.reading() as connection:
        return rows.find_line(connection, line_id)


def lines(db: Database, conversion: str) -> tuple[Line, ...]:
    """Every line of a conversion: the main one first, then by the time they were started; taken and dropped ones too, marked."""
    asked = select(tables.lines).where(tables.lines.c.conversion == conversion).order_by(tables.lines.c.at, tables.lines.c.id)
    with db.reading() as connection:
        found = [rows.line_of(row) for row in connection.execute(asked)]
    return tuple(sorted(found, key=lambda item: item.kind != "main"))


def start(db: Database, line_id: str, name: str, *, by: str, at: datetime, revision_id: str | None = None) -> Line:
    """Start a what-if from the head of a line, or from another revision of the same conversion."""
    with db.writing() as connection:
        of = rows.find_line(connection, line_id)
        kept = rows.find_revision(connection, revision_id or of.head)
        rows.make_sure_same(kept, of)
        return rows.add_line(
            connection, kept.conversion, kind="what-if", name=name, of=of.id, start=kept.id, head=kept.id,
            by=rows.checked(by, "author", rows.MAX_NAME), at=at,
        )  # fmt: skip


def conflict(db: Database, line_id: str) -> Conflict | None:
    """What stands in the way of taking a line as things are now; None where nothing does."""
    with db.reading() as connection:
        aside = _to_take(connection, line_id)
        into = _into(connection, aside)
        merged = _merged(db, connection, aside, into.head, {})
    return None if merged.conversion is not None else _conflict(into, aside, merged)


def take(
    db: Database, line_id: str, *, theirs: str, by: str, at: datetime, reason: str = "", choices: Mapping[Cell, Choice] | None = None
) -> Saved | Conflict:
    """Merge a what-if, or what was kept aside, into the line that it left; it is marked taken.

    `theirs` is the head of that line as the person saw it (conflict.theirs). Cells that both changed want a choice each; where one has
    none, or the line has come to say something else in it since, the Conflict is answered again. Where the line that it left is itself
    taken or dropped, it goes into the one that that left.
    """
    with db.writing() as connection:
        aside = _to_take(connection, line_id)
        into = _into(connection, aside)
        choices = _still_good(db, connection, aside, into, theirs, choices or {})
        mine = rows.find_revision(connection, aside.head)
        done = merge_in(
            db, connection, into, rows.find_revision(connection, aside.started_from), mine, read_conversion(db, connection, mine),
            by=by, at=at, reason=reason.strip() or f"took {aside.name}", choices=choices, act="take",
        )  # fmt: skip
        if isinstance(done, Merged):
            return _conflict(into, aside, done)
        rows.mark(connection, aside, "taken", "take", by=by, at=at, note=reason)
        return done


def drop(db: Database, line_id: str, *, by: str, at: datetime, reason: str = "") -> Line:
    """Mark a line dropped; its revisions stay. The main line cannot be dropped."""
    with db.writing() as connection:
        return rows.mark(connection, _to_take(connection, line_id), "dropped", "drop", by=by, at=at, note=reason)


def _to_take(connection: Connection, line_id: str) -> Line:
    found = rows.find_line(connection, line_id)
    if found.kind == "main":
        raise RecordError("the main line is neither taken nor dropped: it is what the others are taken into")
    rows.make_sure_open(found)
    return found


def _into(connection: Connection, aside: Line) -> Line:
    """The nearest line below that still goes on; the main one always does."""
    assert aside.of is not None, "only the main line left no other"
    below = rows.find_line(connection, aside.of)
    return below if below.state == "open" else _into(connection, below)


def _merged(db: Database, connection: Connection, aside: Line, theirs: str, choices: Mapping[Cell, Choice]) -> Merged:
    base, head, mine = (
        read_conversion(db, connection, rows.find_revision(connection, key)) for key in (aside.started_from, theirs, aside.head)
    )
    return merge(base, head, mine, choices)


def _still_good(
    db: Database, connection: Connection, aside: Line, into: Line, seen: str, choices: Mapping[Cell, Choice]
) -> Mapping[Cell, Choice]:
    """The choices that were made knowing what the line says now."""
    if seen == into.head or not choices:
        return choices
    rows.make_sure_same(rows.find_revision(connection, seen), into)
    was, now = ({clash.cell: clash for clash in _merged(db, connection, aside, head, {}).clashes} for head in (seen, into.head))
    return {cell: choice for cell, choice in choices.items() if cell in now and was.get(cell) == now[cell]}


def _conflict(into: Line, aside: Line, merged: Merged) -> Conflict:
    return Conflict(
        line=into, aside=aside, base=aside.started_from, theirs=into.head, mine=aside.head, clashes=merged.clashes, faults=merged.faults
    )
