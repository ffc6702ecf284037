"""A board cut into sheets that any printer takes: overlap, crop marks, join marks, scale bars, a map of the sheets."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.drawings.shapes import INK, SOFT, Drawing, Sketch, Style, box_of, shortened
from halfshaft.drawings.sheet import scale_bar

JOIN_STEP_MM = 50.0
OVERLAP_MM = 10.0
# From the paper's edge to the window: left with the upright bar, right and top with the crop marks, below with the strip.
# Few printers print nearer to the edge than 5 mm, so nothing is drawn there, whatever the stretch up to 5 %.
SIDE_MM = 14.0
EDGE_MM = 12.5
FOOT_MM = 25.0
CROP = Style("CROP", 0.25)
JOIN = Style("JOIN", 0.18, SOFT)
MAP = Style("MAP", 0.13)
MAP_HERE = Style("MAP", 0.13, INK, INK)
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
    """One sheet: its column and row from the lower left, and the part of the board's sheet that it shows."""

    column: int
    row: int
    left_mm: float
    bottom_mm: float
    width_mm: float
    height_mm: float

    @property
    def name(self) -> str:
        """`row 4, column C`. Never `C4`: one of these would be called like the paper."""
        return f"row {self.row + 1}, column {_letters(self.column)}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a board is cut: the paper, upright, and the sheets that show something, row by row from below."""

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
    return (page_mm[0] - SIDE_MM - EDGE_MM) / correction.x, (page_mm[1] - FOOT_MM - EDGE_MM) / correction.y


def tiling(drawing: Drawing, *, paper: str, correction: Correction) -> Tiling:
    """Cut a drawing into sheets of A4 or A3.

    The paper is always upright: a printer stretches along and across its feed, and x must stay the one and y the other.
    A sheet that would show nothing but the board's edge is left out, unless it joins others that would lie alone.
    """
    page = PAPERS[paper]
    window = window_mm(page, correction)
    columns = max(1, math.ceil((drawing.width_mm - OVERLAP_MM) / (window[0] - OVERLAP_MM)))
    rows = max(1, math.ceil((drawing.height_mm - OVERLAP_MM) / (window[1] - OVERLAP_MM)))
    tiles = tuple(
        Tile(column, row, column * (window[0] - OVERLAP_MM), row * (window[1] - OVERLAP_MM), window[0], window[1])
        for row in range(rows)
        for column in range(columns)
    )
    boxes = [box_of(shape) for shape in drawing.shapes if shape.style.layer != "FRAME"]
    inked = {(tile.column, tile.row) for tile in tiles if any(_meet(tile, box) for box in boxes)}
    shown = _in_one_piece(inked)
    return Tiling(paper, page, columns, rows, tuple(tile for tile in tiles if (tile.column, tile.row) in shown))


Cell = tuple[int, int]


def _in_one_piece(cells: set[Cell]) -> set[Cell]:
    """The cells, and as few others as join each island to the first one along its column and row: a sheet alone cannot be placed."""
    joined = set(cells)
    while len(islands := _islands(joined)) > 1:
        first, *others = islands
        here, there = min(((a, b) for a in first for island in others for b in island), key=lambda pair: (_steps(*pair), pair))
        joined |= {(here[0], row) for row in range(min(here[1], there[1]), max(here[1], there[1]) + 1)}
        joined |= {(column, there[1]) for column in range(min(here[0], there[0]), max(here[0], there[0]) + 1)}
    return joined


def _steps(here: Cell, there: Cell) -> int:
    return abs(here[0] - there[0]) + abs(here[1] - there[1])


def _islands(cells: set[Cell]) -> list[list[Cell]]:
    """Cells that hang together by their sides, the piece with the first cell first."""
    islands: list[list[Cell]] = []
    left = set(cells)
    while left:
        island = [min(left)]
        left.discard(island[0])
        for column, row in island:
            for cell in ((column - 1, row), (column + 1, row), (column, row - 1), (column, row + 1)):
                if cell in left:
                    left.discard(cell)
                    island.append(cell)
        islands.append(island)
    return islands


def _meet(tile: Tile, box: tuple[float, float, float, float]) -> bool:
    left, bottom, right, top = box
    return (
        left < tile.left_mm + tile.width_mm and right > tile.left_mm and bottom < tile.bottom_mm + tile.height_mm and top > tile.bottom_mm
    )


def overlay(cut: Tiling, tile: Tile, *, number: str, revision: str, title: str, correction: Correction) -> Drawing:
    """What is drawn on one sheet round and over its part of the board, in true millimetres (before the stretch).

    The page's own lower left corner is the origin.
    """
    page = (cut.page_mm[0] / correction.x, cut.page_mm[1] / correction.y)
    left, bottom = SIDE_MM / correction.x, FOOT_MM / correction.y
    right, top = left + tile.width_mm, bottom + tile.height_mm
    sketch = Sketch()
    _crop_marks(sketch, left, bottom, right, top)
    for join in _joins(cut, tile):
        x, y = left + join.place[0] - tile.left_mm, bottom + join.place[1] - tile.bottom_mm
        sketch.circle((x, y), 1.6, JOIN)
        sketch.line((x - 3, y), (x + 3, y), JOIN)
        sketch.line((x, y - 3), (x, y + 3), JOIN)
        if join.name_left:
            sketch.text((x - 1.9, y + 0.7), join.name, 1.8, anchor="end")
        else:
            sketch.text((x + 1.9, y + 0.7), join.name, 1.8)
    scale_bar(sketch, left + 2.5, bottom - 8.0, 100.0, upright=False, words=False)
    scale_bar(sketch, left - 6.5, bottom + 12.0, 100.0, upright=True, words=False)
    sketch.text((left + 2.5, bottom - 13.0), "bars are 100 mm: x found _____  y found _____", 2.5)
    if (correction.x, correction.y) != (1.0, 1.0):
        stretched = f"stretched x {correction.x:.4f}, y {correction.y:.4f}; measure an uncorrected print"
        sketch.text((left + 2.5, bottom - 17.0), stretched, 2.5, bold=True)
    words = left + 108.0
    map_left = _map(sketch, cut, tile, right - 2.5, bottom - 12.0)
    sketch.text((words, bottom - 6.5), f"{number}  rev {revision}", 2.5, bold=True)
    sketch.text((words, bottom - 11.0), shortened(title, 2.5, map_left - words - 2.0), 2.5)
    sheet = f"sheet {cut.tiles.index(tile) + 1} of {len(cut.tiles)}"
    sketch.text((words, bottom - 17.0), f"{sheet}, {tile.name}", 2.5)
    return Drawing(page[0], page[1], tuple(sketch.shapes), title=f"{number}, {sheet}")


def _crop_marks(sketch: Sketch, left: float, bottom: float, right: float, top: float) -> None:
    for x, out_x in ((left, -1.0), (right, 1.0)):
        for y, out_y in ((bottom, -1.0), (top, 1.0)):
            sketch.line((x + 2 * out_x, y), (x + 7 * out_x, y), CROP)
            sketch.line((x, y + 2 * out_y), (x, y + 7 * out_y), CROP)


@dataclass(frozen=True, slots=True)
class Join:
    """One cross in an overlap: its place on the board's sheet, its name, and the side on which the name stands."""

    place: tuple[float, float]
    name: str
    name_left: bool = False


def _joins(cut: Tiling, tile: Tile) -> Iterator[Join]:
    """Crosses in the overlaps of a sheet with its printed neighbours; both sheets draw the same ones with the same name.

    They stand at every 50 mm of the board's sheet along the middle of each overlap, so that an edge has at least two and a
    sheet cannot turn about one. `d-70` is right of column D, 70 cm up; `3.100` is above row 3, 100 cm along. The name stands
    where the crop marks leave it on.
    """
    half = OVERLAP_MM / 2
    step_x, step_y = tile.width_mm - OVERLAP_MM, tile.height_mm - OVERLAP_MM
    printed = {(other.column, other.row) for other in cut.tiles}
    for column in (tile.column, tile.column + 1):
        if {(column - 1, tile.row), (column, tile.row)} <= printed:
            x = column * step_x + half
            for at_mm in _places(tile.bottom_mm, tile.height_mm):
                yield Join((x, at_mm), f"{_letters(column - 1).lower()}-{at_mm / 10:.0f}", name_left=column > tile.column)
    for row in (tile.row, tile.row + 1):
        if {(tile.column, row - 1), (tile.column, row)} <= printed:
            y = row * step_y + half
            for at_mm in _places(tile.left_mm, tile.width_mm):
                yield Join((at_mm, y), f"{row}.{at_mm / 10:.0f}")


def _places(from_mm: float, length_mm: float) -> Iterator[float]:
    """Every whole 50 mm of a sheet's side, clear of its corners by more than a name."""
    clear = 13.0
    for index in range(math.ceil((from_mm + clear) / JOIN_STEP_MM), math.floor((from_mm + length_mm - clear) / JOIN_STEP_MM) + 1):
        yield index * JOIN_STEP_MM


def _map(sketch: Sketch, cut: Tiling, tile: Tile, right: float, bottom: float) -> float:
    """All sheets that are printed, small, this one inked; gives back its left edge."""
    cell = min(24.0 / cut.columns, 8.0 / cut.rows)
    left = right - cell * cut.columns
    for other in cut.tiles:
        x, y = left + other.column * cell, bottom + other.row * cell
        sketch.box(x, y, x + cell, y + cell, MAP_HERE if other == tile else MAP)
    return left
