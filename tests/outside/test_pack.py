"""The pack held against somebody else's numbers: copper, insulation, constant power, joints, packs that others have built.

Sources are named beside each check. `benchmarks` are in ../shared, which does not travel with the source; without it those
checks say so and are skipped.
"""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.studies.pack.apart import least_gap_mm
from halfshaft.studies.pack.bars import bar_resistance_ohm
from halfshaft.studies.pack.circuit import current_a, max_power_w
from halfshaft.studies.pack.heat import heat_w
from halfshaft.study import Study
from support import changed

REPO = Path(__file__).parents[2]
SHARED = REPO.parent / "shared"
needs_shared = pytest.mark.skipif(not SHARED.is_dir(), reason="the shared benchmarks are not beside this repository")


@pytest.fixture(scope="module")
def tern() -> Conversion:
    return read_folder(REPO / "examples" / "tern")


def test_copper_of_one_square_millimetre_is_that_of_the_standard():
    """IEC 60028: a wire of annealed copper 1 m long and of 1 mm2 has 1/58 ohm at 20 C; printed resistivity 17.241 n-ohm m."""
    assert bar_resistance_ohm(length_mm=1000, section_mm2=1) == pytest.approx(1 / 58, rel=5e-5)


@pytest.mark.parametrize(("section_mm2", "printed_ohm_per_km"), [(50, 0.386), (70, 0.272), (95, 0.206), (120, 0.161)])
def test_a_bar_has_no_more_resistance_than_flexible_cable_of_its_section(section_mm2, printed_ohm_per_km):
    """IEC 60228:2004 table 3, class 5, plain copper, greatest resistance at 20 C: strands and lay put it up to 13 % above solid copper."""
    ours = bar_resistance_ohm(length_mm=1e6, section_mm2=section_mm2)
    assert ours < printed_ohm_per_km < 1.14 * ours


# IEC 60664-1:2007 as printed. F.1, category II: up to 300 V 2.5 kV, up to 600 V 4 kV. F.2 case A, pollution degree 2: 1.5 and 3 mm.
# F.4, pollution degree 2, group III: 50 V 1.2, 100 V 1.4, 250 V 2.5, 320 V 3.2, 400 V 4.0, 500 V 5.0, 630 V 6.3, 1000 V 10 mm.
@pytest.mark.parametrize(
    ("volts", "least_mm"),
    [
        (33.6, 1.2),
        (50, 1.2),
        (50.1, 1.25),
        (100, 1.4),
        (250, 2.5),
        (300, 3.2),
        (320.1, 4.0),
        (400, 4.0),
        (436.8, 5.0),
        (500, 5.0),
        (600, 6.3),
        (1000, 10),
    ],
)
def test_gaps_between_bare_parts_are_those_of_the_standard(volts, least_mm):
    assert least_gap_mm(volts) == pytest.approx(least_mm)


def test_above_the_tables_nothing_is_made_up():
    assert least_gap_mm(1000.1) is None


@needs_shared
def test_our_rows_of_the_insulation_standard_are_those_of_the_reference():
    """Every row of ours against the shared transcription of IEC 60664-1:2007."""
    reference = list(csv.DictReader((SHARED / "references" / "clearance_creepage_iec60664.csv").read_text(encoding="utf-8").splitlines()))
    printed = {
        **{
            ("rated impulse voltage", float(row["key_value"]), "", ""): float(row["value"])
            for row in reference
            if row["table"].startswith("F.1") and row["overvoltage_category"] == "II"
        },
        **{
            ("clearance", 1000 * float(row["key_value"]), row["pollution_degree"], ""): float(row["value"])
            for row in reference
            if row["table"] == "F.2 clearance" and row["field_case"].startswith("A")
        },
        **{
            ("creepage", float(row["key_value"]), row["pollution_degree"], row["material_group"]): float(row["value"])
            for row in reference
            if row["table"].startswith("F.4 (")
        },
        **{
            ("altitude factor", float(row["key_value"]), "", ""): float(row["value"]) for row in reference if row["table"].startswith("A.2")
        },
    }
    path = REPO / "src" / "halfshaft" / "standards" / "insulation_iec60664.csv"
    ours = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    assert len(ours) == len(printed) == 6 + 57 + 105 + 4
    for row in ours:
        key = (row["table"], pytest.approx(float(row["up_to"])), row["pollution_degree"], row["material_group"])
        assert [value for at, value in printed.items() if at == key] == [float(row["value"])]


@needs_shared
def test_constant_power_up_to_the_limit_and_beyond_it():
    """dc_faults.json, constant_power_limit: closed forms, high branch; above E² / 4R there is no operating point."""
    cases = json.loads((SHARED / "benchmarks" / "dc_faults.json").read_text(encoding="utf-8"))["constant_power_limit"]
    assert len(cases) == 4
    for case in cases:
        emf_v, ohm = case["E_V"], case["R_ohm"]
        assert max_power_w(emf_v, ohm) == pytest.approx(case["max_power_W"], rel=1e-12)
        amperes = current_a(emf_v, ohm, case["P_W"])
        assert (amperes is not None) == case["has_operating_point"]
        if amperes is not None:
            assert emf_v - amperes * ohm == pytest.approx(case["V_load"], rel=1e-9)


@needs_shared
@pytest.mark.parametrize("name", ["hv_star_cpl", "hv_near_collapse"])
def test_constant_power_agrees_with_a_circuit_simulator(name):
    """dc_networks.json, solved by ngspice: what the pack feeds, its bus volts and its amperes. The bus is our load."""
    networks = json.loads((SHARED / "benchmarks" / "dc_networks.json").read_text(encoding="utf-8"))
    network = next(item for item in networks if item["name"] == name)
    source, answer = network["sources"][0], network["answer"]
    bus_v, amperes = answer["node_V"]["bus"], answer["source_A"]["pk"]
    assert current_a(source["emf_V"], source["r_ohm"], bus_v * amperes) == pytest.approx(amperes, rel=1e-9)


def test_joints_of_the_trade():
    """Trade figures: 300 A through a loose joint of 10 milliohms make 900 W; 5 W at 300 A needs no more than 56 micro-ohms."""
    assert heat_w(300, 0.010) == pytest.approx(900)
    assert math.floor(5 / 300**2 * 1e6) == 55
    assert heat_w(300, 56e-6) == pytest.approx(5, abs=0.05)


def test_sag_of_a_pack_that_somebody_measured(tern):
    """A measured pack of 48 cells: 162 V at rest, 127 V at 412 A, 1.77 milliohms a cell. As six modules of 8 cells of that resistance."""
    kind = tern.modules[0].model_copy(
        update={
            "resistance_mohm": 8 * 1.77,
            "cell_full_v": 162 / 48,
            "cell_empty_v": 162 / 48 - 0.001,
            "resistance_cold_mohm": None,
            "plus_along_mm": None,
        }
    )
    owner = tern.boxes[0]
    block = owner.modules[0]
    modules = tuple(block.model_copy(update={"ref": f"M{number}", "order_in_string": number}) for number in range(1, 7))
    pack = tern.pack.model_copy(update={"power_peak_kw": 127 * 412 / 1000, "plus_at": None, "minus_at": None})
    bare = changed(
        tern,
        modules=(kind,),
        boxes=(owner.model_copy(update={"modules": modules}),),
        cables=(),
        cable_cores=(),
        busbars=(),
        joints=(),
        pack=pack,
    )
    # No stud has a place, so no bar has a length: nothing but cells.
    full = Study(bare).pack.workings[0]
    assert full.peak.current_a == pytest.approx(412, abs=0.5)
    assert full.peak.volts == pytest.approx(127, abs=0.1)


def test_the_sag_of_a_cell_depends_on_power_and_not_on_how_strings_are_laid_out():
    """A trade article: 30 modules, 40 kW, as 6 in parallel and 5 in series or the other way: the same sag of each module."""
    emf_v, ohm, power_w = 24.0, 0.004, 40_000.0
    sags = []
    for series, strings in ((5, 6), (6, 5)):
        amperes = current_a(series * emf_v, series * ohm / strings, power_w)
        assert amperes is not None
        sags.append(amperes / strings * ohm)
    assert sags[0] == pytest.approx(sags[1], rel=1e-9)


def test_twenty_four_modules_make_sixty_one_kilowatt_hours(tern):
    """Common practice: 24 modules of some 2.54 kWh are sold as 61 kWh."""
    kind = tern.modules[0].model_copy(update={"energy_kwh": 2.54})
    block = tern.boxes[0].modules[0]
    modules = tuple(block.model_copy(update={"ref": f"M{number}", "order_in_string": number}) for number in range(1, 25))
    big = changed(tern, modules=(kind,), boxes=(tern.boxes[0].model_copy(update={"modules": modules}),), busbars=(), joints=())
    assert round(Study(big).pack.energy_kwh) == 61


def test_the_demo_against_its_own_table(tern):
    """README of the demo: 379.6 V nominal, 436.8 full, 312.0 empty, 291.2 stop, 29.99 kWh, 83.2 milliohms, 268.8 and 168.0 V."""
    pack = Study(tern).pack
    assert (pack.nominal_v, pack.full_v, pack.empty_v, pack.stop_v) == pytest.approx((379.6, 436.8, 312.0, 291.2), abs=0.05)
    assert pack.energy_kwh == pytest.approx(29.99, abs=0.005)
    assert pack.resistance_mohm["modules"] == pytest.approx(83.2, abs=0.05)
    (split,) = pack.splits
    assert (split.after, split.before) == ("M08", "M09")
    assert (split.ahead_v, split.behind_v) == pytest.approx((268.8, 168.0), abs=0.05)


def test_bars_of_the_demo_are_as_long_as_its_maker_made_them(tern):
    """The demo's table gives every bar between two modules its developed length, written by hand: within 1 mm of ours."""
    between = [bar for bar in Study(tern).pack.bars if bar.apart_mm is not None]
    assert len(between) == 10
    for bar in between:
        assert bar.needed_mm == pytest.approx(bar.length_mm, abs=1.0)
