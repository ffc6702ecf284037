"""How long a fuse bears a current: catalogue points, joined by straight lines on log-log paper."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion


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

    def opens_within_a(self, seconds: float) -> float:
        """The least amperes at which it opens within these seconds, as far as the points tell."""
        if seconds >= self.points[0][1]:
            return self.points[0][0]
        last_a, last_s = self.points[-1]
        if seconds <= last_s:
            return last_a * math.sqrt(last_s / seconds)
        for (low_a, low_s), (high_a, high_s) in zip(self.points, self.points[1:], strict=False):
            if high_s <= seconds:
                share = math.log(seconds / low_s) / math.log(high_s / low_s)
                return math.exp(math.log(low_a) + share * math.log(high_a / low_a))
        raise AssertionError("a time between that of the first and of the last point lies between two of them")


def curve_of(conversion: Conversion, fuse: str) -> Curve | None:
    """The curve of a fuse inside a device, `device.element`; None where fuse_points.csv has none, or times that rise with the current."""
    device, _, name = fuse.partition(".")
    part = conversion.device[device].part
    points = sorted((row.current_a, row.opens_after_s) for row in conversion.fuse_points if (row.part, row.fuse) == (part, name))
    if not points or any(high_a == low_a or high_s > low_s for (low_a, low_s), (high_a, high_s) in itertools.pairwise(points)):
        return None
    return Curve(points=tuple(points))
