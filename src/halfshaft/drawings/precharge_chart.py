"""Volts of the link against time while it is filled, with the volts at which the main contactor closes."""

from __future__ import annotations

import itertools

from halfshaft.drawings.front_picture import AXIS, GRID, Scale
from halfshaft.drawings.shapes import INK, PAPER, SOFT_TEXT, Drawing, Sketch, Style, text_width_mm
from halfshaft.studies.high_voltage.precharge import Precharge, link_v

WIDTH_MM, HEIGHT_MM = 120.0, 62.0
LEFT, RIGHT, BOTTOM, TOP = 13.0, 116.0, 11.0, 56.0
CURVE = Style("CURVE", 0.5, INK)
CLOSES = Style("LIMIT", 0.35, INK, None, (12.0, 3.0))
BACKING = Style("BACKING", 0.0, None, PAPER)
POINTS, WORD_MM, CONSTANTS, WORDS_Y = 60, 2.0, 5.0, 19.0


def precharge_chart(found: Precharge) -> Drawing:
    """From empty to five time constants, or to where the main contactor closes if that is later."""
    last_s = max(CONSTANTS * found.tau_s, 1.1 * found.closes_after_s)
    across = Scale.over([0.0, 1000 * last_s], LEFT, RIGHT, steps=8)
    across = Scale(0.0, across.high, across.step, LEFT, RIGHT)
    up = Scale.over([0.0, found.emf_v], BOTTOM, TOP, steps=5)
    up = Scale(0.0, up.high, up.step, BOTTOM, TOP)
    sketch = Sketch()
    for value in across.ticks():
        sketch.line((across.at(value), BOTTOM), (across.at(value), TOP), GRID)
        sketch.text((across.at(value), BOTTOM - 3.5), across.words(value), WORD_MM, style=SOFT_TEXT, anchor="middle")
    for value in up.ticks():
        sketch.line((LEFT, up.at(value)), (RIGHT, up.at(value)), GRID)
        sketch.text((LEFT - 1.5, up.at(value) - WORD_MM / 2), up.words(value), WORD_MM, style=SOFT_TEXT, anchor="end")
    sketch.box(LEFT, BOTTOM, RIGHT, TOP, AXIS)
    shown = [(last_s * index / POINTS, link_v(found.emf_v, found.tau_s, last_s * index / POINTS)) for index in range(POINTS + 1)]
    places = [(across.at(1000 * seconds), up.at(volts)) for seconds, volts in shown]
    for one, other in itertools.pairwise(places):
        sketch.line(one, other, CURVE)
    close_v, close_ms = found.close_share * found.emf_v, 1000 * found.closes_after_s
    sketch.line((across.at(close_ms), BOTTOM), (across.at(close_ms), up.at(close_v)), CLOSES)
    sketch.line((LEFT, up.at(close_v)), (across.at(close_ms), up.at(close_v)), CLOSES)
    lines = ("main contactor closes", f"{close_v:.0f} V after {close_ms:.0f} ms")
    wide = max(text_width_mm(words, WORD_MM) for words in lines)
    # Low down the curve has long gone by, on either side.
    x = across.at(close_ms) + 2.0
    x = x if x + wide <= RIGHT - 1.0 else across.at(close_ms) - 2.0 - wide
    sketch.box(x - 0.6, WORDS_Y - 4.2, x + wide + 0.6, WORDS_Y + WORD_MM + 0.8, BACKING)
    for index, words in enumerate(lines):
        sketch.text((x, WORDS_Y - 3.4 * index), words, WORD_MM)
    sketch.text((LEFT, TOP + 2.0), "link, V", WORD_MM, style=SOFT_TEXT)
    sketch.text((RIGHT, 1.5), "ms since the pre-charge began", WORD_MM, style=SOFT_TEXT, anchor="end")
    return Drawing(WIDTH_MM, HEIGHT_MM, tuple(sketch.shapes), title="Pre-charge")
