"""Dimensions after ISO 129-1: thin lines, filled arrows of 15 degrees as long as the figures are high, figures above the line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.drawings.shapes import INK, Anchor, Sketch, Style, text_width_mm
from halfshaft.studies.looms.geometry import Place

DIMENSION = Style("DIMENSION", 0.25)
HEAD = Style("DIMENSION", 0.1, INK, INK)
FIGURE = Style("DIMENSION_TEXT", 0.25)
PAST_MM, ABOVE_MM, FROM_THING_MM, ORIGIN_MM = 2.0, 1.0, 1.0, 0.9
HALF_HEAD_DEG = 7.5
# A shorter line has its arrows outside, pointing at each other.
OUTSIDE_UNDER_MM = 10.0
# Two places as near as this are one.
NOTHING_MM = 0.005


def words_of(length_mm: float) -> str:
    """A length for a drawing: whole millimetres, else as many tenths and hundredths as it has; a true minus."""
    words = f"{length_mm:.2f}".rstrip("0").rstrip(".")
    return words.replace("-", "−") if float(words) else "0"


@dataclass(frozen=True, slots=True)
class Axis:
    """Along what a dimension lies: level, its figures read from below; or upright, read from the right."""

    upright: bool

    def place(self, along: float, aside: float) -> Place:
        """A place so far along the dimension, and so far aside of the paper's left or lower edge."""
        return (aside, along) if self.upright else (along, aside)

    def above(self, along: float, aside: float) -> Place:
        """The base line of a figure that stands above a line."""
        return self.place(along, aside - ABOVE_MM if self.upright else aside + ABOVE_MM)

    @property
    def reads_deg(self) -> float:
        """How the figures above a line are turned."""
        return 90.0 if self.upright else 0.0


LEVEL, UPRIGHT = Axis(False), Axis(True)


def dimension(
    sketch: Sketch,
    axis: Axis,
    ends: tuple[float, float],
    *,
    thing: float,
    line: float,
    value_mm: float,
    height_mm: float,
    short_at_low: bool = False,
) -> None:
    """One dimension between two places along an axis: the thing ends at `thing` aside, the line lies at `line` aside.

    A figure without room between stands beyond the far end, or beyond the near one where `short_at_low` says so.
    """
    low, high = sorted(ends)
    away = math.copysign(1.0, line - thing)
    for along in (low, high):
        sketch.line(axis.place(along, thing + away * FROM_THING_MM), axis.place(along, line + away * PAST_MM), DIMENSION)
    words = words_of(value_mm)
    width = text_width_mm(words, height_mm)
    if high - low >= max(OUTSIDE_UNDER_MM, 2 * height_mm + 1.0):
        sketch.line(axis.place(low, line), axis.place(high, line), DIMENSION)
        _head(sketch, axis, low, line, 1.0, height_mm)
        _head(sketch, axis, high, line, -1.0, height_mm)
    else:
        sketch.line(axis.place(low - 2 * height_mm, line), axis.place(high + 2 * height_mm, line), DIMENSION)
        _head(sketch, axis, low, line, -1.0, height_mm)
        _head(sketch, axis, high, line, 1.0, height_mm)
    # Where the figure is wider than its room it stands over the arrow outside.
    beyond = width / 2 + 1.0
    middle = (low + high) / 2 if width < high - low - 0.5 else low - beyond if short_at_low else high + beyond
    sketch.text(axis.above(middle, line), words, height_mm, style=FIGURE, anchor="middle", angle_deg=axis.reads_deg)


def running(
    sketch: Sketch, axis: Axis, *, origin: float, places: Sequence[tuple[float, float]], thing: float, line: float, height_mm: float
) -> None:
    """Running dimensions from one origin: (place on the paper, millimetres) each; figures stand at the ends of their lines."""
    if not places:
        return
    away = math.copysign(1.0, line - thing)
    found = sorted(dict.fromkeys(places))
    alongs = [origin, *(along for along, _ in found)]
    sketch.line(axis.place(min(alongs), line), axis.place(max(alongs), line), DIMENSION)
    sketch.circle(axis.place(origin, line), ORIGIN_MM, DIMENSION)
    rows = [(origin, 0.0), *((along, value) for along, value in found if value)]
    rows.sort()
    spread = spread_out([along for along, _ in rows], height_mm + 0.9)
    for (along, value), shown_at in zip(rows, spread, strict=True):
        sketch.line(axis.place(along, thing + away * FROM_THING_MM), axis.place(along, line + away * PAST_MM), DIMENSION)
        # A figure that had to move aside stays joined to its line.
        sketch.line(axis.place(along, line + away * PAST_MM), axis.place(shown_at, line + away * (PAST_MM + 2.5)), DIMENSION)
        if value:
            _head(sketch, axis, along, line, -math.copysign(1.0, along - origin), height_mm * 0.7)
        _end_figure(sketch, axis, shown_at, line + away * (PAST_MM + 3.2), away, words_of(value), height_mm)


def chain(sketch: Sketch, axis: Axis, places: Sequence[tuple[float, float]], *, thing: float, line: float, height_mm: float) -> None:
    """Dimensions one after another along one line: (place on the paper, millimetres) each."""
    for index, ((start, one), (end, other)) in enumerate(itertools.pairwise(places)):
        if other - one > NOTHING_MM:
            dimension(
                sketch, axis, (start, end), thing=thing, line=line, value_mm=other - one, height_mm=height_mm, short_at_low=index == 0
            )


def running_depth(values: Sequence[float], height_mm: float) -> float:
    """How much room running dimensions take beyond their line."""
    return PAST_MM + 3.2 + max((text_width_mm(words_of(value), height_mm) for value in values), default=0.0)


def spread_out(places: Sequence[float], apart: float) -> list[float]:
    """Places in rising order moved as little as needed so that each is so far from the next."""
    groups: list[list[float]] = []
    for place in places:
        groups.append([place])
        while len(groups) > 1 and _first(groups[-1], apart) - _first(groups[-2], apart) - apart * (len(groups[-2]) - 1) < apart - 1e-9:
            groups[-2:] = [groups[-2] + groups[-1]]
    return [_first(group, apart) + apart * index for group in groups for index in range(len(group))]


def _first(group: Sequence[float], apart: float) -> float:
    """Where the first of a group stands: the group's middle stays where the middle of its places is."""
    return sum(group) / len(group) - apart * (len(group) - 1) / 2


def _head(sketch: Sketch, axis: Axis, along: float, line: float, way: float, length: float) -> None:
    """An arrow head with its point at a place; `way` says on which side of it the body lies."""
    half = length * math.tan(math.radians(HALF_HEAD_DEG))
    tip, back = axis.place(along, line), along + way * length
    sketch.polygon((tip, axis.place(back, line - half), axis.place(back, line + half)), HEAD)


def _end_figure(sketch: Sketch, axis: Axis, along: float, aside: float, away: float, words: str, height_mm: float) -> None:
    """A figure in line with its extension line, read from the right or from below."""
    if axis.upright:
        anchor: Anchor = "start" if away > 0 else "end"
        sketch.text((aside, along - height_mm / 2), words, height_mm, style=FIGURE, anchor=anchor)
    else:
        anchor = "start" if away > 0 else "end"
        sketch.text((along + height_mm / 2, aside), words, height_mm, style=FIGURE, anchor=anchor, angle_deg=90.0)
