"""Meshes and voids with known answers.

Source: the shared benchmarks, `meshes/truth.json` (volumes by formula; points inside or outside on which ray casting and
the winding number agree) and `convex_voids.json` (the largest upright block in a convex void, by convex optimisation;
two solvers agree). Volumes and inertia also against trimesh.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from shapely.geometry import Polygon

from halfshaft.files.mesh_formats import read_soup
from halfshaft.model.meshes import Mesh
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.rooms import room_of
from halfshaft.studies.solids import corners_of, free_cells, inside_at_middles, volume_between_mm3
from meshes import mesh_of

BENCHMARKS = Path(__file__).parents[2].parent / "shared" / "benchmarks"
MESHES = BENCHMARKS / "meshes" / "truth.json"
VOIDS = BENCHMARKS / "convex_voids.json"
SPACE = Space(ref="S", name="a space", loaded_from="above", floor_z_mm=-3000, top_z_mm=3000, mesh="ME1")
STEP_MM = 5.0


def answers(path: Path, index: int) -> Any:
    if not path.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {path.name}")
    return json.loads(path.read_text())[index]


def read(index: int) -> tuple[Any, Mesh]:
    truth = answers(MESHES, index)
    return truth, mesh_of(read_soup(MESHES.parent / truth["file"]), unit=truth["units"])


@pytest.mark.parametrize("index", range(3))
def test_the_volume_read_is_the_volume_stated(index: int) -> None:
    truth, mesh = read(index)
    volume_m3 = volume_between_mm3(corners_of(mesh), -1e5, 1e5) / 1e9
    assert volume_m3 == pytest.approx(truth["mesh_volume_m3"], rel=1e-6)
    # Round sides are cut into flats: one part in a thousand.
    assert volume_m3 == pytest.approx(truth["analytic_volume_m3"], rel=1e-3)
    assert mesh.repaired == ""


@pytest.mark.parametrize("index", range(3))
def test_points_are_inside_or_outside_as_stated(index: int) -> None:
    """Each as the middle of a cube of 1 mm; the benchmark holds for points more than 1 mm from the skin, and all are."""
    truth, mesh = read(index)
    triangles = corners_of(mesh)
    for *place_m, inside in truth["points"]:
        lines = [np.array([1000 * metres - 0.5, 1000 * metres + 0.5]) for metres in place_m]
        assert bool(inside_at_middles(triangles, *lines).all()) == bool(inside), place_m
        assert bool(free_cells(triangles, *lines).all()) == bool(inside), place_m


@pytest.mark.parametrize("index", range(3))
def test_cells_of_a_grid_agree_with_points_farther_than_a_cell_from_the_skin(index: int) -> None:
    """A free cell holds no point that is outside, and a point inside lies in a free cell unless the skin is that near."""
    truth, mesh = read(index)
    triangles = corners_of(mesh)
    points = np.array(truth["points"])[:, :3] * 1000
    inside = np.array(truth["points"])[:, 3] == 1
    low, high = triangles.min(axis=(0, 1)) - 60, triangles.max(axis=(0, 1)) + 60
    lines = [np.arange(least, most + STEP_MM, STEP_MM) for least, most in zip(low, high, strict=True)]
    where = tuple(np.searchsorted(line, points[:, axis], side="right") - 1 for axis, line in enumerate(lines))
    kept = np.all([(at >= 0) & (at < len(line) - 1) for at, line in zip(where, lines, strict=True)], axis=0)
    cells = free_cells(triangles, *lines)[tuple(at[kept] for at in where)]
    assert not (cells & ~inside[kept]).any()
    missed = points[kept][~cells & inside[kept]]
    solid = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3), process=False)
    _, away, _ = trimesh.proximity.closest_point_naive(solid, missed) if len(missed) else (None, np.zeros(0), None)
    assert (away <= STEP_MM * 3**0.5).all()
    assert kept.sum() > 400


def area_of(section: Any) -> float:
    """Of outlines within outlines, what an odd number of them holds."""
    area = Polygon()
    for outline in section.discrete:
        area = area.symmetric_difference(Polygon(outline))
    return float(area.area)


@pytest.mark.parametrize("index", range(3))
def test_what_lies_between_two_heights_is_what_slicing_gives(index: int) -> None:
    """Against trimesh: between two heights of corners a section's area is a quadratic, which Gauss's rule of two points sums exactly."""
    _, mesh = read(index)
    triangles = corners_of(mesh)
    solid = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))
    low, high = solid.bounds[:, 2]
    floor, lid = low + 0.21 * (high - low), low + 0.83 * (high - low)
    levels = np.unique(triangles[:, :, 2].round(3))
    edges = np.array([floor, *levels[(levels > floor) & (levels < lid)], lid])
    middle, half = (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2
    sliced_mm3 = 0.0
    for share in (-(1 / 3**0.5), 1 / 3**0.5):
        sections = solid.section_multiplane([0, 0, 0], [0, 0, 1], middle + share * half)
        sliced_mm3 += sum(area_of(section) * width for section, width in zip(sections, half, strict=True))
    assert volume_between_mm3(triangles, floor, lid) == pytest.approx(sliced_mm3, rel=1e-5)
    below, above = volume_between_mm3(triangles, -1e5, floor), volume_between_mm3(triangles, lid, 1e5)
    assert below + volume_between_mm3(triangles, floor, lid) + above == pytest.approx(solid.volume, rel=1e-9)


@pytest.mark.parametrize("index", range(4))
def test_the_largest_block_of_a_convex_void_is_nearly_found_and_never_exceeded(index: int) -> None:
    """Measured on a grid of 5 mm: 0.994, 0.994, 0.990 and 0.986 of the known largest."""
    void = answers(VOIDS, index)
    mesh = mesh_of((np.array(void["vertices_m"]), np.array(void["faces"])), unit="m")
    room = room_of(SPACE, (), mesh)
    share = room.blocks[0].volume_l / 1000 / void["max_axis_aligned_box"]["volume_m3"]
    assert 0.97 < share <= 1.0
    assert room.step_mm == STEP_MM
    assert room.usable_l / 1000 == pytest.approx(void["volume_m3"], rel=1e-6)


@pytest.mark.parametrize("index", range(3))
def test_every_block_of_a_mesh_lies_in_it(index: int) -> None:
    """By the corners and middle of each block and the places where the sides of the mesh would come into it."""
    _, mesh = read(index)
    triangles = corners_of(mesh)
    for block in room_of(SPACE, (), mesh).blocks:
        lines = [np.array(pair) for pair in ((block.x_min, block.x_max), (block.y_min, block.y_max), (block.z_min, block.z_max))]
        assert bool(free_cells(triangles, *lines).all())
