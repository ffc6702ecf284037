"""Best arrangements as a scatter: height of the centre of gravity over the share of the front axle.

The shape of a mark says how many boxes, its size how much luggage room is lost, both told apart without colour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.drawings.shapes import INK, PAPER, SOFT, SOFT_TEXT, Drawing, Sketch, Style, text_width_mm
from halfshaft.studies.arrangement.records import Arrangement, Front
from halfshaft.studies.arrangement.words import to_show
from halfshaft.studies.looms.geometry import Place

WIDTH_MM, HEIGHT_MM = 170.0, 120.0
LEFT, RIGHT, BOTTOM, TOP = 17.0, 164.0, 34.0, 112.0
RULE = "#D8D4C9"
GRID = Style("GRID", 0.18, RULE)
AXIS = Style("AXIS", 0.35)
TARGET = Style("AXIS", 0.25, INK, None, (12.0, 3.0))
MARK = Style("MARK", 0.35, INK, PAPER)
OTHER = Style("MARK", 0.25, SOFT, PAPER)
NOW = Style("MARK", 0.25)
LEADER = Style("MARK", 0.18, SOFT)
LABEL_MM = 2.5
SMALL_MM = 1.8
LEAST_MM, MOST_MM = 1.1, 2.6
# Steps of a scale that a person can count in.
ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Scale:
    """One axis: values from low to high, with a line at every step, on millimetres of paper."""

    low: float
    high: float
    step: float
    start_mm: float
    end_mm: float

    @classmethod
    def over(cls, values: Sequence[float], start_mm: float, end_mm: float, *, steps: int) -> Scale:
        """A scale that holds all values, with about so many steps, and room at both ends."""
        low, high = min(values), max(values)
        spread = max(high - low, abs(high) * 0.01, 0.1)
        rough = spread / steps
        power = 10.0 ** math.floor(math.log10(rough))
        step = next(power * factor for factor in ROUND if power * factor >= rough * 0.999)
        return cls(math.floor((low - 0.05 * spread) / step) * step, math.ceil((high + 0.05 * spread) / step) * step, step, start_mm, end_mm)

    def at(self, value: float) -> float:
        """Where a value is on the paper."""
        return self.start_mm + (value - self.low) / (self.high - self.low) * (self.end_mm - self.start_mm)

    def ticks(self) -> list[float]:
        """The values with a line."""
        return [self.low + number * self.step for number in range(round((self.high - self.low) / self.step) + 1)]

    def words(self, value: float) -> str:
        """A value as it is printed on this scale."""
        digits = max(0, -math.floor(math.log10(self.step) + 1e-9))
        return f"{value:.{digits}f}".replace("-", "−")


@dataclass(frozen=True, slots=True)
class Spot:
    """A mark on the paper."""

    at: Place
    radius_mm: float
    item: Arrangement


def front_picture(front: Front) -> Drawing:
    """The picture; with nothing to show, a sheet that says so."""
    sketch = Sketch()
    title = "Best arrangements"
    items = [*front.arrangements, *([front.present] if front.present is not None else [])]
    if not items:
        sketch.text((LEFT, HEIGHT_MM / 2), "No arrangement to show.", LABEL_MM)
        return Drawing(WIDTH_MM, HEIGHT_MM, tuple(sketch.shapes), title=title)
    shares = [item.front_percent for item in items]
    target = front.target_front_percent
    # The target belongs on the scale unless it is so far off that the marks would run together.
    near = max(shares) - min(shares) + 1.0
    if min(abs(share - target) for share in shares) <= near:
        shares.append(target)
    across = Scale.over(shares, LEFT, RIGHT, steps=8)
    up = Scale.over([item.price.cg_height_mm for item in items], BOTTOM, TOP, steps=6)
    most_l = max(item.price.luggage_lost_l for item in items)
    _axes(sketch, across, up, target)

    def spot(item: Arrangement) -> Spot:
        share = item.price.luggage_lost_l / most_l if most_l else 0.0
        radius = math.sqrt(LEAST_MM**2 + share * (MOST_MM**2 - LEAST_MM**2))
        return Spot((across.at(item.front_percent), up.at(item.price.cg_height_mm)), radius, item)

    shown = to_show(front)
    numbers = {item.number for item in shown}
    spots = [spot(item) for item in front.arrangements]
    for mark in sorted(spots, key=lambda mark: (mark.item.number in numbers, -mark.radius_mm)):
        _mark(sketch, mark.at, mark.radius_mm, mark.item.price.boxes, MARK if mark.item.number in numbers else OTHER)
    now = spot(front.present) if front.present is not None else None
    if now is not None:
        _now(sketch, now.at)
    _labels(sketch, [mark for mark in spots if mark.item.number in numbers], spots, now)
    _key(sketch, sorted({item.price.boxes for item in items}), most_l, has_now=now is not None)
    return Drawing(WIDTH_MM, HEIGHT_MM, tuple(sketch.shapes), title=title)


def _axes(sketch: Sketch, across: Scale, up: Scale, target: float) -> None:
    for value in across.ticks():
        x = across.at(value)
        sketch.line((x, BOTTOM), (x, TOP), GRID)
        sketch.text((x, BOTTOM - 4.5), across.words(value), LABEL_MM, anchor="middle")
    for value in up.ticks():
        y = up.at(value)
        sketch.line((LEFT, y), (RIGHT, y), GRID)
        sketch.text((LEFT - 1.5, y - LABEL_MM / 2), up.words(value), LABEL_MM, anchor="end")
    sketch.line((LEFT, BOTTOM), (RIGHT, BOTTOM), AXIS)
    sketch.line((LEFT, BOTTOM), (LEFT, TOP), AXIS)
    sketch.text((RIGHT, BOTTOM - 9.0), f"share of the front axle, %; aimed at {target:.1f}", LABEL_MM, anchor="end")
    sketch.text((LEFT - 12.0, TOP + 3.5), "height of the centre of gravity, mm", LABEL_MM)
    if across.low <= target <= across.high:
        x = across.at(target)
        sketch.line((x, BOTTOM), (x, TOP), TARGET)
        sketch.text((x, TOP + 3.5), "target", LABEL_MM, anchor="middle")


def _mark(sketch: Sketch, at: Place, radius: float, boxes: int, style: Style) -> None:
    """One box a circle, two a bar, three a triangle, four a square, and so on; all of about the same area for one radius."""
    x, y = at
    if boxes <= 1:
        sketch.circle(at, radius, style)
        return
    if boxes == 2:
        sketch.box(x - 1.25 * radius, y - 0.6 * radius, x + 1.25 * radius, y + 0.6 * radius, style)
        return
    # A polygon of n sides with the area of the circle.
    reach = radius * math.sqrt(2 * math.pi / (boxes * math.sin(2 * math.pi / boxes)))
    turn = math.pi / 4 if boxes == 4 else math.pi / 2
    corners = [
        (x + reach * math.cos(turn + 2 * math.pi * n / boxes), y + reach * math.sin(turn + 2 * math.pi * n / boxes)) for n in range(boxes)
    ]
    sketch.polygon(corners, style)


def _now(sketch: Sketch, at: Place) -> None:
    """A circle and a cross: how the car is described now."""
    x, y = at
    sketch.circle(at, 3.4, NOW)
    sketch.line((x - 4.6, y), (x + 4.6, y), NOW)
    sketch.line((x, y - 4.6), (x, y + 4.6), NOW)


Room = tuple[float, float, float, float]


def _labels(sketch: Sketch, named: Sequence[Spot], spots: Sequence[Spot], now: Spot | None) -> None:
    """A number beside every named mark, where it covers no mark and no other number; further away with a line to its mark."""
    taken: list[Room] = [_room(spot.at, 1.3 * spot.radius_mm) for spot in spots]
    words = [(spot, str(spot.item.number)) for spot in named]
    if now is not None:
        taken.append(_room(now.at, 3.4))
        taken.append((now.at[0] - 4.6, now.at[1] - 0.3, now.at[0] + 4.6, now.at[1] + 0.3))
        taken.append((now.at[0] - 0.3, now.at[1] - 4.6, now.at[0] + 0.3, now.at[1] + 4.6))
        words.append((now, "now"))
    for spot, text in words:
        width = text_width_mm(text, LABEL_MM, bold=True)
        near = 3.6 if spot is now else 1.3 * spot.radius_mm
        x, y, reach = _free_place(spot.at, near, width, taken)
        if reach > near + 2.0:
            angle = math.atan2(y + LABEL_MM / 2 - spot.at[1], x + width / 2 - spot.at[0])
            start = (spot.at[0] + near * math.cos(angle), spot.at[1] + near * math.sin(angle))
            end = (spot.at[0] + (reach - 0.3) * math.cos(angle), spot.at[1] + (reach - 0.3) * math.sin(angle))
            sketch.line(start, end, LEADER)
        sketch.text((x, y), text, LABEL_MM, bold=True)
        taken.append((x - 0.4, y - 0.4, x + width + 0.4, y + LABEL_MM + 0.4))


def _room(at: Place, radius: float) -> Room:
    return at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius


def _free_place(at: Place, near: float, width: float, taken: Sequence[Room]) -> tuple[float, float, float]:
    """Lower left corner of a label, and how far out it is: the nearest free one, upper right first; the last tried where none is free."""
    x = y = reach = 0.0
    for ring in range(14):
        reach = near + 0.7 + 1.6 * ring
        for turn in (45, 0, 135, 90, 315, 180, 225, 270, 22, 67, 112, 157, 202, 247, 292, 337):
            angle = math.radians(turn)
            middle = (at[0] + (reach + width / 2) * math.cos(angle), at[1] + (reach + LABEL_MM / 2) * math.sin(angle))
            x, y = middle[0] - width / 2, middle[1] - LABEL_MM / 2
            room = (x - 0.2, y - 0.2, x + width + 0.2, y + LABEL_MM + 0.2)
            if room[0] < LEFT + 0.5 or room[2] > WIDTH_MM or room[1] < BOTTOM + 0.5 or room[3] > TOP + 2.5:
                continue
            if not any(room[0] < b[2] and b[0] < room[2] and room[1] < b[3] and b[1] < room[3] for b in taken):
                return x, y, reach
    return x, y, reach


def _key(sketch: Sketch, boxes: Sequence[int], most_l: float, *, has_now: bool) -> None:
    """What shapes and sizes mean, each beside an example."""
    x, y = LEFT, 15.0
    for count in boxes:
        _mark(sketch, (x + 2.0, y + 0.9), 1.8, count, MARK)
        words = f"{count} {'box' if count == 1 else 'boxes'}"
        sketch.text((x + 5.5, y), words, LABEL_MM)
        x += 12.0 + text_width_mm(words, LABEL_MM)
    if has_now:
        sketch.circle((x + 2.0, y + 0.9), 2.0, NOW)
        sketch.line((x - 0.8, y + 0.9), (x + 4.8, y + 0.9), NOW)
        sketch.line((x + 2.0, y - 1.9), (x + 2.0, y + 3.7), NOW)
        sketch.text((x + 6.5, y), "as described now", LABEL_MM)
    x, y = LEFT, 8.0
    if most_l:
        for radius, litres in ((LEAST_MM, 0.0), (MOST_MM, most_l)):
            sketch.circle((x + 2.6, y + 0.9), radius, MARK)
            words = f"{litres:.0f} l of luggage room lost"
            sketch.text((x + 6.5, y), words, LABEL_MM)
            x += 13.0 + text_width_mm(words, LABEL_MM)
    else:
        sketch.text((x, y), "none takes luggage room", LABEL_MM)
    sketch.text(
        (LEFT, 2.0), "numbers as in the table; soft marks without a number are best ones too: --all lists them", SMALL_MM, style=SOFT_TEXT
    )
