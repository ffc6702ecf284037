"""Conductor temperature against time: one curve for each current, with the line that the insulation stands."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from halfshaft.drawings.shapes import DASHED, INK, PAPER, SOFT, SOFT_TEXT, Drawing, Sketch, Style, text_width_mm
from halfshaft.studies.looms.geometry import Place

WIDE_MM, HIGH_MM = 120.0, 70.0
LEFT_MM, BELOW_MM, RIGHT_MM, ABOVE_MM = 15.0, 13.0, 40.0, 6.0
AXIS = Style("AXIS", 0.25, INK)
GRID = Style("GRID", 0.1, SOFT)
LIMIT = Style("LIMIT", 0.5, INK, None, DASHED)
CURVE = Style("CURVE", 0.5, INK)
BACKING = Style("BACKING", 0.0, None, PAPER)
CAPITAL_MM = 2.0
# Seconds that are written on the time axis, each ten times or so the one before.
TICKS = ((1.0, "1 s"), (10.0, "10 s"), (60.0, "1 min"), (600.0, "10 min"), (3600.0, "1 h"), (36_000.0, "10 h"))


@dataclass(frozen=True, slots=True)
class Curve:
    """One current: what is written at its end, and (seconds, °C)."""

    words: str
    points: tuple[tuple[float, float], ...]


def heating_chart(curves: Sequence[Curve], *, limit_c: float, limit_words: str, title: str) -> Drawing:
    """Time runs to the right, each step of the scale many times the last; curves end where they leave the top."""
    first_s, last_s = min(c.points[0][0] for c in curves), max(c.points[-1][0] for c in curves)
    coolest = min(c.points[0][1] for c in curves)
    bottom, top = 20 * math.floor(coolest / 20), 20 * math.ceil((limit_c + 30) / 20)

    def at(seconds: float, celsius: float) -> tuple[float, float]:
        across = math.log(seconds / first_s) / math.log(last_s / first_s)
        return LEFT_MM + WIDE_MM * across, BELOW_MM + HIGH_MM * (celsius - bottom) / (top - bottom)

    sketch = Sketch()
    for celsius in range(bottom, top + 1, 20):
        (left, y), (right, _) = at(first_s, celsius), at(last_s, celsius)
        sketch.line((left, y), (right, y), GRID)
        sketch.text((left - 1.5, y - CAPITAL_MM / 2), f"{celsius}", CAPITAL_MM, style=SOFT_TEXT, anchor="end")
    for seconds, words in TICKS:
        if first_s <= seconds <= last_s:
            (x, low), (_, high) = at(seconds, bottom), at(seconds, top)
            sketch.line((x, low), (x, high), GRID)
            sketch.text((x, low - 4.0), words, CAPITAL_MM, style=SOFT_TEXT, anchor="middle")
    sketch.box(*at(first_s, bottom), *at(last_s, top), AXIS)
    sketch.line(at(first_s, limit_c), at(last_s, limit_c), LIMIT)
    sketch.text((at(last_s, limit_c)[0] + 1.5, at(last_s, limit_c)[1] - CAPITAL_MM / 2), limit_words, CAPITAL_MM, bold=True)
    written: list[float] = [at(last_s, limit_c)[1]]
    for curve in sorted(curves, key=lambda item: item.points[-1][1]):
        _curve(sketch, curve, at, top, written)
    sketch.text((LEFT_MM, BELOW_MM + HIGH_MM + 2.0), "conductor, °C", CAPITAL_MM, style=SOFT_TEXT)
    sketch.text((LEFT_MM + WIDE_MM, 2.0), "time since the current began", CAPITAL_MM, style=SOFT_TEXT, anchor="end")
    return Drawing(LEFT_MM + WIDE_MM + RIGHT_MM, BELOW_MM + HIGH_MM + ABOVE_MM, tuple(sketch.shapes), title=title)


def _curve(sketch: Sketch, curve: Curve, at: Callable[[float, float], Place], top: float, written: list[float]) -> None:
    """The curve up to the top, and its words: at the right where it ends there, else along the upper edge where it leaves."""
    shown: list[tuple[float, float]] = []
    for (_, earlier), (seconds, celsius) in zip((curve.points[0], *curve.points), curve.points, strict=False):
        if celsius > top:
            before = shown[-1]
            share = (top - earlier) / (celsius - earlier)
            end = at(seconds, celsius)
            edge = at(seconds, top)[1]
            shown.append((before[0] + share * (end[0] - before[0]), edge))
            break
        shown.append(at(seconds, celsius))
    for start, end in itertools.pairwise(shown):
        sketch.line(start, end, CURVE)
    x, y = shown[-1]
    if x < LEFT_MM + WIDE_MM - 0.1:
        sketch.box(x + 0.8, y - 3.8, x + 2.0 + text_width_mm(curve.words, CAPITAL_MM), y - 0.6, BACKING)
        sketch.text((x + 1.2, y - 3.3), curve.words, CAPITAL_MM)
        return
    line_mm = CAPITAL_MM + 1.4
    while any(abs(y - other) < line_mm for other in written):
        y -= 0.5
    written.append(y)
    sketch.text((x + 1.5, y - CAPITAL_MM / 2), curve.words, CAPITAL_MM)
