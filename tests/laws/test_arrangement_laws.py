"""What must hold of every front: it is what naive enumeration finds, in any order of menus, and no limit is broken."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from arrangements import context, filling, menu
from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.best import _best_in_pairs, _ranks, best_of
from halfshaft.studies.arrangement.context import STEPS, Context
from halfshaft.studies.arrangement.front import front_of
from halfshaft.studies.arrangement.pricing import GOALS
from halfshaft.studies.arrangement.records import Filling, Menu

SPACES = ("SP1", "SP2", "SP3")
FINE = replace(
    STEPS, cg_height_mm=1e-4, split_off_percent=1e-5, luggage_lost_l=1e-4, hv_cable_m=1e-4, yaw_change_kg_m2=1e-4, energy_kwh=1e-4
)


@st.composite
def menus(draw: st.DrawFn, kinds: tuple[str, ...] = ("M",)) -> list[Menu]:
    made = []
    for number, space in enumerate(SPACES[: draw(st.integers(1, 3))]):
        fillings = [
            filling(
                space,
                draw(st.integers(1, 4)),
                (1000.0 * number - 600 + draw(st.integers(0, 9)) * 13, draw(st.integers(-40, 40)) * 10.0, 200.0 + draw(st.integers(0, 30)) * 10),
                module=draw(st.sampled_from(kinds)),
                wide_mm=200.0 + draw(st.integers(0, 4)) * 10,
            )
            for _ in range(draw(st.integers(0, 4)))
        ]  # fmt: skip
        made.append(menu(space, fillings))
    return made


def naive_price(fillings: tuple[Filling, ...], car: Context, box_kg_per_m2: float) -> tuple[float, ...]:
    """The seven goals by the book: every block by itself, inertia of the bare car and all blocks about the centre of both."""
    masses, places, own = [car.base.total_kg], [(car.base.x_mm, car.base.y_mm, car.base.z_mm or 0.0)], [0.0]
    lost, energy = 0.0, 0.0
    for item in fillings:
        x, y, z = item.box.size
        area_m2 = 2 * (x * y + y * z + z * x) / 1e6
        # The shell as six walls, each a plate with its own mass.
        for axis in range(3):
            a, b = (side for index, side in enumerate((x, y, z)) if index != axis)
            for sign in (-1, 1):
                masses.append(box_kg_per_m2 * a * b / 1e6)
                place = list(item.box.centre)
                place[axis] += sign * (x, y, z)[axis] / 2
                places.append((place[0], place[1], place[2]))
                own.append(((x * x if axis != 0 else 0) + (y * y if axis != 1 else 0)) / 12)
        assert area_m2 == pytest.approx(sum(masses[-6:]) / box_kg_per_m2 if box_kg_per_m2 else area_m2)
        for module in item.modules:
            masses.append(car.module_kg[module.module])
            places.append(module.block.centre)
            own.append((module.block.size[0] ** 2 + module.block.size[1] ** 2) / 12)
            energy += car.kinds[module.module].energy_kwh
        lost += sum(item.box.shared_l(room) for room in car.luggage)
    total = math.fsum(masses)
    centre = [math.fsum(mass * place[axis] for mass, place in zip(masses, places, strict=True)) / total for axis in range(3)]
    front = 100 * (1 - centre[0] / car.wheelbase_mm)
    yaw = math.fsum(
        mass * (k2 + (place[0] - centre[0]) ** 2 + (place[1] - centre[1]) ** 2) / 1e6
        for mass, place, k2 in zip(masses, places, own, strict=True)
    )
    used = frozenset(item.space for item in fillings)
    cable_m = car.chains[used].cable_mm / 1000 * car.strings
    return (centre[2], abs(front - car.target_front_percent), lost, len(used), cable_m, yaw, -energy)


def naive_front(made: list[Menu], car: Context, told: ArrangementSettings) -> set[tuple[int, ...]]:
    """Prices in steps of the best of all choices, each held against each."""
    points = set()
    low, high = told.modules_min or 1, told.modules_max or 99
    for picks in itertools.product(*[(None, *item.fillings) for item in made]):
        fillings = tuple(item for item in picks if item is not None)
        tally: dict[str, int] = {}
        for item in fillings:
            for module, count in item.counts:
                tally[module] = tally.get(module, 0) + count
        if not fillings or not low <= sum(tally.values()) <= high or len(fillings) > (told.boxes_max or 99):
            continue
        if any(count % car.strings for count in tally.values()):
            continue
        price = naive_price(fillings, car, told.box_kg_per_m2)
        battery = [(car.module_kg[m.module], m.block.centre[0]) for item in fillings for m in item.modules]
        for item in fillings:
            x, y, z = item.box.size
            battery.append((told.box_kg_per_m2 * 2 * (x * y + y * z + z * x) / 1e6, item.box.centre[0]))
        rear = car.base.rear_kg + sum(mass * x / car.wheelbase_mm for mass, x in battery)
        front = car.base.front_kg + sum(mass * (1 - x / car.wheelbase_mm) for mass, x in battery)
        if front > car.limits.front_axle_kg or rear > car.limits.rear_axle_kg:
            continue
        points.add(tuple(math.floor(value / getattr(car.steps, goal) + 0.500_001) for value, goal in zip(price, GOALS, strict=True)))
    return {
        one
        for one in points
        if not any(other != one and all(a <= b for a, b in zip(other, one, strict=True)) for other in points)
    }  # fmt: skip


def in_whole_steps(front_prices: list[tuple[float, ...]], car: Context) -> set[tuple[int, ...]]:
    return {
        tuple(math.floor(value / getattr(car.steps, goal) + 0.500_001) for value, goal in zip(price, GOALS, strict=True))
        for price in front_prices
    }


@settings(max_examples=60, deadline=None)
@given(menus(), st.integers(1, 6), st.integers(0, 5), st.integers(1, 3), st.sampled_from((302.0, 330.0, 5000.0)), st.sampled_from((1, 2)))
def test_the_front_is_what_naive_enumeration_finds(
    made: list[Menu], low: int, more: int, boxes_max: int, rear_kg: float, strings: int
) -> None:
    told = ArrangementSettings(modules_min=low, modules_max=low + more, boxes_max=boxes_max)
    car = context(list(SPACES), rear_axle_kg=rear_kg, strings=strings)
    front = front_of(made, car, told)
    found = [naive_price(item.fillings, car, told.box_kg_per_m2) for item in front.arrangements]
    assert in_whole_steps(found, car) == naive_front(made, car, told)
    assert len(found) == len(in_whole_steps(found, car))
    for item, price in zip(front.arrangements, found, strict=True):
        values = [getattr(item.price, goal) for goal in GOALS]
        # Yaw inertia of the bare car about the new centre is in the naive one, and is what parallel axes take off.
        assert values[:6] == pytest.approx(price[:6], abs=1e-6)
        assert item.rear_kg <= rear_kg + 1e-6


@settings(max_examples=20, deadline=None)
@given(menus(("M", "N")))
def test_mixed_types_and_any_order_of_menus_and_fillings(made: list[Menu]) -> None:
    told = ArrangementSettings(modules=("M", "N"), modules_min=2, modules_max=7)
    car = context(list(SPACES), kinds=("M", "N"))
    front = front_of(made, car, told)
    found = [naive_price(item.fillings, car, told.box_kg_per_m2) for item in front.arrangements]
    assert in_whole_steps(found, car) == naive_front(made, car, told)
    turned = [replace(item, fillings=tuple(reversed(item.fillings))) for item in reversed(made)]
    assert [item.price for item in front_of(turned, car, told).arrangements] == pytest.approx([item.price for item in front.arrangements])


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(*[st.integers(0, 6)] * 4), min_size=1, max_size=60), st.integers(0, 3))
def test_both_ways_of_comparing_keep_the_same_points(rows: list[tuple[int, ...]], seed: int) -> None:
    points = np.array(rows, dtype=np.int64)
    score = np.random.default_rng(seed).integers(0, 3, len(points)).astype(float)
    naive = [
        i
        for i in range(len(points))
        if not any((points[j] <= points[i]).all() and (points[j] < points[i]).any() for j in range(len(points)))
        and not any((points[j] == points[i]).all() and (score[j], j) < (score[i], i) for j in range(len(points)))
    ]
    assert best_of(points, score).tolist() == naive
    ranks = np.stack([_ranks(points[:, column]) for column in range(4)], axis=1)
    assert _best_in_pairs(ranks, score).tolist() == naive
