"""Cars whose electrics are small or half described: what is there is told, and nothing else."""

from __future__ import annotations

import pytest

from halfshaft.model.conversion import Conversion
from halfshaft.show.commissioning import commissioning
from halfshaft.studies.commissioning.twelve import NO_CASE
from halfshaft.study import Study
from support import changed

NO_HIGH_VOLTAGE = {"boxes": (), "cables": (), "cable_cores": (), "bonds": (), "hv_insulation": (), "hv_units": (), "case_units": ()}


def small(tern: Conversion) -> Conversion:
    """The demo without its battery boxes and cables, with one case only."""
    loads = tuple(row for row in tern.case_loads if row.case == "key on")
    return changed(tern, **NO_HIGH_VOLTAGE, case_loads=loads)


def test_cases_without_loads_are_passed_over(tern):
    """The blank cases.csv holds nine; who fills one has a sheet for that one."""
    sheet = Study(small(tern)).commissioning
    assert [stage.key for stage in sheet.stages] == ["dead", "12 V"]
    assert {step.part for step in sheet.steps if step.stage == "12 V"} == {"volts", "outputs"}


def test_a_car_without_high_voltage_has_no_disconnect_to_pull_and_no_link_to_measure(tern):
    study = Study(small(tern))
    assert study.high_voltage is None
    told = commissioning(study)
    assert "disconnect" not in told
    assert "High voltage" not in told
    assert "DEAD TESTS. 12 V battery's minus off." in told


def test_a_pack_without_contactors_has_no_link(tern):
    settings = tern.high_voltage.model_copy(update={"main_plus": None, "main_minus": None})
    assert Study(changed(tern, high_voltage=settings)).commissioning.of("link") == ()
    assert len(Study(tern).commissioning.of("link")) == 1


def test_where_no_case_has_loads_the_sheet_says_why_it_has_no_volts(tern):
    assert Study(changed(tern, case_loads=())).commissioning.unsaid == (NO_CASE,)


@pytest.mark.parametrize(("converter", "volts"), [("", 13.8), ("off", 12.8)])
def test_without_a_converter_the_battery_stands_for_it_unless_the_case_says_off(tern, converter, volts):
    """12.8 V is what its part says; by its 14 milliohm and the wires to the posts it has a little less with loads on."""
    cases = tuple(case.model_copy(update={"converter": converter}) for case in tern.cases if case.ref == "key on")
    supply = tern.supply.model_copy(update={"converter": None})
    loads = tuple(row for row in tern.case_loads if row.case == "key on")
    (case,) = Study(changed(tern, cases=cases, supply=supply, case_loads=loads)).low_voltage.cases
    assert volts - 0.15 < case.all.battery_v < volts
