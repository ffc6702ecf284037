"""The front held against HiGHS (scipy.optimize.milp), which knows nothing of how it is enumerated.

Epsilon-constraint method: the least height for at most so much luggage room lost, the limit tightened step by step, gives
every point of the two-goal front, each proven optimal by the solver. The same for split and cable.
"""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from arrangements import context, filling, menu
from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.context import STEPS
from halfshaft.studies.arrangement.front import front_of
from halfshaft.studies.arrangement.records import Menu

FINE = replace(STEPS, cg_height_mm=1e-6, split_off_percent=1e-7, luggage_lost_l=1e-6)
SPACES = [f"SP{number}" for number in range(1, 6)]


def made(seed: int) -> list[Menu]:
    chance = random.Random(seed)
    return [
        menu(
            space,
            [
                filling(space, chance.randint(1, 4), (500.0 * number - 400 + chance.randint(0, 40) * 10, -100.0, 150.0 + chance.randint(0, 40) * 10))
                for _ in range(5)
            ],
        )
        for number, space in enumerate(SPACES)
    ]  # fmt: skip


def best_two(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The best of some points in two goals."""
    kept: list[tuple[float, float]] = []
    for point in sorted(set(points)):
        if not kept or point[1] < kept[-1][1] - 1e-9:
            kept.append(point)
    return kept


def by_milp(menus: list[Menu], first: list[float], second: list[float], modules: int) -> list[tuple[float, float]]:
    """Every point of the front of two sums, by the epsilon-constraint method."""
    every = [item for found in menus for item in found.fillings]
    one_each = np.array([[float(item.space == space) for item in every] for space in SPACES])
    count = np.array([[float(item.count) for item in every]])
    points = []
    most = float("inf")
    while True:
        limits = [LinearConstraint(one_each, ub=1), LinearConstraint(count, modules, modules)]
        if most < float("inf"):
            limits.append(LinearConstraint(np.array([second]), ub=most))
        found = milp(
            np.array(first), constraints=limits, integrality=np.ones(len(every)), bounds=Bounds(0, 1), options={"mip_rel_gap": 0.0}
        )
        if not found.success:
            return points
        # Of all with that first sum the one with the least second sum.
        tight = milp(
            np.array(second),
            constraints=[*limits, LinearConstraint(np.array([first]), ub=found.fun + 1e-4)],
            integrality=np.ones(len(every)),
            bounds=Bounds(0, 1),
            options={"mip_rel_gap": 0.0},
        )
        picked = np.round(tight.x)
        points.append((float(picked @ np.array(first)), float(picked @ np.array(second))))
        most = points[-1][1] - 1e-3


@pytest.mark.parametrize("seed", range(6))
def test_height_against_luggage_is_what_highs_finds(seed: int) -> None:
    menus = made(seed)
    car = context(SPACES, steps=FINE, module_kg=10.0)
    # Boxes without mass: then every choice of nine modules weighs the same, and the height of the centre is a sum.
    told = ArrangementSettings(modules_min=9, modules_max=9, box_kg_per_m2=0.0)
    every = [item for found in menus for item in found.fillings]
    heights = [sum(10.0 * module.block.centre[2] for module in item.modules) for item in every]
    luggage = [sum(item.box.shared_l(room) for room in car.luggage) for item in every]
    total_kg = car.base.total_kg + 90.0
    proven = [((car.base.total_kg * 500.0 + height) / total_kg, lost) for height, lost in by_milp(menus, heights, luggage, 9)]
    front = front_of(menus, car, told)
    mine = best_two([(round(item.price.cg_height_mm, 6), round(item.price.luggage_lost_l, 6)) for item in front.arrangements])
    assert len(proven) == len(mine)
    for one, other in zip(mine, proven, strict=True):
        assert one == pytest.approx(other, abs=2e-5)


@pytest.mark.parametrize("seed", range(6))
def test_the_split_nearest_to_its_target_is_what_highs_finds(seed: int) -> None:
    menus = made(seed)
    car = context(SPACES, steps=FINE, module_kg=10.0, target=48.0)
    told = ArrangementSettings(modules_min=9, modules_max=9, box_kg_per_m2=0.0)
    every = [item for found in menus for item in found.fillings]
    fronts = [sum(10.0 * (1 - module.block.centre[0] / car.wheelbase_mm) for module in item.modules) for item in every]
    wanted_kg = 0.48 * (car.base.total_kg + 90.0) - car.base.front_kg
    # The distance is a variable of its own, no less than the difference either way.
    columns = len(every) + 1
    cost = np.array([0.0] * len(every) + [1.0])
    one_each = np.array([[*[float(item.space == space) for item in every], 0.0] for space in SPACES])
    count = np.array([[*[float(item.count) for item in every], 0.0]])
    found = milp(
        cost,
        constraints=[
            LinearConstraint(one_each, ub=1),
            LinearConstraint(count, 9, 9),
            LinearConstraint(np.array([[*fronts, -1.0]]), ub=wanted_kg),
            LinearConstraint(np.array([[*fronts, 1.0]]), lb=wanted_kg),
        ],
        integrality=np.array([1] * len(every) + [0]),
        bounds=Bounds(np.zeros(columns), np.array([1.0] * len(every) + [np.inf])),
        options={"mip_rel_gap": 0.0},
    )
    front = front_of(menus, car, told)
    nearest = min(item.price.split_off_percent for item in front.arrangements)
    assert nearest == pytest.approx(100 * found.fun / (car.base.total_kg + 90.0), abs=1e-5)
