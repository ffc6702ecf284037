"""What is written on a board along its bundles: peg numbers, lengths, names. Each stands where nothing else does."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from halfshaft.drawings.shapes import Sketch, text_width_mm
from halfshaft.standards import table
from halfshaft.studies.looms.board import Board, BoardMark, BoardStretch, Holder, Section
from halfshaft.studies.looms.geometry import Place, ahead, rectangle, unit
from halfshaft.studies.looms.raster import Grid, Taken

# Read while laying, at arm's length: nothing smaller than 3.5.
READ_MM = 3.5
HOLDER_NAME_MM = 5.0
# What has moved since the board was drilled: a ring round the new peg, and where it was. Read while drilling, close by.
NEW_RING_MM, WAS_MM = 12.0, 2.5
FINE = Grid(3.0)

Corners = tuple[Place, ...]


@dataclass(slots=True)
class Words:
    """What is taken so far, and the outline of every line of words that was written."""

    taken: Taken
    written: list[Corners] = field(default_factory=list)

    def free(self, corners: Corners) -> bool:
        """Whether nothing stands there."""
        return not self.taken.meets(FINE.polygon(corners))

    def write(
        self, sketch: Sketch, at: Place, words: str, corners: Corners, *, angle_deg: float = 0.0, middle: bool = False, bold: bool = False,
        height_mm: float = READ_MM,
    ) -> None:  # fmt: skip
        """Write words and remember where."""
        sketch.text(at, words, height_mm, anchor="middle" if middle else "start", angle_deg=angle_deg, bold=bold)
        self.written.append(corners)
        self.taken = self.taken.plus([FINE.polygon(corners)])


def write_words(sketch: Sketch, board: Board, *, peg_mm: float, blocked: list[Corners], studs: frozenset[str]) -> list[Corners]:
    """Write all of them, names of holders first, then peg numbers, since they must stand by what they name; gives back their outlines.

    `studs` are the connectors whose holder is a stud: nothing is written on those.
    """
    stamps = [FINE.line(item.path.corners, item.bundle_mm / 2 + 0.5) for item in board.stretches]
    stamps += [FINE.polygon(holder.corners) for holder in board.holders]
    stamps += [FINE.disc(peg.at, NEW_RING_MM / 2 if peg.is_new else peg_mm / 2 + 1.5) for peg in board.pegs]
    stamps += [FINE.polygon(corners) for corners in blocked]
    words = Words(Taken({}).plus(stamps))
    _holder_names(sketch, board, words, studs)
    _peg_numbers(sketch, board, words)
    _names(sketch, board, words, ("splice", "breakout"))
    _lengths(sketch, board, words)
    _names(sketch, board, words, ("clip", "end", "grommet"))
    return words.written


def _holder_names(sketch: Sketch, board: Board, words: Words, studs: frozenset[str]) -> None:
    """The name of each connector on its holder, or where that is too small for it, in the nearest free place."""
    beside = []
    for holder in board.holders:
        found = None if holder.connector in studs else _on_holder(holder)
        if found is None:
            beside.append(holder)
        else:
            at, angle, corners = found
            words.write(sketch, at, holder.connector, corners, angle_deg=angle, middle=True, bold=True, height_mm=HOLDER_NAME_MM)
    for holder in beside:
        width = text_width_mm(holder.connector, HOLDER_NAME_MM, bold=True) + 1.0
        places = list(_round_holder(holder, width))
        place = next((place for place in places if words.free(_line_box(place, width, HOLDER_NAME_MM))), places[0])
        box = _line_box(place, width, HOLDER_NAME_MM)
        words.write(sketch, place, holder.connector, box, bold=True, height_mm=HOLDER_NAME_MM)


def _on_holder(holder: Holder) -> tuple[Place, float, Corners] | None:
    """Where a name fits on a holder, clear of the line at its back and of its two screws: base line's middle, angle, corners."""
    width = text_width_mm(holder.connector, HOLDER_NAME_MM, bold=True)
    clear, back, screw = 1.0, 3.0, 7.0
    along = holder.length_mm - back - 2 * clear
    across = holder.width_mm - 2 * (screw if holder.width_mm > 16 else clear)
    middle = ahead(holder.at, holder.heading_deg, (holder.length_mm + back) / 2)
    turns = sorted(
        ((holder.heading_deg, along, across), (holder.heading_deg + 90.0, across, along)), key=lambda turn: abs(upright(turn[0]))
    )
    for heading, long_mm, high_mm in turns:
        if width <= long_mm and high_mm >= HOLDER_NAME_MM:
            angle = upright(heading)
            start = ahead(middle, angle, -width / 2)
            corners = rectangle(start, angle, length_mm=width, width_mm=HOLDER_NAME_MM)
            return ahead(middle, angle - 90.0, HOLDER_NAME_MM / 2), angle, corners
    return None


def _round_holder(holder: Holder, width: float) -> Iterator[Place]:
    """Places for a name round a holder, nearest to its outline first."""
    x, y = ahead(holder.at, holder.heading_deg, holder.length_mm / 2)
    places = []
    for ring in range(2, 40):
        for angle in range(0, 360, 15):
            middle = ahead((x, y), holder.heading_deg + angle, 3.0 * ring)
            corners = _line_box((middle[0] - width / 2, middle[1] - HOLDER_NAME_MM / 2), width, HOLDER_NAME_MM)
            left, right = corners[0], corners[1]
            gap = max(0.0, left[0] - x, x - right[0]) ** 2 + max(0.0, abs(middle[1] - y) - HOLDER_NAME_MM / 2) ** 2
            places.append((gap, ring, angle, left))
    yield from (place for *_, place in sorted(places))


def _peg_numbers(sketch: Sketch, board: Board, words: Words) -> None:
    for peg in board.pegs:
        number = str(peg.number)
        width = text_width_mm(number, READ_MM)
        offsets = [(dx, dy) for reach in (7.0, 10.0, 14.0) for dx, dy in _ring(reach, width)]
        places = [(peg.at[0] + dx, peg.at[1] + dy) for dx, dy in offsets]
        place = next((place for place in places if words.free(_line_box(place, width))), places[0])
        words.write(sketch, place, number, _line_box(place, width))
    for peg in board.pegs:
        if peg.was is not None:
            _was(sketch, peg.at, f"was {peg.was[0]:.0f} {peg.was[1]:.0f}", words)


def _was(sketch: Sketch, at: Place, spoken: str, words: Words) -> None:
    """Where a peg stood before its stretch moved, beside its ring where there is room; the list of pegs has it too."""
    width = text_width_mm(spoken, WAS_MM)
    for reach in (8.0, 11.0, 15.0, 20.0):
        for dx, dy in _ring(reach, width):
            place = at[0] + dx, at[1] + dy
            if words.free(_line_box(place, width, WAS_MM)):
                words.write(sketch, place, spoken, _line_box(place, width, WAS_MM), height_mm=WAS_MM)
                return


def _ring(reach: float, width: float) -> Iterator[Place]:
    """Offsets of a short word's lower left corner round a point: right, left, above, below, then the corners."""
    half = READ_MM / 2
    yield from ((reach, -half), (-reach - width, -half), (-width / 2, reach - half), (-width / 2, -reach - half))
    slant = 0.75 * reach
    yield from ((slant, slant - half), (slant, -slant - half), (-slant - width, slant - half), (-slant - width, -slant - half))


def tolerance_words(length_mm: float) -> str:
    """`640 +50/−0`: a nominal length is a minimum (IPC/WHMA-A-620B table 11-1); over 3 m as for 3 m."""
    rows = table("length_tolerances")
    row = next((row for row in rows if length_mm <= float(row["to_mm"])), rows[-1])
    return f"{length_mm:.0f} +{float(row['plus_mm']):.0f}/−{float(row['minus_mm']):.0f}"


def _lengths(sketch: Sketch, board: Board, words: Words) -> None:
    """The length of every run and tail along its line; of a run its name too, where there is room."""
    for item in board.stretches:
        for section in item.sections:
            length = tolerance_words(section.to_mm - section.from_mm)
            for spoken in (length,) if section.is_tail else (f"{section.ref}  {length}", length):
                found = _beside(item, section, spoken, words)
                if found is not None:
                    at, angle, corners = found
                    words.write(sketch, at, spoken, corners, angle_deg=angle, middle=True)
                    break


def _beside(item: BoardStretch, section: Section, spoken: str, words: Words) -> tuple[Place, float, Corners] | None:
    """A free place beside a section for words along it: base line, angle, and the corners they fill."""
    width = text_width_mm(spoken, READ_MM) * 1.05
    for share in (0.5, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85):
        place, heading = item.path.at(section.from_mm + (section.to_mm - section.from_mm) * share)
        angle = upright(heading)
        for side in (1.0, -1.0):
            # The word stands clear of the thickest part of its stretch, since that is what is kept free of words.
            off = item.bundle_mm / 2 + 4.5 if side > 0 else -(item.bundle_mm / 2 + 4.5 + READ_MM)
            at = ahead(place, angle + 90.0, off)
            start = ahead(ahead(at, angle, -width / 2), angle + 90.0, READ_MM / 2)
            corners = rectangle(start, angle, length_mm=width, width_mm=READ_MM)
            if words.free(corners):
                return at, angle, corners
    return None


def upright(angle_deg: float) -> float:
    """The angle at which words along a line read from the bottom or from the right: over -90 up to 90."""
    turned = math.fmod(angle_deg, 180.0)
    if turned > 90.0 + 1e-9:
        return turned - 180.0
    return turned + 180.0 if turned <= -90.0 + 1e-9 else turned


def _names(sketch: Sketch, board: Board, words: Words, kinds: tuple[str, ...]) -> None:
    for mark in board.marks:
        if mark.kind not in kinds:
            continue
        bold = mark.kind in ("breakout", "splice")
        width = text_width_mm(mark.ref, READ_MM, bold=bold)
        places = list(_round(mark, width))
        place = next((place for place in places if words.free(_line_box(place, width))), places[0])
        words.write(sketch, place, mark.ref, _line_box(place, width), bold=bold)


def _round(mark: BoardMark, width: float) -> Iterator[Place]:
    """Places for a name round a mark, nearest first: beside the line before along it."""
    for ring in (0.0, 5.0, 10.0, 16.0, 24.0, 36.0):
        for angle in (90.0, 270.0, 45.0, 135.0, 225.0, 315.0, 0.0, 180.0):
            direction = mark.heading_deg + angle
            x, y = ahead(mark.at, direction, mark.bundle_mm / 2 + 6.0 + ring)
            share = 0.5 - 0.5 * unit(direction)[0]
            yield x - share * width, y - READ_MM / 2


def _line_box(place: Place, width: float, height: float = READ_MM) -> Corners:
    """The corners of one line of words that begins at a place."""
    x, y = place
    return (x, y), (x + width, y), (x + width, y + height), (x, y + height)
