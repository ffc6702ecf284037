"""What the car weighs and how it stands: from four scales, less what is removed, plus what is fitted."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from halfshaft.model.boxes import Box, ModulePlace, PlatePlace
from halfshaft.model.car import Car
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.network import Route
from halfshaft.studies.looms.routing import Routing


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """One thing that weighs something, and where its centre is in the car.

    How far it reaches along and across the car is nought where nobody says so; it then turns like a point.
    """

    group: str
    ref: str
    name: str
    mass_kg: float
    x_mm: float
    y_mm: float
    z_mm: float
    along_mm: float = 0.0
    across_mm: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Stand:
    """How a car stands: its corner loads, and its centre of gravity (z None where no height is known)."""

    name: str
    front_left_kg: float
    front_right_kg: float
    rear_left_kg: float
    rear_right_kg: float
    x_mm: float
    y_mm: float
    z_mm: float | None

    @property
    def front_kg(self) -> float:
        """Front axle load."""
        return self.front_left_kg + self.front_right_kg

    @property
    def rear_kg(self) -> float:
        """Rear axle load."""
        return self.rear_left_kg + self.rear_right_kg

    @property
    def total_kg(self) -> float:
        """Whole car."""
        return self.front_kg + self.rear_kg

    @property
    def front_percent(self) -> float:
        """Share of the front axle."""
        return 100 * self.front_kg / self.total_kg


@dataclass(frozen=True, kw_only=True, slots=True)
class Height:
    """Height of the donor's centre of gravity, how it is known, and how far one scale step moves it."""

    height_mm: float
    known: str
    step_mm: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class MassResult:
    """The ledger and what follows from it."""

    height: Height | None
    donor: Stand
    bare: Stand
    finished: Stand
    loaded: tuple[Stand, ...]
    removed: tuple[Entry, ...]
    fitted: tuple[Entry, ...]


def raised_axle_height_mm(
    *, wheelbase_mm: float, level_kg: float, raised_kg: float, total_kg: float, lift_mm: float, radius_mm: float
) -> float:
    """Height of the centre of gravity from a weighing with one axle lifted.

    h = r + L (F' - F) / (W tan theta), sin theta = H / L; F and F' are the load of the axle left on the scales,
    level and with the other one lifted. Source: ISO 10392, axle-lift method. Suspension locked, brakes off.

    >>> round(raised_axle_height_mm(
    ...     wheelbase_mm=2110, level_kg=239, raised_kg=262, total_kg=694, lift_mm=560, radius_mm=268))
    522
    """
    tangent = math.tan(math.asin(lift_mm / wheelbase_mm))
    return radius_mm + wheelbase_mm * (raised_kg - level_kg) / (total_kg * tangent)


def donor_height(car: Car) -> Height | None:
    """The donor's height of the centre of gravity: weighed where an axle was raised, else as given, else None."""
    weighed, raised = car.weighed, car.raised
    if raised is None:
        if car.cg_height_mm is None:
            return None
        return Height(height_mm=car.cg_height_mm, known=car.cg_height_known or "given", step_mm=None)
    height_mm = raised_axle_height_mm(
        wheelbase_mm=car.wheelbase_mm,
        level_kg=weighed.front_kg if raised.axle == "rear" else weighed.rear_kg,
        raised_kg=raised.other_axle_kg,
        total_kg=weighed.total_kg,
        lift_mm=raised.height_mm,
        radius_mm=car.tyre_static_radius_mm,
    )
    tangent = math.tan(math.asin(raised.height_mm / car.wheelbase_mm))
    step_mm = car.wheelbase_mm * weighed.scale_step_kg / (weighed.total_kg * tangent)
    return Height(height_mm=height_mm, known=f"{raised.axle} axle raised {raised.height_mm:g} mm", step_mm=step_mm)


def donor_stand(car: Car, height: Height | None) -> Stand:
    """The donor on its scales. Lateral centre from each axle's difference over its own track."""
    corners = car.weighed
    moment_y = (corners.front_right_kg - corners.front_left_kg) * car.track_front_mm / 2
    moment_y += (corners.rear_right_kg - corners.rear_left_kg) * car.track_rear_mm / 2
    return Stand(
        name="donor",
        front_left_kg=corners.front_left_kg,
        front_right_kg=corners.front_right_kg,
        rear_left_kg=corners.rear_left_kg,
        rear_right_kg=corners.rear_right_kg,
        x_mm=car.wheelbase_mm * corners.rear_kg / corners.total_kg,
        y_mm=moment_y / corners.total_kg,
        z_mm=None if height is None else height.height_mm,
    )


def with_entries(stand: Stand, entries: Iterable[Entry], *, car: Car, sign: float, name: str) -> Stand:
    """A car with things added (sign +1) or taken out (-1), by moments.

    Each thing loads the axles by its place along the car, and the wheels of each axle by its place across that
    axle's track: the body is taken as stiff and the car as level. Nothing is clipped: a mass behind the rear axle
    lightens the front.
    """
    corners = [stand.front_left_kg, stand.front_right_kg, stand.rear_left_kg, stand.rear_right_kg]
    moment = [stand.total_kg * stand.x_mm, stand.total_kg * stand.y_mm, stand.total_kg * (stand.z_mm or 0.0)]
    for entry in entries:
        mass_kg = sign * entry.mass_kg
        rear = entry.x_mm / car.wheelbase_mm
        for axle, (share, track_mm) in enumerate(((1 - rear, car.track_front_mm), (rear, car.track_rear_mm))):
            right = 0.5 + entry.y_mm / track_mm
            corners[2 * axle] += mass_kg * share * (1 - right)
            corners[2 * axle + 1] += mass_kg * share * right
        for axis, place_mm in enumerate((entry.x_mm, entry.y_mm, entry.z_mm)):
            moment[axis] += mass_kg * place_mm
    total_kg = math.fsum(corners)
    # Of a car that weighs nothing every place is the centre; nought keeps the moments right for what is added next.
    centre = [value / total_kg for value in moment] if total_kg else [0.0] * 3
    return Stand(
        name=name,
        front_left_kg=corners[0],
        front_right_kg=corners[1],
        rear_left_kg=corners[2],
        rear_right_kg=corners[3],
        x_mm=centre[0],
        y_mm=centre[1],
        z_mm=None if stand.z_mm is None else centre[2],
    )


def study_mass(conversion: Conversion, routing: Routing) -> MassResult:
    """The whole ledger: donor, bare car, finished car, and finished car in each load state."""
    car = conversion.car
    height = donor_height(car)
    donor = donor_stand(car, height)
    removed = tuple(
        Entry(group="removed", ref=item.ref, name=item.name, mass_kg=item.mass_kg, x_mm=item.x_mm, y_mm=item.y_mm, z_mm=item.z_mm)
        for item in conversion.removed
    )
    fitted = tuple(fitted_entries(conversion, routing))
    bare = with_entries(donor, removed, car=car, sign=-1.0, name="bare")
    finished = with_entries(bare, fitted, car=car, sign=1.0, name="finished")
    states = dict.fromkeys(item.state for item in conversion.load_states)
    loaded = tuple(
        with_entries(
            finished,
            [
                Entry(group="load", ref=state, name=item.name, mass_kg=item.mass_kg, x_mm=item.x_mm, y_mm=item.y_mm, z_mm=item.z_mm)
                for item in conversion.load_states
                if item.state == state
            ],
            car=car,
            sign=1.0,
            name=state,
        )
        for state in states
    )
    return MassResult(height=height, donor=donor, bare=bare, finished=finished, loaded=loaded, removed=removed, fitted=fitted)


def fitted_entries(conversion: Conversion, routing: Routing) -> Iterator[Entry]:
    """Everything that goes in, with its mass and place."""
    for box in conversion.boxes:
        yield from block_entries(conversion, box)
    yield from device_entries(conversion)
    for item in conversion.made_parts:
        yield Entry(group="made parts", ref=item.ref, name=item.name, mass_kg=item.mass_kg, x_mm=item.x_mm, y_mm=item.y_mm, z_mm=item.z_mm)
    yield from _wires(conversion, routing)
    yield from _coverings(conversion, routing)
    yield from _cables(conversion, routing)
    yield from _hoses(conversion, routing)


def block_entries(conversion: Conversion, box: Box) -> Iterator[Entry]:
    """The modules and plates of one box."""
    yield from (_block(conversion, "modules", module, module.module) for module in box.modules)
    yield from (_block(conversion, "coolant plates", plate, plate.part) for plate in box.plates)


def _block(conversion: Conversion, group: str, block: ModulePlace | PlatePlace, part_ref: str) -> Entry:
    """Something that fills a block: its mass stands at the block's centre."""
    part = conversion.part[part_ref]
    return Entry(
        group=group,
        ref=block.ref,
        name=part.name,
        mass_kg=part.mass_kg,
        x_mm=(block.x_min_mm + block.x_max_mm) / 2,
        y_mm=(block.y_min_mm + block.y_max_mm) / 2,
        z_mm=(block.z_min_mm + block.z_max_mm) / 2,
        along_mm=block.x_max_mm - block.x_min_mm,
        across_mm=block.y_max_mm - block.y_min_mm,
    )


def device_entries(conversion: Conversion) -> Iterator[Entry]:
    """Every device, and the coolant in it; of one that is a battery box it is known how far it reaches."""
    boxes = {box.ref: box for box in conversion.boxes}
    for device in conversion.devices:
        place = {"x_mm": device.x_mm, "y_mm": device.y_mm, "z_mm": device.z_mm}
        part = conversion.part[device.part]
        box = boxes.get(device.ref)
        if part.mass_kg and box is not None:
            reach = {"along_mm": box.x_max_mm - box.x_min_mm, "across_mm": box.y_max_mm - box.y_min_mm}
            yield Entry(group="boxes", ref=device.ref, name=device.name, mass_kg=part.mass_kg, **place, **reach)
        elif part.mass_kg:
            yield Entry(group="units", ref=device.ref, name=device.name, mass_kg=part.mass_kg, **place)
        if device.coolant_l:
            mass_kg = device.coolant_l * conversion.coolant.density_kg_per_l
            yield Entry(group="hoses and coolant", ref=device.ref, name=f"coolant in {device.name}", mass_kg=mass_kg, **place)


def _wires(conversion: Conversion, routing: Routing) -> Iterator[Entry]:
    for loom in routing.looms:
        for laid in loom.wires:
            if laid.length is None or laid.route is None:
                continue
            kind = conversion.wire_type[laid.wire.section_mm2]
            mass_kg = laid.length.cut_mm / 1000 * kind.mass_g_per_m / 1000
            x_mm, y_mm, z_mm = _centre(conversion, routing, laid.route, (laid.start.tail_mm, laid.end.tail_mm))
            yield Entry(group="wires", ref=laid.wire.ref, name=laid.wire.meaning, mass_kg=mass_kg, x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)


def _centre(conversion: Conversion, routing: Routing, route: Route, tails_mm: tuple[float, float]) -> tuple[float, float, float]:
    """Centre of something that lies evenly along a route: runs at the middle of their points, tails at their point."""
    pieces = [(step.length_mm, _middle(conversion, step.run)) for step in route.steps]
    for tail_mm, node in zip(tails_mm, (route.start, route.end), strict=True):
        if node in conversion.point:
            point = conversion.point[node]
            pieces.append((tail_mm, (point.x_mm, point.y_mm, point.z_mm)))
        else:
            pieces.append((tail_mm, _middle(conversion, routing.splices[node].run)))
    length_mm = math.fsum(length for length, _ in pieces)
    if not length_mm:
        return pieces[-1][1]
    x_mm, y_mm, z_mm = (math.fsum(length * place[axis] for length, place in pieces) / length_mm for axis in range(3))
    return x_mm, y_mm, z_mm


def _middle(conversion: Conversion, run_ref: str) -> tuple[float, float, float]:
    run = conversion.run[run_ref]
    start, end = conversion.point[run.from_point], conversion.point[run.to_point]
    return (start.x_mm + end.x_mm) / 2, (start.y_mm + end.y_mm) / 2, (start.z_mm + end.z_mm) / 2


def _coverings(conversion: Conversion, routing: Routing) -> Iterator[Entry]:
    used = {item.run for loom in routing.looms for item in loom.runs}
    used |= {step.run for laid in routing.cables if laid.route for step in laid.route.steps}
    for run in conversion.runs:
        if run.covering is None or run.ref not in used or not conversion.covering[run.covering].mass_g_per_m:
            continue
        covering = conversion.covering[run.covering]
        x_mm, y_mm, z_mm = _middle(conversion, run.ref)
        mass_kg = routing.run_lengths[run.ref].length_mm / 1000 * covering.mass_g_per_m / 1000
        yield Entry(group="tape, tube and duct", ref=run.ref, name=covering.name, mass_kg=mass_kg, x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)


def _cables(conversion: Conversion, routing: Routing) -> Iterator[Entry]:
    for laid in routing.cables:
        if laid.route is None or laid.cut_mm is None:
            continue
        x_mm, y_mm, z_mm = _centre(conversion, routing, laid.route, (laid.tails_mm / 2, laid.tails_mm / 2))
        mass_kg = laid.cut_mm / 1000 * conversion.cable_type[laid.cable.cable_type].mass_g_per_m / 1000
        yield Entry(
            group="high-voltage cables", ref=laid.cable.ref, name=laid.cable.meaning, mass_kg=mass_kg, x_mm=x_mm, y_mm=y_mm, z_mm=z_mm
        )


def _hoses(conversion: Conversion, routing: Routing) -> Iterator[Entry]:
    for laid in routing.hoses:
        if laid.cut_mm is None:
            continue
        metres = laid.cut_mm / 1000
        litres = math.pi / 4 * (laid.hose.bore_mm / 100) ** 2 * metres * 10
        mass_kg = metres * laid.hose.mass_g_per_m / 1000 + litres * conversion.coolant.density_kg_per_l
        tails_mm = (laid.hose.tail_from_mm, laid.hose.tail_to_mm)
        if laid.route is not None:
            centre: tuple[float, float, float] | None = _centre(conversion, routing, laid.route, tails_mm)
        else:
            centre = _centre_of_ends(conversion, laid.hose.from_part, laid.hose.to_part)
        if centre is not None:
            yield Entry(
                group="hoses and coolant",
                ref=laid.hose.ref,
                name=f"hose, {laid.hose.meaning}, with its coolant",
                mass_kg=mass_kg,
                x_mm=centre[0],
                y_mm=centre[1],
                z_mm=centre[2],
            )


def _centre_of_ends(conversion: Conversion, *parts: str) -> tuple[float, float, float] | None:
    """Middle between the devices whose marks begin the names of both stubs; None where a name begins with no device."""
    devices = [conversion.device.get(part.split()[0]) for part in parts]
    found = [(device.x_mm, device.y_mm, device.z_mm) for device in devices if device is not None]
    if not found:
        return None
    x_mm, y_mm, z_mm = (math.fsum(place[axis] for place in found) / len(found) for axis in range(3))
    return x_mm, y_mm, z_mm
