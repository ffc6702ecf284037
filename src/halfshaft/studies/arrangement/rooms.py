"""What a space leaves free below its lid, above its floor and clear of its keep-outs: as blocks, and in litres."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from halfshaft.model.meshes import Mesh
from halfshaft.model.outlines import Corner, area_mm2, area_within_mm2, edges
from halfshaft.model.spaces import KeepOut, Space, keep_outs_of
from halfshaft.studies.arrangement.records import Block, Room
from halfshaft.studies.arrangement.room_grids import FreeGrid
from halfshaft.studies.solids import corners_of, free_cells, inside_at_middles, volume_between_mm3

Array = Any  # numpy array
STEP_MM = 5.0
CELLS_MAX = 20_000_000
# So many blocks of a gridded space are kept, and none that shares more than this with a larger one that is kept.
BLOCKS_MAX = 40
ALIKE = 0.9
MM3_PER_L = 1e6


def room_of(space: Space, keep_outs: Sequence[KeepOut], mesh: Mesh | None = None, *, step_mm: float = STEP_MM) -> Room:
    """The free blocks of a space and its usable volume.

    Only keep-outs of this space count, and those that name no space. A plan with sides along x and y alone is cut at its
    own corners and at the faces of its keep-outs: the blocks are exact and complete, and `step_mm` of the room is None.
    With a slanted side, or as a mesh, it is cut to a grid besides. A cell counts where it lies wholly inside, so blocks err on
    the safe side: each face by less than two steps. A grid has more blocks than anybody can look at: kept are the largest,
    the lowest, and the longest each way, at most BLOCKS_MAX, and of two that share nine tenths the larger. Above some 20
    million cells the step is doubled.
    """
    blocking = tuple(block for block in map(_block, keep_outs_of(space, keep_outs)) if block.volume_l > 0)
    if mesh is None:
        assert space.polygon_mm is not None
        step = None if _is_upright(space.polygon_mm) else step_mm
        lines = _prism_lines(space, blocking, step)
        free = _prism_cells(space.polygon_mm, lines)
        usable_mm3 = _prism_volume_mm3(space, blocking)
    else:
        triangles = corners_of(mesh)
        step = _step_for(triangles, space, step_mm)
        lines = _mesh_lines(triangles, space, blocking, step)
        free = free_cells(triangles, *lines)
        usable_mm3 = _mesh_volume_mm3(triangles, space, blocking, lines)
    for block in blocking:
        _block_out(free, lines, block)
    return Room(space=space.ref, blocks=_blocks(free, lines, is_exact=step is None), usable_l=usable_mm3 / MM3_PER_L, step_mm=step)


def _block(keep_out: KeepOut) -> Block:
    return Block(keep_out.x_min_mm, keep_out.y_min_mm, keep_out.z_min_mm, keep_out.x_max_mm, keep_out.y_max_mm, keep_out.z_max_mm)


# --- blocks -----------------------------------------------------------------------------------------------------------------


def _blocks(free: Array, lines: tuple[Array, Array, Array], *, is_exact: bool) -> tuple[Block, ...]:
    grid = FreeGrid(free, lines)
    found = grid.blocks()
    if not is_exact:
        found = found[_chosen(grid, found)]
    corners = [lines[axis % 3][found[:, axis]] for axis in range(6)]
    blocks = [Block(*map(float, row)) for row in zip(*corners, strict=True)]
    return tuple(sorted(blocks, key=lambda block: (-block.volume_l, block)))


def _chosen(grid: FreeGrid, found: Array) -> list[int]:
    """Which of many blocks, the largest first, are kept: the best at something, then the largest unlike those kept."""
    if not len(found):
        return []
    sides = [grid.lines[axis][found[:, 3 + axis]] - grid.lines[axis][found[:, axis]] for axis in range(3)]
    volumes = sides[0] * sides[1] * sides[2]
    fair = volumes >= volumes[0] / 10
    lowest = np.lexsort((-volumes, found[:, 2], ~fair))[0]
    firsts = dict.fromkeys([0, int(lowest), *(int(np.argmax(np.where(fair, side, 0))) for side in sides)])
    kept = list(firsts)
    places = np.column_stack([grid.lines[axis % 3][found[:, axis]] for axis in range(6)])
    alike = np.zeros(len(found), dtype=bool)
    for index in [*kept, *range(len(found))]:
        if index not in firsts:
            if len(kept) >= BLOCKS_MAX or alike[index]:
                continue
            kept.append(index)
        shared = np.minimum(places[:, 3:], places[index, 3:]) - np.maximum(places[:, :3], places[index, :3])
        alike |= np.prod(shared.clip(0), axis=1) >= ALIKE * volumes
    return sorted(kept)


def _block_out(free: Array, lines: tuple[Array, Array, Array], block: Block) -> None:
    """Cells that a keep-out enters are not free."""
    low, high = (block.x_min, block.y_min, block.z_min), (block.x_max, block.y_max, block.z_max)
    spans = []
    for line, least, most in zip(lines, low, high, strict=True):
        first, last = np.searchsorted(line, least, side="right") - 1, np.searchsorted(line, most, side="left")
        spans.append(slice(max(int(first), 0), max(int(last), 0)))
    free[tuple(spans)] = False


# --- prisms -----------------------------------------------------------------------------------------------------------------


def _is_upright(polygon: Sequence[Corner]) -> bool:
    return all(x0 == x1 or y0 == y1 for (x0, y0), (x1, y1) in edges(polygon))


def _prism_lines(space: Space, blocking: Sequence[Block], step: float | None) -> tuple[Array, Array, Array]:
    """Lines through every corner and every face of a keep-out; where sides slant, a step apart besides."""
    assert space.polygon_mm is not None
    lines: list[Array] = []
    for axis in (0, 1):
        places = [corner[axis] for corner in space.polygon_mm]
        fine = [] if step is None else _stepped(space.polygon_mm, axis, step)
        lines.append(_rising([*places, *fine, *_faces(blocking, axis)], min(places), max(places)))
    levels = [space.floor_z_mm, space.top_z_mm, *_faces(blocking, 2)]
    return lines[0], lines[1], _rising(levels, space.floor_z_mm, space.top_z_mm)


def _stepped(polygon: Sequence[Corner], axis: int, step: float) -> list[float]:
    """Places a step apart along every slanted side, from its lower end."""
    places: list[float] = []
    for here, there in edges(polygon):
        if here[0] != there[0] and here[1] != there[1]:
            low, high = sorted((here[axis], there[axis]))
            places += [float(place) for place in np.arange(low, high, step)]
    return places


def _faces(blocking: Sequence[Block], axis: int) -> list[float]:
    return [
        place for block in blocking for place in ((block.x_min, block.x_max), (block.y_min, block.y_max), (block.z_min, block.z_max))[axis]
    ]


def _rising(places: Sequence[float], low: float, high: float) -> Array:
    return np.array(sorted({float(place) for place in places if low <= place <= high}))


def _prism_cells(polygon: Sequence[Corner], lines: tuple[Array, Array, Array]) -> Array:
    """Whether each cell lies wholly in a plan: no side passes through its inside, and its middle lies within (even-odd rule)."""
    xs, ys, zs = lines
    middle_x, middle_y = (xs[:-1] + xs[1:])[:, None] / 2, (ys[:-1] + ys[1:])[None, :] / 2
    inside = np.zeros((len(xs) - 1, len(ys) - 1), dtype=bool)
    cut = np.zeros_like(inside)
    for (x0, y0), (x1, y1) in edges(polygon):
        if y0 != y1:
            at = x0 + (middle_y - y0) / (y1 - y0) * (x1 - x0)
            inside ^= ((y0 > middle_y) != (y1 > middle_y)) & (middle_x < at)
        leans = (x1 - x0) * (ys[None, :] - y0) - (y1 - y0) * (xs[:, None] - x0)
        corners = np.stack([leans[:-1, :-1], leans[1:, :-1], leans[:-1, 1:], leans[1:, 1:]])
        beside_x = (xs[1:] > min(x0, x1)) & (xs[:-1] < max(x0, x1))
        beside_y = (ys[1:] > min(y0, y1)) & (ys[:-1] < max(y0, y1))
        cut |= (corners.min(axis=0) < 0) & (corners.max(axis=0) > 0) & beside_x[:, None] & beside_y[None, :]
    return np.repeat((inside & ~cut)[:, :, None], len(zs) - 1, axis=2)


def _prism_volume_mm3(space: Space, blocking: Sequence[Block]) -> float:
    """Area of the plan times height, less what the keep-outs take, each place once; exact."""
    assert space.polygon_mm is not None
    volume = area_mm2(space.polygon_mm) * (space.top_z_mm - space.floor_z_mm)
    xs, ys = (sorted(set(_faces(blocking, axis))) for axis in (0, 1))
    for low_x, high_x in pairwise(xs):
        for low_y, high_y in pairwise(ys):
            over = [block for block in blocking if block.x_min <= low_x < block.x_max and block.y_min <= low_y < block.y_max]
            height = _height_taken(over, space.floor_z_mm, space.top_z_mm)
            if height:
                volume -= height * area_within_mm2(space.polygon_mm, (low_x, low_y), (high_x, high_y))
    return volume


def _height_taken(blocking: Sequence[Block], floor: float, lid: float) -> float:
    taken, reached = 0.0, floor
    for block in sorted(blocking, key=lambda block: block.z_min):
        low, high = max(block.z_min, reached), min(block.z_max, lid)
        if high > low:
            taken, reached = taken + high - low, high
    return taken


# --- meshes -----------------------------------------------------------------------------------------------------------------


def _bounds(triangles: Array, space: Space) -> tuple[Array, Array]:
    low, high = triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))
    low[2], high[2] = max(low[2], space.floor_z_mm), min(high[2], space.top_z_mm)
    return low, high


def _step_for(triangles: Array, space: Space, step: float) -> float:
    low, high = _bounds(triangles, space)
    while np.prod(np.ceil((high - low).clip(step) / step)) > CELLS_MAX:
        step *= 2
    return step


def _mesh_lines(triangles: Array, space: Space, blocking: Sequence[Block], step: float) -> tuple[Array, Array, Array]:
    """Lines a step apart from the mesh's least corner, and through its greatest and the faces of keep-outs."""
    low, high = _bounds(triangles, space)
    if low[2] >= high[2]:  # the whole mesh is above the lid or below the floor
        low[2], high[2] = space.floor_z_mm, space.top_z_mm
    lines = [
        _rising([*np.arange(low[axis], high[axis], step).tolist(), float(high[axis]), *_faces(blocking, axis)], low[axis], high[axis])
        for axis in range(3)
    ]
    return lines[0], lines[1], lines[2]


def _mesh_volume_mm3(triangles: Array, space: Space, blocking: Sequence[Block], lines: tuple[Array, Array, Array]) -> float:
    """The mesh between floor and lid exactly, less the keep-outs by the cells whose middle lies in the mesh."""
    volume = volume_between_mm3(triangles, space.floor_z_mm, space.top_z_mm)
    if not blocking:
        return volume
    taken = np.zeros(tuple(len(line) - 1 for line in lines), dtype=bool)
    for block in blocking:
        free = np.ones_like(taken)
        _block_out(free, lines, block)
        taken |= ~free
    sizes = np.diff(lines[0])[:, None, None] * np.diff(lines[1])[None, :, None] * np.diff(lines[2])[None, None, :]
    return volume - float(sizes[taken & inside_at_middles(triangles, *lines)].sum())
