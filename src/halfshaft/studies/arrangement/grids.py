"""Grids of equal modules, and boxes of one grid or of two side by side: which hold so many, how large and how low they are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from halfshaft.studies.arrangement.stands import Stand, Steps, Unit, X, Y, Z

Table = npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True)
class Grid:
    """`count` modules of one stand in rows, row by row and layer by layer, the last ones perhaps not full.

    `first` is the level axis of the rows, `long` the modules of the longest row and `rows` the rows of a layer.
    `hull` is the block round all modules and plates. `sum_2z` is twice the sum of the heights of the modules' centres
    above the lowest face of the hull.
    """

    stand: Stand
    count: int
    long: int
    rows: int
    layers: int
    hull: Steps
    sum_2z: int

    @property
    def first(self) -> int:
        """The level axis along which its rows run: where there are pairs, the axis of the pairs."""
        return X if self.stand.pairs_axis is None else self.stand.pairs_axis

    def inner(self, axis: int) -> int:
        """Room that it takes between the insides of two walls."""
        return self.hull[axis] + 2 * self.stand.wall(axis)

    def row_counts(self) -> list[list[int]]:
        """Modules in each row of each layer."""
        full = self.long * self.rows
        layers = [[self.long] * self.rows for _ in range(self.count // full)]
        left = self.count % full
        if left:
            layers.append(_rows(left, self.long, self.rows, is_lowest=not layers))
        return layers

    def units(self, at: Steps) -> Iterator[Unit]:
        """What stands in it, its hull's lowest corner at a place."""
        stand, first = self.stand, self.first
        other = Y if first == X else X
        across = stand.starts(other, self.rows)
        number = 0
        for layer, counts in enumerate(self.row_counts()):
            for row, count in enumerate(counts):
                along = stand.starts(first, count)
                step = 2 if stand.pairs_axis is not None else 1
                for index in range(0, count, step):
                    low = list(at)
                    low[first] += along[index]
                    low[other] += across[row]
                    low[Z] += layer * (stand.tall + stand.layer_gap)
                    size = min(step, count - index)
                    yield Unit(stand=stand, count=size, at=(low[0], low[1], low[2]), number=number, layer=layer + 1)
                    number += 1


def _rows(count: int, long: int, rows: int, *, is_lowest: bool) -> list[int]:
    """So many modules in rows: full rows and a rest, or, where only that fills the lowest layer's outline, rows one shorter."""
    if is_lowest and count <= long * (rows - 1):
        shorter = long - 1
        return [shorter + (row < count - shorter * rows) for row in range(rows)]
    return [long] * (count // long) + ([count % long] if count % long else [])


def grids_of(stand: Stand, room: Steps, *, layers_max: int, count_max: int) -> Iterator[Grid]:
    """Every grid of a stand that fits between the insides of walls, `room[Z]` being what under and over leave.

    Each has the least outline for its count: no row, no column and no layer of it is empty.
    """
    first = X if stand.pairs_axis is None else stand.pairs_axis
    other = Y if first == X else X
    pitch = stand.tall + stand.layer_gap
    layers_fit = min(layers_max, (room[Z] + stand.layer_gap) // pitch)
    lift = stand.tall - stand.size[Z]
    for long in range(1, stand.most(first, room[first]) + 1):
        for rows in range(1, stand.most(other, room[other]) + 1):
            full = long * rows
            for layers in range(1, layers_fit + 1):
                fewest = full * (layers - 1) + 1 if layers > 1 else _fewest(long, rows)
                hull = [0, 0, layers * pitch - stand.layer_gap]
                hull[first], hull[other] = stand.extent(first, long), stand.extent(other, rows)
                for count in range(fewest, min(full * layers, count_max) + 1):
                    on_top = count - full * (layers - 1)
                    levels = full * (layers - 1) * (layers - 2) // 2 + on_top * (layers - 1)
                    sum_2z = 2 * levels * pitch + count * (2 * lift + stand.size[Z])
                    yield Grid(
                        stand=stand,
                        count=count,
                        long=long,
                        rows=rows,
                        layers=layers,
                        hull=(hull[0], hull[1], hull[2]),
                        sum_2z=sum_2z,
                    )


def _fewest(long: int, rows: int) -> int:
    """Fewest modules whose one layer reaches every row and every column: the last row, or the last column, perhaps not full."""
    return min(max(long * (rows - 1) + 1, long), max((long - 1) * rows + 1, rows))


def best_grids(grids: Iterator[Grid]) -> dict[int, list[Grid]]:
    """By count, without those that are no smaller and no lower in anything than another of the same stand."""
    by_count: dict[int, list[Grid]] = {}
    for grid in grids:
        by_count.setdefault(grid.count, []).append(grid)
    return {count: _undominated(found) for count, found in sorted(by_count.items())}


def _undominated(grids: list[Grid]) -> list[Grid]:
    def measures(grid: Grid) -> tuple[int, int, int, int]:
        return (*grid.hull, grid.sum_2z)

    kept: list[Grid] = []
    for grid in sorted(grids, key=measures):
        if not any(all(a <= b for a, b in zip(measures(other), measures(grid), strict=True)) for other in kept):
            kept.append(grid)
    return kept


@dataclass(frozen=True, kw_only=True, slots=True)
class Layout:
    """What stands in a box: one grid, or two side by side along a level axis. `inner` is the room between the walls' insides."""

    grids: tuple[Grid, ...]
    axis: int

    @property
    def inner(self) -> Steps:
        """Room that it takes between the insides of the walls; upright without under and over."""
        size = [max(grid.inner(axis) for grid in self.grids) for axis in (X, Y)]
        if len(self.grids) == 2:
            one, two = self.grids
            size[self.axis] = _along(one, self.axis) + _along(two, self.axis)
        return size[0], size[1], max(grid.hull[Z] for grid in self.grids)

    def units(self) -> list[Unit]:
        """What stands in it, from the lowest corner of the room between the walls' insides."""
        inner, start = self.inner, 0
        units: list[Unit] = []
        for index, grid in enumerate(self.grids):
            low = [0, 0, 0]
            for axis in (X, Y):
                low[axis] = grid.stand.wall(axis) + (inner[axis] - grid.inner(axis)) // 2
            if len(self.grids) == 2:
                low[self.axis] = start + (grid.stand.keeps(self.axis) if index else grid.stand.wall(self.axis))
                start = low[self.axis] + grid.hull[self.axis] + grid.stand.keeps(self.axis)
            units += grid.units((low[0], low[1], low[2]))
        return [replace(unit, number=number) for number, unit in enumerate(units)]


def _along(grid: Grid, axis: int) -> int:
    """What one of two grids side by side takes: its wall room on one side, what it keeps towards the other on the other."""
    return grid.stand.wall(axis) + grid.hull[axis] + grid.stand.keeps(axis)


def table_of(grids: list[Grid]) -> Table:
    """Measures of grids, a row each: inner x, y; hull z; along x, y as one of two; mass times twice the sum of heights."""
    rows = [
        (
            grid.inner(X),
            grid.inner(Y),
            grid.hull[Z],
            _along(grid, X),
            _along(grid, Y),
            grid.sum_2z * grams(grid.stand),
        )
        for grid in grids
    ]
    return np.array(rows, dtype=np.int64).reshape(len(rows), 6)


def grams(stand: Stand) -> int:
    """Mass of one module."""
    return round(1000 * stand.kind.mass_kg)


def side_by_side(one: Table, two: Table, axis: int) -> Table:
    """Measures of all boxes of two grids, flattened: inner x, y, z and mass times twice the sum of heights; shape (n1 * n2, 4)."""
    other = Y if axis == X else X
    size: list[Table] = [np.empty(0, dtype=np.int64)] * 4
    size[axis] = np.add.outer(one[:, 3 + axis], two[:, 3 + axis]).ravel()
    size[other] = np.maximum.outer(one[:, other], two[:, other]).ravel()
    size[Z] = np.maximum.outer(one[:, Z], two[:, Z]).ravel()
    size[3] = np.add.outer(one[:, 5], two[:, 5]).ravel()
    return np.stack(size, axis=1)
