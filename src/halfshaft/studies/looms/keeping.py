"""A board written down: as it lies, because it is being drilled, or as somebody turns it by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.errors import HalfshaftError
from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import BoardWay
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


@dataclass(frozen=True, kw_only=True, slots=True)
class Turn:
    """A stretch turned by hand: where it begins, where it ends, and the heading in which it leaves. None: no longer by hand."""

    from_node: str
    to_node: str
    heading_deg: float | None


def with_turns(conversion: Conversion, loom: str, turns: Sequence[Turn], size_mm: tuple[float, float] | None = None) -> Conversion:
    """The conversion with stretches of a loom's board turned by hand, and the board on another sheet where one is given.

    Raises HalfshaftError where there is no such loom, or it has no board.
    """
    found = next((item for item in conversion.looms if item.ref == loom), None)
    if found is None or found.board_width_mm is None:
        raise HalfshaftError(f"no loom {loom} has a board")
    ends = {frozenset((turn.from_node, turn.to_node)) for turn in turns}
    ways = [row for row in conversion.board_ways if row.loom != loom or frozenset((row.from_node, row.to_node)) not in ends]
    ways += [
        BoardWay(loom=loom, from_node=turn.from_node, to_node=turn.to_node, set_by="hand", heading_deg=turn.heading_deg)
        for turn in turns
        if turn.heading_deg is not None
    ]
    looms = conversion.looms
    if size_mm is not None:
        sized = found.model_copy(update={"board_width_mm": size_mm[0], "board_height_mm": size_mm[1]})
        looms = tuple(sized if item is found else item for item in looms)
    return conversion.model_copy(update={"board_ways": tuple(ways), "looms": looms})
