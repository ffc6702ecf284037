"""Closed surfaces from a scan or a drawing."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from halfshaft.model.base import OwnFile, Record, Ref, Text, maybe, of

Spot = tuple[float, float, float]
Triangle = tuple[int, int, int]
MM_PER_UNIT = {"mm": 1.0, "m": 1000.0}


class Mesh(Record):
    """A closed surface of triangles in car coordinates; the surface itself is `meshes/REF.stl`, `.obj`, `.ply` or `.glb`."""

    # One surface is one value: corners stand in the mesh's own unit, sorted, no two the same; a triangle is three running
    # numbers of corners from 0, the least first, anticlockwise seen from outside; triangles are sorted.

    ref: Ref = of("short mark; also the name of its file in `meshes`")
    unit: Literal["mm", "m"] = of("the unit of the file's numbers")
    repaired: Text = maybe("what was put right when it was read; written by the program", "")
    note: Text = maybe("who measured it, how and when", "")
    corners: Annotated[tuple[Spot, ...], OwnFile(), Field(min_length=4)] = of("places of its corners")
    triangles: Annotated[tuple[Triangle, ...], OwnFile(), Field(min_length=4)] = of("which three corners make each triangle")

    def model_post_init(self, _context: object, /) -> None:
        """Refuse a triangle with a corner that is not there."""
        count = len(self.corners)
        if any(not 0 <= corner < count for triangle in self.triangles for corner in triangle):
            raise ValueError("a triangle names a corner that is not there")

    @property
    def mm_per_unit(self) -> float:
        """Millimetres in one of its units."""
        return MM_PER_UNIT[self.unit]
