"""High-voltage safety held against somebody else's numbers: limits row by row, insulation standard, printed examples, circuit theory."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from halfshaft.standards import hv_limits, table
from halfshaft.studies.hv_safety.bonding import strap_mohm
from halfshaft.studies.hv_safety.capacitance import earth_current_ma, energy_above_j, energy_j, largest_nf
from halfshaft.studies.hv_safety.insulation import isolation_ohm, parallel_mohm, pole_volts
from halfshaft.studies.hv_safety.limits import basis_of, limit_of
from halfshaft.studies.insulating import least_clearance_mm, least_creepage_mm

REFERENCES = Path(__file__).parents[2].parent / "shared" / "references"
# How sure the reference is, and how sure ours may then be.
SURE = {"read": "published", "secondary": "published", "from memory": "from memory"}


def printed(name: str) -> list[dict[str, str]]:
    path = REFERENCES / name
    if not path.is_file():
        pytest.skip(f"the shared references are not beside this repository: no {name}")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_limit_is_as_the_reference_has_it_and_no_surer():
    """UN R100, ISO 6469-3 and -4, FMVSS 305, R94, GTR 20 and trade practice, as collected in the shared references."""
    theirs = {(row["topic"], row["quantity"]): row for row in printed("hv_safety_limits.csv")}
    ours = {(row["topic"], row["quantity"]): row for row in table("hv_limits")}
    # One more row: the voltmeter of the two readings, read in the mirrored standard, annex B 1.2.2.
    assert ours.keys() - theirs.keys() == {("isolation", "Least internal resistance of the voltmeter")}
    assert theirs.keys() <= ours.keys()
    for key, their in theirs.items():
        our = ours[key]
        assert (our["value"], our["unit"]) == (their["value"], their["unit"])
        assert our["basis"] == SURE[their["confidence"]]
        if their["clause"]:
            assert their["clause"] in our["source"]
        assert ("through a secondary source" in our["source"]) == (their["confidence"] == "secondary")
        assert ("read in a public copy" in our["source"]) == (their["confidence"] == "read")


# UN R100, 02 series, 5.1.3.1, 5.1.3.2, 5.1.3.4 (the last from memory); 5.1.2.2; 03 series 5.1.2.2 (from memory); ISO 6469-4:2015
# 5.2.3; FMVSS 305 S3.
@pytest.mark.parametrize(
    ("name", "value", "unit", "basis"),
    [
        ("class_a_dc", 60, "V", "published"),
        ("isolation_dc_apart", 100, "ohm/V", "published"),
        ("isolation_joined", 500, "ohm/V", "published"),
        ("isolation_joined_protected", 100, "ohm/V", "published"),
        ("isolation_inlet", 1e6, "ohm", "from memory"),
        ("bond", 0.1, "ohm", "published"),
        ("bond_current", 0.2, "A", "published"),
        ("bond_pair", 0.2, "ohm", "from memory"),
        ("y_energy", 0.2, "J", "published"),
    ],
)
def test_limits_that_rules_use(name, value, unit, basis):
    assert (limit_of(name), hv_limits()[name].unit, basis_of(name).kind) == (value, unit, basis)


# IEC 60664-1:2007 as transcribed in a public source file: tables F.1 and F.2 (overvoltage category II: up to 300 V 2.5 kV, 600 V
# 4 kV, 1000 V 6 kV) and F.4, material group III; A.2: 1.14 at 3000 m, 1.48 at 5000 m.
@pytest.mark.parametrize(
    ("volts", "pollution", "clearance_mm", "creepage_mm"),
    [(250, 3, 1.5, 4.0), (300, 2, 1.5, 3.2), (400, 2, 3.0, 4.0), (436.8, 2, 3.0, 5.0), (436.8, 3, 3.0, 8.0), (800, 2, 5.5, 8.0), (800, 3, 5.5, 12.5), (1000, 2, 5.5, 10.0)],
)  # fmt: skip
def test_distances_of_the_insulation_standard(volts, pollution, clearance_mm, creepage_mm):
    assert least_clearance_mm(volts, pollution=pollution) == clearance_mm
    assert least_creepage_mm(volts, pollution=pollution, group="IIIa") == creepage_mm


def test_thin_air_and_the_ends_of_the_tables():
    assert least_clearance_mm(436.8, pollution=2, altitude_m=3000) == pytest.approx(3 * 1.14)
    assert least_clearance_mm(436.8, pollution=2, altitude_m=5000) == pytest.approx(3 * 1.48)
    assert least_clearance_mm(436.8, pollution=2, altitude_m=5001) is None
    assert least_clearance_mm(1000.1, pollution=2) is None
    assert least_creepage_mm(436.8, pollution=4, group="IIIa") is None


@pytest.mark.parametrize(("nanofarad", "volts", "milliampere", "digits"), [(4.7, 240, 0.354, 0.0005), (100, 240, 7.5, 0.05)])
def test_current_through_a_capacitor_to_earth(nanofarad, volts, milliampere, digits):
    """Two printed examples at 50 Hz: a forum on mains filters (4.7 nF, 240 V: 0.354 mA), a textbook (100 nF, 240 V: 7.5 mA)."""
    assert earth_current_ma(capacitance_nf=nanofarad, mains_v=volts, mains_hz=50) == pytest.approx(milliampere, abs=digits)
    assert largest_nf(current_ma=milliampere, mains_v=volts, mains_hz=50) == pytest.approx(nanofarad, rel=0.01)


def test_a_fifth_of_a_joule():
    """1/2 C V²: 0.2 J are 2.5 µF at 400 V and 0.625 µF at 800 V; what 60 V hold off, 2.5 µF at 60 V have 4.5 mJ."""
    assert energy_j(2.5e-6, 400) == pytest.approx(0.2)
    assert energy_j(0.625e-6, 800) == pytest.approx(0.2)
    assert energy_above_j(2.5e-6, 400) == pytest.approx(0.2 - 0.0045)
    assert energy_above_j(2.5e-6, 50) == 0


def readings(pack_v: float, plus_ohm: float, minus_ohm: float, meter_ohm: float, known_ohm: float | None, at: str) -> float:
    """Volts between a pole and the body by the node equations: nodes plus and body, minus is nought; the meter beside one pole."""
    plus, minus = 1 / plus_ohm, 1 / minus_ohm
    beside = 1 / meter_ohm + (0 if known_ohm is None else 1 / known_ohm)
    plus, minus = (plus + beside, minus) if at == "plus" else (plus, minus + beside)
    body_v = np.linalg.solve(np.array([[1.0, 0.0], [-plus, plus + minus]]), np.array([pack_v, 0.0]))[1]
    return float(pack_v - body_v if at == "plus" else body_v)


@pytest.mark.parametrize(("plus_ohm", "minus_ohm"), [(4.24e6, 4.24e6), (3e6, 0.15e6), (0.4e6, 9e6), (250e3, 240e3)])
@pytest.mark.parametrize("meter_ohm", [10e6, 100e6, 1e12])
@pytest.mark.parametrize("known_ohm", [218_400.0, 43_680.0])
def test_the_two_readings_give_the_lesser_pole_with_any_meter_and_any_resistor(plus_ohm, minus_ohm, meter_ohm, known_ohm):
    """UN R100 (consolidated), annexes 4B and 5A: Ri = Ro Vb (1/V' - 1/V), the resistor beside the pole with more volts."""
    pack_v = 436.8
    both = {at: readings(pack_v, plus_ohm, minus_ohm, meter_ohm, None, at) for at in ("plus", "minus")}
    at = max(both, key=both.__getitem__)
    after_v = readings(pack_v, plus_ohm, minus_ohm, meter_ohm, known_ohm, at)
    found = isolation_ohm(known_ohm=known_ohm, pack_v=pack_v, before_v=both[at], after_v=after_v)
    assert found == pytest.approx(min(plus_ohm, minus_ohm), rel=1e-9)


def test_the_other_form_of_the_two_readings():
    """49 CFR 571.305, from memory: Ri = Ro (1 + V2/V1) (V1 - V1')/V1'. The same where a meter takes no current, V1 + V2 = Vb."""
    v1, v2 = pole_volts(pack_v=400, plus_ohm=300e3, minus_ohm=100e3)
    assert (v1, v2) == (300, 100)
    other = 200e3 * (1 + v2 / v1) * (v1 - 150) / 150
    assert isolation_ohm(known_ohm=200e3, pack_v=400, before_v=v1, after_v=150) == pytest.approx(other)


def test_volts_that_cannot_be():
    for before_v, after_v in ((200, 200), (200, 210), (500, 100), (200, 0)):
        with pytest.raises(ValueError, match="measure again"):
            isolation_ohm(known_ohm=200e3, pack_v=400, before_v=before_v, after_v=after_v)


def test_worked_sums_of_insulation():
    """By hand: 20 of 20 MΩ are 1; 1, 2 and 2 MΩ are 0.5; 500 ohm/V at 400 V are 200 kΩ, through which 2 mA flow, 100 are 10 mA."""
    assert parallel_mohm([20.0] * 20) == pytest.approx(1)
    assert parallel_mohm([1, 2, 2]) == pytest.approx(0.5)
    assert 1000 * 400 / (limit_of("isolation_joined") * 400) == pytest.approx(2)
    assert 1000 * 400 / (limit_of("isolation_dc_apart") * 400) == pytest.approx(10)


def test_copper_of_a_strap_beside_the_most_that_fine_strands_may_have():
    """IEC 60228, class 5, plain: at most 16 % above ours in every section from 0.5 to 95 mm²; docs/hv-safety.md says so."""
    rows = [row for row in printed("conductors_iec60228_class5.csv") if float(row["size_mm2"]) <= 95]
    assert len(rows) > 10
    for row in rows:
        ours_mohm = strap_mohm(length_mm=1000, section_mm2=float(row["size_mm2"]))
        assert 1 <= float(row["r20_max_class5_plain_ohm_per_km"]) / ours_mohm <= 1.16
