"""The loom on its board as the bench's tablet shows it: small, without notes, each wire's way in a group of its own to be lit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfshaft.drawings.shapes import PAPER, SOFT, Anchor, Drawing, Sketch, Style, Track, box_of, moved
from halfshaft.studies.looms.board import Board, Holder
from halfshaft.studies.looms.geometry import Path, ahead, bounds

# Of the picture's breadth: what can be seen where it is some ten centimetres broad.
LINE_SHARE, LIT_SHARE, WORD_SHARE, ROUND_SHARE = 0.005, 0.011, 0.022, 0.05
EDGE_SHARE = 0.002
# Breadth to height of the picture, at least: it stands beside two faces.
BROAD = 2.0


def bench_board(board: Board, ways: Mapping[str, Sequence[Path]], ends: Mapping[str, Sequence[str]]) -> Drawing:
    """As much of the board as the loom takes, with all bundles and holders; then by wire its way, with the holders at its ends and their names."""
    left, bottom, breadth, height = _part(board)
    edge, line = Style("FRAME", EDGE_SHARE * breadth, SOFT, PAPER), Style("BUNDLE", LINE_SHARE * breadth, SOFT, round_ends=True)
    lit = Style("WAY", LIT_SHARE * breadth, round_ends=True)
    sketch = Sketch()
    sketch.box(0.0, 0.0, *board.size_mm, edge)
    for stretch in board.stretches:
        sketch.shapes.append(Track(stretch.path, line))
    for holder in board.holders:
        sketch.polygon(holder.corners, edge)
    holders = {holder.connector: holder for holder in board.holders}
    for wire, lines in ways.items():
        with sketch.about(f"wire:{wire}"):
            sketch.shapes.extend(Track(path, lit) for path in lines)
            for connector in ends[wire]:
                if connector in holders:
                    _end(sketch, holders[connector], (left, bottom, left + breadth, bottom + height))
    return Drawing(breadth, height, tuple(moved(shape, -left, -bottom) for shape in sketch.shapes))


def _part(board: Board) -> tuple[float, float, float, float]:
    """Left, bottom, breadth and height of what is shown."""
    boxes = [box_of(Track(stretch.path, Style("BUNDLE"))) for stretch in board.stretches]
    corners = [corner for holder in board.holders for corner in holder.corners]
    left, bottom, right, top = bounds([*corners, *((box[0], box[1]) for box in boxes), *((box[2], box[3]) for box in boxes)])
    around = ROUND_SHARE * max(right - left, top - bottom)
    height = top - bottom + 2 * around
    breadth = max(right - left + 2 * around, BROAD * height)
    return (left + right - breadth) / 2, bottom - around, breadth, height


def _end(sketch: Sketch, holder: Holder, part: tuple[float, float, float, float]) -> None:
    """The holder's outline, and its name above or below it, on the side that is nearer to the middle."""
    left, bottom, right, top = part
    breadth = right - left
    word = WORD_SHARE * breadth
    sketch.polygon(holder.corners, Style("WAY", LINE_SHARE * breadth))
    x, y = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
    above = y + 0.9 * word if y < (bottom + top) / 2 else y - 1.9 * word
    anchor: Anchor = "start" if x < left + breadth / 4 else "end" if x > right - breadth / 4 else "middle"
    sketch.text((min(max(x, left + word), right - word), above), holder.connector, word, anchor=anchor, bold=True)
