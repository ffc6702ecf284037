"""The HTTP API: everything that the pages show, as JSON. Described at /api/openapi.json."""

from __future__ import annotations

import io
import zipfile
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Depends, Path, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from halfshaft.files.start import demo_folder
from halfshaft.records import carrying
from halfshaft.records.values import Line, NotThere
from halfshaft.records.waivers import waiver_of
from halfshaft.show import as_plain
from halfshaft.web.answers import BookOut, EntryOut, FindingOut, LineOut, StateOut, ThingOut, id_of
from halfshaft.web.doors import by_of, editor_of, session_of
from halfshaft.web.drawings import VIEWS, numbers_of, svg_of
from halfshaft.web.jobs import Books
from halfshaft.web.shelf import DRAFT, Opened, Shelf
from halfshaft.web.solids import scene
from halfshaft.web.uploads import read_apart, sent

router = APIRouter(prefix="/api", tags=["conversions"])
TYPES = {"pdf": "application/pdf", "svg": "image/svg+xml", "csv": "text/csv; charset=utf-8", "json": "application/json", "dxf": "image/vnd.dxf", "glb": "model/gltf-binary", "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}  # fmt: skip
Ref = Annotated[str, Path(pattern=r"^[A-Za-z0-9][A-Za-z0-9_+-]{0,40}$", description="mark of the conversion in the records")]
Rev = Annotated[str | None, Query(alias="rev", pattern=r"^(draft|[0-9a-f]{8,64})$", description="revision, or `draft`: what you typed; without it, the latest")]  # fmt: skip
LineId = Annotated[str | None, Query(alias="line", pattern=r"^[0-9a-f]{12}$", description="a what-if; without it, the main line")]
Studies = Literal[
    "mass", "handling", "mounts", "spaces", "looms", "wires", "low_voltage", "pack", "high_voltage", "cable", "fault_finder", "boards", "parts",
    "batch", "tests", "sensing", "enclosures", "findings",
]  # fmt: skip


def shelf_of(request: Request) -> Shelf:
    """The conversions of this app."""
    shelf: Shelf = request.app.state.shelf
    return shelf


def books_of(request: Request) -> Books:
    """The books of this app."""
    books: Books = request.app.state.books
    return books


ShelfHere = Annotated[Shelf, Depends(shelf_of)]
BooksHere = Annotated[Books, Depends(books_of)]
By = Annotated[str, Depends(by_of)]
Editor = Annotated[str, Depends(editor_of)]
Name = Annotated[str, Body(embed=True, max_length=80)]
Reason = Annotated[str, Body(embed=True, max_length=500)]


def opened(shelf: ShelfHere, editor: Editor, ref: Ref, rev: Rev = None, line: LineId = None) -> Opened:
    """The revision that a request is about, or the draft of whoever asks."""
    return shelf.open(ref, rev, line_id=line, editor=editor if rev == DRAFT else "")


def opened_saved(shelf: ShelfHere, ref: Ref, rev: Rev = None, line: LineId = None) -> Opened:
    """The revision that a request is about; of a draft, the one that stands on its line."""
    return shelf.open(ref, None if rev == DRAFT else rev, line_id=line)


def on_line(shelf: ShelfHere, ref: Ref, line: LineId = None) -> Line:
    """The line that a request is about."""
    return shelf.line(ref, line)


Open = Annotated[Opened, Depends(opened)]
OpenSaved = Annotated[Opened, Depends(opened_saved)]
OnLine = Annotated[Line, Depends(on_line)]


@router.get("/conversions")
def list_conversions(shelf: ShelfHere) -> list[EntryOut]:
    """Which conversions there are."""
    return [EntryOut.of(entry) for entry in shelf.entries()]


@router.post("/conversions/demo", status_code=201)
def add_demo(shelf: ShelfHere, by: By) -> EntryOut:
    """Keep the demo car as a new conversion."""
    line = shelf.add(carrying.from_folder(demo_folder() / "tern"), "the demo car", by)
    return EntryOut.of(shelf.open(line.conversion).entry)


@router.post("/conversions", status_code=201)
async def bring_in(request: Request, shelf: ShelfHere, by: By) -> EntryOut:
    """Keep what is sent as a new conversion: the zip of a folder, or a workbook (.xlsx)."""
    return await run_in_threadpool(_keep, shelf, await sent(request), by)


def _keep(shelf: Shelf, data: bytes, by: str) -> EntryOut:
    line = shelf.add(read_apart(data), "brought in", by)
    return EntryOut.of(shelf.open(line.conversion).entry)


@router.get("/conversions/{ref}/state")
def state(one: Open, wait: bool = False) -> StateOut:
    """Where it stands. With `wait`, the answer comes when its studies are whole."""
    if wait:
        one.held.whole()
        one.held.diagrams()
    return StateOut.of(one)


@router.post("/conversions/{ref}/undo")
def undo(shelf: ShelfHere, by: By, line: OnLine, head: Annotated[str, Body(embed=True)]) -> LineOut:
    """Back to the revision before; `head` is the one that you saw."""
    return LineOut.of(shelf.step("undo", line, head, by))


@router.post("/conversions/{ref}/redo")
def redo(shelf: ShelfHere, by: By, line: OnLine, head: Annotated[str, Body(embed=True)]) -> LineOut:
    """Again the revision that was undone last; `head` is the one that you saw."""
    return LineOut.of(shelf.step("redo", line, head, by))


@router.get("/conversions/{ref}/folder.zip", response_class=Response)
def folder(one: Open) -> Response:
    """The folder of the conversion, as a zip."""
    return _download(carrying.to_zip(one.study.conversion), "application/zip", f"{one.entry.ref}.zip")


@router.get("/conversions/{ref}/workbook.xlsx", response_class=Response)
def workbook(one: Open) -> Response:
    """The conversion as a workbook."""
    return _download(carrying.to_workbook(one.study.conversion), TYPES["xlsx"], f"{one.entry.ref}.xlsx")


def _download(data: bytes, kind: str, name: str) -> Response:
    return Response(data, media_type=kind, headers={"content-disposition": f'attachment; filename="{name}"'})


@router.get("/conversions/{ref}/things")
def things(one: Open) -> list[dict[str, str]]:
    """Everything that can be chosen."""
    return [{"key": item.key, "kind": item.kind, "ref": item.ref, "words": item.words} for item in one.things.by_key.values()]


@router.get("/conversions/{ref}/things/{key}")
def thing(one: Open, key: str) -> ThingOut:
    """One thing: what it is, which pages show it, what was found about it."""
    found = one.things.by_key.get(key)
    if found is None:
        raise NotThere(f"there is no {key} in this revision")
    return ThingOut.of(found, one)


@router.get("/conversions/{ref}/findings")
def findings(shelf: ShelfHere, one: Open) -> list[FindingOut]:
    """All findings, those of boards and cutting plans too, stops first. The first time this takes some seconds."""
    standing = shelf.waivers(one)
    return [FindingOut.of(item, one.things, waiver_of(standing, item)) for item in one.held.whole().findings]


@router.post("/conversions/{ref}/findings/{finding}/waive")
def waive(request: Request, shelf: ShelfHere, one: Open, finding: str, reason: Reason, by: Name = "") -> FindingOut:
    """Let a finding stand, by name and with a reason. It holds as long as the finding reads the same."""
    return _waive(request, shelf, one, finding, stands=True, by=by, reason=reason)


@router.post("/conversions/{ref}/findings/{finding}/withdraw")
def withdraw(request: Request, shelf: ShelfHere, one: Open, finding: str, reason: Reason, by: Name = "") -> FindingOut:
    """Let it stand no longer."""
    return _waive(request, shelf, one, finding, stands=False, by=by, reason=reason)


def _waive(request: Request, shelf: Shelf, one: Opened, finding: str, *, stands: bool, by: str, reason: str) -> FindingOut:
    """Whoever is signed in does it in their own name; on a computer without accounts, in the name that is given."""
    found = next((item for item in one.held.whole().findings if id_of(item) == finding), None)
    if found is None:
        raise NotThere("this finding is no longer there, or reads otherwise by now; load the page again")
    session = session_of(request)
    shelf.waive(one, found, stands=stands, by=session.account.name if session else by, reason=reason)
    return FindingOut.of(found, one.things, waiver_of(shelf.waivers(one), found))


@router.get("/conversions/{ref}/scene")
def solids(one: Open) -> dict[str, Any]:
    """The car in the round: solids as triangles in the car's frame."""
    return scene(one)


@router.get("/conversions/{ref}/studies/{study}")
def study(one: Open, study: Studies) -> Any:
    """Everything that one study found, as the command `show --json` prints it."""
    return as_plain(one.held.whole(), study)


@router.get("/conversions/{ref}/drawings")
def drawings(one: Open) -> list[str]:
    """The numbers of all drawings."""
    return numbers_of(one.held)


@router.get("/conversions/{ref}/drawings/{number}.svg", response_class=Response)
def drawing(one: Open, number: str) -> Response:
    """A drawing; what is drawn for a thing stands in a group that names it (`data-ref`). `views` is the car from three sides."""
    found = svg_of(one.held, number)
    if found is None:
        raise NotThere(f"there is no drawing {number}; the first is {VIEWS}")
    return Response(found, media_type="image/svg+xml")


@router.get("/conversions/{ref}/book")
def book(one: OpenSaved, books: BooksHere) -> BookOut:
    """How far the book is, or its files."""
    return BookOut.of(books.of(one.revision.id), book_base(one))


@router.post("/conversions/{ref}/book", status_code=202)
def make_book(one: OpenSaved, books: BooksHere) -> BookOut:
    """Begin to make the book."""
    held = one.held
    boards = held.boards() if held.is_whole else None
    looms = sum(loom.board_width_mm is not None for loom in held.study.conversion.looms)
    job = books.start(one.revision.id, held.packed, digest=held.digest, boards=boards, looms=looms)
    return BookOut.of(job, book_base(one))


@router.delete("/conversions/{ref}/book")
def stop_book(one: OpenSaved, books: BooksHere) -> BookOut:
    """Stop making it."""
    books.stop(one.revision.id)
    return BookOut.of(books.of(one.revision.id), book_base(one))


@router.get("/conversions/{ref}/books/{revision}/{file:path}", response_class=Response)
def book_file(books: BooksHere, ref: Ref, revision: str, file: str) -> Response:
    """One file of a book that is made; `all.zip` is all of them."""
    job = books.of(revision)
    if job is None or job.book is None:
        raise NotThere("this book is not made, or no longer kept; make it on the page Book")
    if file == "all.zip":
        return _download(_zipped(job.book.files), "application/zip", f"{ref}-book.zip")
    if file not in job.book.files:
        raise NotThere(f"there is no {file} in this book")
    name = file.rpartition("/")[2]
    kind = TYPES.get(name.rpartition(".")[2], "application/octet-stream")
    return Response(job.book.files[file], media_type=kind, headers={"content-disposition": f'inline; filename="{name}"'})


def _zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def book_base(one: Opened) -> str:
    """Where the files of its book are."""
    return f"/api/conversions/{one.entry.ref}/books/{one.revision.id}"
