"""How the feet of a stiff box share a pull, and whether they can hold it at all. Places in mm, forces in newton, moments in N mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

Vector = tuple[float, float, float]


def share_out(pull_n: Vector, centre_mm: Vector, places_mm: Sequence[Vector]) -> list[Vector]:
    """What each foot does to the box so that forces and moments balance, in newton.

    A stiff box on feet that yield alike in every direction: of all forces that balance the pull, those with the least
    sum of squares. About the middle of the feet, with r from there: force = t + turn x r, where t = -pull / n and
    (sum of |r|2 1 - r r') turn = -moment. Source: statics of a bolt group, elastic method. The feet must not lie on one line.
    """
    count = len(places_mm)
    middle = _mean(places_mm)
    arms = [_less(place, middle) for place in places_mm]
    moment = _cross(_less(centre_mm, middle), pull_n)
    turn = _solve(_stiffness(arms), (-moment[0], -moment[1], -moment[2]))
    forces = []
    for arm in arms:
        x, y, z = _cross(turn, arm)
        forces.append((x - pull_n[0] / count, y - pull_n[1] / count, z - pull_n[2] / count))
    return forces


def can_hold(places_mm: Sequence[Vector]) -> bool:
    """Whether feet hold a box every way: three at least that do not lie on one line (a millimetre off counts as on it)."""
    if len(places_mm) < 3:
        return False
    first = places_mm[0]
    far = max(places_mm, key=lambda place: math.dist(first, place))
    long_mm = math.dist(first, far)
    if not long_mm:
        return False
    along = _less(far, first)
    return any(math.hypot(*_cross(along, _less(place, first))) / long_mm > 1.0 for place in places_mm)


def _stiffness(arms: Sequence[Vector]) -> tuple[Vector, Vector, Vector]:
    """Sum of |r|2 1 - r r'."""

    def entry(row: int, column: int) -> float:
        return math.fsum((_dot(arm, arm) if row == column else 0.0) - arm[row] * arm[column] for arm in arms)

    a, b, c = ((entry(row, 0), entry(row, 1), entry(row, 2)) for row in range(3))
    return a, b, c


def _solve(matrix: tuple[Vector, Vector, Vector], right: Vector) -> Vector:
    """Three equations by Cramer's rule; the matrix is symmetric, so that its rows are its columns."""
    a, b, c = matrix
    volume = _dot(a, _cross(b, c))
    return _dot(right, _cross(b, c)) / volume, _dot(a, _cross(right, c)) / volume, _dot(a, _cross(b, right)) / volume


def is_inside(place: tuple[float, float], corners: Sequence[tuple[float, float]]) -> bool:
    """Whether a place in plan lies within the outermost of the feet, or on the line between two of them."""
    hull = _hull(corners)
    if len(hull) < 3:
        return False
    return all(_turn(start, end, place) >= -1e-6 for start, end in zip(hull, [*hull[1:], hull[0]], strict=True))


def _hull(corners: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Outermost corners in order. Source: A. M. Andrew's monotone chain, 1979."""

    def chain(places: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for place in places:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], place) <= 0:
                kept.pop()
            kept.append(place)
        return kept[:-1]

    ordered = sorted(set(corners))
    return [*chain(ordered), *chain(ordered[::-1])]


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _mean(places: Sequence[Vector]) -> Vector:
    x, y, z = (math.fsum(place[axis] for place in places) / len(places) for axis in range(3))
    return x, y, z


def _less(a: Vector, b: Vector) -> Vector:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]
