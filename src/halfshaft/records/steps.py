"""Undo, redo, go back: the head of a line moves; every revision stays.

Each wants the head that the person saw, and raises Moved where another stands there by now, so that nobody undoes what he has not seen.
"""

from __future__ import annotations

from datetime import datetime

from halfshaft.records.database import Database
from halfshaft.records.values import Line, Saved


def undo(db: Database, line_id: str, head: str, *, by: str, at: datetime) -> Line:
    """Move the head to the revision before it on this line. Raises RecordError at the start of the line."""
    raise NotImplementedError


def redo(db: Database, line_id: str, head: str, *, by: str, at: datetime) -> Line:
    """Move the head to the revision that was undone last. Raises RecordError where there is none: a save after an undo leaves nothing to redo."""
    raise NotImplementedError


def go_back(db: Database, line_id: str, head: str, revision_id: str, *, by: str, at: datetime, reason: str = "") -> Saved:
    """A new revision equal to an old one, of any line of the same conversion; itself undone like any other."""
    raise NotImplementedError
