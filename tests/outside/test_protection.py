"""Fuse curves against printed operating limits and the adiabatic equation."""

import pytest

from halfshaft.studies.protection.blades import blade_band
from halfshaft.studies.protection.curves import Curve, withstand_s


def test_maxi_band_is_that_of_the_standard() -> None:
    """DIN 72581-3 form E extract: at 2.0 times the rating 2 to 60 s, at 1.35 times 60 to 1800 s."""
    band = blade_band("maxi blade", 40.0)
    assert band is not None
    assert (band.earliest.opens_after_s(80.0), band.latest.opens_after_s(80.0)) == pytest.approx((2.0, 60.0))
    assert (band.earliest.opens_after_s(54.0), band.latest.opens_after_s(54.0)) == pytest.approx((60.0, 1800.0))


def test_nothing_below_the_first_point_and_constant_energy_beyond_the_last() -> None:
    """By hand: the middle of a log-log line is the geometric mean; twice the last current, a quarter of its time."""
    curve = Curve(points=((10.0, 100.0), (40.0, 1.0)))
    assert curve.opens_after_s(9.9) is None
    assert curve.opens_after_s(20.0) == pytest.approx(10.0)
    assert curve.opens_after_s(80.0) == pytest.approx(0.25)


def test_withstand_of_copper() -> None:
    """IEC 60364-4-43: k = 115 PVC, 143 XLPE; 2.5 mm2 at 1000 A by hand."""
    assert withstand_s(2.5, 1000.0, "PVC") == pytest.approx(0.08265625)
    assert withstand_s(2.5, 1000.0, "XLPE") == pytest.approx(0.12780625)
