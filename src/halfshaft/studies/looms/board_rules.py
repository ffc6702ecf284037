"""What can be wrong with a board: a sheet too small, a branch that cannot lie as it was turned, a drilled board that has to change."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.finding import Basis, Finding
from halfshaft.studies.looms.board import COMMON_SHEET_MM, Board, is_too_big, room_of
from halfshaft.studies.looms.fan import FAN
from halfshaft.studies.looms.laying_order import HolderSize


def board_findings(boards: dict[str, Board]) -> Iterator[Finding]:
    """All rules about boards."""
    for board in boards.values():
        yield from not_laid(board)
        yield from too_small(board)
        yield from run_too_short(board)
        yield from hand_cannot_be_kept(board)
        yield from board_anew(board)
        yield from pegs_moved(board)


def not_laid(board: Board) -> Iterator[Finding]:
    """No way was found to lay a loom on a sheet of any size."""
    if FAN in board.method:
        yield Finding(
            rule="looms.board-not-laid",
            level="stop",
            about=(board.loom,),
            text=f"No way was found to lay loom {board.loom} on a sheet of any size{_crowded_words(board)}. It is drawn as a fan, in which holders and bundles may lie on each other: do not drill it.",
            basis=Basis("common practice", "nothing lies on anything else on a board"),
        )


def _crowded_words(board: Board) -> str:
    return f"; the search came to nothing at {board.crowded}, where longer tails or a second point would help" if board.crowded else ""


def run_too_short(board: Board) -> Iterator[Finding]:
    """A stretch is shorter than it is thick, so that what branches off at its two ends lies on each other."""
    for item in board.stretches:
        if item.path.length_mm < item.bundle_mm:
            yield Finding(
                rule="looms.run-too-short",
                level="fix",
                about=(board.loom, item.start, item.end),
                text=f"Board {board.loom}: {item.start} to {item.end} is {item.path.length_mm:.0f} mm long and {item.bundle_mm:.0f} mm thick, so its two ends are one place: measure again, or make one point of both.",
                value=item.path.length_mm,
                limit=item.bundle_mm,
                unit="mm",
                basis=Basis("common practice", "geometry: bundles that part at one place lie on each other there"),
            )


def too_small(board: Board) -> Iterator[Finding]:
    """A loom is laid on a larger sheet than the one named for it."""
    if board.fits or FAN in board.method:
        return
    asked, size = board.asked_mm, board.size_mm
    yield Finding(
        rule="looms.board-too-small",
        level="fix",
        about=(board.loom,),
        text=f"No way was found to lay loom {board.loom} on a sheet of {asked[0]:.0f} x {asked[1]:.0f} mm; it is laid on {size[0]:.0f} x {size[1]:.0f} mm{_joined_words(size, asked)}.{_too_big_words(board)} The search proves nothing: a longer tail at a crowded point, or a branch turned by hand, may find one. Look where holders stand close.",
        value=max(size[0] / asked[0], size[1] / asked[1]),
        limit=1.0,
        unit="sheets",
        basis=Basis("common practice", "sheet named for this loom in looms.csv"),
    )


def _too_big_words(board: Board) -> str:
    """Which holders find no room on the sheet that was asked for."""
    room = room_of(board.asked_mm)
    names = [holder.connector for holder in board.holders if is_too_big(HolderSize(holder.length_mm, holder.width_mm), room)]
    return f" Larger than that sheet's room by itself: {', '.join(names[:3])}." if names else ""


def _joined_words(size: tuple[float, float], asked: tuple[float, float]) -> str:
    """How many sheets those are, where they are whole ones."""
    for width, height in (asked, COMMON_SHEET_MM):
        across, up = size[0] / width, size[1] / height
        if across == int(across) and up == int(up):
            count = int(across * up)
            return f", {count} sheets of {width:.0f} x {height:.0f} joined" if count > 1 else ", the common sheet"
    return ""


def hand_cannot_be_kept(board: Board) -> Iterator[Finding]:
    """A stretch cannot lie as it was turned by hand."""
    for way in board.let_go:
        yield Finding(
            rule="looms.hand-cannot-be-kept",
            level="fix",
            about=(board.loom, way),
            text=f"Board {board.loom}: no way was found with {way} as it was turned by hand, so it lies as the program laid it. Give it another heading in board_ways.csv, or delete that row.",
            basis=Basis("common practice", "what is turned by hand is obeyed where the rest can be laid round it"),
        )


def board_anew(board: Board) -> Iterator[Finding]:
    """Nothing of a drilled board could be kept."""
    if board.moves is not None and board.moves.anew:
        yield Finding(
            rule="looms.board-anew",
            level="fix",
            about=(board.loom,),
            text=f"Board {board.loom} cannot be kept: no way was found to lay the loom as it is now round what is drilled. It is laid from nothing and must be drilled anew, on a new sheet or with the old holes closed; `halfshaft keep` then keeps the new one.",
            basis=Basis("common practice", "a hole of the old board would be taken for one of the new"),
        )


def pegs_moved(board: Board) -> Iterator[Finding]:
    """A drilled board needs other holes than it has, or a row of it names nothing any more."""
    moves = board.moves
    if moves is None or moves.anew or not (moves.new or moves.empty or moves.holders or moves.gone):
        return
    words = []
    if moves.new:
        words.append(f"drill peg{'s' if len(moves.new) > 1 else ''} {peg_numbers(moves.new)}")
    if moves.empty:
        words.append(f"leave {peg_numbers(moves.empty)} empty")
    if moves.holders:
        words.append(f"move holder{'s' if len(moves.holders) > 1 else ''} {', '.join(moves.holders)}")
    words.append(f"{len(moves.kept)} pegs stay")
    gone = f" No stretch of the loom any more: {', '.join(moves.gone)}; `halfshaft keep` clears such rows away." if moves.gone else ""
    yield Finding(
        rule="looms.pegs-moved",
        level="note",
        about=(board.loom, *(str(number) for number in (*moves.new, *moves.empty)), *moves.holders, *moves.gone),
        text=f"Board {board.loom}: {'; '.join(words)}.{gone}",
        value=float(len(moves.new)),
        limit=0.0,
        unit="pegs to drill",
        basis=Basis("common practice", "board as drilled, in board_ways.csv and board_pegs.csv"),
    )


def peg_numbers(numbers: tuple[int, ...]) -> str:
    """`17, 18, 30 to 34`."""
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][-1] + 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    words = [f"{span[0]} to {span[-1]}" if len(span) > 2 else ", ".join(map(str, span)) for span in spans]
    return ", ".join(words)
