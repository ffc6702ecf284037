"""A car with one thing wrong, measured: the filled sheet names just that.

What the meters show is worked out here, by other ways than the program's: by the text of the line, by the fault-finder's table, or by
solving the whole car once more with the fault in it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from commissioned import line, lines, right, suspected, told
from halfshaft.model.conversion import Conversion
from halfshaft.studies.low_voltage.cases import pins_of
from halfshaft.study import Study

FUSES = ("BAT.FL1", "FL.FL2", *(f"FRB.F{number}" for number in range(1, 19)))


@pytest.fixture(scope="module")
def study(tern: Conversion) -> Study:
    return Study(tern)


def test_a_right_car_passes_whole(study):
    diagnosis = told(study, {})
    assert diagnosis.is_good
    assert diagnosis.explanations == ()
    assert diagnosis.told == ()


def test_a_bond_that_lies_on_paint(study):
    bad = line(study, "bonding", "CHG case")
    diagnosis = told(study, {bad.reading.number: 850.0})
    assert suspected(diagnosis) == [("BD4",)]
    assert "Strap BD4 is loose, lies on paint, or is missing." in diagnosis.explanations[0].suspects[0].text


def test_a_bond_through_another_case_is_told_from_that_case(tern):
    """The inverter is bonded to the motor here, and the motor to the body: what is bad shows in one strap and in what goes through it."""
    bonds = tuple(bond.model_copy(update={"to": "MOT"}) if bond.ref == "BD2" else bond for bond in tern.bonds)
    study = Study(tern.model_copy(update={"bonds": bonds}))
    whole = line(study, "bonding", "INV case", "body, bare metal")
    strap = line(study, "bonding", "INV case", "'MOT'")
    first = line(study, "bonding", "MOT case")
    assert whole.reading.expected == pytest.approx(strap.reading.expected + first.reading.expected)
    assert suspected(told(study, {whole.reading.number: 170.0, first.reading.number: 160.0})) == [("BD1",)]
    assert suspected(told(study, {whole.reading.number: 170.0, strap.reading.number: 160.0})) == [("BD2",)]
    both = suspected(told(study, {whole.reading.number: 310.0, first.reading.number: 160.0, strap.reading.number: 160.0}))
    assert sorted(both) == [("BD1",), ("BD2",)]


def test_a_ground_point_that_is_corroded_and_the_minus_lead_that_all_share(study):
    one = line(study, "grounds", "GP3, its stud")
    assert suspected(told(study, {one.reading.number: 240.0})) == [("GP3",)]
    every = {step.reading.number: (step.reading.expected or 0.0) + 80.0 for step in lines(study, "grounds", "its stud")}
    assert suspected(told(study, every)) == [("W402",)]


def test_crossed_cores_of_a_cable(study):
    straight = [step for step in study.commissioning.of("cables") if step.senses[0].ref == "C8" and step.reading.quantity == "resistance"]
    crossed = [step for step in study.commissioning.of("cables") if step.senses[0].ref == "C8" and step.reading.quantity == "open"]
    found = {step.reading.number: math.inf for step in straight} | {step.reading.number: 0.005 for step in crossed}
    assert suspected(told(study, found)) == [("C8",)]


def test_a_break_of_the_interlock_lies_between_the_last_good_line_and_the_first_bad_one(study):
    loop = study.commissioning.of("interlock")
    first_bad = next(index for index, step in enumerate(loop) if "B3.A.2" in step.reading.between)
    found = {step.reading.number: math.inf for step in loop[first_bad:]}
    (names,) = suspected(told(study, found))
    assert set(names) == {"W305", "B3.loop"}


def test_a_plug_that_does_not_open_the_interlock(study):
    bad = line(study, "interlock opens", "HVDB.D pulled")
    diagnosis = told(study, {bad.reading.number: 1.3})
    assert suspected(diagnosis) == [("HVDB.loop at HVDB.D",)]
    assert "stays closed" in diagnosis.explanations[0].suspects[0].text


def test_a_terminator_too_many_is_told_by_the_study_of_the_bus(study):
    """A third one of 120 ohm beside the two: what is read falls at every plug."""
    found = {step.reading.number: 1 / (1 / step.reading.expected + 1 / 120) for step in study.commissioning.of("bus")}
    diagnosis = told(study, found)
    assert diagnosis.failed
    assert any("120" in item.text or "ohm" in item.text or "Ω" in item.text for item in diagnosis.explanations[0].suspects)


@pytest.mark.parametrize("unit", ["B1", "B3", "INV", "CHG", "DCDC", "HTR"])
def test_low_insulation_that_is_good_with_one_unit_unplugged_is_that_unit(study, unit):
    """50 kilohm to the body in one unit, wherever it is joined; which units are joined in a line is read from its text and from the steps of splitting."""
    joined = {step.number: {name.partition(".")[0] for name in step.joined} for step in study.hv_safety.insulation.splits}
    found = {}
    for step in study.commissioning.of("insulation"):
        reading = step.reading
        if reading.is_optional:
            units = joined[int(reading.state.partition(" step ")[2].partition(":")[0])]
        elif " plugs in: " in reading.state:
            units = set(reading.state.partition(" plugs in: ")[2].split(", "))
        else:
            units = {reading.between[0].partition(",")[0]}
        if unit in units:
            found[reading.number] = 1 / (1 / reading.expected + 1 / 0.05)
    assert len(found) > 1
    (names,) = suspected(told(study, found))
    assert {name.partition(".")[0] for name in names} == {unit}


def test_low_insulation_of_a_side_alone_asks_for_splitting(study):
    """All units pass by themselves, so it is what joins them: nothing but the side is named, and all that is on it."""
    whole = line(study, "insulation", "behind them", "plugs in")
    blank = {step.reading.number: None for step in study.commissioning.of("insulation") if step.reading.is_optional}
    (names,) = suspected(told(study, {**blank, whole.reading.number: 0.1}))
    assert {"INV", "MOT", "HTR", "DCDC"} <= {name.partition(".")[0] for name in names}


@pytest.mark.parametrize("fuse", FUSES)
def test_each_fuse_blown_by_the_fault_finders_table(study, fuse):
    """What stops without it has no volts. FRB.F16 and the like stop loads through the relays that let go."""
    (row,) = (row for row in study.fault_finder.fuses if row.fuse == fuse)
    stopped = {*row.direct, *(item.ref for item in row.indirect), *row.without_converter}
    found = {number: 0.0 for number, load in loads_by_line(study).items() if load in stopped}
    assert found
    groups = suspected(told(study, found))
    assert len(groups) == 1
    assert fuse in groups[0]


def loads_by_line(study: Study) -> dict[int, str]:
    """By line of the 12 V side the load whose pins it names."""
    conversion = study.conversion
    found = {}
    for step in study.commissioning.of("volts")[1:]:
        plus, minus = step.reading.between
        refs = [
            ref
            for ref in conversion.load
            if pins_of(conversion, ref) == (plus.partition(" ")[0], minus) and f"({conversion.load[ref].name})" in plus
        ]
        switched = [ref for ref in refs if f"; {ref} switched on" in step.reading.state]
        found[step.reading.number] = (switched or refs)[0]
    return found


def with_ohm(conversion: Conversion, wire: str, ohm: float) -> Study:
    """The car with more resistance in one wire, to be solved again."""
    study = Study(conversion)
    wires = study.wires
    study.__dict__["wires"] = replace(wires, resistance_ohm={**wires.resistance_ohm, wire: wires.resistance_ohm[wire] + ohm})
    return study


@pytest.mark.parametrize(("wire", "ohm"), [("W401", 0.08), ("W402", 0.15), ("W128", 0.6), ("W124", 0.3), ("W314", 0.4), ("W219", 1.0)])
def test_a_bad_crimp_by_solving_the_whole_car_again(study, wire, ohm):
    broken = with_ohm(study.conversion, wire, ohm).commissioning.of("volts")
    shown = {(step.reading.between, step.reading.state): step.reading.expected for step in broken}
    sheet = study.commissioning.of("volts")
    # The first line is the battery's own posts, whose volts the program bends into what passes.
    found = {step.reading.number: shown[step.reading.between, step.reading.state] for step in sheet[1:]}
    diagnosis = told(study, found)
    assert diagnosis.failed
    assert any(wire in names for names in suspected(diagnosis))


def test_a_flat_battery_is_not_taken_for_bad_wires(study):
    found = {step.reading.number: step.reading.expected - 1.2 for step in study.commissioning.of("volts")}
    (names,) = suspected(told(study, found))
    assert names == ("BAT.cells",)


def test_a_unit_that_does_not_sleep(study):
    """The vehicle controller takes 60 mA more than it should: the whole drain, and every fuse on the way to it."""
    parked = study.commissioning.of("parked")
    more = {"minus post", "BAT.FL1 pulled", "FRB.F7 pulled"}
    found = {step.reading.number: step.reading.expected + 60 for step in parked if step.reading.between[0] in more}
    assert len(found) == 3
    (names,) = suspected(told(study, found))
    assert names == ("VCU.logic",)


def test_a_drain_that_is_too_small_is_told_by_its_line(study):
    total = line(study, "parked", "minus post", "in between")
    diagnosis = told(study, {total.reading.number: 2.0})
    assert f"Line {total.reading.number}" in diagnosis.explanations[0].suspects[0].text


def test_a_lamp_that_does_not_light(study):
    bad = line(study, "outputs", "charge lamp", "key on")
    assert suspected(told(study, {bad.reading.number: 0.0})) == [("charge lamp",)]


def test_a_box_the_wrong_way_round_shows_by_its_sign(study):
    bad = line(study, "boxes", "B2.P.1")
    diagnosis = told(study, {bad.reading.number: -116.8})
    assert suspected(diagnosis) == [("B2",)]
    assert "its plugs are exchanged" in diagnosis.explanations[0].suspects[0].text


def test_a_burnt_resistor_and_one_that_is_too_slow(study):
    resistor = line(study, "pre-charge resistor", "one end")
    assert suspected(told(study, {resistor.reading.number: math.inf})) == [("HVDB.pre-charge resistor",)]
    slow = line(study, "pre-charge", "link at 95 %")
    assert suspected(told(study, {slow.reading.number: 0.9})) == [("HVDB.pre-charge resistor",)]


def test_a_burnt_contact_and_a_discharge_that_does_not_work(study):
    contact = line(study, "contactors", "HVDB.main minus")
    assert suspected(told(study, {contact.reading.number: 40.0})) == [("HVDB.main minus",)]
    active = line(study, "discharge", "active")
    assert suspected(told(study, {active.reading.number: 99.0})) == [("active discharge",)]


def test_what_is_measured_behind_a_stop_that_is_not_passed_is_told(study):
    bond = line(study, "bonding", "CHG case")
    diagnosis = told(study, {bond.reading.number: 850.0})
    assert [words.partition("“")[2].partition("”")[0] for words in diagnosis.told] == [
        "12 V",
        "Polarity, pre-charge",
        "High voltage",
    ]
    last = study.commissioning.stages[-1].key
    blank = {step.reading.number: None for step in study.commissioning.steps if step.stage == last}
    later = told(study, blank)
    assert later.told == ()
    assert len(later.not_measured) == len(blank)
    assert not later.is_good


def test_lines_of_splitting_may_stay_blank(study):
    blank = {step.reading.number: None for step in study.commissioning.steps if step.reading.is_optional}
    assert len(blank) > 10
    assert told(study, blank).is_good


def test_two_faults_in_two_parts_are_both_named(study):
    bond, fuse = line(study, "bonding", "HTR case"), line(study, "fuses", "FRB.F11,")
    assert suspected(told(study, {bond.reading.number: 300.0, fuse.reading.number: math.inf})) == [("BD9",), ("FRB.F11",)]


def test_everything_wrong_at_once_still_ends(study):
    found = {number: (0.0 if value else math.inf) for number, value in right(study.commissioning).items()}
    assert told(study, found).failed
