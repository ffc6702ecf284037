"""Symbols of the wiring diagrams (IEC 60617, sizes from memory, on a module of 2.5 mm), upright, their upper terminal at a place.

Every symbol is 12.5 mm from terminal to terminal; y counts upwards, so a symbol reaches down from its place.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

from halfshaft.drawings.shapes import INK, PAPER, Sketch, Style, shortened
from halfshaft.studies.diagrams.units import Symbol
from halfshaft.studies.looms.geometry import Place

HIGH_MM = 12.5
OUTLINE = Style("SYMBOL", 0.5, INK, PAPER)
STROKE = Style("SYMBOL", 0.5)
LEAD = Style("SYMBOL", 0.35)
FILLED = Style("SYMBOL", 0.35, INK, INK)
PIN = Style("PIN", 0.1, INK, INK)
ARC = Style("PIN", 0.35)
GROUND_BAR = Style("SYMBOL", 0.7)
FAINT = Style("SYMBOL", 0.25, INK, None, (6.0, 3.0))
NUMBER_MM, NAME_MM = 2.5, 13.0


def draw_shape(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    """One symbol without a word."""
    _SHAPES.get(symbol.kind, _box)(sketch, symbol, x, top)


def draw_symbol(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    """One symbol with its ref, its value and its terminal numbers at the right of its line."""
    draw_shape(sketch, symbol, x, top)
    name = shortened(symbol.ref.split(" ")[0], 2.5, NAME_MM, bold=True)
    beside = x + (
        6.0
        if symbol.kind == "coil"
        else 5.5
        if symbol.kind in ("load", "source", "converter")
        else 1.6
        if symbol.kind == "contact"
        else 2.6
    )
    sketch.text((beside, top - 7.5 if symbol.kind == "contact" else top - 6.6), name, 2.5, bold=True)
    if symbol.value:
        sketch.text((beside, top - 10.4), symbol.value, 2.5)
    if symbol.upper:
        sketch.text((x + 1.6, top - 2.8), symbol.upper, NUMBER_MM)
    if symbol.lower:
        sketch.text((x + 1.6, top - 12.2), symbol.lower, NUMBER_MM)


def _leads(sketch: Sketch, x: float, top: float, upper: float, lower: float) -> None:
    """The lines from both terminals to the symbol's body."""
    sketch.line((x, top), (x, top - upper), LEAD)
    sketch.line((x, top - lower), (x, top - HIGH_MM), LEAD)


def _fuse(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    sketch.box(x - 1.25, top - 10.0, x + 1.25, top - 2.5, OUTLINE)
    sketch.line((x, top), (x, top - HIGH_MM), LEAD)


def _resistor(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    sketch.box(x - 1.25, top - 10.0, x + 1.25, top - 2.5, OUTLINE)
    _leads(sketch, x, top, 2.5, 10.0)


def _diode(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    sketch.line((x, top), (x, top - HIGH_MM), LEAD)
    sketch.polygon(((x - 2.5, top - 4.1), (x + 2.5, top - 4.1), (x, top - 8.4)), OUTLINE)
    sketch.line((x - 2.5, top - 8.4), (x + 2.5, top - 8.4), STROKE)


def _coil(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    sketch.box(x - 5.0, top - 8.75, x + 5.0, top - 3.75, OUTLINE)
    _leads(sketch, x, top, 3.75, 8.75)


def _contact(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    _leads(sketch, x, top, 3.75, 8.75)
    if symbol.rest_state == "closed":
        # A break contact rests against a stop and crosses it.
        sketch.line((x, top - 3.75), (x + 2.9, top - 3.75), LEAD)
        sketch.line((x, top - 8.75), (x + 3.3, top - 2.6), STROKE)
    else:
        sketch.line((x, top - 8.75), (x - 3.25, top - 3.1), STROKE)


def _load(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    if "motor" not in symbol.ref and "pump" not in symbol.ref and "fan" not in symbol.ref:
        _box(sketch, symbol, x, top)
        return
    _leads(sketch, x, top, 1.25, 11.25)
    sketch.circle((x, top - 6.25), 5.0, OUTLINE)
    sketch.text((x, top - 7.4), "M", 3.5, anchor="middle", bold=True)
    sketch.line((x - 1.6, top - 8.6), (x + 1.6, top - 8.6), Style("SYMBOL", 0.25))
    for at in (-1.5, -0.4, 0.7):
        sketch.line((x + at, top - 9.5), (x + at + 0.8, top - 9.5), Style("SYMBOL", 0.25))


def _source(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    for at, half in ((3.475, 3.75), (5.325, 1.875), (7.175, 3.75), (9.025, 1.875)):
        sketch.line((x - half, top - at), (x + half, top - at), STROKE)
    _leads(sketch, x, top, 3.475, 9.025)
    sketch.text((x + 2.6, top - 2.6), "+", 2.5)


def _box(sketch: Sketch, symbol: Symbol, x: float, top: float) -> None:
    sketch.box(x - 3.75, top - 10.0, x + 3.75, top - 2.5, OUTLINE)
    _leads(sketch, x, top, 2.5, 10.0)


_SHAPES: dict[str, Callable[[Sketch, Symbol, float, float], None]] = {
    "fuse": _fuse, "resistor": _resistor, "diode": _diode, "coil": _coil, "contact": _contact, "load": _load, "source": _source,
}  # fmt: skip

# A pin in its socket: the bar stands out of the part, the wire leaves the arc.
PIN_MM, ARC_MM = 3.0, 1.6
REACH_MM = PIN_MM + ARC_MM + 0.6


def pin_in_socket(sketch: Sketch, x: float, edge: float, *, up: bool) -> None:
    """The end of a wire at a part's edge; `up` where the wire goes on upwards."""
    way = 1.0 if up else -1.0
    sketch.polygon(((x - 0.45, edge), (x + 0.45, edge), (x + 0.45, edge + way * PIN_MM), (x - 0.45, edge + way * PIN_MM)), PIN)
    centre = edge + way * (REACH_MM - ARC_MM)
    places: list[Place] = [
        (x + ARC_MM * math.cos(math.radians(angle)), centre + way * ARC_MM * math.sin(math.radians(angle))) for angle in range(0, 181, 20)
    ]
    for one, other in itertools.pairwise(places):
        sketch.line(one, other, ARC)


def body_ground(sketch: Sketch, x: float, top: float) -> None:
    """The sign of the car's body, its line coming down from a place."""
    sketch.line((x, top), (x, top - 2.5), LEAD)
    sketch.line((x - 3.75, top - 2.5), (x + 3.75, top - 2.5), GROUND_BAR)
    for at in (-3.0, 0.0, 3.0):
        sketch.line((x + at, top - 2.5), (x + at - 1.5, top - 5.0), STROKE)


def hv_sign(sketch: Sketch, left: float, bottom: float, side: float) -> None:
    """The warning sign of electricity after ISO 7010 W012: yellow triangle, black edge and flash."""
    high = side * 0.866
    outer = ((left, bottom), (left + side, bottom), (left + side / 2, bottom + high))
    sketch.polygon(outer, Style("SYMBOL", side / 15, "#000000", "#FFD200"))

    def at(x: float, y: float) -> Place:
        return left + side * x, bottom + high * y

    flash = (
        at(0.53, 0.72),
        at(0.42, 0.40),
        at(0.50, 0.42),
        at(0.45, 0.20),
        at(0.40, 0.22),
        at(0.47, 0.10),
        at(0.53, 0.24),
        at(0.49, 0.22),
        at(0.56, 0.50),
        at(0.49, 0.48),
    )
    sketch.polygon(flash, Style("SYMBOL", 0.1, "#000000", "#000000"))
