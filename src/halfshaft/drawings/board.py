"""A loom board as a drawing at full size. The sheet is the board with a band of 10 mm all round."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.drawings.board_notes import connector_of, device_of, no_room_words, write_notes
from halfshaft.drawings.board_words import NEW_RING_MM, READ_MM, write_words
from halfshaft.drawings.shapes import (
    BUNDLE,
    INK,
    LONG_DASH_DOT,
    PAPER,
    Drawing,
    Sketch,
    Style,
    Track,
    moved,
)
from halfshaft.drawings.sheet import BLOCK_HEIGHT_MM, BLOCK_WIDTH_MM, FRAME, Title, dots, scale_bar, title_block
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.board import Board, BoardMark, BoardStretch, Holder, Section
from halfshaft.studies.looms.geometry import Path, Place, ahead, rectangle, unit
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.studies.wires.study import WiresResult

BAND_MM = 10.0
CENTRE = Style("CENTRE_LINE", 0.35, INK, None, LONG_DASH_DOT)
SLEEVE = Style("SLEEVE", 0.35)
SLEEVE_END = Style("SLEEVE", 1.0)
BREAKOUT = Style("BREAKOUT", 0.1, INK, INK)
PEG = Style("PEG", 0.5, INK, PAPER)
HAIR = Style("PEG", 0.18)
NEW_PEG = Style("NEW_PEG", 0.5)
HOLDER = Style("HOLDER", 0.7, INK, PAPER)
HOLDER_BACK = Style("HOLDER", 0.35)
CLIP = Style("CLIP", 0.5)
GROMMET = Style("CLIP", 0.7)
SPLICE = Style("SPLICE", 0.1, INK, INK)
TRIM = Style("FRAME", 0.35)
EDGE_TEXT = Style("FRAME", 0.25)


def board_drawing(conversion: Conversion, laid: LaidLoom, board: Board, wires: WiresResult, number: str, stops: int) -> Drawing:
    """The whole sheet of one board. Where findings stop the work, the sheet says that it is not for building."""
    width, height = board.size_mm[0] + 2 * BAND_MM, board.size_mm[1] + 2 * BAND_MM
    inner = Sketch()
    _bundles(inner, board)
    for holder in board.holders:
        with inner.about(device_of(holder.connector)):
            _holder(inner, conversion, holder)
    for mark in board.marks:
        with inner.about(f"{'splice' if mark.kind == 'splice' else 'point'}:{mark.ref}"):
            _mark(inner, mark)
    _pegs(inner, board, conversion.shop.peg_diameter_mm)
    blocked = _kept_clear(board)
    studs = frozenset(holder.connector for holder in board.holders if connector_of(conversion, holder.connector).kind == "stud")
    written = write_words(inner, board, peg_mm=conversion.shop.peg_diameter_mm, blocked=blocked, studs=studs)
    without_room = write_notes(inner, conversion, laid, board, wires, [*blocked, *written])
    sheet = Sketch()
    _edges(sheet, board)
    sheet.shapes.extend(moved(shape, BAND_MM, BAND_MM) for shape in inner.shapes)
    _frame(sheet, conversion, laid, board, number, stops)
    if without_room:
        sheet.text((BAND_MM + 20, BAND_MM + board.size_mm[1] - 40), no_room_words(without_room), READ_MM, bold=True)
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
        sketch.shapes.append(Track(path, Style("BUNDLE", section.bundle_mm + 0.7, INK, round_ends=True, about=_thing(section))))
    for path, section in pieces:
        style = Style("BUNDLE", max(section.bundle_mm - 0.7, 0.3), BUNDLE, round_ends=True, about=_thing(section))
        sketch.shapes.append(Track(path, style))
    for item in board.stretches:
        sketch.shapes.append(Track(item.path, CENTRE, f"{item.start} to {item.end}"))
    _sleeve_ends(sketch, board)


def _thing(section: Section) -> str:
    return device_of(section.ref.removeprefix("tail ")) if section.is_tail else f"run:{section.ref}"


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
        yield item.path.cut(section.from_mm, section.to_mm), section


def _holder(sketch: Sketch, conversion: Conversion, holder: Holder) -> None:
    connector = connector_of(conversion, holder.connector)
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


def _pegs(sketch: Sketch, board: Board, peg_mm: float) -> None:
    """Each peg with the hair cross to drill at, and a ring round those that are new since the board was drilled."""
    radius, reach = peg_mm / 2, peg_mm / 2 + 1.5
    for peg in board.pegs:
        x, y = peg.at
        if peg.is_new:
            sketch.circle(peg.at, NEW_RING_MM / 2, NEW_PEG)
        sketch.circle(peg.at, radius, PEG)
        sketch.line((x - reach, y), (x + reach, y), HAIR)
        sketch.line((x, y - reach), (x, y + reach), HAIR)


def _kept_clear(board: Board) -> list[tuple[Place, ...]]:
    """Where no word may stand: title block, the loom's name, and the edges with their bars."""
    width, height = board.size_mm

    def box(left: float, bottom: float, right: float, top: float) -> tuple[Place, ...]:
        return (left, bottom), (right, bottom), (right, top), (left, top)

    edge = 12.0
    return [
        box(width - BLOCK_WIDTH_MM - 34, 0.0, width, BLOCK_HEIGHT_MM + edge),
        box(0.0, height - 44, 520.0, height),
        box(0.0, 0.0, width, edge),
        box(0.0, height - edge, width, height),
        box(0.0, 0.0, edge, height),
        box(width - edge, 0.0, width, height),
    ]


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


def _frame(sheet: Sketch, conversion: Conversion, laid: LaidLoom, board: Board, number: str, stops: int) -> None:
    job, (width, height) = conversion.job, board.size_mm
    left, bottom, right, top = BAND_MM, BAND_MM, BAND_MM + width, BAND_MM + height
    bar = 500.0 if min(width, height) > 900 else 100.0
    scale_bar(sheet, left + 40, bottom + 3, bar, upright=False)
    scale_bar(sheet, left + 40, top - 6, bar, upright=False, words=False)
    scale_bar(sheet, left + 3, bottom + 40, bar, upright=True)
    scale_bar(sheet, right - 6, bottom + 60, bar, upright=True, words=False)
    sheet.text((left + 20, top - 26), laid.loom.name, 7.0, bold=True)
    sheet.text((left + 20, top - 33), f"{job.name}; {laid.loom.built}; covering: {laid.loom.covering or 'none given'}", READ_MM)
    if stops:
        words = f"NOT FOR BUILDING: {stops} finding{'s' if stops > 1 else ''} of this revision stop{'' if stops > 1 else 's'} the work"
        sheet.text((left + 140, top - 26), words, 7.0, bold=True)
    title = Title(
        owner=job.owner,
        kind="Loom board",
        status="not for building" if stops else job.status,
        scale="1:1",
        title=laid.loom.name,
        subtitle=f"peg Ø {conversion.shop.peg_diameter_mm:g}, drill at the cross; lengths along the centre line",
        number=number,
        revision=job.revision,
        date=job.date,
        sheet="1 / 1",
        drawn=job.drawn_by,
        approved=job.approved_by,
        by_type=("Length tolerance", "as written; mm"),
        view="plan of the board, wire side up",
    )
    title_block(sheet, right - 10, bottom + 3, title)
    dots(sheet, right - 10 - BLOCK_WIDTH_MM - 24, bottom + 6, 18.0, f"{number} {job.revision} 1/1")
