"""The way of the sense wires inside one box: a straight trunk above the modules, with branches at right angles to each plug."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from halfshaft.model.boxes import Box, ModulePlace, PlatePlace
from halfshaft.model.devices import Tail
from halfshaft.model.wires import Point, Run
from halfshaft.studies.module_places import Spot

# What a plug needs behind it to be pulled off and turned aside by hand (common practice).
PLUG_REACH_MM = 30.0
# A plug hangs from the trunk by its tail down to here; further down its branch is a run of its own.
DROP_MAX_MM = 60.0
# What branches keep from the sides of modules that they pass.
BESIDE_MM = 3.0
# Branches leave the trunk together where their feet would be closer than this: a bundle cannot be bent between them.
FEET_APART_MM = 40.0
# Places closer to each other than a tenth of a millimetre are one.
DECIMALS = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Outlet:
    """One place that wires come to: its connectors hang there; `reach_mm` from the place to their backs."""

    name: str
    spot: Spot
    connectors: tuple[tuple[str, str], ...]
    reach_mm: float = PLUG_REACH_MM


@dataclass(frozen=True, kw_only=True, slots=True)
class Ways:
    """Points, runs and tails inside one box, and how much room is above its modules."""

    points: tuple[Point, ...]
    runs: tuple[Run, ...]
    tails: tuple[Tail, ...]
    room_above_mm: float


@dataclass(frozen=True, slots=True)
class _Branch:
    """An outlet with the spot at trunk height from which it is reached, and how far it is from there to the outlet."""

    outlet: Outlet
    spot: Spot
    down_mm: float


def _blocks(box: Box) -> list[ModulePlace | PlatePlace]:
    return [*box.modules, *box.plates]


def room_above_mm(box: Box) -> float:
    """Between the highest module or plate and the lid, inside."""
    return box.z_max_mm - box.wall_mm - max(block.z_max_mm for block in _blocks(box))


def ways_in(box: Box, outlets: Iterable[Outlet], *, zone: str | None) -> Ways:
    """Lay the trunk and its branches.

    The trunk lies half-way between modules and lid, along the side on which the outlets spread further, and
    across at their median, where all branches together are shortest.
    """
    room_mm = room_above_mm(box)
    z_mm = box.z_max_mm - box.wall_mm - room_mm / 2
    branches = [_branch(box, outlet, z_mm) for outlet in outlets]
    spread = [max(item.spot[axis] for item in branches) - min(item.spot[axis] for item in branches) for axis in (0, 1)]
    along, across = (0, 1) if spread[0] >= spread[1] else (1, 0)
    middle_mm = sorted(item.spot[across] for item in branches)[(len(branches) - 1) // 2]
    net = _Net(box=box.ref, zone=zone)
    feet = _feet(item.spot[along] for item in branches)
    marks = {}
    for place_mm in sorted(set(feet.values())):
        spot = (place_mm, middle_mm, z_mm) if along == 0 else (middle_mm, place_mm, z_mm)
        marks[place_mm] = net.point(spot, f"on the trunk of {box.ref}")
    ordered = list(marks.values())
    for one, other in itertools.pairwise(ordered):
        net.run(one, other)
    for item in branches:
        net.branch(item, marks[feet[item.spot[along]]])
    return Ways(points=tuple(net.points.values()), runs=tuple(net.runs), tails=tuple(net.tails), room_above_mm=room_mm)


def _feet(places_mm: Iterable[float]) -> dict[float, float]:
    """For each place along the trunk the place where its branch leaves: its own, or that of an earlier one close by."""
    feet: dict[float, float] = {}
    for place_mm in places_mm:
        near = [foot for foot in feet.values() if abs(foot - place_mm) < FEET_APART_MM]
        feet[place_mm] = min(near, key=lambda foot: (abs(foot - place_mm), foot)) if near else place_mm
    return feet


@dataclass(slots=True)
class _Net:
    """Points, runs and tails of one box as they are laid, numbered in that order."""

    box: str
    zone: str | None
    points: dict[str, Point] = field(default_factory=dict)
    runs: list[Run] = field(default_factory=list)
    tails: list[Tail] = field(default_factory=list)

    def point(self, spot: Spot, name: str) -> str:
        """A new point, by its mark."""
        x_mm, y_mm, z_mm = (round(value, DECIMALS) for value in spot)
        ref = f"{self.box}-{len(self.points) + 1}"
        self.points[ref] = Point(ref=ref, name=name, x_mm=x_mm, y_mm=y_mm, z_mm=z_mm, kind="breakout", zone=self.zone)
        return ref

    def run(self, start: str, end: str, length_mm: float | None = None) -> None:
        """A new run; its length is that from point to point where none is given."""
        self.runs.append(
            Run(
                ref=f"{self.box}-U{len(self.runs) + 1}",
                from_point=start,
                to_point=end,
                length_taped_mm=length_mm,
                may_carry=("sense",),
                zone=self.zone,
            )
        )

    def branch(self, branch: _Branch, foot: str) -> None:
        """From the trunk across and down to an outlet."""
        at, hangs_mm = foot, branch.down_mm
        if _apart_mm(self.points[foot], branch.spot) >= 10**-DECIMALS:
            at = self.point(branch.spot, f"beside the trunk, for {branch.outlet.name}")
            self.run(foot, at)
        if hangs_mm > DROP_MAX_MM:
            low = self.point(branch.outlet.spot, f"at {branch.outlet.name}")
            # Round the edge of what stands above it, so longer than straight.
            self.run(at, low, round(hangs_mm, DECIMALS))
            at, hangs_mm = low, 0.0
        for device, connector in branch.outlet.connectors:
            tail_mm = round(branch.outlet.reach_mm + hangs_mm, DECIMALS)
            self.tails.append(Tail(device=device, connector=connector, point=at, tail_mm=tail_mm))


def _apart_mm(point: Point, spot: Spot) -> float:
    return max(abs(point.x_mm - spot[0]), abs(point.y_mm - spot[1]))


def _branch(box: Box, outlet: Outlet, z_mm: float) -> _Branch:
    """Straight up from an outlet; where a module or plate stands above it, beside that one."""
    x_mm, y_mm, low_mm = outlet.spot
    above = [block for block in _blocks(box) if block.z_min_mm >= low_mm - BESIDE_MM]
    aside = min(
        (spot for spot in _free_spots(box, (x_mm, y_mm), above)),
        key=lambda spot: (abs(spot[0] - x_mm) + abs(spot[1] - y_mm), spot),
        default=(x_mm, y_mm),
    )
    aside_mm = abs(aside[0] - x_mm) + abs(aside[1] - y_mm)
    return _Branch(outlet, (aside[0], aside[1], z_mm), aside_mm + abs(z_mm - low_mm))


def _free_spots(box: Box, spot: tuple[float, float], above: list[ModulePlace | PlatePlace]) -> Iterable[tuple[float, float]]:
    """The spot itself, or those beside the blocks above it, inside the box's walls, over which nothing stands."""
    x_mm, y_mm = spot
    spots = [spot]
    for block in above:
        spots += [(block.x_min_mm - BESIDE_MM, y_mm), (block.x_max_mm + BESIDE_MM, y_mm)]
        spots += [(x_mm, block.y_min_mm - BESIDE_MM), (x_mm, block.y_max_mm + BESIDE_MM)]
    for x, y in spots:
        in_box = (
            box.x_min_mm + box.wall_mm <= x <= box.x_max_mm - box.wall_mm and box.y_min_mm + box.wall_mm <= y <= box.y_max_mm - box.wall_mm
        )
        if in_box and not any(block.x_min_mm < x < block.x_max_mm and block.y_min_mm < y < block.y_max_mm for block in above):
            yield x, y


def inside_wall(box: Box, outside: Mapping[str, float]) -> Spot:
    """The spot of the wall of a box that is nearest to a place outside it, seen from inside."""
    x_mm, y_mm, z_mm = (
        min(max(outside[axis], getattr(box, f"{axis}_min_mm") + box.wall_mm), getattr(box, f"{axis}_max_mm") - box.wall_mm)
        for axis in "xyz"
    )
    return x_mm, y_mm, z_mm
