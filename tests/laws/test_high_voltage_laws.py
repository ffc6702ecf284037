"""What must always hold in the chain."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.model.electrics import HvInsulation
from halfshaft.model.pack import HvUnit
from halfshaft.studies.high_voltage.cases import PACK, draw
from halfshaft.studies.high_voltage.chain import Chain, Way
from halfshaft.studies.high_voltage.discharge import study_discharge
from halfshaft.studies.high_voltage.precharge import heat_j, least_load_ohm, link_v, time_to_s, time_with_load_s
from halfshaft.studies.network.records import Failure
from halfshaft.studies.pack.circuit import current_a
from halfshaft.studies.pack.links import Link
from halfshaft.studies.protection.curves import Curve

farads, ohms, volts = st.floats(1e-6, 0.05), st.floats(1.0, 5000.0), st.floats(70.0, 1000.0)
shares = st.floats(0.5, 0.999)


@given(volts, farads, ohms, st.floats(0.0, 20.0))
def test_what_the_source_gives_is_in_the_resistor_or_in_the_capacitor(emf_v, farad, ohm, times):
    """The source gives V times the charge that has passed."""
    tau_s = ohm * farad
    held_v = link_v(emf_v, tau_s, times * tau_s)
    given_j = emf_v * farad * held_v
    assert heat_j(emf_v, farad, tau_s, times * tau_s) + farad * held_v**2 / 2 == pytest.approx(given_j, rel=1e-9, abs=1e-9)


@given(shares, farads, ohms, st.floats(1.05, 50.0))
def test_the_least_load_just_closes_in_time(share, farad, ohm, longer):
    within_s = longer * time_to_s(share, ohm * farad)
    least = least_load_ohm(share, farad, ohm, within_s)
    assert least is not None
    assert least >= share * ohm / (1 - share) * (1 - 1e-12)
    assert time_with_load_s(share, farad, ohm, least) <= within_s
    assert time_with_load_s(share, farad, ohm, least * 0.99) > within_s


@given(shares, farads, ohms)
def test_no_load_at_all_where_it_is_too_slow_alone(share, farad, ohm):
    assert least_load_ohm(share, farad, ohm, 0.999 * time_to_s(share, ohm * farad)) is None


rows = st.lists(st.tuples(st.floats(0.1, 5000), st.floats(0.1, 500)), min_size=1, max_size=6)


@given(rows, volts)
def test_the_whole_link_is_neither_faster_than_the_fastest_unit_nor_slower_than_the_slowest(pairs, full_v):
    held = [HvInsulation(ref=f"U{n}", cx_uf=uf, passive_discharge_s=s) for n, (uf, s) in enumerate(pairs)]
    found = study_discharge(held, full_v)
    times = [seconds for _, seconds in pairs]
    assert min(times) * (1 - 1e-9) <= found.link.passive_s <= max(times) * (1 + 1e-9)
    assert found.wait_s >= found.link.passive_s


def chain(own: list[float], shared: float) -> Chain:
    """A star: the pack's plus, what all share, and a cable to each unit; all come back to one minus."""

    def link(ref: str, one: str, other: str, ohm: float) -> Link:
        return Link(ref=ref, kind="cables", one=one, other=other, resistance_ohm=ohm)

    def unit(ref: str) -> HvUnit:
        return HvUnit(ref=ref, operate_min_v=0.0, operate_max_v=1e3, withstand_max_v=1e3, current_peak_a=1e3, current_continuous_a=1e3)

    common = link("S", "plus", "star", shared)
    cables = tuple(link(f"C{n}", "star", f"U{n}.plus", ohm) for n, ohm in enumerate(own))
    ways = tuple(
        Way(unit=unit(f"U{n}"), name="", plus=(common, cable), minus=(), plus_at="plus", minus_at="minus", plus_poles=(f"U{n}.plus",), minus_poles=("minus",))
        for n, cable in enumerate(cables)
    )  # fmt: skip
    return Chain(ways=ways, shared=(common,), links=(common, *cables))


# Less than a ten-millionth counts as none.
some_ohms = st.one_of(st.just(0.0), st.floats(1e-6, 0.2))
branches = st.lists(st.tuples(some_ohms, st.floats(-20_000.0, 30_000.0)), min_size=1, max_size=5)


@settings(deadline=None)
@given(branches, some_ohms, volts, st.floats(0.01, 0.5))
def test_every_watt_is_accounted_for_and_every_unit_has_its_power(pairs, shared, emf_v, pack_ohm):
    joined = chain([ohm for ohm, _ in pairs], shared)
    found = draw(joined, emf_v, pack_ohm, {f"U{n}": watt for n, (_, watt) in enumerate(pairs)})
    if isinstance(found, Failure):
        return
    for item, (_, watt) in zip(found.units, pairs, strict=True):
        assert item.volts * item.current_a == pytest.approx(watt, rel=1e-6, abs=1e-6)
    taken_w = math.fsum(watt for _, watt in pairs)
    assert emf_v * found.current_a == pytest.approx(taken_w + found.loss_w, rel=1e-6, abs=1e-3)
    carried = {link.ref: link.current_a for link in found.links}
    assert carried.get("S", 0.0) == pytest.approx(abs(found.current_a), rel=1e-6, abs=1e-5)
    for item in found.units:
        assert carried.get(f"C{item.ref[1:]}", 0.0) == pytest.approx(abs(item.current_a), rel=1e-6, abs=1e-5)


@settings(deadline=None)
@given(volts, st.floats(0.01, 0.5), some_ohms, some_ohms, st.floats(-3.0, 0.98))
def test_one_unit_by_itself_is_the_smaller_root_of_its_square(emf_v, pack_ohm, shared, own, share):
    """`P = I (E - I R)`, in closed form, from far into charging up to just below the most that the pack gives."""
    power_w = share * emf_v**2 / 4 / (pack_ohm + shared + own)
    found = draw(chain([own], shared), emf_v, pack_ohm, {"U0": power_w})
    assert found.current_a == pytest.approx(current_a(emf_v, pack_ohm + shared + own, power_w), rel=1e-7, abs=1e-6)


@settings(deadline=None)
@given(st.floats(50.0, 1000.0), st.floats(0.01, 0.5), st.floats(0.001, 0.999), st.floats(1.001, 3.0))
def test_there_is_an_answer_below_the_most_that_the_source_gives_and_none_above(emf_v, pack_ohm, below, above):
    most_w = emf_v**2 / 4 / (pack_ohm + 0.001)
    joined = chain([0.0], 0.001)
    beyond = draw(joined, emf_v, pack_ohm, {"U0": above * most_w})
    assert isinstance(beyond, Failure)
    assert beyond.about == ("U0", PACK)
    found = draw(joined, emf_v, pack_ohm, {"U0": min(below, 0.99) * most_w})
    assert found.units[0].volts >= emf_v / 2


points = st.lists(st.tuples(st.floats(1.1, 3.0), st.floats(1.1, 20.0)), min_size=1, max_size=8)


@given(points, st.floats(10.0, 300.0), st.floats(1e-5, 2e3))
def test_a_fuse_opens_in_just_the_time_at_the_amperes_read_backwards(steps, first_a, seconds):
    amps, time_s, made = first_a, 1000.0, [(first_a, 1000.0)]
    for wider, sooner in steps:
        amps, time_s = amps * wider, time_s / sooner
        made.append((amps, time_s))
    curve = Curve(points=tuple(made))
    at = curve.opens_within_a(seconds)
    assert curve.opens_after_s(at) == pytest.approx(min(seconds, 1000.0), rel=1e-6)
    assert curve.opens_after_s(first_a * 0.99) is None
