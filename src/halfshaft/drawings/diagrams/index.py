"""The last pages of the wiring diagrams: where each sheet, connector and wire is to be found."""

from __future__ import annotations

from halfshaft.drawings.diagrams.sheets import CrossReferences, Sheet
from halfshaft.drawings.frame import PAPERS, draw_frame
from halfshaft.drawings.shapes import Drawing, Sketch, Style, shortened
from halfshaft.drawings.sheet import Title, title_block
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.continuity import natural

RULE = Style("FRAME", 0.5)
ROW_MM, COLUMN_MM, GAP_MM, BLOCK_MM = 4.25, 116.0, 10.0, 40.0
PLACES_A_LINE = 7


def index_pages(
    conversion: Conversion, sheets: tuple[Sheet, ...], others: CrossReferences, *, number: str, first: int, of: int
) -> list[Drawing]:
    """A3 pages of three columns."""
    lines = _lines(conversion, sheets, others)
    paper = PAPERS[0]
    left, bottom, right, top = paper.inside
    per_column = int((top - bottom - BLOCK_MM - 16.0) // ROW_MM)
    pages: list[Drawing] = []
    for start in range(0, len(lines), 3 * per_column):
        sketch = Sketch()
        draw_frame(sketch, paper)
        for index, (words, where, is_head) in enumerate(lines[start : start + 3 * per_column]):
            column, row = divmod(index, per_column)
            x, y = left + 10.0 + column * (COLUMN_MM + GAP_MM), top - 12.0 - row * ROW_MM
            sketch.text((x, y), shortened(words, 2.5, COLUMN_MM - 24.0, bold=is_head), 2.5, bold=is_head)
            sketch.text((x + COLUMN_MM, y), where, 2.5, anchor="end", bold=is_head)
            if is_head:
                sketch.line((x, y - 1.2), (x + COLUMN_MM, y - 1.2), RULE)
        job = conversion.job
        title = Title(
            owner=job.owner, kind="Wiring diagram", status=job.status, scale="none", title="Index", subtitle=job.name, number=number, revision=job.revision,
            date=job.date, sheet=f"{first + len(pages)} / {of}", drawn=job.drawn_by, approved=job.approved_by, by_type=("Drawn state", ""), view="sheet and field",
        )  # fmt: skip
        title_block(sketch, right, bottom, title)
        pages.append(Drawing(paper.width_mm, paper.height_mm, tuple(sketch.shapes), title=f"Index, {number}"))
    return pages


def index_length(conversion: Conversion, sheets: tuple[Sheet, ...], others: CrossReferences) -> int:
    """How many pages the index takes."""
    _, bottom, _, top = PAPERS[0].inside
    per_page = 3 * int((top - bottom - BLOCK_MM - 16.0) // ROW_MM)
    return -(-len(_lines(conversion, sheets, others)) // per_page)


def _lines(conversion: Conversion, sheets: tuple[Sheet, ...], others: CrossReferences) -> list[tuple[str, str, bool]]:
    lines: list[tuple[str, str, bool]] = [("Sheets", "sheet", True)]
    lines += [(f"{sheet.ref}  {sheet.name} ({sheet.paper.name})", str(sheet.number), False) for sheet in sheets]
    lines += [("", "", False), ("Devices and their connectors", "sheet/field", True)]
    shown = [ref for ref in sorted(others.units, key=natural) if ref in conversion.device]
    for ref in shown:
        names = ", ".join(connector.ref for connector in conversion.part[conversion.device[ref].part].connectors)
        places = [f"{sheet}/{zone}" for sheet, zone in others.units[ref]]
        title = f"{ref}  {conversion.device[ref].name} ({names})"
        lines.append((title, places[0], False))
        lines += [("", "  ".join(places[at : at + PLACES_A_LINE]), False) for at in range(1, len(places), PLACES_A_LINE)]
    lines += [("", "", False), ("Wires and cables", "sheet/field", True)]
    meanings = {wire.ref: f"{wire.from_pin} to {wire.to_pin}  {wire.meaning}" for wire in conversion.wires}
    meanings |= {cable.ref: f"{cable.from_connector} to {cable.to_connector}  {cable.meaning}" for cable in conversion.cables}
    lines += [(f"{ref}  {meanings[ref]}", "/".join(others.wires[ref]), False) for ref in sorted(others.wires, key=natural)]
    return lines
