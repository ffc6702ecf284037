"""Where things may go, and what must stay clear."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from halfshaft.model.base import Millimetres, Name, Record, Ref, RefersTo, Text, maybe, of
from halfshaft.model.outlines import fault_of

Corner = tuple[Millimetres, Millimetres]
Polygon = Annotated[tuple[Corner, ...], Field(min_length=3, max_length=500)]


class Space(Record):
    """A room for boxes, between a floor and a lid: an upright prism on a polygon, or what a closed mesh holds."""

    ref: Ref = of("short mark")
    name: Name = of("the name a mechanic would use")
    loaded_from: Literal["above", "below", "front", "rear", "left", "right"] = of("the side from which a box goes in")
    floor_z_mm: Millimetres = of("lowest usable height")
    top_z_mm: Millimetres = of("highest usable height: lid less what it needs to close")
    polygon_mm: Polygon | None = maybe("corners of the plan as x, y pairs, in order round it")
    mesh: Annotated[Ref, RefersTo("meshes")] | None = maybe("in place of a polygon: a closed surface, such as a scan")
    for_batteries: bool = maybe("whether battery boxes may stand here", True)
    plugs_look: Literal["", "front", "rear", "left", "right", "above"] = maybe("wall of a box here in which its plugs are", "")
    note: Text = maybe("anything worth knowing", "")

    @field_validator("top_z_mm")
    @classmethod
    def _above_its_floor(cls, top_z_mm: float, info: ValidationInfo) -> float:
        floor_z_mm = info.data.get("floor_z_mm")
        if floor_z_mm is not None and floor_z_mm >= top_z_mm:
            raise ValueError(f"{top_z_mm:g} is not above the floor at {floor_z_mm:g}")
        return top_z_mm

    @field_validator("polygon_mm")
    @classmethod
    def _bounds_an_area(cls, polygon_mm: Polygon | None) -> Polygon | None:
        if polygon_mm is not None and (fault := fault_of(polygon_mm)):
            raise ValueError(fault)
        return polygon_mm

    def model_post_init(self, _context: object, /) -> None:
        """Refuse a space without a plan, or with two."""
        if (self.polygon_mm is None) == (self.mesh is None):
            both = "both are given: keep one" if self.mesh else "neither is given"
            raise ValueError(f"a space has either a polygon_mm or a mesh, and here {both}")


class KeepOut(Record):
    """A block of a space that must stay clear."""

    ref: Ref = of("short mark")
    name: Name = of("what is there")
    space: Annotated[Ref, RefersTo("spaces")] | None = maybe("the space it lies in")
    x_min_mm: Millimetres = of("front face")
    y_min_mm: Millimetres = of("left face")
    z_min_mm: Millimetres = of("lower face")
    x_max_mm: Millimetres = of("rear face")
    y_max_mm: Millimetres = of("right face")
    z_max_mm: Millimetres = of("upper face")


def keep_outs_of(space: Space, keep_outs: Sequence[KeepOut]) -> tuple[KeepOut, ...]:
    """The keep-outs that a space must respect: its own, and those that name no space."""
    return tuple(keep_out for keep_out in keep_outs if keep_out.space in (None, space.ref))


class LuggageRoom(Record):
    """A block that luggage may fill; what stands in it takes it away."""

    ref: Ref = of("short mark")
    name: Name = of("what it is")
    is_in: Literal["donor", "finished", "both"] = of("the car that has it")
    x_min_mm: Millimetres = of("front face")
    y_min_mm: Millimetres = of("left face")
    z_min_mm: Millimetres = of("lower face")
    x_max_mm: Millimetres = of("rear face")
    y_max_mm: Millimetres = of("right face")
    z_max_mm: Millimetres = of("upper face")
