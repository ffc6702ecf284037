"""What is written by each holder on a board: its name, its face from the wire side, and a line a wire."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.drawings.board_words import READ_MM, Corners
from halfshaft.drawings.colours import tones
from halfshaft.drawings.faces import Filling, draw_face
from halfshaft.drawings.shapes import INK, PAPER, SOFT_TEXT, Shape, Sketch, Style, moved, shortened, text_width_mm
from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Connector
from halfshaft.studies.looms.board import Board, Holder
from halfshaft.studies.looms.geometry import Place, ahead
from halfshaft.studies.looms.raster import Grid, Taken
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.studies.wires.study import WiresResult

LEADER = Style("TEXT", 0.18)
BACKING = Style("TEXT", 0.0, None, PAPER)
SWATCH_MM = 0.18
ROW_MM = 5.5
# Heights of a note's title and of a face's latch and band; widths of its columns.
NOTE_TITLE_MM, NOTE_FACE_MM, NOTE_COLUMN_MM, NOTE_WIDTH_MM = 14.0, 14.0, 66.0, 84.0
CELLS = Grid(8.0)


@dataclass(frozen=True, slots=True)
class Row:
    """One line beside a connector: cavity, wire, colour letters, section; a blanking plug or an open way has no wire."""

    cavity: str
    wire: str
    colour: str
    section: str


def rows_of(conversion: Conversion, laid: LaidLoom, connector: str, wires: WiresResult) -> list[Row]:
    """The lines of a connector's table, one a cavity, as far as this loom is concerned."""
    part = connector_of(conversion, connector)
    own = {laid_wire.wire.ref for laid_wire in laid.wires}
    plugs = {item.pin for item in wires.open_cavities if item.plug is not None}
    rows = []
    for cavity in part.cavities:
        pin = f"{connector}.{cavity.ref}"
        refs = [ref for ref in wires.wires_at.get(pin, ()) if ref in own]
        for ref in refs:
            wire = conversion.wire[ref]
            rows.append(Row(cavity.ref, ref, wire.colour, f"{wire.section_mm2:g}"))
        if not refs and pin in plugs:
            rows.append(Row(cavity.ref, "", "", "plug"))
    return rows


def filling_of(conversion: Conversion, connector: str, wires: WiresResult) -> dict[str, Filling]:
    """What is in each cavity of a connector."""
    device, _, name = connector.partition(".")
    filling = {}
    for cavity in conversion.connector[device, name].cavities:
        pin = f"{connector}.{cavity.ref}"
        refs = wires.wires_at.get(pin, ())
        if refs and refs[0] in conversion.wire:
            filling[cavity.ref] = Filling(conversion.wire[refs[0]].colour)
        elif refs:
            filling[cavity.ref] = Filling("OG")
        elif any(item.pin == pin and item.plug is not None for item in wires.open_cavities):
            filling[cavity.ref] = Filling(plug=True)
    return filling


def note_size_mm(part: Connector, lines: int) -> tuple[float, float]:
    """Room for what is written beside a holder: its name, its face at 2:1 and a line a wire, in columns of ten at most."""
    columns = max(1, math.ceil(lines / 10))
    face_width = 0.0 if part.kind == "stud" else 2 * (part.plug_width_mm or 20.0) + 2
    face_height = 0.0 if part.kind == "stud" else 2 * (part.plug_height_mm or 20.0) + NOTE_FACE_MM
    return max(NOTE_WIDTH_MM, columns * NOTE_COLUMN_MM, face_width), NOTE_TITLE_MM + face_height + math.ceil(lines / columns) * ROW_MM


def connector_of(conversion: Conversion, ref: str) -> Connector:
    """The connector of a fitted device, by `device.connector`."""
    device, _, name = ref.partition(".")
    return conversion.connector[device, name]


def write_notes(sketch: Sketch, conversion: Conversion, laid: LaidLoom, board: Board, wires: WiresResult, blocked: list[Corners]) -> None:
    """By each holder its name, its face from the wire side and its wires, in the nearest free place, with a leader."""
    rows = {holder.connector: rows_of(conversion, laid, holder.connector, wires) for holder in board.holders}
    sizes = {ref: note_size_mm(connector_of(conversion, ref), len(found)) for ref, found in rows.items()}
    stamps = [CELLS.line(item.path.corners, item.bundle_mm / 2 + 4.0) for item in board.stretches]
    stamps += [CELLS.polygon(holder.corners) for holder in board.holders]
    stamps += [CELLS.disc(peg.at, 4.0) for peg in board.pegs]
    stamps += [CELLS.polygon(corners) for corners in blocked]
    taken = Taken({}).plus(stamps)
    plans = [_plan(board, sizes, taken, largest_first) for largest_first in (True, False)]
    plan = min(plans, key=lambda found: (-len(found), sum(gap for gap, _ in found.values())))
    # Leaders first: the paper of a note covers whatever passes behind it.
    for holder in board.holders:
        if holder.connector in plan:
            _leader(sketch, holder, plan[holder.connector][1], sizes[holder.connector])
    for connector, (_, (left, bottom)) in plan.items():
        width, height = sizes[connector]
        sketch.box(left, bottom, left + width, bottom + height, BACKING)
        shapes = _note(conversion, connector, rows[connector], wires, width, height)
        sketch.shapes.extend(moved(shape, left, bottom) for shape in shapes)


def _leader(sketch: Sketch, holder: Holder, place: Place, size: tuple[float, float]) -> None:
    """A thin line from a holder to its note, where they stand apart."""
    (left, bottom), (width, height) = place, size
    middle = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
    near = (min(max(middle[0], left), left + width), min(max(middle[1], bottom), bottom + height))
    if math.dist(near, middle) > holder.length_mm / 2 + 14.0:
        sketch.line(_edge_of(holder, near), near, LEADER)


def _plan(board: Board, sizes: dict[str, tuple[float, float]], taken: Taken, largest_first: bool) -> dict[str, tuple[float, Place]]:
    """A free place for every note, one after the other, with how far it is from its holder."""
    plan: dict[str, tuple[float, Place]] = {}
    sign = -1 if largest_first else 1
    for holder in sorted(board.holders, key=lambda item: (sign * math.prod(sizes[item.connector]), item.connector)):
        width, height = sizes[holder.connector]
        middle = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
        found = _free_place(middle, width, height, board, taken)
        if found is not None:
            plan[holder.connector] = found
            _, (left, bottom) = found
            taken = taken.plus(
                [CELLS.polygon(((left, bottom), (left + width, bottom), (left + width, bottom + height), (left, bottom + height)))]
            )
    return plan


def _edge_of(holder: Holder, towards: Place) -> Place:
    """The middle of that side of a holder which looks at a place."""
    corners = holder.corners
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)]
    return min(middles, key=lambda middle: math.dist(middle, towards))


def _note(conversion: Conversion, connector: str, rows: list[Row], wires: WiresResult, width: float, height: float) -> list[Shape]:
    """The shapes of one connector's note with its lower left corner at the origin."""
    part = connector_of(conversion, connector)
    columns = max(1, math.ceil(len(rows) / 10))
    per_column = math.ceil(len(rows) / columns)
    sketch = Sketch()
    sketch.text((0.0, height - 7.0), connector, 5.0, bold=True)
    used = text_width_mm(connector, 5.0, bold=True) + 3.0
    sketch.text((used, height - 7.0), shortened(conversion.device[connector.partition(".")[0]].name, READ_MM, width - used), READ_MM)
    table_height = per_column * ROW_MM
    if part.kind != "stud":
        draw_face(
            sketch,
            part,
            filling_of(conversion, connector, wires),
            view="wire side",
            scale=2,
            left=0.4,
            bottom=table_height + 2.0,
            is_hv=False,
        )
    for index, row in enumerate(rows):
        column, line = divmod(index, per_column)
        _table_row(sketch, row, column * NOTE_COLUMN_MM, table_height - (line + 1) * ROW_MM + 1.2)
    return sketch.shapes


def _table_row(sketch: Sketch, row: Row, x: float, y: float) -> None:
    sketch.text((x + 6.0, y), row.cavity, READ_MM, anchor="end", bold=True)
    if not row.wire:
        sketch.text((x + 9.0, y), "blanking plug", READ_MM, style=SOFT_TEXT)
        return
    sketch.text((x + 9.0, y), row.wire, READ_MM)
    base, tracer = tones(row.colour)
    left = x + 26.0
    sketch.box(left, y + 0.4, left + 7.0, y + 2.9, Style("SWATCH", SWATCH_MM, INK, base))
    if tracer is not None:
        sketch.box(left + 0.1, y + 1.25, left + 6.9, y + 2.05, Style("SWATCH", 0.0, None, tracer))
    sketch.text((x + 36.0, y), row.colour, READ_MM)
    sketch.text((x + 62.5, y), row.section, READ_MM, anchor="end")


def _free_place(middle: Place, width: float, height: float, board: Board, taken: Taken) -> tuple[float, Place] | None:
    """The free place for a block that lies nearest to a point, and how far away it is."""
    step = 16.0
    best: tuple[float, Place] | None = None
    for ring in range(1, 60):
        reach = ring * step
        if best is not None and best[0] < reach - step:
            break
        for index in range(8 * ring):
            side, along = divmod(index, 2 * ring)
            offset = -reach + along * step
            x, y = ((offset, reach), (reach, -offset), (-offset, -reach), (-reach, offset))[side]
            left, bottom = middle[0] + x - width / 2, middle[1] + y - height / 2
            if left < 14 or bottom < 14 or left + width > board.size_mm[0] - 14 or bottom + height > board.size_mm[1] - 14:
                continue
            gap = math.hypot(max(abs(x) - width / 2, 0.0), max(abs(y) - height / 2, 0.0))
            if best is not None and gap >= best[0]:
                continue
            corners = (
                (left - 2, bottom - 2),
                (left + width + 2, bottom - 2),
                (left + width + 2, bottom + height + 2),
                (left - 2, bottom + height + 2),
            )
            if not taken.meets(CELLS.polygon(corners)):
                best = (gap, (left, bottom))
    return best
