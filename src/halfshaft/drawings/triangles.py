"""Solids as closed surfaces of triangles, anticlockwise seen from outside."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from halfshaft.drawings.scene import Ball, Prism, Spot, Triangles, Tube
from halfshaft.studies.arrangement.records import Block

AROUND_TUBE, AROUND_WHEEL, AROUND_BALL = 12, 32, 24
# From this diameter on a tube is seen to be round.
THICK_MM = 100.0
Flat = tuple[float, float]
Faces = list[tuple[int, int, int]]


def triangles_of(shape: Block | Prism | Triangles | Tube | Ball) -> Triangles:
    """The surface of any solid of a scene."""
    match shape:
        case Block():
            corners = ((shape.x_min, shape.y_min), (shape.x_max, shape.y_min), (shape.x_max, shape.y_max), (shape.x_min, shape.y_max))
            return _prism(Prism(corners, shape.z_min, shape.z_max))
        case Prism():
            return _prism(shape)
        case Tube():
            return _tube(shape)
        case Ball():
            return _ball(shape)
        case Triangles():
            return shape


def _prism(shape: Prism) -> Triangles:
    outline = shape.corners if area_of(shape.corners) >= 0 else tuple(reversed(shape.corners))
    count = len(outline)
    corners = [(x, y, z) for z in (shape.z_min_mm, shape.z_max_mm) for x, y in outline]
    faces: Faces = []
    for a, b, c in ears(outline):
        faces += [(c, b, a), (a + count, b + count, c + count)]
    for index in range(count):
        after = (index + 1) % count
        faces += [(index, after, after + count), (index, after + count, index + count)]
    return Triangles(tuple(corners), tuple(faces))


def area_of(outline: Sequence[Flat]) -> float:
    """Signed area: positive where the outline runs anticlockwise."""
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True)) / 2


def ears(outline: Sequence[Flat]) -> Faces:
    """An anticlockwise outline cut into triangles, one corner at a time (ear clipping)."""
    left = list(range(len(outline)))
    faces: Faces = []
    while len(left) > 3:
        ear = next((at for at in range(len(left)) if _is_ear(outline, left, at)), 0)
        faces.append((left[ear - 1], left[ear], left[(ear + 1) % len(left)]))
        del left[ear]
    return [*faces, (left[0], left[1], left[2])]


def _is_ear(outline: Sequence[Flat], left: list[int], at: int) -> bool:
    """A corner that points outwards, with no other corner in its triangle."""
    a, b, c = left[at - 1], left[at], left[(at + 1) % len(left)]
    triangle = (outline[a], outline[b], outline[c])
    if area_of(triangle) <= 0:
        return False
    return not any(_inside(triangle, outline[other]) for other in left if outline[other] not in triangle)


def _inside(triangle: Sequence[Flat], place: Flat) -> bool:
    return all(area_of((a, b, place)) >= 0 for a, b in itertools.pairwise((*triangle, triangle[0])))


def around_of(shape: Tube) -> int:
    """How many corners stand round each place of a tube."""
    return AROUND_WHEEL if shape.diameter_mm >= THICK_MM else AROUND_TUBE


def _tube(shape: Tube) -> Triangles:
    """A ring of corners at each place, square to the way there, and a lid at both ends."""
    around = around_of(shape)
    ways = [_unit(_minus(after, before)) for before, after in itertools.pairwise(shape.places)]
    side = _square_to(ways[0])
    corners: list[Spot] = []
    for index, place in enumerate(shape.places):
        before, after = ways[max(index - 1, 0)], ways[min(index, len(ways) - 1)]
        way = _sum(before, after)
        # Straight back again: there is no middle, so the ring stays square to the way it came.
        way = _unit(way) if math.hypot(*way) > 1e-6 else before
        along = sum(a * b for a, b in zip(side, way, strict=True))
        carried = _minus(side, _times(way, along))
        side = _unit(carried) if math.hypot(*carried) > 1e-6 else _square_to(way)
        other = _cross(way, side)
        for step in range(around):
            angle = 2 * math.pi * step / around
            arm = _sum(_times(side, math.cos(angle)), _times(other, math.sin(angle)))
            corners.append(_sum(place, _times(arm, shape.diameter_mm / 2)))
    faces: Faces = []
    for ring in range(len(shape.places) - 1):
        for step in range(around):
            a, b = ring * around + step, ring * around + (step + 1) % around
            faces += [(a, b, b + around), (a, b + around, a + around)]
    last = len(corners) - around
    for step in range(1, around - 1):
        faces += [(0, step + 1, step), (last, last + step, last + step + 1)]
    return Triangles(tuple(corners), tuple(faces))


def _ball(shape: Ball) -> Triangles:
    """Rings between two poles; half as many as there are corners round each."""
    (x, y, z), radius = shape.centre, shape.radius_mm
    rings = AROUND_BALL // 2 - 1
    corners: list[Spot] = [(x, y, z - radius)]
    for ring in range(1, rings + 1):
        up = -math.pi / 2 + math.pi * ring / (rings + 1)
        for step in range(AROUND_BALL):
            angle = 2 * math.pi * step / AROUND_BALL
            corners.append(
                (x + radius * math.cos(up) * math.cos(angle), y + radius * math.cos(up) * math.sin(angle), z + radius * math.sin(up))
            )
    corners.append((x, y, z + radius))
    faces: Faces = []
    top = len(corners) - 1
    for step in range(AROUND_BALL):
        after = (step + 1) % AROUND_BALL
        faces.append((0, 1 + after, 1 + step))
        for ring in range(rings - 1):
            a, b = 1 + ring * AROUND_BALL + step, 1 + ring * AROUND_BALL + after
            faces += [(a, b, b + AROUND_BALL), (a, b + AROUND_BALL, a + AROUND_BALL)]
        faces.append((top, 1 + (rings - 1) * AROUND_BALL + step, 1 + (rings - 1) * AROUND_BALL + after))
    return Triangles(tuple(corners), tuple(faces))


def _sum(a: Spot, b: Spot) -> Spot:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def _minus(a: Spot, b: Spot) -> Spot:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def _times(a: Spot, by: float) -> Spot:
    return a[0] * by, a[1] * by, a[2] * by


def _unit(a: Spot) -> Spot:
    return _times(a, 1 / math.hypot(*a))


def _cross(a: Spot, b: Spot) -> Spot:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _square_to(way: Spot) -> Spot:
    """A direction square to another one, level where that can be."""
    level = (-way[1], way[0], 0.0)
    return _unit(level) if math.hypot(*level) > 1e-6 else (1.0, 0.0, 0.0)
