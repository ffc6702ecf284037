"""What pulls at each foot of each battery box in the cases that the shop sets: a hand calculation, never a verdict."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.boxes import Box, Mount
from halfshaft.model.conversion import Conversion
from halfshaft.model.pack import MountCase
from halfshaft.standards import bolt_proof_loads, constants
from halfshaft.studies.bolt_group import Vector, can_hold, is_inside, share_out
from halfshaft.studies.mass import Entry, block_entries, device_entries
from halfshaft.studies.module_places import DIRECTIONS


@dataclass(frozen=True, kw_only=True, slots=True)
class MountLoad:
    """What one foot bears in one case.

    `force_n` is what the car does to the box there: along x, y, z. `shear_n` lies across the bolt, which is taken to
    stand upright. `tension_n` draws it; a box that presses on its foot draws nothing. `combined_n` is the plain pull
    that would strain the bolt as much.
    """

    mount: str
    force_n: Vector
    shear_n: float
    tension_n: float
    combined_n: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseLoads:
    """One case: what the box pulls with, and what each foot bears; nothing where its feet cannot hold it."""

    case: str
    toward: str
    acceleration_g: float
    pull_n: Vector
    mounts: tuple[MountLoad, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Bolt:
    """A foot's bolt and its proof load; None where thread or class is not in the table."""

    mount: str
    bolt: str
    proof_n: float | None
    source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class BoxMounts:
    """One box with all that is in it, its centre of gravity, its bolts and what they bear."""

    box: str
    mass_kg: float
    x_mm: float
    y_mm: float
    z_mm: float
    is_held: bool
    is_between_feet: bool
    bolts: tuple[Bolt, ...]
    cases: tuple[CaseLoads, ...]


def study_mounts(conversion: Conversion) -> tuple[BoxMounts, ...]:
    """Every box in every case."""
    return tuple(_study_box(conversion, box) for box in conversion.boxes)


def _study_box(conversion: Conversion, box: Box) -> BoxMounts:
    mass_kg, centre = box_mass(conversion, box)
    places = [(mount.x_mm, mount.y_mm, mount.z_mm) for mount in box.mounts]
    is_held = can_hold(places)
    return BoxMounts(
        box=box.ref,
        mass_kg=mass_kg,
        x_mm=centre[0],
        y_mm=centre[1],
        z_mm=centre[2],
        is_held=is_held,
        is_between_feet=is_inside((centre[0], centre[1]), [(x, y) for x, y, _ in places]),
        bolts=tuple(bolt_of(mount) for mount in box.mounts),
        cases=tuple(_case(box, case, mass_kg, centre, is_held=is_held) for case in conversion.mount_cases),
    )


def box_contents(conversion: Conversion, box: Box) -> Iterator[Entry]:
    """What hangs on the feet of a box: itself, modules, plates, every device whose centre lies in it, and their coolant."""
    within = {device.ref for device in conversion.devices if _holds(box, (device.x_mm, device.y_mm, device.z_mm))}
    yield from block_entries(conversion, box)
    yield from (entry for entry in device_entries(conversion) if entry.ref in within | {box.ref})


def _holds(box: Box, place: Vector) -> bool:
    low = (box.x_min_mm, box.y_min_mm, box.z_min_mm)
    high = (box.x_max_mm, box.y_max_mm, box.z_max_mm)
    return all(a <= value <= b for a, value, b in zip(low, place, high, strict=True))


def box_mass(conversion: Conversion, box: Box) -> tuple[float, Vector]:
    """Mass in kg and centre of gravity of a full box; the middle of its block where nothing in it has a mass."""
    contents = tuple(box_contents(conversion, box))
    mass_kg = math.fsum(entry.mass_kg for entry in contents)
    if not mass_kg:
        return 0.0, ((box.x_min_mm + box.x_max_mm) / 2, (box.y_min_mm + box.y_max_mm) / 2, (box.z_min_mm + box.z_max_mm) / 2)
    x_mm, y_mm, z_mm = (
        math.fsum(entry.mass_kg * place for entry, place in zip(contents, places, strict=True)) / mass_kg
        for places in zip(*((entry.x_mm, entry.y_mm, entry.z_mm) for entry in contents), strict=True)
    )
    return mass_kg, (x_mm, y_mm, z_mm)


def _case(box: Box, case: MountCase, mass_kg: float, centre: Vector, *, is_held: bool) -> CaseLoads:
    pull_n = pull_of(mass_kg, case)
    places = [(mount.x_mm, mount.y_mm, mount.z_mm) for mount in box.mounts]
    forces = share_out(pull_n, centre, places) if is_held else []
    return CaseLoads(
        case=case.ref,
        toward=case.toward,
        acceleration_g=case.acceleration_g,
        pull_n=pull_n,
        mounts=tuple(_load(mount, force, centre) for mount, force in zip(box.mounts, forces, strict=False)),
    )


def pull_of(mass_kg: float, case: MountCase) -> Vector:
    """What the box pulls with, in newton: m a toward where the case says, and its own weight.

    Weight is not set against an upward pull: codes name the pull itself.
    """
    gravity = constants()["standard_gravity"].value
    x, y, z = (mass_kg * case.acceleration_g * gravity * step for step in DIRECTIONS[case.toward])
    return x, y, z if z > 0 else z - mass_kg * gravity


def _load(mount: Mount, force_n: Vector, centre_mm: Vector) -> MountLoad:
    shear_n = math.hypot(force_n[0], force_n[1])
    # A box on its feet draws a bolt where it lifts. One that hangs below its feet may lie over or under what holds it,
    # and nobody says which, so there a push counts as well.
    tension_n = abs(force_n[2]) if mount.z_mm > centre_mm[2] else max(0.0, -force_n[2])
    return MountLoad(
        mount=mount.ref, force_n=force_n, shear_n=shear_n, tension_n=tension_n, combined_n=combined_n(shear_n=shear_n, tension_n=tension_n)
    )


def combined_n(*, shear_n: float, tension_n: float) -> float:
    """The plain pull that strains a bolt as much as tension and shear together: sqrt(N2 + 3 V2), in newton.

    Source: distortion energy (von Mises), both over the same area. What the bolt is tightened with is left out, and
    so is friction under the foot: all shear is the bolt's.
    """
    return math.sqrt(tension_n**2 + 3 * shear_n**2)


def bolt_of(mount: Mount) -> Bolt:
    """Thread and class out of words such as `M8 8.8`; with a pitch or a length in between nothing is guessed."""
    found = re.match(r"(M\d+)[ -]+(\d+\.\d)(?!\d)", mount.bolt)
    known = bolt_proof_loads().get((found[1], found[2])) if found else None
    return Bolt(
        mount=mount.ref,
        bolt=mount.bolt,
        proof_n=known.value if known else None,
        source=f"{known.basis}: {known.source}" if known else "",
    )
