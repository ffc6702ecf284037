"""Pre-charge, discharge and short circuits against printed and separately worked figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halfshaft.studies.high_voltage.discharge import fall_s
from halfshaft.studies.high_voltage.precharge import heat_j, least_load_ohm, link_v, time_to_s, time_with_load_s
from halfshaft.studies.high_voltage.shorts import bolted_a


# A sensor maker's pre-charge calculator: n = -ln(1 - q); five time constants are 99.326 %.
@pytest.mark.parametrize(("percent", "constants"), [(95, 2.996), (98, 3.912), (99, 4.605), (99.326, 5.000)])
def test_time_constants_to_a_share(percent, constants):
    assert time_to_s(percent / 100, 1.0) == pytest.approx(constants, abs=0.0005)


def test_a_resistor_makers_printed_example():
    """800 V, 47 ohm, 1000 microfarad: tau 47.0 ms, first 17.0 A and 13,617 W, 320.0 J. It prints 141.0 and 216.4 ms for 95 and
    99 %, with 3 and 4.6 time constants in place of 2.996 and 4.605."""
    tau_s = 47 * 1000e-6
    assert 1000 * time_to_s(0.95, tau_s) == pytest.approx(141.0 * 2.9957 / 3, abs=0.05)
    assert 1000 * time_to_s(0.99, tau_s) == pytest.approx(216.4, abs=0.05)
    assert heat_j(800, 1000e-6, tau_s, 100.0) == pytest.approx(320.0, abs=0.05)
    assert pytest.approx(17.0, abs=0.05) == 800 / 47
    assert pytest.approx(13_617, abs=0.5) == 800**2 / 47


def test_a_chip_makers_reference_design():
    """50 ohm, ended at five time constants; with 2 mF and 800 V (worked separately): 0.2996 s, 0.3912 s, 639.97 J of 640."""
    tau_s = 50 * 0.002
    assert time_to_s(0.95, tau_s) == pytest.approx(0.2996, abs=0.00005)
    assert time_to_s(0.98, tau_s) == pytest.approx(0.3912, abs=0.00005)
    assert heat_j(800, 0.002, tau_s, 5 * tau_s) == pytest.approx(639.97, abs=0.005)


def run(load_ohm: float, seconds: float) -> tuple[float, float]:
    """Volts of 725 microfarad and joules in 100 ohm from 436.8 V after some seconds, in small steps of Kirchhoff's laws (Heun)."""
    volt = heat = 0.0
    steps = 20_000
    for _ in range(steps):
        slopes = []
        at = volt
        for _ in range(2):
            slopes.append(((436.8 - at) / 100 - at / load_ohm) / 725e-6)
            at = volt + slopes[0] * seconds / steps
        rise = sum(slopes) / 2 * seconds / steps
        heat += (436.8 - volt - rise / 2) ** 2 / 100 * seconds / steps
        volt += rise
    return volt, heat


def test_beside_the_same_circuit_in_small_steps():
    volt, heat = run(1e12, 0.2)
    assert link_v(436.8, 0.0725, 0.2) == pytest.approx(volt, abs=1e-4)
    assert heat_j(436.8, 725e-6, 0.0725, 0.2) == pytest.approx(heat, abs=1e-4)
    after_s = time_with_load_s(0.9, 725e-6, 100, 2000)
    assert run(2000, after_s)[0] == pytest.approx(0.9 * 436.8, abs=1e-4)
    least = least_load_ohm(0.95, 725e-6, 100, 0.3)
    assert run(least, 0.3)[0] == pytest.approx(0.95 * 436.8, abs=1e-4)
    assert run(1880, 3.0)[0] < 0.95 * 436.8 < run(1920, 3.0)[0]


def test_the_demo_authors_own_figures(tern_study):
    """README of the demo: 100 ohm on 725 microfarad: 72.5 ms, 95 % after 0.22 s, 69 J; the pack 436.8 V full."""
    found = tern_study.high_voltage.precharge
    assert found.emf_v == pytest.approx(436.8)
    assert 1000 * found.tau_s == pytest.approx(72.5)
    assert found.closes_after_s == pytest.approx(0.22, abs=0.005)
    assert found.heat_to_close_j == pytest.approx(69, abs=0.5)


def test_a_manufacturers_guide_to_short_circuits():
    """240 V, 110 cells of 0.5 milliohm: 55 milliohm, 4.36 kA (it prints 4.37)."""
    assert bolted_a(240, 110 * 0.0005) / 1000 == pytest.approx(4.365, abs=0.006)


def test_discharge_is_the_same_decay_that_an_exponential_says():
    times = np.linspace(0, 200, 2_000_001)
    volts = 436.8 * np.exp(-times / (97_500 * 620e-6))
    assert fall_s(97_500, 620e-6, 436.8) == pytest.approx(times[np.argmax(volts <= 60)], abs=2e-4)
    assert fall_s(97_500, 620e-6, 60.0) == 0
    assert math.isfinite(fall_s(97_500, 620e-6, 30.0))
