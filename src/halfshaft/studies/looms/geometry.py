"""Straights and bends on the board, in millimetres; x to the right, y upwards, angles in degrees counter-clockwise."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

Place = tuple[float, float]


def unit(heading_deg: float) -> Place:
    """The direction of a heading; exact along the axes, so that a level line is level."""
    quarter, rest = divmod(heading_deg, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    angle = math.radians(heading_deg)
    return math.cos(angle), math.sin(angle)


def ahead(place: Place, heading_deg: float, by_mm: float) -> Place:
    """A place moved along a heading."""
    x, y = unit(heading_deg)
    return place[0] + by_mm * x, place[1] + by_mm * y


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight piece of centre line."""

    start: Place
    heading_deg: float
    length_mm: float

    def at(self, along_mm: float) -> Place:
        """The place so far along it."""
        return ahead(self.start, self.heading_deg, along_mm)

    def heading_at(self, along_mm: float) -> float:
        """The heading there."""
        return self.heading_deg

    def nearest_along(self, place: Place) -> float:
        """How far along it lies what is nearest to a place."""
        ux, uy = unit(self.heading_deg)
        return min(max((place[0] - self.start[0]) * ux + (place[1] - self.start[1]) * uy, 0.0), self.length_mm)

    @property
    def corners(self) -> tuple[Place, ...]:
        """The piece as a line of points."""
        return self.start, self.at(self.length_mm)


@dataclass(frozen=True, slots=True)
class Bend:
    """An arc of centre line; `turn_deg` is positive to the left."""

    start: Place
    heading_deg: float
    radius_mm: float
    turn_deg: float

    @property
    def length_mm(self) -> float:
        """Along the arc."""
        return self.radius_mm * math.radians(abs(self.turn_deg))

    @property
    def centre(self) -> Place:
        """Centre of the arc."""
        return ahead(self.start, self.heading_deg + math.copysign(90.0, self.turn_deg), self.radius_mm)

    def at(self, along_mm: float) -> Place:
        """The place so far along it."""
        side = math.copysign(90.0, self.turn_deg)
        turned = math.copysign(math.degrees(along_mm / self.radius_mm), self.turn_deg)
        return ahead(self.centre, self.heading_deg - side + turned, self.radius_mm)

    def heading_at(self, along_mm: float) -> float:
        """The heading there."""
        return self.heading_deg + math.copysign(math.degrees(along_mm / self.radius_mm), self.turn_deg)

    def nearest_along(self, place: Place) -> float:
        """How far along it lies what is nearest to a place."""
        (cx, cy), side = self.centre, math.copysign(90.0, self.turn_deg)
        seen_deg = math.degrees(math.atan2(place[1] - cy, place[0] - cx))
        turned_deg = math.copysign(1.0, self.turn_deg) * (seen_deg - self.heading_deg + side) % 360.0
        # Beyond the arc's end whichever end is nearer round the circle.
        turned_deg = (
            turned_deg if turned_deg <= abs(self.turn_deg) else 0.0 if turned_deg > 180.0 + abs(self.turn_deg) / 2 else abs(self.turn_deg)
        )
        return self.radius_mm * math.radians(turned_deg)

    @property
    def corners(self) -> tuple[Place, ...]:
        """The arc as a line of points, each chord turning 15 degrees at most; it bulges a hundredth of the radius out."""
        count = max(1, math.ceil(abs(self.turn_deg) / 15.0 - 1e-9))
        side = math.copysign(90.0, self.turn_deg)
        (cx, cy), first = self.centre, math.radians(self.heading_deg - side)
        step = math.radians(self.turn_deg) / count
        return (
            self.start,
            *(
                (cx + self.radius_mm * math.cos(first + step * i), cy + self.radius_mm * math.sin(first + step * i))
                for i in range(1, count + 1)
            ),
        )


Piece = Straight | Bend


@dataclass(frozen=True, slots=True)
class Path:
    """A centre line made of straights and bends, each going on where the last one ends."""

    pieces: tuple[Piece, ...]

    @classmethod
    def through(cls, corners: Sequence[Place]) -> Path:
        """Straight from corner to corner."""
        pieces = []
        for start, end in itertools.pairwise(corners):
            heading = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) % 360.0
            pieces.append(Straight(start, heading, math.dist(start, end)))
        return cls(tuple(pieces))

    @property
    def start(self) -> Place:
        """Where it begins."""
        return self.pieces[0].start

    @property
    def end(self) -> Place:
        """Where it ends."""
        last = self.pieces[-1]
        return last.at(last.length_mm)

    @property
    def length_mm(self) -> float:
        """Along the centre line."""
        return math.fsum(piece.length_mm for piece in self.pieces)

    @property
    def first_heading_deg(self) -> float:
        """The heading with which it begins."""
        return self.pieces[0].heading_at(0.0)

    @property
    def last_heading_deg(self) -> float:
        """The heading with which it ends."""
        last = self.pieces[-1]
        return last.heading_at(last.length_mm)

    def at(self, along_mm: float) -> tuple[Place, float]:
        """Place and heading so far along it."""
        for piece in self.pieces:
            if along_mm <= piece.length_mm or piece is self.pieces[-1]:
                return piece.at(along_mm), piece.heading_at(along_mm)
            along_mm -= piece.length_mm
        raise AssertionError("a path has at least one piece")

    def nearest(self, place: Place) -> tuple[float, float]:
        """What of the line is nearest to a place: how far along, and how far away."""
        found, done = [], 0.0
        for piece in self.pieces:
            along = piece.nearest_along(place)
            found.append((math.dist(piece.at(along), place), done + along))
            done += piece.length_mm
        away, along = min(found)
        return along, away

    @property
    def corners(self) -> tuple[Place, ...]:
        """The whole line as points."""
        points: list[Place] = [self.start]
        for piece in self.pieces:
            points.extend(piece.corners[1:])
        return tuple(points)

    @property
    def last_straight_mm(self) -> float:
        """How far it goes straight at its end."""
        last = self.pieces[-1]
        return last.length_mm if isinstance(last, Straight) else 0.0

    @property
    def bends(self) -> tuple[tuple[float, float, float], ...]:
        """Each bend with the straight before it: length, turn to the left, radius."""
        found, before_mm = [], 0.0
        for piece in self.pieces:
            if isinstance(piece, Bend):
                found.append((before_mm, piece.turn_deg, piece.radius_mm))
                before_mm = 0.0
            else:
                before_mm += piece.length_mm
        return tuple(found)

    def moved(self, dx_mm: float, dy_mm: float) -> Path:
        """The same line elsewhere."""
        return Path(tuple(replace(piece, start=(piece.start[0] + dx_mm, piece.start[1] + dy_mm)) for piece in self.pieces))

    def backwards(self) -> Path:
        """The same line walked from its end."""
        return Path(tuple(_backwards(piece) for piece in reversed(self.pieces)))

    def cut(self, from_mm: float, to_mm: float) -> Path:
        """The part of it between two lengths along it."""
        pieces: list[Piece] = []
        at = 0.0
        for piece in self.pieces:
            low, high = max(from_mm - at, 0.0), min(to_mm - at, piece.length_mm)
            if high - low > 1e-9:
                if isinstance(piece, Straight):
                    pieces.append(Straight(piece.at(low), piece.heading_deg, high - low))
                else:
                    turn = math.copysign(math.degrees((high - low) / piece.radius_mm), piece.turn_deg)
                    pieces.append(Bend(piece.at(low), piece.heading_at(low), piece.radius_mm, turn))
            at += piece.length_mm
        if not pieces:
            place, heading = self.at(from_mm)
            pieces.append(Straight(place, heading, 0.0))
        return Path(tuple(pieces))


def _backwards(piece: Piece) -> Piece:
    end, heading = piece.at(piece.length_mm), (piece.heading_at(piece.length_mm) + 180.0) % 360.0
    if isinstance(piece, Straight):
        return Straight(end, heading, piece.length_mm)
    return Bend(end, heading, piece.radius_mm, -piece.turn_deg)


def rectangle(at: Place, heading_deg: float, *, length_mm: float, width_mm: float, margin_mm: float = 0.0) -> tuple[Place, ...]:
    """Four corners of a block that begins at a place and lies along a heading, wider by a margin all round."""
    ux, uy = unit(heading_deg)
    back, front = -margin_mm, length_mm + margin_mm
    half = width_mm / 2 + margin_mm
    return tuple(
        (at[0] + along * ux - across * uy, at[1] + along * uy + across * ux)
        for along, across in ((back, -half), (front, -half), (front, half), (back, half))
    )


def bounds(places: Iterable[Place]) -> tuple[float, float, float, float]:
    """Least and greatest x and y: left, bottom, right, top."""
    points = tuple(places)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def turn_between(first_deg: float, second_deg: float) -> float:
    """Smallest angle from one heading to another, 0 to 180."""
    apart = abs(first_deg - second_deg) % 360.0
    return min(apart, 360.0 - apart)


def lines_apart_mm(first: Sequence[Place], second: Sequence[Place]) -> float:
    """Least distance between two lines of points; nothing where they cross."""
    return min(_apart_mm(a, b, c, d) for (a, b), (c, d) in itertools.product(itertools.pairwise(first), itertools.pairwise(second)))


def _apart_mm(a: Place, b: Place, c: Place, d: Place) -> float:
    if _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0:
        return 0.0
    return min(point_apart_mm(a, c, d), point_apart_mm(b, c, d), point_apart_mm(c, a, b), point_apart_mm(d, a, b))


def _side(a: Place, b: Place, c: Place) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def point_apart_mm(place: Place, here: Place, there: Place) -> float:
    """Distance of a place from a straight line between two others."""
    dx, dy = there[0] - here[0], there[1] - here[1]
    length2 = dx * dx + dy * dy
    share = ((place[0] - here[0]) * dx + (place[1] - here[1]) * dy) / length2 if length2 else 0.0
    share = min(max(share, 0.0), 1.0)
    return math.hypot(place[0] - here[0] - share * dx, place[1] - here[1] - share * dy)
