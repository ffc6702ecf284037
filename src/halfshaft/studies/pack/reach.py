"""Who gets at a joint when its box is in the car, lid off: free room above the bolt for a socket, and for a hand.

Up is here towards the side from which the space is loaded. Every bolt is taken to look there, since neither modules nor
joints say where theirs does. The socket is a square column; modules, plates and devices are blocks along the axes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

from halfshaft.model.boxes import Box, ModulePlace, PlatePlace
from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device
from halfshaft.model.pack import Joint
from halfshaft.model.spaces import KeepOut
from halfshaft.standards import table
from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.module_places import Spot

Tool = Literal["short socket", "long socket", "after taking out", "none", "place not known"]
# Axis, and whether the opening is at its larger end.
OPENINGS = {"above": (2, True), "below": (2, False), "front": (0, False), "rear": (0, True), "left": (1, False), "right": (1, True)}


@dataclass(frozen=True, kw_only=True, slots=True)
class Reach:
    """One joint: how deep its bolt lies below the opening of its box, which tool gets there, and what is in the way of a better one.

    `after taking out`: only devices that stand in the box are in the way of a socket.
    """

    joint: str
    opening: str
    depth_mm: float | None
    tool: Tool
    in_the_way: tuple[str, ...]


def reaches(conversion: Conversion, studs: Mapping[str, Spot]) -> tuple[Reach, ...]:
    """Every joint that is in a box."""
    boxes = {box.ref: box for box in conversion.boxes}
    return tuple(
        _reach(conversion, boxes[joint.box], joint, place_of(joint, studs)) for joint in conversion.joints if joint.box is not None
    )


def place_of(joint: Joint, studs: Mapping[str, Spot]) -> Spot | None:
    """Where its bolt is: as given, else where the module's stud is."""
    if joint.x_mm is not None and joint.y_mm is not None and joint.z_mm is not None:
        return joint.x_mm, joint.y_mm, joint.z_mm
    return studs.get(joint.stud)


def _reach(conversion: Conversion, box: Box, joint: Joint, spot: Spot | None) -> Reach:
    space = next(item for item in conversion.spaces if item.ref == box.space)
    if spot is None:
        return Reach(joint=joint.ref, opening=space.loaded_from, depth_mm=None, tool="place not known", in_the_way=())
    axis, is_upper = OPENINGS[space.loaded_from]
    edge = (_face(box, "max") if is_upper else _face(box, "min"))[axis]
    depth_mm = edge - spot[axis] if is_upper else spot[axis] - edge
    own = joint.stud.partition(".")[0]
    things = [(name, block) for name, block in things_in(conversion, box) if name != own]
    wide_mm, size = socket_outside_mm(joint.bolt), sizes()
    tool_mm = size["short socket and ratchet"]
    socket = tuple(_in_the_way(box, things, spot, axis, is_upper, half_mm=wide_mm / 2, from_mm=0.0, to_mm=depth_mm))
    hand_mm = (min(tool_mm, depth_mm), depth_mm)
    hand = tuple(_in_the_way(box, things, spot, axis, is_upper, half_mm=size["hand"] / 2, from_mm=hand_mm[0], to_mm=hand_mm[1]))
    above = _column(spot, axis, is_upper, size["hand"] / 2, depth_mm, depth_mm + size["hand height"])
    kept = tuple(item.ref for item in conversion.keep_outs if item.space == space.ref and _block(item).shared_l(above) > 0)
    tool, in_the_way = _tool(conversion, depth_mm, socket, hand, kept)
    return Reach(joint=joint.ref, opening=space.loaded_from, depth_mm=depth_mm, tool=tool, in_the_way=in_the_way)


def _tool(
    conversion: Conversion, depth_mm: float, socket: tuple[str, ...], hand: tuple[str, ...], kept: tuple[str, ...]
) -> tuple[Tool, tuple[str, ...]]:
    """Which tool gets there, by what is in the way of a socket, of a hand beside the bolt, and of a hand above the opening."""
    if socket or kept:
        is_movable = not kept and all(name in conversion.device for name in socket)
        return ("after taking out" if is_movable else "none"), socket + kept
    if not hand:
        return "short socket", ()
    return ("long socket" if depth_mm <= sizes()["longest extension"] else "none"), hand


def _in_the_way(
    box: Box, things: list[tuple[str, Block]], spot: Spot, axis: int, is_upper: bool, *, half_mm: float, from_mm: float, to_mm: float
) -> Iterator[str]:
    """What a column over the bolt meets between two heights above it: the box's own walls, then what is in the box."""
    if to_mm <= from_mm:
        return
    low, high = _face(box, "min"), _face(box, "max")
    across = [other for other in range(3) if other != axis]
    if any(min(spot[other] - low[other], high[other] - spot[other]) - box.wall_mm < half_mm for other in across):
        yield f"wall of {box.ref}"
    column = _column(spot, axis, is_upper, half_mm, from_mm, to_mm)
    yield from (name for name, block in things if block.shared_l(column) > 0)


def _column(spot: Spot, axis: int, is_upper: bool, half_mm: float, from_mm: float, to_mm: float) -> Block:
    low, high = [at - half_mm for at in spot], [at + half_mm for at in spot]
    ends = (spot[axis] + from_mm, spot[axis] + to_mm) if is_upper else (spot[axis] - to_mm, spot[axis] - from_mm)
    low[axis], high[axis] = ends
    return Block(*low, *high)


def things_in(conversion: Conversion, box: Box) -> list[tuple[str, Block]]:
    """Modules and plates of a box and the devices whose middle is in it; a device's length along the car, its width across."""
    blocks = [(item.ref, _block(item)) for item in box.modules] + [(item.ref, _block(item)) for item in box.plates]
    room = _block(box)
    devices = [device for device in conversion.devices if device.ref != box.ref and _is_in(device, room)]
    return [*blocks, *((device.ref, _device_block(conversion, device)) for device in devices)]


def _is_in(device: Device, room: Block) -> bool:
    return room.x_min < device.x_mm < room.x_max and room.y_min < device.y_mm < room.y_max and room.z_min < device.z_mm < room.z_max


def _device_block(conversion: Conversion, device: Device) -> Block:
    part = conversion.part[device.part]
    middle, sides = (device.x_mm, device.y_mm, device.z_mm), (part.length_mm, part.width_mm, part.height_mm)
    return Block(
        *(at - side / 2 for at, side in zip(middle, sides, strict=True)), *(at + side / 2 for at, side in zip(middle, sides, strict=True))
    )


def _block(item: Box | ModulePlace | PlatePlace | KeepOut) -> Block:
    return Block(*_face(item, "min"), *_face(item, "max"))


def _face(item: Box | ModulePlace | PlatePlace | KeepOut, end: Literal["min", "max"]) -> tuple[float, float, float]:
    if end == "min":
        return item.x_min_mm, item.y_min_mm, item.z_min_mm
    return item.x_max_mm, item.y_max_mm, item.z_max_mm


@cache
def sizes() -> dict[str, float]:
    """Sizes of hand and tools that do not go by the thread, mm."""
    return {row["what"]: float(row["value_mm"]) for row in table("reach") if not row["thread"]}


def socket_outside_mm(bolt: str) -> float:
    """Outside of the socket for a bolt such as `M8 8.8`; of the next larger one in the table, or the largest, where it is not in it."""
    outside = {float(row["thread"][1:]): float(row["value_mm"]) for row in table("reach") if row["thread"]}
    found = re.search(r"M\s*(\d+(?:\.\d+)?)", bolt, re.IGNORECASE)
    size = float(found.group(1)) if found else max(outside)
    return min((value for thread, value in outside.items() if thread >= size), default=max(outside.values()))
