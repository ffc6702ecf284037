"""What must always hold of forces at feet: they balance the load, they are the least that do, and turning the car turns them."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from halfshaft.studies.bolt_group import can_hold, is_inside, share_out

places = st.tuples(*[st.floats(-900, 900).map(lambda mm: round(mm, 1))] * 3)
pulls = st.tuples(*[st.floats(-20_000, 20_000).map(lambda n: round(n, 1))] * 3)


@st.composite
def groups(draw, least=3, most=8):
    feet = draw(st.lists(places, min_size=least, max_size=most, unique=True))
    assume(can_hold(feet) and spread_mm(feet) > 30)
    return feet


def spread_mm(feet) -> float:
    """How far the feet lie off the line that they lie nearest to: the second singular value of their places."""
    numpy = pytest.importorskip("numpy")
    places = numpy.array(feet)
    return float(numpy.linalg.svd(places - places.mean(axis=0))[1][1])


def cross(a, b):
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@settings(max_examples=150, deadline=None)
@given(groups(), pulls, places)
def test_forces_and_moments_at_the_feet_balance_the_pull(feet, pull, centre):
    forces = share_out(pull, centre, feet)
    for axis in range(3):
        assert math.fsum(force[axis] for force in forces) == pytest.approx(-pull[axis], abs=1e-3)
        at_feet = math.fsum(cross(foot, force)[axis] for foot, force in zip(feet, forces, strict=True))
        assert at_feet == pytest.approx(-cross(centre, pull)[axis], abs=1.0)  # N mm, of some 20 million


@settings(max_examples=100, deadline=None)
@given(groups(), pulls, places)
def test_they_are_the_least_forces_that_balance(feet, pull, centre):
    """An independent solver: numpy's least-norm answer of the six equations of equilibrium."""
    numpy = pytest.importorskip("numpy")
    rows = numpy.zeros((6, 3 * len(feet)))
    for foot, (x, y, z) in enumerate(feet):
        here = slice(3 * foot, 3 * foot + 3)
        rows[:3, here] = numpy.eye(3)
        rows[3:, here] = numpy.array([[0, -z, y], [z, 0, -x], [-y, x, 0]]) / 1000
    wanted = -numpy.concatenate([pull, numpy.cross(centre, pull) / 1000])
    least = numpy.linalg.lstsq(rows, wanted, rcond=None)[0].reshape(-1, 3)
    scale = float(numpy.abs(least).max()) + 1.0
    assert numpy.abs(numpy.array(share_out(pull, centre, feet)) - least).max() < 1e-6 * scale


@settings(max_examples=60, deadline=None)
@given(groups(), pulls, places, places)
def test_moving_box_and_feet_together_changes_nothing(feet, pull, centre, by):
    def moved(place):
        return tuple(a + b for a, b in zip(place, by, strict=True))

    here = share_out(pull, centre, feet)
    there = share_out(pull, moved(centre), [moved(foot) for foot in feet])
    for a, b in zip(here, there, strict=True):
        assert a == pytest.approx(b, rel=1e-6, abs=0.01)


@settings(max_examples=100, deadline=None)
@given(places, places, st.lists(st.floats(0, 1), max_size=5))
def test_feet_on_one_line_hold_nothing(start, end, shares):
    between = [tuple(a + share * (b - a) for a, b in zip(start, end, strict=True)) for share in shares]
    assert not can_hold([start, *between, end])


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(-900, 900), st.floats(-900, 900)), min_size=3, max_size=9, unique=True), st.data())
def test_what_is_mixed_from_the_feet_lies_between_them_and_what_is_beyond_them_does_not(corners, data):
    shapely = pytest.importorskip("shapely")
    hull = shapely.MultiPoint(corners).convex_hull
    place = data.draw(st.tuples(st.floats(-1000, 1000), st.floats(-1000, 1000)))
    assume(hull.geom_type == "Polygon" and hull.boundary.distance(shapely.Point(place)) > 1e-3)
    assert is_inside(place, corners) == hull.contains(shapely.Point(place))
