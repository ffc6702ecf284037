"""All wiring diagrams of a conversion: sheets of systems, sheets of fuse boxes, and the index."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.drawings.diagrams.draw import diagram_drawing
from halfshaft.drawings.diagrams.fuse_box import box_card, box_sheet
from halfshaft.drawings.diagrams.index import index_length, index_pages
from halfshaft.drawings.diagrams.sheets import CrossReferences, Sheet, cross_references, sheets_of
from halfshaft.drawings.shapes import Drawing
from halfshaft.model.conversion import Conversion
from halfshaft.studies.diagrams.units import fuse_boxes
from halfshaft.studies.wires.study import WiresResult


@dataclass(frozen=True, kw_only=True, slots=True)
class Diagrams:
    """Drawings by number, in the order of the document; `cards` go inside the covers of fuse boxes."""

    sheets: tuple[Sheet, ...]
    references: CrossReferences
    drawings: dict[str, Drawing]
    cards: dict[str, Drawing]


def diagrams_of(conversion: Conversion, wires: WiresResult) -> Diagrams:
    """Lay out and draw them all; none where there is no wire."""
    sheets = sheets_of(conversion)
    references = cross_references(sheets)
    stem = f"{conversion.job.ref}-WD"
    boxes = fuse_boxes(conversion)
    total = len(sheets) + len(boxes) + (index_length(conversion, sheets, references) if sheets else 0)
    drawings: dict[str, Drawing] = {}
    for sheet in sheets:
        number = f"{stem}-{sheet.ref}"
        drawings[number] = diagram_drawing(conversion, sheet, references, number=number, of=total)
    for device in boxes:
        number = f"{stem}-{device}-P"
        drawings[number] = box_sheet(conversion, device, wires, number=number, sheet=f"{len(drawings) + 1} / {total}")
    if sheets:
        first = len(drawings) + 1
        for index, page in enumerate(index_pages(conversion, sheets, references, number=f"{stem}-IDX", first=first, of=total)):
            drawings[f"{stem}-IDX{index + 1}"] = page
    cards = {f"{stem}-{device}-CARD": box_card(conversion, device, wires) for device in boxes}
    return Diagrams(sheets=sheets, references=references, drawings=drawings, cards=cards)
