"""The demo's bus, worked out by hand from its tables, and buses that are wired otherwise."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.electrics import Bus, BusNode
from halfshaft.study import Study
from rule_cases.changes import inside
from support import changed, halfshaft

TERN = Path(__file__).parents[2] / "examples" / "tern"


@pytest.fixture(scope="module")
def tern() -> Study:
    return Study(read_folder(TERN))


def test_units_stand_in_the_order_of_the_scenario_with_their_lengths(tern: Study) -> None:
    bus = tern.buses["CAN1"]
    # The scenario's can_nodes.csv; cut lengths of W148, W144, W142 (or W143), W116, W231, W233, W323, W325 and W327.
    assert [station.name for station in bus.order] == ["DISP", "DD", "S4/S5", "HTR", "VCU", "BMM", "CC", "CHG", "INV", "DCDC"]
    lengths = [tern.routing.wires[ref].length for ref in ("W148", "W144", "W142", "W116", "W231", "W233", "W323", "W325", "W327")]
    assert bus.trunk_mm == sum(length.cut_mm for length in lengths if length)
    assert bus.trunk_mm / 1000 == pytest.approx(6.6, abs=0.051)  # its README
    (stub,) = bus.stubs
    assert (stub.at, stub.units, stub.wires) == ("S4/S5", ("SVC",), ("W146", "W147"))
    assert bus.same_way
    assert bus.closing == ()
    assert bus.unlaid == ()


def test_terminators_are_found_in_the_units_that_hide_them(tern: Study) -> None:
    bus = tern.buses["CAN1"]
    assert {item.unit: (round(item.ohm), item.is_in, item.contact) for item in bus.terminators} == {
        "DISP": (120, True, ""),
        "DCDC": (120, True, ""),
        "BMM": (120, False, "BMM.terminator jumper"),
    }
    assert set(bus.ends) == {"DISP", "DCDC"}


def test_sixty_ohms_with_all_in_and_a_plug_that_carries_the_bus_through_splits_it(tern: Study) -> None:
    everything, *each = tern.buses["CAN1"].ohms
    assert [round(ohm or 0) for ohm, _ in everything.elsewhere] == [60]
    by_plug = {item.plug: item for item in each}
    # At the stub's plug the whole bus; at an end that other end; at the dial driver's each half by itself.
    assert [round(ohm or 0) for ohm in by_plug["SVC.A"].there] == [60]
    assert [round(ohm or 0) for ohm in by_plug["DISP.A"].there] == [121]
    assert [round(ohm or 0) for ohm in by_plug["DD.A"].there] == [121, 120]
    assert [round(ohm or 0) for ohm, _ in by_plug["DD.A"].elsewhere] == [120]


def test_readings_agree_with_the_sheet_to_fill(tern: Study) -> None:
    there = {item.plug: list(item.there) for item in tern.buses["CAN1"].ohms}
    sheet = [reading for reading in tern.bus_readings if reading.state.startswith("plug")]
    for reading in sheet:
        plug = reading.between[0].rpartition(".")[0]
        assert reading.expected in [pytest.approx(ohm, abs=1e-5) for ohm in there[plug]]
    assert len(sheet) == sum(map(len, there.values()))


def test_what_other_readings_mean_is_named(tern: Study) -> None:
    meanings = {None if item.ohm is None else round(item.ohm): item.words for item in tern.buses["CAN1"].meanings}
    assert sorted(ohm for ohm in meanings if ohm is not None) == [0, 40, 50, 57, 60, 120]
    assert "DISP is missing" in meanings[120]
    assert "DCDC is missing" in meanings[120]
    assert "300 Ω too many" in meanings[50]
    assert "BMM is in" in meanings[40]
    assert None in meanings


def test_the_load_is_that_of_the_readme(tern: Study) -> None:
    load = tern.buses["CAN1"].load
    assert load is not None
    assert load.load_percent == pytest.approx(8.6, abs=0.05)
    assert load.without_cycle == ()
    assert [item.frame_id for item in load.messages] == sorted(item.frame_id for item in load.messages)


def test_a_terminator_of_two_halves_with_a_middle_counts_as_one(tern: Study) -> None:
    conversion = inside("AT-DISP", "terminator", pin_b="~m", resistance_ohm=60.0)(tern.conversion)
    part = conversion.part["AT-DISP"]
    half = next(item for item in part.inside if item.ref == "terminator").model_copy(
        update={"ref": "other half", "pin_a": "~m", "pin_b": "A.4"}
    )
    parts = tuple(item.model_copy(update={"inside": (*item.inside, half)}) if item is part else item for item in conversion.parts)
    found = {item.unit: item.ohm for item in Study(changed(conversion, parts=parts)).buses["CAN1"].fitted}
    assert found == {"DISP": 120.0, "DCDC": 120.0}


def test_a_weak_terminator_beside_one_on_a_jumper_counts_as_what_is_in(tern: Study) -> None:
    """300 ohm fixed in the monitor, its 120 on the jumper out: the meter shows 60 beside 300, which is 50."""
    part = tern.conversion.part["AT-BMM"]
    weak = next(item for item in part.inside if item.ref == "terminator on jumper").model_copy(
        update={"ref": "weak", "pin_a": "A.3", "resistance_ohm": 300.0}
    )
    parts = tuple(item.model_copy(update={"inside": (*item.inside, weak)}) if item is part else item for item in tern.conversion.parts)
    bus = Study(changed(tern.conversion, parts=parts)).buses["CAN1"]
    (found,) = [item for item in bus.terminators if item.unit == "BMM"]
    assert (found.ohm, found.is_in, found.contact) == (300.0, True, "")
    assert bus.ohms[0].elsewhere[0][0] == pytest.approx(50, abs=0.3)
    assert next(item.words for item in bus.meanings if item.ohm == pytest.approx(50)).startswith("as the parts have it, but two are right")


def test_a_plug_that_holds_but_a_resistor_is_no_unit_to_list(tern: Study) -> None:
    """The display's part with all but its terminator taken out, and its row in bus_nodes.csv with it."""
    part = tern.conversion.part["AT-DISP"]
    kept = tuple(item for item in part.inside if item.kind == "resistor")
    conversion = changed(
        tern.conversion,
        parts=tuple(item.model_copy(update={"inside": kept}) if item is part else item for item in tern.conversion.parts),
        bus_nodes=tuple(node for node in tern.conversion.bus_nodes if node.device != "DISP"),
        loads=tuple(load for load in tern.conversion.loads if not load.ref.startswith("DISP.")),
        case_loads=tuple(row for row in tern.conversion.case_loads if not row.load.startswith("DISP.")),
    )
    study = Study(conversion)
    assert study.buses["CAN1"].not_listed == ("DISP",)
    assert [item for item in study.design_findings if item.rule == "bus.unit-not-listed"] == []


def test_a_broken_line_parts_the_bus_and_both_halves_are_told(tern: Study) -> None:
    conversion = changed(tern.conversion, wires=tuple(wire for wire in tern.conversion.wires if wire.ref not in ("W116", "W117")))
    study = Study(conversion)
    front, rear = sorted(study.buses["CAN1"].pieces, key=len)
    assert set(front) == {"DISP", "DD", "SVC", "HTR"}
    assert set(rear) == {"VCU", "BMM", "CC", "CHG", "INV", "DCDC"}
    (finding,) = [item for item in study.design_findings if item.rule == "bus.not-joined"]
    assert "no wire of it leads from there to BMM, CC, CHG and others" in finding.text
    assert set(finding.about) == {"CAN1", *front}


def test_two_buses_that_share_a_unit_are_told_apart_by_their_units(tern: Study) -> None:
    """The way through the controller is gone, and what lies before it is a bus of its own."""
    conversion = inside("AT-VCU", "CAN L through")(inside("AT-VCU", "CAN H through")(tern.conversion))
    front = ("DISP", "DD", "SVC", "HTR")
    nodes = [node.model_copy(update={"bus": "CAN2"}) if node.device in front else node for node in conversion.bus_nodes]
    conversion = changed(
        conversion,
        buses=(*conversion.buses, Bus(ref="CAN2", bit_rate_kbit_per_s=250.0)),
        bus_nodes=(*nodes, BusNode(bus="CAN2", device="VCU", sends_as="VCU")),
    )
    buses = Study(conversion).buses
    assert [station.name for station in buses["CAN2"].order] == ["DISP", "DD", "S4/S5", "HTR", "VCU"]
    assert [station.name for station in buses["CAN1"].order] == ["VCU", "BMM", "CC", "CHG", "INV", "DCDC"]
    assert all(bus.not_listed == () for bus in buses.values())
    assert buses["CAN2"].load is None
    assert [item.unit for item in buses["CAN2"].fitted] == ["DISP"]


def test_a_bus_of_which_nothing_is_wired_or_said_says_nothing(tern: Study) -> None:
    conversion = changed(tern.conversion, buses=(*tern.conversion.buses, Bus(ref="CAN2", bit_rate_kbit_per_s=250.0)))
    study = Study(conversion)
    assert study.buses["CAN2"].pieces == ()
    assert [item for item in study.design_findings if item.rule.startswith("bus.")] == []


def test_show_prints_words_and_json() -> None:
    words = halfshaft("show", TERN, "bus")
    assert words.returncode == 0, words.stderr
    assert "6.55 m from end to end" in words.stdout
    assert "Load 8.6 %" in words.stdout
    plain = json.loads(halfshaft("show", TERN, "bus", "--json").stdout)
    assert plain["CAN1"]["trunk_mm"] == 6550
    assert plain["CAN1"]["meanings"][0]["ohm"] is None
