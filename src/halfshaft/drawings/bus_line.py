"""One bus as a line from end to end: units in their order with the lengths between them, stubs, and what ends it. Not to scale."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.drawings.shapes import DASHED, INK, PAPER, SOFT_TEXT, Drawing, Sketch, Style, shortened, text_width_mm
from halfshaft.studies.buses.lines import Station, Stub
from halfshaft.studies.buses.ohms import Terminator
from halfshaft.studies.buses.study import BusResult

WIDE_MM, PER_ROW, MARGIN_MM = 170.0, 8, 9.0
PAIR_MM, BOX_MM, HALF_MM = 5.0, (14.0, 13.5), 7.0
ABOVE_MM, UNDER_MM, DROP_MM, BETWEEN_ROWS_MM = 9.5, 8.5, 4.5, 4.0
# Lines in a box of stubs; most pairs that are drawn into it.
LINE_MM, DROPS_MAX = 4.0, 3
# Half of how far H and L of a stub lie apart.
APART_MM = 1.2
CAPITAL_MM = 2.0
NAME_MM = 2.5
WIRE = Style("WIRE", 0.5, INK)
INSIDE = Style("INSIDE", 0.25, INK)
UNIT = Style("UNIT", 0.35, INK, PAPER)
RESISTOR = Style("RESISTOR", 0.5, INK, PAPER)
IDLE = Style("RESISTOR", 0.25, INK, PAPER, DASHED)
SPLICE = Style("SPLICE", 0.25, INK, INK)


@dataclass(frozen=True, slots=True)
class _Spot:
    """A station where it is drawn: x of its middle, y of the middle of the pair."""

    station: Station
    x: float
    y: float

    @property
    def half_mm(self) -> float:
        """Half of what it covers of the line."""
        return HALF_MM if self.station.is_unit else 3.0


def bus_line(bus: BusResult) -> Drawing:
    """In rows of equal steps; each row begins where the one above it left off."""
    count = len(bus.order)
    rows = max(1, math.ceil(count / PER_ROW))
    per_row = max(1, math.ceil(count / rows))
    stubs = {station.name: [stub for stub in bus.stubs if stub.at == station.name] for station in bus.order}
    step_mm = (WIDE_MM - 2 * (MARGIN_MM + HALF_MM)) / max(1, per_row - 1)
    lines = [bus.order[first : first + per_row] for first in range(0, count, per_row)]
    depths = [max(_depth_mm(stubs[station.name]) for station in line) for line in lines]
    high_mm = sum(ABOVE_MM + depth for depth in depths) + BETWEEN_ROWS_MM * (len(lines) - 1)
    sketch = Sketch()
    spots: list[_Spot] = []
    top = high_mm
    for line, depth in zip(lines, depths, strict=True):
        spots += [_Spot(station, MARGIN_MM + HALF_MM + index * step_mm, top - ABOVE_MM) for index, station in enumerate(line)]
        top -= ABOVE_MM + depth + BETWEEN_ROWS_MM
    for one, other in itertools.pairwise(spots):
        _stretch(sketch, one, other)
    known = {item.unit: item for item in bus.terminators}
    for index, spot in enumerate(spots):
        here = stubs[spot.station.name]
        goes_on = index > 0 or bool(here), index < count - 1 or bool(here)
        _station(sketch, spot, known.get(spot.station.name), goes_on, _drops(max(1, len(here))))
        _stubs(sketch, spot, here, step_mm)
    if spots:
        first = spots[0]
        for name, side in (("H", 1), ("L", -1)):
            sketch.text((first.x - HALF_MM - 1.0, first.y + side * PAIR_MM / 2 - CAPITAL_MM / 2), name, CAPITAL_MM, anchor="end")
    return Drawing(WIDE_MM, high_mm, tuple(sketch.shapes), title=f"Bus {bus.ref}")


def _pair(sketch: Sketch, left: float, right: float, y: float, style: Style) -> None:
    for side in (PAIR_MM / 2, -PAIR_MM / 2):
        sketch.line((left, y + side), (right, y + side), style)


def _stretch(sketch: Sketch, one: _Spot, other: _Spot) -> None:
    """The pair between two stations; where a row ends, both ends say that it goes on."""
    words = f"{(other.station.at_mm - one.station.at_mm) / 1000:.2f} m"
    if one.y == other.y:
        _pair(sketch, one.x + one.half_mm, other.x - other.half_mm, one.y, WIRE)
        sketch.text(
            ((one.x + one.half_mm + other.x - other.half_mm) / 2, one.y - CAPITAL_MM / 2), words, CAPITAL_MM, anchor="middle"
        )  # fmt: skip
        return
    _pair(sketch, one.x + one.half_mm, one.x + HALF_MM + MARGIN_MM, one.y, WIRE)
    _pair(sketch, other.x - HALF_MM - MARGIN_MM, other.x - other.half_mm, other.y, WIRE)
    below = PAIR_MM / 2 + 2.0 + CAPITAL_MM + 1.2
    sketch.text((one.x + HALF_MM, one.y - below), f"{words} to {other.station.name}", CAPITAL_MM, style=SOFT_TEXT, anchor="end")
    sketch.text((other.x - HALF_MM, other.y - below), f"from {one.station.name}", CAPITAL_MM, style=SOFT_TEXT)


def _station(sketch: Sketch, spot: _Spot, terminator: Terminator | None, goes_on: tuple[bool, bool], drops: Sequence[float]) -> None:
    x, y = spot.x, spot.y
    if not spot.station.is_unit:
        _pair(sketch, x - spot.half_mm, x + spot.half_mm, y, WIRE)
        for at, side in itertools.product(drops, (1.0, -1.0)):
            sketch.circle((x + at + side * APART_MM, y + side * PAIR_MM / 2), 0.9, SPLICE)
        sketch.text((x, y + PAIR_MM / 2 + 2.0), spot.station.name, NAME_MM, anchor="middle")
        return
    _unit(sketch, (x, y), spot.station.name, terminator, goes_on)


def _unit(sketch: Sketch, at: tuple[float, float], name: str, terminator: Terminator | None, goes_on: tuple[bool, bool]) -> None:
    x, y = at
    sketch.box(x - HALF_MM, y - PAIR_MM / 2 - 2.0, x + HALF_MM, y - PAIR_MM / 2 - 2.0 + BOX_MM[1], UNIT)
    sketch.text((x, y + PAIR_MM / 2 + 2.6), shortened(name, NAME_MM, BOX_MM[0] - 1.0), NAME_MM, anchor="middle", bold=True)
    resistor_x = x - 3.6
    _pair(sketch, x - HALF_MM if goes_on[0] else resistor_x, x + HALF_MM if goes_on[1] else resistor_x, y, INSIDE)
    if terminator is None:
        return
    ends = ((y + PAIR_MM / 2, y + 1.6), (y - PAIR_MM / 2, y - 1.6)) if terminator.is_in else ()
    for line, end in ends:
        sketch.line((resistor_x, line), (resistor_x, end), INSIDE)
    sketch.box(resistor_x - 0.8, y - 1.6, resistor_x + 0.8, y + 1.6, RESISTOR if terminator.is_in else IDLE)
    words = f"{terminator.ohm:.0f} Ω" if terminator.is_in else "not in"
    sketch.text((resistor_x + 1.6, y - CAPITAL_MM / 2), words, CAPITAL_MM)


def _stubs(sketch: Sketch, spot: _Spot, stubs: Sequence[Stub], step_mm: float) -> None:
    """What branches off, in one box below its station: a pair into it for each stub, its units and its length."""
    if not stubs:
        return
    room_mm = min(step_mm - 3.0, 2 * min(spot.x, WIDE_MM - spot.x))
    words = [", ".join(stub.units) or "open end" for stub in stubs]
    if len(stubs) > 1:
        words = [f"{stub.length_mm / 1000:.2f} m {name}" for name, stub in zip(words, stubs, strict=True)]
    words = [shortened(name, NAME_MM, room_mm - 2.0, bold=True) for name in words]
    half_mm = max(BOX_MM[0], *(text_width_mm(name, NAME_MM, bold=True) + 2.0 for name in words)) / 2
    top = spot.y - UNDER_MM - DROP_MM
    sketch.box(spot.x - half_mm, top - LINE_MM * len(words) - 1.5, spot.x + half_mm, top, UNIT)
    for index, name in enumerate(words, start=1):
        sketch.text((spot.x, top - LINE_MM * index), name, NAME_MM, anchor="middle", bold=True)
    for at in _drops(len(stubs)):
        for side in (1.0, -1.0):
            x = spot.x + at + side * APART_MM
            line = spot.y - PAIR_MM / 2 - 2.0 if spot.station.is_unit else spot.y + side * PAIR_MM / 2
            sketch.line((x, top), (x, line), WIRE)
    if len(stubs) == 1:
        sketch.text((spot.x + APART_MM + 1.4, top + 1.5), f"{stubs[0].length_mm / 1000:.2f} m", CAPITAL_MM)


def _drops(count: int) -> list[float]:
    """Where pairs enter the box of stubs, from its middle; of very many not all are drawn."""
    drawn = min(count, DROPS_MAX)
    return [4.2 * (index - (drawn - 1) / 2) for index in range(drawn)]


def _depth_mm(stubs: Sequence[Stub]) -> float:
    """How far below the line its row reaches."""
    return UNDER_MM + (DROP_MM + LINE_MM * len(stubs) + 2.0 if stubs else 0.0)
