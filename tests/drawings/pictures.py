"""What tests of pictures use: reading places back from shapes, and looking for words on words."""

from __future__ import annotations

import itertools

from halfshaft.drawings.shapes import Drawing, Polygon, Text, box_of

Rect = tuple[float, float, float, float]


def rects(drawing: Drawing, layer: str, *, width_mm: float | None = None) -> list[Rect]:
    """The rectangles round all outlines of a layer."""
    return [
        box_of(shape)
        for shape in drawing.shapes
        if isinstance(shape, Polygon) and shape.style.layer == layer and width_mm in (None, shape.style.width_mm)
    ]


def words(drawing: Drawing) -> list[str]:
    return [shape.words for shape in drawing.shapes if isinstance(shape, Text)]


def overlapping_words(drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of texts whose rectangles share room (a hundredth of a millimetre of touching aside)."""
    texts = [(shape.words, box_of(shape)) for shape in drawing.shapes if isinstance(shape, Text) and shape.words]
    return [
        (one, other)
        for (one, a), (other, b) in itertools.combinations(texts, 2)
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.01 and min(a[3], b[3]) - max(a[1], b[1]) > 0.01
    ]


def outside(drawing: Drawing) -> list[object]:
    """Shapes that reach beyond the paper."""
    return [
        shape
        for shape in drawing.shapes
        for left, bottom, right, top in [box_of(shape)]
        if left < -0.01 or bottom < -0.01 or right > drawing.width_mm + 0.01 or top > drawing.height_mm + 0.01
    ]
