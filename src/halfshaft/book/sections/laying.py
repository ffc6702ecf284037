"""In which order the wires of each loom are laid on its board."""

from __future__ import annotations

from halfshaft.book.blocks import BOX, Block, Cell, bold, colour, column, heading, number, para, small, table
from halfshaft.book.frame import Pages
from halfshaft.study import Study

STAGES = {"splice": "joined groups", "pair": "pairs", "plug": "plug by plug", "ground": "ground wires"}


def run_out_list(study: Study, pages: Pages) -> None:
    """One line a wire with its pegs, and what is complete after it."""
    blocks: list[Block] = [
        para("Lay the wires from the top down, straight and side by side, past the pegs in the order in which they stand here. First the joined groups, since a splice is soon covered; then pairs; then plug by plug, long wires first; ground wires last. What goes on whole (tube, grommet, boot) goes on before the end that is too big for it."),
        small("The order is common practice. Pegs as numbered on the board; where a board was not laid there are none."),
    ]  # fmt: skip
    columns = [
        column("", 6.0), column("Wire"), column("Colour"), column("mm²", "auto", "right"), column("Cut, mm", "auto", "right"), column("From"), column("To"),
        column("Past pegs", "1fr"), column("Then complete", 32.0),
    ]  # fmt: skip
    for laid in study.routing.looms:
        lines = study.run_out[laid.loom.ref]
        if not lines:
            continue
        blocks.append(heading(f"{laid.loom.name} ({laid.loom.ref})"))
        for stage, words in STAGES.items():
            rows: list[list[Cell]] = []
            for line in (item for item in lines if item.stage == stage):
                found = study.routing.wires[line.wire]
                assert found.length is not None
                rows.append(
                    [
                        BOX, bold(line.wire), colour(found.wire.colour), f"{found.wire.section_mm2:g}", number(found.length.cut_mm), found.wire.from_pin, found.wire.to_pin,
                        " ".join(map(str, line.pegs)), ", ".join(line.closes),
                    ]
                )  # fmt: skip
            if rows:
                blocks += [small(words.capitalize()), table(columns, rows, size=8.5)]
    if len(blocks) > 2:
        pages.add("Laying the wires", blocks)
