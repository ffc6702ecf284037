"""A loom board as a drawing at full size. The sheet is the board with a band of 10 mm all round."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.drawings.colours import tones
from halfshaft.drawings.faces import Filling, draw_face
from halfshaft.drawings.shapes import (
    BUNDLE,
    INK,
    LONG_DASH_DOT,
    PAPER,
    SOFT_TEXT,
    Drawing,
    Shape,
    Sketch,
    Style,
    Track,
    moved,
    shortened,
    text_width_mm,
)
from halfshaft.drawings.sheet import BLOCK_HEIGHT_MM, BLOCK_WIDTH_MM, FRAME, Title, dots, scale_bar, title_block
from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Connector
from halfshaft.standards import table
from halfshaft.studies.looms.board import Board, BoardMark, BoardStretch, Holder, Section
from halfshaft.studies.looms.geometry import Bend, Path, Place, Straight, ahead, rectangle, unit
from halfshaft.studies.looms.raster import Grid, Taken
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.studies.wires.study import WiresResult

BAND_MM = 10.0
CENTRE = Style("CENTRE_LINE", 0.35, INK, None, LONG_DASH_DOT)
SLEEVE = Style("SLEEVE", 0.35)
SLEEVE_END = Style("SLEEVE", 1.0)
BREAKOUT = Style("BREAKOUT", 0.1, INK, INK)
PEG = Style("PEG", 0.5, INK, PAPER)
HAIR = Style("PEG", 0.18)
HOLDER = Style("HOLDER", 0.7, INK, PAPER)
HOLDER_BACK = Style("HOLDER", 0.35)
CLIP = Style("CLIP", 0.5)
GROMMET = Style("CLIP", 0.7)
SPLICE = Style("SPLICE", 0.1, INK, INK)
LEADER = Style("TEXT", 0.18)
SWATCH = 0.18
TRIM = Style("FRAME", 0.35)
EDGE_TEXT = Style("FRAME", 0.25)
# Read while laying, at arm's length: nothing smaller than 3.5.
READ_MM = 3.5
ROW_MM = 5.5
# What is written beside a holder: heights of its title and of a face's latch and band; widths of its columns.
NOTE_TITLE_MM, NOTE_FACE_MM, NOTE_COLUMN_MM, NOTE_WIDTH_MM = 14.0, 14.0, 66.0, 84.0
CELLS = Grid(8.0)


@dataclass(frozen=True, slots=True)
class Row:
    """One line beside a connector: cavity, wire, colour letters, section; a blanking plug or an open way has no wire."""

    cavity: str
    wire: str
    colour: str
    section: str


def board_drawing(conversion: Conversion, laid: LaidLoom, board: Board, wires: WiresResult, number: str) -> Drawing:
    """The whole sheet of one board."""
    width, height = board.size_mm[0] + 2 * BAND_MM, board.size_mm[1] + 2 * BAND_MM
    inner = Sketch()
    _bundles(inner, board)
    for holder in board.holders:
        _holder(inner, conversion, holder)
    for mark in board.marks:
        _mark(inner, mark)
    taken = _taken(board)
    taken = _peg_marks(inner, conversion, board, taken)
    taken = _lengths(inner, board, taken)
    taken = _breakout_names(inner, board, taken)
    _connector_notes(inner, conversion, laid, board, wires, taken)
    sheet = Sketch()
    _edges(sheet, board)
    sheet.shapes.extend(moved(shape, BAND_MM, BAND_MM) for shape in inner.shapes)
    _frame(sheet, conversion, laid, board, number)
    return Drawing(width, height, tuple(sheet.shapes), title=f"{laid.loom.name}, board {number}")


def _bundles(sketch: Sketch, board: Board) -> None:
    """Every bundle at its true width. First all edges, then all fills, so that branches are one shape."""
    pieces = [(path, section) for item in board.stretches for path, section in _section_paths(item)]
    tubes = [(path, section.over_mm) for path, section in pieces if section.over_mm > section.bundle_mm]
    for path, over_mm in tubes:
        sketch.shapes.append(Track(path, Style("SLEEVE", over_mm + 0.7, INK)))
    for path, over_mm in tubes:
        sketch.shapes.append(Track(path, Style("SLEEVE", over_mm, PAPER)))
    for path, section in pieces:
        sketch.shapes.append(Track(path, Style("BUNDLE", section.bundle_mm + 0.7, INK)))
    for path, section in pieces:
        sketch.shapes.append(Track(path, Style("BUNDLE", max(section.bundle_mm - 0.7, 0.3), BUNDLE)))
    for item in board.stretches:
        sketch.shapes.append(Track(item.path, CENTRE))
    _sleeve_ends(sketch, board)


def _sleeve_ends(sketch: Sketch, board: Board) -> None:
    """A bar across wherever a tube of one size begins or ends."""
    for item in board.stretches:
        tubes = [section.over_mm if section.over_mm > section.bundle_mm else 0.0 for section in item.sections]
        for index, (section, tube) in enumerate(zip(item.sections, tubes, strict=True)):
            before = tubes[index - 1] if index else 0.0
            after = tubes[index + 1] if index + 1 < len(tubes) else 0.0
            for along, beside in ((section.from_mm, before), (section.to_mm, after)):
                if tube and beside != tube:
                    place, heading = item.path.at(along)
                    reach = tube / 2 + 3.0
                    sketch.line(ahead(place, heading + 90, reach), ahead(place, heading - 90, reach), SLEEVE_END)


def _section_paths(item: BoardStretch) -> Iterator[tuple[Path, Section]]:
    """The part of a stretch's centre line that belongs to each run or tail."""
    for section in item.sections:
        yield _cut(item.path, section.from_mm, section.to_mm), section


def _cut(path: Path, from_mm: float, to_mm: float) -> Path:
    pieces: list[Straight | Bend] = []
    at = 0.0
    for piece in path.pieces:
        low, high = max(from_mm - at, 0.0), min(to_mm - at, piece.length_mm)
        if high - low > 1e-9:
            if isinstance(piece, Straight):
                pieces.append(Straight(piece.at(low), piece.heading_deg, high - low))
            else:
                turn = math.copysign(math.degrees((high - low) / piece.radius_mm), piece.turn_deg)
                pieces.append(Bend(piece.at(low), piece.heading_at(low), piece.radius_mm, turn))
        at += piece.length_mm
    if not pieces:
        place, heading = path.at(from_mm)
        pieces.append(Straight(place, heading, 0.0))
    return Path(tuple(pieces))


def _holder(sketch: Sketch, conversion: Conversion, holder: Holder) -> None:
    connector = _connector(conversion, holder.connector)
    if connector.kind == "stud":
        middle = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
        sketch.polygon(holder.corners, HOLDER_BACK)
        sketch.circle(middle, holder.length_mm / 2 - 1.0, HOLDER)
        sketch.circle(middle, 3.0, HOLDER_BACK)
        return
    sketch.polygon(holder.corners, HOLDER)
    back = ahead(holder.at, holder.heading_deg, 3.0)
    half = holder.width_mm / 2
    sketch.line(ahead(back, holder.heading_deg + 90, half), ahead(back, holder.heading_deg - 90, half), HOLDER_BACK)
    for side in (90.0, -90.0):
        if holder.width_mm > 16:
            sketch.circle(
                ahead(ahead(holder.at, holder.heading_deg, holder.length_mm / 2), holder.heading_deg + side, half - 5.0), 1.6, HOLDER_BACK
            )


def _mark(sketch: Sketch, mark: BoardMark) -> None:
    if mark.kind == "breakout":
        sketch.circle(mark.at, 1.1, BREAKOUT)
    elif mark.kind == "splice":
        (ux, uy), (x, y) = unit(mark.heading_deg), mark.at
        sketch.polygon([(x + 6 * ux, y + 6 * uy), (x - 3 * uy, y + 3 * ux), (x - 6 * ux, y - 6 * uy), (x + 3 * uy, y - 3 * ux)], SPLICE)
    elif mark.kind == "grommet":
        for along in (-2.0, 2.0):
            place = ahead(mark.at, mark.heading_deg, along)
            reach = mark.bundle_mm / 2 + 4.0
            sketch.line(ahead(place, mark.heading_deg + 90, reach), ahead(place, mark.heading_deg - 90, reach), GROMMET)
    elif mark.kind in ("clip", "end"):
        back = ahead(mark.at, mark.heading_deg, -3.0)
        sketch.polygon(rectangle(back, mark.heading_deg, length_mm=6.0, width_mm=mark.bundle_mm + 5.0), CLIP)


def _taken(board: Board) -> Taken:
    """What no word may be written over."""
    stamps = [CELLS.line(item.path.corners, item.bundle_mm / 2 + 7.0) for item in board.stretches]
    stamps += [CELLS.polygon(holder.corners) for holder in board.holders]
    stamps += [CELLS.disc(peg.at, 4.0) for peg in board.pegs]
    width, height = board.size_mm
    block = (
        (width - BLOCK_WIDTH_MM - 34, 0.0),
        (width, 0.0),
        (width, BLOCK_HEIGHT_MM + 12),
        (width - BLOCK_WIDTH_MM - 34, BLOCK_HEIGHT_MM + 12),
    )
    stamps.append(CELLS.polygon(block))
    stamps.append(CELLS.polygon(((0.0, height - 34), (260.0, height - 34), (260.0, height), (0.0, height))))
    for corners in (
        ((0.0, 0.0), (width, 0.0), (width, 12.0), (0.0, 12.0)),
        ((0.0, height - 12), (width, height - 12), (width, height), (0.0, height)),
        ((0.0, 0.0), (12.0, 0.0), (12.0, height), (0.0, height)),
        ((width - 12, 0.0), (width, 0.0), (width, height), (width - 12, height)),
    ):
        stamps.append(CELLS.polygon(corners))
    return Taken({}).plus(stamps)


def _peg_marks(sketch: Sketch, conversion: Conversion, board: Board, taken: Taken) -> Taken:
    """Pegs with the hair cross to drill at, and each one's number where nothing else stands."""
    radius = conversion.shop.peg_diameter_mm / 2
    for peg in board.pegs:
        x, y = peg.at
        sketch.circle(peg.at, radius, PEG)
        sketch.line((x - radius - 1.5, y), (x + radius + 1.5, y), HAIR)
        sketch.line((x, y - radius - 1.5), (x, y + radius + 1.5), HAIR)
    fine = Grid(3.0)
    lines = [fine.line(item.path.corners, item.bundle_mm / 2 + 1.0) for item in board.stretches]
    near = Taken({}).plus(
        [*lines, *(fine.polygon(holder.corners) for holder in board.holders), *(fine.disc(peg.at, radius + 1.5) for peg in board.pegs)]
    )
    for peg in board.pegs:
        words = str(peg.number)
        width = text_width_mm(words, READ_MM)
        for dx, dy in (
            (4.0, 1.5),
            (4.0, -5.0),
            (-4.0 - width, 1.5),
            (-4.0 - width, -5.0),
            (-width / 2, 5.0),
            (-width / 2, -8.5),
            (7.0, -1.7),
            (-7.0 - width, -1.7),
        ):
            left, bottom = peg.at[0] + dx, peg.at[1] + dy
            stamp = fine.polygon(((left, bottom), (left + width, bottom), (left + width, bottom + READ_MM), (left, bottom + READ_MM)))
            if not near.meets(stamp):
                break
        else:
            left, bottom = peg.at[0] + 4.0, peg.at[1] + 1.5
            stamp = {}
        near = near.plus([stamp])
        sketch.text((left, bottom), words, READ_MM)
        taken = taken.plus(
            [CELLS.polygon(((left, bottom), (left + width, bottom), (left + width, bottom + READ_MM), (left, bottom + READ_MM)))]
        )
    return taken


def tolerance_words(length_mm: float) -> str:
    """`640 +50/−0`: a nominal length is a minimum (IPC/WHMA-A-620B table 11-1)."""
    for row in table("length_tolerances"):
        if length_mm <= float(row["to_mm"]):
            return f"{length_mm:.0f} +{float(row['plus_mm']):.0f}/−{float(row['minus_mm']):.0f}"
    return f"{length_mm:.0f} +100/−0"


def _lengths(sketch: Sketch, board: Board, taken: Taken) -> Taken:
    """The length of every run and tail along its line, clear of pegs."""
    fine = Grid(3.0)
    blocked = Taken({}).plus(
        [fine.line(item.path.corners, item.bundle_mm / 2) for item in board.stretches]
        + [fine.disc(peg.at, 9.0) for peg in board.pegs]
        + [fine.polygon(holder.corners) for holder in board.holders]
    )
    for item in board.stretches:
        for section in item.sections:
            words = tolerance_words(section.to_mm - section.from_mm)
            label = words if section.is_tail else f"{section.ref}  {words}"
            for spoken in (label, words):
                place = _beside(item, section.from_mm, section.to_mm, section.over_mm, spoken, fine, blocked)
                if place is not None:
                    at, angle, corners = place
                    sketch.text(at, spoken, READ_MM, anchor="middle", angle_deg=angle)
                    blocked = blocked.plus([fine.polygon(corners)])
                    taken = taken.plus([CELLS.polygon(corners)])
                    break
    return taken


def _beside(
    item: BoardStretch, from_mm: float, to_mm: float, bundle_mm: float, words: str, grid: Grid, blocked: Taken
) -> tuple[Place, float, tuple[Place, ...]] | None:
    """A place beside a section where words along it meet nothing: base line, angle, and the corners they fill."""
    width = text_width_mm(words, READ_MM) * 1.05
    for share in (0.5, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85):
        place, heading = item.path.at(from_mm + (to_mm - from_mm) * share)
        angle = upright(heading)
        for side in (1.0, -1.0):
            off = bundle_mm / 2 + 6.0 if side > 0 else -(bundle_mm / 2 + 6.0 + READ_MM)
            at = ahead(place, angle + 90.0, off)
            start = ahead(ahead(at, angle, -width / 2), angle + 90.0, READ_MM / 2)
            corners = rectangle(start, angle, length_mm=width, width_mm=READ_MM + 1.0)
            if not blocked.meets(grid.polygon(corners)):
                return at, angle, corners
    return None


def upright(angle_deg: float) -> float:
    """The angle at which words along a line read from the bottom or from the right: over -90 up to 90."""
    turned = math.fmod(angle_deg, 180.0)
    if turned > 90.0 + 1e-9:
        return turned - 180.0
    return turned + 180.0 if turned <= -90.0 + 1e-9 else turned


def _breakout_names(sketch: Sketch, board: Board, taken: Taken) -> Taken:
    """Names of breakouts, clips, grommets and splices, each where nothing else stands."""
    for mark in board.marks:
        bold = mark.kind in ("breakout", "splice")
        width = text_width_mm(mark.ref, READ_MM, bold=bold)
        place = next((place for place in _round(mark, width) if not taken.meets(CELLS.polygon(_line_box(place, width)))), None)
        if place is None:
            place = ahead(mark.at, mark.heading_deg + 90.0, mark.bundle_mm / 2 + 8.0)
        sketch.text(place, mark.ref, READ_MM, bold=bold)
        taken = taken.plus([CELLS.polygon(_line_box(place, width))])
    return taken


def _round(mark: BoardMark, width: float) -> Iterator[Place]:
    """Places for a name round a mark, nearest first: beside the line before along it."""
    for ring in (0.0, 8.0, 16.0, 26.0, 40.0):
        for angle in (90.0, 270.0, 45.0, 135.0, 225.0, 315.0, 0.0, 180.0):
            direction = mark.heading_deg + angle
            x, y = ahead(mark.at, direction, mark.bundle_mm / 2 + 8.0 + ring)
            share = 0.5 - 0.5 * unit(direction)[0]
            yield x - share * width, y - READ_MM / 2


def _line_box(place: Place, width: float) -> tuple[Place, ...]:
    """The corners of one line of words that begins at a place."""
    x, y = place
    return (x, y), (x + width, y), (x + width, y + READ_MM), (x, y + READ_MM)


def rows_of(conversion: Conversion, laid: LaidLoom, connector: str, wires: WiresResult) -> list[Row]:
    """The lines of a connector's table, one a cavity, as far as this loom is concerned."""
    part = _connector(conversion, connector)
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


def _connector(conversion: Conversion, ref: str) -> Connector:
    device, _, name = ref.partition(".")
    return conversion.connector[device, name]


def _connector_notes(sketch: Sketch, conversion: Conversion, laid: LaidLoom, board: Board, wires: WiresResult, taken: Taken) -> None:
    """By each holder its name, its face from the wire side and its wires, in the nearest free place, with a leader."""
    rows = {holder.connector: rows_of(conversion, laid, holder.connector, wires) for holder in board.holders}
    sizes = {ref: note_size_mm(_connector(conversion, ref), len(found)) for ref, found in rows.items()}
    plans = [_plan(board, sizes, taken, largest_first) for largest_first in (True, False)]
    plan = min(plans, key=lambda found: (-len(found), sum(gap for gap, _ in found.values())))
    for holder in board.holders:
        if holder.connector not in plan:
            continue
        _, (left, bottom) = plan[holder.connector]
        width, height = sizes[holder.connector]
        shapes = _note(conversion, holder.connector, rows[holder.connector], wires, width, height)
        sketch.shapes.extend(moved(shape, left, bottom) for shape in shapes)
        tip = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
        near = (min(max(tip[0], left), left + width), min(max(tip[1], bottom), bottom + height))
        if math.dist(near, tip) > holder.length_mm / 2 + 14.0:
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
    part = _connector(conversion, connector)
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
    sketch.box(left, y + 0.4, left + 7.0, y + 2.9, Style("SWATCH", SWATCH, INK, base))
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


def _edges(sheet: Sketch, board: Board) -> None:
    """The board's edge and, in the band round it, a tick and a number every 100 mm for whoever measures a peg."""
    width, height = board.size_mm
    sheet.box(BAND_MM, BAND_MM, BAND_MM + width, BAND_MM + height, FRAME)
    for axis, length in ((0, width), (1, height)):
        for at in range(0, int(length) + 1, 100):
            for far in (False, True):
                edge = BAND_MM + (board.size_mm[1 - axis] if far else 0.0)
                out = edge + (3.0 if far else -3.0)
                start, end = (BAND_MM + at, edge), (BAND_MM + at, out)
                if axis:
                    start, end = (edge, BAND_MM + at), (out, BAND_MM + at)
                sheet.line(start, end, TRIM)
                if at % 500 == 0 and 0 < at < length:
                    where = (
                        (BAND_MM + at + 1.5, out - (0.0 if far else 2.5))
                        if not axis
                        else (out + (3.0 if far else -0.5), BAND_MM + at + 1.5)
                    )
                    sheet.text(where, str(at), 2.5, style=EDGE_TEXT, angle_deg=90.0 if axis else 0.0)


def _frame(sheet: Sketch, conversion: Conversion, laid: LaidLoom, board: Board, number: str) -> None:
    job, (width, height) = conversion.job, board.size_mm
    left, bottom, right, top = BAND_MM, BAND_MM, BAND_MM + width, BAND_MM + height
    bar = 500.0 if min(width, height) > 900 else 100.0
    scale_bar(sheet, left + 40, bottom + 3, bar, upright=False)
    scale_bar(sheet, left + 40, top - 6, bar, upright=False, words=False)
    scale_bar(sheet, left + 3, bottom + 40, bar, upright=True)
    scale_bar(sheet, right - 6, bottom + 60, bar, upright=True, words=False)
    sheet.text((left + 20, top - 26), laid.loom.name, 7.0, bold=True)
    sheet.text((left + 20, top - 33), f"{laid.loom.built}; covering: {laid.loom.covering or 'none given'}", READ_MM)
    title = Title(
        owner=job.owner,
        kind="Loom board",
        status=job.status,
        scale="1:1",
        title=laid.loom.name,
        subtitle=f"{job.name}; peg Ø {conversion.shop.peg_diameter_mm:g}, drill at the cross; lengths along the centre line",
        number=number,
        revision=job.revision,
        date=job.date,
        sheet="1 / 1",
        drawn=job.drawn_by,
        approved=job.approved_by,
        tolerance="as written; mm",
        view="plan of the board, wire side up",
    )
    title_block(sheet, right - 10, bottom + 3, title)
    dots(sheet, right - 10 - BLOCK_WIDTH_MM - 24, bottom + 6, 18.0, f"{number} {job.revision} 1/1")
