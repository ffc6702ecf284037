"""Boards cut into sheets: nothing lost, every join found on both sheets, nothing where a printer does not print."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass

import networkx
import pytest

from halfshaft.book.frame import board_number
from halfshaft.drawings.board import board_drawing
from halfshaft.drawings.shapes import Circle, Drawing, Sketch, Style, Text, box_of
from halfshaft.drawings.tiles import EDGE_MM, FOOT_MM, OVERLAP_MM, SIDE_MM, Correction, Tile, Tiling, overlay, tiling
from halfshaft.study import Study

# Few printers print nearer to the paper's edge than this.
UNPRINTED_MM = 5.0
PAPERS_MM = {"A4": (210.0, 297.0), "A3": (297.0, 420.0)}
CORRECTIONS = {"as it comes": Correction(), "shrinks x": Correction(x_found_mm=99.2), "both": Correction(98.0, 101.5)}
CASES = list(itertools.product(PAPERS_MM, CORRECTIONS))


@pytest.fixture(scope="module")
def drawing(tern_study: Study) -> Drawing:
    laid = tern_study.routing.loom("BX")
    return board_drawing(tern_study.conversion, laid, tern_study.boards["BX"], tern_study.wires, board_number(tern_study, "BX"), 0)


def over(cut: Tiling, tile: Tile, correction: Correction) -> Drawing:
    return overlay(cut, tile, number="TERN-LB-BX", revision="A", title="A loom with rather a long name", correction=correction)


@dataclass(frozen=True)
class Cross:
    """A join cross as drawn: its name, its place on the board's sheet, and the box of its name on the page."""

    name: str
    place: tuple[float, float]
    words: tuple[float, float, float, float]


def crosses(cut: Tiling, tile: Tile, correction: Correction) -> list[Cross]:
    left, bottom = SIDE_MM / correction.x, FOOT_MM / correction.y
    shapes = over(cut, tile, correction).shapes
    circles = [shape for shape in shapes if isinstance(shape, Circle) and shape.style.layer == "JOIN"]
    words = [shape for shape in shapes if isinstance(shape, Text) and shape.height_mm == 1.8]
    assert len(circles) == len(words)
    return [
        Cross(word.words, (ring.centre[0] - left + tile.left_mm, ring.centre[1] - bottom + tile.bottom_mm), box_of(word))
        for ring, word in zip(circles, words, strict=True)
    ]


@pytest.mark.parametrize(("paper", "how"), CASES)
def test_windows_overlap_and_reach_over_the_whole_drawing(drawing: Drawing, paper: str, how: str) -> None:
    cut = tiling(drawing, paper=paper, correction=CORRECTIONS[how])
    places = {(tile.column, tile.row): tile for tile in cut.tiles}
    for (column, row), tile in places.items():
        if right := places.get((column + 1, row)):
            assert tile.left_mm + tile.width_mm - right.left_mm == pytest.approx(OVERLAP_MM)
        if above := places.get((column, row + 1)):
            assert tile.bottom_mm + tile.height_mm - above.bottom_mm == pytest.approx(OVERLAP_MM)
    width, height = cut.tiles[0].width_mm, cut.tiles[0].height_mm
    assert (cut.columns - 1) * (width - OVERLAP_MM) + width >= drawing.width_mm
    assert (cut.rows - 1) * (height - OVERLAP_MM) + height >= drawing.height_mm
    # All that is not the frame lies on the printed sheets: every corner of every shape's box that lies on the board.
    for shape in drawing.shapes:
        if shape.style.layer == "FRAME":
            continue
        left, bottom, right_mm, top = box_of(shape)
        for x, y in itertools.product((left, right_mm), (bottom, top)):
            assert any(
                tile.left_mm <= x <= tile.left_mm + width and tile.bottom_mm <= y <= tile.bottom_mm + height for tile in cut.tiles
            ), shape


@pytest.mark.parametrize(("paper", "how"), CASES)
def test_every_join_is_on_both_sheets_at_one_place_with_one_name(drawing: Drawing, paper: str, how: str) -> None:
    correction = CORRECTIONS[how]
    cut = tiling(drawing, paper=paper, correction=correction)
    drawn: dict[str, list[tuple[Tile, Cross]]] = {}
    for tile in cut.tiles:
        for cross in crosses(cut, tile, correction):
            drawn.setdefault(cross.name, []).append((tile, cross))
    assert drawn
    for name, pair in drawn.items():
        assert len(pair) == 2, name
        (one, first), (other, second) = pair
        assert abs(one.column - other.column) + abs(one.row - other.row) == 1, name
        assert first.place == pytest.approx(second.place, abs=1e-9)
    # Each two neighbours have two at least: about one cross a sheet could turn.
    joined = Counter(frozenset((tile.column, tile.row) for tile, _ in pair) for pair in drawn.values())
    printed = {(tile.column, tile.row) for tile in cut.tiles}
    for column, row in printed:
        for neighbour in {(column + 1, row), (column, row + 1)} & printed:
            assert joined[frozenset({(column, row), neighbour})] >= 2


@pytest.mark.parametrize(("paper", "how"), CASES)
def test_names_of_joins_survive_the_scissors(drawing: Drawing, paper: str, how: str) -> None:
    correction = CORRECTIONS[how]
    cut = tiling(drawing, paper=paper, correction=correction)
    left, bottom = SIDE_MM / correction.x, FOOT_MM / correction.y
    for tile in cut.tiles:
        for cross in crosses(cut, tile, correction):
            assert left <= cross.words[0] < cross.words[2] <= left + tile.width_mm, cross
            assert bottom <= cross.words[1] < cross.words[3] <= bottom + tile.height_mm, cross


def test_no_join_is_called_like_a_sheet_and_no_sheet_like_paper(drawing: Drawing) -> None:
    cut = tiling(drawing, paper="A4", correction=Correction())
    names = {cross.name for tile in cut.tiles for cross in crosses(cut, tile, Correction())}
    assert all("." in name or ("-" in name and name == name.lower()) for name in names)
    first = [shape.words for shape in over(cut, cut.tiles[0], Correction()).shapes if isinstance(shape, Text)]
    assert f"sheet 1 of {len(cut.tiles)}, row 1, column A" in first


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_the_long_bars_with_words_are_printed(drawing: Drawing, paper: str) -> None:
    cut = tiling(drawing, paper=paper, correction=Correction())
    printed = {(tile.column, tile.row) for tile in cut.tiles}
    window = cut.tiles[0]
    step_x, step_y = window.width_mm - OVERLAP_MM, window.height_mm - OVERLAP_MM
    bars = [box_of(shape) for shape in drawing.shapes if shape.style.layer == "SCALE"]
    right, top = max(box[2] for box in bars), max(box[3] for box in bars)
    # A bar along the bottom and one up the left edge, from the first sheet on.
    assert {(column, 0) for column in range(int(right // step_x) + 1)} <= printed
    assert {(0, row) for row in range(int(top // step_y) + 1)} <= printed
    # The bars at the far edges are no reason to print a sheet.
    assert all(box[1] < 25 or box[0] < 25 for box in bars)


@pytest.mark.parametrize(("paper", "how"), CASES)
def test_the_paper_is_upright_and_its_edge_is_left_white(drawing: Drawing, paper: str, how: str) -> None:
    correction = CORRECTIONS[how]
    cut = tiling(drawing, paper=paper, correction=correction)
    assert cut.page_mm == PAPERS_MM[paper]
    for tile in cut.tiles:
        sheet = over(cut, tile, correction)
        assert sheet.width_mm * correction.x == pytest.approx(cut.page_mm[0])
        assert sheet.height_mm * correction.y == pytest.approx(cut.page_mm[1])
        for shape in sheet.shapes:
            left, bottom, right, top = box_of(shape)
            # Letters reach below their base line by less than half their height.
            below = 0.5 * shape.height_mm if isinstance(shape, Text) else shape.style.width_mm / 2
            half = shape.style.width_mm / 2
            assert (left - half) * correction.x >= UNPRINTED_MM, shape
            assert (bottom - below) * correction.y >= UNPRINTED_MM, shape
            assert (right + half) * correction.x <= cut.page_mm[0] - UNPRINTED_MM, shape
            assert (top + half) * correction.y <= cut.page_mm[1] - UNPRINTED_MM, shape


def test_a_correction_makes_the_windows_smaller_and_is_written_on_the_strip(drawing: Drawing) -> None:
    correction = Correction(x_found_mm=99.2)
    assert (correction.x, correction.y) == (pytest.approx(1.008_065, abs=1e-6), 1.0)
    plain, cut = (tiling(drawing, paper="A4", correction=wanted) for wanted in (Correction(), correction))
    # The same paper shows less of the board in x, by just the stretch; y is as before.
    assert cut.tiles[0].width_mm * correction.x == pytest.approx(plain.tiles[0].width_mm)
    assert cut.tiles[0].height_mm == plain.tiles[0].height_mm
    assert plain.tiles[0].width_mm == 210.0 - SIDE_MM - EDGE_MM

    def words(tiled: Tiling, wanted: Correction) -> list[str]:
        return [shape.words for shape in over(tiled, tiled.tiles[0], wanted).shapes if isinstance(shape, Text)]

    assert "stretched x 1.0081, y 1.0000; measure an uncorrected print" in words(cut, correction)
    assert not any(line.startswith("stretched") for line in words(plain, Correction()))


def alone(cut: Tiling) -> set[tuple[int, int]]:
    """Sheets that cannot be reached from the first one over shared sides, found with a graph of our own."""
    cells = {(tile.column, tile.row) for tile in cut.tiles}
    graph = networkx.grid_2d_graph(cut.columns, cut.rows).subgraph(cells)
    return cells - set(networkx.node_connected_component(graph, min(cells)))


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_no_sheet_lies_alone(paper: str) -> None:
    spots = [(30.0, 30.0), (1500.0, 60.0), (700.0, 900.0), (1490.0, 1100.0)]
    sketch = Sketch()
    for spot in spots:
        sketch.circle(spot, 4.0, Style("PEG", 0.5))
    far_apart = Drawing(1600.0, 1200.0, tuple(sketch.shapes))
    cut = tiling(far_apart, paper=paper, correction=Correction())
    assert alone(cut) == set()
    assert len(spots) < len(cut.tiles) < cut.columns * cut.rows
    for x, y in spots:
        assert any(
            tile.left_mm <= x <= tile.left_mm + tile.width_mm and tile.bottom_mm <= y <= tile.bottom_mm + tile.height_mm
            for tile in cut.tiles
        )


def test_no_sheet_of_the_demo_lies_alone(drawing: Drawing) -> None:
    assert alone(tiling(drawing, paper="A4", correction=Correction())) == set()
