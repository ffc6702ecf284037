"""Over all blocks of a room the lowest and the most compact box of one grid or two, for each number of modules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.grids import Grid, Layout, Table, best_grids, grams, grids_of, side_by_side, table_of
from halfshaft.studies.arrangement.lowest import Counts
from halfshaft.studies.arrangement.nets import Casing, NetBlock
from halfshaft.studies.arrangement.stands import Stand, X, Y, Z

# More modules than this in one box are not looked for, unless the settings ask for more.
MODULES_MOST = 120


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """A box that fits in a block: twice its modules' height by mass, its outside volume, and the box.

    `place` counts the blocks that were searched.
    """

    sum_2z: int
    volume: int
    place: int
    layout: Layout

    def lowest(self) -> tuple[int, int, int]:
        """Least is lowest; of equally low ones the smaller box."""
        return self.sum_2z, self.volume, self.place

    def most_compact(self) -> tuple[int, int, int]:
        """Least is most compact; of equally large ones the lower."""
        return self.volume, self.sum_2z, self.place


def best_boxes(blocks: tuple[NetBlock, ...], stands: tuple[Stand, ...], settings: ArrangementSettings) -> dict[Counts, tuple[Found, Found]]:
    """By counts of module types, the lowest and the most compact box of one grid or two over all blocks."""
    best: dict[Counts, tuple[Found, Found]] = {}
    for counts, found in _boxes(blocks, stands, settings):
        low, compact = best.get(counts, (found, found))
        best[counts] = min(low, found, key=Found.lowest), min(compact, found, key=Found.most_compact)
    return best


def _boxes(blocks: tuple[NetBlock, ...], stands: tuple[Stand, ...], settings: ArrangementSettings) -> Iterator[tuple[Counts, Found]]:
    """The lowest and the most compact box of each block, for each count of one grid and each two counts of two."""
    casing = Casing.of(settings)
    pools = _pools(blocks, stands, settings)
    for pool in pools:
        single = np.column_stack([pool.table[:, :3], pool.table[:, 5]])
        yield from _best_of(blocks, casing, (pool,), single, X)
    most = settings.modules_max or sum(pool.count for pool in pools)
    for index, one in enumerate(pools):
        for two in pools[index:]:
            if one.count + two.count <= most:
                for axis in (X, Y):
                    yield from _best_of(blocks, casing, (one, two), side_by_side(one.table, two.table, axis), axis)


@dataclass(frozen=True, kw_only=True, slots=True)
class Pool:
    """All grids of one module type that hold one count, with their measures in the same order (`table_of`)."""

    module: str
    count: int
    grids: tuple[Grid, ...]
    table: Table


def _pools(blocks: tuple[NetBlock, ...], stands: tuple[Stand, ...], settings: ArrangementSettings) -> list[Pool]:
    """By module type and count, grids of all stands that fit into some block."""
    if not blocks:
        return []
    room = (max(net.inner[X] for net in blocks), max(net.inner[Y] for net in blocks), max(net.inner[Z] for net in blocks))
    found: dict[tuple[str, int], list[Grid]] = {}
    for stand in stands:
        grids = grids_of(stand, room, layers_max=settings.layers_max, count_max=settings.modules_max or MODULES_MOST)
        for count, best in best_grids(grids).items():
            found.setdefault((stand.kind.module, count), []).extend(best)
    return [Pool(module=module, count=count, grids=tuple(grids), table=table_of(grids)) for (module, count), grids in sorted(found.items())]


def _best_of(
    blocks: tuple[NetBlock, ...], casing: Casing, pools: tuple[Pool, ...], measures: Table, axis: int
) -> Iterator[tuple[Counts, Found]]:
    """Of boxes with these measures (inner x, y, z, height by mass; a row each) the lowest and the most compact in each block."""
    tally: dict[str, int] = {}
    for pool in pools:
        tally[pool.module] = tally.get(pool.module, 0) + pool.count
    counts = tuple(sorted(tally.items()))
    mass = sum(pool.count * grams(pool.grids[0].stand) for pool in pools)
    for place, net in enumerate(blocks):
        fits = np.flatnonzero((measures[:, :3] <= np.array(net.inner)).all(axis=1))
        if not len(fits):
            continue
        heights = measures[fits, 3]
        volumes = (measures[fits, :3] + np.array(casing.outside((0, 0, 0)))).prod(axis=1)
        for row in sorted({int(np.lexsort((volumes, heights))[0]), int(np.lexsort((heights, volumes))[0])}):
            choice = divmod(int(fits[row]), len(pools[1].grids)) if len(pools) == 2 else (int(fits[row]),)
            grids = tuple(pool.grids[index] for pool, index in zip(pools, choice, strict=True))
            base = 2 * mass * (net.low[Z] + casing.floor)
            layout = Layout(grids=grids, axis=axis)
            yield counts, Found(sum_2z=int(heights[row]) + base, volume=int(volumes[row]), place=place, layout=layout)
