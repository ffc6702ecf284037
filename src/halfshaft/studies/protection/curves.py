"""How long a fuse bears a current: catalogue points, joined by straight lines on log-log paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

# Adiabatic constants of copper in A s^0.5/mm2, PVC 70 to 160 C and XLPE 90 to 250 C. Source: IEC 60364-4-43, table 43A.
ADIABATIC_K = {"PVC": 115.0, "XLPE": 143.0}


@dataclass(frozen=True, kw_only=True, slots=True)
class Curve:
    """Points (amperes, seconds) by rising current; times never rise."""

    points: tuple[tuple[float, float], ...]

    def opens_after_s(self, current_a: float) -> float | None:
        """Seconds until it opens; None below the first point, of which nothing is known.

        Beyond the last point the energy let through stays that of the last point: I2t is constant.
        """
        first_a, last_a = self.points[0][0], self.points[-1][0]
        if current_a < first_a:
            return None
        if current_a >= last_a:
            return self.points[-1][1] * (last_a / current_a) ** 2
        for (low_a, low_s), (high_a, high_s) in zip(self.points, self.points[1:], strict=False):
            if current_a <= high_a:
                share = math.log(current_a / low_a) / math.log(high_a / low_a)
                return math.exp(math.log(low_s) + share * math.log(high_s / low_s))
        raise AssertionError("a current between the first and the last point lies between two of them")


def withstand_s(section_mm2: float, current_a: float, insulation: str) -> float:
    """Seconds that a copper wire bears a current with no heat leaving it: k2 S2 / I2. Source: IEC 60364-4-43, 434.5.2."""
    return (ADIABATIC_K[insulation] * section_mm2 / current_a) ** 2
