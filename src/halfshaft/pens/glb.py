"""Solids to GLB, the binary form of glTF 2.0 (Khronos; ISO/IEC 12113): metres, y up, the car's front looking along +Z.

A place (x, y, z) of the car's frame (mm; x rearwards, y to the right, z up) becomes (-y, z, -x) / 1000. That turns and
does not mirror: the determinant is +1, so left stays left. glTF asks that an asset's front looks along +Z and its
right along -X. Normals are left out: glTF says that a viewer then shades each triangle flat.
"""

from __future__ import annotations

import itertools
import json
import struct
from collections.abc import Iterable
from typing import Any

from halfshaft.drawings.scene import Kind, Solid, Spot, Triangles
from halfshaft.drawings.triangles import triangles_of

MM_PER_METRE = 1000.0
_FLOAT, _UNSIGNED_SHORT, _UNSIGNED_INT = 5126, 5123, 5125
_CORNERS, _FACES = 34962, 34963

# Colour by kind: red, green, blue and how solid; linear, as glTF wants them (in comments the tone on the screen).
COLOURS: dict[Kind, tuple[float, float, float, float]] = {
    "space": (0.30, 0.32, 0.35, 0.12),
    "keep-out": (0.09, 0.10, 0.12, 0.25),
    "luggage room": (0.05, 0.26, 0.31, 0.10),
    "box": (0.92, 0.19, 0.02, 0.30),  # HV orange F67828
    "module": (0.86, 0.85, 0.82, 1.0),
    "coolant plate": (0.25, 0.38, 0.47, 1.0),
    "device": (0.56, 0.58, 0.60, 1.0),
    "HV cable": (0.92, 0.19, 0.02, 1.0),
    "loom": (0.01, 0.015, 0.02, 1.0),  # ink 1C2126
    "hose": (0.16, 0.25, 0.32, 1.0),
    "wheel": (0.05, 0.05, 0.06, 0.45),
    "centre before": (0.95, 0.95, 0.95, 1.0),
    "centre now": (0.01, 0.015, 0.02, 1.0),
}


def glb(solids: Iterable[Solid], *, title: str) -> bytes:
    """The scene as one file; each solid is a node of its own name. The same solids give the same bytes."""
    solids = tuple(solids)
    data = bytearray()
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []
    kinds = [kind for kind in COLOURS if any(solid.kind == kind for solid in solids)]
    meshes = []
    for solid in solids:
        first = len(accessors)
        _write(data, views, accessors, triangles_of(solid.shape))
        primitive = {"attributes": {"POSITION": first}, "indices": first + 1, "material": kinds.index(solid.kind)}
        meshes.append({"name": solid.name, "primitives": [primitive]})
    nodes = [{"name": s.name, "mesh": index, "extras": {"kind": s.kind, "about": s.about}} for index, s in enumerate(solids)]
    document: dict[str, Any] = {
        "asset": {"version": "2.0", "generator": "Halfshaft"},
        "scene": 0,
        "scenes": [{"name": title} | ({"nodes": list(range(len(nodes)))} if nodes else {})],
    }
    if solids:
        document |= {
            "nodes": nodes,
            "meshes": meshes,
            "materials": [_material(kind) for kind in kinds],
            "accessors": accessors,
            "bufferViews": views,
            "buffers": [{"byteLength": len(data)}],
        }
    return _container(document, bytes(data))


def in_gltf(spot: Spot) -> Spot:
    """A place of the car's frame in glTF's."""
    x, y, z = spot
    return -y / MM_PER_METRE, z / MM_PER_METRE, -x / MM_PER_METRE


def _material(kind: Kind) -> dict[str, Any]:
    red, green, blue, solid = COLOURS[kind]
    look: dict[str, Any] = {
        "name": kind,
        "pbrMetallicRoughness": {"baseColorFactor": [red, green, blue, solid], "metallicFactor": 0.0, "roughnessFactor": 0.8},
    }
    return look | ({"alphaMode": "BLEND", "doubleSided": True} if solid < 1.0 else {})


def _write(data: bytearray, views: list[dict[str, Any]], accessors: list[dict[str, Any]], mesh: Triangles) -> None:
    """Corners and faces behind what is there, each on a boundary of four bytes."""
    # The least and greatest values must be those of the numbers as written, in single precision.
    flat = struct.unpack(
        f"<{3 * len(mesh.corners)}f", packed := struct.pack(f"<{3 * len(mesh.corners)}f", *itertools.chain(*map(in_gltf, mesh.corners)))
    )
    _view(data, views, packed, _CORNERS)
    accessors.append(
        {
            "bufferView": len(views) - 1,
            "componentType": _FLOAT,
            "count": len(mesh.corners),
            "type": "VEC3",
            "min": [min(flat[axis::3]) for axis in range(3)],
            "max": [max(flat[axis::3]) for axis in range(3)],
        }
    )
    small = len(mesh.corners) < 65_535
    indices = list(itertools.chain(*mesh.faces))
    _view(data, views, struct.pack(f"<{len(indices)}{'H' if small else 'I'}", *indices), _FACES)
    kind = _UNSIGNED_SHORT if small else _UNSIGNED_INT
    accessors.append({"bufferView": len(views) - 1, "componentType": kind, "count": len(indices), "type": "SCALAR"})


def _view(data: bytearray, views: list[dict[str, Any]], piece: bytes, target: int) -> None:
    views.append({"buffer": 0, "byteOffset": len(data), "byteLength": len(piece), "target": target})
    data += piece + b"\0" * (-len(piece) % 4)


def _container(document: dict[str, Any], data: bytes) -> bytes:
    """The header, the JSON filled up with spaces, and the numbers filled up with noughts."""
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<I4s", len(text), b"JSON") + text
    if data:
        chunks += struct.pack("<I4s", len(data), b"BIN\0") + data
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks
