"""What must not lie together or too near: high voltage beside other wires, and looms beside what is hot, sharp or moves."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published
from halfshaft.standards import clearances, constants
from halfshaft.studies.basis import shop_basis
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.looms.uses import RunUse, some, uses_of, zone_of

Place = tuple[float, float, float]

# Common practice: the published rule says right angles, and no two runs of a car cross at just that.
CROSSING_DEG = 60.0
SQUARE_MM = 250.0


@dataclass(frozen=True, slots=True)
class Line:
    """A run as a straight line in the car."""

    run: str
    start: Place
    end: Place

    def at(self, share: float) -> Place:
        """The place at a share of its length."""
        x, y, z = (a + share * (b - a) for a, b in zip(self.start, self.end, strict=True))
        return x, y, z


@dataclass(frozen=True, kw_only=True, slots=True)
class Nearness:
    """A run with high voltage and another one: least gap, angle between them, and how much of the other lies within the limit."""

    high: str
    other: str
    gap_mm: float
    angle_deg: float
    within_mm: float


def apart_findings(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """All rules of this module."""
    uses = uses_of(conversion, routing)
    yield from hv_near(conversion, routing, uses)
    yield from shared_with_hv(uses)
    yield from too_near(conversion, uses)


def hv_near(conversion: Conversion, routing: Routing, uses: dict[str, RunUse]) -> Iterator[Finding]:
    """A run with LV or sense wires lies too near one with high voltage in the same zone: one finding a place, its nearest pair first."""
    limit_mm = conversion.shop.hv_gap_min_mm
    published_mm = constants()["hv_gap_min_mm"].value
    for group in _places(conversion, near_pairs(conversion, routing, uses, within_mm=limit_mm)):
        worst = group[0]
        runs = tuple(dict.fromkeys(run for pair in group for run in (pair.other, pair.high)))
        length_mm = routing.run_lengths[worst.other].length_mm
        less = f"; {_share(worst.within_mm, length_mm)} nearer than {limit_mm:g} mm"
        if limit_mm < published_mm:
            further = nearness(conversion, routing, worst.high, worst.other, within_mm=published_mm)
            less += f", {_share(further.within_mm, length_mm)} nearer than the {published_mm:g} mm published for cars"
        also = f" The same goes for {some(runs[2:])}." if len(runs) > 2 else ""
        yield Finding(
            rule="looms.hv-near",
            level="fix",
            about=runs,
            text=f"Run {worst.other} ({some(uses[worst.other].quiet)}, {length_mm:.0f} mm long) lies {worst.gap_mm:.0f} mm from run {worst.high} with {some(uses[worst.high].high)}, at {worst.angle_deg:.0f} degrees{less}: lead it elsewhere, or across at a right angle.{also}",
            value=worst.gap_mm,
            limit=limit_mm,
            unit="mm",
            basis=shop_basis(limit_mm, "hv_gap_min_mm"),
            caution=HV_CAUTION,
        )


def near_pairs(conversion: Conversion, routing: Routing, uses: dict[str, RunUse], *, within_mm: float) -> list[Nearness]:
    """Pairs of runs, one with high voltage and one with LV or sense wires, nearer than a limit and not parted by a panel.

    Zones are parted by steel panels, so runs of two zones are no pair; a run whose zone is not known may be in any.
    Runs that cross at 60 degrees or more are no pair. Each run is held only against those in the squares of floor that it can reach.
    """
    lines = {use.run: _line(conversion, use.run) for use in uses.values() if use.high or use.quiet}
    # Wide enough that no line lies over many squares, whatever was typed.
    longest_mm = max((abs(line.end[axis] - line.start[axis]) for line in lines.values() for axis in (0, 1)), default=0.0)
    square_mm = max(SQUARE_MM, within_mm, longest_mm / 8)
    floor: dict[tuple[int, int], list[Line]] = defaultdict(list)
    for use in uses.values():
        if use.quiet and not use.high:
            for square in _squares(lines[use.run], square_mm, within_mm):
                floor[square].append(lines[use.run])
    zones = {use.run: zone_of(conversion, use.run) for use in uses.values()}
    found = []
    for use in uses.values():
        if not use.high:
            continue
        high = lines[use.run]
        others = {other.run: other for square in _squares(high, square_mm, 0.0) for other in floor.get(square, ())}
        for other in others.values():
            mine, theirs = zones[use.run], zones[other.run]
            if (mine is not None and theirs is not None and mine != theirs) or not _boxes_meet(high, other, within_mm):
                continue
            if angle_deg(high, other) < CROSSING_DEG and gap_mm(high, other) < within_mm:
                found.append(nearness(conversion, routing, use.run, other.run, within_mm=within_mm))
    return found


def _squares(line: Line, square_mm: float, within_mm: float) -> Iterator[tuple[int, int]]:
    """The squares of floor over which a line lies, or might with a distance round it."""
    columns, rows = (
        range(math.floor((min(one, other) - within_mm) / square_mm), math.floor((max(one, other) + within_mm) / square_mm) + 1)
        for one, other in zip(line.start[:2], line.end[:2], strict=True)
    )
    return itertools.product(columns, rows)


def _places(conversion: Conversion, pairs: list[Nearness]) -> list[list[Nearness]]:
    """Pairs that go on into each other, from run to next run, each place with its nearest pair first."""
    links = []
    for pair in pairs:
        high, other = conversion.run[pair.high], conversion.run[pair.other]
        ends = [(a, b) for a in (pair.high, high.from_point, high.to_point) for b in (pair.other, other.from_point, other.to_point)]
        links += [(f"{pair.high} {pair.other}", f"{a} beside {b}") for a, b in ends]
    groups = joined_groups(links)
    found: dict[str, list[Nearness]] = defaultdict(list)
    for pair in sorted(pairs, key=lambda item: (item.gap_mm, item.other, item.high)):
        found[groups[f"{pair.high} {pair.other}"]].append(pair)
    return list(found.values())


def _share(within_mm: float, length_mm: float) -> str:
    return "all of it" if within_mm > length_mm - 0.5 else f"{within_mm:.0f} mm of it"


def _line(conversion: Conversion, run_ref: str) -> Line:
    run = conversion.run[run_ref]
    start, end = conversion.point[run.from_point], conversion.point[run.to_point]
    return Line(run_ref, (start.x_mm, start.y_mm, start.z_mm), (end.x_mm, end.y_mm, end.z_mm))


def _boxes_meet(one: Line, other: Line, within_mm: float) -> bool:
    return all(
        max(min(one.start[axis], one.end[axis]), min(other.start[axis], other.end[axis]))
        <= min(max(one.start[axis], one.end[axis]), max(other.start[axis], other.end[axis])) + within_mm
        for axis in range(3)
    )


def nearness(conversion: Conversion, routing: Routing, high_ref: str, other_ref: str, *, within_mm: float) -> Nearness:
    """How two runs lie to each other."""
    high, other = _line(conversion, high_ref), _line(conversion, other_ref)
    return Nearness(
        high=high_ref,
        other=other_ref,
        gap_mm=gap_mm(high, other),
        angle_deg=angle_deg(high, other),
        within_mm=routing.run_lengths[other_ref].length_mm * share_within(other, high, within_mm=within_mm),
    )


def gap_mm(one: Line, other: Line) -> float:
    """The least distance between two lines."""
    share, their_share = closest(one, other)
    return math.dist(one.at(share), other.at(their_share))


def closest(one: Line, other: Line) -> tuple[float, float]:
    """The shares along two lines at which they are nearest: the free minimum of the distance, else one at an end."""
    d, e = _minus(one.end, one.start), _minus(other.end, other.start)
    r = _minus(one.start, other.start)
    a, b, c, f, g = _dot(d, d), _dot(d, e), _dot(e, e), _dot(d, r), _dot(e, r)
    candidates = [(s, _foot(other, one.at(s))) for s in (0.0, 1.0)] + [(_foot(one, other.at(t)), t) for t in (0.0, 1.0)]
    crossed = a * c - b * b
    if crossed > 1e-9 * a * c:
        s, t = (b * g - c * f) / crossed, (a * g - b * f) / crossed
        if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0:
            return s, t
    return min(candidates, key=lambda item: math.dist(one.at(item[0]), other.at(item[1])))


def angle_deg(one: Line, other: Line) -> float:
    """The angle between two lines, 0 to 90 degrees; 0 where one has no length, for then it has no direction either."""
    d, e = _minus(one.end, one.start), _minus(other.end, other.start)
    both = math.sqrt(_dot(d, d) * _dot(e, e))
    return math.degrees(math.acos(min(1.0, abs(_dot(d, e)) / both))) if both else 0.0


def share_within(line: Line, other: Line, *, within_mm: float) -> float:
    """Which share of a line lies within a distance of another. Distance to a straight line is convex, so it is one piece."""
    nearest = closest(other, line)[1]

    def is_near(share: float) -> bool:
        return math.dist(line.at(share), other.at(_foot(other, line.at(share)))) <= within_mm

    if not is_near(nearest):
        return 0.0
    ends = []
    for far in (0.0, 1.0):
        inside, outside = nearest, far
        if not is_near(far):
            for _ in range(40):
                middle = (inside + outside) / 2
                inside, outside = (middle, outside) if is_near(middle) else (inside, middle)
        else:
            inside = far
        ends.append(inside)
    return ends[1] - ends[0]


def _foot(line: Line, place: Place) -> float:
    """The share along a line at which it is nearest to a place."""
    along = _minus(line.end, line.start)
    square = _dot(along, along)
    return min(1.0, max(0.0, _dot(_minus(place, line.start), along) / square)) if square else 0.0


def _minus(one: Place, other: Place) -> Place:
    return one[0] - other[0], one[1] - other[1], one[2] - other[2]


def _dot(one: Place, other: Place) -> float:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def shared_with_hv(uses: dict[str, RunUse]) -> Iterator[Finding]:
    """One run holds high voltage and 12 V or sense wires."""
    for use in uses.values():
        if use.high and use.looms:
            yield Finding(
                rule="looms.shared-with-hv",
                level="fix",
                about=(use.run, *use.high, *use.looms),
                text=f"Run {use.run} holds {some(use.high)} with high voltage and wires of {some(use.looms)} together: send one of them another way.",
                basis=published(
                    "a bus builder's specification: no mixed voltages in one loom unless all is insulated for the highest (loom practice J14)"
                ),
                caution=HV_CAUTION,
            )


def too_near(conversion: Conversion, uses: dict[str, RunUse]) -> Iterator[Finding]:
    """A loom or cable lies nearer to something hot, sharp, moving or dangerous than it should."""
    for item in conversion.nearby:
        use = uses.get(item.run)
        if use is None or not use.is_wired:
            continue
        clearance = clearances()[item.kind]
        limit_mm = clearance.gap_hv_mm if use.high else clearance.gap_mm
        if limit_mm is not None and item.gap_mm >= limit_mm:
            continue
        held = some((*use.looms, *use.high))
        text = (
            f"Run {item.run} ({held}) lies beside the {item.name}, a {item.kind}: it has to lie elsewhere."
            if limit_mm is None
            else f"Run {item.run} ({held}) lies {item.gap_mm:g} mm from the {item.name}; {limit_mm:g} mm is the least beside {_KINDS[item.kind]}: move or guard it."
        )
        yield Finding(
            rule="looms.too-near",
            level="fix",
            about=(item.ref, item.run),
            text=text,
            value=item.gap_mm,
            limit=limit_mm,
            unit="mm",
            basis=Basis("published", clearance.source),
            caution=HV_CAUTION if use.high else "",
        )


_KINDS = {
    "fixed part": "a fixed part",
    "sharp edge": "a sharp edge",
    "hot part": "a hot part",
    "moving part": "a moving part",
    "brake line": "a brake line",
    "chemicals": "a battery or a container of chemicals",
}
