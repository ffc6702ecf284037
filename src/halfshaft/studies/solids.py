"""Which cells of a grid lie wholly inside a closed surface, and how much of it lies between two heights. No rays, no sampling.

A triangle is cut at the lines of the grid as seen from above. Each piece then lies in one column of the grid, and its
corners tell exactly from where to where it reaches: a cell whose inside a piece enters is no free cell. What is left is
wholly inside or wholly outside, and one vertical line through the middle of its column tells which.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from halfshaft.model.meshes import Mesh

Array = Any  # numpy array
# What enters a cell by less only touches it: files of single precision hold no wall straighter than that.
TOUCH_MM = 0.01


@lru_cache(maxsize=8)
def corners_of(mesh: Mesh) -> Array:
    """The three corners of every triangle in mm, shape (triangles, 3, 3)."""
    places = np.array(mesh.corners, dtype=np.float64) * mesh.mm_per_unit
    return places[np.array(mesh.triangles, dtype=np.int64)]


def free_cells(triangles: Array, xs: Array, ys: Array, zs: Array) -> Array:
    """Whether each cell of a grid lies wholly inside a closed surface.

    `triangles` as `corners_of` gives them; `xs`, `ys`, `zs` are the rising lines of the grid. Returns booleans of the
    shape (len(xs) - 1, len(ys) - 1, len(zs) - 1). A cell that the surface enters by less than TOUCH_MM is not cut by it.
    """
    low, high = triangles.min(axis=1), triangles.max(axis=1)
    near = (high[:, 0] >= xs[0]) & (low[:, 0] <= xs[-1]) & (high[:, 1] >= ys[0]) & (low[:, 1] <= ys[-1])
    triangles = triangles[near]
    inside = inside_at_middles(triangles, xs, ys, zs)
    return inside & ~_cut(triangles, xs, ys, zs)


def volume_between_mm3(triangles: Array, low_z: float, high_z: float) -> float:
    """The volume of a closed surface between two heights, exactly.

    By the divergence theorem it is the sum over triangles, seen from above, of the integral of their height held between
    the two. Over a triangle with heights a <= b <= c the mean of what rises above h is a cubic in h between them.
    """
    (x0, y0, _), (x1, y1, _), (x2, y2, _) = (triangles[:, corner].T for corner in range(3))
    signed_area = ((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) / 2
    heights = np.sort(triangles[:, :, 2], axis=1)
    return float((signed_area * (_mean_above(heights, low_z) - _mean_above(heights, high_z))).sum())


def _mean_above(heights: Array, level: float) -> Array:
    """The mean over each triangle of max(z - level, 0)."""
    a, b, c = heights.T
    mean = (a + b + c) / 3 - level
    with np.errstate(divide="ignore", invalid="ignore"):
        lower = mean + (level - a) ** 3 / (3 * (b - a) * (c - a))
        upper = (c - level) ** 3 / (3 * (c - a) * (c - b))
    return np.where(level <= a, mean, np.where(level >= c, 0.0, np.where(level < b, lower, upper)))


@dataclass(frozen=True, kw_only=True, slots=True)
class Reach:
    """What of a block does not lie inside a closed surface: litres, and from where to where."""

    is_free: bool
    litres: float
    low: tuple[float, float, float]
    high: tuple[float, float, float]


def reach_into(triangles: Array, low: tuple[float, float, float], high: tuple[float, float, float]) -> Reach:
    """Whether a block lies wholly inside, exactly; where it does not, how much does not, by cells of a grid of 40 each way."""
    whole = [np.array([least, most]) for least, most in zip(low, high, strict=True)]
    if bool(free_cells(triangles, *whole).all()):
        return Reach(is_free=True, litres=0.0, low=low, high=high)
    lines = [np.linspace(least, most, 41) for least, most in zip(low, high, strict=True)]
    inside = inside_at_middles(triangles, *lines)
    wrong = ~inside if not inside.all() else ~free_cells(triangles, *lines)
    where = np.argwhere(wrong if wrong.any() else np.ones_like(wrong))
    first, last = where.min(axis=0), where.max(axis=0) + 1
    share = float((~inside).mean())
    volume_l = float(np.prod([most - least for least, most in zip(low, high, strict=True)])) / 1e6
    return Reach(
        is_free=False,
        litres=share * volume_l,
        low=(float(lines[0][first[0]]), float(lines[1][first[1]]), float(lines[2][first[2]])),
        high=(float(lines[0][last[0]]), float(lines[1][last[1]]), float(lines[2][last[2]])),
    )


# --- cells that the surface enters ----------------------------------------------------------------------------------------


def _cut(triangles: Array, xs: Array, ys: Array, zs: Array) -> Array:
    """Cells whose inside a triangle enters."""
    shape = (len(xs) - 1, len(ys) - 1, len(zs) - 1)
    owner, places = _corners_of_pieces(triangles, xs, ys)
    owner, column, places = _in_columns(owner, places, xs, ys)
    order = np.lexsort((column, owner))
    owner, column, places = owner[order], column[order], places[order]
    first = np.flatnonzero(np.diff(owner, prepend=-1) | np.diff(column, prepend=-1))
    if not len(first):
        return np.zeros(shape, dtype=bool)
    low, high = np.minimum.reduceat(places, first), np.maximum.reduceat(places, first)
    i, j = np.divmod(column[first], shape[1])
    # A piece that lies in the side of a column or in a level touches cells and enters none.
    low, high = low + TOUCH_MM, high - TOUCH_MM
    enters = (low[:, 0] < xs[i + 1]) & (high[:, 0] > xs[i]) & (low[:, 1] < ys[j + 1]) & (high[:, 1] > ys[j])
    bottom = np.searchsorted(zs, low[:, 2], side="right") - 1
    top = np.searchsorted(zs, high[:, 2], side="left")
    bottom, top = np.clip(bottom, 0, shape[2]), np.clip(top, 0, shape[2])
    enters &= bottom < top
    change = np.zeros((shape[0], shape[1], shape[2] + 1), dtype=np.int32)
    np.add.at(change, (i[enters], j[enters], bottom[enters]), 1)
    np.add.at(change, (i[enters], j[enters], top[enters]), -1)
    return change.cumsum(axis=2)[:, :, :-1] > 0


def _corners_of_pieces(triangles: Array, xs: Array, ys: Array) -> tuple[Array, Array]:
    """Every corner that a triangle's pieces have when it is cut at all lines of the grid: whose, and where."""
    count = len(triangles)
    owners, places = [np.repeat(np.arange(count), 3)], [triangles.reshape(-1, 3)]
    for axis, lines in ((0, xs), (1, ys)):
        owner, line, here, there = _slices(triangles, lines, axis)
        owners += [owner, owner]
        places += [here, there]
        if axis == 0:
            inner_owner, inner = _between(owner, lines[line], here, there, ys)
            owners.append(inner_owner)
            places.append(inner)
    return np.concatenate(owners), np.concatenate(places)


def _slices(triangles: Array, lines: Array, axis: int) -> tuple[Array, Array, Array, Array]:
    """Where each line of the grid cuts each triangle: whose, which line, and the two ends of the cut."""
    low, high = triangles[:, :, axis].min(axis=1), triangles[:, :, axis].max(axis=1)
    start = np.searchsorted(lines, low, side="right")
    stop = np.searchsorted(lines, high, side="left")
    owner, line = _ragged(start, np.maximum(stop, start))
    corners, at = triangles[owner], lines[line]
    ends: list[Array] = []
    # The corners by their place along the axis: the cut runs from the longest side to one of the two others.
    order = np.argsort(corners[:, :, axis], axis=1, kind="stable")
    first, middle, last = (np.take_along_axis(corners, order[:, index, None, None], axis=1)[:, 0] for index in range(3))
    ends.append(_on(first, last, at, axis))
    lower = at <= middle[:, axis]
    ends.append(_on(np.where(lower[:, None], first, middle), np.where(lower[:, None], middle, last), at, axis))
    return owner, line, ends[0], ends[1]


def _on(start: Array, end: Array, at: Array, axis: int) -> Array:
    """The place on a side at which a coordinate has a value."""
    length = end[:, axis] - start[:, axis]
    share = np.divide(at - start[:, axis], length, out=np.zeros_like(at), where=length != 0)
    place = start + share[:, None] * (end - start)
    place[:, axis] = at
    return place


def _between(owner: Array, x: Array, here: Array, there: Array, ys: Array) -> tuple[Array, Array]:
    """The crossings of the grid's lines that lie on cuts at given x: whose, and where."""
    low, high = np.minimum(here[:, 1], there[:, 1]), np.maximum(here[:, 1], there[:, 1])
    cut, line = _ragged(np.searchsorted(ys, low, side="left"), np.searchsorted(ys, high, side="right"))
    at = ys[line]
    place = _on(here[cut], there[cut], at, 1)
    place[:, 0] = x[cut]
    return owner[cut], place


def _ragged(start: Array, stop: Array) -> tuple[Array, Array]:
    """For each row its numbers from start up to stop: the row's number, and the number."""
    counts = np.maximum(stop - start, 0)
    rows = np.repeat(np.arange(len(start)), counts)
    return rows, np.arange(counts.sum()) - np.repeat(counts.cumsum() - counts, counts) + np.repeat(start, counts)


def _in_columns(owner: Array, places: Array, xs: Array, ys: Array) -> tuple[Array, Array, Array]:
    """Each place with the columns that it lies in: one, or those on both sides of the line on which it lies."""
    owners, columns, wheres = [], [], []
    sides_x = [np.searchsorted(xs, places[:, 0], side=side) - 1 for side in ("left", "right")]
    sides_y = [np.searchsorted(ys, places[:, 1], side=side) - 1 for side in ("left", "right")]
    for a, i in enumerate(sides_x):
        for b, j in enumerate(sides_y):
            kept = (i >= 0) & (i < len(xs) - 1) & (j >= 0) & (j < len(ys) - 1)
            kept &= (i != sides_x[0]) if a else True
            kept &= (j != sides_y[0]) if b else True
            owners.append(owner[kept])
            columns.append(i[kept] * (len(ys) - 1) + j[kept])
            wheres.append(places[kept])
    return np.concatenate(owners), np.concatenate(columns), np.concatenate(wheres)


# --- inside or outside ------------------------------------------------------------------------------------------------------


def inside_at_middles(triangles: Array, xs: Array, ys: Array, zs: Array) -> Array:
    """Whether the middle of each cell lies inside: how often a vertical line through it has entered the surface below, less left it."""
    middle_x, middle_y, middle_z = ((line[:-1] + line[1:]) / 2 for line in (xs, ys, zs))
    shape = (len(middle_x), len(middle_y), len(middle_z))
    change = np.zeros((shape[0], shape[1], shape[2] + 1), dtype=np.int32)
    owner, i, here, there = _half_open_slices(triangles, middle_x)
    low, high = np.minimum(here[:, 1], there[:, 1]), np.maximum(here[:, 1], there[:, 1])
    # Half open again, so that a line through a shared side meets one of the two triangles and not both.
    cut, j = _ragged(np.searchsorted(middle_y, low, side="left"), np.searchsorted(middle_y, high, side="left"))
    z = _on(here[cut], there[cut], middle_y[j], 1)[:, 2]
    looks_up = _looks_up(triangles)[owner[cut]]
    np.add.at(change, (i[cut], j, np.searchsorted(middle_z, z)), np.where(looks_up, -1, 1))
    return change.cumsum(axis=2)[:, :, :-1] > 0


def _half_open_slices(triangles: Array, lines: Array) -> tuple[Array, Array, Array, Array]:
    """As `_slices` along x, but of two triangles that share a corner on a line each is cut as if it lay just beside it."""
    low, high = triangles[:, :, 0].min(axis=1), triangles[:, :, 0].max(axis=1)
    owner, line = _ragged(np.searchsorted(lines, low, side="left"), np.searchsorted(lines, high, side="left"))
    corners, at = triangles[owner], lines[line]
    order = np.lexsort((corners[:, :, 2], corners[:, :, 1], corners[:, :, 0]), axis=1)
    first, middle, last = (np.take_along_axis(corners, order[:, index, None, None], axis=1)[:, 0] for index in range(3))
    lower = at < middle[:, 0]
    one = _on(first, last, at, 0)
    two = _on(np.where(lower[:, None], first, middle), np.where(lower[:, None], middle, last), at, 0)
    return owner, line, one, two


def _looks_up(triangles: Array) -> Array:
    edge, other = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    return edge[:, 0] * other[:, 1] - edge[:, 1] * other[:, 0] > 0
