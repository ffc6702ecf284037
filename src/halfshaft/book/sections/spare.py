"""What a run may be longer than it was measured, before a wire is too short."""

from __future__ import annotations

from halfshaft.book.blocks import Block, Cell, bold, column, number, para, small, table
from halfshaft.book.frame import Pages
from halfshaft.studies.looms.spare import LONGER_MM
from halfshaft.study import Study


def spare(study: Study, pages: Pages) -> None:
    """Run by run: how it was measured, by how much it may be out, and which wires suffer first."""
    rows: list[list[Cell]] = []
    for item in study.spare:
        length, first = study.routing.run_lengths[item.run], item.wires[0]
        too_short = [wire.wire for wire in item.wires if wire.is_too_short]
        rows.append(
            [
                bold(item.run),
                item.loom,
                number(length.straight_mm),
                "" if length.taped_mm is None else number(length.taped_mm),
                str(len(item.wires)),
                str(sum(wire.is_short_of_slack for wire in item.wires)),
                number(int(first.may_grow_mm)),
                first.wire,
                ", ".join(too_short),
            ]
        )
    if not rows:
        return
    columns = [
        column("Run"), column("Loom"), column("Straight, mm", "auto", "right"), column("Taped, mm", "auto", "right"), column("Wires", "auto", "right"),
        column("Less slack", "auto", "right"), column("May grow, mm", "auto", "right"), column("First"), column("Too short", "1fr"),
    ]  # fmt: skip
    blocks: list[Block] = [
        para(f"A taped length wins over the straight one. If a run is {LONGER_MM:g} mm longer in the car than here, the wires counted under less slack keep less than the shop wants at their ends, and those named under too short cannot be ended."),
        table(columns, rows, size=8.5),
        small("May grow: by how much this run alone may be longer until its first wire cannot be ended; slack and what rounding up gave are then used up. High-voltage cables and hoses have no slack in their sum: measure their way with a string before you cut."),
    ]  # fmt: skip
    pages.add("If a run is longer than measured", blocks)
