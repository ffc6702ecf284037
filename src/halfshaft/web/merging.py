"""The HTTP API of revisions: their list, going back, what-ifs, and two sets of changes put together."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Body, Path, Request
from pydantic import BaseModel

from halfshaft.records import lines, revisions, steps
from halfshaft.records.values import Cell, Conflict, Line, RecordError
from halfshaft.web.answers import LineOut, RevisionOut
from halfshaft.web.api import OnLine, Ref, ShelfHere
from halfshaft.web.doors import by_of, session_of
from halfshaft.web.shelf import Shelf, now

router = APIRouter(prefix="/api/conversions/{ref}", tags=["revisions"])
LineHere = Annotated[str, Path(pattern=r"^[0-9a-f]{12}$", description="a what-if, or what was kept aside")]
Name = Annotated[str, Body(embed=True, max_length=80)]
Words = Annotated[str, Body(embed=True, max_length=500)]


class ClashOut(BaseModel):
    """A cell that two people changed to different things; `cell` is its name in a choice."""

    cell: str
    table: str
    key: str
    field: str
    base: str | None
    theirs: str | None
    mine: str | None


class ConflictOut(BaseModel):
    """Two sets of changes that touch the same cells: yours is kept on a line aside until each cell has a choice."""

    line: str
    aside: str
    base: str
    theirs: str
    mine: str
    clashes: list[ClashOut]
    faults: list[str]


class WhatIfOut(BaseModel):
    """A line of revisions: the main one, a what-if, or what was kept aside."""

    id: str
    kind: str
    name: str
    state: str
    by: str
    at: datetime
    head: RevisionOut


class MovedOut(BaseModel):
    """One act in the log of a line."""

    act: str
    after: str
    by: str
    at: datetime
    note: str


class TakenOut(BaseModel):
    """A line that was taken into the one that it left; or what stands in the way."""

    revision: RevisionOut | None
    conflict: ConflictOut | None


def conflict_out(conflict: Conflict) -> ConflictOut:
    """A conflict for a page."""
    clashes = [
        ClashOut(
            cell=str(item.cell), table=item.cell.table, key=item.cell.key, field=item.cell.field,
            base=item.base, theirs=item.theirs, mine=item.mine,
        )
        for item in conflict.clashes
    ]  # fmt: skip
    return ConflictOut(
        line=conflict.line.id, aside=conflict.aside.id, base=conflict.base, theirs=conflict.theirs, mine=conflict.mine,
        clashes=clashes, faults=list(conflict.faults),
    )  # fmt: skip


def what_if_out(shelf: Shelf, line: Line) -> WhatIfOut:
    """A line for a page."""
    head = RevisionOut.of(revisions.revision(shelf.db, line.head))
    return WhatIfOut(id=line.id, kind=line.kind, name=line.name, state=line.state, by=line.by, at=line.at, head=head)


@router.get("/revisions")
def history(shelf: ShelfHere, line: OnLine) -> list[RevisionOut]:
    """The revisions of a line, the latest first, with author, time and reason."""
    return [RevisionOut.of(item) for item in revisions.history(shelf.db, line.head)]


@router.get("/moves")
def log(shelf: ShelfHere, line: OnLine) -> list[MovedOut]:
    """Everything that was done on a line, the latest first: saved, undone, redone, gone back."""
    return [MovedOut(act=item.act, after=item.after, by=item.by, at=item.at, note=item.note) for item in revisions.moves(shelf.db, line.id)]


@router.post("/go-back", status_code=201)
def go_back(
    request: Request,
    shelf: ShelfHere,
    line: OnLine,
    head: Annotated[str, Body(embed=True)],
    to: Annotated[str, Body(embed=True)],
    reason: Words = "",
    by: Name = "",
) -> RevisionOut:
    """A new revision that is equal to an older one; `head` is the one that you saw."""
    return RevisionOut.of(steps.go_back(shelf.db, line.id, head, to, by=_author(request, by), at=now(), reason=reason).revision)


@router.get("/lines")
def all_lines(shelf: ShelfHere, ref: Ref) -> list[WhatIfOut]:
    """The main line, the what-ifs, and what was kept aside."""
    main = shelf.line(ref)
    return [what_if_out(shelf, item) for item in lines.lines(shelf.db, main.conversion)]


@router.post("/lines", status_code=201)
def start(
    request: Request, shelf: ShelfHere, line: OnLine, name: Words, by: Name = "", at: Annotated[str | None, Body(embed=True)] = None
) -> WhatIfOut:
    """Start a what-if from the head of a line, or from the revision `at`."""
    return what_if_out(shelf, lines.start(shelf.db, line.id, name, by=_author(request, by), at=now(), revision_id=at))


@router.get("/lines/{which}/conflict")
def conflict(shelf: ShelfHere, ref: Ref, which: LineHere) -> ConflictOut | None:
    """What stands in the way of taking a line; nothing where nothing does."""
    found = lines.conflict(shelf.db, shelf.line(ref, which).id)
    return None if found is None else conflict_out(found)


@router.post("/lines/{which}/take")
def take(
    request: Request,
    shelf: ShelfHere,
    ref: Ref,
    which: LineHere,
    theirs: Annotated[str, Body(embed=True)],
    choices: Annotated[dict[str, Literal["theirs", "mine"]], Body(embed=True)],
    reason: Words = "",
    by: Name = "",
) -> TakenOut:
    """Merge a line into the one that it left. `theirs` is the head of that one as you saw it, `choices` say whose each clashing cell shall be."""
    aside = shelf.line(ref, which)
    chosen = {Cell.of(words): whose for words, whose in choices.items()}
    done = lines.take(shelf.db, aside.id, theirs=theirs, by=_author(request, by), at=now(), reason=reason, choices=chosen)
    if isinstance(done, Conflict):
        return TakenOut(revision=None, conflict=conflict_out(done))
    return TakenOut(revision=RevisionOut.of(done.revision), conflict=None)


@router.post("/lines/{which}/drop")
def drop(request: Request, shelf: ShelfHere, ref: Ref, which: LineHere, reason: Words = "", by: Name = "") -> LineOut:
    """Drop a what-if, or what was kept aside; its revisions stay."""
    return LineOut.of(lines.drop(shelf.db, shelf.line(ref, which).id, by=_author(request, by), at=now(), reason=reason))


def _author(request: Request, by: str) -> str:
    """Whoever is signed in, else who says so."""
    if session_of(request):
        return by_of(request)
    if not by.strip():
        raise RecordError("give your name, so that others know who did it")
    return by
