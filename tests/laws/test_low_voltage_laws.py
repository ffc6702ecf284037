"""What must always hold on the 12 V side, whatever the demo's loads take."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.studies.low_voltage.records import CaseResult
from halfshaft.study import Study
from support import changed

REPO = Path(__file__).parents[2]
FEW = settings(max_examples=8, deadline=None)


@cache
def demo() -> Conversion:
    """The demo with its two heaviest cases, so that each example is quick."""
    whole = read_folder(REPO / "examples" / "tern")
    cases = {"night and rain", "limp"}
    return changed(
        whole,
        cases=tuple(case for case in whole.cases if case.ref in cases),
        case_loads=tuple(row for row in whole.case_loads if row.case in cases),
        case_contacts=tuple(row for row in whole.case_contacts if row.case in cases),
        case_units=tuple(row for row in whole.case_units if row.case in cases),
    )


def results_with(factors: dict[str, float]) -> tuple[CaseResult, ...]:
    """Cases with some loads taking more or less."""
    loads = tuple(load.model_copy(update={"steady_a": load.steady_a * factors.get(load.ref, 1.0)}) for load in demo().loads)
    study = Study(changed(demo(), loads=loads))
    assert study.low_voltage is not None
    return study.low_voltage.cases


FACTORS = st.dictionaries(
    st.sampled_from(["OL.blower", "OL.wipers", "FAN.motor", "VP.motor", "P1.motor", "DISP.logic"]), st.floats(0.2, 2.0)
)


@FEW
@given(FACTORS)
def test_what_the_sources_give_is_what_comes_back(factors):
    """The battery's minus wire and the converter's carry together what battery and converter give."""
    for case in results_with(factors):
        assert case.all is not None
        carried = {item.ref: abs(item.all_a) for item in case.carried}
        assert carried.get("W402", 0.0) + carried.get("W404", 0.0) == pytest.approx(case.all.total_a, abs=1e-4)


@FEW
@given(FACTORS)
def test_power_given_is_power_lost_and_used(factors):
    """Watts out of the posts are those of the loads and of every wire, fuse, contact, resistor and ground point."""
    for case in results_with(factors):
        assert case.all is not None
        lost_w = math.fsum(item.loss_w for item in case.carried)
        used_w = math.fsum((load.all_v or 0.0) * (load.all_a or 0.0) for load in case.loads)
        converter_v = 13.8 - 0.002 * case.all.converter_a
        # At its limit the converter gives fewer volts than its own; then only the battery's are known.
        if case.all.battery_a < 1e-6 or case.all.converter_a < 1e-6:
            volt = converter_v if case.all.battery_a < 1e-6 else case.all.battery_v
            assert lost_w + used_w == pytest.approx(case.all.total_a * volt, rel=1e-4)


@FEW
@given(st.sampled_from(["OL.blower", "OL.dipped beam", "P1.motor", "DISP.logic"]), st.floats(1.0, 1.8))
def test_more_of_a_load_lowers_the_volts_of_no_load_but_downwards(ref, factor):
    before, after = results_with({}), results_with({ref: factor})
    for one, other in zip(before, after, strict=True):
        for load in one.loads:
            volt = other.by_load[load.load].all_v
            assert (volt is None) == (load.all_v is None)
            assert volt is None or load.all_v is None or volt <= load.all_v + 1e-6


@FEW
@given(FACTORS)
def test_the_mean_is_no_more_than_all_at_once_and_a_start_no_less(factors):
    for case in results_with(factors):
        assert case.mean is not None
        assert case.all is not None
        assert case.start is not None
        assert case.mean.total_a <= case.all.total_a + 1e-6
        assert case.start.battery_v <= case.all.battery_v + 1e-6


def test_the_order_of_tables_changes_nothing():
    turned = changed(demo(), wires=tuple(reversed(demo().wires)), case_loads=tuple(reversed(demo().case_loads)))
    one, other = Study(demo()).low_voltage, Study(turned).low_voltage
    assert one is not None
    assert other is not None
    for first, second in zip(one.cases, other.cases, strict=True):
        for load in first.loads:
            assert second.by_load[load.load].all_v == (None if load.all_v is None else pytest.approx(load.all_v, abs=1e-6))
