"""Undo, redo, go back: the head of a line moves; every revision stays.

Each wants the head that the person saw, and raises Moved where another stands there by now, so that nobody undoes what he has not seen.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from halfshaft.records import rows
from halfshaft.records.database import Database
from halfshaft.records.values import Line, Moved, RecordError, Saved


def undo(db: Database, line_id: str, head: str, *, by: str, at: datetime) -> Line:
    """Move the head to the revision before it on this line. Raises RecordError at the start of the line."""
    with db.writing() as connection:
        line = _as_seen(connection, line_id, head)
        if not line.can_undo:
            raise RecordError("there is nothing to undo: this is where the line starts")
        before = rows.find_revision(connection, head).parents[0]
        return rows.move(connection, line, before, "undo", by=by, at=at, redo=(head, *line.redo))


def redo(db: Database, line_id: str, head: str, *, by: str, at: datetime) -> Line:
    """Move the head to the revision that was undone last. Raises RecordError where there is none: a save after an undo leaves nothing to redo."""
    with db.writing() as connection:
        line = _as_seen(connection, line_id, head)
        if not line.redo:
            raise RecordError("there is nothing to redo")
        return rows.move(connection, line, line.redo[0], "redo", by=by, at=at, redo=line.redo[1:])


def go_back(db: Database, line_id: str, head: str, revision_id: str, *, by: str, at: datetime, reason: str = "") -> Saved:
    """A new revision equal to an old one, of any line of the same conversion; itself undone like any other."""
    with db.writing() as connection:
        line = _as_seen(connection, line_id, head)
        old = rows.find_revision(connection, revision_id)
        rows.make_sure_same(old, line)
        if old.tree == rows.find_revision(connection, head).tree:
            return Saved(revision=rows.find_revision(connection, head), line=line)
        why = reason.strip() or f"back to {old.id[:8]}: {old.reason}"
        new = rows.add_revision(connection, line.conversion, old.tree, (head,), by=by, at=at, reason=why)
        return Saved(revision=new, line=rows.move(connection, line, new.id, "go back", by=new.by, at=at, note=new.reason))


def _as_seen(connection: Connection, line_id: str, head: str) -> Line:
    line = rows.find_line(connection, line_id)
    rows.make_sure_open(line)
    if line.head != head:
        raise Moved("somebody saved since this page was read; look at what changed first", line.head)
    return line
