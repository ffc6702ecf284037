"""The car round the battery: what a choice of fillings is weighed, measured and priced against."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfshaft.model.boxes import Box, ModuleType
from halfshaft.model.car import Limits
from halfshaft.model.conversion import Conversion
from halfshaft.model.pack import ArrangementSettings, HvUnit
from halfshaft.studies.arrangement.chain import Chain, cabling_of, chains_of
from halfshaft.studies.arrangement.records import Block, Filling, PlacedModule, Price
from halfshaft.studies.looms.network import Network
from halfshaft.studies.mass import MassResult, Stand, with_entries

# Groups of the mass ledger that an arrangement replaces; cables, hoses and what is bolted to a box stay as they are.
BATTERY_GROUPS = ("modules", "coolant plates", "boxes")

AS_DESCRIBED = "as described"

# Two arrangements that differ by less than this in a goal are alike in it: no scale or tape on the car would tell.
STEPS = Price(cg_height_mm=1.0, split_off_percent=0.1, luggage_lost_l=1.0, boxes=1, hv_cable_m=0.1, yaw_change_kg_m2=1.0, energy_kwh=0.01)


@dataclass(frozen=True, kw_only=True, slots=True)
class Weights:
    """What a filling adds up to. Moments in kg mm: along and across from the bare car's centre, height from the ground.

    `second_kg_m2` is its yaw inertia about that centre: of its own blocks, and by parallel axes.
    """

    mass_kg: float
    along: float
    across: float
    height: float
    second_kg_m2: float
    luggage_l: float
    area_m2: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Context:
    """`base` is the finished car without its modules, plates and boxes; `worst` what load states add at most to front, rear and total."""

    base: Stand
    wheelbase_mm: float
    limits: Limits
    worst: Mapping[str, tuple[float, str]]
    target_front_percent: float
    kinds: Mapping[str, ModuleType]
    module_kg: Mapping[str, float]
    plate_kg: float
    luggage: tuple[Block, ...]
    chains: Mapping[frozenset[str], Chain]
    strings: int
    units: tuple[HvUnit, ...]
    fitted: int
    labour_eur_per_hour: float
    present: tuple[Filling, ...]
    steps: Price = STEPS

    def weights(self, filling: Filling, settings: ArrangementSettings) -> Weights:
        """Masses, moments and lost luggage room of one filling."""
        area_m2 = area_of(filling.box)
        blocks = [(self.module_kg[item.module], item.block) for item in filling.modules]
        blocks += [(self.plate_kg, plate) for plate in filling.plates]
        solid = [(mass_kg, block, (block.size[0] ** 2 + block.size[1] ** 2) / 12) for mass_kg, block in blocks]
        box_kg = settings.box_kg_per_m2 * area_m2
        everything = [*solid, (box_kg, filling.box, shell_gyration_mm2(filling.box))]
        along = [block.centre[0] - self.base.x_mm for _, block, _ in everything]
        across = [block.centre[1] - self.base.y_mm for _, block, _ in everything]
        return Weights(
            mass_kg=math.fsum(mass for mass, _, _ in everything),
            along=math.fsum(mass * x for (mass, _, _), x in zip(everything, along, strict=True)),
            across=math.fsum(mass * y for (mass, _, _), y in zip(everything, across, strict=True)),
            height=math.fsum(mass * block.centre[2] for mass, block, _ in everything),
            second_kg_m2=math.fsum(
                mass * (own + x * x + y * y) / 1e6 for (mass, _, own), x, y in zip(everything, along, across, strict=True)
            ),
            luggage_l=math.fsum(filling.box.shared_l(room) for room in self.luggage),
            area_m2=area_m2,
        )

    def full_v(self, counts: Iterable[tuple[str, int]]) -> float:
        """Volts of these modules one after another, all cells full."""
        return math.fsum(count * self.kinds[module].cells_in_series * self.kinds[module].cell_full_v for module, count in counts)

    def empty_v(self, counts: Iterable[tuple[str, int]]) -> float:
        """And with all cells empty."""
        return math.fsum(count * self.kinds[module].cells_in_series * self.kinds[module].cell_empty_v for module, count in counts)

    def energy_kwh(self, counts: Iterable[tuple[str, int]]) -> float:
        """Energy of these modules."""
        return math.fsum(count * self.kinds[module].energy_kwh for module, count in counts)


def area_of(block: Block) -> float:
    """Outside of a box, all six walls, m2."""
    x, y, z = block.size
    return 2 * (x * y + y * z + z * x) / 1e6


def shell_gyration_mm2(block: Block) -> float:
    """Square of the radius of gyration of an empty box about the upright axis through its middle: six thin walls by parallel axes.

    A wall of sides a, b has (a2 + b2)/12 about an upright axis through its middle where it lies level, a2/12 where it stands.
    """
    x, y, z = block.size
    lids, sides, ends = 2 * x * y, 2 * x * z, 2 * y * z
    second = lids * (x * x + y * y) / 12 + sides * (x * x / 12 + y * y / 4) + ends * (y * y / 12 + x * x / 4)
    return second / (lids + sides + ends)


def context_of(conversion: Conversion, network: Network, mass: MassResult) -> Context:
    """Everything that the front needs to know of the car."""
    settings, car = conversion.arrangement, conversion.car
    kept = [entry for entry in mass.fitted if entry.group not in BATTERY_GROUPS]
    spaces = [space for space in conversion.spaces if space.for_batteries]
    rooms = [room for room in conversion.luggage_rooms if room.is_in in ("finished", "both")]
    plate = conversion.part.get(settings.plate or "")
    states = dict.fromkeys(state.state for state in conversion.load_states)
    cabling = cabling_of(conversion, network, spaces)
    fitted = sum(len(box.modules) for box in conversion.boxes)
    return Context(
        base=with_entries(mass.bare, kept, car=car, sign=1.0, name="without its boxes"),
        wheelbase_mm=car.wheelbase_mm,
        limits=car.limits,
        worst={
            axle: max(
                ((_added(conversion, state, axle), f" with {state}") for state in states), default=(0.0, ""), key=lambda item: item[0]
            )
            for axle in ("front", "rear", "gross")
        },
        target_front_percent=settings.target_front_percent if settings.target_front_percent is not None else mass.donor.front_percent,
        kinds={kind.part: kind for kind in conversion.modules},
        module_kg={kind.part: conversion.part[kind.part].mass_kg for kind in conversion.modules},
        plate_kg=plate.mass_kg if plate is not None else 0.0,
        luggage=tuple(Block(room.x_min_mm, room.y_min_mm, room.z_min_mm, room.x_max_mm, room.y_max_mm, room.z_max_mm) for room in rooms),
        chains=chains_of(cabling, [space.ref for space in spaces]),
        strings=conversion.pack.strings,
        units=conversion.hv_units,
        fitted=fitted,
        labour_eur_per_hour=conversion.shop.labour_eur_per_hour,
        present=tuple(filling_of(box) for box in conversion.boxes if box.modules and box.space in cabling.stops),
    )


def _added(conversion: Conversion, state: str, axle: str) -> float:
    """What one load state adds to an axle, or to the whole car."""
    kg = 0.0
    for item in conversion.load_states:
        if item.state == state:
            rear = item.x_mm / conversion.car.wheelbase_mm
            kg += item.mass_kg * {"front": 1 - rear, "rear": rear, "gross": 1.0}[axle]
    return max(kg, 0.0)


def filling_of(box: Box) -> Filling:
    """A box that is described as if it came from a menu."""
    modules = [
        PlacedModule(
            module=item.module,
            block=Block(item.x_min_mm, item.y_min_mm, item.z_min_mm, item.x_max_mm, item.y_max_mm, item.z_max_mm),
            attitude=item.attitude or "flat",
            cooled_face=item.cooled_face or "down",
            plus_end=item.plus_end or "rear",
            layer=1,
        )
        for item in box.modules
    ]
    tally: dict[str, int] = {}
    for item in box.modules:
        tally[item.module] = tally.get(item.module, 0) + 1
    return Filling(
        space=box.space,
        counts=tuple(sorted(tally.items())),
        box=Block(box.x_min_mm, box.y_min_mm, box.z_min_mm, box.x_max_mm, box.y_max_mm, box.z_max_mm),
        modules=tuple(modules),
        plates=tuple(
            Block(item.x_min_mm, item.y_min_mm, item.z_min_mm, item.x_max_mm, item.y_max_mm, item.z_max_mm) for item in box.plates
        ),
        kinds=(AS_DESCRIBED,),
        gap_mm=None,
        how=AS_DESCRIBED,
    )


def allowed_counts(settings: ArrangementSettings, context: Context) -> tuple[int, int | None]:
    """Fewest and most modules; no most where nothing is fitted and none is given."""
    low, high = settings.modules_min, settings.modules_max
    if low is None and high is None:
        return (context.fitted, context.fitted) if context.fitted else (1, None)
    if low is None:
        return min(context.fitted or 1, high or 1), high
    return low, high if high is not None else max(low, context.fitted)
