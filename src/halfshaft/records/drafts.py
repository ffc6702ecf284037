"""Tables as they were typed: kept as they are, whether they read or not, until they are saved; each step of it can be taken back."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select, update

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
from halfshaft.records.values import Conflict, Draft, Moved, NotThere, RecordError, Revision, Saved

# How many steps of typing can be taken back.
MAX_UNDO = 200


def save_texts(
    db: Database, line_id: str, base: str, texts: Mapping[str, str], *, by: str, at: datetime, reason: str
) -> Saved | Conflict | Draft:
    """Save files of the folder (`wires.csv`) as typed over those of `base`, together with what this person's draft on this line holds.

    Where all of it reads, it is saved like any edit and the draft is gone; else it is kept as a Draft whose faults say what is wrong and
    where. Raises Moved as `type_over` does.
    """
    kept = type_over(db, line_id, base, texts, by=by, at=at)
    return kept if kept.faults else save_draft(db, line_id, by=by, author=by, at=at, reason=reason)


def type_over(db: Database, line_id: str, base: str, texts: Mapping[str, str], *, by: str, at: datetime) -> Draft:
    """Keep files as typed over those of `base`, with what this person's draft on this line holds, whether they read or not.

    Raises Moved where the draft was begun on another revision in which one of its tables was different: type on over draft.base.
    """
    _make_sure(texts)
    by = rows.checked(by, "author", rows.MAX_NAME)
    with db.writing() as connection:
        rows.make_sure_same(rows.find_revision(connection, base), rows.find_line(connection, line_id))
        kept = _find(connection, line_id, by)
        if kept is not None:
            if not _same_below(connection, kept.base, base, kept.texts):
                raise Moved("your draft was begun on an earlier revision, and its table was changed since", kept.base)
            texts = {**kept.texts, **texts}
        _keep(connection, line_id, base, texts, by=by, at=at)
    return _known(draft(db, line_id, by=by))


def draft(db: Database, line_id: str, *, by: str) -> Draft | None:
    """What this person typed on this line and did not save yet.

    It stands on the line's head where none of its tables was changed there since, else on the revision on which it was begun. Where
    it has no faults, it may be saved.
    """
    with db.reading() as connection:
        found = _read_draft(db, connection, line_id, by)
    return None if found is None else found[0]


def draft_conversion(db: Database, line_id: str, *, by: str) -> tuple[Draft, Conversion | None] | None:
    """The same, with the conversion that it makes; None where it does not read."""
    with db.reading() as connection:
        return _read_draft(db, connection, line_id, by)


def _read_draft(db: Database, connection: Connection, line_id: str, by: str) -> tuple[Draft, Conversion | None] | None:
    kept = _find(connection, line_id, by)
    if kept is None:
        return None
    head = rows.find_line(connection, line_id).head
    base = head if _same_below(connection, kept.base, head, kept.texts) else kept.base
    under = rows.find_revision(connection, base)
    # One who types asks for the same several times: for the grid, for what follows, for the next page.
    key = f"{under.tree} {kept.tree}"
    read = db.held.get(key) or _read(db, connection, under, kept.texts)
    if isinstance(read, Conversion):
        db.held.put(key, read)
        return replace(kept, base=base), read
    return replace(kept, base=base, faults=read), None


def save_draft(db: Database, line_id: str, *, by: str, author: str, at: datetime, reason: str) -> Saved | Conflict:
    """Save this person's draft like any edit, in the author's name; then it is gone. Raises InputError where it does not read, NotThere."""
    found = draft_conversion(db, line_id, by=by)
    if found is None:
        raise NotThere("there is no draft to save: nothing was typed since the last revision")
    kept, conversion = found
    if conversion is None:
        raise InputError(list(kept.faults))
    done = save(db, line_id, kept.base, conversion, by=author, at=at, reason=reason)
    with db.writing() as connection:
        # What was typed while this was saved stays.
        same = (tables.drafts.c.line == line_id) & (tables.drafts.c.by == by) & (tables.drafts.c.tree == kept.tree)
        connection.execute(delete(tables.drafts).where(same))
    return done


def undo_typing(db: Database, line_id: str, *, by: str, at: datetime) -> Draft:
    """Take back what was typed last. Raises RecordError where nothing was."""
    return _step(db, line_id, ("undo", "redo"), by=by, at=at)


def redo_typing(db: Database, line_id: str, *, by: str, at: datetime) -> Draft:
    """Type again what was taken back last. Raises RecordError where nothing was."""
    return _step(db, line_id, ("redo", "undo"), by=by, at=at)


def _step(db: Database, line_id: str, way: tuple[str, str], *, by: str, at: datetime) -> Draft:
    """One state from one of the two piles onto the draft, what stood there onto the other."""
    source, target = way
    with db.writing() as connection:
        mine = (tables.drafts.c.line == line_id) & (tables.drafts.c.by == by)
        row = connection.execute(select(tables.drafts).where(mine)).first()
        pile = getattr(row, source).split() if row is not None else []
        if row is None or not pile:
            raise RecordError(f"there is nothing to {source} in what you typed")
        values = {"tree": pile[0], source: " ".join(pile[1:]), target: _pile(row.tree, getattr(row, target)), "at": as_text(at)}
        connection.execute(update(tables.drafts).where(mine).values(**values))
    return _known(draft(db, line_id, by=by))


def _pile(tree: str, pile: str) -> str:
    return " ".join([tree, *pile.split()][:MAX_UNDO])


def _known(found: Draft | None) -> Draft:
    if found is None:
        raise NotThere("the draft was saved or given up at another window meanwhile; load the page again")
    return found


def drop_draft(db: Database, line_id: str, *, by: str) -> None:
    """Give it up."""
    with db.writing() as connection:
        connection.execute(delete(tables.drafts).where(tables.drafts.c.line == line_id, tables.drafts.c.by == by))


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
    return Draft(
        line=line_id, base=row.base, by=by, at=as_time(row.at), tree=row.tree, texts=texts, faults=(),
        can_undo=bool(row.undo), can_redo=bool(row.redo),
    )  # fmt: skip


def _keep(connection: Connection, line_id: str, base: str, texts: Mapping[str, str], *, by: str, at: datetime) -> None:
    """Put what was typed on top of what was typed before."""
    files = _as_bytes(texts)
    tree = blobs.tree_bytes({name: blobs.hash_of(data) for name, data in files.items()})
    nothing = blobs.tree_bytes({})
    blobs.put(connection, [*files.values(), tree, nothing])
    mine = (tables.drafts.c.line == line_id) & (tables.drafts.c.by == by)
    row = connection.execute(select(tables.drafts).where(mine)).first()
    before, pile = (row.tree, row.undo) if row is not None else (blobs.hash_of(nothing), "")
    key = blobs.hash_of(tree)
    values = {"base": base, "tree": key, "at": as_text(at)}
    if key != before:
        values |= {"undo": _pile(before, pile), "redo": ""}
    if row is None:
        connection.execute(insert(tables.drafts).values(line=line_id, by=by, **values))
    else:
        connection.execute(update(tables.drafts).where(mine).values(**values))
