"""Pegs that hold a bundle on its board: beside straights, inside bends, in the crotches of breakouts."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfshaft.studies.looms.geometry import Bend, Path, Place, Straight, ahead, point_apart_mm, unit

# A peg stands this far from a holder or breakout at least, so that fingers get in.
CLEAR_MM = 25.0
# Between two pegs there is room for a finger's tip.
PEGS_APART_MM = 10.0
# A hole this near to where a peg is wanted is used as it is: less than half the play of a taped bundle between two pegs (common practice).
SAME_HOLE_MM = 1.5
SHIFTS_MM = (0.0, 8.0, 16.0, 24.0)
SQUARE_MM = 100.0
NARROW_DEG, WIDE_DEG = 40.0, 150.0


@dataclass(frozen=True, slots=True)
class Peg:
    """One peg: its number and the middle of its hole. `was` is where the hole was that it takes over from, where its stretch has moved."""

    number: int
    at: Place
    is_new: bool = False
    was: Place | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A stretch as pegs see it: its centre line, where each thickness begins and ends along it, and how far it has moved since it was drilled."""

    path: Path
    sections: Sequence[tuple[float, float, float]]
    moved_mm: Place = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Block:
    """What a holder takes: from a place along a heading, and as wide on both sides."""

    at: Place
    heading_deg: float
    length_mm: float
    width_mm: float

    def covers(self, place: Place, radius_mm: float) -> bool:
        """Whether a disc there touches it; at its corners a little is given away."""
        dx, dy = place[0] - self.at[0], place[1] - self.at[1]
        if abs(dx) + abs(dy) > 2 * (self.length_mm + self.width_mm + radius_mm):
            return False
        ux, uy = unit(self.heading_deg)
        along, across = dx * ux + dy * uy, dy * ux - dx * uy
        return -radius_mm < along < self.length_mm + radius_mm and abs(across) < self.width_mm / 2 + radius_mm


@dataclass(frozen=True, slots=True)
class Leg:
    """One bundle that leaves a breakout."""

    at: Place
    heading_deg: float
    bundle_mm: float
    straight_mm: float


def pegs_of(
    lines: Sequence[Line], legs: Mapping[str, Sequence[Leg]], *, peg_mm: float, pitch_mm: float, blocks: Sequence[Block] = (),
    holes: Mapping[int, Place] | None = None,
) -> tuple[Peg, ...]:  # fmt: skip
    """All pegs of a board. On a new one they are numbered from left to right, and from the top down where two stand one above the other.

    A peg touches the bundle: its middle is (bundle + peg) / 2 from the centre line (geometry). A hole that is already drilled is used as it
    is wherever a peg is wanted within `SAME_HOLE_MM` of it, and on a straight wherever it touches the bundle. New pegs are numbered on after
    the highest of the holes.
    """
    holes = holes or {}
    clear = _Taken(lines, blocks, peg_mm)
    wanted: list[tuple[Place, Place]] = []
    for line in lines:
        wanted += [(place, line.moved_mm) for place in _along(line, clear, tuple(holes.values()), peg_mm, pitch_mm)]
    for found in legs.values():
        wanted += [(place, (0.0, 0.0)) for place in _crotches(found, peg_mm) if clear.of(place)]
    used: dict[int, Place] = {}
    new: list[tuple[Place, Place]] = []
    for place, moved_mm in wanted:
        number = _hole_near(place, holes)
        if number is not None:
            used[number] = holes[number]
        else:
            new.append((place, moved_mm))
    kept = list(used.values())
    pegs = [Peg(number, place) for number, place in sorted(used.items())]
    fresh: list[tuple[Place, Place]] = []
    # Holes are written to the hundredth; what was too near to one of them to be drilled must not be drilled for that.
    apart_mm = PEGS_APART_MM + peg_mm + (0.1 if holes else 0.0)
    for place, moved_mm in new:
        if all(math.dist(place, other) > apart_mm for other in kept):
            kept.append(place)
            fresh.append((place, moved_mm))
    fresh.sort(key=lambda item: (round(item[0][0] / 50.0), -item[0][1], item[0][0]))
    highest = max(holes, default=0)
    for number, (place, moved_mm) in enumerate(fresh, start=highest + 1):
        pegs.append(Peg(number, place, is_new=bool(holes), was=_was(place, moved_mm, holes, used)))
    return tuple(pegs)


def _hole_near(place: Place, holes: Mapping[int, Place]) -> int | None:
    """The nearest drilled hole that will do for a peg here."""
    near = [(math.dist(place, at), number) for number, at in holes.items() if math.dist(place, at) <= SAME_HOLE_MM]
    return min(near)[1] if near else None


def _was(place: Place, moved_mm: Place, holes: Mapping[int, Place], used: Mapping[int, Place]) -> Place | None:
    """The hole, now empty, that held the same stretch before it was moved."""
    if moved_mm == (0.0, 0.0):
        return None
    number = _hole_near((place[0] - moved_mm[0], place[1] - moved_mm[1]), {key: at for key, at in holes.items() if key not in used})
    return None if number is None else holes[number]


class _Taken:
    """Every bundle of a board as straight pieces with their width, and every holder, to ask whether a peg would stand in one."""

    def __init__(self, lines: Sequence[Line], blocks: Sequence[Block], peg_mm: float) -> None:
        self.blocks, self.peg_mm = blocks, peg_mm
        # In squares, so that a big board is asked about as fast as a small one.
        self.squares: dict[tuple[int, int], list[tuple[Place, Place, float]]] = defaultdict(list)
        for line in lines:
            for start, end, bundle_mm in line.sections:
                count = max(1, math.ceil((end - start) / (50.0 if len(line.path.pieces) == 1 else 10.0)))
                places = [line.path.at(start + (end - start) * step / count)[0] for step in range(count + 1)]
                for here, there in itertools.pairwise(places):
                    self._put(here, there, (bundle_mm + peg_mm) / 2)

    def _put(self, here: Place, there: Place, reach_mm: float) -> None:
        piece = (here, there, reach_mm)
        for x in range(_square(min(here[0], there[0]) - reach_mm), _square(max(here[0], there[0]) + reach_mm) + 1):
            for y in range(_square(min(here[1], there[1]) - reach_mm), _square(max(here[1], there[1]) + reach_mm) + 1):
                self.squares[x, y].append(piece)

    def of(self, place: Place) -> bool:
        """Whether a peg there touches no bundle but from outside. A bend's chords bulge a little, hence the tenth."""
        near = self.squares.get((_square(place[0]), _square(place[1])), ())
        if any(point_apart_mm(place, here, there) <= reach - 0.1 for here, there, reach in near):
            return False
        return not any(block.covers(place, self.peg_mm / 2) for block in self.blocks)


def _square(at_mm: float) -> int:
    return math.floor(at_mm / SQUARE_MM)


def _along(line: Line, clear: _Taken, holes: Sequence[Place], peg_mm: float, pitch_mm: float) -> list[Place]:
    places: list[Place] = []
    done = 0.0
    for piece in line.path.pieces:
        if isinstance(piece, Bend):
            bend = _in_bend(piece, _bundle_at(line.sections, done + piece.length_mm / 2), peg_mm)
            places += [place for place in bend if clear.of(place)]
        else:
            places += _beside_straight(piece, done, line.sections, clear, holes, peg_mm, pitch_mm)
        done += piece.length_mm
    return places


def _beside_straight(
    piece: Straight, done: float, sections: Sequence[tuple[float, float, float]], clear: _Taken, holes: Sequence[Place], peg_mm: float,
    pitch_mm: float,
) -> list[Place]:  # fmt: skip
    """Pegs beside a straight on alternate sides: evenly, as on a new board, or round the holes that are there where that means fewer new ones."""
    free = piece.length_mm - 2 * CLEAR_MM
    if free <= 0:
        return []
    count = math.ceil(piece.length_mm / pitch_mm)
    evenly: list[Place] = []
    for index in range(count):
        along = CLEAR_MM + free * (index + 0.5) / count
        evenly += _beside(piece, along, 90.0 if index % 2 else -90.0, sections, done, clear, peg_mm)
    new = sum(all(math.dist(place, hole) > SAME_HOLE_MM for hole in holes) for place in evenly)
    drilled = _holes_beside(piece, done, sections, clear, holes, peg_mm) if new else []
    if not drilled:
        return evenly
    between: list[Place] = []
    for along, side in _gaps(
        [(CLEAR_MM - pitch_mm / 2, 0.0), *((at, side) for at, side, _ in drilled), (piece.length_mm - CLEAR_MM + pitch_mm / 2, 0.0)],
        pitch_mm,
    ):
        between += _beside(piece, along, side, sections, done, clear, peg_mm)
    return [*(place for _, _, place in drilled), *between] if len(between) < new else evenly


def _gaps(drilled: Sequence[tuple[float, float]], pitch_mm: float) -> list[tuple[float, float]]:
    """Where pegs are missing between these, and on which side; each of these may itself stand a little off its place."""
    found = []
    for (low, side), (high, other) in itertools.pairwise(drilled):
        count = math.ceil((high - low - 2 * SHIFTS_MM[-1]) / pitch_mm) - 1
        found += [(low + (high - low) * (index + 1.0) / (count + 1), -side or -other or 90.0) for index in range(count)]
    return found


def _holes_beside(
    piece: Straight, done: float, sections: Sequence[tuple[float, float, float]], clear: _Taken, holes: Sequence[Place], peg_mm: float
) -> list[tuple[float, float, Place]]:
    """Holes that touch the bundle along a straight, in order: how far along, on which side, and where."""
    found = []
    (x, y), (ux, uy) = piece.start, unit(piece.heading_deg)
    for place in holes:
        along = (place[0] - x) * ux + (place[1] - y) * uy
        across = (place[1] - y) * ux - (place[0] - x) * uy
        if not 0.0 <= along <= piece.length_mm:
            continue
        wanted_mm = (_bundle_at(sections, done + along) + peg_mm) / 2
        if abs(abs(across) - wanted_mm) <= SAME_HOLE_MM and clear.of(
            ahead(piece.at(along), piece.heading_deg + math.copysign(90.0, across), wanted_mm)
        ):
            found.append((along, math.copysign(90.0, across), place))
    return sorted(found)


def _beside(
    piece: Straight,
    along_mm: float,
    side: float,
    sections: Sequence[tuple[float, float, float]],
    done: float,
    clear: _Taken,
    peg_mm: float,
) -> list[Place]:
    """A place for a peg beside a straight: where it is meant, else on the other side, else a little further on or back."""
    for shift in (sign * shift for shift in SHIFTS_MM for sign in (1.0, -1.0)):
        at = along_mm + shift
        if not 0.0 <= at <= piece.length_mm:
            continue
        for turn in (side, -side):
            place = ahead(piece.at(at), piece.heading_deg + turn, (_bundle_at(sections, done + at) + peg_mm) / 2)
            if clear.of(place):
                return [place]
    return []


def _in_bend(bend: Bend, bundle_mm: float, peg_mm: float) -> list[Place]:
    """Pegs inside the bend every 45 degrees at most, and one outside just before and just after it."""
    offset = (bundle_mm + peg_mm) / 2
    inside, outside = math.copysign(90.0, bend.turn_deg), -math.copysign(90.0, bend.turn_deg)
    count = max(1, math.ceil(abs(bend.turn_deg) / 45.0))
    places = []
    for index in range(count):
        along = bend.length_mm * (index + 0.5) / count
        places.append(ahead(bend.at(along), bend.heading_at(along) + inside, offset))
    for along, back in ((0.0, 180.0), (bend.length_mm, 0.0)):
        heading = bend.heading_at(along)
        place = ahead(bend.at(along), heading + back, 2 * peg_mm)
        places.append(ahead(place, heading + outside, offset))
    return places


def _bundle_at(sections: Sequence[tuple[float, float, float]], along_mm: float) -> float:
    for start, end, bundle in sections:
        if start <= along_mm <= end:
            return bundle
    return sections[-1][2]


def _crotches(legs: Sequence[Leg], peg_mm: float) -> list[Place]:
    """A peg between every two neighbouring legs that touches both."""
    ring = sorted(legs, key=lambda leg: leg.heading_deg)
    places = []
    for here, there in zip(ring, (*ring[1:], ring[0]), strict=True):
        apart = (there.heading_deg - here.heading_deg) % 360.0
        if len(ring) == 2 or not NARROW_DEG <= apart <= WIDE_DEG:
            continue
        sine = math.sin(math.radians(apart))
        near, far = (here.bundle_mm + peg_mm) / 2 / sine, (there.bundle_mm + peg_mm) / 2 / sine
        (hx, hy), (tx, ty) = unit(here.heading_deg), unit(there.heading_deg)
        # Its foot on each leg must lie on that leg's first straight.
        foot_here = far + near * math.cos(math.radians(apart))
        foot_there = near + far * math.cos(math.radians(apart))
        if foot_here < 0.8 * here.straight_mm and foot_there < 0.8 * there.straight_mm:
            places.append((here.at[0] + far * hx + near * tx, here.at[1] + far * hy + near * ty))
    return places
