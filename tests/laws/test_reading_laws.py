"""What must always hold of the readings of a loom, whatever the loom: here small ones drawn at random."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.model.reading import ALL_OTHERS, Measured
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.benches import Bench, Branch, Socket
from halfshaft.studies.looms.continuity import Joined
from halfshaft.studies.looms.faults import diagnose
from halfshaft.studies.looms.readings import readings_for_tester, readings_of

HALF_OHM = 0.0025
PINS = [f"{device}.A.{cavity}" for device in ("P", "Q", "R") for cavity in range(1, 6)]
NODES = [*PINS, "S1", "S2"]
KINDS = ("link", "fuse", "closed contact", "open contact", "coil", "resistor", "diode", "load")


@st.composite
def benches(draw) -> Bench:
    """A loom of up to 12 wires between three plugs and two splices, and a part that may be plugged in at P."""
    ends = st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(lambda pair: pair[0] != pair[1])
    pairs = draw(st.lists(ends, min_size=1, max_size=12))
    wires = {
        f"W{number}": Branch(
            ref=f"W{number}", kind="wire", start=one, end=other, ohm=draw(st.floats(0.001, 0.3)), contacts_ohm=2 * HALF_OHM
        )
        for number, (one, other) in enumerate(pairs, start=1)
    }
    root = joined_groups(pairs)
    pins: dict[str, list[str]] = {}
    for node in NODES:
        if node in root and "." in node:
            pins.setdefault(root[node], []).append(node)
    groups = tuple(
        Joined(tuple(found), tuple(ref for ref, wire in wires.items() if root[wire.start] == key)) for key, found in pins.items()
    )
    states = {"nothing plugged in": wires}
    inner = st.tuples(st.sampled_from([*PINS[:5], "P.~n"]), st.sampled_from([*PINS[:5], "P.~n"])).filter(lambda pair: pair[0] != pair[1])
    parts = draw(st.lists(st.tuples(inner, st.sampled_from(KINDS)), max_size=5))
    if parts:
        inside = {
            f"P.E{number}": Branch(
                ref=f"P.E{number}", kind=kind, start=one, end=other, ohm=draw(st.floats(0.001, 500)), contacts_ohm=0.01, tolerance=0.05
            )
            for number, ((one, other), kind) in enumerate(parts, start=1)
        }
        states["with P plugged in"] = {**wires, **inside}
    wired = {node for pair in pairs for node in pair if "." in node}
    return Bench(
        name="L",
        states=states,
        groups=groups,
        lead_ohm={node: HALF_OHM for node in NODES if node in root},
        open_cavities=tuple(pin for pin in PINS if pin not in wired and any(other[:3] == pin[:3] for other in wired)),
        plugged_in=("P",) if parts else (),
        sockets=tuple(
            Socket(name=f"{device}.A", is_stud=False, places={f"{device}.A.{cavity}": (0, cavity - 1) for cavity in range(1, 6)})
            for device in ("P", "Q", "R")
        ),
    )


@settings(deadline=None, max_examples=80)
@given(benches())
def test_what_is_expected_passes_and_lies_within_its_limits(bench):
    readings = readings_of(bench)
    for item in readings:
        assert item.passes(math.inf if item.expected is None else item.expected)
        assert item.high is None or item.low <= item.expected <= item.high
    diagnosis = diagnose(bench, [Measured(reading=item, found=math.inf if item.expected is None else item.expected) for item in readings])
    assert diagnosis.is_good
    assert not diagnosis.explanations


@settings(deadline=None, max_examples=60)
@given(benches())
def test_every_pin_has_a_line_and_numbers_run_through(bench):
    readings = readings_of(bench)
    assert [item.number for item in readings] == list(range(1, len(readings) + 1))
    in_lines = {pin for item in readings for pin in item.between}
    lone = len(bench.groups) == 1
    assert all(pin in in_lines for group in bench.groups for pin in group.pins if not (lone and len(group.pins) == 1))
    tester = readings_for_tester(bench, readings)
    numbers = [item.number for item in tester]
    assert len(set(numbers)) == len(numbers)
    count = len(bench.groups)
    assert sum(item.number > len(readings) for item in tester) == count * (count - 1) // 2
    first = {group.pins[0] for group in bench.groups}
    assert not any(item.between[1] == ALL_OTHERS and item.between[0] in first for item in tester)


@settings(deadline=None, max_examples=60)
@given(benches(), st.data())
def test_more_length_never_lowers_a_reading(bench, data):
    """Rayleigh's monotonicity law, as it shows on a test sheet: a longer wire can only read more, also in a mesh."""
    ref = data.draw(st.sampled_from(sorted(bench.states["nothing plugged in"])))
    longer = {
        state: {name: replace(branch, ohm=branch.ohm + 0.1) if name == ref else branch for name, branch in branches.items()}
        for state, branches in bench.states.items()
    }
    for before, after in zip(readings_of(bench), readings_of(replace(bench, states=longer)), strict=True):
        assert before.between == after.between
        if before.expected is not None:
            # A reading of half a kilohm is solved to about twelve digits, so rounding is measured against it.
            assert after.expected >= before.expected * (1 - 1e-10) - 1e-6
            assert after.high >= before.high * (1 - 1e-10) - 1e-6


@settings(deadline=None, max_examples=60)
@given(benches())
def test_a_line_that_nobody_measured_is_never_passed(bench):
    readings = readings_of(bench)
    diagnosis = diagnose(bench, [Measured(reading=item, found=None) for item in readings])
    assert not diagnosis.passed
    assert not diagnosis.failed
    assert diagnosis.not_measured == readings
    assert diagnosis.is_good == (not readings)
