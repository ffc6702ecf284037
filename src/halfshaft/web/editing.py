"""The HTTP API of editing: tables as typed, kept as a draft until it is saved as a revision; what follows from it, and what others did."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Body, Path, Query, Request, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from halfshaft.model.finding import LEVELS, Finding
from halfshaft.records import drafts, revisions, saving
from halfshaft.records.differences import differences
from halfshaft.records.values import Conflict, Draft, Line, NotThere, RecordError, Saved
from halfshaft.show.changes import figure_row
from halfshaft.studies.changes.records import ACTS, Change
from halfshaft.studies.changes.words import asked, money_words, summary, value_words
from halfshaft.study import Study
from halfshaft.web import searches
from halfshaft.web.answers import FindingOut, RevisionOut, id_of
from halfshaft.web.api import Editor, OnLine, Open, Ref, ShelfHere
from halfshaft.web.doors import BROWSER, editor_of, session_of
from halfshaft.web.grids import MAX_CELL, MAX_ROWS, TABLES, FaultOut, GridOut, faults_out, grid_of, text_of_rows, title_of
from halfshaft.web.merging import ConflictOut, conflict_out
from halfshaft.web.shelf import DRAFT, Shelf, now
from halfshaft.web.uploads import read_apart, sent

router = APIRouter(prefix="/api/conversions/{ref}", tags=["editing"])
Table = Annotated[str, Path(pattern=r"^[a-z_]{1,40}$", description="a table, as its file is named")]
Id = Annotated[str, Query(pattern=r"^[0-9a-f]{8,64}$")]
Cell = Annotated[str, Field(max_length=MAX_CELL)]
# What is worked out first, so that it can be shown at once.
PARTS = {"wiring": "wiring_findings", "car": "car_findings", "all": "design_findings"}


class TableOut(BaseModel):
    """A table that can be edited as a grid."""

    table: str
    title: str
    rows: int


class DraftOut(BaseModel):
    """What you typed on a line and did not save: over which revision, in which tables, what is wrong with it.

    `is_behind` says that others saved since, in the same tables; then saving merges.
    """

    line: str
    head: str
    base: str
    is_there: bool
    reads: bool
    is_behind: bool
    tables: list[str]
    faults: list[FaultOut]
    can_undo: bool
    can_redo: bool
    at: datetime | None

    @classmethod
    def of(cls, draft: Draft | None, line: Line) -> DraftOut:
        """From the records."""
        if draft is None:
            return cls(
                line=line.id, head=line.head, base=line.head, is_there=False, reads=True, is_behind=False, tables=[], faults=[],
                can_undo=False, can_redo=False, at=None,
            )  # fmt: skip
        return cls(
            line=line.id, head=line.head, base=draft.base, is_there=bool(draft.texts), reads=not draft.faults, is_behind=draft.base != line.head,
            tables=sorted(name.rpartition(".")[0] for name in draft.texts), faults=faults_out(draft.faults, dict(draft.texts)),
            can_undo=draft.can_undo, can_redo=draft.can_redo, at=draft.at,
        )  # fmt: skip


class CellOut(BaseModel):
    """One cell that differs; `field` is blank where the whole row came or went."""

    table: str
    key: str
    field: str
    was: str | None
    now: str | None


class ChangedOut(BaseModel):
    """What others did: the revisions since, the latest first, and the cells in which they differ from yours."""

    revisions: list[RevisionOut]
    cells: list[CellOut]


class FollowsOut(BaseModel):
    """What follows from what you typed: findings by level, those that are new, those that are gone, and the lengths of the wires."""

    levels: dict[str, int]
    new: list[FindingOut]
    gone: list[FindingOut]
    cut_mm: dict[str, float]


class SavedOut(BaseModel):
    """A draft that was saved: the revision, whether others' changes are in it too; or what stands in the way and wants a choice."""

    revision: RevisionOut | None
    merged: bool
    conflict: ConflictOut | None


class WorkRow(BaseModel):
    """One line of work that a change makes."""

    kind: str
    ref: str
    quantity: str
    was: str
    now: str
    todo: str


class WorkStep(BaseModel):
    """One step of the work, with its lines."""

    title: str
    rows: list[WorkRow]


class ChangesOut(BaseModel):
    """What the step from one revision to another means for the workshop, in the order of work."""

    summary: str
    money: str
    figures: list[list[str]]
    steps: list[WorkStep]


class RowsIn(BaseModel):
    """A table as it was typed: every row, each with the cells of every column in their order. `base` is the revision that the page showed."""

    base: str = Field(pattern=r"^[0-9a-f]{64}$")
    rows: Annotated[list[Annotated[list[Cell], Field(max_length=100)]], Field(max_length=MAX_ROWS)]


@router.get("/tables")
def tables(one: Open) -> list[TableOut]:
    """The tables that can be edited as grids."""
    return [TableOut(table=name, title=title_of(name), rows=len(getattr(one.study.conversion, name))) for name in TABLES]


@router.get("/tables/{table}")
def table(shelf: ShelfHere, editor: Editor, one: Open, table: Table, rev: Annotated[str | None, Query()] = None) -> GridOut:
    """A table as text. Of a draft (`rev=draft`), as it was typed, whether it reads or not."""
    if table not in TABLES:
        raise NotThere(f"there is no table {table} that can be edited as a grid")
    draft = drafts.draft(shelf.db, one.line.id, by=editor) if rev == DRAFT and editor else None
    if draft is None:
        return grid_of(table, one.study.conversion, base=one.revision.id)
    under = one.study.conversion if one.is_draft else revisions.conversion_at(shelf.db, draft.base)
    return grid_of(table, under, dict(draft.texts), draft.faults, base=draft.base)


@router.get("/draft")
def draft(shelf: ShelfHere, editor: Editor, line: OnLine) -> DraftOut:
    """What you typed and did not save."""
    return DraftOut.of(drafts.draft(shelf.db, line.id, by=editor) if editor else None, line)


@router.put("/draft/tables/{table}")
def type_table(
    request: Request, response: Response, shelf: ShelfHere, editor: Editor, line: OnLine, table: Table, typed: RowsIn
) -> DraftOut:
    """Keep a table as you typed it, whether it reads or not; nothing is saved as a revision."""
    if table not in TABLES:
        raise NotThere(f"there is no table {table} that can be edited as a grid")
    editor = editor or _known_browser(request, response)
    text = text_of_rows(table, typed.rows)
    return DraftOut.of(drafts.type_over(shelf.db, line.id, typed.base, {f"{table}.csv": text}, by=editor, at=now()), line)


def _known_browser(request: Request, response: Response) -> str:
    """Where nobody signs in, this browser by a mark that it is given."""
    mark = secrets.token_hex(8)
    secure = request.url.scheme == "https"
    response.set_cookie(BROWSER, mark, max_age=31_536_000, httponly=True, samesite="strict", secure=secure, path="/")
    request.cookies[BROWSER] = mark
    return editor_of(request)


@router.delete("/draft")
def drop(shelf: ShelfHere, editor: Editor, line: OnLine) -> DraftOut:
    """Give up what you typed since the last revision."""
    if editor:
        drafts.drop_draft(shelf.db, line.id, by=editor)
    return DraftOut.of(None, line)


@router.post("/draft/{way}")
def step(shelf: ShelfHere, editor: Editor, line: OnLine, way: Literal["undo", "redo"]) -> DraftOut:
    """Take back what you typed last, or type again what you took back last."""
    act = drafts.undo_typing if way == "undo" else drafts.redo_typing
    return DraftOut.of(act(shelf.db, line.id, by=editor, at=now()), line)


@router.post("/draft/save/revision", status_code=201)
def save(
    request: Request,
    shelf: ShelfHere,
    editor: Editor,
    line: OnLine,
    reason: Annotated[str, Body(embed=True, max_length=500)] = "",
    by: Annotated[str, Body(embed=True, max_length=80)] = "",
) -> SavedOut:
    """Save your draft as a revision, with a reason. Whoever is signed in does it in their own name, else in the name that is given.

    Where others saved since, both are merged cell by cell; where you changed the same cell, yours is kept aside and wants a choice.
    """
    session = session_of(request)
    author = session.account.name if session else by
    if not reason.strip():
        raise RecordError("say in a few words why: the next one who opens this revision wants to know")
    return _saved_out(drafts.save_draft(shelf.db, line.id, by=editor, author=author, at=now(), reason=reason))


@router.get("/draft/follows")
def follows(shelf: ShelfHere, one: Open, of: Literal["wiring", "car", "all"] = "all") -> FollowsOut:
    """What follows from your draft (`rev=draft`), against the revision on which it stands. `of` asks for a part of the studies only."""
    before = shelf.open(one.entry.ref, one.revision.id, line_id=one.line.id).study
    was, found = (_findings(study, of) for study in (before, one.study))
    known, there = {id_of(item) for item in was}, {id_of(item) for item in found}
    lengths = {ref: laid.length.cut_mm for ref, laid in one.study.routing.wires.items() if laid.length} if of != "car" else {}
    return FollowsOut(
        levels={level: sum(item.level == level for item in found) for level in LEVELS},
        new=[FindingOut.of(item, one.things) for item in found if id_of(item) not in known],
        gone=[FindingOut.of(item, one.things) for item in was if id_of(item) not in there],
        cut_mm=lengths,
    )


def _findings(study: Study, of: str) -> tuple[Finding, ...]:
    found: tuple[Finding, ...] = getattr(study, PARTS[of])
    return found


@router.get("/changed")
def changed(shelf: ShelfHere, line: OnLine, since: Id) -> ChangedOut:
    """What was saved on a line since a revision, and the cells that it changed."""
    since = revisions.revision(shelf.db, since).id
    if since == line.head:
        return ChangedOut(revisions=[], cells=[])
    later = []
    for item in revisions.history(shelf.db, line.head):
        if item.id == since:
            break
        later.append(RevisionOut.of(item))
    return ChangedOut(revisions=later, cells=cells_between(shelf, since, line.head))


def cells_between(shelf: Shelf, before: str, after: str) -> list[CellOut]:
    """The cells in which two revisions differ."""
    two = (revisions.conversion_at(shelf.db, key) for key in (before, after))
    return [
        CellOut(table=item.cell.table, key=item.cell.key, field=item.cell.field, was=item.was, now=item.now) for item in differences(*two)
    ]


@router.get("/changes")
def changes(shelf: ShelfHere, ref: Ref, before: Id, after: Id) -> ChangesOut:
    """What has to be made, cut, drilled and bought again to get from one revision to another. Takes some seconds."""
    two = [shelf.open(ref, key).held.packed for key in (before, after)]
    found = shelf.pool.submit(searches.changes, *two).result()
    steps = [WorkStep(title=title, rows=[_work_row(line) for line in found.of(act)]) for act, title in ACTS.items() if found.of(act)]
    figures = [list(figure_row(figure)) for figure in found.figures]
    return ChangesOut(summary=summary(found), money=money_words(found), figures=figures, steps=steps)


def _work_row(line: Change) -> WorkRow:
    return WorkRow(
        kind=line.kind, ref=line.ref, quantity=line.quantity, was=value_words(line.was, line.unit), now=value_words(line.now, line.unit), todo=asked(line)
    )  # fmt: skip


@router.post("/bring-in", status_code=201)
async def bring_in(
    request: Request,
    shelf: ShelfHere,
    line: OnLine,
    base: Id,
    by: Annotated[str, Query(max_length=80)] = "",
    name: Annotated[str, Query(max_length=120)] = "file",
) -> SavedOut:
    """Save what was changed outside: the zip of a folder, or a workbook, edited from revision `base`. It is merged like any edit."""
    session = session_of(request)
    author = session.account.name if session else by
    return await run_in_threadpool(_save_sent, shelf, line, base, await sent(request), author, f"brought in: {name}")


def _save_sent(shelf: Shelf, line: Line, base: str, data: bytes, by: str, reason: str) -> SavedOut:
    under = revisions.revision(shelf.db, base).id
    return _saved_out(saving.save(shelf.db, line.id, under, read_apart(data), by=by, at=now(), reason=reason))


def _saved_out(done: Saved | Conflict) -> SavedOut:
    if isinstance(done, Conflict):
        return SavedOut(revision=None, merged=False, conflict=conflict_out(done))
    return SavedOut(revision=RevisionOut.of(done.revision), merged=done.merged, conflict=None)
