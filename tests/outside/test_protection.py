"""Fuses and short circuits against printed limits, worked figures and closed forms."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import pytest
from networks import SPICE, generated, spice_volts

from halfshaft.studies.cable.transient import adiabatic_i2t_a2s, adiabatic_k
from halfshaft.studies.network.records import DcNetwork, Failure, Load, Resistor, Source
from halfshaft.studies.network.solver import solve
from halfshaft.studies.network.thevenin import seen_from
from halfshaft.studies.protection.ambient import cartridge_factor_of
from halfshaft.studies.protection.bands import staircase

SHARED = Path(__file__).parents[2].parent / "shared"
# ISO 8820-3 types C and F as remembered by blade_fuses.csv, DIN 72581-3 form E as printed: multiple of the rating, earliest, latest.
REGULAR = [(1.35, 0.75, 600), (1.6, 0.25, 50), (2.0, 0.15, 5), (3.5, 0.04, 0.5), (6.0, 0.02, 0.1)]
MAXI = [(1.35, 60, 1800), (2.0, 2, 60), (3.5, 0.2, 7), (6.0, 0.04, 1)]


def shared(*parts: str) -> Path:
    path = SHARED.joinpath(*parts)
    if not path.is_file():
        pytest.skip(f"the shared references are not beside this repository: no {'/'.join(parts)}")
    return path


@pytest.mark.parametrize("rating_a", [3.0, 7.5, 20.0, 40.0])
@pytest.mark.parametrize(("family", "rows"), [("regular blade", REGULAR), ("mini blade", REGULAR), ("maxi blade", MAXI)])
def test_limits_of_the_standard(family, rows, rating_a):
    band = staircase(family, rating_a)
    assert band is not None
    for multiple, earliest_s, latest_s in rows:
        assert (band.earliest_s(multiple * rating_a), band.latest_s(multiple * rating_a)) == (earliest_s, latest_s)


def test_hundred_hours_at_110_percent():
    """ISO 8820-3: a blade fuse holds 110 % of its rating for 100 h; the DIN extract has a maxi hold 100 %."""
    regular, maxi = staircase("regular blade", 10.0), staircase("maxi blade", 40.0)
    assert regular is not None
    assert maxi is not None
    assert (regular.earliest_s(11.0), regular.latest_s(11.0)) == (360_000, math.inf)
    assert (maxi.earliest_s(40.0), maxi.latest_s(40.0)) == (360_000, math.inf)
    # Between that and 135 % nothing says that it opens, nor that it holds for longer than 0.75 s.
    assert (regular.earliest_s(12.0), regular.latest_s(12.0)) == (0.75, math.inf)


def test_every_row_of_the_reference_table_is_shipped():
    families = {"regular (ATO/ATC)": "regular blade", "mini (ATM/APM)": "mini blade", "maxi (APX)": "maxi blade"}
    with shared("references", "blade_fuses.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["record"] == "time_limit"]
    assert len(rows) == 17
    for row in rows:
        band = staircase(families[row["fuse_family"]], 1.0)
        assert band is not None
        current_a = float(row["multiple_of_rating"])
        assert band.earliest_s(current_a) == float(row["time_min_s"])
        assert band.latest_s(current_a) == (float(row["time_max_s"]) if row["time_max_s"] else math.inf)


# IEC 60364-5-54 table A.54.4 and IEC 60364-4-43 table 43A: k of copper by insulation, begun and ended at these degrees.
@pytest.mark.parametrize(("begin_c", "end_c", "printed"), [(70, 160, 115), (90, 250, 143), (30, 160, 143), (30, 250, 176)])
def test_k_of_copper_as_printed(begin_c, end_c, printed):
    assert adiabatic_k(begin_c, end_c) == pytest.approx(printed, abs=0.5)


def test_withstand_worked_by_hand():
    """2.5 mm² of PVC at 1 kA by the printed k = 115: (115 * 2.5 / 1000)² = 0.0827 s; of XLPE, k = 143: 0.1278 s."""
    assert adiabatic_i2t_a2s(2.5, 70, 160) / 1000**2 == pytest.approx(0.0827, rel=0.005)
    assert adiabatic_i2t_a2s(2.5, 90, 250) / 1000**2 == pytest.approx(0.1278, rel=0.005)


# fuses_contactors.md, A1 values by a fuse maker's application guide, page 45.
@pytest.mark.parametrize(("ambient_c", "printed"), [(60, 0.816), (85, 0.655)])
def test_what_hot_air_leaves_of_a_cartridge(ambient_c, printed):
    assert cartridge_factor_of(ambient_c) == pytest.approx(printed, abs=0.0005)


def one_loop(volt: float, ohm: float) -> DcNetwork:
    return DcNetwork(
        ground="0",
        resistors=(Resistor(ref="line", start="plus", end="far", ohm=ohm / 2),),
        sources=(Source(ref="battery", plus="plus", minus="0", volt=volt, ohm=ohm / 2),),
    )


def test_a_bolted_short_of_a_published_battery():
    """A manufacturer's guide to direct-current distribution: 240 V, 110 cells of 0.5 milliohm, 4.36 kA (printed 4.37)."""
    (seen,) = seen_from(one_loop(240, 110 * 0.0005), ["far"]).values()
    assert seen.fault_a == pytest.approx(4364, abs=1)


@pytest.mark.parametrize("number", range(4))
def test_prospective_currents_of_the_shared_benchmarks(number):
    """shared/benchmarks/dc_faults.json: closed form, confirmed with an ngspice transient."""
    row: Any = json.loads(shared("benchmarks", "dc_faults.json").read_text(encoding="utf-8"))["rl_fault"][number]
    (seen,) = seen_from(one_loop(row["E_V"], row["R_ohm"]), ["far"]).values()
    assert seen.fault_a == pytest.approx(row["prospective_A"], rel=1e-9)
    # Full current from the first moment on is never less heat than the true rise through the inductance.
    assert seen.fault_a**2 * row["t_s"] >= row["i2t_A2s"]


@pytest.mark.parametrize("number", range(4))
def test_most_power_behind_the_same_ohms(number):
    """The same file: a source gives E² / 4R at most; just above it no operating point."""
    row: Any = json.loads(shared("benchmarks", "dc_faults.json").read_text(encoding="utf-8"))["constant_power_limit"][number]
    (seen,) = seen_from(one_loop(row["E_V"], row["R_ohm"]), ["far"]).values()
    assert seen.volt * seen.fault_a / 4 == pytest.approx(row["max_power_W"], rel=1e-9)
    load = Load(ref="load", plus="far", minus="0", kind="constant power", value=row["P_W"])
    network = one_loop(row["E_V"], row["R_ohm"])
    found = solve(DcNetwork(ground="0", resistors=network.resistors, sources=network.sources, loads=(load,)))
    assert isinstance(found, Failure) != row["has_operating_point"]


@pytest.mark.skipif(SPICE is None, reason="ngspice is not installed")
@pytest.mark.parametrize("wires", [20, 200])
def test_shorts_in_a_generated_car_are_those_of_ngspice(wires):
    """A short of a milliohm at the far end: its current is what ngspice finds across it."""
    assert SPICE is not None
    whole = generated(wires)
    network = DcNetwork(ground=whole.ground, resistors=whole.resistors, sources=whole.sources)
    far = f"n{wires}"
    seen = seen_from(network, [far])[far]
    fault = Resistor(ref="fault", start=far, end=network.ground, ohm=1e-3)
    volts = spice_volts(DcNetwork(ground=network.ground, resistors=(*network.resistors, fault), sources=network.sources), SPICE)
    assert seen.volt / (seen.ohm + 1e-3) == pytest.approx(volts[far] / 1e-3, rel=1e-4)
