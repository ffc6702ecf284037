"""Which wiring diagrams there are, and what is on each."""

from __future__ import annotations

from halfshaft.book.blocks import Cell, bold, column, para, small, table
from halfshaft.book.frame import Pages
from halfshaft.drawings.diagrams.document import Diagrams
from halfshaft.study import Study


def diagrams(study: Study, pages: Pages, sheets: Diagrams) -> None:
    """A table of the sheets; the sheets themselves are a document of their own."""
    if not sheets.sheets:
        return
    rows: list[list[Cell]] = [
        [
            bold(f"{study.conversion.job.ref}-WD-{sheet.ref}"), str(sheet.number), sheet.paper.name, sheet.name, str(len(sheet.layout.wires)), str(sheet.layout.crossings),
        ]
        for sheet in sheets.sheets
    ]  # fmt: skip
    columns = [
        column("Number"), column("Sheet", "auto", "right"), column("Paper"), column("Shows", "1fr"), column("Wires", "auto", "right"), column("Crossings", "auto", "right"),
    ]  # fmt: skip
    blocks = [
        para("The diagrams are a document of their own in the folder diagrams, one sheet a system and two for each fuse box, with an index of sheets, devices and wires at its end; each sheet is there as SVG and DXF too. An A2 sheet printed on A3 comes out at 71 %, its smallest letters 1.8 mm high."),
        table(columns, rows),
        small("Supply at the top, ground at the bottom, everything at rest and without power. A place is written sheet/field. Terminal numbers of relays follow each relay's own pattern (DIN 72552, or that of a socket of today). The order along a sheet is found by a search that proves no fewest crossings."),
    ]  # fmt: skip
    pages.add("Wiring diagrams", blocks)
