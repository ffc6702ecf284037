"""Revisions and lines as rows of the database, there and back. Every function works within the transaction that it is handed."""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select, update

from halfshaft.records import tables
from halfshaft.records.blobs import hash_of
from halfshaft.records.times import as_text, as_time
from halfshaft.records.values import Act, Line, LineKind, LineState, NotThere, RecordError, Revision

MAX_NAME = 200
MAX_REASON = 2_000


def revision_id(conversion: str, tree: str, parents: Sequence[str], *, by: str, at: str, reason: str) -> str:
    """The hash over all that a revision says."""
    return hash_of(json.dumps([conversion, tree, list(parents), by, at, reason], ensure_ascii=False).encode())


def add_revision(
    connection: Connection, conversion: str, tree: str, parents: Sequence[str], *, by: str, at: datetime, reason: str
) -> Revision:
    """Keep a revision whose files are kept already. The very same one is there once, however often it is sent."""
    said = {"by": checked(by, "author", MAX_NAME), "at": as_text(at), "reason": reason.strip()[:MAX_REASON]}
    key = revision_id(conversion, tree, parents, **said)
    if connection.execute(select(tables.revisions.c.id).where(tables.revisions.c.id == key)).first() is None:
        connection.execute(insert(tables.revisions).values(id=key, conversion=conversion, tree=tree, **said))
        if parents:
            rows = [{"revision": key, "place": place, "parent": parent} for place, parent in enumerate(parents)]
            connection.execute(insert(tables.parents), rows)
    return find_revision(connection, key)


def find_revision(connection: Connection, key: str) -> Revision:
    """A revision by its id, or the beginning of it. Raises NotThere."""
    column = tables.revisions.c.id
    is_short = 8 <= len(key) < 64 and set(key) <= set("0123456789abcdef")
    which = column.startswith(key) if is_short else column == key
    found = connection.execute(select(tables.revisions).where(which).limit(2)).all()
    if len(found) != 1:
        raise NotThere(
            f"there is no revision {key[:64]!r}" if not found else f"more than one revision begins with {key!r}: give more of it"
        )
    row = found[0]
    asked = select(tables.parents.c.parent).where(tables.parents.c.revision == row.id).order_by(tables.parents.c.place)
    return revision_of(row, connection.execute(asked).scalars().all())


def revision_of(row: Any, parents: Sequence[str]) -> Revision:
    """A revision from its row and those of its parents."""
    return Revision(
        id=row.id, conversion=row.conversion, tree=row.tree, parents=tuple(parents), by=row.by, at=as_time(row.at), reason=row.reason
    )  # fmt: skip


def add_line(
    connection: Connection, conversion: str, *, kind: LineKind, name: str, of: str | None, start: str, head: str, by: str, at: datetime
) -> Line:
    """Start a line at a revision; its head may be further on already."""
    key = secrets.token_hex(6)
    connection.execute(
        insert(tables.lines).values(
            id=key, conversion=conversion, kind=kind, name=checked(name, "name", MAX_NAME), state="open", of=of,
            started_from=start, head=head, redo="", by=by, at=as_text(at),
        )
    )  # fmt: skip
    log(connection, key, "start", before=None, after=head, by=by, at=at, note=name)
    return find_line(connection, key)


def find_line(connection: Connection, key: str) -> Line:
    """A line by its id. Raises NotThere."""
    found = connection.execute(select(tables.lines).where(tables.lines.c.id == key)).first()
    if found is None:
        raise NotThere(f"there is no line {key[:32]!r}")
    return line_of(found)


def line_of(row: Any) -> Line:
    """A line from its row."""
    return Line(
        id=row.id, conversion=row.conversion, kind=row.kind, name=row.name, state=row.state, of=row.of, started_from=row.started_from,
        head=row.head, redo=tuple(row.redo.split()), can_undo=row.head != row.started_from, by=row.by, at=as_time(row.at),
    )  # fmt: skip


def move(
    connection: Connection, line: Line, head: str, act: Act, *, by: str, at: datetime, redo: Sequence[str] = (), note: str = ""
) -> Line:
    """Put the head of a line elsewhere, and say so in its log."""
    connection.execute(update(tables.lines).where(tables.lines.c.id == line.id).values(head=head, redo=" ".join(redo)))
    log(connection, line.id, act, before=line.head, after=head, by=by, at=at, note=note)
    return find_line(connection, line.id)


def mark(connection: Connection, line: Line, state: LineState, act: Act, *, by: str, at: datetime, note: str) -> Line:
    """Mark a line taken or dropped, and say so in its log."""
    connection.execute(update(tables.lines).where(tables.lines.c.id == line.id).values(state=state))
    log(connection, line.id, act, before=line.head, after=line.head, by=by, at=at, note=note)
    return find_line(connection, line.id)


def log(connection: Connection, line: str, act: Act, *, before: str | None, after: str, by: str, at: datetime, note: str) -> None:
    """One more line in the log of a line."""
    connection.execute(insert(tables.moves).values(line=line, act=act, before=before, after=after, by=by, at=as_text(at), note=note))


def checked(text: str, what: str, longest: int) -> str:
    """A text that may be kept: something, on one line, not too long. Raises RecordError."""
    text = text.strip()
    if not text or len(text) > longest or not text.isprintable():
        raise RecordError(f"the {what} must be 1 to {longest} characters on one line")
    return text


def make_sure_open(line: Line) -> None:
    """Raises RecordError where a line was taken or dropped."""
    if line.state != "open":
        raise RecordError(f"{line.name} was {line.state} already; start another what-if from its last revision to go on")


def make_sure_same(kept: Revision, line: Line) -> None:
    """Raises RecordError where a revision is of another conversion than a line."""
    if kept.conversion != line.conversion:
        raise RecordError(f"revision {kept.id[:12]} is of {kept.conversion}, this line of {line.conversion}")
