"""A board written down as it lies, because it is being drilled."""

from __future__ import annotations

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.board import Board, drilled_pegs, drilled_rows
from halfshaft.studies.looms.routing import LaidLoom


def with_board(conversion: Conversion, laid: LaidLoom, board: Board) -> Conversion:
    """The conversion with a board of one of its looms written down as drilled."""
    ref = board.loom
    ways = drilled_rows(laid, board, conversion.board_ways)
    pegs = drilled_pegs(board, conversion.board_pegs)
    return conversion.model_copy(
        update={
            "board_ways": (*(row for row in conversion.board_ways if row.loom != ref), *ways),
            "board_pegs": (*(peg for peg in conversion.board_pegs if peg.loom != ref), *pegs),
        }
    )
