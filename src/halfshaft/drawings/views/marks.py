"""Centres of gravity, loads under axles and wheels, the wheelbase: the figures that belong on the picture of a car."""

from __future__ import annotations

import math
from dataclasses import replace

from halfshaft.drawings.dimensions import LEVEL, dimension
from halfshaft.drawings.shapes import INK, PAPER, SOFT_TEXT, Anchor, Sketch, Style, Text, box_of, text_width_mm
from halfshaft.drawings.views.eyes import PLAN, SIDE, View, corners_of
from halfshaft.drawings.views.labels import Ground, Wanted
from halfshaft.model.car import Car
from halfshaft.studies.looms.geometry import Place
from halfshaft.studies.mass import MassResult, Stand

ARROW = Style("LOAD", 0.5)
ARROW_HEAD = Style("LOAD", 0.1, INK, INK)
BEFORE = Style("CG", 0.25)
BEFORE_DISC = Style("CG", 0.25, INK, PAPER)
NOW = Style("CG", 0.35, INK, PAPER)
NOW_DARK = Style("CG", 0.0, None, INK)
BEFORE_RADIUS_MM, CROSS_MM, NOW_RADIUS_MM, ONE_MARK_MM = 2.4, 3.6, 1.9, 5.0
LOAD, SMALL = Style("LOAD_TEXT", 0.25), SOFT_TEXT
# What stands below the ground line of the side view.
BELOW_GROUND_MM, BESIDE_WHEEL_MM = 16.0, 8.5


def draw_centres(sketch: Sketch, view: View, result: MassResult, ground: Ground) -> list[Wanted]:
    """The marks of both centres; none where the view needs a height that is not known."""
    wanted = []
    for stand, word, draw in ((result.donor, "before", centre_before), (result.finished, "now", centre_now)):
        if stand.z_mm is None and view.eye is not PLAN:
            continue
        at = view.at((stand.x_mm, stand.y_mm, stand.z_mm or 0.0))
        draw(sketch, at)
        reach = CROSS_MM if word == "before" else NOW_RADIUS_MM
        rect = (at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach)
        ground.solids.append(rect)
        wanted.append(Wanted(words=_centre_words(view, stand, word), outline=corners_of(rect), inside=False, bold=word == "now"))
    if len(wanted) == 2 and math.dist(wanted[0].outline[0], wanted[1].outline[0]) < ONE_MARK_MM:
        # Two marks over each other are named together.
        return [replace(wanted[0], words=f"{wanted[1].words}, {wanted[0].words}")]
    return wanted


def _centre_words(view: View, stand: Stand, word: str) -> str:
    return {"side": f"{word} {stand.z_mm or 0:.0f} high", "plan": f"{word} x {stand.x_mm:.0f}", "rear": word}[view.eye.ref]


def centre_before(sketch: Sketch, at: Place) -> None:
    """A circle and a cross: where the centre of gravity was."""
    x, y = at
    sketch.circle(at, BEFORE_RADIUS_MM, BEFORE_DISC)
    sketch.line((x - CROSS_MM, y), (x + CROSS_MM, y), BEFORE)
    sketch.line((x, y - CROSS_MM), (x, y + CROSS_MM), BEFORE)


def centre_now(sketch: Sketch, at: Place) -> None:
    """A quartered disc: where it is now. Smaller than the mark of before, so that both are seen where they meet."""
    x, y = at
    sketch.circle(at, NOW_RADIUS_MM, NOW)
    for start in (0.0, 180.0):
        turns = [math.radians(start + step) for step in range(0, 91, 15)]
        sketch.polygon([at, *((x + NOW_RADIUS_MM * math.cos(turn), y + NOW_RADIUS_MM * math.sin(turn)) for turn in turns)], NOW_DARK)


def draw_loads(sketch: Sketch, view: View, car: Car, result: MassResult, ground: Ground) -> None:
    """Axle loads below the side view, wheel loads beside the plan's wheels."""
    if view.eye is SIDE:
        _axles(sketch, view, car, result, ground)
    elif view.eye is PLAN:
        _wheels(sketch, view, car, result, ground)


def _write(sketch: Sketch, ground: Ground, at: Place, words: str, *, bold: bool, anchor: Anchor, height: float = 2.5) -> None:
    text = Text(at, words, height, LOAD if bold else SMALL, anchor=anchor, bold=bold)
    sketch.shapes.append(text)
    ground.texts.append(box_of(text))


def _axles(sketch: Sketch, view: View, car: Car, result: MassResult, ground: Ground) -> None:
    now, before = result.finished, result.donor
    left, right = view.on_paper((0.0, 0.0)), view.on_paper((car.wheelbase_mm, 0.0))
    y = left[1]
    front = (f"{now.front_kg:.0f} kg", f"before {before.front_kg:.0f}, limit {car.limits.front_axle_kg:.0f}")
    rear = (f"{now.rear_kg:.0f} kg", f"before {before.rear_kg:.0f}, limit {car.limits.rear_axle_kg:.0f}")
    widths = [max(text_width_mm(words[0], 3.5, bold=True), text_width_mm(words[1], 2.5)) for words in (front, rear)]
    ends = _outwards(ground, (left[0] - 2.2, right[0] + 2.2), (widths[0], widths[1]))
    for x, at, words, anchor in ((left[0], ends[0], front, "end"), (right[0], ends[1], rear, "start")):
        _arrow_up(sketch, x, y, 9.5)
        to: Anchor = "end" if anchor == "end" else "start"
        _write(sketch, ground, (at, y - 5.0), words[0], bold=True, anchor=to, height=3.5)
        _write(sketch, ground, (at, y - 9.2), words[1], bold=False, anchor=to)
    dimension(sketch, LEVEL, (left[0], right[0]), thing=y - 9.5, line=y - 14.0, value_mm=car.wheelbase_mm, height_mm=2.5)
    ground.texts.append((left[0], y - 15.0, right[0], y - 9.5))


def _outwards(ground: Ground, ends: tuple[float, float], widths: tuple[float, float]) -> tuple[float, float]:
    """Where words before the front axle end and words behind the rear one begin, moved so that both stay in the room and apart."""
    low, _, high, _ = ground.room
    first = min(max(ends[0], low + widths[0]), high - widths[1] - 3.0)
    return first, min(max(ends[1], first + 3.0), high - widths[1])


def _arrow_up(sketch: Sketch, x: float, y: float, length: float) -> None:
    sketch.line((x, y - length), (x, y - 2.5), ARROW)
    sketch.polygon(((x, y - 0.4), (x - 0.9, y - 3.8), (x + 0.9, y - 3.8)), ARROW_HEAD)


def _wheels(sketch: Sketch, view: View, car: Car, result: MassResult, ground: Ground) -> None:
    half = max(car.overall_width_mm, max(car.track_front_mm, car.track_rear_mm) + 0.6 * car.tyre_static_radius_mm) / 2
    loads = {
        "FL": (result.finished.front_left_kg, result.donor.front_left_kg),
        "FR": (result.finished.front_right_kg, result.donor.front_right_kg),
        "RL": (result.finished.rear_left_kg, result.donor.rear_left_kg),
        "RR": (result.finished.rear_right_kg, result.donor.rear_right_kg),
    }
    front, rear = view.on_paper((0.0, 0.0))[0], view.on_paper((car.wheelbase_mm, 0.0))[0]
    for side, sign in (("L", -1.0), ("R", 1.0)):
        edge = view.on_paper((0.0, sign * half))[1]
        y = edge + 2.4 if sign > 0 else edge - 4.9
        words = [(f"{axle}{side} {loads[axle + side][0]:.0f} kg", f"before {loads[axle + side][1]:.0f}") for axle in "FR"]
        now_wide = [text_width_mm(now, 2.5, bold=True) for now, _ in words]
        both = [wide + 2.4 + text_width_mm(before, 2.5) for wide, (_, before) in zip(now_wide, words, strict=True)]
        # What it carries now and what it carried, on both sides of the axle line; where the axles are too near for that, outwards of it.
        starts = [front - 1.2 - now_wide[0], rear - 1.2 - now_wide[1]]
        if starts[0] + both[0] + 3.0 > starts[1] or starts[0] < ground.room[0] or starts[1] + both[1] > ground.room[2]:
            ends = _outwards(ground, (front, rear), (both[0], both[1]))
            starts = [ends[0] - both[0], ends[1]]
        for start, wide, (now, before) in zip(starts, now_wide, words, strict=True):
            _write(sketch, ground, (start, y), now, bold=True, anchor="start")
            _write(sketch, ground, (start + wide + 2.4, y), before, bold=False, anchor="start")
