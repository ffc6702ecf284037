"""Faults that the injection test does not put in: parts, bad crimps, several at once, readings that contradict each other."""

from __future__ import annotations

import itertools
import math
import random
from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.reading import Measured
from halfshaft.studies.looms.benches import Bench, Branch, Socket
from halfshaft.studies.looms.bus import bus_bench
from halfshaft.studies.looms.continuity import Joined
from halfshaft.studies.looms.faults import Bay, Diagnosis, diagnose
from halfshaft.studies.looms.readings import readings_of
from halfshaft.studies.looms.single_faults import Fault, Simulator, short_of
from halfshaft.study import Study
from tester import LoomTester, Rod

REPO = Path(__file__).parents[2]


@cache
def study() -> Study:
    return Study(read_folder(REPO / "examples" / "tern"))


@cache
def built(loom: str) -> LoomTester:
    return LoomTester(study(), loom)


@cache
def bay(loom: str) -> Bay:
    return Bay(study().benches[loom], study().readings[loom])


def told(loom: str, wires=None, parts=None) -> Diagnosis:
    measured = built(loom).read(built(loom).wires if wires is None else wires, parts=parts)
    return bay(loom).diagnose([item.found for item in measured], measured)


def named(diagnosis: Diagnosis) -> list[set[tuple[str, tuple[str, ...]]]]:
    return [{(suspect.kind, suspect.about) for suspect in item.suspects} for item in diagnosis.explanations]


def without(*refs: str) -> list[Rod]:
    return [part for part in built("BX").parts if part.ref not in refs]


@pytest.mark.parametrize("fuse", ["F1", "F6", "F7", "F8", "F9", "F10", "F11", "F12", "F13", "F14", "F15", "F16", "F17"])
def test_a_missing_fuse_is_named(fuse):
    diagnosis = told("BX", parts=without(f"FRB.{fuse}"))
    assert named(diagnosis) == [{("missing", (f"FRB.{fuse}",))}]
    assert f"Fuse {fuse} of FRB is missing or blown." == diagnosis.explanations[0].suspects[0].text


def test_fuses_behind_a_contact_that_is_open_at_rest_cannot_be_seen_and_the_sheet_says_so():
    hidden = ("FRB.F2", "FRB.F3", "FRB.F4", "FRB.F5", "FRB.F18")
    assert study().unreached["BX"] == hidden
    assert told("BX", parts=without(*hidden)).is_good


@pytest.mark.parametrize("relay", ["K1", "K2", "K3", "K4", "K5"])
def test_a_relay_that_is_not_there_and_a_suppressor_that_is_not_there_are_told_apart(relay):
    assert named(told("BX", parts=without(f"FRB.{relay} coil"))) == [{("missing", (f"FRB.{relay} coil",))}]
    assert named(told("BX", parts=without(f"FRB.{relay} suppressor"))) == [{("missing", (f"FRB.{relay} suppressor",))}]


def test_a_relay_contact_that_is_welded_is_named():
    welded = [*built("BX").parts, Rod("weld", "FRB.~K3.30", "FRB.C.3", 0.004)]
    assert named(told("BX", parts=welded)) == [{("closed", ("FRB.K3",))}]


def test_a_poor_crimp_is_no_open_wire():
    """350 mohm too much in W223, a wire of 12 mohm: a flat limit of 2 ohm would let it pass."""
    wires = [Rod(wire.ref, wire.start, wire.end, wire.ohm + (0.35 if wire.ref == "W223" else 0)) for wire in built("BX").wires]
    diagnosis = told("BX", wires)
    assert named(diagnosis) == [{("resistance", ("W223",))}]
    assert "BMM.A cavity 2" in diagnosis.explanations[0].suspects[0].look


def test_a_poor_crimp_on_a_star_is_laid_at_the_end_that_all_failing_lines_share():
    wires = [Rod(wire.ref, wire.start, wire.end, wire.ohm + (0.2 if wire.ref == "W133" else 0)) for wire in built("FR").wires]
    assert named(told("FR", wires)) == [{("resistance", ("W133",))}]


def test_a_wire_in_an_empty_cavity_is_named_with_both_cavities():
    wires = [Rod(w.ref, "FRB.B.11" if w.start == "FRB.B.1" else w.start, w.end, w.ohm) for w in built("BX").wires]
    diagnosis = told("BX", wires)
    assert named(diagnosis) == [{("cavity", ("FRB.B.1", "FRB.B.11"))}]
    assert diagnosis.explanations[0].suspects[0].text == "W201 sits in FRB.B cavity 11; it belongs in FRB.B cavity 1."


def test_a_plug_filled_from_its_wrong_side_is_called_so():
    """The fuse board's plug C, two rows of three: 1 and 3 change places, and 4 and 6."""
    to = {"FRB.C.1": "FRB.C.3", "FRB.C.3": "FRB.C.1", "FRB.C.4": "FRB.C.6", "FRB.C.6": "FRB.C.4"}
    wires = [Rod(w.ref, to.get(w.start, w.start), to.get(w.end, w.end), w.ohm) for w in built("BX").wires]
    assert named(told("BX", wires))[0] == {("mirrored", ("FRB.C",))}


def test_a_short_says_where_the_two_lie_side_by_side():
    diagnosis = told("FR", built("FR").shorted("VCU.A.1", "VCU.A.2"))
    look = diagnosis.explanations[0].suspects[0].look
    assert "cavities 1 and 2, neighbours" in look
    assert "where both lie in" in look


def test_two_faults_at_once_are_both_named():
    """Pairs of single faults of the front loom, drawn by a fixed sequence."""
    rng = random.Random(5)
    known = [fault for fault, _ in bay("FR").known if fault.kind in ("open", "swap", "cavity")]
    known += [short_of(one, other) for one, other in itertools.combinations(study().benches["FR"].groups, 2)]
    for _ in range(12):
        pair = rng.sample(known, 2)
        values = bay("FR").simulator.changes(pair)
        found = [values.get(index, value) for index, value in bay("FR").simulator.sound.items()]
        measured = [Measured(reading=item, found=value) for item, value in zip(bay("FR").readings, found, strict=True)]
        diagnosis = bay("FR").diagnose(found, measured)
        assert {(fault.kind, fault.about) for fault in pair} in named(diagnosis)


def test_readings_that_contradict_each_other_are_not_explained_away():
    """W222 open on its own, and sound a minute later with the fuse board plugged in: named, with the lines that speak against it."""
    measured = [
        Measured(reading=item.reading, found=math.inf if item.reading.number == 1 else item.found)
        for item in built("BX").read(built("BX").wires)
    ]
    diagnosis = bay("BX").diagnose([item.found for item in measured], measured)
    assert named(diagnosis) == [{("open", ("W222",))}]
    assert {item.reading.state for item in diagnosis.unexpected} == {"with FRB plugged in, fuses and relays fitted"}


def test_half_a_sheet_says_what_it_can_and_counts_the_rest_as_not_measured():
    measured = built("FR").read(built("FR").without("W133"))
    half = [Measured(reading=item.reading, found=item.found if item.reading.quantity == "resistance" else None) for item in measured]
    diagnosis = bay("FR").diagnose([item.found for item in half], half)
    assert {("open", ("W133",))} in named(diagnosis)
    assert len(diagnosis.not_measured) == sum(item.reading.quantity == "open" for item in measured)


def small(*parts: Branch, wires: tuple[tuple[str, str], ...] = (("P.A.1", "Q.A.1"), ("P.A.2", "Q.A.2"))) -> Bench:
    branches = {f"W{n}": Branch(ref=f"W{n}", kind="wire", start=a, end=b, ohm=0.02, contacts_ohm=0.01) for n, (a, b) in enumerate(wires, 1)}
    states = {"bare": branches}
    if parts:
        states["plugged"] = {**branches, **{part.ref: part for part in parts}}
    groups: dict[str, list[str]] = {}
    for one, other in wires:
        groups.setdefault(other, [other]).append(one)
    return Bench(
        name="L",
        states=states,
        groups=tuple(
            Joined(tuple(sorted(pins)), tuple(f"W{n}" for n, (_, b) in enumerate(wires, 1) if b == key)) for key, pins in groups.items()
        ),
        lead_ohm={pin: 0.0025 for pair in wires for pin in pair},
        plugged_in=("P",) if parts else (),
        sockets=(Socket(name="P.A", is_stud=False, places={f"P.A.{n}": (0, n - 1) for n in range(1, 5)}),),
    )


def readings_with(bench: Bench, *faults: Fault) -> list[Measured]:
    readings = readings_of(bench)
    simulator = Simulator(bench, readings)
    values = {**simulator.sound, **simulator.changes(faults)}
    return [Measured(reading=item, found=values[index]) for index, item in enumerate(readings)]


def test_a_diode_is_read_both_ways_and_named_when_it_is_reversed():
    bench = small(Branch(ref="P.D1", kind="diode", start="P.A.1", end="P.A.2"))
    forward, back = [item for item in readings_of(bench) if item.quantity == "diode"]
    assert (forward.between, forward.expected, forward.unit) == (("Q.A.1", "Q.A.2"), 0.6, "V")
    assert (back.between, back.expected, back.high) == (("Q.A.2", "Q.A.1"), None, None)
    assert not back.passes(0.6)
    diagnosis = diagnose(bench, readings_with(bench, Fault(kind="reversed", about=("P.D1",), turned=("P.D1",))))
    assert named(diagnosis) == [{("reversed", ("P.D1",))}]
    assert named(diagnose(bench, readings_with(bench, Fault(kind="missing", about=("P.D1",), removed=("P.D1",))))) == [
        {("missing", ("P.D1",))}
    ]


def test_a_diode_beside_a_coil_is_not_read_on_its_own():
    bench = small(
        Branch(ref="P.D1", kind="diode", start="P.A.1", end="P.A.2"), Branch(ref="P.K", kind="coil", start="P.A.1", end="P.A.2", ohm=85)
    )
    assert not [item for item in readings_of(bench) if item.quantity == "diode"]


def test_what_a_load_of_unknown_resistance_bridges_is_left_out():
    load, contact = (
        Branch(ref="P.M", kind="load", start="P.A.1", end="P.A.2"),
        Branch(ref="P.C", kind="open contact", start="P.A.1", end="P.A.2"),
    )
    coil = Branch(ref="P.K", kind="coil", start="P.A.1", end="P.A.2", ohm=85)
    assert [item for item in readings_of(small(contact)) if item.state == "plugged"]
    assert not [item for item in readings_of(small(load, contact)) if item.state == "plugged"]
    assert not [item for item in readings_of(small(load, coil)) if item.state == "plugged"]


def test_two_wires_of_one_group_that_change_places_are_no_fault():
    bench = small(wires=(("P.A.1", "Q.A.1"), ("P.A.2", "Q.A.1"), ("P.A.3", "Q.A.3")))
    moved = (("P.A.1", "P.A.2"), ("P.A.2", "P.A.1"))
    assert diagnose(bench, readings_with(bench, Fault(kind="swap", about=("P.A.1", "P.A.2"), moved=moved))).is_good


def test_two_wires_side_by_side_read_half_and_one_alone_reads_too_much():
    """Two of 100 mohm side by side read 50; with one of them broken 100, which is over 50 and the crimps' 10."""
    wires = {f"W{n}": Branch(ref=f"W{n}", kind="wire", start="P.A.1", end="Q.A.1", ohm=0.1, contacts_ohm=0.005) for n in (1, 2)}
    bench = Bench(
        name="L", states={"bare": wires}, groups=(Joined(("P.A.1", "Q.A.1"), ("W1", "W2")),), lead_ohm={"P.A.1": 0.0025, "Q.A.1": 0.0025}
    )
    (reading,) = readings_of(bench)
    assert reading.expected == pytest.approx(50, abs=1e-3)
    assert reading.wires == ("W1", "W2")
    broken = diagnose(bench, readings_with(bench, Fault(kind="open", about=("W1",), removed=("W1",))))
    assert {("open", ("W1",))} in named(broken)
    assert {("open", ("W2",))} in named(broken)


def bus(*faults: Fault) -> Diagnosis:
    bench, readings = study().bus_bench, study().bus_readings
    assert bench is not None
    simulator = Simulator(bench, readings)
    values = {**simulator.sound, **simulator.changes(faults)}
    return diagnose(bench, [Measured(reading=item, found=values[index]) for index, item in enumerate(readings)])


def test_a_missing_terminator_and_one_too_many_are_named():
    assert named(bus(Fault(kind="missing", about=("DISP.terminator",), removed=("DISP.terminator",)))) == [
        {("missing", ("DISP.terminator",))}
    ]
    jumper = next(fault for fault, _ in Bay(study().bus_bench, study().bus_readings).known if fault.kind == "closed")
    diagnosis = bus(jumper)
    assert named(diagnosis) == [{("closed", ("BMM.terminator jumper",))}]
    assert diagnosis.failed[0].found == pytest.approx(40, abs=1)


def test_50_ohm_on_the_bus_are_not_called_good_but_300_ohm_beside_it():
    """60 and 300 side by side are 50 ohm. With every plug pulled in turn the unit that brings them is named, here the display's."""
    extra = Branch(ref="x", kind="resistor", start="DISP.A.3", end="DISP.A.4", ohm=300, moved_by="DISP.A plug")
    diagnosis = bus(Fault(kind="extra", about=("DISP.A", "300"), added=(extra,)))
    assert diagnosis.failed[0].found == pytest.approx(50.2, abs=0.3)
    (suspect,) = diagnosis.explanations[0].suspects
    assert len(diagnosis.explanations) == 1
    assert (suspect.kind, suspect.about[0]) == ("extra", "DISP.A")
    assert float(suspect.about[1]) == pytest.approx(300, rel=0.05)


def test_a_conversion_without_a_bus_has_no_sheet_for_one():
    conversion = study().conversion
    parts = tuple(
        part.model_copy(update={"inside": tuple(item for item in part.inside if item.kind != "resistor")}) for part in conversion.parts
    )
    assert bus_bench(conversion.model_copy(update={"parts": parts}), study().wires.resistance_ohm) is None
