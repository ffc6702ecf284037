"""Ways in which one stretch can lie: straight, with one bend, or folded to and fro where it is longer than the room it has."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from halfshaft.studies.looms.geometry import Bend, Path, Piece, Place, Straight, ahead, turn_between, unit
from halfshaft.studies.looms.laying_order import NODE_MM, Task

FINE_STEP_DEG, ROOMY_DEG = 5.0, 200.0
TURNS_DEG = (0.0, 45.0, -45.0, 60.0, -60.0, 90.0, -90.0, 30.0, -30.0, 75.0, -75.0, 105.0, -105.0, 120.0, -120.0, 135.0, -135.0, 15.0, -15.0, 150.0, -150.0)  # fmt: skip
FINE_TURNS_DEG = (0.0, *(sign * FINE_STEP_DEG * step for step in range(1, int(180 / FINE_STEP_DEG)) for sign in (1.0, -1.0)))
# A stretch is bent only where it is long enough to look bent and not kinked.
BENT_MM, BENT_TAIL_MM = 240.0, 400.0
BEND_TURNS_DEG = (45.0, 90.0)
FOLD_RADII_MM = (70.0, 150.0)
EDGE_MM = 60.0
SAME_DEG = 1e-6

# What is taken round a breakout: heading of each bundle there and half the angle that it needs.
Ring = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Room:
    """The part of a sheet on which a loom may lie."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """From left to right."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """From bottom to top."""
        return self.top_mm - self.bottom_mm

    def ahead_mm(self, place: Place, heading_deg: float) -> float:
        """How far it is to the edge."""
        ux, uy = unit(heading_deg)
        return min(
            (self.right_mm - place[0]) / ux if ux > 0.05 else (self.left_mm - place[0]) / ux if ux < -0.05 else math.inf,
            (self.top_mm - place[1]) / uy if uy > 0.05 else (self.bottom_mm - place[1]) / uy if uy < -0.05 else math.inf,
        )

    def holds(self, places: Sequence[Place]) -> bool:
        """Whether all of these lie in it; what lies on its edge does."""
        return all(self.left_mm - 1e-6 <= x <= self.right_mm + 1e-6 and self.bottom_mm - 1e-6 <= y <= self.top_mm + 1e-6 for x, y in places)


@dataclass(frozen=True, slots=True)
class Wish:
    """How a stretch was turned by hand: its heading at its near end or at its far one, and its bends where they are given.

    Heading and bends are as seen when it is walked from its near end. A bend is the straight before it, its turn and its radius.
    """

    heading_deg: float
    at_far_end: bool
    bends: tuple[tuple[float, float, float], ...] | None


def ways_of(
    task: Task, start: Place, incoming_deg: float, ring: Ring, pending_deg: Sequence[float], room: Room, wish: Wish | None
) -> list[tuple[float, Path]]:
    """Ways to lay a stretch from a place, each with what it costs in looks, cheapest first.

    `incoming_deg` is the heading with which the bundle comes in. Straight on and level is free, turns and bends are not.
    """
    found = list(
        _wished(task, start, wish) if wish is not None and wish.bends is not None else _all(task, start, incoming_deg, ring, room, wish)
    )
    found = [(looks, path) for looks, path in found if _has_room(path.first_heading_deg % 360.0, task, ring, pending_deg)]
    if wish is not None:
        found = [(looks, path) for looks, path in found if _grants(wish, path)]
    return sorted(found, key=lambda item: item[0])


def path_of(start: Place, heading_deg: float, bends: Sequence[tuple[float, float, float]], length_mm: float) -> Path | None:
    """A line with these bends (straight before, turn, radius) and this length, or None where it is too short for them."""
    pieces: list[Piece] = []
    place, heading, left_mm = start, heading_deg, length_mm
    for before_mm, turn_deg, radius_mm in bends:
        if before_mm > 0:
            pieces.append(Straight(place, heading, before_mm))
            place = ahead(place, heading, before_mm)
        bend = Bend(place, heading, radius_mm, turn_deg)
        pieces.append(bend)
        left_mm -= before_mm + bend.length_mm
        place, heading = bend.at(bend.length_mm), (heading + turn_deg) % 360.0
    if left_mm < -1e-9:
        return None
    if left_mm > 0 or not pieces:
        pieces.append(Straight(place, heading, left_mm))
    return Path(tuple(pieces))


def still_fits(ring: Ring, pending_deg: Sequence[float]) -> bool:
    """Whether the branches still to come find room between those that are there (first-fit, widest first)."""
    if not pending_deg:
        return True
    around = sorted((heading % 360.0, half) for heading, half in ring)
    gaps = [
        there - here - half - other
        for (here, half), (there, other) in zip(around, (*around[1:], (around[0][0] + 360.0, around[0][1])), strict=True)
    ]
    for half in pending_deg:
        widest = max(range(len(gaps)), key=gaps.__getitem__)
        # Headings come in steps, so a gap is never used to the last degree.
        if gaps[widest] < 2 * half + FINE_STEP_DEG / 2:
            return False
        gaps[widest] -= 2 * half
    return True


def _has_room(heading: float, task: Task, ring: Ring, pending_deg: Sequence[float]) -> bool:
    if any(turn_between(heading, other) < task.share_deg + half - 1e-9 for other, half in ring):
        return False
    return still_fits((*ring, (heading, task.share_deg)), pending_deg)


def _grants(wish: Wish, path: Path) -> bool:
    heading = path.last_heading_deg if wish.at_far_end else path.first_heading_deg
    return turn_between(heading, wish.heading_deg) < SAME_DEG


def _wished(task: Task, start: Place, wish: Wish) -> Iterator[tuple[float, Path]]:
    bends = wish.bends or ()
    heading = wish.heading_deg - (sum(turn for _, turn, _ in bends) if wish.at_far_end else 0.0)
    path = path_of(start, heading % 360.0, bends, task.length_mm)
    if path is not None:
        yield 0.0, path


def _all(task: Task, start: Place, incoming: float, ring: Ring, room: Room, wish: Wish | None) -> Iterator[tuple[float, Path]]:
    for heading in _headings(task, ring, incoming, wish):
        turn = (heading - incoming + 180.0) % 360.0 - 180.0
        # A bundle goes straight on for preference, a short tail stands off to the side.
        looks = (abs(abs(turn) - 75.0) if task.is_leaf else abs(turn)) / 300.0 + _off_axis(heading)
        yield looks, Path((Straight(start, heading, task.length_mm),))
        if wish is not None or (task.length_mm >= (BENT_TAIL_MM if task.is_leaf else BENT_MM) and abs(turn) in (0.0, 45.0, 90.0)):
            for more, path in _bent(task, start, heading, room):
                yield looks + more, path
        if heading % 90.0 == 0.0:
            for more, path in _folded(task, start, heading, room):
                yield looks + more, path


def _headings(task: Task, ring: Ring, incoming: float, wish: Wish | None) -> Iterator[float]:
    """Headings to try: in coarse steps, and in fine ones where it is tight round the breakout."""
    if wish is not None:
        turns = (0.0, *(sign * turn for turn in (45.0, 90.0, 180.0) for sign in (1.0, -1.0))) if wish.at_far_end else (0.0,)
        yield from ((wish.heading_deg + turn) % 360.0 for turn in turns)
    elif not ring:
        yield incoming % 360.0
    else:
        tight = 2 * (task.share_deg + sum(task.shares_after_deg)) >= ROOMY_DEG
        yield from ((incoming + turn) % 360.0 for turn in (FINE_TURNS_DEG if tight else TURNS_DEG))


def _off_axis(heading: float) -> float:
    rest = heading % 90.0
    return 0.0 if rest == 0.0 else 0.06 if rest == 45.0 else 0.12


def _bent(task: Task, start: Place, heading: float, room: Room) -> Iterator[tuple[float, Path]]:
    """With one bend: near its start, in its middle, or as far ahead as the sheet allows."""
    turns = [(turn, task.bend_mm) for turn in BEND_TURNS_DEG] + [(180.0, max(task.bend_mm, radius)) for radius in FOLD_RADII_MM]
    room_mm = room.ahead_mm(start, heading)
    for turn, radius in dict.fromkeys(turns):
        spare = task.length_mm - radius * math.radians(turn) - 2 * NODE_MM
        if spare < 0:
            continue
        edge = min(max(room_mm - radius - EDGE_MM - NODE_MM, 0.0), spare)
        for before in dict.fromkeys((0.0, round(spare / 2), round(edge))):
            for side in (1.0, -1.0):
                path = path_of(start, heading, ((NODE_MM + before, side * turn, radius),), task.length_mm)
                if path is not None:
                    yield 0.4 + turn / 450.0, path


def _folded(task: Task, start: Place, heading: float, room: Room) -> Iterator[tuple[float, Path]]:
    """To and fro in legs of one length, two folds or more: the first leg as far ahead as there is room, the others as long as the room or a part of it."""
    radius = max(task.bend_mm, FOLD_RADII_MM[0])
    across_mm = room.width_mm if heading % 180.0 == 0.0 else room.height_mm
    fold_mm = math.pi * radius
    most_mm = across_mm - 2 * (radius + EDGE_MM)
    first_most_mm = room.ahead_mm(start, heading) - radius - EDGE_MM
    behind_mm = room.ahead_mm(start, heading + 180.0) - radius - EDGE_MM
    for part in (1.0, 0.6, 0.35):
        first_mm = min(first_most_mm, most_mm * part)
        leg_mm = min(most_mm * part, first_mm + behind_mm)
        if leg_mm < 4 * NODE_MM or first_mm < NODE_MM or task.length_mm < first_mm + 2 * fold_mm + leg_mm + NODE_MM:
            continue
        count = math.ceil((task.length_mm - first_mm - NODE_MM) / (leg_mm + fold_mm))
        for side in (1.0, -1.0):
            bends = tuple((first_mm if index == 0 else leg_mm, side * (-1.0) ** index * 180.0, radius) for index in range(count))
            path = path_of(start, heading, bends, task.length_mm)
            if path is None:
                path = path_of(start, heading, bends[:-1], task.length_mm)
            if path is not None:
                yield 0.8 + 0.4 * count + 0.2 * (1.0 - part), path
