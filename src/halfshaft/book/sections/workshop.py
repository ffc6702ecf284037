"""What is bought, drilled and decided, and the boards to build on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from halfshaft.book.blocks import (
    BOX,
    Block,
    Cell,
    bold,
    caution,
    column,
    heading,
    number,
    para,
    picture,
    small,
    table,
)
from halfshaft.book.frame import APPROVAL_NOTICE, Pages, board_number
from halfshaft.drawings.shapes import Drawing
from halfshaft.model.wires import Grommet
from halfshaft.studies.parts_list import PartLine
from halfshaft.study import Study


def parts(study: Study, pages: Pages) -> None:
    """What has to be bought."""
    total = sum(line.price_eur or 0.0 for line in study.parts_list)
    blocks: list[Block] = [
        para(f"All together {number(total, 2)} EUR where a price is given."),
        small(
            f"Wire goes by mm² and colour. Wire, cable, tube and hose without waste, rounded up to a tenth of a metre; spare {study.conversion.shop.spare_terminals_percent:g} % of terminals, seals, plugs, tape and heat-shrink, rounded up and in the quantity (common practice)."
        ),
    ]
    groups = list(dict.fromkeys(line.group for line in study.parts_list))
    for group in groups:
        lines = [line for line in study.parts_list if line.group == group]
        rows: list[list[Cell]] = [
            [
                bold(line.code),
                line.name,
                f"{number(line.quantity, 1)} {line.unit}" if line.unit else number(line.quantity),
                number(line.spare, 1 if line.unit else 0) if line.spare else "",
                "" if line.price_eur is None else number(line.price_eur, 2),
                line.used_for,
            ]
            for line in lines
        ]
        columns = [
            column("Code", 24.0),
            column("What", "1fr"),
            column("Quantity", 15.0, "right"),
            column("Spare", 9.0, "right"),
            column("EUR", 14.0, "right"),
            column("For", 42.0),
        ]
        blocks += [heading(f"{group.capitalize()}: {_money(lines)}"), table(columns, rows, size=8.5)]
    pages.add("Parts list", blocks)


def _money(lines: list[PartLine]) -> str:
    """What a group costs, and how many of its lines have no price."""
    unknown = sum(line.price_eur is None for line in lines)
    if unknown == len(lines):
        return "no prices given"
    missing = f", {unknown} without a price" if unknown else ""
    return f"{number(sum(line.price_eur or 0.0 for line in lines), 2)} EUR{missing}"


def holes(study: Study, pages: Pages) -> None:
    """Every hole to drill, and what became of every old wire."""
    conversion = study.conversion
    blocks: list[Block] = []
    if conversion.grommets:
        rows: list[list[Cell]] = [
            [
                bold(item.ref),
                item.panel,
                _hole_place(study, item),
                f"{item.hole_mm:g}",
                f"{item.holes} × {item.bore_mm:g}" if item.holes > 1 else f"{item.bore_mm:g}",
                item.passes,
                BOX,
            ]
            for item in conversion.grommets
        ]
        columns = [
            column("Ref"),
            column("Panel", 40.0),
            column("Place, mm", 34.0),
            column("Hole, mm", "auto", "right"),
            column("Bore, mm", "auto", "right"),
            column("Passes", "1fr"),
            column("By", 14.0),
        ]
        blocks += [
            heading("Holes and grommets"),
            table(columns, rows, size=8.5, group=0),
            small("Place of the route point: x rearwards, y to the right, z up. A hole can decide registration: ask before drilling."),
        ]
    if conversion.old_wires:
        rows = [
            [
                bold(wire.ref),
                wire.old_wire,
                wire.ended_at,
                bold(wire.answer) if wire.answer else bold("OPEN"),
                wire.how or wire.note,
                wire.pin,
            ]
            for wire in conversion.old_wires
        ]
        columns = [
            column("Ref"),
            column("Old wire", 44.0),
            column("Ended at", 26.0),
            column("Answer", 18.0),
            column("How", "1fr"),
            column("Pin"),
        ]
        blocks += [heading("Old wires that ended at what is gone"), table(columns, rows, size=8.5, group=1)]
    if blocks:
        pages.add("Holes and old wires", [*blocks, caution("NOTICE", APPROVAL_NOTICE)])


def _hole_place(study: Study, item: Grommet) -> str:
    conversion = study.conversion
    if item.point is not None:
        point = conversion.point[item.point]
        return f"{item.point}: {number(point.x_mm)} / {number(point.y_mm)} / {number(point.z_mm)}"
    assert item.run is not None
    ends = conversion.run[item.run]
    return f"on run {item.run}, {ends.from_point} to {ends.to_point}"


def boards(study: Study, pages: Pages, drawings: Mapping[str, Drawing]) -> None:
    """Each board small, how to print it, and where its pegs are drilled."""
    all_boards = [(owner, ref, board) for owner in (study, study.sensing) if owner for ref, board in owner.boards.items()]
    if not all_boards:
        return
    blocks: list[Block] = [
        para("The boards themselves are files of their own, at full size: one sheet for a plotter, and the same cut into A4 and A3. Print at 100 %, no fitting to the page."),
        para("Measure both bars of the first sheet. If 100 mm came out as something else, make the book again with the options ‑‑bar‑x and ‑‑bar‑y followed by what you found, and print again. Sheets on which nothing of the loom lies are left out; the small map on each sheet shows which there are. Join the sheets by the crosses with the same name, check the long bars of the board with a steel rule, and only then drill."),
        caution("NOTICE", "Paper grows with damp, by 0.1 to 0.2 % (from memory, to be confirmed): read the bars along both edges on the day on which you drill."),
    ]  # fmt: skip
    for index, (owner, ref, board) in enumerate(all_boards):
        loom = owner.conversion.loom[ref]
        pages.pictures[f"board-{ref}.svg"] = drawings[ref]
        blocks += [
            *([{"kind": "break"}] if index else []),
            heading(f"{loom.name} ({ref}), sheet {number(board.size_mm[0])} × {number(board.size_mm[1])} mm"),
            picture(
                f"board-{ref}.svg",
                170.0,
                f"Board {board_number(study, ref)}, not to scale here; laid by {board.method}, which finds a way that fits but proves no best one.",
            ),
            heading("Pegs to drill, mm from the lower left corner of the board"),
            _peg_table(board.pegs),
        ]
    pages.add("Loom boards", blocks)


def _peg_table(pegs: tuple[Any, ...]) -> Block:
    per_row = 4
    lines = -(-len(pegs) // per_row)
    rows: list[list[Cell]] = []
    for line in range(lines):
        row: list[Cell] = []
        for part in range(per_row):
            index = part * lines + line
            row += (
                [bold(str(pegs[index].number)), number(pegs[index].at[0], 1), number(pegs[index].at[1], 1)]
                if index < len(pegs)
                else ["", "", ""]
            )
        rows.append(row)
    columns = [
        item for _ in range(per_row) for item in (column("Peg", "1fr", "right"), column("x", "1fr", "right"), column("y", "1fr", "right"))
    ]
    return table(columns, rows, size=8.5)
