"""The four wheels as far as a car's sizes tell: radius and track are measured, the width is a guess from the radius."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.car import Car

# A tyre of an old car is about as wide as this share of its static radius; only pictures depend on it.
WIDE_SHARE = 0.55


@dataclass(frozen=True, kw_only=True, slots=True)
class Wheel:
    """One wheel: `FL`, `FR`, `RL` or `RR`, the middle of its tyre, and its size."""

    corner: str
    x_mm: float
    y_mm: float
    radius_mm: float
    wide_mm: float


def wheels_of(car: Car) -> Iterator[Wheel]:
    """All four."""
    for axle, x_mm, track_mm in (("F", 0.0, car.track_front_mm), ("R", car.wheelbase_mm, car.track_rear_mm)):
        for side, sign in (("L", -1.0), ("R", 1.0)):
            radius_mm = car.tyre_static_radius_mm
            yield Wheel(corner=axle + side, x_mm=x_mm, y_mm=sign * track_mm / 2, radius_mm=radius_mm, wide_mm=WIDE_SHARE * radius_mm)
