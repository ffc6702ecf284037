"""Distances between runs against SciPy, a general-purpose library: the same two segments as a bounded least-squares problem."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from halfshaft.studies.looms.apart import Line, angle_deg, closest, share_within

# Whole millimetres, so that runs meet, overlap, lie parallel and have no length often enough.
coordinates = st.integers(-60, 60).map(lambda tens: 10.0 * tens)
places = st.tuples(coordinates, coordinates, coordinates)
lines = st.builds(lambda start, end: Line("U", start, end), places, places)


def least_distance(one: Line, other: Line) -> float:
    """Least |p + s d - q - t e| with s and t between 0 and 1, by scipy.optimize.lsq_linear."""
    p, q = np.array(one.start), np.array(other.start)
    d, e = np.array(one.end) - p, np.array(other.end) - q
    found = lsq_linear(np.column_stack([d, -e]), q - p, bounds=(0, 1), tol=1e-14, method="bvls")
    return float(np.linalg.norm(p + found.x[0] * d - q - found.x[1] * e))


@settings(deadline=None, max_examples=300)
@given(lines, lines)
def test_two_runs_are_as_far_apart_as_scipy_says(one, other):
    share, their_share = closest(one, other)
    assert 0.0 <= share <= 1.0
    assert 0.0 <= their_share <= 1.0
    assert math.dist(one.at(share), other.at(their_share)) == pytest.approx(least_distance(one, other), abs=1e-6)


@settings(deadline=None, max_examples=100)
@given(lines, lines, st.floats(1.0, 600.0))
def test_as_much_of_a_run_lies_within_a_limit_as_points_along_it_say(line, other, within_mm):
    """Two hundred points along the run, each one's distance from scipy."""
    count = 200
    near = sum(
        least_distance(Line("U", line.at((index + 0.5) / count), line.at((index + 0.5) / count)), other) <= within_mm
        for index in range(count)
    )
    assert share_within(line, other, within_mm=within_mm) == pytest.approx(near / count, abs=1.01 / count)


@pytest.mark.parametrize(
    ("end", "expected_deg"), [((1.0, 0.0, 0.0), 0.0), ((-1.0, 0.0, 0.0), 0.0), ((0.0, 5.0, 0.0), 90.0), ((1.0, math.sqrt(3.0), 0.0), 60.0)]
)
def test_angles_by_hand(end, expected_deg):
    assert angle_deg(Line("U1", (0, 0, 0), (7.0, 0, 0)), Line("U2", (0, 0, 0), end)) == pytest.approx(expected_deg, abs=1e-5)
