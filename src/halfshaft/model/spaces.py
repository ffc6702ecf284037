"""Where things may go, and what must stay clear."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from halfshaft.model.base import Millimetres, Name, Record, Ref, RefersTo, Text, maybe, of

Corner = tuple[Millimetres, Millimetres]
Polygon = Annotated[tuple[Corner, ...], Field(min_length=3)]


class Space(Record):
    """A room for boxes: an upright prism on a polygon, between a floor and a lid."""

    ref: Ref = of("short mark")
    name: Name = of("the name a mechanic would use")
    loaded_from: Name = of("the side from which a box goes in")
    floor_z_mm: Millimetres = of("lowest usable height")
    top_z_mm: Millimetres = of("highest usable height: lid less what it needs to close")
    polygon_mm: Polygon = of("corners of the plan as x, y pairs, in order round it")
    luggage_above_z_mm: Millimetres | None = maybe("what stands above this height takes luggage room")
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
