"""Polygons in plan: do they cross themselves, and how large are they?"""

from __future__ import annotations

from collections.abc import Sequence

Corner = tuple[float, float]


def area_mm2(polygon: Sequence[Corner]) -> float:
    """The area of a polygon that does not cross itself, whichever way round it is given (the surveyor's formula)."""
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in edges(polygon))) / 2


def edges(polygon: Sequence[Corner]) -> list[tuple[Corner, Corner]]:
    """Its edges in order round it, the closing one last."""
    return list(zip(polygon, (*polygon[1:], polygon[0]), strict=True))


def fault_of(polygon: Sequence[Corner]) -> str:
    """Why a polygon bounds no area of its own, as a sentence; nothing where it does. Corners are counted from 1."""
    count = len(polygon)
    for index, (here, there) in enumerate(edges(polygon)):
        if here == there:
            again = "the first corner is given again at the end" if index == count - 1 else f"corners {index + 1} and {index + 2} are one"
            return f"{again}: leave one of the two out"
    sides = edges(polygon)
    for first in range(count):
        for second in range(first + 1, count):
            neighbours = second == first + 1 or (first == 0 and second == count - 1)
            if _fold_back(sides[first], sides[second]) if neighbours else _touch(*sides[first], *sides[second]):
                return (
                    f"the side from corner {first + 1} and the side from corner {second + 1} meet: "
                    "give the corners in order round the plan, so that no side crosses or touches another"
                )
    return ""


def is_inside(place: Corner, polygon: Sequence[Corner]) -> bool:
    """Whether a place lies in a polygon or on its edge (even-odd rule, edges counted in)."""
    x, y = place
    inside = False
    for (x0, y0), (x1, y1) in edges(polygon):
        cross = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)
        if abs(cross) < 1e-6 and min(x0, x1) <= x <= max(x0, x1) and min(y0, y1) <= y <= max(y0, y1):
            return True
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
            inside = not inside
    return inside


def cuts(side: tuple[Corner, Corner], low: Corner, high: Corner) -> bool:
    """Whether a straight side passes through the inside of an upright rectangle; to touch its edge is not to cut it."""
    (x0, y0), (x1, y1) = side
    if max(x0, x1) <= low[0] or min(x0, x1) >= high[0] or max(y0, y1) <= low[1] or min(y0, y1) >= high[1]:
        return False
    leans = [_lean(*side, (x, y)) for x in (low[0], high[0]) for y in (low[1], high[1])]
    return min(leans) < 0 < max(leans)


def area_within_mm2(polygon: Sequence[Corner], low: Corner, high: Corner) -> float:
    """How much of a polygon lies in an upright rectangle: cut off at each of its four sides in turn (Sutherland and Hodgman)."""
    cut: list[Corner] = list(polygon)
    for axis in (0, 1):
        for limit, sign in ((low[axis], 1.0), (high[axis], -1.0)):
            cut = _half(cut, axis, limit, sign)
    return area_mm2(cut) if len(cut) >= 3 else 0.0


def _half(polygon: list[Corner], axis: int, limit: float, sign: float) -> list[Corner]:
    kept: list[Corner] = []
    for here, there in edges(polygon) if polygon else ():
        over, next_over = sign * (here[axis] - limit), sign * (there[axis] - limit)
        if over >= 0:
            kept.append(here)
        if (over > 0 > next_over) or (over < 0 < next_over):
            share = over / (over - next_over)
            kept.append((here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1])))
    return kept


def _lean(a: Corner, b: Corner, c: Corner) -> float:
    """Above zero where c lies to one side of the line from a to b, below zero to the other."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _fold_back(one: tuple[Corner, Corner], two: tuple[Corner, Corner]) -> bool:
    """Whether of two sides that share a corner one lies on the other."""
    shared = one[1] if one[1] == two[0] else one[0]
    a = one[0] if shared == one[1] else one[1]
    b = two[1] if shared == two[0] else two[0]
    ahead = (a[0] - shared[0]) * (b[0] - shared[0]) + (a[1] - shared[1]) * (b[1] - shared[1])
    return ahead > 0 and _lean(shared, a, b) == 0


def _touch(a: Corner, b: Corner, c: Corner, d: Corner) -> bool:
    if max(a[0], b[0]) < min(c[0], d[0]) or max(c[0], d[0]) < min(a[0], b[0]):
        return False
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return False
    first, second = _lean(a, b, c) * _lean(a, b, d), _lean(c, d, a) * _lean(c, d, b)
    return first <= 0 and second <= 0
