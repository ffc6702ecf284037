"""Where a module's studs and its sense plug are in the car, from how it stands and where its faces look.

A module has axes of its own: along its length from the end of the minus stud, across its width, and above its
cooled face; right-handed in that order. It can be turned, never mirrored, so two of its looks settle the third.
"""

from __future__ import annotations

from halfshaft.model.boxes import Look, ModulePlace, ModuleType

Vector = tuple[int, int, int]
Spot = tuple[float, float, float]

DIRECTIONS: dict[Look, Vector] = {
    "front": (-1, 0, 0),
    "rear": (1, 0, 0),
    "left": (0, -1, 0),
    "right": (0, 1, 0),
    "up": (0, 0, 1),
    "down": (0, 0, -1),
}


def axes_of(place: ModulePlace) -> tuple[Vector, Vector, Vector] | None:
    """The module's along, across and above as directions in the car; None where its looks are not said, or contradict each other."""
    if place.plus_end is None or place.cooled_face is None:
        return None
    along, cooled = DIRECTIONS[place.plus_end], DIRECTIONS[place.cooled_face]
    above = (-cooled[0], -cooled[1], -cooled[2])
    across = _cross(above, along)
    return (along, across, above) if any(across) else None


def spot_in_car(place: ModulePlace, along_mm: float | None, across_mm: float | None, above_mm: float | None) -> Spot | None:
    """A spot given in the module's own axes, in car coordinates; None where it or the module's looks are not known."""
    axes = axes_of(place)
    if axes is None or along_mm is None or across_mm is None or above_mm is None:
        return None
    spot = [0.0, 0.0, 0.0]
    low = (place.x_min_mm, place.y_min_mm, place.z_min_mm)
    high = (place.x_max_mm, place.y_max_mm, place.z_max_mm)
    for direction, distance_mm in zip(axes, (along_mm, across_mm, above_mm), strict=True):
        axis = next(index for index, step in enumerate(direction) if step)
        spot[axis] = low[axis] + distance_mm if direction[axis] > 0 else high[axis] - distance_mm
    return spot[0], spot[1], spot[2]


def plus_stud(place: ModulePlace, kind: ModuleType) -> Spot | None:
    """The middle of the plus stud."""
    return spot_in_car(place, kind.plus_along_mm, kind.plus_across_mm, kind.plus_above_mm)


def minus_stud(place: ModulePlace, kind: ModuleType) -> Spot | None:
    """The middle of the minus stud."""
    return spot_in_car(place, kind.minus_along_mm, kind.minus_across_mm, kind.minus_above_mm)


def sense_plug(place: ModulePlace, kind: ModuleType) -> Spot | None:
    """The middle of the sense plug."""
    return spot_in_car(place, kind.sense_along_mm, kind.sense_across_mm, kind.sense_above_mm)


def _cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]
