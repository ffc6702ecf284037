"""Small menus and cars for tests of arrangements."""

from __future__ import annotations

from halfshaft.model.boxes import ModuleType
from halfshaft.model.car import Limits
from halfshaft.studies.arrangement.chain import Chain
from halfshaft.studies.arrangement.context import STEPS, Context
from halfshaft.studies.arrangement.records import Block, Filling, Menu, PlacedModule, Price
from halfshaft.studies.mass import Stand

SIDE_MM = 200.0


def module_type(part: str = "M", cells: int = 8) -> ModuleType:
    return ModuleType(
        part=part, cells_in_series=cells, cells_in_parallel=1, cell_nominal_v=3.6, cell_full_v=4.2, cell_empty_v=3.0, cell_stop_v=2.8,
        capacity_ah=80, energy_kwh=2.0, resistance_mohm=6, discharge_continuous_a=100, discharge_peak_a=200, charge_continuous_a=50,
        charge_peak_a=100,
    )  # fmt: skip


def filling(space: str, count: int, at: tuple[float, float, float], *, module: str = "M", wide_mm: float = SIDE_MM) -> Filling:
    """A box with so many modules one on another, all in one column."""
    x, y, z = at
    tall = 100.0 * count
    modules = [
        PlacedModule(
            module=module, block=Block(x, y, z + 100.0 * number, x + wide_mm, y + SIDE_MM, z + 100.0 * (number + 1)),
            attitude="flat", cooled_face="down", plus_end="rear", layer=number + 1,
        )
        for number in range(count)
    ]  # fmt: skip
    return Filling(
        space=space, counts=((module, count),), box=Block(x, y, z, x + wide_mm, y + SIDE_MM, z + tall),
        modules=tuple(modules), plates=(), kinds=("lowest",), gap_mm=0.0, how="a column",
    )  # fmt: skip


def menu(space: str, fillings: list[Filling]) -> Menu:
    most = max((item.count for item in fillings), default=0)
    return Menu(space=space, fillings=tuple(fillings), most=most, most_bound=most, refused="" if fillings else f"Nothing fits {space}.")


def context(
    spaces: list[str], *, cable_mm: dict[frozenset[str], float] | None = None, steps: Price = STEPS, front_axle_kg: float = 5000.0,
    rear_axle_kg: float = 5000.0, target: float = 45.0, strings: int = 1, fitted: int = 0, module_kg: float = 10.0, kinds: tuple[str, ...] = ("M",),
    luggage: tuple[Block, ...] = (Block(-400.0, -500.0, 300.0, 300.0, 500.0, 600.0),),
) -> Context:  # fmt: skip
    sets = [frozenset[str]()]
    for space in spaces:
        sets += [used | {space} for used in sets]
    ways = cable_mm or {used: 1000.0 * len(used) for used in sets}
    return Context(
        base=Stand(name="bare", front_left_kg=150, front_right_kg=150, rear_left_kg=150, rear_right_kg=150, x_mm=1200, y_mm=0, z_mm=500),
        wheelbase_mm=2400, limits=Limits(front_axle_kg=front_axle_kg, rear_axle_kg=rear_axle_kg, gross_kg=9000),
        worst={"front": (0.0, ""), "rear": (0.0, ""), "gross": (0.0, "")}, target_front_percent=target,
        kinds={kind: module_type(kind) for kind in kinds}, module_kg=dict.fromkeys(kinds, module_kg), plate_kg=0.0, luggage=luggage,
        chains={used: Chain(spaces=tuple(sorted(used)), before_disconnect=None, cable_mm=ways.get(used, 0.0)) for used in sets},
        strings=strings, units=(), fitted=fitted, labour_eur_per_hour=50.0, present=(), steps=steps,
    )  # fmt: skip
