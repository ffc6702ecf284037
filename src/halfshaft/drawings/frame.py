"""Trimmed sheets after ISO 216 with border, zones and centring marks after ISO 5457."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from halfshaft.drawings.shapes import Sketch, Style

FILING_MM, BORDER_MM, BAND_MM, ZONE_MM = 20.0, 10.0, 5.0, 50.0
# The letters I and O would be read as figures.
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Paper:
    """A lying sheet and how many fields it has along its long and its short side."""

    name: str
    width_mm: float
    height_mm: float
    across: int
    down: int

    @property
    def inside(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of the frame."""
        return FILING_MM, BORDER_MM, self.width_mm - BORDER_MM, self.height_mm - BORDER_MM

    def zone_of(self, x: float, y: float) -> str:
        """The field that a place lies in, as `C4`."""
        column = _field(x - self.width_mm / 2, self.across)
        row = _field(self.height_mm / 2 - y, self.down)
        return f"{LETTERS[row]}{column + 1}"


PAPERS = (
    Paper("A3", 420.0, 297.0, 8, 6),
    Paper("A2", 594.0, 420.0, 12, 8),
    Paper("A1", 841.0, 594.0, 16, 12),
    Paper("A0", 1189.0, 841.0, 24, 16),
)


def _field(from_middle: float, count: int) -> int:
    """Fields of 50 mm are counted from the middle outwards; the end fields take the rest."""
    return min(max(int(from_middle // ZONE_MM) + count // 2, 0), count - 1)


def draw_frame(sketch: Sketch, paper: Paper) -> None:
    """Frame, band of zones with letters and figures, centring marks."""
    left, bottom, right, top = paper.inside
    thin, mark = Style("FRAME", 0.35), Style("FRAME", 0.7)
    sketch.box(left - BAND_MM, bottom - BAND_MM, right + BAND_MM, top + BAND_MM, thin)
    sketch.box(left, bottom, right, top, mark)
    middle_x, middle_y = paper.width_mm / 2, paper.height_mm / 2
    edges_x = [left, *(middle_x + ZONE_MM * (i - paper.across / 2) for i in range(1, paper.across)), right]
    edges_y = [top, *(middle_y - ZONE_MM * (i - paper.down / 2) for i in range(1, paper.down)), bottom]
    for index, (start, end) in enumerate(itertools.pairwise(edges_x)):
        for low, high in ((bottom - BAND_MM, bottom), (top, top + BAND_MM)):
            sketch.text(((start + end) / 2, low + 0.8), str(index + 1), 3.5, style=Style("FRAME", 0.25), anchor="middle")
            if index:
                sketch.line((start, low), (start, high), thin)
    for index, (start, end) in enumerate(itertools.pairwise(edges_y)):
        for low, high in ((left - BAND_MM, left), (right, right + BAND_MM)):
            sketch.text(((low + high) / 2, (start + end) / 2 - 1.75), LETTERS[index], 3.5, style=Style("FRAME", 0.25), anchor="middle")
            if index:
                sketch.line((low, start), (high, start), thin)
    for y in (top, bottom):
        sketch.line((middle_x, y + BAND_MM), (middle_x, y - BAND_MM), mark)
    for x in (left, right):
        sketch.line((x - BAND_MM, middle_y), (x + BAND_MM, middle_y), mark)
