"""What is crimped, and the pull test of each kind before the batch is begun."""

from __future__ import annotations

from halfshaft.book.blocks import BOX, Block, Cell, bold, column, para, small, table
from halfshaft.book.frame import Pages
from halfshaft.study import Study


def crimps(study: Study, pages: Pages) -> None:
    """One line for each terminal on each section."""
    if not study.crimps:
        return
    rows: list[list[Cell]] = [
        [
            bold(item.terminal), study.conversion.terminal[item.terminal].name, f"{item.section_mm2:g}", str(item.count), f"{item.strip_mm:g}",
            "beyond the table" if item.pull_min_n is None else f"{item.pull_min_n:g}", BOX, BOX, BOX, BOX,
        ]
        for item in study.crimps
    ]  # fmt: skip
    columns = [
        column("Terminal"), column("What", "1fr"), column("mm²", "auto", "right"), column("A kit", "auto", "right"), column("Strip, mm", "auto", "right"), column("Least pull, N", "auto", "right"),
        column("Found, N", 16.0), column("", 16.0), column("", 16.0), column("Height, mm", 18.0),
    ]  # fmt: skip
    blocks: list[Block] = [
        para("Before the batch: crimp three of each kind on scraps of the same wire, pull them off and write down what they took; measure the crimp's height with each change of reel, wire, die or setting. Then leave the tool alone."),
        table(columns, rows, size=8.5, group=0),
        small("Least pull: published for American gauges (commercial column after UL 486A, as printed by two terminal makers), in proportion between two of them; the maker's own figure, where there is one, comes first. A good crimp takes well more than the least: one that only just passes is no good one. A seated contact is never pulled harder than 80 % of it (published: NASA-STD-8739.4). Continuity proves neither crimp nor lock."),
    ]  # fmt: skip
    pages.add("Crimps and their pull test", blocks)
