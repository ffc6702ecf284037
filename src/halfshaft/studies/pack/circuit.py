"""A source with a resistance inside, feeding something that takes a set power whatever its volts are.

Kirchhoff: `P = I (E - I R)`. Of its two currents a real car runs at the smaller, with the higher volts; above `E² / 4R`
there is none.
"""

from __future__ import annotations

import math


def max_power_w(emf_v: float, resistance_ohm: float) -> float:
    """The most that the source gives to anything at all, at half its open volts."""
    return math.inf if resistance_ohm == 0 else emf_v**2 / (4 * resistance_ohm)


def current_a(emf_v: float, resistance_ohm: float, power_w: float) -> float | None:
    """Amperes at a set power; None where the source cannot give it.

    Written so that no two near figures are taken from each other where the resistance is small.

    >>> round(current_a(355.2, 0.1235, 200_000), 1)
    768.3
    """
    root = emf_v**2 - 4 * resistance_ohm * power_w
    return None if root < 0 else 2 * power_w / (emf_v + math.sqrt(root))
