"""What must always hold of a pack: orders that nothing beats, sums that balance, sides that make the whole."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.model.boxes import Box, ModulePlace, ModuleType
from halfshaft.studies.module_places import minus_stud, plus_stud
from halfshaft.studies.pack.apart import distance_mm, least_gap_mm
from halfshaft.studies.pack.circuit import current_a, max_power_w
from halfshaft.studies.pack.module_order import ways_of
from halfshaft.studies.pack.rows import InString
from halfshaft.studies.pack.shortest import Costs, least_order
from halfshaft.studies.pack.strings import String
from halfshaft.studies.pack.study import split_at

KIND = ModuleType(
    part="K", cells_in_series=8, cells_in_parallel=1, cell_nominal_v=3.65, cell_full_v=4.2, cell_empty_v=3.0, cell_stop_v=2.8,
    capacity_ah=79, energy_kwh=2.3, resistance_mohm=6.4, discharge_continuous_a=120, discharge_peak_a=240, charge_continuous_a=60,
    charge_peak_a=110, plus_along_mm=300, plus_across_mm=50, plus_above_mm=80, minus_along_mm=0, minus_across_mm=50, minus_above_mm=80,
)  # fmt: skip
BOX = Box(ref="B", space="S", x_min_mm=0, y_min_mm=0, z_min_mm=0, x_max_mm=2000, y_max_mm=1000, z_max_mm=300, wall_mm=2)


def table_costs(table: list[list[list[float]]], ends: list[list[float]]) -> Costs:
    """Costs from tables: between things by the ways of both, and of each thing at an end."""
    return Costs(
        first=lambda stand: ends[stand[0]][stand[1]],
        between=lambda one, other, _: table[2 * one[0] + one[1]][2 * other[0]][other[1]],
        last=lambda stand: ends[stand[0]][1 - stand[1]],
    )


@st.composite
def puzzles(draw):
    count = draw(st.integers(1, 6))
    number = st.integers(0, 50).map(float) | st.just(math.inf)
    table = [[[draw(number), draw(number)] for _ in range(2 * count)] for _ in range(2 * count)]
    ends = [[draw(st.integers(0, 50).map(float)) for _ in range(2)] for _ in range(count)]
    ways = [draw(st.integers(1, 2)) for _ in range(count)]
    return ways, table_costs(table, ends)


def all_orders(ways):
    for order in itertools.permutations(range(len(ways))):
        for turns in itertools.product(*(range(ways[index]) for index in order)):
            yield tuple(zip(order, turns, strict=True))


@settings(max_examples=40, deadline=None)
@given(puzzles())
def test_no_order_and_no_turn_beats_the_one_that_is_found(puzzle):
    ways, costs = puzzle
    found, least = least_order(ways, costs), min(costs.of(order) for order in all_orders(ways))
    assert (found is None) == math.isinf(least)
    if found is not None:
        assert sorted(index for index, _ in found) == list(range(len(ways)))
        assert costs.of(found) == least


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(20, 400), min_size=2, max_size=6), st.integers(0, 200))
def test_a_limit_on_what_lies_ahead_is_kept_and_nothing_allowed_is_better(volts, seed):
    """The last thing is a disconnect: it may stand at no end, and leaves no more than 70 % on either side."""
    count, whole = len(volts), sum(volts)
    far = [[(7 * a + 13 * b + seed) % 29 for b in range(count + 1)] for a in range(count + 1)]

    def between(one, other, ahead):
        share = sum(value for index, value in enumerate(volts) if ahead >> index & 1) / whole
        return math.inf if other[0] == count and not 0.3 <= share <= 0.7 else far[one[0]][other[0]]

    costs = Costs(
        first=lambda stand: math.inf if stand[0] == count else 0.0,
        between=between,
        last=lambda stand: math.inf if stand[0] == count else 0.0,
    )
    ways = [1] * (count + 1)
    found, least = least_order(ways, costs), min(costs.of(order) for order in all_orders(ways))
    assert (math.inf if found is None else costs.of(found)) == least


def place(index: int, plus_end: str, cooled_face: str) -> ModulePlace:
    return ModulePlace(
        ref=f"M{index}", module="K", order_in_string=index, x_min_mm=120.0 * index, y_min_mm=0, z_min_mm=0, x_max_mm=120.0 * index + 100,
        y_max_mm=300, z_max_mm=100, attitude="flat", cooled_face=cooled_face, plus_end=plus_end,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("plus_end", "cooled_face", "ways"), [("left", "down", 2), ("right", "up", 2), ("left", "front", 2), ("up", "front", 1)]
)
def test_a_module_turned_round_changes_its_poles_and_keeps_its_block(plus_end, cooled_face, ways):
    found = list(ways_of(place(1, plus_end, cooled_face), BOX))
    assert len(found) == ways
    if ways == 2:
        before, after = found
        assert plus_stud(after, KIND)[1] == pytest.approx(minus_stud(before, KIND)[1])
        assert minus_stud(after, KIND)[1] == pytest.approx(plus_stud(before, KIND)[1])


@given(st.floats(10, 1000), st.floats(0.001, 1), st.floats(0.001, 0.999))
def test_below_the_limit_the_higher_volts_are_taken_and_power_balances(emf_v, ohm, share):
    power_w = share * max_power_w(emf_v, ohm)
    amperes = current_a(emf_v, ohm, power_w)
    assert amperes is not None
    assert amperes * (emf_v - amperes * ohm) == pytest.approx(power_w, rel=1e-9)
    assert emf_v - amperes * ohm >= emf_v / 2 * (1 - 1e-6)
    assert current_a(emf_v, ohm, max_power_w(emf_v, ohm) * 1.001) is None


@given(st.integers(2, 20), st.data())
def test_both_sides_of_a_disconnect_make_the_whole(count, data):
    modules = tuple(InString(box="B", place=place(index, "left", "down"), kind=KIND) for index in range(1, count + 1))
    string = String(number=1, modules=modules, joins=())
    split = split_at(string, data.draw(st.integers(1, count - 1)))
    assert split.ahead_v + split.behind_v == pytest.approx(string.volts("cell_full_v"))
    assert 50 - 1e-9 <= split.larger_percent < 100


@given(st.floats(0.1, 999), st.floats(0.1, 999))
def test_more_volts_never_ask_for_a_smaller_gap(one, other):
    low, high = sorted((one, other))
    assert least_gap_mm(low) <= least_gap_mm(high)


spots = st.tuples(*[st.floats(-1000, 1000)] * 3)


@given(spots, spots, spots, st.floats(0, 1))
def test_no_place_on_a_bar_is_nearer_than_its_distance(spot, start, end, share):
    on_it = [a + share * (b - a) for a, b in zip(start, end, strict=True)]
    assert distance_mm(spot, start, end) <= math.dist(spot, on_it) + 1e-6
