"""The 12 V side against figures of others: the demo author's totals, and worked voltage drops.

The totals stand in the README of the shared scenario (shared/scenario/tern/README.md, "Totals" and "Notes", 2026-11). They were
worked out by hand from the same tables. The drops are those of shared/references/ampacity_examples.csv, copied here with the
source that each row names.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.studies.low_voltage.records import LowVoltage
from halfshaft.studies.network.records import DcNetwork, Load, Resistor, Solution, Source
from halfshaft.studies.network.solver import solve
from halfshaft.study import Study

REPO = Path(__file__).parents[2]


@cache
def study() -> Study:
    return Study(read_folder(REPO / "examples" / "tern"))


def result() -> LowVoltage:
    found = study().low_voltage
    assert found is not None
    return found


# Mean amperes with duty, amperes if all that the case names ran at once.
PRINTED = [
    ("key on", 4.9, 7.2), ("day drive", 16.9, 38.5), ("night and rain", 39.7, 71.0), ("hot", 36.8, 54.7), ("cold", 36.1, 54.8),
    ("AC charging", 15.7, 26.7), ("limp", 25.5, 41.2),
]  # fmt: skip


@pytest.mark.parametrize(("case", "mean_a", "all_a"), PRINTED)
def test_what_a_case_asks_for_is_as_printed(case, mean_a, all_a):
    found = result().by_case[case]
    assert found.asked_mean_a == pytest.approx(mean_a, abs=0.05 + 1e-9)
    assert found.asked_all_a == pytest.approx(all_a, abs=0.05 + 1e-9)


@pytest.mark.parametrize(("case", "mean_a", "all_a"), PRINTED)
def test_what_flows_is_near_what_is_asked_for(case, mean_a, all_a):
    """Volts differ from 13.8 by up to a tenth: resistive loads take less, constant power more; relays' suppressors take 20 mA each."""
    found = result().by_case[case]
    assert found.mean is not None
    assert found.all is not None
    assert found.mean.total_a == pytest.approx(mean_a, rel=0.07)
    assert found.all.total_a == pytest.approx(all_a, rel=0.09)


def test_the_parked_car_takes_what_is_printed_and_a_pull_down_besides():
    """14.8 mA, and half of 20 Ah lasts 28 days; the printed sum leaves out what hangs on the live contactor line: 10 kohm to ground."""
    found = result().by_case["parked"]
    assert found.asked_mean_a * 1000 == pytest.approx(14.8, abs=0.05)
    assert 10 / found.asked_mean_a / 24 == pytest.approx(28, abs=0.5)
    assert found.mean is not None
    assert (found.mean.battery_a - found.asked_mean_a) * 1000 == pytest.approx(12.8 / 10, abs=0.01)
    assert [leak.ref for leak in found.leaks] == ["VCU.inertia pull-down"]


def test_limp_lasts_as_printed():
    """About 38 min on 16 Ah."""
    found = result().by_case["limp"]
    assert found.usable_h is not None
    assert found.usable_h * 60 == pytest.approx(38, abs=1.0)


def test_pull_in_of_a_contactor_costs_what_is_printed():
    """3.8 A cost 0.77 V in the long coil line; copper alone at 20 C, as the README's other drops."""
    there = ["W203", "W122", "W123", "W204", "W214", "W317"]
    back = ["W311", "W223"]
    copper_ohm = math.fsum(study().wires.resistance_ohm[ref] for ref in (*there, *back))
    assert 3.8 * copper_ohm == pytest.approx(0.77, abs=0.005)


def test_the_converter_carries_every_case_in_which_it_is_on():
    """80 A, 65 A in the hot case: the README's cases are all below."""
    limits = {case.case: case.limit_a for case in result().cases}
    assert limits["hot"] == 65
    assert limits["night and rain"] == limits["cold"] == limits["AC charging"] == 80
    assert limits["limp"] is None
    assert limits["parked"] is None
    assert all(case.all is None or case.limit_a is None or case.all.battery_a < 1e-6 for case in result().cases)


# id, A, ohm per km, m, V as printed, and how near. AC: FAA AC 43.13-1B, tables 11-7 and 11-8; RY: a towing shop's cable chart;
# TH: a 12 V cable seller. AC7-3 prints 3.60 where its own product is 3.555; AC8-2 is a misprint and is left out.
DROPS = [
    ("AC7-1", 20, 1.4436, 32.6136, 0.942, 0.0006), ("AC7-3", 20, 6.6273, 26.8224, 3.6, 0.05), ("AC8-1", 20, 4.1339, 11.8872, 0.98, 0.005),
    ("AC8-4", 20, 4.1339, 83.2104, 6.88, 0.005), ("RY-1", 5.75, 29.4, 5, 0.845, 0.0006), ("RY-3", 12.75, 12.5, 5, 0.797, 0.0006),
    ("RY-5", 21.75, 7.5, 5, 0.816, 0.0006), ("TH-1", 4.17, 12.7, 5, 0.265, 0.0006),
]  # fmt: skip


@pytest.mark.parametrize(("name", "amps", "ohm_per_km", "length_m", "printed_v", "near_v"), DROPS)
def test_worked_voltage_drops(name, amps, ohm_per_km, length_m, printed_v, near_v):
    network = DcNetwork(
        ground="minus",
        resistors=(Resistor(ref="wire", start="plus", end="load", ohm=ohm_per_km / 1000 * length_m),),
        sources=(Source(ref="battery", plus="plus", minus="minus", volt=14.0, ohm=0.0),),
        loads=(Load(ref="load", plus="load", minus="minus", kind="constant current", value=amps),),
    )
    answer = solve(network)
    assert isinstance(answer, Solution), name
    assert answer.between("plus", "load") == pytest.approx(printed_v, abs=near_v)
