"""The car from the left side, front to the left: wheels, axle loads before and after, both centres of gravity, and the boxes."""

from __future__ import annotations

import math
from collections.abc import Callable

from halfshaft.drawings.shapes import (
    HV,
    HV_TINT,
    INK,
    LONG_DASH_TWO_DOTS,
    PAPER,
    SOFT,
    SOFT_TEXT,
    Drawing,
    Sketch,
    Style,
    text_width_mm,
)
from halfshaft.model.boxes import Box
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.geometry import Place
from halfshaft.studies.mass import MassResult, Stand

WIDTH_MM, HEIGHT_MM = 170.0, 92.0
BODY = Style("BODY", 0.35, SOFT)
GLASS = Style("BODY", 0.18, SOFT)
GROUND = Style("GROUND", 0.7)
REMOVED = Style("REMOVED", 0.25, SOFT, None, LONG_DASH_TWO_DOTS)
BOX = Style("HV", 0.7, HV, HV_TINT)
MODULE = Style("HV", 0.25, HV)
DEVICE = Style("DEVICE", 0.35, INK, PAPER)
ARROW = Style("LOAD", 0.5)
ARROW_HEAD = Style("LOAD", 0.1, INK, INK)
DIMENSION = Style("DIMENSION", 0.25)
BEFORE = Style("CG", 0.25)
NOW = Style("CG", 0.35)
BACKING = Style("DEVICE", 0.0, None, PAPER)
NOW_DARK = Style("CG", 0.0, None, INK)
Scale = Callable[[float, float], Place]


def side_view(conversion: Conversion, result: MassResult) -> Drawing:
    """The picture, with its own scale so that the car fits the width of a page."""
    car = conversion.car
    length = car.rear_edge_x_mm - car.front_edge_x_mm
    share = (WIDTH_MM - 14.0) / length
    ground = 27.0

    def at(x_mm: float, z_mm: float) -> Place:
        return 7.0 + (x_mm - car.front_edge_x_mm) * share, ground + z_mm * share

    sketch = Sketch()
    _body(sketch, conversion, at, share)
    sketch.line((0.0, ground), (WIDTH_MM, ground), GROUND)
    _things(sketch, conversion, at)
    _axle_loads(sketch, conversion, result, at)
    _centre(sketch, at, result.donor, now=False)
    _centre(sketch, at, result.finished, now=True)
    _wheelbase(sketch, conversion, at)
    _legend(sketch)
    height = ground + car.overall_height_mm * share + 6.0
    return Drawing(WIDTH_MM, max(height, 60.0), tuple(sketch.shapes), title="Side view")


def _body(sketch: Sketch, conversion: Conversion, at: Scale, share: float) -> None:
    """A plain outline from the overall sizes: it says where front and roof are, not what the car looks like."""
    car = conversion.car
    front, rear, roof, sill = car.front_edge_x_mm, car.rear_edge_x_mm, car.overall_height_mm, car.ground_clearance_mm
    base, belt = car.wheelbase_mm, 0.6 * car.overall_height_mm
    outline = (
        (front, sill + 60), (front, 0.9 * belt), (0.12 * base, belt), (0.30 * base, roof - 20), (0.42 * base, roof),
        (0.75 * base, roof), (0.86 * base, roof - 25), (1.08 * base, belt), (rear, 0.9 * belt), (rear, sill + 60), (rear - 60, sill), (front + 60, sill),
    )  # fmt: skip
    sketch.polygon([at(x, z) for x, z in outline], BODY)
    glass = ((0.17 * base, belt + 15), (0.32 * base, roof - 60), (0.80 * base, roof - 60), (0.98 * base, belt + 15))
    sketch.polygon([at(x, z) for x, z in glass], GLASS)
    for x in (0.0, base):
        sketch.circle(at(x, car.tyre_static_radius_mm), car.tyre_static_radius_mm * share, Style("BODY", 0.35, SOFT, PAPER))
        sketch.circle(at(x, car.tyre_static_radius_mm), 0.6 * car.tyre_static_radius_mm * share, BODY)


def _things(sketch: Sketch, conversion: Conversion, at: Scale) -> None:
    boxes = {box.ref for box in conversion.boxes}
    heavy = [device for device in conversion.devices if device.ref not in boxes and conversion.part[device.part].mass_kg >= 5.0]
    for device in heavy:
        part = conversion.part[device.part]
        sides = sorted((part.length_mm, part.width_mm, part.height_mm), reverse=True)
        half_x, half_z = sides[0] / 2, sides[2] / 2
        corners = [at(device.x_mm + dx * half_x, device.z_mm + dz * half_z) for dx, dz in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        sketch.polygon(corners, DEVICE)
    for box in conversion.boxes:
        corners = [
            at(x, z)
            for x, z in (
                (box.x_min_mm, box.z_min_mm),
                (box.x_max_mm, box.z_min_mm),
                (box.x_max_mm, box.z_max_mm),
                (box.x_min_mm, box.z_max_mm),
            )
        ]
        sketch.polygon(corners, BOX)
        for module in box.modules:
            spots = (
                (module.x_min_mm, module.z_min_mm),
                (module.x_max_mm, module.z_min_mm),
                (module.x_max_mm, module.z_max_mm),
                (module.x_min_mm, module.z_max_mm),
            )
            sketch.polygon([at(x, z) for x, z in spots], MODULE)
    taken: list[tuple[float, float]] = []
    for ref, x_mm, z_mm in [
        *((device.ref, device.x_mm + _half_length(conversion, device.part) - 75.0, device.z_mm) for device in heavy),
        *((box.ref, (box.x_min_mm + box.x_max_mm) / 2, _top_mm(conversion, box)) for box in conversion.boxes),
    ]:
        x, y = at(x_mm, z_mm)
        y = y + 1.0 if ref in boxes else y - 1.0
        while any(abs(x - other_x) < 8.0 and abs(y - other_y) < 3.0 for other_x, other_y in taken):
            y += 3.2
        taken.append((x, y))
        half = text_width_mm(ref, 1.8, bold=True) / 2 + 0.4
        sketch.box(x - half, y - 0.4, x + half, y + 1.7, BACKING)
        sketch.text((x, y), ref, 1.8, anchor="middle", bold=True)


def _top_mm(conversion: Conversion, box: Box) -> float:
    """The top of a box, or of a higher one that stands before or behind it in this view."""
    return max(other.z_max_mm for other in conversion.boxes if other.x_min_mm < box.x_max_mm and box.x_min_mm < other.x_max_mm)


def _half_length(conversion: Conversion, part: str) -> float:
    found = conversion.part[part]
    return max(found.length_mm, found.width_mm, found.height_mm) / 2


def _axle_loads(sketch: Sketch, conversion: Conversion, result: MassResult, at: Scale) -> None:
    """An arrow up from the ground at each axle, and beside it what it carries: now, and before."""
    for x_mm, now_kg, before_kg, limit_kg in (
        (0.0, result.finished.front_kg, result.donor.front_kg, conversion.car.limits.front_axle_kg),
        (conversion.car.wheelbase_mm, result.finished.rear_kg, result.donor.rear_kg, conversion.car.limits.rear_axle_kg),
    ):
        x, y = at(x_mm, 0.0)
        sketch.line((x, y - 11.0), (x, y - 2.0), ARROW)
        sketch.polygon(((x, y - 0.5), (x - 1.0, y - 4.0), (x + 1.0, y - 4.0)), ARROW_HEAD)
        sketch.text((x + 2.5, y - 5.5), f"{now_kg:.0f} kg", 3.5, bold=True)
        sketch.text((x + 2.5, y - 9.7), f"was {before_kg:.0f}, limit {limit_kg:.0f}", 2.5)


def _centre(sketch: Sketch, at: Scale, stand: Stand, *, now: bool) -> None:
    """A quartered disc where the centre of gravity is now; a circle and a cross where it was."""
    if stand.z_mm is None:
        return
    x, y = at(stand.x_mm, stand.z_mm)
    if not now:
        sketch.circle((x, y), 2.0, Style("CG", 0.25, INK, PAPER))
        sketch.line((x - 3.2, y), (x + 3.2, y), BEFORE)
        sketch.line((x, y - 3.2), (x, y + 3.2), BEFORE)
        return
    radius = 3.0
    sketch.circle((x, y), radius, Style("CG", 0.35, INK, PAPER))
    for start in (0.0, 180.0):
        arc = [
            (x + radius * math.cos(math.radians(start + step)), y + radius * math.sin(math.radians(start + step)))
            for step in range(0, 91, 15)
        ]
        sketch.polygon([(x, y), *arc], NOW_DARK)
    sketch.circle((x, y), radius, NOW)


def _wheelbase(sketch: Sketch, conversion: Conversion, at: Scale) -> None:
    y = 6.0
    left, right = at(0.0, 0.0)[0], at(conversion.car.wheelbase_mm, 0.0)[0]
    for x in (left, right):
        sketch.line((x, y - 2.0), (x, y + 5.0), DIMENSION)
    sketch.line((left, y), (right, y), DIMENSION)
    for x, sign in ((left, 1.0), (right, -1.0)):
        sketch.polygon(((x, y), (x + sign * 2.5, y + 0.35), (x + sign * 2.5, y - 0.35)), Style("DIMENSION", 0.1, INK, INK))
    sketch.text(((left + right) / 2, y + 1.0), f"{conversion.car.wheelbase_mm:.0f}", 2.5, anchor="middle")


def _legend(sketch: Sketch) -> None:
    sketch.text(
        (0.0, 0.5),
        "quartered disc: centre of gravity now; circle and cross: before; HV boxes orange; outline of the body schematic",
        1.8,
        style=SOFT_TEXT,
    )
