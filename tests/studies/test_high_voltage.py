"""Figures of the demo's high-voltage chain, each worked out by hand from the demo's tables."""

from __future__ import annotations

import math

import pytest

from rule_cases.pack_figures import PACK_OHM

FULL_V, EMPTY_V = 104 * 4.2, 104 * 3.0
LINK_F = 725e-6
# Discharged by resistors in 120 s (620 µF), 60 s, 60 s and 10 s from 436.8 down to 60 V, all side by side: microfarad a second.
PASSIVE = 620 / 120 + 60 / 60 + 40 / 60 + 5 / 10


def test_pre_charge(tern_study):
    """100 ohm on 725 µF, given up after 1 s, three tries and 10 minutes' rest; its contact makes 20 A, the resistor bears 250 J."""
    found = tern_study.high_voltage.precharge
    assert found.resistor_min_ohm == pytest.approx(FULL_V / 20)
    assert found.resistor_max_ohm == pytest.approx(1 / (math.log(20) * LINK_F))
    assert found.mean_w == pytest.approx(3 * 0.5 * LINK_F * FULL_V**2 / (3 + 600))
    bears_s = 250 / (FULL_V**2 / 100)
    assert found.shorted_bears_s == pytest.approx(bears_s)
    assert found.healthy_v == pytest.approx(FULL_V * (1 - math.exp(-bears_s / 0.0725)))
    # A second is so long that what holds the link down at 95 % decides: 95/5 of 100 ohm, which takes 90.6 W at 415 V.
    assert found.least_load_ohm == pytest.approx(1900, rel=0.001)
    assert found.most_load_w == pytest.approx((0.95 * FULL_V) ** 2 / 1900, rel=0.001)
    standing_ohm = 1 / (math.log(FULL_V / 60) * PASSIVE * 1e-6)
    reach = standing_ohm / (standing_ohm + 100)
    assert found.with_standing_s == pytest.approx(-math.log(1 - 0.95 / reach) * 100 * reach * LINK_F)


def test_discharge(tern_study):
    found = tern_study.high_voltage.discharge
    assert [item.energy_j for item in (*found.units, found.link)] == pytest.approx([59.146, 5.7239, 3.8159, 0.47699, 69.163], rel=1e-4)
    assert found.link.passive_s == pytest.approx(725 / PASSIVE)
    assert found.link.active_s == pytest.approx(725 / (620 / 2 + PASSIVE))


def test_short_circuits(tern_study):
    """At the pack's ends: full and warm with no joints; empty and cold, 14.5 milliohms a module in place of 6.4."""
    at = {item.at: item for item in tern_study.high_voltage.shorts}
    ends = at["pack's ends"]
    assert ends.most_a == pytest.approx(FULL_V / (PACK_OHM - 36 * 0.03e-3), rel=1e-4)
    least_a = EMPTY_V / (PACK_OHM + 13 * 8.1e-3)
    assert ends.least_a == pytest.approx(least_a, rel=1e-4)
    # The catalogue: 60 ms at 1,500 A, 20 ms at 2,000; straight on log-log paper.
    opens_s = 0.06 * (20 / 60) ** (math.log(least_a / 1500) / math.log(2000 / 1500))
    assert ends.first.opens_s == pytest.approx(opens_s, rel=1e-3)
    # To the charger: two main contacts, its fuse of 3.1 milliohms, a bar of 0.1, and there and back what show looms says of C8.
    way_ohm = (2 * 0.2 + 3.1 + 0.1 + 2 * 5.026) / 1000
    assert at["CHG"].least_a == pytest.approx(EMPTY_V / (PACK_OHM + 13 * 8.1e-3 + way_ohm), rel=1e-4)


def test_the_hot_case_at_its_peak_empty(tern_study):
    """60 kW of the inverter and 0.55 kW of the converter, which hangs behind the main contacts as well."""
    (hot,) = [item for item in tern_study.high_voltage.cases if item.case == "hot"]
    assert hot.peak_kw - hot.power_kw == pytest.approx(60 - 27.45)
    draw = hot.peak["empty"]
    assert draw.pack_v == pytest.approx(EMPTY_V - draw.current_a * PACK_OHM, rel=1e-5)
    shared_v = draw.pack_v - draw.current_a * 0.4e-3
    inverter_a, converter_a = (unit.current_a for unit in draw.units)
    assert draw.current_a == pytest.approx(inverter_a + converter_a)
    # 0.6 m and 0.535 m of 35 mm² of 0.527 milliohm a metre to the inverter; a fuse of 12 milliohms, a bar and C9 to the converter.
    assert draw.units[0].volts == pytest.approx(shared_v - inverter_a * 1.135 * 0.527e-3, abs=0.001)
    assert draw.units[0].volts * inverter_a == pytest.approx(60_000)
    assert draw.units[1].volts == pytest.approx(shared_v - converter_a * (12 + 0.1 + 2 * 1.366) / 1000, abs=0.001)
    lost_w = {item.ref: item.loss_w for item in draw.links}
    assert lost_w["HVDB.main plus"] == pytest.approx(draw.current_a**2 * 0.2e-3)
    assert lost_w["C6"] + lost_w["C7"] == pytest.approx(inverter_a**2 * 1.135 * 0.527e-3, rel=0.002)
    assert lost_w["C9"] == pytest.approx(converter_a**2 * 2 * 1.366e-3, rel=0.001)
    assert draw.loss_w == pytest.approx(draw.current_a**2 * PACK_OHM + sum(lost_w.values()), rel=1e-4)


def test_what_carries_most(tern_study):
    found = tern_study.high_voltage
    assert (found.most_at_peak["C6"].case, found.most_at_peak["C6"].state) == ("hot", "empty")
    assert found.most_for_good["C8"].case == "AC charging"
    # 6.1 kW into the empty pack, whose volts the charge lifts to 313.7 V.
    assert found.most_for_good["C8"].current_a == pytest.approx(6100 / 314.0, abs=0.05)


def test_where_nobody_breaks_the_current(tern_study):
    """Each contact breaks 250 A; the pack's fuse opens within a second from between 600 A (4 s) and 800 A (0.9 s)."""
    main = tern_study.high_voltage.contacts[0]
    assert main.breaking_a == 250
    assert main.fuse_a == pytest.approx(800 * (600 / 800) ** (math.log(1 / 0.9) / math.log(4 / 0.9)))
