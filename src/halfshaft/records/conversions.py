"""Which conversions are kept."""

from __future__ import annotations

from datetime import datetime

from halfshaft.model.conversion import Conversion
from halfshaft.records.database import Database
from halfshaft.records.values import Entry, Line


def create(db: Database, conversion: Conversion, *, by: str, at: datetime, reason: str = "brought in") -> Line:
    """Keep a new conversion; the main line that it starts. `line.conversion` is its ref in the records: that of its job, with a number where it is taken."""
    raise NotImplementedError


def conversions(db: Database) -> tuple[Entry, ...]:
    """All that are kept, by ref."""
    raise NotImplementedError


def entry(db: Database, ref: str) -> Entry:
    """One of them. Raises NotThere."""
    raise NotImplementedError
