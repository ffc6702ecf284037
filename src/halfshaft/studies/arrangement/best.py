"""Which of many are best: those to which no other one is at least as good in every goal and better in one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]

# Cells of a grid over all goals but one that are filled at once; above, points are compared with each other.
GRID_MOST = 24_000_000
AT_ONCE = 512


def best_of(points: Whole, score: npt.NDArray[np.float64]) -> Whole:
    """Indices of the best rows, in rising order; smaller is better in every column.

    Of rows that are alike the one with the least score stays, of those the first.
    """
    if len(points) < 2:
        return np.arange(len(points))
    ranks = [_ranks(points[:, column]) for column in range(points.shape[1])]
    sizes = [int(rank.max()) + 1 for rank in ranks]
    deep = max(range(len(sizes)), key=lambda column: sizes[column])
    cells = 1
    for column, size in enumerate(sizes):
        cells *= size if column != deep else 1
    if cells <= max(GRID_MOST // 8, min(GRID_MOST, 8 * len(points))):
        return _best_on_grid([rank for column, rank in enumerate(ranks) if column != deep], ranks[deep], score)
    return _best_in_pairs(np.stack(ranks, axis=1), score)


def _ranks(values: Whole) -> Whole:
    """Each value's place among the different ones: order is kept, gaps are closed."""
    low = int(values.min())
    span = int(values.max()) - low + 1
    if span > 4 * len(values) + 1_000_000:
        ranks: Whole = np.unique(values, return_inverse=True)[1]
        return ranks
    there = np.zeros(span, dtype=bool)
    there[values - low] = True
    return (np.cumsum(there) - 1)[values - low]


def _best_on_grid(axes: list[Whole], deep: Whole, score: npt.NDArray[np.float64]) -> Whole:
    """The least `deep` of every cell, then the least of all cells that are no worse along any axis.

    A point stays where it is the least of its own cell and no cell before it, along any axis, sees one as little.
    """
    shape = tuple(int(axis.max()) + 1 for axis in axes)
    cell = np.zeros(len(deep), dtype=np.int64)
    for axis, size in zip(axes, shape, strict=True):
        cell = cell * size + axis
    least = np.full(int(np.prod(shape)), np.iinfo(np.int32).max, dtype=np.int32)
    np.minimum.at(least, cell, deep.astype(np.int32))
    kept = np.flatnonzero(deep == least[cell])
    seen = least.reshape(shape)
    for number in range(len(shape)):
        np.minimum.accumulate(seen, axis=number, out=seen)
    flat = seen.reshape(-1)
    stride = 1
    for axis, size in zip(reversed(axes), reversed(shape), strict=True):
        has_before = axis[kept] > 0
        before = np.where(has_before, flat[np.maximum(cell[kept] - stride, 0)], np.iinfo(np.int32).max)
        kept = kept[before > deep[kept]]
        stride *= size
    # The least of the cell itself may have come from a cell before it; then it was dropped above, so here it is its own.
    return _first_of_each(kept, cell[kept], score)


def _first_of_each(kept: Whole, key: Whole, score: npt.NDArray[np.float64]) -> Whole:
    """Of those with one key the one with the least score, then the first; in rising order."""
    order = np.lexsort((kept, score[kept], key))
    is_first = np.ones(len(order), dtype=bool)
    is_first[1:] = key[order][1:] != key[order][:-1]
    return np.sort(kept[order][is_first])


def _best_in_pairs(ranks: Whole, score: npt.NDArray[np.float64]) -> Whole:
    """Every point against the best ones so far, in an order in which none is worse than a later one.

    What is better has the smaller sum of ranks, so the best ones so far stay best.
    """
    alike = np.unique(ranks, axis=0, return_inverse=True)[1].reshape(-1)
    single = _first_of_each(np.arange(len(ranks)), alike, score)
    order = single[np.lexsort((single, ranks[single].sum(axis=1)))]
    best = np.empty((len(order), ranks.shape[1]), dtype=ranks.dtype)
    kept: list[int] = []
    for start in range(0, len(order), AT_ONCE):
        chunk = order[start : start + AT_ONCE]
        rows = ranks[chunk]
        alive = ~_is_worse(rows, best[: len(kept)])
        chunk, rows = chunk[alive], rows[alive]
        alive = ~_is_worse(rows, rows)
        best[len(kept) : len(kept) + int(alive.sum())] = rows[alive]
        kept += chunk[alive].tolist()
    return np.sort(np.array(kept, dtype=np.int64))


def _is_worse(rows: Whole, others: Whole) -> npt.NDArray[np.bool_]:
    """Whether some other row, not the same, is at least as good in every column."""
    worse = np.zeros(len(rows), dtype=bool)
    for start in range(0, len(others), 4 * AT_ONCE):
        some = others[start : start + 4 * AT_ONCE]
        is_no_worse = np.ones((len(rows), len(some)), dtype=bool)
        differs = np.zeros((len(rows), len(some)), dtype=bool)
        for column in range(rows.shape[1]):
            is_no_worse &= some[None, :, column] <= rows[:, None, column]
            differs |= some[None, :, column] != rows[:, None, column]
        worse |= (is_no_worse & differs).any(axis=1)
    return worse
