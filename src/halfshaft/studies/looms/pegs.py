"""Pegs that hold a bundle on its board: beside straights, inside bends, in the crotches of breakouts."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.studies.looms.geometry import Bend, Path, Place, Straight, ahead, unit

# A peg stands this far from a holder or breakout at least, so that fingers get in.
CLEAR_MM = 25.0
NARROW_DEG, WIDE_DEG = 40.0, 150.0


@dataclass(frozen=True, slots=True)
class Peg:
    """One peg: its number and the middle of its hole."""

    number: int
    at: Place


@dataclass(frozen=True, slots=True)
class Leg:
    """One bundle that leaves a breakout."""

    at: Place
    heading_deg: float
    bundle_mm: float
    straight_mm: float


def pegs_of(
    lines: Sequence[tuple[Path, Sequence[tuple[float, float, float]]]],
    legs: dict[str, list[Leg]],
    *,
    peg_mm: float,
    pitch_mm: float,
) -> tuple[Peg, ...]:
    """All pegs of a board, numbered from left to right, and from the top down where two stand one above the other.

    A peg touches the bundle: its middle is (bundle + peg) / 2 from the centre line (geometry).
    """
    clear = _Bundles(lines, peg_mm)
    places: list[Place] = []
    for path, sections in lines:
        places += _along(path, sections, clear, peg_mm, pitch_mm)
    for found in legs.values():
        places += [place for place in _crotches(found, peg_mm) if clear.of(place)]
    kept: list[Place] = []
    for place in places:
        if all(math.dist(place, other) > 10.0 + peg_mm for other in kept):
            kept.append(place)
    kept.sort(key=lambda place: (round(place[0] / 50.0), -place[1], place[0]))
    return tuple(Peg(number, place) for number, place in enumerate(kept, start=1))


class _Bundles:
    """Every bundle of a board as straight pieces with their width, to ask whether a peg would stand in one."""

    def __init__(self, lines: Sequence[tuple[Path, Sequence[tuple[float, float, float]]]], peg_mm: float) -> None:
        self.pieces: list[tuple[Place, Place, float]] = []
        for path, sections in lines:
            for start, end, bundle_mm in sections:
                count = 1 if len(path.pieces) == 1 else max(1, math.ceil((end - start) / 10.0))
                places = [path.at(start + (end - start) * step / count)[0] for step in range(count + 1)]
                self.pieces += [(here, there, (bundle_mm + peg_mm) / 2) for here, there in itertools.pairwise(places)]

    def of(self, place: Place) -> bool:
        """Whether a peg there touches no bundle but from outside. A bend's chords bulge a little, hence the tenth."""
        return all(_distance(place, here, there) > reach - 0.1 for here, there, reach in self.pieces)


def _distance(place: Place, here: Place, there: Place) -> float:
    dx, dy = there[0] - here[0], there[1] - here[1]
    length2 = dx * dx + dy * dy
    share = ((place[0] - here[0]) * dx + (place[1] - here[1]) * dy) / length2 if length2 else 0.0
    share = min(max(share, 0.0), 1.0)
    return math.hypot(place[0] - here[0] - share * dx, place[1] - here[1] - share * dy)


def _along(path: Path, sections: Sequence[tuple[float, float, float]], clear: _Bundles, peg_mm: float, pitch_mm: float) -> list[Place]:
    places, done = [], 0.0
    for piece in path.pieces:
        if isinstance(piece, Bend):
            bend = _in_bend(piece, _bundle_at(sections, done + piece.length_mm / 2), peg_mm)
            places += [place for place in bend if clear.of(place)]
        else:
            free = piece.length_mm - 2 * CLEAR_MM
            count = math.ceil(piece.length_mm / pitch_mm) if free > 0 else 0
            for index in range(count):
                along = CLEAR_MM + free * (index + 0.5) / count
                side = 90.0 if index % 2 else -90.0
                places += _beside(piece, along, side, sections, done, clear, peg_mm)
        done += piece.length_mm
    return places


def _beside(
    piece: Straight,
    along_mm: float,
    side: float,
    sections: Sequence[tuple[float, float, float]],
    done: float,
    clear: _Bundles,
    peg_mm: float,
) -> list[Place]:
    """A place for a peg beside a straight: where it is meant, else on the other side, else a little further on or back."""
    for shift in (0.0, 8.0, -8.0, 16.0, -16.0, 24.0, -24.0):
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


def _crotches(legs: list[Leg], peg_mm: float) -> list[Place]:
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
