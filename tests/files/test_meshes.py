"""Meshes of all four formats, there and back; and what is wrong with a mesh, in words that say what to do."""

from __future__ import annotations

import json
import struct
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from halfshaft.errors import Fault, InputError, OutputError
from halfshaft.files import mesh_cells
from halfshaft.files.folder import folder_files, read_folder, write_folder
from halfshaft.files.workbook import read_workbook, write_workbook
from halfshaft.model.conversion import Conversion
from meshes import BLOCK, block_mesh, block_soup, joined, mesh_of, stl_bytes
from support import changed

Soup = tuple[Any, Any]


def folder_with(pedal: Conversion, folder: Path, name: str, data: bytes, *, unit: str = "mm", ref: str = "ME1") -> Path:
    """The folder of a small conversion with one file among its meshes and one row about it."""
    write_folder(pedal, folder)
    (folder / "meshes").mkdir()
    (folder / "meshes" / name).write_bytes(data)
    (folder / "meshes.csv").write_text(f"ref,unit\n{ref},{unit}\n", encoding="utf-8")
    return folder


def fault_of(folder: Path) -> Fault:
    with pytest.raises(InputError) as caught:
        read_folder(folder)
    assert len(caught.value.faults) == 1, caught.value
    return caught.value.faults[0]


def ascii_stl(soup: Soup) -> bytes:
    lines = ["solid made by a test"]
    for triangle in soup[1]:
        lines += [
            "facet normal 0 0 0",
            "outer loop",
            *(f"vertex {' '.join(map(repr, map(float, soup[0][c])))}" for c in triangle),
            "endloop",
            "endfacet",
        ]
    return "\n".join([*lines, "endsolid", ""]).encode()


def obj(soup: Soup) -> bytes:
    rows = [f"v {' '.join(map(repr, map(float, corner)))}" for corner in soup[0]]
    return "\n".join(["# a comment", "o room", *rows, *(f"f {a + 1}//1 {b + 1}//1 {c + 1}//1" for a, b, c in soup[1]), ""]).encode()


def ply(soup: Soup) -> bytes:
    return bytes(trimesh.Trimesh(*soup, process=False).export(file_type="ply"))


def glb(soup: Soup) -> bytes:
    """As glTF has it: y up, the front along +z, the right side along -x, so that (x, y, z) of the car is written (-y, z, -x)."""
    corners = np.column_stack([-soup[0][:, 1], soup[0][:, 2], -soup[0][:, 0]])
    return bytes(trimesh.Trimesh(corners, soup[1], process=False).export(file_type="glb"))


FORMATS = {"ME1.stl": stl_bytes, "me.stl": ascii_stl, "ME1.obj": obj, "ME1.ply": ply, "ME1.glb": glb, "ME1.STL": stl_bytes}


@pytest.mark.parametrize("name", FORMATS)
def test_each_format_holds_the_same_value_and_it_is_written_in_one_way(pedal: Conversion, tmp_path: Path, name: str) -> None:
    soup = block_soup((-100, 200, 300), (400, 512, 500.5))
    ref = name.partition(".")[0]
    read = read_folder(folder_with(pedal, tmp_path / "car", name, FORMATS[name](soup), ref=ref))
    assert read.meshes == (mesh_of(soup, ref),)
    files = folder_files(read)
    write_folder(read, tmp_path / "again")
    again = read_folder(tmp_path / "again")
    assert again == read
    assert folder_files(again) == files
    assert files[f"meshes/{ref}.obj"].startswith(b"v -100 200 300\nv -100 200 500.5\n")


def test_the_order_of_corners_and_triangles_in_a_file_does_not_matter(pedal: Conversion) -> None:
    corners, triangles = block_soup()
    chance = np.random.default_rng(3)
    order = chance.permutation(8)
    place = np.argsort(order)
    mixed = corners[order], chance.permutation(np.roll(place[triangles], 1, axis=1))
    assert mesh_of(mixed) == mesh_of((corners, triangles))


@pytest.mark.parametrize("meshes", [(block_mesh("ME1"),), (block_mesh("ME1"), block_mesh("ME2", (0, 0, 0), (1 / 3 * 1000, 200, 200)))])
def test_a_workbook_carries_meshes(pedal: Conversion, tmp_path: Path, meshes: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_cells, "_CELL_CHARACTERS", 100)  # so that a small mesh takes several cells, too
    conversion = changed(pedal, meshes=meshes)
    (tmp_path / "car.xlsx").write_bytes(write_workbook(conversion))
    again = read_workbook(tmp_path / "car.xlsx")
    assert again == conversion
    assert write_workbook(again) == write_workbook(conversion)


def test_a_workbook_that_cannot_carry_a_mesh_says_so(pedal: Conversion, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_cells, "MAX_CHARACTERS", 100)
    with pytest.raises(OutputError, match="mesh ME1 has 12 triangles, more than a workbook can carry: hand the folder on instead"):
        write_workbook(changed(pedal, meshes=(block_mesh("ME1"),)))


# --- repaired ------------------------------------------------------------------------------------------------------------------


def test_a_mesh_inside_out_is_turned_and_says_so_for_good(pedal: Conversion, tmp_path: Path) -> None:
    corners, triangles = block_soup()
    read = read_folder(folder_with(pedal, tmp_path / "car", "ME1.obj", obj((corners, triangles[:, ::-1]))))
    (mesh,) = read.meshes
    assert mesh.triangles == block_mesh().triangles
    assert mesh.repaired == "was inside out and has been turned"
    write_folder(read, tmp_path / "again")
    assert read_folder(tmp_path / "again") == read


def test_cracks_and_triangles_without_area_are_closed_and_dropped() -> None:
    corners, triangles = block_soup()
    apart = np.concatenate([corners, corners[:1] + 0.004])
    cracked = triangles.copy()
    cracked[0][cracked[0] == 0] = 8
    bad = np.concatenate([cracked, [[0, 8, 1], [2, 2, 3]]])
    mesh = mesh_of((apart, bad))
    assert (mesh.corners, mesh.triangles) == (block_mesh().corners, block_mesh().triangles)
    assert mesh.repaired == "1 corner less than 0.01 mm from another merged into it; 2 triangles without area dropped"


# --- refused -------------------------------------------------------------------------------------------------------------------


def open_block() -> Soup:
    corners, triangles = block_soup()
    return corners, np.array([t for t in triangles if not (corners[t][:, 2] == 200).all()])


def askew_block() -> Soup:
    corners, triangles = block_soup()
    triangles[0] = triangles[0][::-1]
    return corners, triangles


def blocks_on_one_edge() -> Soup:
    return joined(block_soup((0, 0, 0), (100, 100, 100)), block_soup((100, 100, 0), (200, 200, 100)))


REFUSED = {
    "open": (open_block(), "mm", "is open: 4 edges have a triangle on one side only, towards its top (x 0 to 400, y 0 to 300, z 200 mm). Close the hole"),
    "turned in part": (askew_block(), "mm", "looks outwards in one part and inwards in another: they meet at 3 edges, towards its front"),
    "two on one edge": (blocks_on_one_edge(), "mm", "touches itself: 1 edge has more than two triangles, about its middle (x 100, y 100, z 0 to 100 mm)"),
    "two bodies": (
        joined(block_soup(), block_soup((500, 0, 0), (600, 100, 100))), "mm",
        "holds 2 bodies (400 x 300 x 200 mm; 100 x 100 x 100 mm); a space is one: keep the skin of the room alone",
    ),
    "in inches": (
        (block_soup()[0] / 25.4, block_soup()[1]), "mm",
        "its longest side would be 15.75 mm; a space of a car is 50 mm to 6 m long: is its unit wrong? If it is in inches, scale it by 25.4",
    ),
    "metres called mm": ((block_soup()[0] / 1000, block_soup()[1]), "mm", "would be 0.4 mm; a space of a car is 50 mm to 6 m long: is its unit wrong? If it is in m, write m"),
    "mm called metres": (block_soup(), "m", "would be 400 m; a space of a car is 50 mm to 6 m long: is its unit wrong? If it is in mm, write mm"),
    "flat": ((block_soup()[0] * [1, 1, 0], block_soup()[1]), "mm", "encloses no room"),
    "far away": (block_soup((0, 0, 200_000), (400, 300, 200_200)), "mm", "lies more than 100 m away from the car's origin"),
    "no places": ((block_soup()[0] * np.nan, block_soup()[1]), "mm", "holds corners that are no places"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_room_is_refused_with_the_reason(pedal: Conversion, tmp_path: Path, name: str) -> None:
    soup, unit, says = REFUSED[name]
    fault = fault_of(folder_with(pedal, tmp_path / "car", "ME1.stl", stl_bytes(soup), unit=unit))
    assert fault.file == "meshes/ME1.stl"
    assert says in fault.message


def sparse(path: Path, head: bytes, size: int) -> None:
    with path.open("wb") as file:
        file.write(head)
        file.truncate(size)


FIVE_MILLION = 5_000_000
GLTF = json.dumps({
    "accessors": [{"count": 3 * FIVE_MILLION}], "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}], "nodes": [{"mesh": 0}],
}).encode()  # fmt: skip
HUGE = {
    "ME1.stl": (b" " * 80 + struct.pack("<I", FIVE_MILLION), 84 + 50 * FIVE_MILLION, "holds 5,000,000 triangles; no mesh of a space needs more than 500,000"),
    "ME1.ply": (f"ply\nformat ascii 1.0\nelement face {FIVE_MILLION}\nend_header\n".encode(), 10**6, "holds 5,000,000 triangles"),
    "ME1.obj": (b"v 0 0 0\n", 170_000_000, "is 170 MB, over 150 MB; no mesh of a space needs more than 500,000"),
    "ME1.glb": (b"glTF" + struct.pack("<IIII", 2, 10**8, len(GLTF), 0x4E4F534A) + GLTF, 10**8, "holds 5,000,000 triangles"),
}  # fmt: skip


@pytest.mark.parametrize("name", HUGE)
def test_five_million_triangles_are_refused_before_they_are_read(pedal: Conversion, tmp_path: Path, name: str) -> None:
    head, size, says = HUGE[name]
    folder = folder_with(pedal, tmp_path / "car", name, b"")
    sparse(folder / "meshes" / name, head, size)
    start = time.process_time()
    fault = fault_of(folder)
    assert time.process_time() - start < 1.0
    assert fault.file == f"meshes/{name}"
    assert says in fault.message
    assert "reduce it" in fault.message


def test_text_is_counted_without_being_kept(pedal: Conversion, tmp_path: Path) -> None:
    data = b"v 0 0 0\n" + b"f 1 1 1\n" * 500_001
    fault = fault_of(folder_with(pedal, tmp_path / "car", "ME1.obj", data))
    assert "holds 500,001 triangles" in fault.message


DAMAGED = {
    "ME1.stl": (stl_bytes(block_soup())[:-30], "is damaged: its header says 12 triangles, for which it has 654 bytes where 684 belong"),
    "ME1.obj": (b"v 0 0 0\nv 1 0 zero\nf 1 2 3\n", "line 2 is no line of an OBJ"),
    "ME1.ply": (b"plywood", "holds no triangles"),
    "ME1.glb": (b"glTF\2\0\0\0", "is no GLB"),
}


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_file_is_refused(pedal: Conversion, tmp_path: Path, name: str) -> None:
    data, says = DAMAGED[name]
    assert says in fault_of(folder_with(pedal, tmp_path / "car", name, data)).message


@pytest.mark.parametrize(
    "data", [b"", b"f 1 2 9\nf 1 2 3\n", b"solid x\n", b"ply\nelement face 12\nend_header\nx", b"glTF" + b"\0" * 40, b"\xff" * 90]
)
@pytest.mark.parametrize("ending", ["stl", "obj", "ply", "glb"])
def test_any_bytes_are_refused_as_one_fault_of_that_file(pedal: Conversion, tmp_path: Path, data: bytes, ending: str) -> None:
    assert fault_of(folder_with(pedal, tmp_path / "car", f"ME1.{ending}", data)).file == f"meshes/ME1.{ending}"


# --- the table and its files ------------------------------------------------------------------------------------------------------


def test_a_row_without_a_file_says_which_names_would_do(pedal: Conversion, tmp_path: Path) -> None:
    folder = folder_with(pedal, tmp_path / "car", "ME1.step", b"x")
    fault = fault_of(folder)
    assert (fault.file, fault.row, fault.column) == ("meshes.csv", 2, "ref")
    assert fault.message == "there is no ME1.stl, .obj, .ply or .glb in meshes; ME1.step is there, but is none of these"


def test_a_file_without_a_row_has_no_unit(pedal: Conversion, tmp_path: Path) -> None:
    folder = folder_with(pedal, tmp_path / "car", "ME1.stl", stl_bytes(block_soup()))
    (folder / "meshes" / "ME2.stl").write_bytes(b"")
    assert (
        str(fault_of(folder))
        == "meshes/ME2.stl: no row of meshes.csv speaks of it: add one with ref ME2 and its unit, or take the file away"
    )


def test_two_files_of_one_mesh_are_one_too_many(pedal: Conversion, tmp_path: Path) -> None:
    folder = folder_with(pedal, tmp_path / "car", "ME1.stl", stl_bytes(block_soup()))
    (folder / "meshes" / "ME1.obj").write_bytes(obj(block_soup()))
    assert str(fault_of(folder)) == "meshes/ME1.obj: stands beside ME1.stl: a mesh has one file, so take the others away"


def test_a_unit_must_be_stated_and_be_one_of_two(pedal: Conversion, tmp_path: Path) -> None:
    folder = folder_with(pedal, tmp_path / "car", "ME1.stl", stl_bytes(block_soup()), unit="inch")
    fault = fault_of(folder)
    assert (fault.file, fault.row, fault.column) == ("meshes.csv", 2, "unit")
    (folder / "meshes.csv").write_text("ref\nME1\n", encoding="utf-8")
    fault = fault_of(folder)
    assert (fault.column, fault.message) == ("unit", "this column is missing and must be there")


def test_a_link_that_leads_out_is_not_followed(pedal: Conversion, tmp_path: Path) -> None:
    (tmp_path / "elsewhere.stl").write_bytes(stl_bytes(block_soup()))
    folder = folder_with(pedal, tmp_path / "car", "ME1.stl", b"")
    (folder / "meshes" / "ME1.stl").unlink()
    (folder / "meshes" / "ME1.stl").symlink_to(tmp_path / "elsewhere.stl")
    assert "leads out of the folder" in fault_of(folder).message


def test_a_space_that_names_a_mesh_of_nobody(pedal: Conversion, tmp_path: Path) -> None:
    space = pedal.spaces[0].model_copy(update={"polygon_mm": None, "mesh": "ME2"})
    folder = folder_with(changed(pedal, spaces=(space,)), tmp_path / "car", "ME1.stl", stl_bytes(block_soup()))
    fault = fault_of(folder)
    assert (fault.file, fault.column) == ("spaces.toml", "mesh")
    assert "did you mean 'ME1'" in fault.message


def test_a_mesh_that_cannot_be_read_is_the_only_fault(pedal: Conversion, tmp_path: Path) -> None:
    """Who refers to it is not at fault."""
    space = pedal.spaces[0].model_copy(update={"polygon_mm": None, "mesh": "ME1"})
    folder = folder_with(changed(pedal, spaces=(space,)), tmp_path / "car", "ME1.stl", stl_bytes(open_block()))
    assert fault_of(folder).file == "meshes/ME1.stl"


def test_the_block_of_these_tests_is_one() -> None:
    solid = trimesh.Trimesh(*block_soup(), process=False)
    assert solid.is_volume
    assert solid.volume == pytest.approx(400 * 300 * 200)
    assert len(BLOCK) == 12
