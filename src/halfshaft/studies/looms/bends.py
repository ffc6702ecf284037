"""Whether what passes a route point can bend there as tightly as the runs ask."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, BasisKind, Finding
from halfshaft.model.parts import CableType
from halfshaft.standards import bends
from halfshaft.studies.looms.lengths import bundle_at_most_mm, bundle_diameter_mm, circles_of
from halfshaft.studies.looms.network import Route
from halfshaft.studies.looms.routing import LaidLoom, LaidWire, Routing

# What turns less than this is straight for any cable.
STRAIGHT_DEG = 1.0


@dataclass(frozen=True, slots=True)
class Turn:
    """What a route does at a point: from which run into which, and the largest radius for which there is room."""

    point: str
    runs: tuple[str, str]
    turn_deg: float
    radius_mm: float


def bend_findings(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """All rules of this module."""
    corners = Corners(conversion, routing)
    yield from tight_cables(conversion, routing, corners)
    for laid in routing.looms:
        yield from tight_looms(conversion, laid, corners)


class Corners:
    """What turns where, each corner worked out once."""

    def __init__(self, conversion: Conversion, routing: Routing) -> None:
        self._conversion = conversion
        self._lengths = routing.run_lengths
        self._known: dict[tuple[str, str, str, float, float], Turn | None] = {}

    def of(self, route: Route) -> Iterator[Turn]:
        """Every turn of a route, as an arc that touches both runs.

        An arc of radius R over a turn of angle a begins R tan(a / 2) before the corner. It may take half of each run,
        for the other half belongs to the next corner, and all of a run on which the route begins or ends at a connector. At
        a splice the bundle goes on, so there too it may take half of the run.
        """
        ends = ((route.start, route.steps[:1]), (route.end, route.steps[-1:]))
        whole = {step.run for node, last in ends if node in self._conversion.point for step in last}
        for before, after in itertools.pairwise(route.steps):
            if before.run != after.run:
                shares = [1.0 if run in whole else 0.5 for run in (before.run, after.run)]
                key = (before.end, before.run, after.run, shares[0], shares[1])
                if key not in self._known:
                    self._known[key] = self._turn(*key)
                turn = self._known[key]
                if turn is not None:
                    yield turn

    def _turn(self, point: str, before: str, after: str, share_before: float, share_after: float) -> Turn | None:
        turn_deg = 180.0 - self._corner_deg(before, after, point)
        if turn_deg < STRAIGHT_DEG:
            return None
        room_mm = min(self._lengths[before].length_mm * share_before, self._lengths[after].length_mm * share_after)
        # A route that turns right back has no room at all: the tangent of 90 degrees.
        radius_mm = 0.0 if turn_deg > 179.9 else room_mm / math.tan(math.radians(turn_deg) / 2)
        return Turn(point, (before, after), turn_deg, radius_mm)

    def _corner_deg(self, one: str, other: str, point: str) -> float:
        """The angle between two runs at the point that they share; 180 where one of them has no length and so no direction."""
        here = self._conversion.point[point]
        ways = []
        for ref in (one, other):
            run = self._conversion.run[ref]
            far = self._conversion.point[run.to_point if run.from_point == point else run.from_point]
            ways.append((far.x_mm - here.x_mm, far.y_mm - here.y_mm, far.z_mm - here.z_mm))
        both = math.hypot(*ways[0]) * math.hypot(*ways[1])
        if not both:
            return 180.0
        return math.degrees(math.acos(max(-1.0, min(1.0, sum(a * b for a, b in zip(*ways, strict=True)) / both))))


def least_radius(kind: CableType) -> tuple[float, Basis]:
    """The tightest bend of a cable: its own figure, or where the catalogue gives none, the trade's."""
    if kind.bend_radius_min_mm:
        return kind.bend_radius_min_mm, Basis("common practice", "the cable's own facts in the catalogue")
    return _by_diameter("multicore cable" if kind.cores > 1 else "high-voltage cable", kind.outside_diameter_mm)


def _by_diameter(what: str, diameter_mm: float) -> tuple[float, Basis]:
    constant = bends()[what]
    basis: BasisKind = "published" if constant.basis == "published" else "from memory"
    return constant.value * diameter_mm, Basis(basis, constant.source)


def tight_cables(conversion: Conversion, routing: Routing, corners: Corners) -> Iterator[Finding]:
    """A high-voltage or mains cable has to bend more tightly at a point than it may."""
    for laid in routing.cables:
        if laid.route is None:
            continue
        limit_mm, basis = least_radius(conversion.cable_type[laid.cable.cable_type])
        for turn in corners.of(laid.route):
            if turn.radius_mm < limit_mm:
                yield _finding(conversion, f"Cable {laid.cable.ref}", laid.cable.ref, turn, limit_mm, basis, level_is_fix=True, is_hv=True)


def tight_looms(conversion: Conversion, laid: LaidLoom, corners: Corners) -> Iterator[Finding]:
    """The wires of a loom that turn at a point have to bend more tightly than their bundle, or a screened pair among them, may."""
    turns: dict[tuple[str, tuple[str, ...]], Turn] = {}
    wires: dict[tuple[str, tuple[str, ...]], list[LaidWire]] = defaultdict(list)
    for wire in laid.wires:
        for turn in corners.of(wire.route) if wire.route else ():
            key = (turn.point, tuple(sorted(turn.runs)))
            known = turns.get(key)
            if known is None or turn.radius_mm < known.radius_mm:
                turns[key] = turn
            wires[key].append(wire)
    for key, turn in sorted(turns.items()):
        passing = wires[key]
        pairs = [
            group.outside_diameter_mm
            for wire in passing
            if wire.wire.screen and (group := conversion.twist_group.get(wire.wire.twist_group or "")) and group.outside_diameter_mm
        ]
        circles_mm = circles_of(((wire.outside_diameter_mm, wire.wire.twist_group) for wire in passing), conversion.twist_group)
        most_mm = bundle_at_most_mm(circles_mm, looseness=conversion.shop.looseness)
        # Most turns have room for more than any bundle of their wires could want: those need no search.
        is_roomy = turn.radius_mm >= _by_diameter("wires", most_mm)[0]
        bundle_mm = most_mm if is_roomy else bundle_diameter_mm(circles_mm, looseness=conversion.shop.looseness)
        found = [(*_by_diameter("wires", bundle_mm), False)]
        if pairs:
            found.append((*_by_diameter("multicore cable", max(pairs)), True))
        # A published figure that is not met says more than a remembered one.
        for limit_mm, basis, is_fix in reversed(found):
            if turn.radius_mm < limit_mm:
                yield _finding(conversion, f"Loom {laid.loom.ref}", laid.loom.ref, turn, limit_mm, basis, level_is_fix=is_fix, is_hv=False)
                break


def _finding(
    conversion: Conversion, what: str, ref: str, turn: Turn, limit_mm: float, basis: Basis, *, level_is_fix: bool, is_hv: bool
) -> Finding:
    return Finding(
        rule="looms.tight-bend",
        level="fix" if level_is_fix else "note",
        about=(ref, turn.point, *turn.runs),
        text=f"{what} turns by {turn.turn_deg:.0f} degrees at {turn.point} ({conversion.point[turn.point].name}), from run {turn.runs[0]} into {turn.runs[1]}: there is room for a radius of {turn.radius_mm:.0f} mm, and it wants {limit_mm:.0f} mm. Move the point, or make the shorter run longer.",
        value=turn.radius_mm,
        limit=limit_mm,
        unit="mm",
        basis=basis,
        caution=HV_CAUTION if is_hv else "",
    )
