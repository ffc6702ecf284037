"""Wire labels: two a wire, each saying which wire, what it does, where this end goes and where the other one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.drawings.colours import tones
from halfshaft.drawings.shapes import INK, SOFT, SOFT_TEXT, Drawing, Sketch, Style, shortened, text_width_mm
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.routing import Routing

LABEL_MM = (62.0, 17.0)
COLUMNS, ROWS = 3, 16
PAGE_MM = (210.0, 297.0)
CUT = Style("CUT", 0.13, SOFT)
EDGE = Style("SWATCH", 0.18, INK)


@dataclass(frozen=True, slots=True)
class Label:
    """The words of one label; the list in the spreadsheet has the same."""

    loom: str
    wire: str
    colour: str
    section: str
    here: str
    there: str
    meaning: str
    place: str
    board: str
    diagram: str


def labels_of(conversion: Conversion, routing: Routing, sheets: Mapping[str, tuple[str, str]]) -> list[Label]:
    """Two labels a wire, in the order of looms and wires. `sheets` says on which sheet and field of the diagrams each wire is."""
    labels = []
    for loom in routing.looms:
        for laid in loom.wires:
            wire = laid.wire
            for here, there in ((wire.from_pin, wire.to_pin), (wire.to_pin, wire.from_pin)):
                device = conversion.device.get(here.partition(".")[0])
                place = device.place if device else _splice_place(routing, here)
                labels.append(
                    Label(
                        loom=loom.loom.ref,
                        wire=wire.ref,
                        colour=wire.colour,
                        section=f"{wire.section_mm2:g}",
                        here=here,
                        there=there,
                        meaning=wire.meaning,
                        place=place,
                        board=f"{conversion.job.ref}-LB-{loom.loom.ref}"
                        if loom.loom.board_width_mm
                        else f"{conversion.job.ref} {loom.loom.ref}",
                        diagram="/".join(sheets.get(wire.ref, ())),
                    )
                )
    return labels


def _splice_place(routing: Routing, splice: str) -> str:
    return f"on run {routing.splices[splice].run}" if splice in routing.splices else "no place yet"


def label_pages(labels: list[Label], revision: str) -> list[Drawing]:
    """A4 sheets of 3 by 16 labels with lines to cut along."""
    per_page = COLUMNS * ROWS
    return [_page(labels[start : start + per_page], revision) for start in range(0, len(labels), per_page)]


def _page(labels: list[Label], revision: str) -> Drawing:
    sketch = Sketch()
    left0 = (PAGE_MM[0] - COLUMNS * LABEL_MM[0]) / 2
    top0 = PAGE_MM[1] - (PAGE_MM[1] - ROWS * LABEL_MM[1]) / 2
    for index, label in enumerate(labels):
        row, column = divmod(index, COLUMNS)
        left, top = left0 + column * LABEL_MM[0], top0 - row * LABEL_MM[1]
        sketch.box(left, top - LABEL_MM[1], left + LABEL_MM[0], top, CUT)
        _label(sketch, label, left + 2.0, top, revision)
    return Drawing(*PAGE_MM, tuple(sketch.shapes), title="Wire labels")


def _label(sketch: Sketch, label: Label, left: float, top: float, revision: str) -> None:
    width = LABEL_MM[0] - 4.0
    sketch.text((left, top - 4.6), label.wire, 3.5, bold=True)
    base, tracer = tones(label.colour)
    sketch.box(left + 15.0, top - 4.5, left + 22.0, top - 2.0, Style("SWATCH", 0.18, INK, base))
    if tracer is not None:
        sketch.box(left + 15.1, top - 3.65, left + 21.9, top - 2.85, Style("SWATCH", 0.0, None, tracer))
    sketch.text((left + 24.0, top - 4.5), f"{label.colour} {label.section}", 2.5)
    # What the label cannot say the sheet of the diagram does.
    sketch.text((left + width, top - 4.5), label.diagram, 2.5, anchor="end", bold=True)
    lines = (f"{label.here} → {label.there}", label.meaning, label.place)
    board = f"{label.board} {revision}"
    room = width - text_width_mm(board, 1.8) - 2.0
    for index, words in enumerate(lines):
        bold = index == 0
        sketch.text((left, top - 8.5 - 3.6 * index), shortened(words, 2.5, room if index == 2 else width, bold=bold), 2.5, bold=bold)
    sketch.text((left + width, top - 8.5 - 3.6 * 2), board, 1.8, anchor="end", style=SOFT_TEXT)
