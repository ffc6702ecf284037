"""A board cut into sheets that any printer takes: overlap, crop marks, join marks, scale bars, a map of the sheets."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.drawings.shapes import INK, PAPER, SOFT, Drawing, Sketch, Style, box_of
from halfshaft.drawings.sheet import scale_bar

OVERLAP_MM = 10.0
STRIP_MM = 13.0
SIDE_MM = 11.0
EDGE_MM = 8.0
CROP = Style("CROP", 0.25)
JOIN = Style("JOIN", 0.18, SOFT)
MAP = Style("MAP", 0.13)
MAP_HERE = Style("MAP", 0.13, INK, INK)
BLANK = Style("FRAME", 0.0, None, PAPER)
PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0)}


@dataclass(frozen=True, slots=True)
class Correction:
    """What 100 mm came out as on this printer, in x and in y. Without a measurement both are 100."""

    x_found_mm: float = 100.0
    y_found_mm: float = 100.0

    @property
    def x(self) -> float:
        """What a drawing is stretched by in x."""
        return 100.0 / self.x_found_mm

    @property
    def y(self) -> float:
        """What a drawing is stretched by in y."""
        return 100.0 / self.y_found_mm


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet: its column and row (A1 is the lower left), and the part of the board's sheet that it shows."""

    column: int
    row: int
    left_mm: float
    bottom_mm: float
    width_mm: float
    height_mm: float

    @property
    def name(self) -> str:
        """`C4`: column by letter, row by number."""
        return f"{_letters(self.column)}{self.row + 1}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a board is cut: the paper as it lies in the printer, and the sheets that show something, row by row from below."""

    paper: str
    page_mm: tuple[float, float]
    columns: int
    rows: int
    tiles: tuple[Tile, ...]


def _letters(index: int) -> str:
    """A, B ... Z, AA, AB ..."""
    word = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        word = chr(65 + rest) + word
    return word


def window_mm(page_mm: tuple[float, float], correction: Correction) -> tuple[float, float]:
    """How much of a board one page shows, after its edges, bar, strip and stretch."""
    return (page_mm[0] - SIDE_MM - EDGE_MM) / correction.x, (page_mm[1] - STRIP_MM - 2 * EDGE_MM) / correction.y


def tiling(drawing: Drawing, *, paper: str, correction: Correction) -> Tiling:
    """Cut a drawing into sheets of A4 or A3, the paper laid whichever way takes fewer sheets.

    A sheet that would show nothing but the board's edge and its scale bars is left out.
    """
    width_mm, height_mm = drawing.width_mm, drawing.height_mm
    short, long = PAPERS[paper]
    options = []
    for page in ((short, long), (long, short)):
        window = window_mm(page, correction)
        columns = max(1, math.ceil((width_mm - OVERLAP_MM) / (window[0] - OVERLAP_MM)))
        rows = max(1, math.ceil((height_mm - OVERLAP_MM) / (window[1] - OVERLAP_MM)))
        options.append((columns * rows, page, window, columns, rows))
    _, page, window, columns, rows = min(options)
    tiles = tuple(
        Tile(column, row, column * (window[0] - OVERLAP_MM), row * (window[1] - OVERLAP_MM), window[0], window[1])
        for row in range(rows)
        for column in range(columns)
    )
    boxes = [box_of(shape) for shape in drawing.shapes if shape.style.layer not in ("FRAME", "SCALE")]
    shown = tuple(tile for tile in tiles if any(_meet(tile, box) for box in boxes))
    return Tiling(paper, page, columns, rows, shown)


def _meet(tile: Tile, box: tuple[float, float, float, float]) -> bool:
    left, bottom, right, top = box
    return (
        left < tile.left_mm + tile.width_mm and right > tile.left_mm and bottom < tile.bottom_mm + tile.height_mm and top > tile.bottom_mm
    )


def overlay(cut: Tiling, tile: Tile, *, number: str, revision: str, title: str, correction: Correction) -> Drawing:
    """What is drawn on one sheet over its part of the board, in true millimetres (before the stretch).

    The page's own lower left corner is the origin.
    """
    page = (cut.page_mm[0] / correction.x, cut.page_mm[1] / correction.y)
    left, bottom = SIDE_MM / correction.x, (STRIP_MM + EDGE_MM) / correction.y
    right, top = left + tile.width_mm, bottom + tile.height_mm
    sketch = Sketch()
    # The board's drawing runs on under the edges; paper covers it there.
    beyond = 5.0
    for box in (
        (-beyond, -beyond, page[0] + beyond, bottom),
        (-beyond, top, page[0] + beyond, page[1] + beyond),
        (-beyond, -beyond, left, page[1] + beyond),
        (right, -beyond, page[0] + beyond, page[1] + beyond),
    ):
        sketch.box(*box, BLANK)
    _crop_marks(sketch, left, bottom, right, top)
    for place, name in _joins(cut, tile):
        x, y = left + place[0] - tile.left_mm, bottom + place[1] - tile.bottom_mm
        sketch.circle((x, y), 1.6, JOIN)
        sketch.line((x - 3, y), (x + 3, y), JOIN)
        sketch.line((x, y - 3), (x, y + 3), JOIN)
        sketch.text((x + 1.9, y + 0.7), name, 1.8)
    foot = bottom - 9.0
    scale_bar(sketch, left + 2.5, foot + 1.0, 100.0, upright=False, words=False)
    scale_bar(sketch, left - 6.5, bottom + 12.0, 100.0, upright=True, words=False)
    sketch.text((left + 2.5, foot - 3.6), "bars are 100 mm: x found _____  y found _____", 2.5)
    words = left + 108.0
    sketch.text((words, foot + 2.6), f"{number}  rev {revision}", 2.5, bold=True)
    sketch.text((words, foot - 1.2), f"{title}, sheet {tile.name}, {cut.tiles.index(tile) + 1} of {len(cut.tiles)}", 2.5)
    _map(sketch, cut, tile, right - 2.5, foot - 4.6)
    return Drawing(page[0], page[1], tuple(sketch.shapes), title=f"{number} {tile.name}")


def _crop_marks(sketch: Sketch, left: float, bottom: float, right: float, top: float) -> None:
    for x, out_x in ((left, -1.0), (right, 1.0)):
        for y, out_y in ((bottom, -1.0), (top, 1.0)):
            sketch.line((x + 2 * out_x, y), (x + 7 * out_x, y), CROP)
            sketch.line((x, y + 2 * out_y), (x, y + 7 * out_y), CROP)


def _joins(cut: Tiling, tile: Tile) -> Iterator[tuple[tuple[float, float], str]]:
    """Cross-hairs in the overlaps of a sheet with the next ones; both sheets draw the same ones with the same name.

    They stand at whole 100 mm of the board's sheet along the middle of each overlap.
    """
    half = OVERLAP_MM / 2
    step_x, step_y = tile.width_mm - OVERLAP_MM, tile.height_mm - OVERLAP_MM
    for column in (tile.column, tile.column + 1):
        if 0 < column < cut.columns:
            x = column * step_x + half
            for index in range(math.ceil((tile.bottom_mm + 8) / 100), math.floor((tile.bottom_mm + tile.height_mm - 8) / 100) + 1):
                yield (x, index * 100.0), f"{_letters(column)}{index}"
    for row in (tile.row, tile.row + 1):
        if 0 < row < cut.rows:
            y = row * step_y + half
            for index in range(math.ceil((tile.left_mm + 8) / 100), math.floor((tile.left_mm + tile.width_mm - 8) / 100) + 1):
                yield (index * 100.0, y), f"{row}.{index}"


def _map(sketch: Sketch, cut: Tiling, tile: Tile, right: float, bottom: float) -> None:
    """All sheets that are printed, small, this one inked."""
    cell = min(24.0 / cut.columns, 8.0 / cut.rows)
    left = right - cell * cut.columns
    for other in cut.tiles:
        x, y = left + other.column * cell, bottom + other.row * cell
        sketch.box(x, y, x + cell, y + cell, MAP_HERE if other == tile else MAP)
