"""The largest blocks of free cells in a grid: every one, or, where a fine grid holds too many, a fair choice of them."""

from __future__ import annotations

from typing import Any

import numpy as np

Array = Any  # numpy array
# Up to so many levels every pair of floor and lid is looked at; beyond, so many spread evenly, and then pairs ever nearer to the best.
LEVELS_ALL = 40
LEVELS_FIRST = 12
BEST_LOOKED_AT = 4
# Blocks whose sides differ by less than so many lines are much the same; of so many others each is grown.
LIKE_LINES = 4
GROWN_MAX = 2000


class FreeGrid:
    """Cells of a grid, free or not, with the count of free cells above each, so that a slab is asked for at no cost."""

    def __init__(self, free: Array, lines: tuple[Array, Array, Array]) -> None:
        self.free, self.lines = free, lines
        self.nx, self.ny, self.nz = free.shape
        self.reach = np.zeros((self.nz, self.nx, self.ny), dtype=np.int16)
        run = np.zeros((self.nx, self.ny), dtype=np.int16)
        for k in range(self.nz - 1, -1, -1):
            run = np.where(free[:, :, k], run + 1, 0).astype(np.int16)
            self.reach[k] = run

    def blocks(self) -> Array:
        """Blocks that can be grown on no side, as rows x0, y0, z0, x1, y1, z1 of line numbers, the largest first.

        All there are where the grid has few levels. Otherwise those of the slabs between evenly spread levels, then those
        of slabs ever nearer to the best of them, each grown up and down as far as it goes; of blocks whose sides lie within
        a few lines of each other, the largest.
        """
        if not self.free.any():
            return np.zeros((0, 6), dtype=np.int64)
        if self.nz <= LEVELS_ALL:
            return self._standing(self._by_volume(self._of_slabs(_pairs(np.arange(self.nz + 1)))))
        levels = np.unique(np.linspace(0, self.nz, LEVELS_FIRST + 1).round().astype(int))
        found = self._grown(self._of_slabs(_pairs(levels)))
        pitch = int(np.diff(levels).max())
        while pitch > 1:
            finer = -(-pitch // 3)
            _, best = np.unique(found[:, [2, 5]], axis=0, return_index=True)
            near = self._near(found[np.sort(best)[:BEST_LOOKED_AT]], np.arange(-pitch, pitch + 1, finer))
            found = self._by_volume(np.concatenate([found, self._grown(self._of_slabs(near))]))
            pitch = finer
        return found

    def _near(self, best: Array, steps: Array) -> Array:
        """All slabs whose floor and lid are so many steps from those of a block."""
        floors, lids = np.meshgrid(steps, steps, indexing="ij")
        pairs = np.concatenate([np.column_stack([(block[2] + floors).ravel(), (block[5] + lids).ravel()]) for block in best])
        pairs = pairs[(pairs[:, 0] >= 0) & (pairs[:, 1] <= self.nz) & (pairs[:, 0] < pairs[:, 1])]
        return np.unique(pairs, axis=0)

    def _of_slabs(self, slabs: Array) -> Array:
        """The largest rectangles of each slab between two levels that the next level above or below does not take in whole.

        Row by row, each free column carries how far it goes back, and how far to both sides it can be widened without
        losing that: a rectangle that cannot be widened or lengthened backwards. Those that the next row ends are kept.
        """
        floors, heights = slabs[:, 0], (slabs[:, 1] - slabs[:, 0])[:, None]
        shape = (len(slabs), self.ny)
        number = np.arange(self.ny, dtype=np.int16)
        back, left, right = np.zeros(shape, dtype=np.int16), np.zeros(shape, dtype=np.int16), np.full(shape, self.ny, dtype=np.int16)
        found: list[Array] = []
        row = self.reach[floors, 0, :] >= heights
        for i in range(self.nx):
            back = np.where(row, back + 1, 0)
            run_left = np.maximum.accumulate(np.where(row, 0, number + 1), axis=1)
            run_right = np.minimum.accumulate(np.where(row, self.ny, number)[:, ::-1], axis=1)[:, ::-1]
            left = np.where(row, np.maximum(left, run_left), 0)
            right = np.where(row, np.minimum(right, run_right), self.ny)
            after = self.reach[floors, i + 1, :] >= heights if i + 1 < self.nx else np.zeros(shape, dtype=bool)
            found.append(self._ended(slabs, i, row, after, back, left, right))
            row = after
        return np.concatenate(found)

    def _ended(self, slabs: Array, i: int, row: Array, after: Array, back: Array, left: Array, right: Array) -> Array:
        """The rectangles that end with row i, as blocks; of those that a wider slab holds too, none."""
        blocked = np.zeros((len(slabs), self.ny + 1), dtype=np.int16)
        np.cumsum(~after, axis=1, dtype=np.int16, out=blocked[:, 1:])
        lines = np.arange(len(slabs))[:, None]
        ends = row & (blocked[lines, right] > blocked[lines, left])
        # Neighbours that carry the same rectangle count once.
        ends[:, 1:] &= ~(row[:, :-1] & (back[:, 1:] == back[:, :-1]) & (left[:, 1:] == left[:, :-1]) & (right[:, 1:] == right[:, :-1]))
        slab, j = np.nonzero(ends)
        return np.column_stack([
            i + 1 - back[slab, j], left[slab, j], slabs[slab, 0], np.full(len(slab), i + 1), right[slab, j], slabs[slab, 1],
        ]).astype(np.int64)  # fmt: skip

    def _grown(self, blocks: Array) -> Array:
        """The largest of blocks much like each other, made as high and as deep as they go; the largest first."""
        blocks = self._by_volume(blocks)
        rough = blocks.copy()
        rough[:, [0, 1, 3, 4]] //= LIKE_LINES
        _, first = np.unique(self._keys(rough), return_index=True)
        grown = [self._grown_one(*block) for block in blocks[np.sort(first)[:GROWN_MAX]].tolist()]
        return self._by_volume(np.array(grown, dtype=np.int64).reshape(-1, 6))

    def _grown_one(self, x0: int, y0: int, z0: int, x1: int, y1: int, z1: int) -> tuple[int, int, int, int, int, int]:
        height = int(self.reach[z0, x0:x1, y0:y1].min())
        while z0 > 0 and bool(self.free[x0:x1, y0:y1, z0 - 1].all()):
            z0, height = z0 - 1, height + 1
        return x0, y0, z0, x1, y1, z0 + height

    def _standing(self, blocks: Array) -> Array:
        """Of blocks that cannot be widened, those that cannot be made higher or deeper either."""
        kept = [self._grown_one(*block)[2::3] == (block[2], block[5]) for block in blocks.tolist()]
        return blocks[np.array(kept, dtype=bool)]

    def _keys(self, blocks: Array) -> Array:
        """One whole number a block, in the order of their places."""
        key = np.zeros(len(blocks), dtype=np.int64)
        for axis in range(6):
            key = key * (self.free.shape[axis % 3] + 1) + blocks[:, axis]
        return key

    def _by_volume(self, blocks: Array) -> Array:
        """Blocks by their volume, the largest first, each once; ties in the order of their places."""
        blocks = blocks[np.unique(self._keys(blocks), return_index=True)[1]]
        return blocks[np.argsort(-self.volumes(blocks), kind="stable")]

    def volumes(self, blocks: Array) -> Array:
        """The volume of each block."""
        return np.prod([line[blocks[:, 3 + axis]] - line[blocks[:, axis]] for axis, line in enumerate(self.lines)], axis=0)


def _pairs(levels: Array) -> Array:
    return np.array([(low, high) for at, low in enumerate(levels) for high in levels[at + 1 :]], dtype=np.int64)
