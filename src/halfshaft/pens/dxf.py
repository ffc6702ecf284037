"""Shapes to DXF, in millimetres, each on the layer that says what it means."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING, Any

from halfshaft.drawings.shapes import Circle, Drawing, Line, Polygon, Shape, Style, Text, Track
from halfshaft.studies.looms.geometry import Bend, Path

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

# Under this name a line carries what it is the line of, as extended data.
NAMES = "HALFSHAFT"
# Line widths that DXF knows, in hundredths of a millimetre.
_LINE_WIDTHS = (13, 18, 25, 35, 50, 70, 100)
_HALF_HEIGHTS = {"start": "LEFT", "middle": "CENTER", "end": "RIGHT"}


def dxf(drawing: Drawing) -> bytes:
    """The drawing as a DXF file (R2010); the same bytes for the same drawing."""
    from ezdxf import units
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    options.write_fixed_meta_data_for_testing = True  # no clock and no random mark in the file
    document = new("R2010", setup=False)
    document.units = units.MM
    document.header["$MEASUREMENT"] = 1
    document.styles.add("HALFSHAFT", font="SourceSans3-Regular.ttf")
    document.appids.add(NAMES)
    space = document.modelspace()
    for shape in drawing.shapes:
        if shape.style.layer not in document.layers:
            document.layers.add(shape.style.layer)
        _draw(space, shape)
    # The writer takes these from an unordered set; declared here, they keep one order from run to run.
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


def _attributes(style: Style) -> dict[str, Any]:
    stroke = style.stroke or style.fill or "#000000"
    width = min(_LINE_WIDTHS, key=lambda known: abs(known - style.width_mm * 100))
    return {"layer": style.layer, "lineweight": width, "true_color": int(stroke[1:], 16)}


def _draw(space: Modelspace, shape: Shape) -> None:
    from ezdxf.enums import TextEntityAlignment

    match shape:
        case Line(start, end, style):
            space.add_line(start, end, dxfattribs=_attributes(style))
        case Polygon(corners, style):
            if style.stroke:
                space.add_lwpolyline(corners, close=True, dxfattribs=_attributes(style))
        case Circle(centre, radius, style):
            space.add_circle(centre, radius, dxfattribs=_attributes(style))
        case Track(path, style, name):
            attributes = _attributes(style)
            # What is wider than a pen is a thing of its true width, not a line.
            if style.width_mm > 1.0:
                attributes["const_width"] = style.width_mm
            entity = space.add_lwpolyline(_vertices(path), format="xyb", dxfattribs=attributes)
            if name:
                entity.set_xdata(NAMES, [(1000, name)])
        case Text():
            words = space.add_text(
                shape.words,
                height=shape.height_mm,
                rotation=shape.angle_deg,
                dxfattribs={"layer": shape.style.layer, "style": "HALFSHAFT"},
            )
            words.set_placement(shape.at, align=TextEntityAlignment[_HALF_HEIGHTS[shape.anchor]])


def _vertices(path: Path) -> list[tuple[float, float, float]]:
    """Vertices with bulges (tangent of a quarter of the turn), half turns cut in two."""
    vertices: list[tuple[float, float, float]] = []
    for piece in path.pieces:
        if isinstance(piece, Bend):
            bulge = math.tan(math.radians(piece.turn_deg) / 8)
            for share in (0.0, 0.5):
                vertices.append((*piece.at(piece.length_mm * share), bulge))
        else:
            vertices.append((*piece.start, 0.0))
    vertices.append((*path.end, 0.0))
    return vertices
