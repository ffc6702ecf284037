"""Saving: on top of what stands where nobody was quicker, else merged with it, else kept beside it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection

from halfshaft.model.conversion import Conversion
from halfshaft.records import keeping, rows
from halfshaft.records.database import Database
from halfshaft.records.keeping import Packed
from halfshaft.records.merging import merge_in
from halfshaft.records.reads import as_read
from halfshaft.records.revisions import read_conversion, read_tree
from halfshaft.records.values import Conflict, Line, Revision, Saved


def save(db: Database, line_id: str, base: str, conversion: Conversion, *, by: str, at: datetime, reason: str) -> Saved | Conflict:
    """Keep an edited conversion on a line. `base` is the revision that the editor started from.

    Where the head is another by now, both sets of changes are merged cell by cell; where they touch the same cell, this one is kept
    on a line aside and a Conflict says which cells. So it is where the line was taken or dropped meanwhile. A save that changes nothing
    makes no revision and answers with the head.
    Raises InputError where the conversion would not read, NotThere.
    """
    with db.reading() as connection:
        line = rows.find_line(connection, line_id)
        started = rows.find_revision(connection, base)
        before = read_conversion(db, connection, started)
        hashes = read_tree(connection, started.tree)
        if line.head != base:
            read_conversion(db, connection, rows.find_revision(connection, line.head))  # held, for the merge to come
    rows.make_sure_same(started, line)
    # What takes time is done before anybody is made to wait.
    packed = keeping.pack_like(as_read(conversion, before), before, hashes)
    with db.writing() as connection:
        done = _save(db, connection, rows.find_line(connection, line_id), started, packed, by=by, at=at, reason=reason)
    if isinstance(done, Conflict) or not done.merged:
        db.held.put(packed.tree, packed.conversion)
    return done


def edit(
    db: Database, line_id: str, base: str, change: Callable[[Conversion], Conversion], *, by: str, at: datetime, reason: str
) -> Saved | Conflict:
    """Save what `change` makes of the conversion at `base`."""
    with db.reading() as connection:
        before = read_conversion(db, connection, rows.find_revision(connection, base))
    return save(db, line_id, base, change(before), by=by, at=at, reason=reason)


def _save(
    db: Database, connection: Connection, line: Line, started: Revision, packed: Packed, *, by: str, at: datetime, reason: str
) -> Saved | Conflict:
    head = rows.find_revision(connection, line.head)
    if packed.tree in (started.tree, head.tree):
        return Saved(revision=head, line=line, merged=head.tree != packed.tree)
    keeping.keep(connection, packed)
    mine = rows.add_revision(connection, line.conversion, packed.tree, (started.id,), by=by, at=at, reason=reason)
    if line.state == "open" and head.id == started.id:
        return Saved(revision=mine, line=rows.move(connection, line, mine.id, "save", by=mine.by, at=at, note=mine.reason))
    if line.state == "open":
        done = merge_in(db, connection, line, started, mine, packed.conversion, by=by, at=at, reason=reason)
        if isinstance(done, Saved):
            return done
        clashes, faults = done.clashes, done.faults
    else:
        clashes, faults = (), (f"{line.name} was {line.state} meanwhile, so this is kept beside it",)
    aside = rows.add_line(
        connection, line.conversion, kind="aside", name=f"kept aside for {mine.by}"[: rows.MAX_NAME], of=line.id,
        start=started.id, head=mine.id, by=mine.by, at=at,
    )  # fmt: skip
    return Conflict(line=line, aside=aside, base=started.id, theirs=head.id, mine=mine.id, clashes=clashes, faults=faults)
