"""Findings that somebody has looked at and lets stand, by name and with a reason. Only ever added to.

A waiver is of one finding as it reads: its rule, what it is about, and its sentence with the figures in it. Where the sentence comes to say
something else, because the figure got worse or better, the waiver no longer holds, and somebody has to look again.
"""

from __future__ import annotations

import json
from datetime import datetime

from sqlalchemy import Connection, insert, select

from halfshaft.model.finding import Finding
from halfshaft.records import rows, tables
from halfshaft.records.database import Database
from halfshaft.records.times import as_text, as_time
from halfshaft.records.values import NotThere, Waiver


def waive(db: Database, revision_id: str, finding: Finding, *, by: str, at: datetime, reason: str) -> Waiver:
    """Let a finding of a revision stand, in all revisions of its conversion in which it reads the same."""
    return _say(db, revision_id, finding, stands=True, by=by, at=at, reason=reason)


def withdraw(db: Database, revision_id: str, finding: Finding, *, by: str, at: datetime, reason: str) -> Waiver:
    """Take a waiver back. Raises NotThere where there is none."""
    return _say(db, revision_id, finding, stands=False, by=by, at=at, reason=reason)


def waivers(db: Database, conversion: str) -> tuple[Waiver, ...]:
    """Those that stand."""
    return _standing(log(db, conversion))


def waiver_of(standing: tuple[Waiver, ...], finding: Finding) -> Waiver | None:
    """The waiver of a finding among those that stand, or None."""
    said = (finding.rule, finding.about, finding.text)
    return next((waiver for waiver in standing if (waiver.rule, waiver.about, waiver.text) == said), None)


def log(db: Database, conversion: str) -> tuple[Waiver, ...]:
    """Everything that was waived and taken back, in that order."""
    with db.reading() as connection:
        return _log(connection, conversion)


def _say(db: Database, revision_id: str, finding: Finding, *, stands: bool, by: str, at: datetime, reason: str) -> Waiver:
    by = rows.checked(by, "name of who waives it", rows.MAX_NAME)
    reason = rows.checked(reason, "reason", rows.MAX_REASON)
    with db.writing() as connection:
        kept = rows.find_revision(connection, revision_id)
        if not stands and waiver_of(_standing(_log(connection, kept.conversion)), finding) is None:
            raise NotThere("this finding is not waived")
        connection.execute(
            insert(tables.waivers).values(
                conversion=kept.conversion, rule=finding.rule, about=json.dumps(finding.about), text=finding.text,
                revision=kept.id, stands=stands, by=by, at=as_text(at), reason=reason,
            )
        )  # fmt: skip
        return _log(connection, kept.conversion)[-1]


def _log(connection: Connection, conversion: str) -> tuple[Waiver, ...]:
    asked = select(tables.waivers).where(tables.waivers.c.conversion == conversion).order_by(tables.waivers.c.number)
    return tuple(
        Waiver(
            rule=row.rule, about=tuple(json.loads(row.about)), text=row.text, revision=row.revision, stands=row.stands,
            by=row.by, at=as_time(row.at), reason=row.reason,
        )
        for row in connection.execute(asked)
    )  # fmt: skip


def _standing(said: tuple[Waiver, ...]) -> tuple[Waiver, ...]:
    latest = {(waiver.rule, waiver.about, waiver.text): waiver for waiver in said}
    return tuple(waiver for waiver in latest.values() if waiver.stands)
