"""The volts at every tap and the wires of every module of the demo, against the table that came with the car."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from halfshaft.study import Study

# `sense_wires.csv` beside the demo's other tables (shared scenario): 13 modules of 8 cells at 3.65 V, volts printed to
# 0.01 V. Its lengths are invented, so only the order of the modules in each box, and their size, are held against it.
TABLE = Path(__file__).parents[3] / "shared" / "scenario" / "tern" / "sense_wires.csv"
pytestmark = pytest.mark.skipif(not TABLE.exists(), reason="the scenario's tables are not here")


@pytest.fixture(scope="module")
def table():
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def study(tern):
    return Study(tern)


def test_every_tap_has_the_volts_that_the_table_prints(study, table):
    ours = {(item.tap, item.pin): (item.to_module_minus_v, item.to_pack_minus_v) for item in study.tap_volts}
    theirs = {
        (row["from_pin"], row["to_pin"]): (float(row["expected_v_to_module_minus"]), float(row["expected_v_to_pack_minus"]))
        for row in table
        if row["expected_v_to_pack_minus"]
    }
    assert len(theirs) == 13 * 9
    assert ours.keys() == theirs.keys()
    for pins, volts in theirs.items():
        assert ours[pins] == pytest.approx(volts, abs=0.005)


def test_the_wires_are_those_of_the_table_pin_for_pin(study, table):
    ours = {wire.ref: (wire.from_pin, wire.to_pin, wire.section_mm2) for wire in study.sensing.conversion.wires}
    assert ours == {row["ref"]: (row["from_pin"], row["to_pin"], float(row["section_mm2"])) for row in table}


def test_taps_have_the_colours_of_the_table(study, table):
    ours = {wire.ref: wire.colour for wire in study.sensing.conversion.wires}
    taps = [row for row in table if row["expected_v_to_pack_minus"]]
    assert {row["ref"]: ours[row["ref"]] for row in taps} == {row["ref"]: row["colour"] for row in taps}


def test_lengths_are_of_the_tables_size_and_in_its_order(study, table):
    ours = {ref: laid.length.cut_mm for ref, laid in study.sensing.routing.wires.items()}
    theirs = {row["ref"]: float(row["length_mm"]) for row in table if "-K" not in row["ref"]}
    assert all(0.8 * length <= ours[ref] <= 1.5 * length for ref, length in theirs.items())
    for box in ("B1", "B2", "B3"):
        refs = [row["ref"] for row in table if row["box"] == box and row["ref"].endswith("-0")]
        pairs = [(one, other) for one in refs for other in refs if theirs[other] - theirs[one] > 60]
        assert pairs
        assert all(ours[one] < ours[other] for one, other in pairs)
