"""Which conversions are kept."""

from __future__ import annotations

import tomllib
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from halfshaft.files.layout import HEAD_FILE
from halfshaft.model.conversion import Conversion
from halfshaft.records import blobs, keeping, rows, tables
from halfshaft.records.database import Database
from halfshaft.records.reads import as_read
from halfshaft.records.revisions import read_tree
from halfshaft.records.values import Entry, Line, NotThere

MAIN = "main"


def create(db: Database, conversion: Conversion, *, by: str, at: datetime, reason: str = "brought in") -> Line:
    """Keep a new conversion; the main line that it starts. `line.conversion` is its ref in the records: that of its job, with a number where it is taken."""
    packed = keeping.pack(as_read(conversion))
    with db.writing() as connection:
        ref = _free_ref(connection, packed.conversion.job.ref)
        connection.execute(insert(tables.conversions).values(ref=ref, main=""))
        keeping.keep(connection, packed)
        first = rows.add_revision(connection, ref, packed.tree, (), by=by, at=at, reason=reason)
        line = rows.add_line(connection, ref, kind="main", name=MAIN, of=None, start=first.id, head=first.id, by=first.by, at=at)
        connection.execute(tables.conversions.update().where(tables.conversions.c.ref == ref).values(main=line.id))
    db.held.put(packed.tree, packed.conversion)
    return line


def _free_ref(connection: Connection, ref: str) -> str:
    taken = set(connection.execute(select(tables.conversions.c.ref)).scalars())
    number = 1
    free = ref
    while free in taken:
        number += 1
        free = f"{ref}-{number}"
    return free


def conversions(db: Database) -> tuple[Entry, ...]:
    """All that are kept, by ref."""
    with db.reading() as connection:
        found = connection.execute(select(tables.conversions).order_by(tables.conversions.c.ref)).all()
        return tuple(_entry(connection, row) for row in found)


def entry(db: Database, ref: str) -> Entry:
    """One of them. Raises NotThere."""
    with db.reading() as connection:
        found = connection.execute(select(tables.conversions).where(tables.conversions.c.ref == ref)).first()
        if found is None:
            raise NotThere(f"no conversion is called {ref[:32]!r} in the records")
        return _entry(connection, found)


def _entry(connection: Connection, row: Any) -> Entry:
    head = rows.find_revision(connection, rows.find_line(connection, row.main).head)
    key = read_tree(connection, head.tree)[HEAD_FILE]
    job = tomllib.loads(blobs.get(connection, [key])[key].decode())["job"]
    return Entry(ref=row.ref, name=job["name"], main=row.main, head=head)
