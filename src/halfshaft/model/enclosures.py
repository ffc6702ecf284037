"""Boxes that hold unequal devices: controllers, fuses and relays behind a window, sockets in a wall."""

from __future__ import annotations

from typing import Annotated

from halfshaft.model.base import Allowance, Length, Millimetres, Record, Ref, RefersTo, Text, maybe, of
from halfshaft.model.boxes import Look


class Enclosure(Record):
    """The inside of a device that holds others. Across is to the right of the car, deep is to the rear, up is up."""

    ref: Annotated[Ref, RefersTo("devices")] = of("the device that is this enclosure")
    across_mm: Length = of("inner size across")
    deep_mm: Length = of("inner size from front to rear")
    high_mm: Length = of("inner height")
    x_mm: Millimetres = of("its front inner face in the car")
    y_mm: Millimetres = of("its left inner face in the car")
    z_mm: Millimetres = of("its lower inner face in the car")
    gap_mm: Allowance = maybe("least room between two devices in it", 0.0)
    note: Text = maybe("anything worth knowing", "")


class EnclosureItem(Record):
    """A device in an enclosure: its block as it stands, and what must stay clear for hands, eyes and plugs."""

    ref: Annotated[Ref, RefersTo("devices")] = of("the device")
    enclosure: Annotated[Ref, RefersTo("enclosures")] = of("the enclosure that it is in")
    across_mm: Millimetres | None = maybe("its left face, from the enclosure's left inner face; blank: not placed yet")
    deep_mm: Millimetres | None = maybe("its front face, from the enclosure's front inner face; blank: not placed yet")
    up_mm: Millimetres | None = maybe("its lower face, from the enclosure's lower inner face; blank: not placed yet")
    size_across_mm: Length = of("its size across, as it stands")
    size_deep_mm: Length = of("its size from front to rear, as it stands")
    size_up_mm: Length = of("its height, as it stands")
    faces: Look | None = maybe("the wall that it faces: nothing may stand between it and that wall; blank: none")
    wall_within_mm: Allowance | None = maybe(
        "furthest that it stands from the wall that it faces, as for a plug through it; blank: anywhere"
    )
    plugs_look: Look | None = maybe("where plugs inside the enclosure leave it")
    plug_room_mm: Allowance = maybe("room kept clear before those plugs", 0.0)
    may_roll: bool = maybe(
        "whether it may be turned a quarter about the direction that it faces, or about the upright where it faces none", False
    )
    others_above: bool = maybe("whether another device may be above it", True)
    note: Text = maybe("anything worth knowing", "")
