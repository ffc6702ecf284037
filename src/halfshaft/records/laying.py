"""What is done at the bench, kept with the revision that it was done to. Only ever added to."""

from __future__ import annotations

from halfshaft.records.database import Database
from halfshaft.records.values import Step, Work


def record(db: Database, *steps: Step) -> int:
    """Keep steps as they come from the tablet; how many were new. One that is there already counts once, whoever sends it again."""
    raise NotImplementedError


def state(db: Database, revision_id: str, loom: str, work: Work) -> dict[str, Step]:
    """The latest step of each item of a loom, at this revision. An item that was taken back (open) is not among them."""
    raise NotImplementedError


def log(db: Database, conversion: str, *, loom: str | None = None) -> tuple[Step, ...]:
    """Every step of a conversion, of all its revisions, in the order in which they came in."""
    raise NotImplementedError
