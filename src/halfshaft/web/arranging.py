"""Arranging the battery: a search by a process of its own, the best that it found, and taking one of them."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from multiprocessing.connection import Connection
from typing import Annotated

from fastapi import APIRouter, Body, Depends, Request
from pydantic import BaseModel

from halfshaft.errors import HalfshaftError
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import BATTERY_PLACE_CAUTION
from halfshaft.records.values import NotThere
from halfshaft.studies.arrangement.records import Arrangement, Block, Filling, Front
from halfshaft.studies.arrangement.take import Taken
from halfshaft.studies.arrangement.words import letters_of, lower_by_mm, name_of
from halfshaft.study import Study
from halfshaft.web.api import By, Open, ShelfHere
from halfshaft.web.keeping import KeptOut, Where, Why, keep
from halfshaft.web.running import Found, Work, Works
from halfshaft.web.shelf import Opened

router = APIRouter(prefix="/api/conversions/{ref}/arrange", tags=["arranging"])
# Those that are the best in nothing but a mixture can be thousands; a page shows so many.
SHOWN = 400
# Processors that one search may use beside the pages.
THREADS = 2


def works_of(request: Request) -> Works:
    """Long work of this app."""
    works: Works = request.app.state.works
    return works


WorksHere = Annotated[Works, Depends(works_of)]


class BlockOut(BaseModel):
    """A box of the arrangement, in the car's frame."""

    space: str
    modules: int
    name: str
    how: str
    x_mm: tuple[float, float]
    y_mm: tuple[float, float]
    z_mm: tuple[float, float]


class ArrangementOut(BaseModel):
    """One arrangement, with everything it is weighed by. Number 0 is what is described now, where that is not one of the best."""

    number: int
    words: str
    best_at: list[str]
    is_now: bool
    cg_height_mm: float
    front_percent: float
    front_kg: float
    rear_kg: float
    total_kg: float
    split_off_percent: float
    luggage_lost_l: float
    boxes: int
    hv_cable_m: float
    yaw_change_kg_m2: float
    energy_kwh: float
    live_v: float
    cost_eur: float
    hours: float
    lower_by_mm: float | None
    blocks: list[BlockOut]


class SearchOut(BaseModel):
    """How far the search is, and the best found so far. `state`: none, running, done, stopped, failed."""

    state: str
    words: str
    step: int = 0
    steps: int = 1
    target_front_percent: float | None = None
    looked_at: int = 0
    refused: list[str] = []
    nearest: str = ""
    caution: str = BATTERY_PLACE_CAUTION
    count: int = 0
    found: list[ArrangementOut] = []


class TakenOut(BaseModel):
    """What taking one changes, and what is then still to be described or measured."""

    number: int
    changed: list[str]
    to_do: list[str]


class EffortIn(BaseModel):
    """How long to prove each space: seconds of one processor; 0: first answers only."""

    effort_s: Annotated[float, Body(ge=0, le=600, allow_inf_nan=False)] = 10.0


@router.get("")
def arrangements(one: Open, works: WorksHere) -> SearchOut:
    """How far the search of this revision is, and the best found so far."""
    return _out(works.of(_key(one)))


@router.post("", status_code=202)
def start(one: Open, works: WorksHere, effort: EffortIn) -> SearchOut:
    """Begin a search; one that goes on for the same revision is ended."""
    spaces = sum(space.for_batteries for space in one.study.conversion.spaces)
    # First answers, each space, comparing, the end.
    steps = 1 + (spaces + 3 if effort.effort_s else 0)
    return _out(works.start(_key(one), steps, search, one.held.packed, effort.effort_s))


@router.delete("")
def stop(one: Open, works: WorksHere) -> SearchOut:
    """Stop it; what it has found is kept."""
    works.stop(_key(one))
    return _out(works.of(_key(one)))


@router.get("/{number}")
def look(one: Open, works: WorksHere, number: int) -> TakenOut:
    """What taking one of them would change; nothing is kept."""
    taken = _taken(one.study.conversion, _arrangement(works.of(_key(one)), number))
    return TakenOut(number=number, changed=list(taken.changed), to_do=list(taken.to_do))


@router.post("/{number}/take", status_code=201)
def take(shelf: ShelfHere, one: Open, works: WorksHere, by: By, number: int, reason: Why, where: Where = "main") -> KeptOut:
    """Take one of them: a revision, or a what-if."""
    arrangement = _arrangement(works.of(_key(one)), number)
    return keep(shelf, one, lambda conversion: _taken(conversion, arrangement).conversion, by=by, reason=reason, where=where)


def search(out: Connection, packed: bytes, effort_s: float) -> None:
    """In another process: first answers, then those that are proven; each front is handed over as soon as it is known."""
    study = Study(pickle.loads(packed))
    with ThreadPoolExecutor(THREADS) as executor:
        out.send(Found(study.arrange(executor=executor, effort=0.0, say=str)))
        out.send("first answers")
        if effort_s:
            out.send(Found(study.arrange(executor=executor, effort=effort_s, say=out.send)))


def _key(one: Opened) -> tuple[str, ...]:
    return ("arrange", one.revision.id)


def _taken(conversion: Conversion, arrangement: Arrangement) -> Taken:
    return Study(conversion).taken(arrangement)


def _arrangement(work: Work | None, number: int) -> Arrangement:
    front = work.found if work else None
    if not isinstance(front, Front):
        raise NotThere("nothing has been found yet for this revision; start a search first")
    found = next((item for item in front.arrangements if item.number == number), None)
    if found is None:
        raise HalfshaftError(f"there is no arrangement {number}; there are {len(front.arrangements)}")
    return found


def _out(work: Work | None) -> SearchOut:
    if work is None:
        return SearchOut(state="none", words="nothing has been searched yet for this revision")
    out = SearchOut(state=work.state, words=work.words, step=work.step, steps=work.steps)
    front = work.found
    if not isinstance(front, Front):
        return out
    return out.model_copy(
        update={
            "target_front_percent": front.target_front_percent, "looked_at": front.looked_at, "nearest": front.nearest,
            "refused": [f"{count} refused: {reason}" for reason, count in front.refused], "count": len(front.arrangements),
            "found": list(_found(front)),
        }
    )  # fmt: skip


def _found(front: Front) -> Iterator[ArrangementOut]:
    letters = letters_of(front)
    present = front.present
    items = front.arrangements[:SHOWN]
    if present is not None and not present.number:
        items = (replace(present, number=0), *items)
    for item in items:
        is_now = present is not None and item.number == present.number
        price = item.price
        yield ArrangementOut(
            number=item.number, words=", ".join(name_of(filling, letters) for filling in item.fillings), best_at=list(item.best_at), is_now=is_now,
            cg_height_mm=price.cg_height_mm, front_percent=item.front_percent, front_kg=item.front_kg, rear_kg=item.rear_kg, total_kg=item.total_kg,
            split_off_percent=price.split_off_percent, luggage_lost_l=price.luggage_lost_l, boxes=price.boxes, hv_cable_m=price.hv_cable_m,
            yaw_change_kg_m2=price.yaw_change_kg_m2, energy_kwh=price.energy_kwh, live_v=item.live_v, cost_eur=item.cost_eur, hours=item.hours,
            lower_by_mm=lower_by_mm(item, front.menus) if item.number else None,
            blocks=[_block(filling, name_of(filling, letters)) for filling in item.fillings],
        )  # fmt: skip


def _block(filling: Filling, name: str) -> BlockOut:
    box: Block = filling.box
    return BlockOut(
        space=filling.space, modules=filling.count, name=name, how=filling.how,
        x_mm=(box.x_min, box.x_max), y_mm=(box.y_min, box.y_max), z_mm=(box.z_min, box.z_max),
    )  # fmt: skip
