"""What must always hold of circles packed in a circle, whatever the search finds."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.studies.looms.circles import Packing, least_circle

# Wires of a loom: a few sizes, or any.
FEW_SIZES = st.sampled_from([1.4, 1.6, 1.9, 2.1, 3.0, 3.2, 4.4, 11.6])
bundles = st.one_of(st.lists(FEW_SIZES, min_size=1, max_size=18), st.lists(st.floats(0.3, 40), min_size=1, max_size=10))


def faults(packing: Packing, diameters: list[float]) -> list[str]:
    """Circles that stick out of the outer one, or lie over another, by more than a millionth."""
    found, slack = [], 1e-9 * packing.diameter_mm
    circles = list(zip(packing.centres_mm, diameters, strict=True))
    for place, diameter in circles:
        if math.hypot(*place) + diameter / 2 > packing.diameter_mm / 2 + slack:
            found.append(f"{diameter} at {place} sticks out")
    for (here, wide), (there, other) in itertools.combinations(circles, 2):
        if math.dist(here, there) < (wide + other) / 2 - slack:
            found.append(f"{wide} at {here} lies over {other} at {there}")
    return found


@settings(deadline=None, max_examples=60)
@given(bundles)
def test_no_circle_sticks_out_or_lies_over_another(diameters):
    packing = least_circle(diameters)
    assert faults(packing, diameters) == []
    assert packing.diameter_mm >= math.sqrt(math.fsum(diameter**2 for diameter in diameters)) - 1e-9
    assert packing.diameter_mm >= sum(sorted(diameters)[-2:]) - 1e-9


@settings(deadline=None, max_examples=4)
@given(st.lists(FEW_SIZES, min_size=4, max_size=12))
def test_more_effort_never_finds_more_and_proves_what_it_finds(diameters):
    thorough = least_circle(diameters, effort=2)
    assert faults(thorough, diameters) == []
    assert thorough.diameter_mm <= least_circle(diameters).diameter_mm + 1e-9


@settings(deadline=None, max_examples=40)
@given(bundles, st.randoms(use_true_random=False))
def test_the_order_of_the_wires_does_not_matter(diameters, order):
    shuffled = list(diameters)
    order.shuffle(shuffled)
    assert least_circle(shuffled).diameter_mm == least_circle(diameters).diameter_mm
    assert faults(least_circle(shuffled), shuffled) == []


@settings(deadline=None, max_examples=40)
@given(bundles, st.sampled_from([25.4, 0.1, 1 / 3, 1000.0]))
def test_a_bundle_in_another_unit_is_the_same_bundle(diameters, unit):
    scaled = least_circle([diameter * unit for diameter in diameters])
    assert scaled.diameter_mm == pytest.approx(unit * least_circle(diameters).diameter_mm, rel=1e-6)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(0.3, 40), min_size=3, max_size=3))
def test_the_closed_form_of_three_is_no_more_than_any_search_finds(diameters):
    """A fourth circle too small to matter sends three the way of the search."""
    exact = least_circle(diameters).diameter_mm
    assert least_circle([*diameters, 1e-3]).diameter_mm >= exact * (1 - 1e-6)


def test_nothing_is_no_circle():
    assert least_circle([]) == Packing(diameter_mm=0.0, centres_mm=())
