"""The outline of the body and the wheels. Schematic: from a car's overall sizes, it says where front and roof are, not what the car looks like."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfshaft.drawings.shapes import LONG_DASH_DOT, PAPER, SOFT, Sketch, Style, Track
from halfshaft.drawings.views.eyes import PLAN, SIDE, View
from halfshaft.drawings.wheels import wheels_of
from halfshaft.model.car import Car
from halfshaft.studies.looms.geometry import Path, Place

BODY = Style("BODY", 0.35, SOFT)
GLASS = Style("BODY", 0.18, SOFT)
TYRE = Style("BODY", 0.35, SOFT, PAPER)
AXIS = Style("AXIS", 0.18, SOFT, None, LONG_DASH_DOT)
GROUND = Style("GROUND", 0.7)
ARCH_SHARE, BEYOND_MM = 1.16, 5.0
Round = tuple[float, float, float]


def draw_body(sketch: Sketch, view: View, car: Car) -> None:
    """Wheels, body, and the centre plane and axle lines where they are seen."""
    if view.eye is SIDE:
        _side(sketch, view, car)
    elif view.eye is PLAN:
        _plan(sketch, view, car)
    else:
        _rear(sketch, view, car)


def rounded(corners: Sequence[Round], *, closed: bool) -> list[Place]:
    """Corners (x, y, radius) with their radii drawn as short chords; a radius that has no room is made smaller."""
    places: list[Place] = []
    count = len(corners)
    for index, (x, y, radius) in enumerate(corners):
        if not closed and index in (0, count - 1):
            places.append((x, y))
            continue
        before, after = corners[index - 1], corners[(index + 1) % count]
        a = math.atan2(before[1] - y, before[0] - x)
        b = math.atan2(after[1] - y, after[0] - x)
        room = min(math.dist((x, y), before[:2]), math.dist((x, y), after[:2])) / 2
        half = abs((b - a + math.pi) % (2 * math.pi) - math.pi) / 2
        reach = min(radius / max(math.tan(half), 1e-6), room)
        start = (x + reach * math.cos(a), y + reach * math.sin(a))
        end = (x + reach * math.cos(b), y + reach * math.sin(b))
        # A parabola between both tangent points: to the eye an arc, and it needs no centre.
        for step in range(7):
            t = step / 6
            places.append(
                (
                    (1 - t) ** 2 * start[0] + 2 * t * (1 - t) * x + t**2 * end[0],
                    (1 - t) ** 2 * start[1] + 2 * t * (1 - t) * y + t**2 * end[1],
                )
            )
    return places


def _open(sketch: Sketch, view: View, places: Sequence[Place], style: Style) -> None:
    sketch.shapes.append(Track(Path.through([view.on_paper(place) for place in places]), style))


def _closed(sketch: Sketch, view: View, places: Sequence[Place], style: Style) -> None:
    sketch.polygon([view.on_paper(place) for place in places], style)


def sill_mm(car: Car) -> float:
    """How high the lower edge of the body is."""
    return car.ground_clearance_mm + 0.06 * car.overall_height_mm


def side_line(car: Car) -> list[Place]:
    """The upper outline of the body from the side, x and z, from the front sill to the rear one."""
    front, rear, base, high, sill = car.front_edge_x_mm, car.rear_edge_x_mm, car.wheelbase_mm, car.overall_height_mm, sill_mm(car)
    top: list[Round] = [
        (front + 0.02 * base, sill, 0), (front, sill + 0.06 * high, 60), (front, 0.46 * high, 200), (front + 0.07 * base, 0.55 * high, 200),
        (0.24 * base, 0.63 * high, 200), (0.44 * base, 0.985 * high, 260), (0.58 * base, high, 900), (0.76 * base, 0.975 * high, 300),
        (0.965 * base, 0.64 * high, 240), (rear - 0.07 * base, 0.56 * high, 260), (rear, 0.46 * high, 160), (rear, sill + 0.06 * high, 60), (rear - 0.02 * base, sill, 0),
    ]  # fmt: skip
    return rounded(top, closed=False)


def plan_line(car: Car) -> list[Place]:
    """The outline of the body from above, x and y, closed."""
    front, rear, base, half = car.front_edge_x_mm, car.rear_edge_x_mm, car.wheelbase_mm, car.overall_width_mm / 2
    right: list[Round] = [(front, 0.62 * half, 160), (front + 0.05 * base, 0.93 * half, 240), (0.25 * base, half, 500), (0.85 * base, half, 500), (rear - 0.05 * base, 0.92 * half, 240), (rear, 0.60 * half, 160)]  # fmt: skip
    left: list[Round] = [(x, -y, r) for x, y, r in reversed(right)]
    return rounded([*right, *left], closed=True)


def rear_line(car: Car) -> list[Place]:
    """The outline of the body from behind, y and z, closed."""
    high, half = car.overall_height_mm, car.overall_width_mm / 2
    right: list[Round] = [(0.90 * half, sill_mm(car), 40), (half, 0.30 * high, 200), (0.985 * half, 0.50 * high, 200), (0.90 * half, 0.63 * high, 140), (0.70 * half, 0.975 * high, 160)]  # fmt: skip
    left: list[Round] = [(-x, z, r) for x, z, r in reversed(right)]
    return rounded([*right, (0.0, high, 900), *left], closed=True)


def _side(sketch: Sketch, view: View, car: Car) -> None:
    front, rear, base, high, radius = (
        car.front_edge_x_mm,
        car.rear_edge_x_mm,
        car.wheelbase_mm,
        car.overall_height_mm,
        car.tyre_static_radius_mm,
    )
    sill = sill_mm(car)
    _open(sketch, view, side_line(car), BODY)
    windows: list[Round] = [(0.29 * base, 0.65 * high, 30), (0.455 * base, 0.945 * high, 120), (0.755 * base, 0.94 * high, 150), (0.92 * base, 0.65 * high, 60)]  # fmt: skip
    _closed(sketch, view, rounded(windows, closed=True), GLASS)
    arch = ARCH_SHARE * radius
    half = math.sqrt(arch**2 - (sill - radius) ** 2) if abs(sill - radius) < arch else 0.0
    edge = front + 0.02 * base
    for hub in (0.0, base):
        _open(sketch, view, [(edge, sill), (max(hub - half, edge), sill)], BODY)
        low = math.degrees(math.asin((sill - radius) / arch)) if half else 0.0
        steps = [math.radians(180 - low + (2 * low - 180) * step / 24) for step in range(25)]
        if half:
            _open(sketch, view, [(hub + arch * math.cos(a), radius + arch * math.sin(a)) for a in steps], BODY)
        edge = hub + half
    _open(sketch, view, [(edge, sill), (max(rear - 0.02 * base, edge), sill)], BODY)
    door = [(0.365 * base, sill), (0.365 * base, 0.65 * high)], [(0.74 * base, sill + 0.17 * high), (0.74 * base, 0.94 * high)]
    for line in door:
        _open(sketch, view, line, GLASS)
    for hub in (0.0, base):
        centre = view.on_paper((hub, radius))
        sketch.circle(centre, radius / view.one_to, TYRE)
        sketch.circle(centre, 0.62 * radius / view.one_to, GLASS)
    ground = [(front - BEYOND_MM * view.one_to, 0.0), (rear + BEYOND_MM * view.one_to, 0.0)]
    sketch.line(view.on_paper(ground[0]), view.on_paper(ground[1]), GROUND)


def _plan(sketch: Sketch, view: View, car: Car) -> None:
    front, rear, base, half = car.front_edge_x_mm, car.rear_edge_x_mm, car.wheelbase_mm, car.overall_width_mm / 2
    for wheel in wheels_of(car):
        corners: list[Round] = [
            (wheel.x_mm + along * wheel.radius_mm, wheel.y_mm + aside * wheel.wide_mm / 2, 40)
            for along, aside in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        _closed(sketch, view, rounded(corners, closed=True), TYRE)
    _closed(sketch, view, plan_line(car), BODY)
    glass: tuple[list[Round], ...] = (
        [(0.24 * base, -0.84 * half, 0), (0.20 * base, 0, 900), (0.24 * base, 0.84 * half, 0)],
        [(0.44 * base, -0.70 * half, 60), (0.42 * base, 0, 900), (0.44 * base, 0.70 * half, 60), (0.77 * base, 0.68 * half, 60), (0.79 * base, 0, 900), (0.77 * base, -0.68 * half, 60)],
        [(0.965 * base, -0.80 * half, 0), (1.0 * base, 0, 900), (0.965 * base, 0.80 * half, 0)],
    )  # fmt: skip
    for line in (glass[0], glass[2]):
        _open(sketch, view, rounded(line, closed=False), GLASS)
    _closed(sketch, view, rounded(glass[1], closed=True), GLASS)
    past = BEYOND_MM * view.one_to
    _open(sketch, view, [(front - past, 0.0), (rear + past, 0.0)], AXIS)
    for x, track in ((0.0, car.track_front_mm), (base, car.track_rear_mm)):
        reach = max(half, track / 2 + 0.3 * car.tyre_static_radius_mm) + 0.4 * past
        _open(sketch, view, [(x, -reach), (x, reach)], AXIS)


def _rear(sketch: Sketch, view: View, car: Car) -> None:
    high, half = car.overall_height_mm, car.overall_width_mm / 2
    for wheel in wheels_of(car):
        if wheel.corner.startswith("R"):
            corners: list[Round] = [
                (wheel.y_mm + aside * wheel.wide_mm / 2, wheel.radius_mm * up, 40) for aside, up in ((-1, 0), (1, 0), (1, 2), (-1, 2))
            ]
            _closed(sketch, view, rounded(corners, closed=True), TYRE)
    _closed(sketch, view, rear_line(car), BODY)
    window: list[Round] = [(0.78 * half, 0.66 * high, 60), (0.62 * half, 0.93 * high, 90), (-0.62 * half, 0.93 * high, 90), (-0.78 * half, 0.66 * high, 60)]  # fmt: skip
    _closed(sketch, view, rounded(window, closed=True), GLASS)
    past = BEYOND_MM * view.one_to
    _open(sketch, view, [(0.0, -0.2 * past), (0.0, high + 0.5 * past)], AXIS)
    reach = half + past
    sketch.line(view.on_paper((-reach, 0.0)), view.on_paper((reach, 0.0)), GROUND)
