"""Tables as they were typed: a revision as soon as they read, kept as they are until then."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from halfshaft.records.database import Database
from halfshaft.records.values import Conflict, Draft, Saved


def save_texts(
    db: Database, line_id: str, base: str, texts: Mapping[str, str], *, by: str, at: datetime, reason: str
) -> Saved | Conflict | Draft:
    """Save files of the folder (`wires.csv`) as typed over those of `base`, together with what this person's draft on this line holds.

    Where all of it reads, it is saved like any edit and the draft is gone; else it is kept as a Draft whose faults say what is wrong and where.
    A draft keeps the base on which it was begun: while there is one, `base` must be it (draft.base), else Moved.
    """
    raise NotImplementedError


def draft(db: Database, line_id: str, *, by: str) -> Draft | None:
    """What this person typed on this line that does not read yet."""
    raise NotImplementedError


def drop_draft(db: Database, line_id: str, *, by: str) -> None:
    """Give it up."""
    raise NotImplementedError
