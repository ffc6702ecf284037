"""Bringing a revision into a line on which others went on: merged with its head into a new one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection

from halfshaft.model.conversion import Conversion
from halfshaft.records import keeping, rows
from halfshaft.records.database import Database
from halfshaft.records.merge import Merged, merge
from halfshaft.records.revisions import read_conversion, read_tree
from halfshaft.records.values import Act, Cell, Choice, Line, Revision, Saved


def merge_in(
    db: Database,
    connection: Connection,
    line: Line,
    started: Revision,
    mine: Revision,
    conversion: Conversion,
    *,
    by: str,
    at: datetime,
    reason: str,
    choices: Mapping[Cell, Choice] | None = None,
    act: Act = "merge",
) -> Saved | Merged:
    """Put what changed from `started` to `mine` (whose content is `conversion`) on top of a line's head; or what stands in the way."""
    head = rows.find_revision(connection, line.head)
    theirs = read_conversion(db, connection, head)
    merged = merge(read_conversion(db, connection, started), theirs, conversion, choices)
    if merged.conversion is None:
        return merged
    packed = keeping.pack_like(merged.conversion, theirs, read_tree(connection, head.tree))
    if packed.tree == head.tree:
        return Saved(revision=head, line=line, merged=True)
    keeping.keep(connection, packed)
    both = rows.add_revision(connection, line.conversion, packed.tree, (head.id, mine.id), by=by, at=at, reason=reason)
    db.held.put(packed.tree, packed.conversion)
    return Saved(revision=both, line=rows.move(connection, line, both.id, act, by=both.by, at=at, note=both.reason), merged=True)
