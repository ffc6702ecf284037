"""Saving: on top of what stands where nobody was quicker, else merged with it, else kept beside it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from halfshaft.model.conversion import Conversion
from halfshaft.records.database import Database
from halfshaft.records.values import Conflict, Saved


def save(db: Database, line_id: str, base: str, conversion: Conversion, *, by: str, at: datetime, reason: str) -> Saved | Conflict:
    """Keep an edited conversion on a line. `base` is the revision that the editor started from.

    Where the head is another by now, both sets of changes are merged cell by cell; where they touch the same cell, this one is kept
    on a line aside and a Conflict says which cells. A save that changes nothing makes no revision and answers with the head.
    Raises InputError where the conversion would not read, NotThere, RecordError where the line is taken or dropped.
    """
    raise NotImplementedError


def edit(
    db: Database, line_id: str, base: str, change: Callable[[Conversion], Conversion], *, by: str, at: datetime, reason: str
) -> Saved | Conflict:
    """Save what `change` makes of the conversion at `base`."""
    raise NotImplementedError
