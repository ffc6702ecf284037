"""What is kept: revisions, their files and their history. Nothing here changes anything."""

from __future__ import annotations

from halfshaft.model.conversion import Conversion
from halfshaft.records.database import Database
from halfshaft.records.values import Move, Revision


def revision(db: Database, revision_id: str) -> Revision:
    """One revision, by its id or the first 8 or more characters of it. Raises NotThere."""
    raise NotImplementedError


def conversion_at(db: Database, revision_id: str) -> Conversion:
    """The conversion as it was then. The latest ones asked for are held in memory, so asking again costs nothing."""
    raise NotImplementedError


def files_at(db: Database, revision_id: str) -> dict[str, bytes]:
    """The files of its folder, by name, byte for byte as they were kept."""
    raise NotImplementedError


def history(db: Database, revision_id: str, *, limit: int = 200) -> tuple[Revision, ...]:
    """A revision and what it was made from, latest first: the first parent of each, back to the start."""
    raise NotImplementedError


def moves(db: Database, line_id: str, *, limit: int = 200) -> tuple[Move, ...]:
    """The log of a line, latest first: nothing that was ever its head is missing, undone or not."""
    raise NotImplementedError


def faults_of_records(db: Database) -> tuple[str, ...]:
    """Sentences on whatever is not whole: a hash that does not fit, a file or parent that is missing. None in a sound database."""
    raise NotImplementedError
