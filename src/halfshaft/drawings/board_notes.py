"""What is written by each holder on a board: its name, its face from the wire side, and a line a wire."""

from __future__ import annotations

import itertools
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
from halfshaft.studies.looms.raster import Grid, Stamp, Taken
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.studies.wires.study import WiresResult

LEADER = Style("TEXT", 0.18)
TWIST = Style("TWIST", 0.35)
SCREEN = Style("TWIST", 0.25)
BACKING = Style("TEXT", 0.0, None, PAPER)
SWATCH_MM = 0.18
ROW_MM = 5.5
# Heights of a note's title and of a face's latch and band; widths of its columns.
PAIR_MM = 14.0
NOTE_TITLE_MM, NOTE_FACE_MM, NOTE_COLUMN_MM, NOTE_WIDTH_MM = 14.0, 14.0, 66.0, 84.0
CELLS = Grid(8.0)
# A note goes this much further away rather than have a leader run behind a note.
CROSSING_COSTS_MM = 200.0
# The line that names notes without room: as wide as what is kept clear for the loom's name.
NO_ROOM_WIDTH_MM = 490.0

Box = tuple[float, float, float, float]
Leader = tuple[Place, Place]


@dataclass(frozen=True, slots=True)
class Note:
    """Where a note stands (left, bottom, right, top), how far from its holder, and the line between them if they are apart."""

    gap_mm: float
    box: Box
    leader: Leader | None

    @property
    def stamp(self) -> Stamp:
        """The cells that it takes."""
        return CELLS.box(*self.box)


@dataclass(frozen=True, slots=True)
class Row:
    """One line beside a connector: cavity, wire, colour letters, section, and the pair it is twisted in.

    A blanking plug or a screen's drain has no wire, and says so in place of a section.
    """

    cavity: str
    wire: str
    colour: str
    section: str
    pair: str = ""
    screened: bool = False


def rows_of(conversion: Conversion, laid: LaidLoom, connector: str, wires: WiresResult) -> list[Row]:
    """The lines of a connector's table, one a cavity, as far as this loom is concerned."""
    part = connector_of(conversion, connector)
    own = {laid_wire.wire.ref for laid_wire in laid.wires}
    own_screens = {laid_wire.wire.screen for laid_wire in laid.wires}
    plugs = {item.pin for item in wires.open_cavities if item.plug is not None}
    rows = []
    for cavity in part.cavities:
        pin = f"{connector}.{cavity.ref}"
        refs = [ref for ref in wires.wires_at.get(pin, ()) if ref in own]
        for ref in refs:
            wire = conversion.wire[ref]
            rows.append(Row(cavity.ref, ref, wire.colour, f"{wire.section_mm2:g}", wire.twist_group or "", bool(wire.screen)))
        if not refs and pin in plugs:
            rows.append(Row(cavity.ref, "", "", "blanking plug"))
        screens = [ref for ref in wires.screens_at.get(pin, ()) if ref in own_screens]
        rows.extend(Row(cavity.ref, "", "", f"screen {ref}") for ref in screens)
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
        elif pin in wires.screens_at:
            filling[cavity.ref] = Filling("BK")
        elif any(item.pin == pin and item.plug is not None for item in wires.open_cavities):
            filling[cavity.ref] = Filling(plug=True)
    return filling


def note_size_mm(part: Connector, rows: list[Row]) -> tuple[float, float]:
    """Room for what is written beside a holder: its name, its face at 2:1 and a line a wire, in columns of ten at most."""
    lines = len(rows)
    columns = max(1, math.ceil(lines / 10))
    face_width = 0.0 if part.kind == "stud" else 2 * (part.plug_width_mm or 20.0) + 2
    face_height = 0.0 if part.kind == "stud" else 2 * (part.plug_height_mm or 20.0) + NOTE_FACE_MM
    return max(NOTE_WIDTH_MM, columns * _column_mm(rows), face_width), NOTE_TITLE_MM + face_height + math.ceil(lines / columns) * ROW_MM


def _column_mm(rows: list[Row]) -> float:
    """How wide a column of the table is: pairs are named at its end."""
    return NOTE_COLUMN_MM + (PAIR_MM if any(row.pair for row in rows) else 0.0)


def device_of(connector: str) -> str:
    """The device that a connector is of, as a thing to choose."""
    return f"device:{connector.partition('.')[0]}"


def connector_of(conversion: Conversion, ref: str) -> Connector:
    """The connector of a fitted device, by `device.connector`."""
    device, _, name = ref.partition(".")
    return conversion.connector[device, name]


def write_notes(
    sketch: Sketch, conversion: Conversion, laid: LaidLoom, board: Board, wires: WiresResult, blocked: list[Corners]
) -> list[str]:
    """By each holder its name, its face from the wire side and its wires, in the nearest free place, with a leader.

    Gives back the connectors for whose note there was no room: the sheet must say so.
    """
    rows = {holder.connector: rows_of(conversion, laid, holder.connector, wires) for holder in board.holders}
    sizes = {ref: note_size_mm(connector_of(conversion, ref), found) for ref, found in rows.items()}
    stamps = [CELLS.line(item.path.corners, item.bundle_mm / 2 + 4.0) for item in board.stretches]
    stamps += [CELLS.polygon(holder.corners) for holder in board.holders]
    stamps += [CELLS.disc(peg.at, 4.0) for peg in board.pegs]
    stamps += [CELLS.polygon(corners) for corners in blocked]
    taken = Taken({}).plus(stamps)
    plans = [_settled(_plan(order, board, sizes, taken), order, board, sizes, taken) for order in _orders(board, sizes)]
    plan = min(plans, key=lambda found: (-len(found), _crossings(list(found.values())), sum(note.gap_mm for note in found.values())))
    # Leaders first: the paper of a note covers whatever passes behind it.
    for holder in board.holders:
        if holder.connector in plan and (leader := plan[holder.connector].leader) is not None:
            sketch.line(*leader, LEADER)
    for connector, note in plan.items():
        left, bottom, right, top = note.box
        width, height = sizes[connector]
        with sketch.about(device_of(connector)):
            sketch.box(left, bottom, right, top, BACKING)
            shapes = _note(conversion, connector, rows[connector], wires, width, height)
            sketch.shapes.extend(moved(shape, left, bottom) for shape in shapes)
    return sorted(rows.keys() - plan.keys())


def no_room_words(connectors: list[str]) -> str:
    """What a sheet says of notes that found no place; as many names as the line holds."""
    for count in range(len(connectors), -1, -1):
        rest = len(connectors) - count
        names = ", ".join(connectors[:count]) + (f" and {rest} more" if rest else "")
        words = f"no room on the board for the wires of {names}: see the connector pages"
        if text_width_mm(words, READ_MM, bold=True) <= NO_ROOM_WIDTH_MM:
            break
    return words


def _leader(holder: Holder, box: Box) -> Leader | None:
    """A thin line from a holder to the nearest edge of its note, where they stand apart."""
    left, bottom, right, top = box
    middle = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
    near = (min(max(middle[0], left), right), min(max(middle[1], bottom), top))
    if math.dist(near, middle) > holder.length_mm / 2 + 14.0:
        return _edge_of(holder, near), near
    return None


def _orders(board: Board, sizes: dict[str, tuple[float, float]]) -> list[list[Holder]]:
    """The orders in which the notes are tried: by size and across the board, each both ways."""

    def area(holder: Holder) -> tuple[float, str]:
        return math.prod(sizes[holder.connector]), holder.connector

    def across(holder: Holder) -> tuple[Place, str]:
        return holder.at, holder.connector

    return [sorted(board.holders, key=key, reverse=back) for key in (area, across) for back in (True, False)]


def _plan(order: list[Holder], board: Board, sizes: dict[str, tuple[float, float]], taken: Taken) -> dict[str, Note]:
    """A free place for every note, one after the other."""
    plan: dict[str, Note] = {}
    for holder in order:
        found = _free_place(holder, sizes[holder.connector], board, taken, list(plan.values()))
        if found is not None:
            plan[holder.connector] = found
            taken = taken.plus([found.stamp])
    return plan


def _settled(
    plan: dict[str, Note], order: list[Holder], board: Board, sizes: dict[str, tuple[float, float]], taken: Taken
) -> dict[str, Note]:
    """The plan after each note that could gain by it was given the choice again, now that all the others stand; a few rounds, or until none moves."""
    for _ in range(3):
        before = dict(plan)
        for holder in order:
            others = [note for connector, note in plan.items() if connector != holder.connector]
            own = plan.get(holder.connector)
            if own is not None and own.leader is None and not _crossings_with(own, others):
                continue
            found = _free_place(holder, sizes[holder.connector], board, taken.plus(note.stamp for note in others), others)
            if found is not None:
                plan = {**plan, holder.connector: found}
        if plan == before:
            break
    return plan


def _crossings(notes: list[Note]) -> int:
    """How often a leader runs behind the note of another connector."""
    return sum(_passes(one.leader, other.box) for one in notes if one.leader for other in notes if other is not one)


def _passes(leader: Leader, box: Box) -> bool:
    """Whether a straight line has a part inside a box (its slabs in x and in y, cut one after the other)."""
    (start, end), low, high = leader, 0.0, 1.0
    for axis in (0, 1):
        move = end[axis] - start[axis]
        near, far = box[axis] - start[axis], box[axis + 2] - start[axis]
        if abs(move) < 1e-9:
            if near > 0 or far < 0:
                return False
            continue
        first, last = sorted((near / move, far / move))
        low, high = max(low, first), min(high, last)
    return low < high


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
        x, y = column * _column_mm(rows), table_height - (line + 1) * ROW_MM + 1.2
        with sketch.about(f"wire:{row.wire}" if row.wire else ""):
            _table_row(sketch, row, x, y)
        if row.pair:
            beside = line > 0 and rows[index - 1].pair == row.pair
            _pair_mark(
                sketch,
                row,
                x + NOTE_COLUMN_MM,
                y,
                beside=beside,
                named=not (line + 1 < per_column and index + 1 < len(rows) and rows[index + 1].pair == row.pair),
            )
    return sketch.shapes


def _pair_mark(sketch: Sketch, row: Row, x: float, y: float, *, beside: bool, named: bool) -> None:
    """Between two lines of one pair a wave, round it a dashed oval where the pair is screened; the pair's name once."""
    if beside:
        low, high = y + 1.2, y + ROW_MM + 1.2
        count = 14
        places = [(x + 1.2 * math.sin(2 * math.pi * i / count), low + (high - low) * i / count) for i in range(count + 1)]
        for one, other in itertools.pairwise(places):
            sketch.line(one, other, TWIST)
        if row.screened:
            ring = [(x + 2.6 * math.cos(math.pi * i / 12), (low + high) / 2 + 3.6 * math.sin(math.pi * i / 12)) for i in range(25)]
            for one, other in list(itertools.pairwise(ring))[::2]:
                sketch.line(one, other, SCREEN)
    if named:
        sketch.text((x + 3.4, y + (ROW_MM / 2 if beside else 0.0)), row.pair, READ_MM)


def _table_row(sketch: Sketch, row: Row, x: float, y: float) -> None:
    sketch.text((x + 6.0, y), row.cavity, READ_MM, anchor="end", bold=True)
    if not row.wire:
        sketch.text((x + 9.0, y), row.section, READ_MM, style=SOFT_TEXT)
        return
    sketch.text((x + 9.0, y), row.wire, READ_MM)
    base, tracer = tones(row.colour)
    left = x + 26.0
    sketch.box(left, y + 0.4, left + 7.0, y + 2.9, Style("SWATCH", SWATCH_MM, INK, base))
    if tracer is not None:
        sketch.box(left + 0.1, y + 1.25, left + 6.9, y + 2.05, Style("SWATCH", 0.0, None, tracer))
    sketch.text((x + 36.0, y), row.colour, READ_MM)
    sketch.text((x + 62.5, y), row.section, READ_MM, anchor="end")


def _free_place(holder: Holder, size: tuple[float, float], board: Board, taken: Taken, placed: list[Note]) -> Note | None:
    """The free place for a note that lies nearest to its holder; a leader behind a note counts as much as a long way."""
    step = 16.0
    middle = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
    width, height = size
    best: tuple[float, Note] | None = None
    for ring in range(1, 60):
        reach = ring * step
        if best is not None and best[0] < reach - max(width, height) / 2:
            break
        for index in range(8 * ring):
            side, along = divmod(index, 2 * ring)
            offset = -reach + along * step
            x, y = ((offset, reach), (reach, -offset), (-offset, -reach), (-reach, offset))[side]
            left, bottom = middle[0] + x - width / 2, middle[1] + y - height / 2
            right, top = left + width, bottom + height
            if left < 14 or bottom < 14 or right > board.size_mm[0] - 14 or top > board.size_mm[1] - 14:
                continue
            gap = math.hypot(max(abs(x) - width / 2, 0.0), max(abs(y) - height / 2, 0.0))
            if best is not None and gap >= best[0]:
                continue
            if taken.meets(CELLS.box(left - 2, bottom - 2, right + 2, top + 2)):
                continue
            box = (left, bottom, right, top)
            note = Note(gap, box, _leader(holder, box))
            cost = gap + CROSSING_COSTS_MM * _crossings_with(note, placed)
            if best is None or cost < best[0]:
                best = (cost, note)
    return best[1] if best is not None else None


def _crossings_with(note: Note, placed: list[Note]) -> int:
    """How many crossings one more note brings: its leader behind others, and it over the leaders of others."""
    behind = sum(_passes(note.leader, other.box) for other in placed) if note.leader else 0
    return behind + sum(_passes(other.leader, note.box) for other in placed if other.leader)
