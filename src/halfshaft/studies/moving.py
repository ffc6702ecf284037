"""Something in the car put elsewhere: the conversion as it is then, and what would stand in its way. Conversion in, conversion out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from halfshaft.errors import HalfshaftError
from halfshaft.model.base import Record
from halfshaft.model.boxes import Box, ModulePlace, PlatePlace
from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device
from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.arrangement.take import AT_WALL_MM, away_mm, holds, straight_mm, users_of_points
from halfshaft.studies.device_blocks import block_of, device_block

Moved = TypeVar("Moved", bound=Record)
FACES = ("x_min_mm", "y_min_mm", "z_min_mm", "x_max_mm", "y_max_mm", "z_max_mm")
CENTRE = ("x_mm", "y_mm", "z_mm")
# Less than this two blocks may share without standing in each other: places are written to the millimetre.
TOUCH_L = 0.002


@dataclass(frozen=True, kw_only=True, slots=True)
class Shift:
    """A device (a battery box is one) or a module by its mark, and how far it goes along x, y and z, in mm."""

    ref: str
    by_mm: tuple[float, float, float]


def moved(conversion: Conversion, shifts: Iterable[Shift]) -> Conversion:
    """The conversion with things elsewhere, one after the other.

    With a battery box go its modules, plates, feet and the devices in it, with an enclosure what is in it; with any device the route
    points that only it uses, where they are at its wall. A taped run there keeps what it was longer than straight, until it is taped again.
    Raises HalfshaftError where there is no such thing.
    """
    for shift in shifts:
        conversion = _moved(conversion, shift)
    return conversion


def _moved(conversion: Conversion, shift: Shift) -> Conversion:
    device = conversion.device.get(shift.ref)
    if device is not None:
        return _with_device(conversion, device, shift.by_mm)
    for box in conversion.boxes:
        if any(module.ref == shift.ref for module in box.modules):
            modules = tuple(_by(item, FACES, shift.by_mm) if item.ref == shift.ref else item for item in box.modules)
            return _with_box(conversion, box, box.model_copy(update={"modules": modules}))
    raise HalfshaftError(f"there is no device, box or module {shift.ref} that could be moved")


def _with_device(conversion: Conversion, device: Device, by_mm: tuple[float, float, float]) -> Conversion:
    block = device_block(conversion, device)
    box = next((item for item in conversion.boxes if item.ref == device.ref), None)
    going = {device.ref}
    after = conversion
    if box is not None:
        going |= {item.ref for item in conversion.devices if holds(block, item)}
        after = _with_box(after, box, _box_by(box, by_mm))
    if any(item.ref == device.ref for item in conversion.enclosures):
        going |= {item.ref for item in conversion.enclosure_items if item.enclosure == device.ref}
        enclosures = tuple(_by(item, CENTRE, by_mm) if item.ref == device.ref else item for item in conversion.enclosures)
        after = after.model_copy(update={"enclosures": enclosures})
    devices = tuple(_by(item, CENTRE, by_mm) if item.ref in going else item for item in after.devices)
    return _with_points(after.model_copy(update={"devices": devices}), going, block, by_mm)


def _with_points(conversion: Conversion, going: set[str], block: Block, by_mm: tuple[float, float, float]) -> Conversion:
    users = users_of_points(conversion)
    points = {
        point.ref: _by(point, CENTRE, by_mm) if users.get(point.ref, {""}) <= going and away_mm(block, point) <= AT_WALL_MM else point
        for point in conversion.points
    }
    runs = []
    for run in conversion.runs:
        old_mm, new_mm = straight_mm(conversion.point, run), straight_mm(points, run)
        if run.length_taped_mm is not None and old_mm != new_mm:
            run = run.model_copy(update={"length_taped_mm": float(max(1, round(run.length_taped_mm + new_mm - old_mm)))})
        runs.append(run)
    return conversion.model_copy(update={"points": tuple(points.values()), "runs": tuple(runs)})


def _with_box(conversion: Conversion, old: Box, new: Box) -> Conversion:
    return conversion.model_copy(update={"boxes": tuple(new if box is old else box for box in conversion.boxes)})


def _box_by(box: Box, by_mm: tuple[float, float, float]) -> Box:
    inside = {
        "modules": tuple(_by(item, FACES, by_mm) for item in box.modules),
        "plates": tuple(_by(item, FACES, by_mm) for item in box.plates),
        "mounts": tuple(_by(item, CENTRE, by_mm) for item in box.mounts),
    }
    return _by(box, FACES, by_mm).model_copy(update=inside)


def _by(record: Moved, fields: Sequence[str], by_mm: tuple[float, float, float]) -> Moved:
    """A record with its places moved; written to a tenth of a millimetre."""
    return record.model_copy(update={name: round(getattr(record, name) + by_mm[index % 3], 1) for index, name in enumerate(fields)})


def in_the_way(before: Conversion, after: Conversion, ref: str) -> tuple[str, ...]:
    """Devices, boxes, modules and plates in whose room something stands after it was moved and did not before, in the order of the tables.

    What it is in, and what is in it, share room with it in both. Blocks are only as good as the sizes in the catalogue.
    """
    known = set(_sharing(before, ref))
    return tuple(other for other in _sharing(after, ref) if other not in known)


def _sharing(conversion: Conversion, ref: str) -> tuple[str, ...]:
    """Everything of its kind whose block shares room with that of a device or module."""
    module = _module(conversion, ref)
    if module is not None:
        box = next(item for item in conversion.boxes if module in item.modules)
        others: tuple[ModulePlace | PlatePlace, ...] = (*box.modules, *box.plates)
        return tuple(item.ref for item in others if item is not module and _share(block_of(module), block_of(item)))
    block = device_block(conversion, conversion.device[ref])
    return tuple(item.ref for item in conversion.devices if item.ref != ref and _share(block, device_block(conversion, item)))


def _module(conversion: Conversion, ref: str) -> ModulePlace | None:
    if ref in conversion.device:
        return None
    return next((module for box in conversion.boxes for module in box.modules if module.ref == ref), None)


def _share(one: Block, other: Block) -> bool:
    return one.shared_l(other) > TOUCH_L
