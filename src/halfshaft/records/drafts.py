"""Tables as they were typed: a revision as soon as they read, kept as they are until then."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select

from halfshaft.errors import Fault, InputError
from halfshaft.files.folder import MAX_FILE_BYTES
from halfshaft.files.layout import HEAD_FILE, TOML_TABLES, csv_tables, file_of
from halfshaft.files.over import may_be_read_over, read_over
from halfshaft.model.conversion import Conversion
from halfshaft.records import blobs, carrying, rows, tables
from halfshaft.records.database import Database
from halfshaft.records.revisions import read_conversion, read_files, read_tree
from halfshaft.records.saving import save
from halfshaft.records.times import as_text, as_time
from halfshaft.records.values import Conflict, Draft, Moved, RecordError, Revision, Saved


def save_texts(
    db: Database, line_id: str, base: str, texts: Mapping[str, str], *, by: str, at: datetime, reason: str
) -> Saved | Conflict | Draft:
    """Save files of the folder (`wires.csv`) as typed over those of `base`, together with what this person's draft on this line holds.

    Where all of it reads, it is saved like any edit and the draft is gone; else it is kept as a Draft whose faults say what is wrong and
    where. Raises Moved where the draft was begun on another revision in which one of its tables was different: type on over draft.base.
    """
    _make_sure(texts)
    by = rows.checked(by, "author", rows.MAX_NAME)
    with db.reading() as connection:
        kept = _find(connection, line_id, by)
        if kept is not None:
            if not _same_below(connection, kept.base, base, kept.texts):
                raise Moved("your draft was begun on an earlier revision, and its table was changed since", kept.base)
            texts = {**kept.texts, **texts}
        under = rows.find_revision(connection, base)
        read = _read(db, connection, under, texts)
    if isinstance(read, Conversion):
        done = save(db, line_id, base, read, by=by, at=at, reason=reason)
        if kept is not None:
            drop_draft(db, line_id, by=by)
        return done
    with db.writing() as connection:
        rows.make_sure_same(rows.find_revision(connection, base), rows.find_line(connection, line_id))
        _keep(connection, line_id, base, texts, by=by, at=at)
    return Draft(line=line_id, base=base, by=by, at=at, texts=texts, faults=read)


def draft(db: Database, line_id: str, *, by: str) -> Draft | None:
    """What this person typed on this line that does not read yet.

    It stands on the line's head where none of its tables was changed there since, else on the revision on which it was begun. Where
    it has no faults, what it lacked has come since: save it, with no further texts.
    """
    with db.reading() as connection:
        kept = _find(connection, line_id, by)
        if kept is None:
            return None
        head = rows.find_line(connection, line_id).head
        base = head if _same_below(connection, kept.base, head, kept.texts) else kept.base
        read = _read(db, connection, rows.find_revision(connection, base), kept.texts)
    return Draft(
        line=line_id, base=base, by=kept.by, at=kept.at, texts=kept.texts, faults=() if isinstance(read, Conversion) else read
    )  # fmt: skip


def drop_draft(db: Database, line_id: str, *, by: str) -> None:
    """Give it up."""
    with db.writing() as connection:
        _forget(connection, line_id, by)


def _make_sure(texts: Mapping[str, str]) -> None:
    known = {HEAD_FILE, *(file_of(table) for table in (*TOML_TABLES, *csv_tables()))}
    for name, words in texts.items():
        if name not in known and not carrying.is_part_file(name):
            raise RecordError(f"no file of a conversion is called {name[:80]!r}")
        if len(words.encode(errors="surrogatepass")) > MAX_FILE_BYTES:
            raise RecordError(f"{name} is over {MAX_FILE_BYTES / 1e6:.0f} MB")


def _read(db: Database, connection: Connection, under: Revision, texts: Mapping[str, str]) -> Conversion | tuple[Fault, ...]:
    files = _as_bytes(texts)
    try:
        if all(map(may_be_read_over, files)):
            return read_over(read_conversion(db, connection, under), files)
        return carrying.from_files({**read_files(connection, under.tree), **files})
    except InputError as error:
        return error.faults


def _as_bytes(texts: Mapping[str, str]) -> dict[str, bytes]:
    # Half of a pair of surrogates, which a browser may send, is kept as typed; that it is no text is one of the faults.
    return {name: words.encode(errors="surrogatepass") for name, words in texts.items()}


def _same_below(connection: Connection, one: str, other: str, names: Collection[str]) -> bool:
    """Whether some files are the same in two revisions."""
    if one == other:
        return True
    trees = [read_tree(connection, rows.find_revision(connection, key).tree) for key in (one, other)]
    return all(trees[0].get(name) == trees[1].get(name) for name in names)


def _find(connection: Connection, line_id: str, by: str) -> Draft | None:
    row = connection.execute(select(tables.drafts).where(tables.drafts.c.line == line_id, tables.drafts.c.by == by)).first()
    if row is None:
        return None
    texts = {name: data.decode(errors="surrogatepass") for name, data in read_files(connection, row.tree).items()}
    return Draft(line=line_id, base=row.base, by=by, at=as_time(row.at), texts=texts, faults=())


def _keep(connection: Connection, line_id: str, base: str, texts: Mapping[str, str], *, by: str, at: datetime) -> None:
    files = _as_bytes(texts)
    tree = blobs.tree_bytes({name: blobs.hash_of(data) for name, data in files.items()})
    blobs.put(connection, [*files.values(), tree])
    _forget(connection, line_id, by)
    connection.execute(insert(tables.drafts).values(line=line_id, by=by, base=base, tree=blobs.hash_of(tree), at=as_text(at)))


def _forget(connection: Connection, line_id: str, by: str) -> None:
    connection.execute(delete(tables.drafts).where(tables.drafts.c.line == line_id, tables.drafts.c.by == by))
