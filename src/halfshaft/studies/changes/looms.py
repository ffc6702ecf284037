"""Looms on the bench: splices that move, boards whose pegs move."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import BoardChange, Change, State
from halfshaft.studies.changes.told import Edits, count_words
from halfshaft.studies.looms.board_rules import peg_numbers
from halfshaft.studies.looms.splices import SplicePlace

SAME_MM = 0.05


def splice_changes(before: State, after: State, edits: Edits) -> Iterator[Change]:
    """Splices that lie elsewhere, come or go."""
    was, now = before.routing.splices, after.routing.splices
    for ref in dict.fromkeys([*was, *now]):
        old, new = was.get(ref), now.get(ref)
        same = old is not None and new is not None and (old.run, old.from_point) == (new.run, new.from_point) and abs(old.at_mm - new.at_mm) < SAME_MM  # fmt: skip
        if same:
            continue
        loom = (after if new is not None else before).conversion.splice[ref].loom
        yield Change(
            act="unmake" if new is None else "loom", kind="splice", ref=ref, quantity="place", was=_splice_words(old), now=_splice_words(new), about=(loom,),
            do="no longer made" if new is None else "make" if old is None else "make at its new place", minutes=0.0 if new is None else allowances.SPLICE,
            edits=edits.of("splices", ref, "run", "from_point", "at_mm"),
        )  # fmt: skip


def _splice_words(place: SplicePlace | None) -> str | None:
    return None if place is None else f"run {place.run}, {place.at_mm:.1f} mm from {place.from_point}{', chosen' if place.chosen else ''}"


def board_changes(boards: Sequence[BoardChange], edits: Edits) -> Iterator[Change]:
    """What is drilled, left empty and moved on each board."""
    rows = {loom: tuple(_rows(edits, loom)) for loom in dict.fromkeys(key.split("/")[0] for table in ("board_ways", "board_pegs") for key in edits.keys(table))}  # fmt: skip
    lines = {board.loom: line for board in boards if (line := _board(board)) is not None}
    yield from lines.values()
    for board in boards:
        if board.pegs_are is not None:
            yield Change(
                act="print", kind="board drawing", ref=board.loom, quantity="board at full size", was=None, now=None, do="print again: its pegs, words or wires are others",
                about=(board.loom,),
            )  # fmt: skip
    for loom, told in rows.items():
        was, now = ("" if all(edit.was is None for edit in told) else "rows"), ("" if all(edit.now is None for edit in told) else "rows")
        do = "written down as drilled or turned by hand" if not was else "no longer written down" if not now else "written down otherwise"
        yield Change(act="know", kind="kept board", ref=loom, quantity=f"{len(told)} edits of its rows", was=was or None, now=now or None, do=do, edits=told)  # fmt: skip


def _rows(edits: Edits, loom: str) -> Iterator:  # type: ignore[type-arg]
    for table in ("board_ways", "board_pegs"):
        yield from (edit for key in edits.keys(table) if key.split("/")[0] == loom for edit in edits.of(table, key))


def _board(board: BoardChange) -> Change | None:
    if board.pegs_are is None:
        return Change(
            act="unmake",
            kind="board",
            ref=board.loom,
            quantity="board",
            was="drilled",
            now=None,
            do="board no longer used: take it off the bench",
        )
    moves = board.moves
    if board.pegs_were is None:
        return Change(
            act="loom", kind="board", ref=board.loom, quantity="board", was=None, now=board.pegs_are, unit="pegs", do="print and drill",
            minutes=allowances.NEW_BOARD + allowances.PEG * board.pegs_are,
        )  # fmt: skip
    if moves is None:
        return None
    if moves.anew:
        return Change(
            act="loom", kind="board", ref=board.loom, quantity="board", was=board.pegs_were, now=board.pegs_are, unit="pegs",
            do="drill anew: no way was found to lay the loom round what is drilled", minutes=allowances.NEW_BOARD + allowances.PEG * board.pegs_are,
        )  # fmt: skip
    if not (moves.new or moves.empty or board.holders):
        return None
    words = [
        *([f"drill {count_words(len(moves.new), 'peg')} ({peg_numbers(moves.new)})"] if moves.new else []),
        *([f"leave {peg_numbers(moves.empty)} empty"] if moves.empty else []),
        *([f"move the holder of {', '.join(board.holders)}"] if board.holders else []),
        f"{count_words(len(moves.kept), 'peg')} stay",
    ]
    keep = "" if board.in_folder else (
        f"if it is drilled, run “halfshaft keep” for {board.loom} in the old folder and carry board_ways.csv and board_pegs.csv over, so that the new book draws these pegs"
    )  # fmt: skip
    return Change(
        act="loom", kind="board", ref=board.loom, quantity="board", was=board.pegs_were, now=board.pegs_are, unit="pegs", do="; ".join(words), why=keep,
        about=board.holders, minutes=allowances.PEG * len(moves.new) + allowances.HOLDER * len(board.holders),
    )  # fmt: skip
