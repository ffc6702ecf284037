"""What is in a battery box, from above and to scale: modules with their poles, plates, bars with their marks."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from halfshaft.drawings.shapes import HV, HV_FILL, HV_TINT, INK, PAPER, SOFT, SOFT_TEXT, Drawing, Sketch, Style, text_width_mm
from halfshaft.model.boxes import Box, ModulePlace
from halfshaft.studies.looms.geometry import Place
from halfshaft.studies.module_places import Spot
from halfshaft.studies.pack.bars import Bar

SCALES = (2.0, 2.5, 4.0, 5.0, 10.0, 20.0)
MOST_WIDE_MM, MOST_HIGH_MM = 145.0, 86.0
# Beyond the walls: what is written about bars that go to a plug.
MARGIN_MM = 9.0
POLE_MM = 1.9
WALL = Style("HV", 0.7, HV, PAPER)
MODULE = Style("HV", 0.25, INK, HV_TINT)
PLATE = Style("PLATE", 0.18, SOFT, "#E4E2DC")
BAR = Style("HV", 0.25, INK, HV_FILL)
POLE = Style("POLE", 0.25, INK, PAPER)
SIGN = Style("POLE", 0.35)
LEADER = Style("LEADER", 0.18)
ARROW = Style("LEADER", 0.1, INK, INK)
BACKING = Style("BACKING", 0.0, None, PAPER)
Scale = Callable[[float, float], Place]


def layers_of(box: Box) -> tuple[tuple[ModulePlace, ...], ...]:
    """Modules that stand at one height, lowest first."""
    layers: list[list[ModulePlace]] = []
    for module in sorted(box.modules, key=lambda item: (item.z_min_mm, item.order_in_string)):
        if layers and module.z_min_mm < max(item.z_max_mm for item in layers[-1]) - 1.0:
            layers[-1].append(module)
        else:
            layers.append([module])
    return tuple(tuple(layer) for layer in layers)


def scale_of(box: Box) -> float:
    """How many millimetres of the box are one on the page: the largest picture of which a page holds two."""
    wide_mm, high_mm = box.x_max_mm - box.x_min_mm, box.y_max_mm - box.y_min_mm
    return next((scale for scale in SCALES if wide_mm / scale <= MOST_WIDE_MM and high_mm / scale <= MOST_HIGH_MM), SCALES[-1])


def box_plan(box: Box, layer: Sequence[ModulePlace], bars: Sequence[Bar], studs: Mapping[str, Spot]) -> Drawing:
    """One layer of a box, the front of the car to the left and its right side up, as one sees it from above."""
    scale = scale_of(box)
    wide, high = ((box.x_max_mm - box.x_min_mm) / scale, (box.y_max_mm - box.y_min_mm) / scale)

    def at(x_mm: float, y_mm: float) -> Place:
        return MARGIN_MM + (x_mm - box.x_min_mm) / scale, MARGIN_MM + (y_mm - box.y_min_mm) / scale

    sketch = Sketch()
    sketch.box(*at(box.x_min_mm, box.y_min_mm), *at(box.x_max_mm, box.y_max_mm), WALL)
    for plate in box.plates:
        sketch.box(*at(plate.x_min_mm, plate.y_min_mm), *at(plate.x_max_mm, plate.y_max_mm), PLATE)
    for module in layer:
        _module(sketch, module, at)
    here = {f"{module.ref}.{pole}": studs[f"{module.ref}.{pole}"] for module in layer for pole in "PN" if f"{module.ref}.{pole}" in studs}
    middle = at((box.x_min_mm + box.x_max_mm) / 2, (box.y_min_mm + box.y_max_mm) / 2)
    whole = [bar for bar in bars if bar.start in here and bar.end in here]
    for bar in whole:
        _bar(sketch, at(*here[bar.start][:2]), at(*here[bar.end][:2]), bar.wide_mm / 2 / scale)
    for bar in bars:
        if (bar.start in here) != (bar.end in here):
            stud, far = (bar.start, bar.end) if bar.start in here else (bar.end, bar.start)
            _leader(sketch, at(*here[stud][:2]), f"{bar.ref} to {far}", (MARGIN_MM, MARGIN_MM, MARGIN_MM + wide, MARGIN_MM + high))
    for stud, spot in here.items():
        _pole(sketch, at(*spot[:2]), is_plus=stud.endswith(".P"))
    for bar in whole:
        _mark(sketch, at(*here[bar.start][:2]), at(*here[bar.end][:2]), bar.ref, bar.wide_mm / 2 / scale, middle)
    _front(sketch, middle)
    return Drawing(wide + 2 * MARGIN_MM, high + 2 * MARGIN_MM, tuple(sketch.shapes), title=f"Box {box.ref} from above")


def _module(sketch: Sketch, module: ModulePlace, at: Scale) -> None:
    sketch.box(*at(module.x_min_mm, module.y_min_mm), *at(module.x_max_mm, module.y_max_mm), MODULE)
    x, y = at((module.x_min_mm + module.x_max_mm) / 2, (module.y_min_mm + module.y_max_mm) / 2)
    sketch.text((x, y + 0.5), module.ref, 3.5, anchor="middle", bold=True)
    sketch.text((x, y - 4.5), f"no {module.order_in_string}", 2.5, anchor="middle")
    if module.string > 1:
        sketch.text((x, y - 8.5), f"string {module.string}", 2.5, anchor="middle")


def _bar(sketch: Sketch, start: Place, end: Place, half: float) -> None:
    """As wide as it is, and half its width beyond each hole."""
    length = math.dist(start, end) or 1.0
    along = ((end[0] - start[0]) / length * half, (end[1] - start[1]) / length * half)
    across = (-along[1], along[0])
    corners = [
        (x + side * across[0] + out * along[0], y + side * across[1] + out * along[1])
        for (x, y), out, side in ((start, -1, -1), (end, 1, -1), (end, 1, 1), (start, -1, 1))
    ]
    sketch.polygon(corners, BAR)


def _pole(sketch: Sketch, at: Place, *, is_plus: bool) -> None:
    x, y = at
    sketch.circle(at, POLE_MM, POLE)
    sketch.line((x - 1.1, y), (x + 1.1, y), SIGN)
    if is_plus:
        sketch.line((x, y - 1.1), (x, y + 1.1), SIGN)


def _mark(sketch: Sketch, start: Place, end: Place, ref: str, half: float, middle: Place) -> None:
    """The bar's mark beside it, on the side of the middle of the box."""
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    reach = half + 1.0
    if abs(end[0] - start[0]) >= abs(end[1] - start[1]):
        y += reach if middle[1] > y else -reach - 2.5
    else:
        x += (reach + text_width_mm(ref, 2.5) / 2) * (1 if middle[0] > x else -1)
        y -= 1.25
    room = text_width_mm(ref, 2.5) / 2 + 0.5
    sketch.box(x - room, y - 0.4, x + room, y + 2.9, BACKING)
    sketch.text((x, y), ref, 2.5, anchor="middle")


def _leader(sketch: Sketch, at: Place, words: str, walls: tuple[float, float, float, float]) -> None:
    """From a stud straight out through the nearest wall, to what is written there."""
    left, bottom, right, top = walls
    x, y = at
    gaps = {"down": y - bottom, "up": top - y, "left": x - left, "right": right - x}
    way = min(gaps, key=lambda name: gaps[name])
    if way in ("up", "down"):
        out = top + 3.0 if way == "up" else bottom - 3.0
        sketch.line(at, (x, out), LEADER)
        room = text_width_mm(words, 2.5) / 2
        middle = min(max(x, left + room - MARGIN_MM + 1.0), right + MARGIN_MM - 1.0 - room)
        sketch.text((middle, out + 0.8 if way == "up" else out - 3.3), words, 2.5, anchor="middle")
    else:
        out = left - 3.0 if way == "left" else right + 3.0
        sketch.line(at, (out, y), LEADER)
        room = text_width_mm(words, 2.5) / 2
        sketch.text((out + (-0.8 if way == "left" else 3.3), y - room), words, 2.5, angle_deg=90.0)


def _front(sketch: Sketch, middle: Place) -> None:
    """Which way the car looks."""
    y = middle[1]
    sketch.polygon(((1.5, y), (4.5, y + 1.2), (4.5, y - 1.2)), ARROW)
    sketch.line((4.5, y), (8.5, y), LEADER)
    sketch.text((4.2, y + 2.2), "front", 2.5, anchor="middle", style=SOFT_TEXT)
