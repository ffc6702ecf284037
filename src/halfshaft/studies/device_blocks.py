"""The block that a device fills in the car, as far as its size, its place and the words for how it stands tell."""

from __future__ import annotations

import itertools
import re
from typing import Protocol

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.records import Block

FLAT = re.compile(r"\b(flat|lying)\b")
ON_EDGE = re.compile(r"\bupright\b")
ACROSS = re.compile(r"\bacross\b")


class SixFaces(Protocol):
    """A record that says where the six faces of a block are."""

    @property
    def x_min_mm(self) -> float: ...  # noqa: D102
    @property
    def y_min_mm(self) -> float: ...  # noqa: D102
    @property
    def z_min_mm(self) -> float: ...  # noqa: D102
    @property
    def x_max_mm(self) -> float: ...  # noqa: D102
    @property
    def y_max_mm(self) -> float: ...  # noqa: D102
    @property
    def z_max_mm(self) -> float: ...  # noqa: D102


def device_block(conversion: Conversion, device: Device) -> Block:
    """The block round a device's centre.

    Which of its sides lies which way is written down in words only. Of the six ways to turn it, those that contradict
    its words are left out (`flat`, `lying`: least side up; `upright`: least side not up; `across`: longest side from
    left to right); of the others that one is taken which stays best in the car and in the space that it stands in
    and clear of the battery boxes, and of equals the one with its longest side along the car. A device that is a
    battery box fills just that box.
    """
    for box in conversion.boxes:
        if box.ref == device.ref:
            return block_of(box)
    part = conversion.part[device.part]
    sides = sorted((part.length_mm, part.width_mm, part.height_mm), reverse=True)
    ways = [way for way in dict.fromkeys(itertools.permutations(sides)) if _as_said(way, device.attitude)]
    blocks = [_round(device, way) for way in ways or [(sides[0], sides[1], sides[2])]]
    return min(blocks, key=lambda block: round(_misplaced_l(conversion, device, block), 6))


def block_of(thing: SixFaces) -> Block:
    """Its block."""
    return Block(thing.x_min_mm, thing.y_min_mm, thing.z_min_mm, thing.x_max_mm, thing.y_max_mm, thing.z_max_mm)


def _as_said(way: tuple[float, ...], words: str) -> bool:
    least_up = way[2] == min(way)
    if FLAT.search(words) and not least_up:
        return False
    if ON_EDGE.search(words) and least_up and min(way) < max(way):
        return False
    return not ACROSS.search(words) or way[1] == max(way)


def _round(device: Device, sides: tuple[float, ...]) -> Block:
    x, y, z = (side / 2 for side in sides)
    return Block(device.x_mm - x, device.y_mm - y, device.z_mm - z, device.x_mm + x, device.y_mm + y, device.z_mm + z)


def _misplaced_l(conversion: Conversion, device: Device, block: Block) -> float:
    """Litres of a block that stand outside the car or its space, or in a battery box that it is not a part of."""
    car = conversion.car
    half = car.overall_width_mm / 2
    whole = Block(car.front_edge_x_mm, -half, 0.0, car.rear_edge_x_mm, half, car.overall_height_mm)
    wrong = block.volume_l - block.shared_l(whole)
    for box in conversion.boxes:
        if not _inside(device, block_of(box)):
            wrong += block.shared_l(block_of(box))
    for space in conversion.spaces:
        room = block_round(conversion, space)
        if _inside(device, room):
            wrong += block.volume_l - block.shared_l(room)
    return wrong


def block_round(conversion: Conversion, space: Space) -> Block:
    """The block round a space."""
    if space.polygon_mm is not None:
        xs, ys = zip(*space.polygon_mm, strict=True)
        return Block(min(xs), min(ys), space.floor_z_mm, max(xs), max(ys), space.top_z_mm)
    lows, highs = zip(*((min(axis), max(axis)) for axis in zip(*mesh_corners(conversion, space), strict=True)), strict=True)
    return Block(*lows, *highs)


def mesh_corners(conversion: Conversion, space: Space) -> tuple[tuple[float, float, float], ...]:
    """The corners of a space that is a mesh, in millimetres of the car; none of one that has a plan."""
    if space.mesh is None:
        return ()
    mesh = conversion.mesh[space.mesh]
    unit = mesh.mm_per_unit
    return tuple((x * unit, y * unit, z * unit) for x, y, z in mesh.corners)


def _inside(device: Device, room: Block) -> bool:
    return room.x_min <= device.x_mm <= room.x_max and room.y_min <= device.y_mm <= room.y_max and room.z_min <= device.z_mm <= room.z_max
