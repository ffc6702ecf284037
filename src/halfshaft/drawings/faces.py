"""The face of a connector, as the hand meets it: from the wire side, and from the mating face."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.drawings.colours import tones
from halfshaft.drawings.shapes import HV_TINT, INK, PAPER, SOFT, SOFT_TEXT, Drawing, Sketch, Style, text_width_mm
from halfshaft.model.parts import Connector

View = Literal["wire side", "mating face"]
VIEWS: tuple[View, View] = ("wire side", "mating face")
OUTLINE = Style("FACE", 0.7, INK, PAPER)
HV_OUTLINE = Style("FACE", 0.7, INK, HV_TINT)
CELL = Style("FACE", 0.35, INK, PAPER)
EDGE = Style("FACE", 0.25)
KEY = Style("FACE", 0.25, INK, INK)
BAND_INK = Style("FACE", 0.35, INK, INK)
BAND_PAPER = Style("FACE", 0.5, INK, PAPER)
MIRROR = Style("FACE", 0.25, SOFT, None, (24.0, 3.0, 0.5, 3.0))
WHITE_TEXT = Style("TEXT", 0.25, PAPER)

BAND_MM, BAND_GAP_MM, LATCH_MM, MIRROR_GAP_MM, STACK_GAP_MM, EDGE_MM = 5.0, 2.5, 3.5, 12.0, 6.0, 1.0
# Half a latch, half a key, and how far a key is from the middle as a share of the plug's width.
LATCH_HALF_MM, KEY_HALF_MM, KEY_SHARE = 6.0, 1.6, 0.32
# In a cell below this a number and a disc of the usual sizes would run into each other.
SMALL_CELL_MM = 5.5


@dataclass(frozen=True, slots=True)
class Face:
    """One view, and where its cavities are on it: the middle of each and its breadth, from the upper left corner, as a viewer counts."""

    drawing: Drawing
    cells: Mapping[str, tuple[float, float, float]]


@dataclass(frozen=True, slots=True)
class Filling:
    """What is in a cavity: a wire's colour letters, a blanking plug, or nothing."""

    colour: str | None = None
    plug: bool = False


# Both views must fit the text of an A4 page, and a tall plug must leave room for its table.
ROOM_MM, HIGH_MM, STACK_HIGH_MM = 168.0, 60.0, 110.0
SCALES = (3.0, 2.5, 2.0, 1.5, 1.25, 1.0)
# Side by side is easier to compare; below this scale it is worth giving up for larger cavities.
SIDE_BY_SIDE_MIN = 1.5


def scale_for(connector: Connector) -> float:
    """The largest scale of the list at which both views fit a page, side by side or one above the other."""
    return _arranged(connector)[0]


def _arranged(connector: Connector) -> tuple[float, bool]:
    """The scale of both views, and whether they stand one above the other."""
    beside = next((scale for scale in SCALES if _fits_beside(connector, scale)), 0.0)
    if beside >= SIDE_BY_SIDE_MIN:
        return beside, False
    stacked = next((scale for scale in SCALES if _fits_stacked(connector, scale)), 0.0)
    if stacked > beside:
        return stacked, True
    # A plug for which even 1:1 is too large is drawn 1:1 all the same, the way that is less wide if it must be.
    return beside or 1.0, not beside and _pair_width(connector, 1.0) > ROOM_MM


def _fits_beside(connector: Connector, scale: float) -> bool:
    return _pair_width(connector, scale) <= ROOM_MM and _plug(connector, scale)[1] <= HIGH_MM


def _fits_stacked(connector: Connector, scale: float) -> bool:
    width, height = face_size_mm(connector, scale)
    return width + 2 * EDGE_MM <= ROOM_MM and 2 * height + STACK_GAP_MM + 2 * EDGE_MM <= STACK_HIGH_MM


def _pair_width(connector: Connector, scale: float) -> float:
    return 2 * face_size_mm(connector, scale)[0] + MIRROR_GAP_MM + 2 * EDGE_MM


def face_size_mm(connector: Connector, scale: float) -> tuple[float, float]:
    """Width and height of one view with its latch and its band; the wider band counts, so that both views are alike."""
    width, height = _plug(connector, scale)
    wide = max(width + 2 * _side_room(connector), _band_width("wire side"), _band_width("mating face"))
    return wide, height + LATCH_MM + BAND_MM + BAND_GAP_MM


def _plug(connector: Connector, scale: float) -> tuple[float, float]:
    pitch = connector.pitch_mm or 8.0
    width = connector.plug_width_mm or connector.columns * pitch + 6.0
    height = connector.plug_height_mm or connector.rows * pitch + 6.0
    return width * scale, height * scale


def _side_room(connector: Connector) -> float:
    """Room left free on both sides of a plug with a latch at its side: on the mating face that side is the other one."""
    return LATCH_MM if connector.latch in ("left", "right") else 0.0


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
    start = left + _side_room(connector)
    low = bottom + BAND_MM + BAND_GAP_MM + (LATCH_MM if connector.latch == "bottom" else 0.0)
    mirrored = view == "mating face"

    def across(x: float) -> float:
        return start + (width - x if mirrored else x)

    sketch.box(start, low, start + width, low + height, HV_OUTLINE if is_hv else OUTLINE)
    _latch(sketch, connector, across, low, width, height)
    _key(sketch, connector, across, low, width, height)
    _cells(sketch, connector, filling, view, scale, across, low, width, height)
    _band(sketch, view, left, bottom, BAND_PAPER if mirrored else BAND_INK)


def _latch(
    sketch: Sketch, connector: Connector, across: Callable[[float], float], low: float, width: float, height: float,
) -> None:  # fmt: skip
    """A box outside the plug's edge, with its word along it."""
    if not connector.latch:
        return
    half_across, half_up = min(LATCH_HALF_MM, width / 4), min(LATCH_HALF_MM, height / 4)
    middle, halfway = width / 2, height / 2
    from_x, to_x, from_y, to_y = {
        "top": (middle - half_across, middle + half_across, height, height + LATCH_MM),
        "bottom": (middle - half_across, middle + half_across, -LATCH_MM, 0.0),
        "left": (-LATCH_MM, 0.0, halfway - half_up, halfway + half_up),
        "right": (width, width + LATCH_MM, halfway - half_up, halfway + half_up),
    }[connector.latch]
    begin, end = sorted((across(from_x), across(to_x)))
    sketch.box(begin, low + from_y, end, low + to_y, OUTLINE)
    if connector.latch in ("top", "bottom"):
        sketch.text(((begin + end) / 2, low + from_y + 0.7), "latch", 1.8, anchor="middle", style=SOFT_TEXT)
    else:
        sketch.text((end - 0.7, low + halfway), "latch", 1.8, anchor="middle", angle_deg=90.0, style=SOFT_TEXT)


def _key(
    sketch: Sketch, connector: Connector, across: Callable[[float], float], low: float, width: float, height: float,
) -> None:  # fmt: skip
    """A filled wedge inside the plug's edge; it alone shows the plug's handedness."""
    if not connector.key:
        return
    edge, _, side = connector.key.partition(" ")
    at = width * (0.5 + (KEY_SHARE if side == "right" else -KEY_SHARE))
    base, inwards = (low + height, -KEY_HALF_MM) if edge == "top" else (low, KEY_HALF_MM)
    sketch.polygon([(across(at - KEY_HALF_MM), base), (across(at + KEY_HALF_MM), base), (across(at), base + inwards)], KEY)


def _cell_sizes(cell: float) -> tuple[float, float, float]:
    """Height of a cell's number, radius of its disc, and how far both keep from its edge: the disc stays below the number."""
    if cell < SMALL_CELL_MM:
        return min(1.8, 0.38 * cell), min(0.8, 0.21 * cell), min(0.25, cell / 16)
    number = 2.5 if cell >= 9.0 else 1.8
    return number, min(2.6, cell / 3.6, (cell - number - 1.2) / 2), 0.45


def _cell_mm(connector: Connector, scale: float) -> float:
    return min(0.92 * (connector.pitch_mm or 8.0) * scale, 9.0 * scale)


def _cell_places(connector: Connector, scale: float) -> list[tuple[float, float]]:
    """The middle of each cavity, from the middle of the plug, as seen from the wire side."""
    pitch = (connector.pitch_mm or 8.0) * scale
    places = map(connector.row_and_column, range(len(connector.cavities)))
    return [((column - (connector.columns - 1) / 2) * pitch, -(row - (connector.rows - 1) / 2) * pitch) for row, column in places]


def _cells(
    sketch: Sketch, connector: Connector, filling: Mapping[str, Filling], view: View, scale: float, across: Callable[[float], float],
    low: float, width: float, height: float,
) -> None:  # fmt: skip
    cell = _cell_mm(connector, scale)
    number, radius, inset = _cell_sizes(cell)
    for cavity, place in zip(connector.cavities, _cell_places(connector, scale), strict=True):
        x, y = across(width / 2 + place[0]), low + height / 2 + place[1]
        if connector.kind == "stud":
            sketch.circle((x, y), cell / 2, CELL)
        else:
            sketch.box(x - cell / 2, y - cell / 2, x + cell / 2, y + cell / 2, CELL)
        centre = (x + cell / 2 - radius - inset, y - cell / 2 + radius + inset)
        if view == "wire side":
            _wire(sketch, centre, radius, filling.get(cavity.ref))
        else:
            style = Style("FACE", 0.25, INK, PAPER if connector.kind == "plug" else INK)
            sketch.circle(centre, radius * (0.8 if connector.kind == "plug" else 0.5), style)
        # A number of many letters is made smaller rather than let into the next cell.
        tall = number * min(1.0, (cell - 2 * inset) / text_width_mm(cavity.ref, number, bold=True))
        sketch.text((x - cell / 2 + inset, y + cell / 2 - tall - inset), cavity.ref, tall, bold=True)


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
    sketch.circle(centre, radius, Style("WIRE_COLOUR", 0.25, INK, base))
    if tracer is not None:
        half, reach = radius / 3, radius * 0.94
        sketch.box(x - reach, y - half, x + reach, y + half, Style("WIRE_COLOUR", 0.0, None, tracer))


def _band(sketch: Sketch, view: View, left: float, bottom: float, style: Style) -> None:
    sketch.box(left, bottom, left + _band_width(view), bottom + BAND_MM, style)
    sketch.text((left + 3, bottom + 1.25), f"seen from the {view}", 2.5, bold=True, style=WHITE_TEXT if style is BAND_INK else None)


def both_faces(connector: Connector, filling: Mapping[str, Filling], *, is_hv: bool) -> Drawing:
    """Wire side left, mating face right, a chain line between them as the mirror.

    A wide plug has its wire side above and its mating face below, for larger cavities: then the line runs through both.
    """
    scale, is_stacked = _arranged(connector)
    width, height = face_size_mm(connector, scale)
    sketch = Sketch()
    if is_stacked:
        drawn = width + 2 * EDGE_MM, 2 * height + STACK_GAP_MM + 2 * EDGE_MM
        places = (EDGE_MM, EDGE_MM + height + STACK_GAP_MM), (EDGE_MM, EDGE_MM)
        mirror = EDGE_MM + _side_room(connector) + _plug(connector, scale)[0] / 2
    else:
        drawn = 2 * width + MIRROR_GAP_MM + 2 * EDGE_MM, height + 2 * EDGE_MM
        places = (EDGE_MM, EDGE_MM), (EDGE_MM + width + MIRROR_GAP_MM, EDGE_MM)
        mirror = drawn[0] / 2
    # The mirror first: where it runs through the plugs they cover it, and no cavity is crossed out by it.
    sketch.line((mirror, 0.5), (mirror, drawn[1] - 0.5), MIRROR)
    for view, (left, bottom) in zip(VIEWS, places, strict=True):
        draw_face(sketch, connector, filling, view=view, scale=scale, left=left, bottom=bottom, is_hv=is_hv)
    return Drawing(*drawn, tuple(sketch.shapes))


# Left free round the cavities of a face that is drawn to be read and not to scale.
ROUND_MM = 2.0
# A cell so large takes a number and a disc of the usual sizes and no more.
READ_CELL_MM = 9.0


def wire_side(connector: Connector, filling: Mapping[str, Filling], *, is_hv: bool) -> Face:
    """The view from the wire side by itself for a screen, not to scale: the plug no larger than its cavities, so that these are large."""
    pitch = connector.pitch_mm or 8.0
    scale = READ_CELL_MM / _cell_mm(connector, 1.0)
    size = {"plug_width_mm": connector.columns * pitch + ROUND_MM, "plug_height_mm": connector.rows * pitch + ROUND_MM}
    close = connector.model_copy(update=size)
    width, height = _plug(close, scale)
    left = EDGE_MM + _side_room(close)
    low = EDGE_MM + (LATCH_MM if close.latch == "bottom" else 0.0)
    drawn = width + 2 * left, height + 2 * EDGE_MM + (LATCH_MM if close.latch in ("top", "bottom") else 0.0)

    def across(x: float) -> float:
        return left + x

    sketch = Sketch()
    sketch.box(left, low, left + width, low + height, HV_OUTLINE if is_hv else OUTLINE)
    _latch(sketch, close, across, low, width, height)
    _key(sketch, close, across, low, width, height)
    _cells(sketch, close, filling, "wire side", scale, across, low, width, height)
    cells = {
        cavity.ref: (across(width / 2 + x), drawn[1] - (low + height / 2 + y), _cell_mm(close, scale))
        for cavity, (x, y) in zip(close.cavities, _cell_places(close, scale), strict=True)
    }
    return Face(Drawing(*drawn, tuple(sketch.shapes)), cells)
