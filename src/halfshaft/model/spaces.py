"""Where things may go, and what must stay clear."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from halfshaft.model.base import Millimetres, Name, Record, Ref, RefersTo, Text, maybe, of

Corner = tuple[Millimetres, Millimetres]
Polygon = Annotated[tuple[Corner, ...], Field(min_length=3)]


class Space(Record):
    """A room for boxes: an upright prism on a polygon, between a floor and a lid."""

    ref: Ref = of("short mark")
    name: Name = of("the name a mechanic would use")
    loaded_from: Literal["above", "below", "front", "rear", "left", "right"] = of("the side from which a box goes in")
    floor_z_mm: Millimetres = of("lowest usable height")
    top_z_mm: Millimetres = of("highest usable height: lid less what it needs to close")
    polygon_mm: Polygon = of("corners of the plan as x, y pairs, in order round it")
    for_batteries: bool = maybe("whether battery boxes may stand here", True)
    plugs_look: Literal["", "front", "rear", "left", "right", "above"] = maybe("wall of a box here in which its plugs are", "")
    note: Text = maybe("anything worth knowing", "")


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
