"""The scene as GLB, read back with an independent reader (trimesh)."""

from __future__ import annotations

import io
import json
import struct

import numpy as np
import pytest
import trimesh

from drawings.test_views import nothing_but_a_car, points_on_each_other, without_boxes, without_height
from halfshaft.drawings.scene import Prism, Solid, Tube, scene_of
from halfshaft.drawings.triangles import area_of, ears, triangles_of
from halfshaft.pens.glb import glb, in_gltf
from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.device_blocks import block_of
from halfshaft.study import Study


def scene(conversion) -> tuple[Solid, ...]:
    study = Study(conversion)
    return scene_of(conversion, study.routing, study.mass)


def read(data: bytes) -> dict[str, trimesh.Trimesh]:
    return dict(trimesh.load(io.BytesIO(data), file_type="glb").geometry)


@pytest.fixture(scope="module")
def tern_scene(tern):
    return scene(tern)


@pytest.fixture(scope="module")
def tern_meshes(tern_scene):
    return read(glb(tern_scene, title="Tern"))


def test_bounding_boxes_are_the_blocks_of_the_conversion_in_metres(tern, tern_meshes):
    for thing in [*tern.boxes, *(item for box in tern.boxes for item in (*box.modules, *box.plates)), *tern.keep_outs]:
        block = block_of(thing)
        # glTF: x to the left, y up, z to the front.
        low = (-block.y_max / 1000, block.z_min / 1000, -block.x_max / 1000)
        high = (-block.y_min / 1000, block.z_max / 1000, -block.x_min / 1000)
        assert tern_meshes[thing.ref].bounds == pytest.approx(np.array([low, high]), abs=1e-6), thing.ref


def test_every_solid_is_closed_and_looks_outwards(tern_scene, tern_meshes):
    assert set(tern_meshes) == {solid.name for solid in tern_scene}
    for name, mesh in tern_meshes.items():
        assert mesh.is_watertight, name
        assert mesh.is_winding_consistent, name
        assert mesh.volume > 0, name


def test_volumes_are_those_of_blocks_and_prisms(tern, tern_meshes):
    for box in tern.boxes:
        assert tern_meshes[box.ref].volume == pytest.approx(block_of(box).volume_l / 1000, rel=1e-5)
    for space in tern.spaces:
        litres = abs(area_of(space.polygon_mm)) * (space.top_z_mm - space.floor_z_mm) / 1e6
        assert tern_meshes[space.ref].volume == pytest.approx(litres / 1000, rel=1e-5), space.ref


def test_a_cable_is_as_thick_as_bought_and_as_long_as_its_way(tern_scene, tern_meshes):
    tube = next(solid for solid in tern_scene if solid.name == "C1").shape
    assert isinstance(tube, Tube)
    assert tube.diameter_mm == 14.6
    length_mm = sum(float(np.linalg.norm(np.subtract(a, b))) for a, b in zip(tube.places, tube.places[1:], strict=False))
    # A twelve-sided tube holds 3 r² per mm of length; bends take a little.
    assert tern_meshes["C1"].volume * 1e9 == pytest.approx(3 * 7.3**2 * length_mm, rel=0.1)


def test_left_stays_left():
    """The turn from the car's frame into glTF's is proper: determinant +1, front along +Z, right along -X, up along +Y."""
    x, y, z = (np.array(in_gltf(axis)) for axis in ((1000.0, 0.0, 0.0), (0.0, 1000.0, 0.0), (0.0, 0.0, 1000.0)))
    assert np.linalg.det(np.array([x, y, z])) == pytest.approx(1.0)
    assert tuple(-x) == pytest.approx((0, 0, 1))
    assert tuple(y) == pytest.approx((-1, 0, 0))
    assert tuple(z) == pytest.approx((0, 1, 0))


def test_the_same_conversion_gives_the_same_bytes(tern, tern_scene):
    assert glb(tern_scene, title="Tern") == glb(scene(tern), title="Tern")


def test_the_container_is_what_the_standard_says(tern_scene):
    data = glb(tern_scene, title="Tern")
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    text_length, kind = struct.unpack_from("<I4s", data, 12)
    assert (kind, text_length % 4) == (b"JSON", 0)
    document = json.loads(data[20 : 20 + text_length])
    names = [node["name"] for node in document["nodes"]]
    assert len(set(names)) == len(names)
    for view in document["bufferViews"]:
        assert view["byteOffset"] % 4 == 0
    assert {node["extras"]["kind"] for node in document["nodes"]} >= {
        "space",
        "box",
        "module",
        "device",
        "HV cable",
        "loom",
        "hose",
        "wheel",
    }


def test_a_mark_that_two_tables_share_names_two_nodes(tern):
    box = tern.boxes[0]
    modules = (box.modules[0].model_copy(update={"ref": "SP1"}), *box.modules[1:])
    names = [solid.name for solid in scene(tern.model_copy(update={"boxes": (box.model_copy(update={"modules": modules}),)}))]
    assert {"SP1", "SP1 (module)"} <= set(names)
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("case", [without_boxes, without_height, points_on_each_other, nothing_but_a_car])
def test_odd_conversions_can_be_read_back_too(tern, case):
    solids = scene(case(tern))
    meshes = read(glb(solids, title="odd"))
    assert set(meshes) == {solid.name for solid in solids}
    assert all(mesh.is_watertight for mesh in meshes.values())


def test_no_solid_at_all_is_a_scene_all_the_same():
    data = glb((), title="nothing")
    assert json.loads(data[20:].decode())["scenes"] == [{"name": "nothing"}]


@pytest.mark.parametrize("outline", [
    [(0, 0), (4, 0), (4, 4), (0, 4)],
    [(0, 0), (0, 4), (4, 4), (4, 0)],
    [(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)],
    [(0, 0), (2, 0), (4, 0), (4, 3), (2, 1), (0, 3)],
])  # fmt: skip
def test_a_prism_is_closed_whichever_way_its_plan_runs(outline):
    surface = triangles_of(Prism(tuple((float(x), float(y)) for x, y in outline), 1.0, 3.0))
    mesh = trimesh.Trimesh(surface.corners, surface.faces, process=False)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(2 * abs(area_of(outline)))


def test_ears_cover_the_outline_once():
    outline = [(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (2.0, 2.0), (2.0, 6.0), (0.0, 6.0)]
    assert sum(area_of([outline[i] for i in face]) for face in ears(outline)) == pytest.approx(area_of(outline))


def test_a_tube_that_turns_straight_back_is_still_closed():
    surface = triangles_of(Tube(((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 0.0, 50.0)), 10.0))
    assert trimesh.Trimesh(surface.corners, surface.faces, process=False).is_watertight


def test_a_block_has_twelve_triangles():
    surface = triangles_of(Block(0, 0, 0, 1, 2, 3))
    assert (len(surface.corners), len(surface.faces)) == (8, 12)
