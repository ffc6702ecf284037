"""Time against current on log-log paper: each fuse's band, what the thinnest wire behind it bears, its load, and its shorts.

Eight fuses a sheet, each in a small frame of its own scale of amperes; all share the scale of seconds. Nothing is told by
colour: the band is filled, the wire is a thick dashed line, the load a thin one, shorts are dashed uprights.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from halfshaft.drawings.shapes import INK, PAPER, SOFT, SOFT_TEXT, Drawing, Sketch, Style, shortened, text_width_mm
from halfshaft.studies.cable.choices import OVERLOAD_K
from halfshaft.studies.cable.study import ADIABATIC_UP_TO_S
from halfshaft.studies.looms.geometry import Place
from halfshaft.studies.protection.records import FuseGuard, WireGuard
from halfshaft.studies.protection.study import NEAR, steps_of
from halfshaft.studies.protection.words import hardest_start, kind_words

PER_SHEET, ACROSS = 8, 2
WIDTH_MM, CELL_WIDE_MM, CELL_HIGH_MM, KEY_MM = 170.0, 85.0, 52.0, 8.0
LEFT_MM, RIGHT_MM, BELOW_MM, ABOVE_MM = 10.0, 2.0, 6.5, 8.5
FIRST_S, LAST_S = 1e-3, 1e4
TICKS_S = (
    (1e-3, "1 ms"),
    (1e-2, "10 ms"),
    (0.1, "0.1 s"),
    (1.0, "1 s"),
    (10.0, "10 s"),
    (60.0, "1 min"),
    (600.0, "10 min"),
    (3600.0, "1 h"),
)
WORD_MM, SMALL_MM = 2.1, 1.8
# A wire's line: so long is each dash, and each gap.
DASH_MM, SPACE_MM = 2.8, 1.2
AXIS = Style("AXIS", 0.25, INK)
GRID = Style("GRID", 0.1, "#B8BCC0")
BAND_FILL = Style("BAND", 0.0, None, "#DEDCD4")
BAND = Style("BAND", 0.35, INK)
WIRE = Style("WIRE", 0.7, INK)
LOAD = Style("LOAD", 0.35, INK)
DOT = Style("LOAD", 0.1, INK, INK)
SHORT = Style("SHORT", 0.25, INK, None, (6.0, 3.0))
BACKING = Style("BACKING", 0.0, None, PAPER)
SAMPLES = 60


@dataclass(frozen=True, slots=True)
class _Frame:
    """One small graph: where it is, and its amperes."""

    left: float
    bottom: float
    first_a: float
    last_a: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + CELL_WIDE_MM - LEFT_MM - RIGHT_MM

    @property
    def top(self) -> float:
        """Its upper edge."""
        return self.bottom + CELL_HIGH_MM - BELOW_MM - ABOVE_MM

    def at(self, current_a: float, seconds: float) -> Place:
        """A point; seconds beyond the scale lie on its edge."""
        across = math.log(current_a / self.first_a) / math.log(self.last_a / self.first_a)
        up = math.log(min(max(seconds, FIRST_S), LAST_S) / FIRST_S) / math.log(LAST_S / FIRST_S)
        return self.left + across * (self.right - self.left), self.bottom + up * (self.top - self.bottom)

    def samples(self, steps: Sequence[float]) -> list[float]:
        """Amperes from edge to edge, close by both sides of each step."""
        even = [self.first_a * (self.last_a / self.first_a) ** (index / SAMPLES) for index in range(SAMPLES + 1)]
        sides = [step * side for step in steps for side in (1 - NEAR, 1.0, 1 + NEAR)]
        return sorted({current_a for current_a in (*even, *sides) if self.first_a <= current_a <= self.last_a})


Pair = tuple[FuseGuard, WireGuard | None]


def with_graph(pairs: Sequence[Pair]) -> list[Pair]:
    """Fuses whose times are known, each with the thinnest wire behind it."""
    return [pair for pair in pairs if pair[0].band is not None and pair[0].rating_a > 0]


def time_current_sheets(pairs: Sequence[Pair]) -> list[Drawing]:
    """Sheets with a graph for each of those."""
    return [_sheet(pairs[first : first + PER_SHEET]) for first in range(0, len(pairs), PER_SHEET)]


def _sheet(items: Sequence[Pair]) -> Drawing:
    rows = math.ceil(len(items) / ACROSS)
    height = KEY_MM + rows * CELL_HIGH_MM
    sketch = Sketch()
    for index, (fuse, wire) in enumerate(items):
        row, column = divmod(index, ACROSS)
        _graph(sketch, fuse, wire, column * CELL_WIDE_MM + LEFT_MM, height - (row + 1) * CELL_HIGH_MM + BELOW_MM)
    _key(sketch)
    return Drawing(WIDTH_MM, height, tuple(sketch.shapes), title="Time and current of fuses")


def _graph(sketch: Sketch, fuse: FuseGuard, wire: WireGuard | None, left: float, bottom: float) -> None:
    assert fuse.band is not None
    shorts = [current_a for current_a in (fuse.least_a, fuse.most_a) if current_a]
    starts = [hardest_start(fuse.starts).current_a] if fuse.starts else []
    highest_a = max([6.5 * fuse.rating_a, *(1.25 * current_a for current_a in (*shorts, *starts))])
    frame = _Frame(left, bottom, min([0.5 * fuse.rating_a, *(0.8 * current_a for current_a in shorts)]), highest_a)
    _grid(sketch, frame)
    _band(sketch, frame, fuse)
    for current_a in shorts:
        sketch.line(frame.at(current_a, FIRST_S), frame.at(current_a, LAST_S), SHORT)
    _load(sketch, frame, fuse)
    if wire is not None:
        _dashed(sketch, _shown(frame, _bears(frame, wire)), WIRE)
    sketch.box(frame.left, frame.bottom, frame.right, frame.top, AXIS)
    room = frame.right - frame.left
    sketch.text((left, frame.top + 4.6), shortened(f"{fuse.ref}, {kind_words(fuse)}", WORD_MM, room, bold=True), WORD_MM, bold=True)
    sketch.text((left, frame.top + 1.4), shortened(_words(fuse, wire), SMALL_MM, room), SMALL_MM)


def _words(fuse: FuseGuard, wire: WireGuard | None) -> str:
    words = [] if wire is None else [f"{wire.ref} {wire.section_mm2:g} mm²"]
    words.append(f"carries {fuse.current_a:.3g} A")
    if fuse.starts:
        words.append(f"start {hardest_start(fuse.starts).current_a:.3g} A")
    if fuse.least_a and fuse.most_a:
        words.append(f"shorts {fuse.least_a:.0f} to {fuse.most_a:.0f} A")
    return ", ".join(words)


def _grid(sketch: Sketch, frame: _Frame) -> None:
    for seconds, words in TICKS_S:
        sketch.line(frame.at(frame.first_a, seconds), frame.at(frame.last_a, seconds), GRID)
        x, y = frame.at(frame.first_a, seconds)
        sketch.text((x - 1.0, max(y - SMALL_MM / 2, frame.bottom)), words, SMALL_MM, style=SOFT_TEXT, anchor="end")
    free = frame.left - 2.0
    for current_a in _amperes(frame.first_a, frame.last_a):
        x, y = frame.at(current_a, FIRST_S)
        sketch.line((x, y), (x, frame.top), GRID)
        words = f"{current_a:g}"
        wide = text_width_mm(words, SMALL_MM)
        # Room is left at the end for the unit.
        if x - wide / 2 >= free and x + wide / 2 <= frame.right - 4.0:
            sketch.text((x, y - 3.2), words, SMALL_MM, style=SOFT_TEXT, anchor="middle")
            free = x + wide / 2 + 1.5
    sketch.text((frame.right, frame.bottom - 3.2), "A", SMALL_MM, style=SOFT_TEXT, anchor="end")


def _amperes(first_a: float, last_a: float) -> Iterator[float]:
    """1, 2, 5 and their tens between two currents."""
    for power in range(math.floor(math.log10(first_a)), math.ceil(math.log10(last_a)) + 1):
        for digit in (1, 2, 5):
            if first_a < digit * 10.0**power < last_a:
                yield digit * 10.0**power


def _band(sketch: Sketch, frame: _Frame, fuse: FuseGuard) -> None:
    """From its earliest to its latest opening."""
    band = fuse.band
    assert band is not None
    steps = steps_of(band)
    # Below the first of its points nothing is known.
    currents = [current_a for current_a in frame.samples(steps) if current_a >= min(steps)]
    early = [(currents[0], math.inf), *((current_a, band.earliest_s(current_a)) for current_a in currents)]
    late = [(current_a, band.latest_s(current_a)) for current_a in currents]
    corners = [frame.at(*point) for point in (*early, *reversed(late))]
    sketch.polygon(corners, BAND_FILL)
    for points in (early, late):
        for one, other in itertools.pairwise(_shown(frame, points)):
            sketch.line(one, other, BAND)


def _bears(frame: _Frame, wire: WireGuard) -> list[tuple[float, float]]:
    """The longest that the wire bears each current."""
    bearing = wire.bearing
    # Where a short circuit's five seconds end, and from where it is an overload that ends.
    bend_a = math.sqrt(bearing.short_s(1.0) / ADIABATIC_UP_TO_S)
    currents = frame.samples([bearing.for_good_a(OVERLOAD_K), bend_a])
    return [(current_a, bearing.withstand_s(current_a)) for current_a in currents]


def _load(sketch: Sketch, frame: _Frame, fuse: FuseGuard) -> None:
    """What it carries for good, down to the hardest start, and that start with a dot at its end."""
    start_a = hardest_start(fuse.starts).current_a if fuse.starts else 0.0
    if max(fuse.current_a, start_a) <= frame.first_a:
        return
    steady_a = max(fuse.current_a, frame.first_a)
    if not fuse.starts:
        sketch.line(frame.at(steady_a, FIRST_S), frame.at(steady_a, LAST_S), LOAD)
        return
    start = hardest_start(fuse.starts)
    corner, end = frame.at(steady_a, start.seconds), frame.at(start_a, start.seconds)
    for one, other in itertools.pairwise((frame.at(steady_a, LAST_S), corner, end, frame.at(start_a, FIRST_S))):
        sketch.line(one, other, LOAD)
    sketch.circle(end, 0.8, DOT)


def _shown(frame: _Frame, points: Sequence[tuple[float, float]]) -> list[Place]:
    """A falling line, cut off where it leaves the scale of seconds."""
    shown: list[Place] = []
    for (one_a, one_s), (other_a, other_s) in itertools.pairwise(points):
        if min(one_s, other_s) >= LAST_S or max(one_s, other_s) <= FIRST_S:
            continue
        ends = [frame.at(*_cut(one_a, one_s, other_a, other_s)), frame.at(*_cut(other_a, other_s, one_a, one_s))]
        shown += ends if not shown else ends[1:]
    return _without_bends(shown)


def _dashed(sketch: Sketch, places: Sequence[Place], style: Style) -> None:
    """Dashes that run on round corners: the pens begin anew at each."""
    walked = 0.0
    for (one_x, one_y), (other_x, other_y) in itertools.pairwise(places):
        long = math.hypot(other_x - one_x, other_y - one_y)
        done = 0.0
        while done < long - 1e-9:
            phase = (walked + done) % (DASH_MM + SPACE_MM)
            is_dash = phase < DASH_MM - 1e-9
            end = min(long, done + (DASH_MM if is_dash else DASH_MM + SPACE_MM) - phase)
            if is_dash:
                start, stop = done / long, end / long
                sketch.line(
                    (one_x + start * (other_x - one_x), one_y + start * (other_y - one_y)),
                    (one_x + stop * (other_x - one_x), one_y + stop * (other_y - one_y)),
                    style,
                )
            done = max(end, done + 1e-6)
        walked += long


def _without_bends(places: Sequence[Place]) -> list[Place]:
    """The same line with no corner where three places in a row lie on one straight."""
    kept: list[Place] = []
    for place in places:
        while len(kept) > 1 and _is_straight(kept[-2], kept[-1], place):
            kept.pop()
        kept.append(place)
    return kept


def _is_straight(one: Place, middle: Place, other: Place) -> bool:
    across, up = other[0] - one[0], other[1] - one[1]
    long = math.hypot(across, up)
    return long < 1e-6 or abs(across * (middle[1] - one[1]) - up * (middle[0] - one[0])) / long < 0.02


def _cut(at_a: float, at_s: float, from_a: float, from_s: float) -> tuple[float, float]:
    """A point, or where the straight line to it on log-log paper leaves the scale; from infinity it comes upright."""
    edge_s = min(max(at_s, FIRST_S), LAST_S)
    if edge_s == at_s or at_s == from_s:
        return at_a, at_s
    if not math.isfinite(at_s) or not math.isfinite(from_s):
        return from_a, edge_s
    share = math.log(edge_s / from_s) / math.log(at_s / from_s)
    return from_a * (at_a / from_a) ** share, edge_s


def _key(sketch: Sketch) -> None:
    """What the lines are, along the bottom."""
    samples: list[tuple[Callable[[float, float], None], str]] = [
        (lambda x, y: sketch.box(x, y - 1.2, x + 9.0, y + 1.2, Style("BAND", 0.35, INK, "#DEDCD4")), "fuse, earliest to latest"),
        (lambda x, y: _dashed(sketch, ((x, y), (x + 9.0, y)), WIRE), "thinnest wire bears"),
        (lambda x, y: _load_sample(sketch, x, y), "load, and its hardest start"),
        (lambda x, y: sketch.line((x, y), (x + 9.0, y), SHORT), "least and most of a short"),
    ]
    x, y = 0.0, 3.0
    for draw, words in samples:
        draw(x, y)
        sketch.text((x + 10.5, y - SMALL_MM / 2), words, SMALL_MM, style=Style("TEXT", 0.25, SOFT))
        x += 15.0 + text_width_mm(words, SMALL_MM)


def _load_sample(sketch: Sketch, x: float, y: float) -> None:
    sketch.line((x, y), (x + 9.0, y), LOAD)
    sketch.circle((x + 9.0, y), 0.8, DOT)
