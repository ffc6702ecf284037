"""What must always hold of fuses, of what wires bear, and of short circuits."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from halfshaft.studies.cable.choices import OVERLOAD_K
from halfshaft.studies.cable.heat import Around, body
from halfshaft.studies.cable.transient import seconds_to, steady
from halfshaft.studies.network.records import DcNetwork, Resistor, Solution, Source
from halfshaft.studies.network.solver import solve
from halfshaft.studies.network.thevenin import seen_from
from halfshaft.studies.protection.bands import CurveBand, Staircase, staircase
from halfshaft.studies.protection.bearing import Bearing
from halfshaft.studies.protection.curves import Curve
from halfshaft.studies.protection.study import not_selective_from_a

FAMILIES = st.sampled_from(["mini blade", "regular blade", "maxi blade", "strip"])
RATINGS = st.sampled_from([1.0, 2.0, 5.0, 7.5, 10.0, 20.0, 30.0, 40.0, 100.0])
CURRENTS = st.floats(0.1, 5000)


@st.composite
def staircases(draw: st.DrawFn) -> Staircase:
    found = staircase(draw(FAMILIES), draw(RATINGS))
    assert found is not None
    return found


@st.composite
def curve_bands(draw: st.DrawFn) -> CurveBand:
    """Points whose times fall by more than the square of the current rises, as those of every fuse do."""
    current_a, seconds = draw(st.floats(5, 200)), draw(st.floats(10, 2000))
    points = [(current_a, seconds)]
    for _ in range(draw(st.integers(1, 5))):
        ratio = draw(st.floats(1.1, 3))
        current_a, seconds = current_a * ratio, seconds / ratio ** draw(st.floats(2, 8))
        points.append((current_a, seconds))
    return CurveBand(curve=Curve(points=tuple(points)), held_a=points[0][0] / 1.6)


BANDS = st.one_of(staircases(), curve_bands())


@given(BANDS, CURRENTS)
def test_the_earliest_is_no_later_than_the_latest(band, current_a):
    assert 0 < band.earliest_s(current_a) <= band.latest_s(current_a)


@given(BANDS, CURRENTS, st.floats(1.0, 50))
def test_more_current_opens_no_later(band, current_a, times):
    assert band.earliest_s(current_a * times) <= band.earliest_s(current_a) * (1 + 1e-9)
    assert band.latest_s(current_a * times) <= band.latest_s(current_a) * (1 + 1e-9)


@given(staircases())
def test_the_staircase_passes_through_the_limits_of_the_standard(band):
    for limit in band.limits:
        assert band.earliest_s(limit.current_a) == limit.earliest_s
        assert band.latest_s(limit.current_a) == (math.inf if limit.latest_s is None else limit.latest_s)


@given(staircases(), st.floats(0.001, 0.999))
def test_any_falling_line_between_two_limits_stays_within_the_staircase(band, share):
    """A straight line on log-log paper from limit to limit is one of the many fuses that the standard allows."""
    for low, high in zip(band.limits[1:], band.limits[2:], strict=False):
        current_a = low.current_a * (high.current_a / low.current_a) ** share
        for one_s, other_s in ((low.earliest_s, high.earliest_s), (low.latest_s, high.latest_s)):
            assert band.earliest_s(current_a) <= one_s * (other_s / one_s) ** share <= band.latest_s(current_a) * (1 + 1e-12)


@given(BANDS, st.floats(0.001, 100))
def test_it_is_open_within_the_time_from_that_current_on(band, seconds):
    current_a = band.opens_within_a(seconds)
    assume(math.isfinite(current_a))
    assert band.latest_s(current_a * (1 + 1e-9)) <= seconds * (1 + 1e-6)


@given(BANDS, st.floats(1, 40), st.floats(0, 1))
def test_no_current_lasts_longer_or_lets_more_through_than_is_looked_at(band, most, share):
    """Whatever current there is up to the most: more amperes that last as long are among those that wires are held against.

    On a sloping stretch, a curve or beyond the last limit, one of its ends lets through as much I2t.
    """
    most_a = most * band.opens_from_a
    current_a = band.opens_from_a * most**share * (1 - 1e-12)
    assume(current_a >= band.opens_from_a)
    seconds, looked_at = band.latest_s(current_a), band.lasts(most_a)
    is_sloping = isinstance(band, CurveBand) or current_a > band.limits[-1].current_a
    if is_sloping:
        last_a = looked_at[-1][0] if isinstance(band, CurveBand) else band.limits[-1].current_a
        ends = [max((item for item in looked_at if item[0] <= current_a * (1 + 1e-9)), default=looked_at[-1])]
        ends += [min((item for item in looked_at if item[0] >= min(current_a, last_a) * (1 - 1e-9)), default=looked_at[-1])]
        assert max(a**2 * s for a, s in ends) >= current_a**2 * seconds * (1 - 1e-6)
    else:
        assert any(a >= current_a * (1 - 1e-9) and s >= seconds for a, s in looked_at)


@st.composite
def bearings(draw: st.DrawFn) -> Bearing:
    """A wire of 0.35 to 50 mm² in air, alone or in a bundle."""
    section = draw(st.sampled_from([0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 35.0, 50.0]))
    bare = body(section_mm2=section, outside_mm=1000.0, resistance_mohm_per_m=1.0).conductor_mm
    limit_c = draw(st.sampled_from([85.0, 100.0, 125.0]))
    return Bearing(
        body=body(section_mm2=section, outside_mm=bare + draw(st.floats(0.5, 2)), resistance_mohm_per_m=18.0 / section),
        around=Around(ambient_c=draw(st.floats(20, 75))),
        factor=draw(st.sampled_from([1.0, 0.8, 0.65, 0.5])),
        limit_c=limit_c,
        short_c=draw(st.sampled_from([160.0, 250.0])),
    )


@given(bearings(), st.floats(0.5, 5000), st.floats(1.0, 10))
def test_more_current_is_borne_no_longer(bearing, current_a, times):
    assert bearing.withstand_s(current_a * times) <= bearing.withstand_s(current_a) * (1 + 1e-9)


@given(bearings(), st.floats(0.5, 5000))
def test_a_heavier_wire_is_never_worse(bearing, current_a):
    section = bearing.body.section_mm2 * 1.5
    wall = bearing.body.outside_mm - bearing.body.conductor_mm
    bare = body(section_mm2=section, outside_mm=1000.0, resistance_mohm_per_m=1.0).conductor_mm
    heavier = bearing.thicker(body(section_mm2=section, outside_mm=bare + wall, resistance_mohm_per_m=18.0 / section))
    assert heavier.for_good_a() >= bearing.for_good_a()
    assert heavier.short_s(current_a) >= bearing.short_s(current_a)
    assert heavier.withstand_s(current_a) >= bearing.withstand_s(current_a) * (1 - 1e-9)


@given(bearings(), st.floats(0.1, 0.95))
def test_what_is_borne_for_good_has_no_end_and_more_has_one(bearing, share):
    most_a = bearing.for_good_a(OVERLOAD_K)
    assert bearing.overload_s(share * most_a) == math.inf
    assert bearing.overload_s(1.01 * most_a) < math.inf
    assert bearing.reaches_c(most_a, math.inf) == pytest.approx(bearing.limit_c + OVERLOAD_K, abs=0.1)


@settings(max_examples=12, deadline=None)
@given(bearings(), st.floats(1.2, 3))
def test_the_one_time_constant_is_on_the_safe_side_of_the_whole_balance(bearing, times):
    """Alone, begun at its class: conductor, six shells of insulation and air, step by step, take longer to 50 K more."""
    alone = Bearing(body=bearing.body, around=bearing.around, factor=1.0, limit_c=bearing.limit_c, short_c=bearing.short_c)
    current_a = times * alone.for_good_a(OVERLOAD_K)
    start = steady(alone.body, alone.around, alone.for_good_a())
    whole_s = seconds_to(alone.body, alone.around, start, current_a, alone.limit_c + OVERLOAD_K, at_most_s=3000)
    assume(whole_s is not None)
    assert alone.overload_s(current_a) <= whole_s * 1.02


@st.composite
def lines(draw: st.DrawFn) -> DcNetwork:
    """A battery and a line of wires away from it, with side ways back to earlier nodes and to ground."""
    count = draw(st.integers(2, 7))
    ohms = st.floats(1e-4, 1.0)
    resistors = [Resistor(ref=f"W{k}", start=f"n{k}", end=f"n{k + 1}", ohm=draw(ohms)) for k in range(count)]
    for k in range(draw(st.integers(0, 3))):
        one, other = draw(st.integers(0, count)), draw(st.integers(0, count))
        resistors.append(Resistor(ref=f"side {k}", start=f"n{one}", end=f"n{other}", ohm=draw(ohms)))
    if draw(st.booleans()):
        resistors.append(Resistor(ref="leak", start=f"n{draw(st.integers(0, count))}", end="0", ohm=draw(st.floats(1, 1000))))
    return DcNetwork(
        ground="0", resistors=tuple(resistors), sources=(Source(ref="battery", plus="n0", minus="0", volt=12.8, ohm=draw(st.floats(1e-3, 0.1))),)
    )  # fmt: skip


@settings(deadline=None)
@given(lines(), st.data())
def test_a_fault_by_one_factorisation_is_what_the_whole_network_gives(network, data):
    nodes = sorted({item.end for item in network.resistors} - {"0"})
    node = data.draw(st.sampled_from(nodes))
    seen = seen_from(network, [node], frozenset({"W0"}))[node]
    shorted = DcNetwork(
        ground="0", resistors=(*network.resistors, Resistor(ref="fault", start=node, end="0", ohm=1e-6)), sources=network.sources
    )  # fmt: skip
    found = solve(shorted)
    assert isinstance(found, Solution)
    assert seen.volt / (seen.ohm + 1e-6) == pytest.approx(found.current_a["fault"], rel=1e-5)
    without_leak = not any(item.ref == "leak" for item in network.resistors)
    if without_leak:
        assert seen.share["W0"] * found.current_a["fault"] == pytest.approx(abs(found.current_a["W0"]), rel=1e-5, abs=1e-6)


@given(st.lists(st.floats(1e-4, 1.0), min_size=2, max_size=8))
def test_shorts_fall_with_distance(ohms):
    resistors = tuple(Resistor(ref=f"W{k}", start=f"n{k}", end=f"n{k + 1}", ohm=ohm) for k, ohm in enumerate(ohms))
    network = DcNetwork(ground="0", resistors=resistors, sources=(Source(ref="battery", plus="n0", minus="0", volt=12.8, ohm=0.01),))
    nodes = [f"n{k}" for k in range(len(ohms) + 1)]
    found = [seen_from(network, nodes)[node].fault_a for node in nodes]
    assert found == sorted(found, reverse=True)


def test_what_is_not_joined_to_ground_is_not_seen():
    network = DcNetwork(ground="0", resistors=(Resistor(ref="R", start="a", end="b", ohm=1.0),))
    assert seen_from(network, ["a", "b", "c"]) == {}


@given(BANDS, BANDS, st.floats(2, 2000), st.floats(1.0, 5))
def test_a_larger_short_is_selective_no_oftener(before, after, most_a, times):
    smaller, larger = not_selective_from_a(before, after, most_a), not_selective_from_a(before, after, most_a * times)
    assert smaller is None or larger is not None


@given(FAMILIES, st.sampled_from([40.0, 60.0, 100.0]), FAMILIES, st.sampled_from([1.0, 2.0, 5.0, 10.0]), st.floats(1, 40), st.floats(0, 1))
def test_where_it_is_called_selective_it_is_at_every_current(family, rating_a, family_after, rating_after_a, most, share):
    before, after = staircase(family, rating_a), staircase(family_after, rating_after_a)
    assert before is not None
    assert after is not None
    from_a = not_selective_from_a(before, after, most * after.opens_from_a)
    current_a = after.opens_from_a * most**share
    assume(from_a is None or current_a < from_a)
    assert before.earliest_s(current_a) > after.latest_s(current_a) * (1 - 1e-6)


@given(BANDS)
def test_two_alike_are_never_selective(band):
    assert not_selective_from_a(band, band, 10 * band.opens_from_a) is not None
