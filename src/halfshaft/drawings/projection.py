"""The sign for first-angle projection."""

from __future__ import annotations

from halfshaft.drawings.shapes import LONG_DASH_DOT, Sketch, Style

EDGE = Style("FRAME", 0.25)
AXIS = Style("FRAME", 0.13, dash=LONG_DASH_DOT)


def first_angle(sketch: Sketch, x: float, y: float, height_mm: float) -> None:
    """A cone cut short with its small end left, and right of it the two circles that its small end shows; middle of both at a place."""
    big, small, long = height_mm, height_mm / 2, 2 * height_mm
    left = x - long - 1.0
    sketch.polygon(((left, y - small), (left + long, y - big), (left + long, y + big), (left, y + small)), EDGE)
    centre = (x + big + 1.0, y)
    sketch.circle(centre, big, EDGE)
    sketch.circle(centre, small, EDGE)
    sketch.line((left - 1.0, y), (x + 2 * big + 2.0, y), AXIS)
    sketch.line((centre[0], y - big - 1.0), (centre[0], y + big + 1.0), AXIS)
