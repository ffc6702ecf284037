"""Cases of loom boards and of cutting plans."""

from __future__ import annotations

from rule_cases.changes import (
    Case,
    kept,
    row,
    turned,
)

# Raised by boards, which are laid by a search; every other rule is asked without them.
MOVED_ON_SR = ("SR", *map(str, range(15, 25)), "1", "2", "3", "4", "7", "BMM.C")
BOARD_CASES = [
    Case(
        rule="looms.board-too-small", do=(row("looms", "SF", board_width_mm=500.0, board_height_mm=250.0),), level="fix", about=("SF",),
        limit=1, unit="sheets", basis="common practice",
    ),
    # Two stretches leave one breakout the same way.
    Case(
        rule="looms.hand-cannot-be-kept", do=(turned("SR", "R36", "R37", 180.0), turned("SR", "R36", "R35", 180.0)),
        level="fix", about=("SR", "R36 to R37"), basis="common practice",
    ),
    # Kept as it is laid, then U36 in the middle of the trunk 493 mm longer: the thinner side moves.
    Case(
        rule="looms.pegs-moved", do=(kept("SR"), row("runs", "U36", length_taped_mm=700.0, clips_between=5)), level="note", about=MOVED_ON_SR,
        value=10, limit=0, unit="pegs to drill", basis="common practice",
    ),
    # With 4 m there the trunk has to be folded, and nothing of the drilled board can stay.
    Case(
        rule="looms.board-anew", do=(kept("SR"), row("runs", "U36", length_taped_mm=4000.0, clips_between=20)), level="fix", about=("SR",), basis="common practice",
        beside=("wires.voltage-drop",),
    ),
    # Both ends of a run of 5 mm in a bundle of 9.3 mm are one place, and what leaves it there lies on each other on any sheet.
    Case(
        rule="looms.run-too-short", do=(row("runs", "U57", length_taped_mm=5.0),), level="fix", about=("BX", "R57", "R55"), value=5, limit=9.338,
        near=1e-3, unit="mm", basis="common practice", also=("looms.board-not-laid",), beside=("looms.taped-too-short", "looms.tight-bend"),
    ),
    Case(
        rule="looms.board-not-laid", do=(row("runs", "U57", length_taped_mm=5.0),), level="stop", about=("BX",), basis="common practice",
        also=("looms.run-too-short",), beside=("looms.taped-too-short", "looms.tight-bend"),
    ),
]  # fmt: skip


# Raised by cutting plans, which are searched for too. Two of the four pieces of 530 mm come out of 1.1 m.
STOCK_CASE = Case(
    rule="looms.stock-short", do=(row("stock", "NEW98", length_mm=1100.0, pieces=1),), level="fix", about=("AC3x6",), value=1, limit=0,
    unit="lengths", basis="common practice", caution="High voltage",
)  # fmt: skip
