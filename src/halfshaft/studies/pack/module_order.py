"""In which order, and which way round, the modules in a box are best joined: the least bar from stud to stud."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.boxes import Box, Look, ModulePlace
from halfshaft.model.conversion import Conversion
from halfshaft.studies.module_places import Spot, minus_stud, plus_stud
from halfshaft.studies.pack.rows import Row
from halfshaft.studies.pack.shortest import MOST, Costs, Stand, least_order
from halfshaft.studies.pack.study import Pack

OPPOSITE: dict[Look, Look] = {"front": "rear", "rear": "front", "left": "right", "right": "left", "up": "down", "down": "up"}
LEVEL: tuple[Look, ...] = ("front", "rear", "left", "right")


@dataclass(frozen=True, kw_only=True, slots=True)
class Turned:
    """A module in an order, and whether it is turned round from how it stands now."""

    ref: str
    plus_end: Look | None
    is_turned: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class ModuleOrder:
    """Modules that follow each other in one box, plus first, and the sum of their distances from stud to stud: now, and at best.

    First and last module stay, since the bars to plugs and fuses end at them.
    """

    string: int
    box: str
    now: tuple[str, ...]
    now_mm: float
    best: tuple[Turned, ...]
    best_mm: float


def module_orders(conversion: Conversion, pack: Pack) -> tuple[ModuleOrder, ...]:
    """Every run of three to twelve modules whose studs are known; with fewer there is nothing to choose."""
    boxes = {box.ref: box for box in conversion.boxes}
    runs = ((string.number, run) for string in pack.strings for run in string.runs if 3 <= len(run) < MOST)
    orders = (_module_order(number, boxes[run[0].box], run) for number, run in runs)
    return tuple(order for order in orders if order is not None)


def _module_order(string: int, box: Box, run: Row) -> ModuleOrder | None:
    last = len(run) - 1
    ways = [tuple(ways_of(item.place, box)) if 0 < index < last else (item.place,) for index, item in enumerate(run)]
    studs: list[list[tuple[Spot, Spot]]] = []
    for item, places in zip(run, ways, strict=True):
        pairs = [(plus_stud(place, item.kind), minus_stud(place, item.kind)) for place in places]
        known = [(plus, minus) for plus, minus in pairs if plus is not None and minus is not None]
        if len(known) < len(pairs):
            return None
        studs.append(known)
    costs = Costs(
        first=lambda stand: 0.0 if stand[0] == 0 else math.inf,
        between=lambda one, other, _: math.dist(studs[one[0]][one[1]][1], studs[other[0]][other[1]][0]),
        last=lambda stand: 0.0 if stand[0] == last else math.inf,
    )
    now: tuple[Stand, ...] = tuple((index, 0) for index in range(len(run)))
    best = now if _cannot_be_beaten(studs, costs.of(now)) else least_order([len(places) for places in ways], costs)
    assert best is not None  # the order that is there is allowed
    return ModuleOrder(
        string=string,
        box=box.ref,
        now=tuple(item.ref for item in run),
        now_mm=costs.of(now),
        best=tuple(_turned(ways, stand) for stand in best),
        best_mm=costs.of(best),
    )


def _cannot_be_beaten(studs: list[list[tuple[Spot, Spot]]], now_mm: float) -> bool:
    """Whether each module but the last already goes to the nearest plus stud of any other: then there is nothing to look for."""
    nearest = [
        min(math.dist(minus, plus) for _, minus in one for other in studs[:index] + studs[index + 1 :] for plus, _ in other)
        for index, one in enumerate(studs[:-1])
    ]
    return now_mm <= math.fsum(nearest) + 1e-6


def _turned(ways: list[tuple[ModulePlace, ...]], stand: Stand) -> Turned:
    place = ways[stand[0]][stand[1]]
    return Turned(ref=place.ref, plus_end=place.plus_end, is_turned=stand[1] > 0)


def ways_of(place: ModulePlace, box: Box) -> Iterator[ModulePlace]:
    """As it stands, and turned half round about the upright where that changes neither its attitude nor what cools it.

    Lying flat its cooled face stays where it is. On a long edge that face comes to the other side, which a coolant plate in
    the box does not allow. On a short end the plus end looks up or down, and turning changes nothing.
    """
    yield place
    if place.plus_end not in LEVEL or place.cooled_face is None:
        return
    turned: dict[str, Look] = {"plus_end": OPPOSITE[place.plus_end]}
    if place.cooled_face in LEVEL:
        if box.plates:
            return
        turned["cooled_face"] = OPPOSITE[place.cooled_face]
    yield place.model_copy(update=turned)
