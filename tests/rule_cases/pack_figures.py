"""The demo's pack by hand."""

from __future__ import annotations

import math

# The pack's resistance: 13 modules of 6.4 milliohms, 3,565 mm of bar 20 x 3 of copper, 36 joints of 30 microhms, 8,357 mm of 35 mm2
# in cables C1 to C5, two fuses and the disconnect. At 20 % charge 104 cells of 3.24 V are behind it.
PACK_OHM = (13 * 6.4 + 3565 * 0.017241 / 60 + 36 * 0.03 + 8.357 * 0.527 + 2 * 0.35 + 0.1) / 1000
PACK_20_V = 104 * (3.0 + 0.2 * 1.2)


def pack_amperes(power_w: float) -> float:
    """The smaller root of P = I (E - I R)."""
    return (PACK_20_V - math.sqrt(PACK_20_V**2 - 4 * PACK_OHM * power_w)) / (2 * PACK_OHM)
