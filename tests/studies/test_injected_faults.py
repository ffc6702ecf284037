"""Every single open, swap and short, put into the demo's looms one after the other, is found, and is called by its name.

What the meter shows on the faulty loom is worked out with networkx (see `tester.py`), and not by the program.
"""

from __future__ import annotations

import itertools
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.studies.looms.faults import Bay, Diagnosis
from halfshaft.study import Study
from tester import LoomTester, meetings, plugs

REPO = Path(__file__).parents[2]
LOOMS = ("BX", "FR", "RR", "PW", "SF", "SR")
# By loom: wires; pairs of cavities in one plug, and of them rings on one stud or bar; groups that meet in a plug or run.
COUNTS = {
    "BX": (36, 249, 10, 288),
    "FR": (60, 415, 7, 727),
    "RR": (31, 153, 3, 308),
    "PW": (6, 5, 1, 5),
    "SF": (4, 8, 0, 8),
    "SR": (6, 18, 0, 19),
}


@cache
def study() -> Study:
    return Study(read_folder(REPO / "examples" / "tern"))


@cache
def built(loom: str) -> LoomTester:
    return LoomTester(study(), loom)


@cache
def bay(loom: str) -> Bay:
    return Bay(study().benches[loom], study().readings[loom])


def told(loom: str, wires) -> Diagnosis:
    measured = built(loom).read(wires)
    return bay(loom).diagnose([item.found for item in measured], measured)


def single(diagnosis: Diagnosis) -> list[tuple[str, frozenset[str]]]:
    """Explanations with one fault, as kind and what it is about."""
    return [(item.suspects[0].kind, frozenset(item.suspects[0].about)) for item in diagnosis.explanations if len(item.suspects) == 1]


@pytest.mark.parametrize("loom", LOOMS)
def test_a_loom_without_a_fault_passes_at_every_line(loom):
    diagnosis = told(loom, built(loom).wires)
    assert diagnosis.is_good
    assert not diagnosis.explanations


@pytest.mark.parametrize("loom", LOOMS)
def test_every_open_wire_is_found_and_named_alone(loom):
    for wire in built(loom).wires:
        diagnosis = told(loom, built(loom).without(wire.ref))
        assert diagnosis.failed, wire.ref
        assert single(diagnosis) == [("open", frozenset([wire.ref]))]
        assert not diagnosis.unexplained
    assert len(built(loom).wires) == COUNTS[loom][0]


@pytest.mark.parametrize("loom", LOOMS)
def test_every_swap_in_a_plug_is_found_and_named(loom):
    """Where both wires run from the same plug to the same other plug, a swap at either end reads alike: both are named."""
    seen: Counter[str] = Counter()
    other_end = {wire.start: wire.end for wire in built(loom).wires} | {wire.end: wire.start for wire in built(loom).wires}
    for pins in plugs(built(loom)):
        for one, other in itertools.combinations(pins, 2):
            diagnosis = told(loom, built(loom).swapped(one, other))
            if built(loom).group[one] == built(loom).group[other]:
                assert diagnosis.is_good, "both wires go to the same pins: nothing is wrong"
                seen["same"] += 1
                continue
            names = single(diagnosis)
            kinds = {kind for kind, about in names if about == {one, other}}
            assert kinds in ({"swap"}, {"rings"}), (one, other, names)
            assert not diagnosis.unexplained
            for kind, about in names:
                assert kind in ("swap", "rings")
                assert about in ({one, other}, {other_end[one], other_end[other]}), (one, other, names)
            seen[kinds.pop()] += 1
            seen["pairs"] += len(names) == 2
    pairs, rings = COUNTS[loom][1:3]
    assert seen["same"] == 0
    assert (seen["swap"] + seen["rings"], seen["rings"]) == (pairs, rings)


@pytest.mark.parametrize("loom", LOOMS)
def test_every_short_of_groups_that_meet_is_found_and_both_are_named(loom):
    places = meetings(study(), built(loom))
    groups = {frozenset(group.pins): group.pins[0] for group in study().benches[loom].groups}
    for one, other in places:
        diagnosis = told(loom, built(loom).shorted(one, other))
        ends = frozenset(groups[built(loom).group[pin]] for pin in (one, other))
        assert diagnosis.failed
        assert single(diagnosis) == [("short", ends)], (one, other)
        assert not diagnosis.unexplained
    assert len(places) == COUNTS[loom][3]
