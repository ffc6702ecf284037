"""A board by hand: branches turned and another sheet tried by a process of its own, then kept as a revision."""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Annotated

from fastapi import APIRouter, Body, Path, Response
from pydantic import BaseModel, Field

from halfshaft.book.frame import board_number
from halfshaft.drawings.board import BAND_MM, board_drawing
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Finding
from halfshaft.pens.svg import svg
from halfshaft.records.values import NotThere
from halfshaft.studies.looms.board import Board, lay_board
from halfshaft.studies.looms.board_rules import board_findings
from halfshaft.studies.looms.keeping import Turn, with_turns
from halfshaft.study import Study
from halfshaft.web.answers import FindingOut
from halfshaft.web.api import By, Open, ShelfHere
from halfshaft.web.arranging import WorksHere
from halfshaft.web.keeping import KeptOut, Why, keep
from halfshaft.web.running import Found
from halfshaft.web.shelf import Opened

router = APIRouter(prefix="/api/conversions/{ref}/boards/{loom}", tags=["boards"])
Loom = Annotated[str, Path(max_length=10, description="mark of the loom")]
Side = Annotated[float | None, Body(ge=100, le=20_000, allow_inf_nan=False)]


class TurnIn(BaseModel):
    """A stretch turned by hand: its two ends, and the heading in which it leaves the first; None: as the program likes."""

    from_node: str = Field(max_length=80)
    to_node: str = Field(max_length=80)
    heading_deg: float | None = Field(default=None, ge=-360, le=360, allow_inf_nan=False)


class StretchOut(BaseModel):
    """A stretch on the board: its ends, its heading at the first, and its line, in mm from the lower left corner."""

    from_node: str
    to_node: str
    heading_deg: float
    length_mm: float
    bundle_mm: float
    by_hand: bool
    places_mm: list[tuple[float, float]]


class BoardOut(BaseModel):
    """A board as it lies. `band_mm` is the band round it on its drawing."""

    loom: str
    band_mm: float
    size_mm: tuple[float, float]
    asked_mm: tuple[float, float]
    fits: bool
    pegs: int
    stretches: list[StretchOut]
    places: dict[str, tuple[float, float]]


class TryOut(BaseModel):
    """How far laying is; once it is done, the board and what does not go. `state`: none, running, done, stopped, failed."""

    state: str
    words: str
    board: BoardOut | None = None
    findings: list[FindingOut] = []
    refused: list[str] = []
    let_go: list[str] = Field(default=[], description="stretches that could not be turned, as `A to B`")


@dataclass(frozen=True, kw_only=True, slots=True)
class Tried:
    """What the other process found."""

    board: Board
    findings: tuple[Finding, ...]
    drawing: str
    by_hand: frozenset[frozenset[str]]


@router.get("")
def board(one: Open, loom: Loom) -> BoardOut:
    """The board of a loom as it lies in this revision; waits until it is laid."""
    found = one.held.boards().get(loom)
    if found is None:
        raise NotThere(f"no loom {loom} has a board")
    return _out(found, _by_hand(one.study.conversion, loom))


@router.post("/try", status_code=202)
def try_it(
    one: Open,
    works: WorksHere,
    loom: Loom,
    turns: Annotated[list[TurnIn], Body(max_length=200)],
    width_mm: Side = None,
    height_mm: Side = None,
) -> TryOut:
    """Begin to lay it with stretches turned by hand, or on another sheet; nothing is kept."""
    with_turns(one.study.conversion, loom, _turns(turns), _size(width_mm, height_mm))
    stops = sum(item.level == "stop" for item in one.study.design_findings)
    works.start(_key(one, loom), 1, lay, one.held.packed, loom, _turns(turns), _size(width_mm, height_mm), stops)
    return tried(one, works, loom)


@router.get("/try")
def tried(one: Open, works: WorksHere, loom: Loom) -> TryOut:
    """How far it is, or the board."""
    work = works.of(_key(one, loom))
    if work is None:
        return TryOut(state="none", words="nothing is being tried")
    found = work.found
    if not isinstance(found, Tried):
        return TryOut(state=work.state, words=work.words)
    return TryOut(
        state=work.state, words=work.words, board=_out(found.board, found.by_hand),
        findings=[FindingOut.of(item, one.things) for item in found.findings], refused=_refused(found.board),
        let_go=list(found.board.let_go),
    )  # fmt: skip


@router.delete("/try")
def stop(one: Open, works: WorksHere, loom: Loom) -> TryOut:
    """Stop laying it."""
    works.stop(_key(one, loom))
    return tried(one, works, loom)


@router.get("/try.svg", response_class=Response)
def drawing(one: Open, works: WorksHere, loom: Loom) -> Response:
    """The drawing of what was tried."""
    work = works.of(_key(one, loom))
    if work is None or not isinstance(work.found, Tried):
        raise NotThere("nothing was tried, or it is not laid yet")
    return Response(work.found.drawing, media_type="image/svg+xml", headers={"cache-control": "no-store"})


@router.post("/keep", status_code=201)
def keep_it(
    shelf: ShelfHere,
    one: Open,
    by: By,
    loom: Loom,
    turns: Annotated[list[TurnIn], Body(max_length=200)],
    reason: Why,
    width_mm: Side = None,
    height_mm: Side = None,
) -> KeptOut:
    """Keep these turns and this sheet, as a revision with a reason."""
    size = _size(width_mm, height_mm)
    return keep(shelf, one, lambda conversion: with_turns(conversion, loom, _turns(turns), size), by=by, reason=reason)


def lay(out: Connection, packed: bytes, loom: str, turns: tuple[Turn, ...], size_mm: tuple[float, float] | None, stops: int) -> None:
    """In another process."""
    out.send("the loom is laid")
    study = Study(with_turns(pickle.loads(packed), loom, turns, size_mm))
    laid = study.routing.loom(loom)
    found = lay_board(study.conversion, laid, study.splice_places)
    if found is None:
        raise NotThere(f"no loom {loom} has a board")
    findings = tuple(board_findings({loom: found}))
    drawn = board_drawing(study.conversion, laid, found, study.wires, board_number(study, loom), stops)
    out.send(Found(Tried(board=found, findings=findings, drawing=svg(drawn), by_hand=_by_hand(study.conversion, loom))))


def _key(one: Opened, loom: str) -> tuple[str, ...]:
    return ("board", one.revision.id, loom)


def _turns(turns: list[TurnIn]) -> tuple[Turn, ...]:
    return tuple(Turn(from_node=item.from_node, to_node=item.to_node, heading_deg=item.heading_deg) for item in turns)


def _size(width_mm: float | None, height_mm: float | None) -> tuple[float, float] | None:
    return None if width_mm is None or height_mm is None else (width_mm, height_mm)


def _by_hand(conversion: Conversion, loom: str) -> frozenset[frozenset[str]]:
    """The ends of what is turned by hand."""
    return frozenset(frozenset((row.from_node, row.to_node)) for row in conversion.board_ways if row.loom == loom and row.set_by == "hand")


def _refused(board: Board) -> list[str]:
    """What was asked for and could not be had, in sentences."""
    words = [
        f"{way} cannot lie as it was turned: no way was found to lay the rest round it. It lies as the program laid it; try another heading."
        for way in board.let_go
    ]
    if not board.fits:
        asked, size = board.asked_mm, board.size_mm
        words.append(
            f"It does not go on a sheet of {asked[0]:.0f} × {asked[1]:.0f} mm: no way was found, so it lies on {size[0]:.0f} × {size[1]:.0f} mm."
        )
    return words


def _out(board: Board, by_hand: frozenset[frozenset[str]]) -> BoardOut:
    places: dict[str, tuple[float, float]] = {f"peg {peg.number}": peg.at for peg in board.pegs}
    places |= {mark.ref: mark.at for mark in board.marks}
    places |= {holder.connector: holder.at for holder in board.holders}
    return BoardOut(
        loom=board.loom, band_mm=BAND_MM, size_mm=board.size_mm, asked_mm=board.asked_mm, fits=board.fits, pegs=len(board.pegs),
        stretches=[
            StretchOut(
                from_node=item.start, to_node=item.end, heading_deg=round(item.path.first_heading_deg % 360.0, 3),
                length_mm=round(item.path.length_mm, 1), bundle_mm=item.bundle_mm, by_hand=frozenset((item.start, item.end)) in by_hand,
                places_mm=[(round(x, 2), round(y, 2)) for x, y in item.path.corners],
            )
            for item in board.stretches
        ],
        places={name: (round(x, 2), round(y, 2)) for name, (x, y) in places.items()},
    )  # fmt: skip
