"""Shapes to SVG: one user unit is one millimetre. What is drawn for a thing stands in a group that names it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

from halfshaft.drawings.shapes import CAPITAL, Circle, Drawing, Line, Polygon, Shape, Style, Text, Track
from halfshaft.studies.looms.geometry import Bend, Path, Place

FONT = "Source Sans 3"
# Layers whose colours are those of wires: a viewer that turns ink and paper round leaves them as they are.
WIRE_LAYERS = frozenset({"WIRE_COLOUR", "SWATCH"})
_ANCHORS = {"start": "start", "middle": "middle", "end": "end"}


def svg(drawing: Drawing) -> str:
    """The drawing as SVG text, at full size."""
    width, height = _number(drawing.width_mm), _number(drawing.height_mm)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}" '
        f"font-family=\"'{FONT}'\">"
    )
    title = f"<title>{escape(drawing.title)}</title>" if drawing.title else ""
    body = "\n".join(_groups(drawing.shapes, drawing.height_mm))
    return f"{head}{title}\n{body}\n</svg>\n"


def _groups(shapes: Sequence[Shape], height: float) -> Iterator[str]:
    """Neighbours drawn for one thing share a group."""
    for thing, group in itertools.groupby(shapes, key=lambda shape: shape.style.about):
        lines = "\n".join(_shape(shape, height) for shape in group)
        yield f"<g data-ref={quoteattr(thing)}>\n{lines}\n</g>" if thing else lines


def _number(value: float) -> str:
    """Millimetres to a tenth of a micrometre, without trailing noughts."""
    return f"{value:.4f}".rstrip("0").rstrip(".").replace("-0", "-0") or "0"


def _place(place: Place, height: float) -> str:
    return f"{_number(place[0])} {_number(height - place[1])}"


def _paint(style: Style) -> str:
    paint = [f"fill={quoteattr(style.fill or 'none')}"]
    if style.layer in WIRE_LAYERS:
        paint.append('data-colour="wire"')
    if style.stroke:
        paint.append(f'stroke="{style.stroke}" stroke-width="{_number(style.width_mm)}"')
        if style.dash:
            paint.append(f'stroke-dasharray="{" ".join(_number(part * style.width_mm) for part in style.dash)}"')
    return " ".join(paint)


def _shape(shape: Shape, height: float) -> str:
    match shape:
        case Line(start, end, style):
            return f'<path d="M{_place(start, height)}L{_place(end, height)}" {_paint(style)}/>'
        case Polygon(corners, style):
            points = "L".join(_place(corner, height) for corner in corners)
            return f'<path d="M{points}Z" {_paint(style)} stroke-linejoin="miter"/>'
        case Circle((x, y), radius, style):
            return f'<circle cx="{_number(x)}" cy="{_number(height - y)}" r="{_number(radius)}" {_paint(style)}/>'
        case Track(path, style):
            cap = "round" if style.round_ends else "butt"
            return f'<path d="{_path(path, height)}" {_paint(style)} stroke-linejoin="round" stroke-linecap="{cap}"/>'
        case Text():
            return _text(shape, height)


def _path(path: Path, height: float) -> str:
    words = [f"M{_place(path.start, height)}"]
    for piece in path.pieces:
        end = _place(piece.at(piece.length_mm), height)
        if isinstance(piece, Bend):
            # A half turn is cut in two: an arc of just 180 degrees has two answers.
            middle = _place(piece.at(piece.length_mm / 2), height)
            sweep = 0 if piece.turn_deg > 0 else 1
            radius = _number(piece.radius_mm)
            words.append(f"A{radius} {radius} 0 0 {sweep} {middle}A{radius} {radius} 0 0 {sweep} {end}")
        else:
            words.append(f"L{end}")
    return "".join(words)


def _text(text: Text, height: float) -> str:
    x, y = _number(text.at[0]), _number(height - text.at[1])
    turn = f' transform="rotate({_number(-text.angle_deg)} {x} {y})"' if text.angle_deg else ""
    weight = ' font-weight="600"' if text.bold else ""
    size = _number(text.height_mm / CAPITAL)
    anchor = f' text-anchor="{_ANCHORS[text.anchor]}"' if text.anchor != "start" else ""
    return f'<text x="{x}" y="{y}" font-size="{size}"{weight}{anchor}{turn} fill="{text.style.stroke}">{escape(text.words)}</text>'
