"""The database: opened by its address, brought up to the present schema, written by one at a time and safely."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Connection


def open_database(url: str) -> Database:
    """The database at an address such as `sqlite:////home/shop/halfshaft.db` or `postgresql://..`; made where it is not there yet.

    Raises RecordError where it cannot be opened or was made by a later Halfshaft.
    """
    raise NotImplementedError


class Database:
    """An open database. May be used by several threads at once, and by several processes each with its own."""

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one state of the database, and changes nothing."""
        raise NotImplementedError

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A connection that alone may write; what it wrote is on the disk when this ends, or nothing of it where it fails."""
        raise NotImplementedError

    def close(self) -> None:
        """Let go of the files."""
        raise NotImplementedError
