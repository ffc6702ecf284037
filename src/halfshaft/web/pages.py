"""The pages: each opens a revision, asks its studies and fills a template."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from halfshaft.book.blocks import number
from halfshaft.book.frame import board_number
from halfshaft.drawings.colours import TONES, tones
from halfshaft.model.wires import Loom
from halfshaft.pens.svg import svg
from halfshaft.records import people
from halfshaft.records.values import NotThere
from halfshaft.records.waivers import waiver_of
from halfshaft.web.answers import BookOut, FindingOut, StateOut, ThingOut
from halfshaft.web.api import BooksHere, Editor, LineId, Ref, Rev, ShelfHere, book_base
from halfshaft.web.contents import (
    ARRANGE,
    BOARDS,
    BOOK,
    BY_SLUG,
    CAR,
    DIAGRAM,
    FINDINGS,
    PAGES,
    REVISIONS,
    TABLES,
    WIRES,
    Page,
    Tab,
    pages_of,
)
from halfshaft.web.doors import session_of
from halfshaft.web.drawings import VIEWS, board_numbers, svg_of
from halfshaft.web.editing import DraftOut
from halfshaft.web.grids import TABLES as TABLE_NAMES
from halfshaft.web.grids import heading, title_of
from halfshaft.web.history import history_values
from halfshaft.web.shelf import DRAFT, Opened, Shelf
from halfshaft.web.shown import address, looms_of, systems_of
from halfshaft.web.things import TABLES as THING_TABLES
from halfshaft.web.things import Thing

router = APIRouter(include_in_schema=False)
templates = Environment(
    loader=FileSystemLoader(FilePath(__file__).parent / "templates"),
    autoescape=select_autoescape(default=True),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
templates.filters["number"] = number
templates.globals.update(tones=tones, heading=heading)
LEVEL_WORDS = {"stop": "Stop", "fix": "Put right", "note": "Know"}


def opened_page(shelf: ShelfHere, editor: Editor, ref: Ref, rev: Rev = None, line: LineId = None) -> Opened:
    """What a page is about: a revision where one is asked for, else the draft of whoever asks, else the latest."""
    return shelf.open(ref, rev or DRAFT, line_id=line, editor=editor)


OpenPage = Annotated[Opened, Depends(opened_page)]
Selected = Annotated[str | None, Query(alias="sel", max_length=80, description="what is chosen, as `wire:W103`")]


def render(template: str, request: Request, status: int = 200, **values: Any) -> HTMLResponse:
    """A page from its template."""
    theme = request.cookies.get("theme", "")
    values["session"] = session_of(request)
    values["theme"] = theme if theme in ("paper", "bench") else ""
    return HTMLResponse(templates.get_template(template).render(**values), status_code=status)


@router.get("/", response_model=None)
def start(request: Request, shelf: ShelfHere) -> Response:
    """Which conversions there are; the only one is opened at once."""
    entries = shelf.entries()
    if len(entries) == 1:
        return RedirectResponse(f"/c/{entries[0].ref}/{CAR}", status_code=307)
    return render("start.html", request, entries=entries)


@router.get("/conversions", response_model=None)
def all_conversions(request: Request, shelf: ShelfHere) -> Response:
    """All of them, to open another or to bring one in."""
    return render("start.html", request, entries=shelf.entries())


@router.get("/c/{ref}", response_model=None)
def first(ref: str) -> Response:
    """The first page of a conversion."""
    return RedirectResponse(f"/c/{ref}/{CAR}", status_code=307)


@router.get("/c/{ref}/{slug}", response_model=None)
def page(request: Request, shelf: ShelfHere, one: OpenPage, books: BooksHere, slug: str, sel: Selected = None) -> Response:
    """A page at its first leaf."""
    return leaf(request, shelf, one, books, slug, None, sel)


@router.get("/c/{ref}/{slug}/{tab}", response_model=None)
def leaf(request: Request, shelf: ShelfHere, one: OpenPage, books: BooksHere, slug: str, tab: str | None, sel: Selected = None) -> Response:
    """A leaf of a page."""
    found = BY_SLUG.get(slug)
    if found is None:
        raise NotThere(f"there is no page {slug}")
    frame = Frame(request, one, found, one.things.by_key.get(sel or ""))
    if slug == BOARDS:
        shown = [board_number(one.study, loom) for loom in looms_of(one, frame.sel)] if frame.sel else []
        looms = {board_number(one.study, loom.ref): loom for loom in one.study.conversion.looms if loom.board_width_mm}
        waiting = "Boards are laid; that takes some seconds the first time."
        return _drawing_page(frame, board_numbers(one.held), tab, shown, waiting, looms)
    if slug == DIAGRAM and not one.held.has_diagrams:
        return frame.render("drawing.html", found.tabs[0], sheets={}, chosen=None, ready="", waiting="")
    if slug == DIAGRAM:
        titles = {name: drawing.title.rpartition(", ")[0] or drawing.title for name, drawing in one.held.diagrams().drawings.items()}
        shown = [f"{one.study.conversion.job.ref}-WD-{system}" for system in systems_of(one, frame.sel)] if frame.sel else []
        return _drawing_page(frame, titles, tab, shown, "The sheet is fetched.")
    if slug == TABLES:
        return _grid_page(frame, found.tabs[0], "loads" if tab in (None, found.tabs[0].slug) else tab)
    chosen = found.tab(tab)
    if chosen is None:
        raise NotThere(f"there is no {tab} on the page {found.title}")
    if slug == CAR and not chosen.sections:
        return frame.render(
            "car.html" if chosen.slug == "solid" else "car_drawing.html",
            chosen,
            mass=one.study.mass,
            car=one.study.conversion.car,
            views=VIEWS,
        )
    if slug == ARRANGE:
        return frame.render("arrange.html", chosen, car=one.study.conversion.car)
    if slug == FINDINGS:
        study = one.held.whole() if one.held.is_whole else one.study
        items = study.findings if one.held.is_whole else study.design_findings
        standing = shelf.waivers(one)
        return frame.render(
            "findings.html",
            chosen,
            found=[FindingOut.of(item, one.things, waiver_of(standing, item)) for item in items],
            is_whole=one.held.is_whole,
            words=LEVEL_WORDS,
        )
    if slug == REVISIONS:
        return frame.render(f"{slug}_{chosen.slug}.html", chosen, **history_values(shelf, one, chosen.slug, request))
    if slug == BOOK:
        frame.one = one = shelf.open(one.entry.ref, one.rev if one.is_pinned else None, line_id=one.line.id)
        base = book_base(one)
        return frame.render("book.html", chosen, book=BookOut.of(books.of(one.revision.id), base), base=base)
    if slug == WIRES and not chosen.sections:
        return _grid_page(frame, chosen, "wires")
    return frame.render("sections.html", chosen, **_sections(one, chosen))


def _grid_page(frame: Frame, tab: Tab, table: str) -> Response:
    """A table to edit; its rows are fetched by the page."""
    if table not in TABLE_NAMES:
        raise NotThere(f"there is no table {table} that can be edited here")
    tables = [(name, title_of(name), len(getattr(frame.one.study.conversion, name))) for name in TABLE_NAMES]
    kind = dict(THING_TABLES).get(table, "")
    return frame.render("grid.html", tab, table=table, tables=tables, kind=kind, title=title_of(table), all_tones=TONES)


def _sections(one: Opened, tab: Tab) -> dict[str, Any]:
    """The blocks of the book on a leaf, and its pictures as SVG; nothing yet where the leaf has to wait for what takes long."""
    if tab.is_slow and not one.held.is_whole:
        return {"sections": [], "pictures": {}, "is_waiting": True}
    pages = pages_of(one.held.whole() if tab.is_slow else one.study, tab)
    pictures = {name: Markup(svg(picture)) for name, picture in pages.pictures.items()}
    return {"sections": pages.sections, "pictures": pictures, "is_waiting": False}


def _drawing_page(
    frame: Frame, titles: dict[str, str], chosen: str | None, shown: list[str], waiting: str, looms: Mapping[str, Loom] | None = None
) -> Response:
    """A page of drawings: which there are, and one of them to move about in; where none is named, the first that shows what is chosen.

    `looms` are those whose boards may be changed by hand, by the number of the board.
    """
    chosen = chosen or next((number for number in [*shown, *titles] if number in titles), None)
    if chosen is not None and chosen not in titles:
        raise NotThere(f"there is no drawing {chosen}")
    drawing = svg_of(frame.one.held, chosen) if chosen in frame.one.held.pictures else None
    return frame.render(
        "drawing.html",
        frame.page.tabs[0],
        sheets=titles,
        chosen=chosen,
        ready=Markup(drawing or ""),
        waiting=waiting,
        loom=(looms or {}).get(chosen or ""),
    )


class Frame:
    """What every page has around its sheet: the head, the contents, the margin, the selection line."""

    def __init__(self, request: Request, one: Opened, page: Page, sel: Thing | None) -> None:
        self.request = request
        self.one = one
        self.page = page
        self.sel = sel

    def render(self, template: str, tab: Tab, **values: Any) -> Response:
        """The page with its frame."""
        one, key = self.one, self.sel.key if self.sel else None
        session = session_of(self.request)

        def to(path: str, sel: str | None = key) -> str:
            return address(one, path, sel=sel)

        def linked(text: str) -> list[tuple[str, Thing | None]]:
            return one.things.in_words(text)

        def thing_of(cell: Any) -> str:
            """The thing that a row is about, where its first cell in bold names one."""
            words = cell.get("bold", "") if isinstance(cell, dict) else ""
            found = one.things.named(words.partition(",")[0]) if words and words[0].isalnum() else None
            return found.key if found else ""

        return render(
            template, self.request, one=one, page=self.page, tab=tab, pages=PAGES, sel=self.sel, to=to, linked=linked, thing_of=thing_of,
            chosen_thing=ThingOut.of(self.sel, one) if self.sel else None, state=self._state(), draft=DraftOut.of(one.draft, one.line),
            wants_whole=not one.held.is_whole and (not one.is_draft or tab.is_slow or self.page.slug in (FINDINGS, BOARDS, DIAGRAM)),
            choose=self._choose, may_design=session is None or people.may(session.account.role, "design"), titles=one.held.titles if one.held.is_whole else [], **values,
        )  # fmt: skip

    def _state(self) -> StateOut | None:
        """How far the studies are. Of a draft, which is not worked out whole before that is asked for, the numbers of the revision below it."""
        if self.one.held.is_whole:
            return StateOut.of(self.one)
        if not self.one.is_draft:
            return None
        shelf: Shelf = self.request.app.state.shelf
        below = shelf.open(self.one.entry.ref, self.one.revision.id, line_id=self.one.line.id)
        return StateOut.of(below).model_copy(update={"findings": {}}) if below.held.is_whole else None

    def _choose(self, key: str | None) -> str:
        """The address of this leaf with something chosen on it."""
        return address(self.one, self.request.url.path.removeprefix(f"/c/{self.one.entry.ref}/"), sel=key)
