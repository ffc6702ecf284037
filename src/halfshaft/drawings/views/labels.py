"""Where words go: beside the thing they name, on nothing else, and with a line to it where they had to move away."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from halfshaft.drawings.shapes import INK, PAPER, Circle, Line, Polygon, Shape, Sketch, Style, Text, Track, box_of, text_width_mm
from halfshaft.drawings.views.eyes import Rect
from halfshaft.studies.looms.geometry import Place

LEADER = Style("LEADER", 0.18)
DOT = Style("LEADER", 0.1, INK, INK)
BACKING = Style("TEXT", 0.0, None, PAPER)
REF = Style("TEXT", 0.25)
GAP_MM, NEAR_MM, DOT_MM = 0.7, 1.6, 0.35
RINGS_MM = (1.2, 2.5, 4.0, 6.0, 8.5, 11.5, 15.0, 20.0, 26.0, 34.0, 44.0, 60.0)
# What it costs, in millimetres of way, to cover a solid thing, to lay a leader over one, and to lie on a line.
COVERS_MM, CROSSES_MM, ON_CABLE_MM, ON_LINE_MM, MOST_LINES = 60.0, 9.0, 12.0, 2.5, 3


@dataclass(frozen=True, kw_only=True, slots=True)
class Wanted:
    """Words for a thing: its outline on the paper, and whether they may stand in it.

    `seen` are places on it that nothing hides, for the end of a leader; none: all of it is seen.
    """

    words: str
    outline: tuple[Place, ...]
    height_mm: float = 2.5
    bold: bool = True
    inside: bool = True
    seen: tuple[Place, ...] = ()


@dataclass(slots=True)
class Ground:
    """What is on the paper already, as far as words have to mind it."""

    room: Rect
    texts: list[Rect] = field(default_factory=list)
    solids: list[Rect] = field(default_factory=list)
    lines: list[tuple[Place, Place]] = field(default_factory=list)
    cables: list[tuple[Place, Place]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place for words, and the two ends of its leader."""

    cost: float
    rect: Rect
    leader: tuple[Place, Place] | None


def lines_of(shapes: Sequence[Shape]) -> Iterator[tuple[Place, Place]]:
    """The straight pieces of what is drawn, circles as corners; words are better not put on them."""
    for shape in shapes:
        match shape:
            case Line(start, end, _):
                yield start, end
            case Polygon(corners, _):
                yield from zip(corners, (*corners[1:], corners[0]), strict=True)
            case Track(path, _):
                yield from itertools.pairwise(path.corners)
            case Circle((x, y), radius, _):
                turns = [math.radians(15 * step) for step in range(25)]
                yield from itertools.pairwise((x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns)


def write(sketch: Sketch, ground: Ground, wanted: Sequence[Wanted]) -> tuple[str, ...]:
    """Write each in its turn at the best place that is left; returns the words for which there was none."""
    left_out = []
    for item in wanted:
        width = text_width_mm(item.words, item.height_mm, bold=item.bold)
        best = _best(ground, item, width)
        if best is None:
            left_out.append(item.words)
            continue
        if best.leader:
            sketch.line(*best.leader, LEADER)
            sketch.circle(best.leader[1], DOT_MM, DOT)
            ground.lines.append(best.leader)
        left, bottom, right, top = best.rect
        if any(meet(best.rect, solid) for solid in ground.solids) or any(
            _cuts(a, b, best.rect) for a, b in (*ground.lines, *ground.cables)
        ):
            sketch.box(left - 0.3, bottom - 0.3, right + 0.3, top + 0.3, BACKING)
        text = Text((left, bottom), item.words, item.height_mm, REF, bold=item.bold)
        sketch.shapes.append(text)
        ground.texts.append(box_of(text))
    return tuple(left_out)


def _best(ground: Ground, item: Wanted, width: float) -> _Spot | None:
    """The cheapest place that is allowed; None where there is none."""
    best: _Spot | None = None
    xs, ys = [x for x, _ in item.outline], [y for _, y in item.outline]
    own = (min(xs), min(ys), max(xs), max(ys))
    own_texts = [grown(text, GAP_MM) for text in ground.texts]
    for rect, way in _candidates(own, width, item):
        if best is not None and way >= best.cost + 1.0:
            break  # they come nearest first, give or take a millimetre, and none costs less than its way
        if best is not None and way >= best.cost:
            continue
        if not _holds(ground.room, rect) or any(meet(rect, text) for text in own_texts):
            continue
        within = _holds(own, rect)
        cost = way + COVERS_MM * sum(meet(grown(rect, 0.3), solid) for solid in ground.solids if not (within and solid == own))
        cost += ON_CABLE_MM * any(_cuts(a, b, grown(rect, 0.5)) for a, b in ground.cables)
        cost += ON_LINE_MM * min(sum(_cuts(a, b, rect) for a, b in ground.lines), MOST_LINES)
        leader = None
        if not within and way > NEAR_MM:
            leader = _leader(rect, item, own)
            if any(_cuts(*leader, text) for text in own_texts):
                continue
            cost += CROSSES_MM * sum(_cuts(*leader, grown(solid, -0.05)) for solid in ground.solids if solid != own)
        if best is None or cost < best.cost:
            best = _Spot(cost, rect, leader)
    return best


def _candidates(own: Rect, width: float, item: Wanted) -> Iterator[tuple[Rect, float]]:
    """Rectangles for the words: inside the thing, then round it in wider and wider rings."""
    left, bottom, right, top = own
    height = item.height_mm
    if item.inside:
        pad = 0.7
        for fx in (0.5, 0.0, 1.0):
            for fy in (0.5, 1.0, 0.0):
                x, y = left + pad + fx * (right - left - width - 2 * pad), bottom + pad + fy * (top - bottom - height - 2 * pad)
                if right - left >= width + 2 * pad and top - bottom >= height + 2 * pad:
                    yield (x, y, x + width, y + height), 0.1 * (abs(fx - 0.5) + abs(fy - 0.5))
    for ring in RINGS_MM:
        for fx in (0.5, 0.0, 1.0):
            x = left + fx * (right - left) - fx * width
            yield (x, top + ring, x + width, top + ring + height), ring + 0.2 * abs(fx - 0.5)
            yield (x, bottom - ring - height, x + width, bottom - ring), ring + 0.1 + 0.2 * abs(fx - 0.5)
        for fy in (0.5, 0.0, 1.0):
            y = bottom + fy * (top - bottom) - fy * height
            yield (right + ring, y, right + ring + width, y + height), ring + 0.05 + 0.2 * abs(fy - 0.5)
            yield (left - ring - width, y, left - ring, y + height), ring + 0.15 + 0.2 * abs(fy - 0.5)
        for angle in range(15, 360, 30):
            dx, dy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            x, y = (right + ring * dx if dx > 0 else left + ring * dx - width), (top + ring * dy if dy > 0 else bottom + ring * dy - height)
            yield (x, y, x + width, y + height), ring + 0.5


def _leader(rect: Rect, item: Wanted, own: Rect) -> tuple[Place, Place]:
    """From the edge of the words to the nearest place of the thing that is seen, a little into it where it is a block."""
    middle = ((rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2)
    if item.seen:
        target = min(item.seen, key=lambda place: math.dist(place, middle))
    else:
        edges = zip(item.outline, (*item.outline[1:], item.outline[0]), strict=True)
        target = min((_nearest_on(a, b, middle) for a, b in edges), key=lambda place: math.dist(place, middle))
    if len(item.outline) == 4 and not item.seen:
        inset = min(0.9, (own[2] - own[0]) / 2, (own[3] - own[1]) / 2)
        target = _into(grown(own, -inset), target)
    return _into(grown(rect, 0.5), target), target


def _nearest_on(a: Place, b: Place, place: Place) -> Place:
    length2 = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    share = 0.0 if length2 == 0 else ((place[0] - a[0]) * (b[0] - a[0]) + (place[1] - a[1]) * (b[1] - a[1])) / length2
    share = min(max(share, 0.0), 1.0)
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def _into(rect: Rect, place: Place) -> Place:
    return min(max(place[0], rect[0]), rect[2]), min(max(place[1], rect[1]), rect[3])


def grown(rect: Rect, by: float) -> Rect:
    """A rectangle larger by so much on every side."""
    return rect[0] - by, rect[1] - by, rect[2] + by, rect[3] + by


def meet(one: Rect, other: Rect) -> bool:
    """Whether two rectangles share room."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _holds(outer: Rect, inner: Rect) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]


def _cuts(a: Place, b: Place, rect: Rect) -> bool:
    """Whether a line from a to b passes through a rectangle (Liang and Barsky)."""
    if max(a[0], b[0]) <= rect[0] or min(a[0], b[0]) >= rect[2] or max(a[1], b[1]) <= rect[1] or min(a[1], b[1]) >= rect[3]:
        return False
    enter, leave = 0.0, 1.0
    for start, way, low, high in ((a[0], b[0] - a[0], rect[0], rect[2]), (a[1], b[1] - a[1], rect[1], rect[3])):
        if way == 0:
            if not low < start < high:
                return False
            continue
        first, second = sorted(((low - start) / way, (high - start) / way))
        enter, leave = max(enter, first), min(leave, second)
    return enter < leave
