"""What must always hold of the room that a space leaves: blocks are free, as large as they can be, and none is missed."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from halfshaft.model.outlines import area_within_mm2, cuts, edges, fault_of, is_inside
from halfshaft.model.spaces import KeepOut, Space
from halfshaft.studies.arrangement.records import Block, Room
from halfshaft.studies.arrangement.rooms import BLOCKS_MAX, room_of
from halfshaft.studies.solids import free_cells, volume_between_mm3
from meshes import block_mesh

FLOOR, TOP = 0.0, 400.0
UNIT = 100.0  # of the lattice on which plans and keep-outs stand
SIZE = 5


def fixed(examples: int) -> settings:
    return settings(max_examples=examples, derandomize=True, deadline=None)


def a_space(polygon: Any, **more: Any) -> Space:
    return Space(ref="SP1", name="a space", loaded_from="above", floor_z_mm=FLOOR, top_z_mm=TOP, polygon_mm=tuple(polygon), **more)


def keep_out(ref: str, low: Any, high: Any, space: str | None = None) -> KeepOut:
    names = ("x_min_mm", "y_min_mm", "z_min_mm", "x_max_mm", "y_max_mm", "z_max_mm")
    return KeepOut(ref=ref, name="in the way", space=space, **dict(zip(names, map(float, (*low, *high)), strict=True)))


@st.composite
def upright_plans(draw: Any) -> Any:
    """The outline of cells of a lattice that were put to each other one by one: T and L and U shapes, without holes."""
    cells = {(2, 2)}
    for number, (along, across) in draw(
        st.lists(st.tuples(st.integers(0, 99), st.sampled_from([(1, 0), (-1, 0), (0, 1), (0, -1)])), max_size=14)
    ):
        x, y = sorted(cells)[number % len(cells)]
        cells.add((min(max(x + along, 0), SIZE - 1), min(max(y + across, 0), SIZE - 1)))
    shape = unary_union([box(x, y, x + 1, y + 1) for x, y in sorted(cells)])
    assume(not shape.interiors)
    corners = [(UNIT * x, UNIT * y) for x, y in list(shape.simplify(0).exterior.coords)[:-1]]
    assume(not fault_of(corners))
    return corners


@st.composite
def keep_outs(draw: Any, most: int = 4) -> tuple[KeepOut, ...]:
    found = []
    for index in range(draw(st.integers(0, most))):
        low = [draw(st.integers(-1, SIZE)) for _ in range(3)]
        high = [least + draw(st.integers(1, 3)) for least in low]
        found.append(
            keep_out(f"KO{index}", [UNIT * at for at in low], [UNIT * at for at in high], draw(st.sampled_from([None, "SP1", "SP2"])))
        )
    return tuple(found)


def free_lattice(polygon: Any, blocking: Any) -> Any:
    """Cell by cell, by shapely and by comparing numbers: an oracle that knows nothing of lines and slabs."""
    shape = Polygon(polygon)
    free = np.zeros((SIZE, SIZE, int(TOP / UNIT)), dtype=bool)
    for x, y, z in np.ndindex(free.shape):
        middle = [UNIT * (at + 0.5) for at in (x, y, z)]
        kept = [k for k in blocking if k.space != "SP2"]
        taken = any(
            k.x_min_mm < middle[0] < k.x_max_mm and k.y_min_mm < middle[1] < k.y_max_mm and k.z_min_mm < middle[2] < k.z_max_mm
            for k in kept
        )
        free[x, y, z] = shape.contains(box(UNIT * x, UNIT * y, UNIT * (x + 1), UNIT * (y + 1)).centroid) and not taken
    return free


def all_maximal(free: Any) -> set[tuple[float, ...]]:
    """By brute force: every block of free cells that none of its six sides can be moved out of."""
    spans = [[(low, high) for low in range(n) for high in range(low + 1, n + 1)] for n in free.shape]
    whole = {
        (x, y, z) for x in spans[0] for y in spans[1] for z in spans[2] if free[slice(*x), slice(*y), slice(*z)].all()
    }  # fmt: skip
    found = set()
    for x, y, z in whole:
        grown = [(x[0] - 1, x[1]), (x[0], x[1] + 1)]
        wider = [(y[0] - 1, y[1]), (y[0], y[1] + 1)]
        higher = [(z[0] - 1, z[1]), (z[0], z[1] + 1)]
        if (
            not any((g, y, z) in whole for g in grown)
            and not any((x, w, z) in whole for w in wider)
            and not any((x, y, h) in whole for h in higher)
        ):
            found.add(tuple(UNIT * at for at in (x[0], y[0], z[0], x[1], y[1], z[1])))
    return found


def corners(room: Room) -> set[tuple[float, ...]]:
    return {(b.x_min, b.y_min, b.z_min, b.x_max, b.y_max, b.z_max) for b in room.blocks}


@fixed(60)
@given(upright_plans(), keep_outs())
def test_an_upright_space_has_exactly_the_blocks_that_brute_force_finds(polygon: Any, blocking: Any) -> None:
    room = room_of(a_space(polygon), blocking)
    free = free_lattice(polygon, blocking)
    assert corners(room) == all_maximal(free)
    assert room.usable_l == pytest.approx(free.sum() * UNIT**3 / 1e6)
    assert room.step_mm is None


@fixed(40)
@given(upright_plans(), keep_outs(), st.sampled_from([(1, -1), (-1, 1)]))
def test_a_mirrored_space_has_mirrored_blocks(polygon: Any, blocking: Any, signs: Any) -> None:
    def mirrored(at: Any, sign: int) -> Any:
        return (at[0], at[1]) if sign > 0 else (-at[1], -at[0])

    def turned(k: KeepOut) -> KeepOut:
        x, y = mirrored((k.x_min_mm, k.x_max_mm), signs[0]), mirrored((k.y_min_mm, k.y_max_mm), signs[1])
        return k.model_copy(update={"x_min_mm": x[0], "x_max_mm": x[1], "y_min_mm": y[0], "y_max_mm": y[1]})

    here = room_of(a_space(polygon), blocking)
    there = room_of(a_space([(signs[0] * x, signs[1] * y) for x, y in polygon]), tuple(map(turned, blocking)))
    back = set()
    for x0, y0, z0, x1, y1, z1 in corners(there):
        (a, b), (c, d) = mirrored((x0, x1), signs[0]), mirrored((y0, y1), signs[1])
        back.add((a + 0.0, c + 0.0, z0, b + 0.0, d + 0.0, z1))
    assert back == corners(here)


@st.composite
def slanted_plans(draw: Any) -> Any:
    """A star round the origin: no two sides cross, few lie along an axis."""
    count = draw(st.integers(3, 7))
    angles = np.sort(np.array(draw(st.lists(st.floats(0.0, 0.8), min_size=count, max_size=count))) + np.arange(count)) * 2 * np.pi / count
    reach = np.array(draw(st.lists(st.floats(80, 320), min_size=count, max_size=count)))
    polygon = [(round(float(r * np.cos(a)), 1), round(float(r * np.sin(a)), 1)) for a, r in zip(angles, reach, strict=True)]
    assume(not fault_of(polygon))
    assume(Polygon(polygon).is_valid and Polygon(polygon).area > 5000)
    return polygon


@fixed(25)
@given(slanted_plans(), keep_outs(2))
def test_a_slanted_space_errs_on_the_safe_side_only(polygon: Any, blocking: Any) -> None:
    """Each block lies in the plan and clear of keep-outs (by shapely), in few blocks, and the litres are exact."""
    room = room_of(a_space(polygon), blocking)
    kept = [k for k in blocking if k.space != "SP2"]
    shape = Polygon(polygon).buffer(1e-6)
    assert len(room.blocks) <= BLOCKS_MAX
    for block in room.blocks:
        assert shape.contains(box(block.x_min, block.y_min, block.x_max, block.y_max))
        assert FLOOR <= block.z_min < block.z_max <= TOP
        assert not any(block.shared_l(Block(k.x_min_mm, k.y_min_mm, k.z_min_mm, k.x_max_mm, k.y_max_mm, k.z_max_mm)) for k in kept)
    taken_mm3 = 0.0
    levels = sorted({FLOOR, TOP, *(z for k in kept for z in (k.z_min_mm, k.z_max_mm) if FLOOR < z < TOP)})
    for low, high in pairwise(levels):
        layer = unary_union([box(k.x_min_mm, k.y_min_mm, k.x_max_mm, k.y_max_mm) for k in kept if k.z_min_mm <= low and high <= k.z_max_mm])
        taken_mm3 += layer.intersection(Polygon(polygon)).area * (high - low)
    assert room.usable_l == pytest.approx((Polygon(polygon).area * (TOP - FLOOR) - taken_mm3) / 1e6, abs=1e-6)


@cache
def slanted_room(step_mm: float) -> Room:
    return room_of(a_space([(0, 0), (600, 0), (600, 200), (200, 600), (0, 600)]), (), step_mm=step_mm)


def test_a_slanted_side_costs_less_than_two_steps() -> None:
    """The largest block below the side from (600, 200) to (200, 600) is 400 x 400."""
    for step_mm in (20.0, 10.0, 5.0, 2.0):
        block = slanted_room(step_mm).blocks[0]
        assert 400 - 2 * step_mm <= min(block.size[:2]) <= max(block.size[:2]) <= 400 + 2 * step_mm
        assert block.size[0] + block.size[1] <= 800 + 1e-9
        assert block.volume_l <= 0.4 * 0.4 * 400


@fixed(30)
@given(upright_plans(), keep_outs(3))
def test_more_in_the_way_leaves_less(polygon: Any, blocking: Any) -> None:
    before, after = room_of(a_space(polygon), ()), room_of(a_space(polygon), blocking)
    assert after.usable_l <= before.usable_l + 1e-9
    for block in after.blocks:
        assert any(block.shared_l(other) == pytest.approx(block.volume_l) for other in before.blocks)


# --- meshes ------------------------------------------------------------------------------------------------------------------

places = st.integers(-40, 40).map(lambda at: 5.0 * at)


@fixed(40)
@given(st.tuples(places, places, places), st.tuples(*[st.integers(12, 100).map(lambda side: 5.0 * side)] * 3), keep_outs(2))
def test_a_block_as_a_mesh_is_the_same_room_as_a_block_as_a_prism(low: Any, sides: Any, blocking: Any) -> None:
    high = tuple(least + side for least, side in zip(low, sides, strict=True))
    floor, top = low[2] + 10, high[2] - 10
    plan = ((low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1]))
    prism = Space(ref="SP1", name="a", loaded_from="above", floor_z_mm=floor, top_z_mm=top, polygon_mm=plan)
    scan = Space(ref="SP1", name="a", loaded_from="above", floor_z_mm=floor, top_z_mm=top, mesh="ME1")
    exact, found = room_of(prism, blocking), room_of(scan, blocking, block_mesh("ME1", low, high))
    assert found.usable_l == pytest.approx(exact.usable_l, abs=1e-6)
    assert [b.volume_l for b in found.blocks[:1]] == pytest.approx([b.volume_l for b in exact.blocks[:1]])
    assert corners(found) <= corners(exact)


@fixed(60)
@given(st.floats(20, 160), st.floats(20, 160), st.floats(0, 300), st.floats(1, 60))
def test_a_tetrahedron_between_two_heights_is_a_difference_of_cubes(along: float, across: float, low: float, thick: float) -> None:
    """Its section at a height z below a tip at 300 shrinks with the square of what is left."""
    corners_mm = np.array([[0, 0, 0], [along, 0, 0], [0, across, 0], [0, 0, 300.0]])
    triangles = corners_mm[np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])]

    def above(z: float) -> float:
        return along * across / 2 * max(300 - z, 0) ** 3 / (3 * 300**2)

    assert volume_between_mm3(triangles, low, low + thick) == pytest.approx(above(low) - above(low + thick), rel=1e-6, abs=1e-6)


@fixed(25)
@given(slanted_plans(), st.integers(15, 40))
def test_cells_of_an_upright_mesh_are_those_of_its_plan(polygon: Any, step: int) -> None:
    """Two ways to one answer: a prism as a mesh, cell by cell, against shapely, save cells within 0.02 mm of the skin."""
    shape = Polygon(polygon)
    solid = _extruded(polygon)
    xs, ys = (np.arange(-330.0, 331.0, step) for _ in range(2))
    cells = free_cells(solid, xs, ys, np.array([10.0, 60.0, 90.0]))
    assert (cells[:, :, 0] == cells[:, :, 1]).all()
    for i, j in np.ndindex(cells.shape[:2]):
        cell = box(xs[i], ys[j], xs[i + 1], ys[j + 1])
        if cells[i, j, 0]:
            assert shape.buffer(0.02).contains(cell)
        else:
            assert not shape.buffer(-0.02).contains(cell)


def _extruded(polygon: Any) -> Any:
    """Corners of the triangles of a prism from z 0 to 100 on a star round the origin."""
    rows = []
    for (x0, y0), (x1, y1) in edges(polygon):
        a, b, c, d = (x0, y0, 0.0), (x1, y1, 0.0), (x1, y1, 100.0), (x0, y0, 100.0)
        rows += [(a, b, c), (a, c, d), ((0.0, 0.0, 0.0), b, a), ((0.0, 0.0, 100.0), d, c)]
    return np.array(rows)


# --- plans -------------------------------------------------------------------------------------------------------------------


@fixed(100)
@given(slanted_plans(), st.tuples(places, places), st.tuples(st.floats(5, 200), st.floats(5, 200)))
def test_areas_insides_and_cuts_agree_with_another_library(polygon: Any, low: Any, sides: Any) -> None:
    high = (low[0] + sides[0], low[1] + sides[1])
    shape, part = Polygon(polygon), box(*low, *high)
    assert area_within_mm2(polygon, low, high) == pytest.approx(shape.intersection(part).area, abs=1e-6)
    if shape.boundary.distance(part.centroid) > 1e-3:
        assert is_inside(part.centroid.coords[0], polygon) == shape.contains(part.centroid)
    cut = shape.boundary.intersection(part.buffer(-1e-6)).length > 1e-5
    if cut or not shape.boundary.intersects(part.buffer(1e-6)):
        assert any(cuts(side, low, high) for side in edges(polygon)) == cut


@fixed(200)
@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=7, unique=True))
def test_a_plan_that_is_refused_is_no_polygon_of_another_library_and_the_other_way_round(corners: Any) -> None:
    polygon = [(float(x), float(y)) for x, y in corners]
    assert (fault_of(polygon) == "") == (Polygon(polygon).is_valid and Polygon(polygon).area > 0)
