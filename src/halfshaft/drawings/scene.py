"""The conversion as solids in the car's own frame (mm; x rearwards, y to the right, z up): what a viewer turns and selects."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from halfshaft.drawings.wheels import wheels_of
from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.device_blocks import block_of, device_block, mesh_corners
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.mass import MassResult, Stand

Spot = tuple[float, float, float]
Kind = Literal[
    "space", "keep-out", "luggage room", "box", "module", "coolant plate", "device", "HV cable", "loom", "hose", "wheel", "centre before", "centre now",
]  # fmt: skip
BALL_RADIUS_MM = 25.0


@dataclass(frozen=True, slots=True)
class Prism:
    """An upright prism on a polygon of x, y pairs."""

    corners: tuple[tuple[float, float], ...]
    z_min_mm: float
    z_max_mm: float


@dataclass(frozen=True, slots=True)
class Triangles:
    """A closed surface of triangles; each names three corners, anticlockwise seen from outside."""

    corners: tuple[Spot, ...]
    faces: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Tube:
    """A round thing along straight pieces; no two places after each other are the same."""

    places: tuple[Spot, ...]
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Ball:
    """A sphere."""

    centre: Spot
    radius_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Solid:
    """One thing of the scene: a name that no other has, what it is, a few words, and its shape."""

    name: str
    kind: Kind
    about: str
    shape: Block | Prism | Triangles | Tube | Ball


def scene_of(conversion: Conversion, routing: Routing, mass: MassResult) -> tuple[Solid, ...]:
    """Everything with a place, in the order of the tables, and every name once."""
    return tuple(
        _named_once(
            [
                *_rooms(conversion),
                *_boxes(conversion),
                *_devices(conversion),
                *_lines(conversion, routing),
                *_car(conversion, mass),
            ]
        )
    )


def _named_once(solids: Iterable[Solid]) -> Iterator[Solid]:
    """A mark that two tables share gets its kind behind it, then a number."""
    taken: set[str] = set()
    for solid in solids:
        choices = itertools.chain(
            [solid.name, f"{solid.name} ({solid.kind})"], (f"{solid.name} ({solid.kind} {i})" for i in itertools.count(2))
        )
        name = next(choice for choice in choices if choice not in taken)
        taken.add(name)
        yield replace(solid, name=name)


def _rooms(conversion: Conversion) -> Iterator[Solid]:
    for space in conversion.spaces:
        yield Solid(name=space.ref, kind="space", about=space.name, shape=_shape_of(conversion, space))
    for keep_out in conversion.keep_outs:
        yield Solid(name=keep_out.ref, kind="keep-out", about=keep_out.name, shape=block_of(keep_out))
    for room in conversion.luggage_rooms:
        if room.is_in != "donor":
            yield Solid(name=room.ref, kind="luggage room", about=room.name, shape=block_of(room))


def _shape_of(conversion: Conversion, space: Space) -> Prism | Triangles:
    if space.mesh is not None:
        return Triangles(mesh_corners(conversion, space), conversion.mesh[space.mesh].triangles)
    assert space.polygon_mm is not None
    return Prism(space.polygon_mm, space.floor_z_mm, space.top_z_mm)


def _boxes(conversion: Conversion) -> Iterator[Solid]:
    for box in conversion.boxes:
        yield Solid(name=box.ref, kind="box", about=conversion.device[box.ref].name, shape=block_of(box))
        for module in box.modules:
            about = f"module {module.order_in_string} of string {module.string}, in {box.ref}"
            yield Solid(name=module.ref, kind="module", about=about, shape=block_of(module))
        for plate in box.plates:
            yield Solid(name=plate.ref, kind="coolant plate", about=f"in {box.ref}", shape=block_of(plate))


def _devices(conversion: Conversion) -> Iterator[Solid]:
    boxes = {box.ref for box in conversion.boxes}
    for device in conversion.devices:
        if device.ref not in boxes:
            yield Solid(name=device.ref, kind="device", about=device.name, shape=device_block(conversion, device))


def _lines(conversion: Conversion, routing: Routing) -> Iterator[Solid]:
    for cable in routing.cables:
        places = cable_places(conversion, routing, cable.cable.ref)
        if len(places) > 1:
            thick = conversion.cable_type[cable.cable.cable_type].outside_diameter_mm
            yield Solid(name=cable.cable.ref, kind="HV cable", about=cable.cable.meaning, shape=Tube(places, thick))
    for loom in routing.looms:
        for run in loom.runs:
            places = apart((_spot(conversion, routing, run.start), _spot(conversion, routing, run.end)))
            if len(places) > 1 and run.over_mm > 0:
                about = f"{len(run.wires)} wires of {loom.loom.name}"
                yield Solid(name=f"{loom.loom.ref} {run.run}", kind="loom", about=about, shape=Tube(places, run.over_mm))
    for hose in routing.hoses:
        places = _places_of(conversion, routing, hose.route.nodes) if hose.route else ()
        if len(places) > 1:
            yield Solid(name=hose.hose.ref, kind="hose", about=hose.hose.meaning, shape=Tube(places, hose.hose.outside_mm))


def cable_places(conversion: Conversion, routing: Routing, ref: str) -> tuple[Spot, ...]:
    """A cable's way from device to device: to the nearest place of each device's block, and its route points between."""
    laid = next(cable for cable in routing.cables if cable.cable.ref == ref)
    if laid.route is None:
        return ()
    places = _places_of(conversion, routing, laid.route.nodes)
    ends = []
    for connector, place in ((laid.cable.from_connector, places[0]), (laid.cable.to_connector, places[-1])):
        block = device_block(conversion, conversion.device[connector.partition(".")[0]])
        ends.append(_nearest(block, place))
    return apart((ends[0], *places, ends[1]))


def apart(places: Iterable[Spot]) -> tuple[Spot, ...]:
    """Places without those that repeat the one before them."""
    return tuple(place for place, _ in itertools.groupby(places))


def _places_of(conversion: Conversion, routing: Routing, nodes: Iterable[str]) -> tuple[Spot, ...]:
    return apart(_spot(conversion, routing, node) for node in nodes)


def _spot(conversion: Conversion, routing: Routing, node: str) -> Spot:
    """Where a route point is; a splice lies its share of the way along its run."""
    if (point := conversion.point.get(node)) is not None:
        return point.x_mm, point.y_mm, point.z_mm
    place = routing.splices[node]
    run = conversion.run[place.run]
    start, end = conversion.point[run.from_point], conversion.point[run.to_point]
    length_mm = routing.run_lengths[place.run].length_mm
    share = place.from_start_mm(run, length_mm) / length_mm if length_mm else 0.0
    return (
        start.x_mm + share * (end.x_mm - start.x_mm),
        start.y_mm + share * (end.y_mm - start.y_mm),
        start.z_mm + share * (end.z_mm - start.z_mm),
    )


def _nearest(block: Block, place: Spot) -> Spot:
    x, y, z = place
    return min(max(x, block.x_min), block.x_max), min(max(y, block.y_min), block.y_max), min(max(z, block.z_min), block.z_max)


def _car(conversion: Conversion, mass: MassResult) -> Iterator[Solid]:
    for wheel in wheels_of(conversion.car):
        half = wheel.wide_mm / 2
        places = ((wheel.x_mm, wheel.y_mm - half, wheel.radius_mm), (wheel.x_mm, wheel.y_mm + half, wheel.radius_mm))
        yield Solid(
            name=f"wheel {wheel.corner}", kind="wheel", about="size as far as known: static radius", shape=Tube(places, 2 * wheel.radius_mm)
        )
    stands: tuple[tuple[Kind, Stand], ...] = (("centre before", mass.donor), ("centre now", mass.finished))
    for kind, stand in stands:
        if stand.z_mm is not None:
            about = f"x {stand.x_mm:.0f}, y {stand.y_mm:.0f}, z {stand.z_mm:.0f} mm"
            yield Solid(name=kind, kind=kind, about=about, shape=Ball((stand.x_mm, stand.y_mm, stand.z_mm), BALL_RADIUS_MM))
