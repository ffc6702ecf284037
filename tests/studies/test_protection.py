"""Fuses of the demo against figures worked out beside it."""

from __future__ import annotations

import math

import pytest

from halfshaft.model.electrics import FusePoint
from halfshaft.studies.protection.bands import CurveBand, Staircase, band_of
from halfshaft.studies.protection.bearing import short_circuit_c
from halfshaft.studies.protection.words import opening_words, seconds
from halfshaft.study import Study
from rule_cases.changes import inside, more, row, without
from support import changed


@pytest.fixture(scope="module")
def found(tern_study):
    return tern_study.protection


def fuse(found, ref):
    return next(item for item in found.fuses if item.ref == ref)


def test_every_fuse_that_the_two_sides_have_is_there(found, tern):
    in_parts = {ref for ref, element in tern.element.items() if element.kind == "fuse"}
    assert {item.ref for item in found.fuses} == in_parts
    assert {item.ref for item in found.fuses if item.is_high_voltage} == {
        "FH1.link", "FH2.link", "HVDB.charger fuse", "HVDB.DC-DC fuse", "HVDB.heater fuse",
    }  # fmt: skip


def test_each_wire_has_the_fuse_that_the_tracing_gives_it(found, tern_study):
    uses = tern_study.wires.uses
    guarded = {ref: use.fuse for ref, use in uses.items() if use.fuse is not None}
    assert {item.ref: item.fuse for item in found.wires if not item.is_high_voltage} == guarded


def test_the_thinnest_wire_governs(found, tern):
    for item in found.fuses:
        if not item.is_high_voltage and item.wires:
            assert tern.wire[item.thinnest].section_mm2 == min(tern.wire[ref].section_mm2 for ref in item.wires)
    assert fuse(found, "FRB.F14").thinnest == "W132"


def test_a_short_behind_the_strip_fuse_by_hand(found, tern, tern_study):
    """Battery 14 milliohms, strip fuse 0.8, copper of W402 back to GP5, half a milliohm to the body: 13.8 V, and 80 A of converter."""
    back_ohm = tern_study.wires.resistance_ohm["W402"]
    ohm = 0.014 + 0.0008 + back_ohm + tern.supply.body_mohm / 2000
    assert fuse(found, "BAT.FL1").most_a == pytest.approx(80 + 13.8 / ohm, rel=1e-3)


def test_a_short_in_the_fan_by_hand(found, tern, tern_study):
    """12.8 V; PVC wires at 100 °C, cross-linked ones at 125; each terminal as listed; two fuses, a relay, a bar, a way of XF."""
    ohm = 0.014 + 0.0008 + 0.0034 + 0.004 + 0.00005 + 0.0015 + 2 * tern.supply.body_mohm / 2000
    for ref in ("W401", "W405", "W205", "W124", "W152", "W402"):
        wire = tern.wire[ref]
        hot_c = {"B": 100, "C": 125}[wire.insulation_class]
        ohm += tern_study.wires.resistance_ohm[ref] * (1 + 0.00393 * (hot_c - 20))
        ohm += (
            sum(
                tern.terminal[(tern.cavity.get(pin) or tern.splice[pin]).terminal].contact_resistance_mohm
                for pin in (wire.from_pin, wire.to_pin)
            )
            / 1000
        )
    fan = fuse(found, "FRB.F2")
    assert fan.least_at == "FAN.motor"
    assert fan.least_a == pytest.approx(12.8 / ohm, rel=1e-3)


def test_near_shorts_are_no_smaller_than_far_ones(found):
    for item in found.wires:
        assert item.most_a > item.least_a > 0


def test_every_wire_of_the_demo_bears_the_least_short_until_its_fuse_is_open(found):
    timed = [item for item in found.wires if item.opens is not None]
    assert len(timed) > 70
    assert all(item.opens.latest_s < item.bears_s for item in timed)


def test_an_output_that_switches_the_way_back_limits_the_short(found):
    """The charge lamp comes back through an output of the dial driver: a short inside it is that output's to bear."""
    assert fuse(found, "FRB.F13").least_at == "W130"


def test_the_start_of_the_fan_is_on_top_of_what_the_fuse_carries(found):
    starts = {item.load: item for item in fuse(found, "FRB.F13").starts}
    night_a = fuse(found, "FRB.F13").current_a
    assert starts["OL.blower"].current_a == pytest.approx(night_a + 13 - 6.5)
    assert starts["OL.blower"].seconds == 0.4


def test_catalogue_points_come_before_the_standard(tern):
    assert isinstance(band_of(tern, "FRB.F12"), Staircase)
    points = tuple(FusePoint(part="AT-FRB", fuse="F12", current_a=a, opens_after_s=s) for a, s in ((10.0, 2.0), (20.0, 0.2)))
    band = band_of(more("fuse_points", *points)(tern), "FRB.F12")
    assert isinstance(band, CurveBand)
    # Ten per cent more and less of current: at 10 / 0.9 A it is open after 2 s at the latest, at 10 / 1.1 A after 2 s at the earliest.
    assert band.latest_s(10 / 0.9) == pytest.approx(2.0)
    assert band.earliest_s(10 / 1.1) == pytest.approx(2.0)


def test_an_old_fuse_of_no_family_is_shown_and_not_timed(found):
    old = fuse(found, "OL.old fuse 3")
    assert old.band is None
    assert old.opens is None
    assert old.least_a is not None


def test_cables_of_a_branch_are_ended_by_its_own_fuse_and_the_packs_by_the_packs(found):
    by_cable = {item.ref: item.fuse for item in found.wires if item.is_high_voltage}
    assert by_cable["C8"] == "HVDB.charger fuse"
    assert by_cable["C10"] == "HVDB.heater fuse"
    assert {by_cable[ref] for ref in ("C1", "C2", "C3", "C4", "C5", "C6", "C7")} == {"FH1.link"}


# Words of insulation_classes.csv; of several the lowest counts, of none 50 K above the class.
@pytest.mark.parametrize(
    ("material", "limit_c", "short_c"),
    [("PVC, thin wall", 100, 160), ("cross-linked, thin wall", 125, 250), ("cross-linked silicone, screened", 150, 250), ("silicone rubber", 180, 350), ("PTFE", 200, 250)],
)  # fmt: skip
def test_the_short_circuit_temperature_goes_by_the_material(material, limit_c, short_c):
    assert short_circuit_c(material, limit_c) == short_c


def test_without_a_battery_or_its_resistance_no_short_is_computed(tern):
    for change in (inside("AT-BAT20", "cells", resistance_ohm=None), without("ground_points", "GP5")):
        bare = Study(change(tern))
        low = [item for item in bare.protection.fuses if not item.is_high_voltage]
        assert low
        assert all(item.most_a is None and item.least_a is None for item in low)
        assert not [item for item in bare.protection.wires if not item.is_high_voltage]


def test_silent_about_what_is_not_described(tern):
    """Without catalogue points and the loads' starts nothing is said of either."""
    loads = tuple(item.model_copy(update={"peak_s": 0.0}) for item in tern.loads)
    study = Study(changed(tern, fuse_points=(), loads=loads))
    rules = {item.rule for item in study.design_findings if item.rule.startswith("protection.")}
    assert rules == {"protection.hot-air", "protection.not-selective"}
    assert fuse(study.protection, "FH1.link").band is None


def test_a_fuse_of_no_amperes_is_not_timed(tern):
    zero = Study(inside("AT-FRB", "F12", rating_a=0.0)(tern))
    assert fuse(zero.protection, "FRB.F12").band is None
    rules = {item.rule for item in zero.design_findings if "FRB.F12" in item.about}
    assert rules == {"wires.fuse-unrated"}


def test_a_fuse_at_the_batterys_minus_is_on_everybodys_way_back(tern):
    """The battery's minus led out through a fuse inside it."""
    part = tern.part[tern.device["BAT"].part]
    cells = next(item for item in part.inside if item.ref == "cells")
    ahead = cells.model_copy(
        update={"ref": "FL9", "kind": "fuse", "pin_a": "~minus", "pin_b": cells.pin_b, "rating_a": 100.0, "resistance_ohm": 0.001}
    )
    others = [item for item in part.inside if item.ref != "cells"]
    study = Study(row("parts", part.ref, inside=(*others, cells.model_copy(update={"pin_b": "~minus"}), ahead))(tern))
    ((ref, loads),) = study.protection.in_ground
    assert ref == "BAT.FL9"
    assert {"FAN.motor", "VCU.logic", "OL.horn"} <= set(loads)
    assert "protection.fuse-in-ground" in {item.rule for item in study.design_findings}


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0004, "1 ms"), (0.0123, "12 ms"), (0.15, "0.15 s"), (5.0, "5 s"), (99.6, "2 min"), (1800.0, "30 min"), (360_000.0, "100 h"), (math.inf, "never")],
)  # fmt: skip
def test_seconds_in_words(value, words):
    assert seconds(value) == words


def test_what_does_not_open_is_said_to(found):
    assert opening_words(None) == ""
    assert opening_words(fuse(found, "FRB.F8").opens) == "40 ms to 5 s"
    assert opening_words(fuse(found, "FRB.F2").opens).endswith(" ms")
