"""What the three views show: boxes and what is in them, the heavier devices, high voltage, spaces and what must stay clear."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.drawings.scene import Spot, cable_places
from halfshaft.model.conversion import Conversion
from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.device_blocks import block_of, block_round, device_block
from halfshaft.studies.looms.routing import Routing

# A lighter device is shown only where it carries high voltage.
HEAVY_KG = 5.0


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownDevice:
    """A device that is drawn, with the block it fills."""

    ref: str
    name: str
    block: Block
    is_hv: bool
    opens_string: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class ShownCable:
    """A high-voltage cable with its way."""

    ref: str
    places: tuple[Spot, ...]
    diameter_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Shown:
    """Everything that all views draw."""

    conversion: Conversion
    devices: tuple[ShownDevice, ...]
    cables: tuple[ShownCable, ...]

    def blocks(self) -> Iterator[Block]:
        """Every block that has to lie in the picture, and the car itself."""
        car = self.conversion.car
        half = max(car.overall_width_mm, car.track_front_mm, car.track_rear_mm) / 2
        front, rear = (
            min(car.front_edge_x_mm, -car.tyre_static_radius_mm),
            max(car.rear_edge_x_mm, car.wheelbase_mm + car.tyre_static_radius_mm),
        )
        yield Block(front, -half, 0.0, rear, half, car.overall_height_mm)
        yield from (block_of(box) for box in self.conversion.boxes)
        yield from (device.block for device in self.devices)
        yield from (block_of(keep_out) for keep_out in self.conversion.keep_outs)
        yield from (block_of(room) for room in self.conversion.luggage_rooms if room.is_in != "donor")
        yield from (block_round(self.conversion, space) for space in self.conversion.spaces)
        for box in self.conversion.boxes:
            yield from (block_of(module) for module in box.modules)
            yield from (block_of(plate) for plate in box.plates)
        for cable in self.cables:
            yield from (Block(*place, *place) for place in cable.places)


def shown(conversion: Conversion, routing: Routing) -> Shown:
    """Choose what is drawn."""
    cables = []
    for laid in routing.cables:
        places = cable_places(conversion, routing, laid.cable.ref)
        if len(places) > 1:
            kind = conversion.cable_type[laid.cable.cable_type]
            cables.append(ShownCable(ref=laid.cable.ref, places=places, diameter_mm=kind.outside_diameter_mm))
    return Shown(conversion=conversion, devices=tuple(_devices(conversion)), cables=tuple(cables))


def _devices(conversion: Conversion) -> Iterator[ShownDevice]:
    boxes = [block_of(box) for box in conversion.boxes]
    box_refs = {box.ref for box in conversion.boxes}
    hv = {end.partition(".")[0] for cable in conversion.cables for end in (cable.from_connector, cable.to_connector)}
    disconnect = conversion.pack.service_disconnect
    for device in conversion.devices:
        block = device_block(conversion, device)
        in_box = any(block.volume_l > 0 and block.shared_l(box) > 0.999 * block.volume_l for box in boxes)
        if device.ref in box_refs or in_box:
            continue
        is_hv = device.ref in hv or device.ref == disconnect
        if is_hv or conversion.part[device.part].mass_kg >= HEAVY_KG:
            yield ShownDevice(ref=device.ref, name=device.name, block=block, is_hv=is_hv, opens_string=device.ref == disconnect)
