"""What-ifs: lines of revisions that leave the main one, and are taken into it or dropped."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from halfshaft.records.database import Database
from halfshaft.records.values import Cell, Choice, Conflict, Line, Saved


def line(db: Database, line_id: str) -> Line:
    """One line. Raises NotThere."""
    raise NotImplementedError


def lines(db: Database, conversion: str) -> tuple[Line, ...]:
    """Every line of a conversion: the main one first, then by the time they were started; taken and dropped ones too, marked."""
    raise NotImplementedError


def start(db: Database, revision_id: str, name: str, *, by: str, at: datetime) -> Line:
    """Start a what-if from a revision."""
    raise NotImplementedError


def conflict(db: Database, line_id: str) -> Conflict | None:
    """What stands in the way of taking a line as things are now; None where nothing does."""
    raise NotImplementedError


def take(
    db: Database, line_id: str, *, theirs: str, by: str, at: datetime, reason: str = "", choices: Mapping[Cell, Choice] | None = None
) -> Saved | Conflict:
    """Merge a what-if, or what was kept aside, into the line that it left; it is marked taken.

    `theirs` is the head of that line as the person saw it (conflict.theirs). Cells that both changed want a choice each; where one has
    none, or the line has come to say something else in it since, the Conflict is answered again.
    """
    raise NotImplementedError


def drop(db: Database, line_id: str, *, by: str, at: datetime, reason: str = "") -> Line:
    """Mark a line dropped; its revisions stay. The main line cannot be dropped."""
    raise NotImplementedError
