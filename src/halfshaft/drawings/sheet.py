"""What every sheet carries: scale bars, title block, square of dots."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.drawings.shapes import INK, PAPER, SOFT_TEXT, Sketch, Style, shortened

FRAME = Style("FRAME", 0.7)
RULE = Style("FRAME", 0.25)
BAR_TEXT = Style("SCALE", 0.25)
DOTS = Style("CODE", 0.0, None, INK)

BLOCK_WIDTH_MM, BLOCK_HEIGHT_MM, ROW_MM = 180.0, 36.0, 9.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Title:
    """What the title block says (the must fields of ISO 7200, and ours)."""

    owner: str
    kind: str
    status: str
    scale: str
    title: str
    subtitle: str
    number: str
    revision: str
    date: str
    sheet: str
    drawn: str
    approved: str
    by_type: tuple[str, str]
    view: str


def title_block(sketch: Sketch, right: float, bottom: float, title: Title) -> None:
    """Draw the block with its lower right corner at a place. Rows of 9 mm, 180 wide."""
    left, top = right - BLOCK_WIDTH_MM, bottom + BLOCK_HEIGHT_MM
    sketch.box(left, bottom, right, top, Style("FRAME", 0.7, INK, PAPER))
    rows = (
        (0, 1, (("Owner", title.owner, 0, 62), ("Document type", title.kind, 62, 48), ("Status", title.status, 110, 42), ("Scale", title.scale, 152, 28))),
        (1, 2, (("Title", "", 0, 110),)),
        (1, 1, (("Number", title.number, 110, 70),)),
        (2, 1, (("Revision", title.revision, 110, 16), ("Date of issue", title.date, 126, 28), ("Sheet", title.sheet, 154, 26))),
        (3, 1, (("Drawn", title.drawn, 0, 36), ("Approved", title.approved, 36, 36), (*title.by_type, 72, 54), ("View", title.view, 126, 54))),
    )  # fmt: skip
    for row, high, fields in rows:
        for name, words, x, width in fields:
            cell_top = top - row * ROW_MM
            sketch.box(left + x, cell_top - high * ROW_MM, left + x + width, cell_top, RULE)
            sketch.text((left + x + 1.2, cell_top - 2.8), name, 1.8, style=SOFT_TEXT)
            sketch.text((left + x + 1.2, cell_top - 7.3), shortened(words, 2.5, width - 2.4), 2.5, bold=name == "Number")
    sketch.text((left + 1.2, top - 19.2), shortened(title.title, 5.0, 107.0, bold=True), 5.0, bold=True)
    sketch.text((left + 1.2, top - 25.2), shortened(title.subtitle, 2.5, 107.0), 2.5)


def scale_bar(sketch: Sketch, left: float, bottom: float, length_mm: float, *, upright: bool, words: bool = True) -> None:
    """A bar of ten blocks, ink and white in turn, with end ticks and a line to write down what was measured.

    A bar without words belongs to the frame: no sheet is printed for its sake.
    """
    layer = "SCALE" if words else "FRAME"
    ink, paper, tick = Style(layer, 0.18, INK, INK), Style(layer, 0.18, INK, PAPER), Style(layer, 0.35)
    for index in range(10):
        start, end = length_mm * index / 10, length_mm * (index + 1) / 10
        style = ink if index % 2 == 0 else paper
        if upright:
            sketch.box(left, bottom + start, left + 3, bottom + end, style)
        else:
            sketch.box(left + start, bottom, left + end, bottom + 3, style)
    for at in (0.0, length_mm):
        if upright:
            sketch.line((left - 1.5, bottom + at), (left + 4.5, bottom + at), tick)
        else:
            sketch.line((left + at, bottom - 1.5), (left + at, bottom + 4.5), tick)
    if not words:
        return
    axis = "y" if upright else "x"
    sentence = f"{axis} {length_mm:.0f} mm: measure. Found _______ mm"
    if upright:
        sketch.text((left + 7.5, bottom + length_mm / 2), sentence, 2.5, style=BAR_TEXT, anchor="middle", angle_deg=90.0)
    else:
        sketch.text((left + length_mm / 2, bottom + 6.0), sentence, 2.5, style=BAR_TEXT, anchor="middle")


def dots(sketch: Sketch, left: float, bottom: float, size_mm: float, words: str) -> None:
    """A QR code of plain text, without its quiet zone: leave that round it."""
    import segno

    rows = [list(row) for row in segno.make(words, error="m", micro=False).matrix]
    module = size_mm / len(rows)
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            if not row[x]:
                x += 1
                continue
            end = x
            while end < len(row) and row[end]:
                end += 1
            top = bottom + size_mm - y * module
            sketch.box(left + x * module, top - module, left + end * module, top, DOTS)
            x = end
