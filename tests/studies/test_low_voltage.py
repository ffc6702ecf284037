"""Contacts, air, shares, relays and ways back of the 12 V side, on the demo and small changes to it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import CaseContact
from halfshaft.studies.low_voltage.air import air_c
from halfshaft.studies.low_voltage.records import CaseResult, LowVoltage
from halfshaft.study import Study
from rule_cases.changes import inside
from support import changed

REPO = Path(__file__).parents[2]


@cache
def demo() -> Conversion:
    return read_folder(REPO / "examples" / "tern")


def of(conversion: Conversion) -> LowVoltage:
    found = Study(conversion).low_voltage
    assert found is not None
    return found


@cache
def result() -> LowVoltage:
    return of(demo())


def case(name: str) -> CaseResult:
    return result().by_case[name]


def with_rows(table: str, **by_ref: dict[str, object]) -> Conversion:
    rows = [row.model_copy(update=by_ref.get(row.ref, {})) for row in getattr(demo(), table)]
    return changed(demo(), **{table: tuple(rows)})


def test_a_relay_is_closed_where_its_coil_is_on_and_open_elsewhere():
    """The fan runs at night, in the heat and while charging; K1 closes with the key."""
    assert {found.case for found in result().cases if "FRB.K2" in found.closed} == {"night and rain", "hot", "AC charging"}
    assert {found.case for found in result().cases if "FRB.K1" in found.closed} == {
        "key on", "day drive", "night and rain", "hot", "cold", "limp",
    }  # fmt: skip


def test_a_contact_that_a_load_needs_is_closed_and_its_drive_with_it():
    assert {"BMM.main plus drive", "VCU.pump 1 drive", "DD.fuel gauge drive", "IS.inertia"} <= set(case("day drive").closed)
    assert "CC.lock drive a" not in case("day drive").closed


def test_a_relay_whose_coil_no_row_names_is_driven_by_what_needs_it():
    rows = tuple(row for row in demo().case_loads if (row.case, row.load) != ("hot", "FRB.K2 coil"))
    found = of(changed(demo(), case_loads=rows)).by_case["hot"]
    assert found.driven == ("FRB.K2 coil",)
    assert found.by_load["FRB.K2 coil"].duty == 1.0
    assert found.by_load["FAN.motor"].all_v == pytest.approx(case("hot").by_load["FAN.motor"].all_v, abs=1e-6)


def test_a_listed_contact_wins_over_what_needs_it():
    rows = (*demo().case_contacts, CaseContact(case="hot", contact="FRB.K2", state="open"))
    found = of(changed(demo(), case_contacts=rows)).by_case["hot"]
    assert [(cut.load, cut.contacts) for cut in found.cut if cut.contacts] == [("FAN.motor", ("FRB.K2",))]
    assert found.by_load["FAN.motor"].all_v is None


@pytest.mark.parametrize(
    ("name", "zone", "air"), [("hot", "motor bay", 70), ("cold", "motor bay", 30), ("parked", "motor bay", 15), ("hot", "cabin", 45)]
)
def test_air_of_a_zone(name, zone, air):
    """The motor bay's 70 C are those of the 35 C case: 35 K above the outside; a car that stands is as warm as the air outside."""
    assert air_c(demo(), demo().case[name], [zone]) == air


def test_an_electronic_switch_that_is_closed_carries_current_one_way_only():
    """Both feeds of the stop lamps on: the controller's is the shorter way and carries most; nothing comes in through it when its fuse is out."""
    both = (*demo().case_contacts, CaseContact(case="day drive", contact="VCU.stop lamps switch", state="closed"))
    carried = {item.ref: item for item in of(changed(demo(), case_contacts=both)).by_case["day drive"].carried}
    switch = carried["VCU.stop lamps switch"]
    assert switch.kind == "contact"
    assert switch.all_a > 1
    assert switch.drop_v == pytest.approx(0.04 * switch.all_a)
    assert switch.all_a + carried["OL.old brake switch"].all_a == pytest.approx(3.5, abs=0.3)
    cut = changed(demo(), case_contacts=both, wires=tuple(wire for wire in demo().wires if wire.ref != "W236"))
    carried = {item.ref: item for item in of(cut).by_case["day drive"].carried}
    assert "VCU.stop lamps switch" not in carried
    assert carried["OL.old brake switch"].all_a == pytest.approx(3.3, abs=0.1)


def test_a_hot_converter_gives_less():
    assert case("hot").limit_a == 65
    cooler = changed(demo(), supply=demo().supply.model_copy(update={"converter_hot_above_c": 71.0}))
    assert of(cooler).by_case["hot"].limit_a == 80


def test_a_load_changed_in_its_table_acts_in_every_case_that_leaves_its_amperes_blank():
    found = of(with_rows("loads", **{"OL.blower": {"steady_a": 18.0}}))
    for before, after in zip(result().cases, found.cases, strict=True):
        load = before.by_load.get("OL.blower")
        more = 0.0 if load is None else 18.0 - 6.5
        assert after.asked_all_a - before.asked_all_a == pytest.approx(more)
        assert after.asked_mean_a - before.asked_mean_a == pytest.approx(more * (load.duty if load else 0))


def test_a_case_with_amperes_of_its_own_keeps_them():
    found = of(with_rows("loads", **{"VCU.logic": {"steady_a": 2.0}}))
    assert found.by_case["parked"].asked_all_a == pytest.approx(case("parked").asked_all_a)
    assert found.by_case["limp"].asked_all_a == pytest.approx(case("limp").asked_all_a + 0.9)


def test_the_converter_takes_its_output_by_its_efficiency():
    """Day drive: 17.1 A at 13.77 V behind its own 2 mohm, of 92 %."""
    found = case("day drive")
    assert found.mean is not None
    volt = 13.8 - 0.002 * found.mean.converter_a
    assert found.converter_w == pytest.approx(found.mean.converter_a * volt / 0.92, rel=1e-6)
    assert case("limp").converter_w is None


def test_a_battery_that_gives_nothing_lasts_for_ever():
    assert case("day drive").half_h is None
    assert case("parked").stands
    assert not case("key on").stands


def test_a_wire_is_told_with_what_its_terminals_waste():
    """W124, a 6.3 mm terminal of 1.5 mohm on each end."""
    (wire,) = [item for item in case("hot").carried if item.ref == "W124"]
    assert wire.kind == "wire"
    assert wire.all_a == pytest.approx(16.0, abs=1e-6)
    assert wire.contacts_w == pytest.approx(16**2 * 0.003, rel=1e-6)
    assert wire.loss_w == pytest.approx(wire.all_a * wire.drop_v)


def test_the_way_back_of_a_load_is_named_to_the_battery():
    ways = {item.load: item for item in result().returns}
    assert ways["FAN.motor"].way == ("W152", "GP1", "body", "GP5", "W402")
    assert ways["FRB.K2 coil"].way == ("W226", "VCU.fan drive", "W220", "W406", "GP6", "body", "GP5", "W402")
    assert ways["OL.rev counter"].way is None
    assert ways["OL.rev counter"].lost_with == ("ST4",)


def test_a_strap_that_is_there_brings_current_back():
    found = of(with_rows("straps", ST4={"removed_with": None}))
    ways = {item.load: item for item in found.returns}
    assert ways["OL.rev counter"].way == ("ST5", "ST4", "body", "GP5", "W402")
    assert found.by_case["day drive"].by_load["OL.rev counter"].all_a == pytest.approx(0.08)
    assert Study(with_rows("straps", ST4={"removed_with": None})).wires.paths


def test_suppression_is_found_in_the_part_or_as_the_catalogue_says():
    found = {coil.coil: coil.suppressed_by for coil in result().pull_ins}
    assert found["FRB.K1 coil"] == "680 ohm"
    assert found["HVDB.main plus coil"] == "built in"


def test_a_contactor_pulls_in_with_its_full_current():
    """3.6 ohm at the volts told, not the 0.35 A of its economiser."""
    (coil,) = [item for item in result().pull_ins if item.coil == "HVDB.main plus coil"]
    assert coil.case == "limp"
    assert coil.volt is not None
    assert coil.current_a == pytest.approx(coil.volt / 3.6)


def test_without_a_battery_or_its_ground_there_is_no_study():
    assert Study(changed(demo(), supply=demo().supply.model_copy(update={"battery": None}))).low_voltage is None
    wires = tuple(wire for wire in demo().wires if wire.ref != "W402")
    assert Study(changed(demo(), wires=wires)).low_voltage is None


def test_a_case_that_names_no_load_is_left_out():
    empty = demo().case["cold"].model_copy(update={"ref": "DC charging"})
    found = of(changed(demo(), cases=(*demo().cases, empty)))
    assert [item.case for item in found.cases] == [item.case for item in result().cases]


def test_without_a_converter_the_battery_stands_for_what_feeds_the_car():
    found = of(changed(demo(), supply=demo().supply.model_copy(update={"converter": None})))
    assert all(item.limit_a is None and item.half_h is None for item in found.cases)
    shares = found.by_case["day drive"].all
    assert shares is not None
    assert shares.battery_v == pytest.approx(13.8 - 0.014 * shares.battery_a)


def test_between_two_ground_points_lies_the_resistance_of_the_body():
    """1 milliohm in all, so half of it from each to the middle; nine amperes of the vacuum pump pass GP2."""
    carried = {item.ref: item for item in case("day drive").carried}
    assert carried["GP1"].ohm + carried["GP2"].ohm == pytest.approx(0.001)
    assert carried["GP2"].drop_v == pytest.approx(9 * 0.0005)
    assert carried["GP2"].loss_w == pytest.approx(9**2 * 0.0005)


def test_what_comes_together_at_a_ground_point_is_the_sum_of_its_wires():
    """GP1: the fan's 16 A, the pumps, and a pull-up; all of it flows into the stud."""
    found = {item.ref: item for item in result().grounds}["GP1"]
    assert found.wires["W152"] == pytest.approx(16)
    assert found.current_a == pytest.approx(sum(found.wires.values()))


def test_a_start_comes_on_top_of_what_a_contact_carries():
    """The fan takes 16 A and starts with 34, the vacuum pump 9 and 22; each is alone behind its relay."""
    found = {item.ref: (item.current_a, item.start_a) for item in result().contacts}
    assert found["FRB.K2"] == pytest.approx((16, 34))
    assert found["FRB.K3"] == pytest.approx((9, 22))


def test_each_kind_of_load_follows_its_volts():
    """As loads.csv has them at 13.8 V: lamps 9.2 A as a resistor, the pump 3.8 A as a power, the vacuum pump 9 A whatever its volts."""
    lamps = case("night and rain").by_load["OL.dipped beam"]
    assert lamps.all_a / lamps.all_v == pytest.approx(9.2 / 13.8)
    pump = case("day drive").by_load["P1.motor"]
    assert pump.all_a * pump.all_v == pytest.approx(3.8 * 13.8)
    assert case("day drive").by_load["VP.motor"].all_a == pytest.approx(9)
    # On for 8 % of the time.
    assert case("day drive").by_load["VP.motor"].mean_a == pytest.approx(0.08 * 9)
    stop = case("day drive").by_load["OL.stop lamps"]
    assert stop.mean_a / stop.mean_v == pytest.approx(0.15 * 3.5 / 13.8)


def test_what_sleeps_unlisted_takes_its_sleep_current():
    """The clock's 3 mA, and 1 mA of the converter that is off."""
    found = {leak.ref: leak.current_a for leak in case("key on").leaks if leak.kind == "unlisted"}
    assert found["OL.clock"] == pytest.approx(0.003)
    assert found["DCDC.sleep"] == pytest.approx(0.001)


def test_coils_pull_in_by_their_ohms():
    """3.6 ohm of a main contactor, 28.6 of the pre-charge, at the volts that they have."""
    found = {item.coil: item for item in result().pull_ins}
    assert found["HVDB.main plus coil"].current_a == pytest.approx(found["HVDB.main plus coil"].volt / 3.6)
    assert found["HVDB.pre-charge coil"].current_a == pytest.approx(found["HVDB.pre-charge coil"].volt / 28.6)
    # No case has it on: it is switched on in limp, where the battery has least.
    assert found["HVDB.pre-charge coil"].volt < case("limp").all.battery_v


def test_a_coil_with_an_economiser_is_held_with_its_amperes():
    """0.35 A, where its 3.6 ohm by themselves would take 3.7 A."""
    assert case("day drive").by_load["HVDB.main plus coil"].all_a == pytest.approx(0.35)
    fan_relay = case("hot").by_load["FRB.K2 coil"]
    assert fan_relay.all_a == pytest.approx(fan_relay.all_v / demo().element["FRB.K2 coil"].resistance_ohm)


def test_what_is_fed_back_takes_its_share_of_the_volts():
    """13.8 V behind 100 ohm and the 55.2 ohm as which the stabiliser's 0.25 A count."""
    found = of(inside("AT-DLOOM", "rev counter input", pin_a="A.1", pin_b="A.2", resistance_ohm=100.0)(demo()))
    leaks = [leak for result in found.cases for leak in result.leaks if leak.kind == "fed back"]
    most = max(leaks, key=lambda leak: leak.volt)
    assert most.volt == pytest.approx(13.8 * 55.2 / 155.2, rel=0.005)
    assert most.current_a == pytest.approx(most.volt / 55.2)
