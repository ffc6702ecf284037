"""Earliest and latest opening of a fuse at a current: by the limits of its standard, or by its own catalogue points.

A standard allows a fuse of a family to open between two times at a few multiples of its rating, and says nothing between
them. More current opens any fuse sooner, so between two multiples it opens no earlier than the earliest of the next higher
one and no later than the latest of the next lower one: a staircase, which is safe on both sides. Straight lines between the
limits would promise what no standard does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis
from halfshaft.standards import table
from halfshaft.studies.protection.curves import Curve, curve_of

# How far a fuse may be off its catalogue curve, as a share of the current.
CURVE_TOLERANCE = 0.10
CATALOGUE = Basis("from memory", "catalogue points in fuse_points.csv, within 10 % of current as IEC 60269-1 allows")


@dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """At these amperes it opens between two times; `latest_s` is None where it need not open at all."""

    current_a: float
    earliest_s: float
    latest_s: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Staircase:
    """The limits of a standard for one rating, by rising current."""

    limits: tuple[Limit, ...]
    basis: Basis

    def earliest_s(self, current_a: float) -> float:
        """It stays closed for so long at least.

        Beyond the last limit nothing is promised: the I2t of that limit is taken as an estimate.
        """
        last = self.limits[-1]
        if current_a > last.current_a:
            return last.earliest_s * (last.current_a / current_a) ** 2
        return next(limit.earliest_s for limit in self.limits if current_a <= limit.current_a)

    def latest_s(self, current_a: float) -> float:
        """It is open by then; infinite where nothing makes it open.

        Beyond the last limit it lets through no more I2t than there, as less heat leaves it in less time.
        """
        known = [limit for limit in self.limits if limit.latest_s is not None and limit.current_a <= current_a]
        if not known or known[-1].latest_s is None:
            return math.inf
        last = self.limits[-1]
        ratio = last.current_a / current_a if known[-1] is last else 1.0
        return known[-1].latest_s * ratio**2

    def opens_within_a(self, seconds: float) -> float:
        """The least amperes at which it is open within these seconds for sure."""
        for limit in self.limits:
            if limit.latest_s is not None and limit.latest_s <= seconds:
                return limit.current_a
        last = self.limits[-1]
        return math.inf if last.latest_s is None else last.current_a * math.sqrt(last.latest_s / seconds)

    @property
    def held_a(self) -> float:
        """What it holds for so long that it counts as for good."""
        return self.limits[0].current_a

    @property
    def opens_from_a(self) -> float:
        """Below this it may never open."""
        return next((limit.current_a for limit in self.limits if limit.latest_s is not None), math.inf)

    def lasts(self, most_a: float) -> list[tuple[float, float]]:
        """Amperes and the longest that they may last, up to a current, where that heats a wire most: just below the next limit."""
        opening = [(limit.current_a, limit.latest_s) for limit in self.limits if limit.latest_s is not None]
        ends = [current_a for current_a, _ in opening[1:]] + [opening[-1][0]]
        return [(min(end_a, most_a), latest_s) for (current_a, latest_s), end_a in zip(opening, ends, strict=True) if current_a <= most_a]


@dataclass(frozen=True, kw_only=True, slots=True)
class CurveBand:
    """A catalogue curve, ten per cent of current to either side."""

    curve: Curve
    held_a: float
    tolerance: float = CURVE_TOLERANCE
    basis: Basis = CATALOGUE

    @property
    def opens_from_a(self) -> float:
        """Below this it may never open, as far as the points tell."""
        return self.curve.points[0][0] / (1 - self.tolerance)

    def earliest_s(self, current_a: float) -> float:
        """It stays closed for so long at least; below the first point as long as there, as nothing is known."""
        found = self.curve.opens_after_s(current_a * (1 + self.tolerance))
        return self.curve.points[0][1] if found is None else found

    def latest_s(self, current_a: float) -> float:
        """It is open by then; infinite below the first point."""
        found = self.curve.opens_after_s(current_a * (1 - self.tolerance))
        return math.inf if found is None else found

    def opens_within_a(self, seconds: float) -> float:
        """The least amperes at which it is open within these seconds, as far as the points tell."""
        return self.curve.opens_within_a(seconds) / (1 - self.tolerance)

    def lasts(self, most_a: float) -> list[tuple[float, float]]:
        """Amperes and the longest that they may last, point by point up to a current."""
        corners = [(current_a / (1 - self.tolerance), seconds) for current_a, seconds in self.curve.points]
        found = [(current_a, seconds) for current_a, seconds in corners if current_a <= most_a]
        return [*found, (most_a, self.latest_s(most_a))] if found else []


Band = Staircase | CurveBand


def staircase(family: str, rating_a: float) -> Staircase | None:
    """The limits of a family for one rating; None for a family that fuse_times.csv lacks."""
    rows = [row for row in table("fuse_times") if row["family"] == family]
    if not rows or rating_a <= 0:
        return None
    limits = tuple(
        Limit(
            current_a=float(row["multiple_of_rating"]) * rating_a,
            earliest_s=float(row["time_min_s"]),
            latest_s=float(row["time_max_s"]) if row["time_max_s"] else None,
        )
        for row in rows
    )
    # One row from memory makes the whole of it so.
    remembered = next((row for row in rows if row["basis"] == "from memory"), None)
    shown = remembered or rows[0]
    source = shown["source"].partition(",")[0]
    return Staircase(limits=limits, basis=Basis("from memory" if remembered else "published", source))


def band_of(conversion: Conversion, fuse: str) -> Band | None:
    """Of a fuse inside a device, `device.element`: its own catalogue points before the limits of its family."""
    curve, element = curve_of(conversion, fuse), conversion.element[fuse]
    if curve is not None:
        return CurveBand(curve=curve, held_a=element.rating_a or 0.0)
    return staircase(element.family, element.rating_a or 0.0)
