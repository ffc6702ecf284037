"""The board as the bench's tablet shows it: small, without notes, each wire's way in a group of its own to be lit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfshaft.drawings.shapes import PAPER, SOFT, Drawing, Sketch, Style, Track
from halfshaft.studies.looms.board import Board, Holder
from halfshaft.studies.looms.geometry import Path, ahead

# Of the board's breadth: what can be seen where a board of 2.4 m is some ten centimetres broad.
LINE_SHARE, LIT_SHARE, WORD_SHARE = 0.005, 0.011, 0.022
EDGE_MM = 4.0


def bench_board(board: Board, ways: Mapping[str, Sequence[Path]], ends: Mapping[str, Sequence[str]]) -> Drawing:
    """All bundles and holders; then by wire its way, with the holders of the connectors at its ends and their names."""
    breadth, height = board.size_mm
    line, lit = Style("BUNDLE", LINE_SHARE * breadth, SOFT, round_ends=True), Style("WAY", LIT_SHARE * breadth, round_ends=True)
    sketch = Sketch()
    sketch.box(0.0, 0.0, breadth, height, Style("FRAME", EDGE_MM, SOFT, PAPER))
    for stretch in board.stretches:
        sketch.shapes.append(Track(stretch.path, line))
    for holder in board.holders:
        sketch.polygon(holder.corners, Style("HOLDER", EDGE_MM, SOFT, PAPER))
    holders = {holder.connector: holder for holder in board.holders}
    for wire, lines in ways.items():
        with sketch.about(f"wire:{wire}"):
            sketch.shapes.extend(Track(path, lit) for path in lines)
            for connector in ends[wire]:
                if connector in holders:
                    _end(sketch, holders[connector], board)
    return Drawing(breadth, height, tuple(sketch.shapes))


def _end(sketch: Sketch, holder: Holder, board: Board) -> None:
    """The holder filled, and its name beside it where there is room: on the side of the nearer edge no more than at it."""
    breadth, height = board.size_mm
    word = WORD_SHARE * breadth
    sketch.polygon(holder.corners, Style("WAY", LINE_SHARE * breadth))
    x, y = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
    above = y + 0.9 * word if y < height / 2 else y - 1.9 * word
    place = (min(max(x, 2 * word), breadth - 2 * word), min(max(above, word / 2), height - 1.5 * word))
    sketch.text(place, holder.connector, word, anchor="start" if x < breadth / 4 else "end" if x > 0.75 * breadth else "middle", bold=True)
