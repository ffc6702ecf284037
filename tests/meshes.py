"""Meshes for tests: blocks and other closed surfaces, and files of them."""

from __future__ import annotations

import struct
from typing import Any

import numpy as np

from halfshaft.files.meshes import surface_of
from halfshaft.model.meshes import Mesh

# Corners of a block by x, then y, then z; triangles anticlockwise seen from outside.
BLOCK = ((0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3))


def block_soup(low: Any = (0, 0, 0), high: Any = (400, 300, 200)) -> tuple[Any, Any]:
    """Corners and triangles of an upright block."""
    corners = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    return np.array(corners, dtype=np.float64), np.array(BLOCK, dtype=np.int64)


def joined(*soups: tuple[Any, Any]) -> tuple[Any, Any]:
    """Several surfaces as one."""
    corners, triangles, count = [], [], 0
    for own_corners, own_triangles in soups:
        corners.append(own_corners)
        triangles.append(own_triangles + count)
        count += len(own_corners)
    return np.concatenate(corners), np.concatenate(triangles)


def mesh_of(soup: tuple[Any, Any], ref: str = "ME1", unit: str = "mm") -> Mesh:
    """The record of a surface, read as a file would be."""
    surface = surface_of(soup, unit)
    return Mesh(ref=ref, unit=unit, corners=surface.corners, triangles=surface.triangles, repaired="; ".join(surface.repaired))


def block_mesh(ref: str = "ME1", low: Any = (0, 0, 0), high: Any = (400, 300, 200)) -> Mesh:
    """An upright block as a mesh."""
    return mesh_of(block_soup(low, high), ref)


def stl_bytes(soup: tuple[Any, Any]) -> bytes:
    """A binary STL."""
    corners, triangles = soup
    rows = np.zeros(len(triangles), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("word", "<u2")])
    rows["corners"] = corners[triangles]
    return b"made by a test".ljust(80) + struct.pack("<I", len(triangles)) + rows.tobytes()
