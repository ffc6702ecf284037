"""Triangles out of STL, OBJ, PLY and GLB files, counted before they are read so that no file fills the memory."""

from __future__ import annotations

import json
import struct
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from typing import Any

from halfshaft.files.cells import write_number

ENDINGS = ("stl", "obj", "ply", "glb")
MAX_TRIANGLES = 500_000
MAX_MESH_BYTES = 150_000_000
_BLOCK = 1 << 20
_STL_HEAD, _STL_TRIANGLE = 84, 50
_TOO_MANY = (
    f"no mesh of a space needs more than {MAX_TRIANGLES:,}: let the scanning program reduce it (often called decimate or simplify) "
    "to some 20,000 and save it again"
)
Soup = tuple[Any, Any]  # corners as float64 of shape (n, 3) and triangles as int64 of shape (m, 3)


class MeshError(ValueError):
    """The sentence that says why a mesh cannot be read."""


def read_soup(path: Path) -> Soup:
    """Corners and triangles as they stand in a file; z is up, as in the car.

    Raises MeshError with a sentence, OSError where the disk refuses.
    """
    ending = path.suffix[1:].lower()
    size = path.stat().st_size
    count = _COUNTS[ending](path, size)
    if count > MAX_TRIANGLES:
        raise MeshError(f"holds {count:,} triangles; {_TOO_MANY}")
    if size > MAX_MESH_BYTES:
        raise MeshError(f"is {size / 1e6:.0f} MB, over {MAX_MESH_BYTES / 1e6:.0f} MB; {_TOO_MANY}")
    if count == 0:
        raise MeshError("holds no triangles; save it as a surface of triangles, not as points or lines")
    soup = obj_soup(_obj_text(path).splitlines()) if ending == "obj" else _loaded(path, ending)
    return _upright(soup) if ending == "glb" else soup


# --- how many ---------------------------------------------------------------------------------------------------------------


def _stl_count(path: Path, size: int) -> int:
    """A binary STL says its count in the header; one in text is counted by its facets."""
    with path.open("rb") as file:
        head = file.read(_STL_HEAD)
    count = struct.unpack("<I", head[80:])[0] if len(head) == _STL_HEAD else -1
    if size != _STL_HEAD + _STL_TRIANGLE * count and head.lstrip()[:5].lower() == b"solid":
        return _counted(path, size, b"endfacet")
    if count < 0:
        raise MeshError("is no STL: it ends before its header does")
    if count <= MAX_TRIANGLES and size != _STL_HEAD + _STL_TRIANGLE * count:
        raise MeshError(
            f"is damaged: its header says {count} triangles, for which it has {size} bytes where {_STL_HEAD + _STL_TRIANGLE * count} belong"
        )
    return int(count)


def _obj_count(path: Path, size: int) -> int:
    return _counted(path, size, b"\nf ") if size else 0


def _ply_count(path: Path, size: int) -> int:
    with path.open("rb") as file:
        head = file.read(1 << 16).split(b"end_header")[0].decode("ascii", "replace")
    if not head.startswith("ply"):
        raise MeshError("is no PLY: it does not begin with `ply`")
    words = next((line.split() for line in head.splitlines() if line.startswith("element face")), [])
    return int(words[2]) if len(words) == 3 and words[2].isdigit() else 0


def _glb_count(path: Path, size: int) -> int:
    """Triangles of all nodes, each as often as it is used (glTF 2.0, 5.24: three indices a triangle, mode 4)."""
    with path.open("rb") as file:
        head = file.read(20)
        if len(head) < 20 or head[:4] != b"glTF":
            raise MeshError("is no GLB: it does not begin with `glTF`")
        length = struct.unpack("<I", head[12:16])[0]
        if length > min(size, 16_000_000):
            raise MeshError("is damaged, or describes far more than a surface")
        text = file.read(length)
    try:
        scene = json.loads(text)
        meshes = [sum(_glb_triangles(scene, piece) for piece in mesh["primitives"]) for mesh in scene.get("meshes", [])]
        return int(sum(meshes[node["mesh"]] for node in scene.get("nodes", []) if "mesh" in node))
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
        raise MeshError("is damaged: what it says about its own content cannot be read") from None


def _glb_triangles(scene: Any, piece: Any) -> int:
    if piece.get("mode", 4) != 4:
        return 0
    numbers = piece["indices"] if "indices" in piece else piece["attributes"]["POSITION"]
    return int(scene["accessors"][numbers]["count"]) // 3


def _counted(path: Path, size: int, word: bytes) -> int:
    """How often a word stands in a file, read block by block; not counted on once there are too many."""
    if size > MAX_MESH_BYTES:
        return 1  # its size alone says enough
    count, tail = 0, b"\n"
    with path.open("rb") as file:
        while count <= MAX_TRIANGLES and (block := file.read(_BLOCK)):
            text = tail + block
            count += text.count(word)
            tail = text[len(text) - len(word) + 1 :]
    return count


_COUNTS = {"stl": _stl_count, "obj": _obj_count, "ply": _ply_count, "glb": _glb_count}


# --- what ----------------------------------------------------------------------------------------------------------------------


def obj_soup(lines: Iterable[str]) -> Soup:
    """The `v` and `f` lines of an OBJ; a face of more corners is cut into triangles from its first. Everything else is passed over.

    Raises MeshError with a sentence that names the line.
    """
    import numpy as np

    corners: list[tuple[float, ...]] = []
    triangles: list[tuple[int, int, int]] = []
    for number, line in enumerate(lines, start=1):
        kind, _, rest = line.partition(" ")
        try:
            if kind == "v":
                x, y, z = (float(word) for word in rest.split()[:3])
                corners.append((x, y, z))
            elif kind == "f":
                face = [int(word.split("/")[0]) for word in rest.split()]
                face = [index - 1 if index > 0 else len(corners) + index for index in face]
                triangles += [(face[0], there, then) for there, then in pairwise(face[1:])]
        except ValueError:
            raise MeshError(f"line {number} is no line of an OBJ: {line[:40]!r}") from None
        if len(triangles) > MAX_TRIANGLES:
            raise MeshError(f"holds more than {MAX_TRIANGLES:,} triangles; {_TOO_MANY}")
    if not triangles or not all(0 <= corner < len(corners) for triangle in triangles for corner in triangle):
        raise MeshError("names corners that are not in it" if triangles else "holds no triangles")
    return np.array(corners, dtype=np.float64), np.array(triangles, dtype=np.int64)


def obj_lines(corners: Iterable[tuple[float, float, float]], triangles: Iterable[tuple[int, int, int]]) -> list[str]:
    """The one way in which an OBJ is written here."""
    lines = [f"v {write_number(x)} {write_number(y)} {write_number(z)}" for x, y, z in corners]
    return lines + [f"f {a + 1} {b + 1} {c + 1}" for a, b, c in triangles]


def _obj_text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", "replace")


def _loaded(path: Path, ending: str) -> Soup:
    import warnings

    import numpy as np
    import trimesh

    try:
        with path.open("rb") as file, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about colours and materials, which are not looked at
            scene = trimesh.load_scene(file, file_type=ending, process=False)
            mesh = scene.to_mesh()
        return np.asarray(mesh.vertices, dtype=np.float64), np.asarray(mesh.faces, dtype=np.int64)
    except (KeyboardInterrupt, MemoryError, OSError):
        raise
    except Exception as error:  # the reader's errors have no class in common
        words = " ".join(str(error).split())[:80]
        raise MeshError(
            f"cannot be read as {ending.upper()}{f': {words}' if words else ''}; save it again, or as another of {', '.join(ENDINGS)}"
        ) from None


def _upright(soup: Soup) -> Soup:
    """From the axes of glTF (2.0, 3.4: y up, the front along +z, the right side along -x) to the car's, as our own scene is written."""
    import numpy as np

    corners, triangles = soup
    return np.column_stack([-corners[:, 2], -corners[:, 0], corners[:, 1]]), triangles
