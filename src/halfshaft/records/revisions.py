"""What is kept: revisions, their files and their history. Nothing here changes anything."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Connection, literal, select, text

from halfshaft.model.conversion import Conversion
from halfshaft.records import blobs, carrying, rows, tables
from halfshaft.records.database import Database
from halfshaft.records.times import as_text, as_time
from halfshaft.records.values import Move, RecordError, Revision


def revision(db: Database, revision_id: str) -> Revision:
    """One revision, by its id or the first 8 or more characters of it. Raises NotThere."""
    with db.reading() as connection:
        return rows.find_revision(connection, revision_id)


def conversion_at(db: Database, revision_id: str) -> Conversion:
    """The conversion as it was then. The latest ones asked for are held in memory, so asking again costs nothing."""
    with db.reading() as connection:
        return read_conversion(db, connection, rows.find_revision(connection, revision_id))


def read_conversion(db: Database, connection: Connection, kept: Revision) -> Conversion:
    """The same, within a transaction that is open already."""
    held = db.held.get(kept.tree)
    if held is None:
        held = carrying.from_files(read_files(connection, kept.tree))
        db.held.put(kept.tree, held)
    return held


def files_at(db: Database, revision_id: str) -> dict[str, bytes]:
    """The files of its folder, by name, byte for byte as they were kept."""
    with db.reading() as connection:
        return read_files(connection, rows.find_revision(connection, revision_id).tree)


def read_tree(connection: Connection, tree: str) -> dict[str, str]:
    """The hash of each file of a list, by its name."""
    return blobs.tree_of(blobs.get(connection, [tree])[tree])


def read_files(connection: Connection, tree: str) -> dict[str, bytes]:
    """The files of a list, by name."""
    hashes = read_tree(connection, tree)
    found = blobs.get(connection, hashes.values())
    return {name: found[key] for name, key in hashes.items()}


def history(db: Database, revision_id: str, *, limit: int = 200) -> tuple[Revision, ...]:
    """A revision and what it was made from, latest first: the first parent of each, back to the start."""
    parents = tables.parents.c
    with db.reading() as connection:
        start = rows.find_revision(connection, revision_id)
        chain = select(literal(start.id).label("id"), literal(0).label("depth")).cte(recursive=True)
        before = select(parents.parent, chain.c.depth + 1).where(
            parents.revision == chain.c.id, parents.place == 0, chain.c.depth + 1 < limit
        )
        chain = chain.union_all(before)
        of = connection.execute(select(tables.parents).join(chain, chain.c.id == parents.revision).order_by(parents.place)).all()
        found = connection.execute(select(tables.revisions).join(chain, chain.c.id == tables.revisions.c.id).order_by(chain.c.depth)).all()
    by_revision: dict[str, tuple[str, ...]] = {}
    for row in of:
        by_revision[row.revision] = (*by_revision.get(row.revision, ()), row.parent)
    return tuple(rows.revision_of(row, by_revision.get(row.id, ())) for row in found)


def moves(db: Database, line_id: str, *, limit: int = 200) -> tuple[Move, ...]:
    """The log of a line, latest first: nothing that was ever its head is missing, undone or not."""
    with db.reading() as connection:
        rows.find_line(connection, line_id)
        asked = select(tables.moves).where(tables.moves.c.line == line_id).order_by(tables.moves.c.number.desc()).limit(limit)
        found = connection.execute(asked).all()
    return tuple(
        Move(
            number=row.number, line=row.line, act=row.act, before=row.before, after=row.after,
            by=row.by, at=as_time(row.at), note=row.note,
        )
        for row in found
    )  # fmt: skip


def faults_of_records(db: Database) -> tuple[str, ...]:
    """Sentences on whatever is not whole: a hash that does not fit, a file or parent that is missing. None in a sound database."""
    with db.reading() as connection:
        return tuple(_faults(connection))


def _faults(connection: Connection) -> Iterator[str]:
    if connection.dialect.name == "sqlite":
        said = connection.execute(text("PRAGMA integrity_check")).scalars().all()
        yield from (f"SQLite says: {words}" for words in said if words != "ok")
        for row in connection.execute(text("PRAGMA foreign_key_check")).all():
            yield f"a row of {row[0]} names one of {row[2]} that is missing"
    for key in connection.execute(select(tables.revisions.c.id).order_by(tables.revisions.c.id)).scalars().all():
        kept = rows.find_revision(connection, key)
        if key != rows.revision_id(kept.conversion, kept.tree, kept.parents, by=kept.by, at=as_text(kept.at), reason=kept.reason):
            yield f"revision {key[:12]} is not what it was"
        try:
            read_files(connection, kept.tree)
        except RecordError as error:
            yield f"revision {key[:12]}: {error}"
