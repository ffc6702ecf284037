"""What must always hold of the heat of cables."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.studies.cable.grouping import Loading, grouping_factor, loaded_count
from halfshaft.studies.cable.heat import Around, Body, body, current_for, lost_w_per_m, temperature_for
from halfshaft.studies.cable.transient import (
    Stretch,
    adiabatic_end_c,
    adiabatic_i2t_a2s,
    after,
    at_rest,
    curve,
    rms_a,
    seconds_to,
    steady,
    worst_rms_a,
)


@st.composite
def cables(draw: st.DrawFn) -> Body:
    """A cable of one to four cores, with a wall of a fifth of a millimetre to five."""
    section = draw(st.floats(0.2, 120))
    cores = draw(st.integers(1, 4))
    bare = body(section_mm2=section, outside_mm=1000.0, resistance_mohm_per_m=1.0, cores=cores).conductor_mm
    return body(
        section_mm2=section,
        outside_mm=bare + 2 * draw(st.floats(0.2, 5)),
        resistance_mohm_per_m=draw(st.floats(17, 20)) / section,
        cores=cores,
    )


@st.composite
def surroundings(draw: st.DrawFn) -> Around:
    """Air with or without a tube that holds the thickest of those cables."""
    bore = draw(st.sampled_from((0.0, 45.0, 60.0)))
    air = draw(st.sampled_from((0.0, 0.0, 2.0)))
    return Around(ambient_c=draw(st.floats(-30, 90)), air_m_per_s=air, tube_bore_mm=bore, tube_outside_mm=bore * 1.2)


PROFILES = st.lists(st.builds(Stretch, st.floats(0.1, 100), st.floats(0, 500)), min_size=1, max_size=8)


@given(cables(), surroundings(), st.floats(1, 100))
def test_amperes_for_a_temperature_and_back(cable, around, rise):
    found = current_for(cable, around, around.ambient_c + rise)
    assert found.conductor_c == pytest.approx(around.ambient_c + rise, abs=1e-3)
    assert temperature_for(cable, around, found.current_a).conductor_c == pytest.approx(around.ambient_c + rise, abs=1e-2)


@given(cables(), surroundings(), st.floats(1, 100))
def test_what_is_made_is_lost_and_flows_downhill(cable, around, rise):
    found = current_for(cable, around, around.ambient_c + rise)
    assert cable.made_w_per_m(found.current_a, found.conductor_c) == pytest.approx(found.heat_w_per_m, rel=1e-6)
    assert lost_w_per_m(cable, around, found.surface_c) == pytest.approx(found.heat_w_per_m, rel=1e-4)
    assert found.conductor_c >= found.surface_c >= around.ambient_c


@given(cables(), surroundings(), st.floats(1, 60), st.floats(1.05, 1.5), st.floats(1, 20))
def test_more_current_hotter_air_and_a_neighbour_are_warmer(cable, around, rise, more, hotter):
    current_a = current_for(cable, around, around.ambient_c + rise).current_a
    now = temperature_for(cable, around, current_a).conductor_c
    assert temperature_for(cable, around, more * current_a).conductor_c > now
    warmer = Around(
        ambient_c=around.ambient_c + hotter,
        air_m_per_s=around.air_m_per_s,
        tube_bore_mm=around.tube_bore_mm,
        tube_outside_mm=around.tube_outside_mm,
    )
    assert temperature_for(cable, warmer, current_a).conductor_c > now
    assert temperature_for(cable, around, current_a / grouping_factor(2)).conductor_c > now


@given(cables(), st.floats(-30, 90), st.floats(1, 100))
def test_moving_air_is_no_warmer_than_still(cable, ambient_c, rise):
    still, moving = Around(ambient_c=ambient_c), Around(ambient_c=ambient_c, air_m_per_s=3.0)
    current_a = current_for(cable, still, ambient_c + rise).current_a
    assert temperature_for(cable, moving, current_a).conductor_c <= ambient_c + rise + 1e-3


@settings(deadline=None, max_examples=25)
@given(cables(), surroundings(), st.floats(1, 60))
def test_heating_tends_to_steady_and_never_past_it(cable, around, rise):
    current_a = current_for(cable, around, around.ambient_c + rise).current_a
    end = around.ambient_c + rise
    moments = curve(cable, around, at_rest(around.ambient_c), current_a, (10, 100, 1000, 40_000))
    temperatures = [moment.conductor_c for moment in moments]
    assert all(later >= sooner - 1e-6 * rise for sooner, later in itertools.pairwise(temperatures))
    assert temperatures[-1] == pytest.approx(end, abs=0.02 * rise)
    assert temperatures[-1] < end + 0.01 * rise


@settings(deadline=None, max_examples=25)
@given(cables(), surroundings(), st.floats(1, 60), st.floats(1, 600))
def test_what_is_steady_stays(cable, around, rise, seconds):
    current_a = current_for(cable, around, around.ambient_c + rise).current_a
    start = steady(cable, around, current_a)
    assert after(cable, around, start, Stretch(seconds, current_a)).conductor_c == pytest.approx(start.conductor_c, abs=0.02 * rise)


@settings(deadline=None, max_examples=25)
@given(cables(), st.floats(0, 60), st.floats(5, 40), st.floats(0.05, 10))
def test_no_pulse_heats_more_than_without_any_loss(cable, ambient_c, per_mm2, seconds):
    current_a = per_mm2 * cable.section_mm2
    found = after(cable, Around(ambient_c=ambient_c), at_rest(ambient_c), Stretch(seconds, current_a)).conductor_c
    # The closed formula has rounded constants, and its copper the resistance of pure copper; ours is up to 20/17.241 of that.
    ratio = cable.resistance_mohm_per_m * cable.section_mm2 / 17.241
    assert ambient_c < found <= adiabatic_end_c(cable.section_mm2, ambient_c, 1.03 * ratio * current_a**2 * seconds) + 1e-6


@settings(deadline=None, max_examples=15)
@given(cables(), st.floats(0, 60), st.floats(1.3, 4))
def test_the_time_to_a_limit_is_when_it_is_met(cable, ambient_c, times):
    around = Around(ambient_c=ambient_c)
    limit_c = ambient_c + 60
    current_a = times * current_for(cable, around, limit_c).current_a
    seconds = seconds_to(cable, around, at_rest(ambient_c), current_a, limit_c)
    assert seconds is not None
    assert after(cable, around, at_rest(ambient_c), Stretch(seconds, current_a)).conductor_c == pytest.approx(limit_c, abs=1.5)
    assert seconds_to(cable, around, at_rest(ambient_c), 0.9 * current_a / times, limit_c) is None


@given(PROFILES, st.floats(0.1, 300))
def test_rms_lies_between_least_and_most(profile, window_s):
    currents = [item.current_a for item in profile]
    whole, worst = rms_a(profile), worst_rms_a(profile, window_s)
    assert min(currents) - 1e-6 <= whole <= max(currents) + 1e-6
    assert whole <= worst * (1 + 1e-9) + 1e-6 or sum(item.seconds for item in profile) > window_s
    assert worst <= max(currents) + 1e-6


@given(PROFILES, st.floats(1, 50), st.integers(0, 60))
def test_no_window_has_more_than_the_worst(profile, window_s, tenth):
    """Against windows begun anywhere, their heat summed bit by bit."""
    total_s = sum(item.seconds for item in profile)
    if total_s <= window_s:
        return
    start, heat, now = tenth / 60 * (total_s - window_s), 0.0, 0.0
    for item in profile:
        overlap = min(now + item.seconds, start + window_s) - max(now, start)
        heat += max(overlap, 0.0) * item.current_a**2
        now += item.seconds
    assert (heat / window_s) ** 0.5 <= worst_rms_a(profile, window_s) * (1 + 1e-9) + 1e-6


@given(st.lists(st.builds(Loading, st.floats(0.01, 50), st.floats(0.5, 100)), min_size=1, max_size=40))
def test_of_a_bundle_no_more_count_than_there_are_and_the_factor_falls(bundle):
    counted = loaded_count(bundle)
    assert 0 <= counted <= len(bundle)
    assert loaded_count([*bundle, Loading(100.0, 1.0)]) >= counted
    factors = [grouping_factor(number) for number in range(1, 100)]
    assert factors == sorted(factors, reverse=True)
    assert factors[0] == 1


@given(st.floats(0.1, 120), st.floats(-20, 140), st.floats(1, 200))
def test_withstand_and_end_temperature_are_inverse(section_mm2, start_c, rise):
    i2t = adiabatic_i2t_a2s(section_mm2, start_c, start_c + rise)
    assert adiabatic_end_c(section_mm2, start_c, i2t) == pytest.approx(start_c + rise, abs=1e-6)
