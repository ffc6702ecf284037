"""The face of a connector, as the hand meets it: from the wire side, and from the mating face."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.drawings.colours import tones
from halfshaft.drawings.shapes import HV_TINT, INK, PAPER, SOFT, SOFT_TEXT, Drawing, Sketch, Style, text_width_mm
from halfshaft.model.parts import Connector

View = Literal["wire side", "mating face"]
OUTLINE = Style("FACE", 0.7, INK, PAPER)
HV_OUTLINE = Style("FACE", 0.7, INK, HV_TINT)
CELL = Style("FACE", 0.35, INK, PAPER)
EDGE = Style("FACE", 0.25)
KEY = Style("FACE", 0.25, INK, INK)
BAND_INK = Style("FACE", 0.35, INK, INK)
BAND_PAPER = Style("FACE", 0.5, INK, PAPER)
MIRROR = Style("FACE", 0.25, SOFT, None, (24.0, 3.0, 0.5, 3.0))
WHITE_TEXT = Style("TEXT", 0.25, PAPER)

BAND_MM, LATCH_MM, MIRROR_GAP_MM = 5.0, 3.5, 12.0


@dataclass(frozen=True, slots=True)
class Filling:
    """What is in a cavity: a wire's colour letters, a blanking plug, or nothing."""

    colour: str | None = None
    plug: bool = False


# Both views side by side must fit the text of an A4 page, and a tall plug must leave room for its table.
ROOM_MM, HIGH_MM = 168.0, 60.0
SCALES = (3.0, 2.5, 2.0, 1.5, 1.25, 1.0)


def scale_for(connector: Connector) -> float:
    """The largest scale of the list at which both views fit a page."""
    width, height = _plug(connector, 1.0)
    fitting = (scale for scale in SCALES if 2 * width * scale + MIRROR_GAP_MM + 2 <= ROOM_MM and height * scale <= HIGH_MM)
    return next(fitting, 1.0)


def face_size_mm(connector: Connector, scale: float) -> tuple[float, float]:
    """Width and height of one view with its latch and its band."""
    width, height = _plug(connector, scale)
    return max(width, _band_width("wire side")), height + LATCH_MM + BAND_MM + 2.5


def _plug(connector: Connector, scale: float) -> tuple[float, float]:
    pitch = connector.pitch_mm or 8.0
    width = connector.plug_width_mm or connector.columns * pitch + 6.0
    height = connector.plug_height_mm or connector.rows * pitch + 6.0
    return width * scale, height * scale


def _band_width(view: View) -> float:
    return text_width_mm(f"seen from the {view}", 2.5, bold=True) + 6.0


def draw_face(
    sketch: Sketch,
    connector: Connector,
    filling: Mapping[str, Filling],
    *,
    view: View,
    scale: float,
    left: float,
    bottom: float,
    is_hv: bool,
) -> None:
    """One view, its lower left corner (that of the band) at a place. The mating face is the mirror image."""
    width, height = _plug(connector, scale)
    low = bottom + BAND_MM + 2.5
    mirrored = view == "mating face"

    def across(x: float) -> float:
        return left + (width - x if mirrored else x)

    cut = min(2.0 * scale, height / 5)
    outline = ((0.0, 0.0), (width, 0.0), (width, height), (cut, height), (0.0, height - cut))
    sketch.polygon([(across(x), low + y) for x, y in outline], HV_OUTLINE if is_hv else OUTLINE)
    if connector.latch == "top":
        sketch.box(left + width / 2 - 6, low + height, left + width / 2 + 6, low + height + LATCH_MM, OUTLINE)
        sketch.text((left + width / 2, low + height + 0.7), "latch", 1.8, anchor="middle", style=SOFT_TEXT)
    if "left" in connector.key or "right" in connector.key:
        at = 0.82 * width if "right" in connector.key else 0.18 * width
        top = "bottom" not in connector.key
        base = low + height if top else low
        tip = base - 1.6 if top else base + 1.6
        sketch.polygon([(across(at - 1.6), base), (across(at + 1.6), base), (across(at), tip)], KEY)
    _cells(sketch, connector, filling, view, scale, across, low, width, height)
    _band(sketch, view, left, bottom, BAND_PAPER if mirrored else BAND_INK)


def _cells(
    sketch: Sketch, connector: Connector, filling: Mapping[str, Filling], view: View, scale: float, across: Callable[[float], float],
    low: float, width: float, height: float,
) -> None:  # fmt: skip
    pitch = (connector.pitch_mm or 8.0) * scale
    cell = min(0.92 * pitch, 9.0 * scale)
    for index, cavity in enumerate(connector.cavities):
        row, column = divmod(index, connector.columns)
        x = across(width / 2 + (column - (connector.columns - 1) / 2) * pitch)
        y = low + height / 2 - (row - (connector.rows - 1) / 2) * pitch
        if connector.kind == "stud":
            sketch.circle((x, y), cell / 2, CELL)
        else:
            sketch.box(x - cell / 2, y - cell / 2, x + cell / 2, y + cell / 2, CELL)
        number = 2.5 if cell >= 9.0 else 1.8
        radius = min(cell / 3.6, 2.6)
        centre = (x + cell / 2 - radius - 0.4, y - cell / 2 + radius + 0.4) if cell >= 5.5 else (x, y)
        if view == "wire side" and (cell >= 5.5 or cavity.ref not in filling):
            _wire(sketch, centre, radius, filling.get(cavity.ref))
        elif view == "mating face" and cell >= 5.5:
            style = Style("FACE", 0.25, INK, PAPER if connector.kind == "plug" else INK)
            sketch.circle(centre, radius * (0.8 if connector.kind == "plug" else 0.5), style)
        at = (x - cell / 2 + 0.5, y + cell / 2 - number - 0.5) if cell >= 5.5 else (x, y - 0.9)
        sketch.text(at, cavity.ref, number, bold=True, anchor="start" if cell >= 5.5 else "middle")


def _wire(sketch: Sketch, centre: tuple[float, float], radius: float, filling: Filling | None) -> None:
    """A disc in the wire's colour with a tracer stripe; a crossed disc is a blanking plug; nothing is an empty way."""
    x, y = centre
    if filling is None:
        return
    if filling.plug or filling.colour is None:
        sketch.circle(centre, radius, Style("FACE", 0.25, INK, PAPER))
        if filling.plug:
            reach = radius * 0.707
            sketch.line((x - reach, y - reach), (x + reach, y + reach), EDGE)
            sketch.line((x - reach, y + reach), (x + reach, y - reach), EDGE)
        return
    base, tracer = tones(filling.colour)
    sketch.circle(centre, radius, Style("FACE", 0.25, INK, base))
    if tracer is not None:
        half, reach = radius / 3, radius * 0.94
        sketch.box(x - reach, y - half, x + reach, y + half, Style("FACE", 0.0, None, tracer))


def _band(sketch: Sketch, view: View, left: float, bottom: float, style: Style) -> None:
    sketch.box(left, bottom, left + _band_width(view), bottom + BAND_MM, style)
    sketch.text((left + 3, bottom + 1.25), f"seen from the {view}", 2.5, bold=True, style=WHITE_TEXT if style is BAND_INK else None)


def both_faces(connector: Connector, filling: Mapping[str, Filling], *, is_hv: bool) -> Drawing:
    """Wire side left, mating face right, a chain line between them as the mirror."""
    scale = scale_for(connector)
    width, height = face_size_mm(connector, scale)
    plug_width, _ = _plug(connector, scale)
    sketch = Sketch()
    draw_face(sketch, connector, filling, view="wire side", scale=scale, left=1.0, bottom=1.0, is_hv=is_hv)
    mirror = 1.0 + width + MIRROR_GAP_MM / 2
    right = mirror + MIRROR_GAP_MM / 2
    sketch.line((mirror, 0.5), (mirror, height + 0.5), MIRROR)
    draw_face(sketch, connector, filling, view="mating face", scale=scale, left=right, bottom=1.0, is_hv=is_hv)
    total = right + max(plug_width, _band_width("mating face")) + 1.0
    return Drawing(total, height + 2.0, tuple(sketch.shapes))
