"""The board of a loom: its tree laid on a sheet at full size, with holders, pegs and everything that is marked on it.

Places are millimetres from the lower left corner of the sheet.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding
from halfshaft.studies.looms.geometry import Path, Place, Placing, bounds, rectangle
from halfshaft.studies.looms.laying_order import HolderSize
from halfshaft.studies.looms.layout import COARSE, FINE, Laid, fan, lay_in_sheet
from halfshaft.studies.looms.pegs import Leg, Peg, pegs_of
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.studies.looms.splices import SplicePlace
from halfshaft.studies.looms.trees import Stretch, edges_of, loops_in, pieces_of, stretches_of

# Round the loom the sheet keeps room for scale bars; at its lower right corner for the title block.
MARGIN_MM = 40.0
TITLE_BLOCK_MM = (230.0, 60.0)
STUD_MM = 22.0
COMMON_SHEET_MM = (2440.0, 1220.0)
BETWEEN_PIECES_MM = 60.0
# A search over a big tree keeps fewer unfinished boards, so that its time grows no faster than the tree.
BEAM_WORK = 400
# Fine cells pack a board more tightly; on a big one they cost time and gain little.
MANY_STRETCHES = 80


@dataclass(frozen=True, slots=True)
class Section:
    """One run or tail as it lies on the board: from where to where along its stretch, how thick bare and over a tube."""

    ref: str
    from_mm: float
    to_mm: float
    bundle_mm: float
    is_tail: bool
    over_mm: float


@dataclass(frozen=True, slots=True)
class BoardStretch:
    """A stretch of bundle on the board."""

    start: str
    end: str
    path: Path
    sections: tuple[Section, ...]

    @property
    def bundle_mm(self) -> float:
        """The thickest that it is anywhere, over any tube."""
        return max(section.over_mm for section in self.sections)


@dataclass(frozen=True, slots=True)
class Holder:
    """What holds a connector: from its back along the heading."""

    connector: str
    at: Place
    heading_deg: float
    length_mm: float
    width_mm: float

    @property
    def corners(self) -> tuple[Place, ...]:
        """Its outline."""
        return rectangle(self.at, self.heading_deg, length_mm=self.length_mm, width_mm=self.width_mm)


@dataclass(frozen=True, slots=True)
class BoardMark:
    """A clip, grommet, breakout or splice on the board."""

    ref: str
    kind: str
    at: Place
    heading_deg: float
    bundle_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Board:
    """A board. `asked_mm` is the sheet that the conversion names, `size_mm` the one that it takes."""

    loom: str
    size_mm: tuple[float, float]
    asked_mm: tuple[float, float]
    stretches: tuple[BoardStretch, ...]
    holders: tuple[Holder, ...]
    pegs: tuple[Peg, ...]
    marks: tuple[BoardMark, ...]
    method: str

    @property
    def fits(self) -> bool:
        """Whether it fits the sheet that was asked for."""
        return self.size_mm == self.asked_mm


def lay_board(conversion: Conversion, laid: LaidLoom, places: Mapping[str, SplicePlace]) -> Board | None:
    """The board of a loom, or None where it has none or is no tree (which the loom's own rules say)."""
    loom, edges = laid.loom, edges_of(laid)
    if loom.board_width_mm is None or loom.board_height_mm is None or not edges or any(True for _ in loops_in(edges)):
        return None
    asked = (loom.board_width_mm, loom.board_height_mm)
    trees = [stretches_of(piece) for piece in pieces_of(edges)]
    holders = {tail.connector: _holder_size(conversion, tail.connector) for tail in laid.tails}
    bend_factor = conversion.shop.bend_radius_factor
    for size in _sheets(asked):
        found, crowded = _all_pieces(trees, holders, size, bend_factor)
        if found is not None:
            return _assemble(conversion, laid, places, trees, holders, found, size, asked)
        if crowded is not None:
            break
    pieces = [fan(tree) for tree in trees]
    size = _sheet_round(pieces, holders)
    return _assemble(conversion, laid, places, trees, holders, pieces, size, asked)


def _holder_size(conversion: Conversion, connector: str) -> HolderSize:
    device, _, name = connector.partition(".")
    part = conversion.connector[device, name]
    return HolderSize(part.plug_length_mm or STUD_MM, part.plug_width_mm or STUD_MM)


def _sheets(asked: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """The sheet asked for, several of it joined, and then the common sheet of plywood and several of that."""
    joined = ((1, 1), (1, 2), (2, 1), (2, 2))
    sizes = [(width * across, height * up) for width, height in (asked, COMMON_SHEET_MM) for across, up in joined]
    yield from (size for size in dict.fromkeys(sizes) if size[0] >= asked[0] and size[1] >= asked[1])


def _all_pieces(
    trees: list[tuple[Stretch, ...]], holders: dict[str, HolderSize], size: tuple[float, float], bend_factor: float
) -> tuple[list[Laid] | None, str | None]:
    """Every piece of the loom within one sheet, one above the other, or None; and a breakout too crowded for any sheet."""
    width, height = size[0] - 2 * MARGIN_MM, size[1] - 2 * MARGIN_MM
    pieces: list[Laid] = []
    for tree in trees:
        if width <= 0 or height <= 0:
            return None, None
        outcome = lay_in_sheet(
            tree, holders, width_mm=width, height_mm=height, bend_factor=bend_factor,
            beam=max(2, min(3, BEAM_WORK // len(tree))), grid=FINE if len(tree) <= MANY_STRETCHES else COARSE,
        )  # fmt: skip
        if outcome.laid is None:
            return None, outcome.crowded
        _, bottom, _, top = outcome.laid.box(holders)
        height -= top - bottom + BETWEEN_PIECES_MM
        pieces.append(outcome.laid)
    return pieces, None


def _sheet_round(pieces: list[Laid], holders: dict[str, HolderSize]) -> tuple[float, float]:
    boxes = [laid.box(holders) for laid in pieces]
    width = max(right - left for left, _, right, _ in boxes) + 2 * MARGIN_MM
    height = math.fsum(top - bottom + BETWEEN_PIECES_MM for _, bottom, _, top in boxes) + 2 * MARGIN_MM + TITLE_BLOCK_MM[1]
    return math.ceil(width / 10) * 10.0, math.ceil(height / 10) * 10.0


def _assemble(
    conversion: Conversion, laid: LaidLoom, places: Mapping[str, SplicePlace], trees: list[tuple[Stretch, ...]], sizes: dict[str, HolderSize],
    pieces: list[Laid], size: tuple[float, float], asked: tuple[float, float],
) -> Board:  # fmt: skip
    stretches: list[BoardStretch] = []
    for tree, piece, placing in zip(trees, pieces, _placings(pieces, sizes, size), strict=True):
        by_ends = {frozenset((stretch.start, stretch.end)): stretch for stretch in tree}
        for (near, far), path in piece.paths.items():
            stretches.append(_board_stretch(by_ends[frozenset((near, far))], near, far, path.placed(placing)))
    holders = tuple(_holders(stretches, sizes))
    legs = _legs(stretches)
    return Board(
        loom=laid.loom.ref,
        size_mm=size,
        asked_mm=asked,
        stretches=tuple(stretches),
        holders=holders,
        pegs=pegs_of(
            [(item.path, [(s.from_mm, s.to_mm, s.over_mm) for s in item.sections]) for item in stretches],
            legs,
            peg_mm=conversion.shop.peg_diameter_mm,
            pitch_mm=conversion.shop.peg_pitch_mm,
        ),
        marks=tuple(_marks(conversion, laid, places, stretches)),
        method=" and ".join(dict.fromkeys(piece.method for piece in pieces)),
    )


def _placings(pieces: list[Laid], sizes: dict[str, HolderSize], size: tuple[float, float]) -> list[Placing]:
    """Pieces one above the other in the middle of the sheet, turned over where that keeps the title block clear."""
    boxes = [piece.box(sizes) for piece in pieces]
    total = math.fsum(top - bottom for _, bottom, _, top in boxes) + BETWEEN_PIECES_MM * (len(boxes) - 1)
    at, placings = (size[1] + total) / 2, []
    for piece, (left, bottom, right, top) in zip(pieces, boxes, strict=True):
        at -= top - bottom
        options = []
        for flip_x, flip_y in ((False, False), (False, True), (True, False), (True, True)):
            low_x, low_y = (-right if flip_x else left), (-top if flip_y else bottom)
            spare = size[0] - (right - left)
            for dx in (spare / 2, MARGIN_MM):
                options.append(Placing(flip_x, flip_y, dx - low_x, at - low_y))
        placings.append(min(options, key=lambda option: _in_the_way(piece, sizes, option, size)))
        at -= BETWEEN_PIECES_MM
    return placings


def _in_the_way(piece: Laid, sizes: dict[str, HolderSize], placing: Placing, size: tuple[float, float]) -> int:
    """How many corners of the loom lie where the title block goes."""
    count = 0
    for (_, far), path in piece.paths.items():
        moved = path.placed(placing)
        places = [moved.at(moved.length_mm * share / 10)[0] for share in range(11)]
        if far in sizes:
            places += rectangle(moved.end, moved.last_heading_deg, length_mm=sizes[far].length_mm, width_mm=sizes[far].width_mm)
        count += sum(x > size[0] - TITLE_BLOCK_MM[0] and y < TITLE_BLOCK_MM[1] for x, y in places)
    return count


def _board_stretch(stretch: Stretch, near: str, far: str, path: Path) -> BoardStretch:
    """The runs and tails along a path, walked from its near end."""
    edges = stretch.edges if stretch.start == near else tuple(reversed(stretch.edges))
    sections, at_mm = [], 0.0
    for edge in edges:
        sections.append(Section(edge.ref, at_mm, at_mm + edge.length_mm, edge.bundle_mm, edge.is_tail, edge.over_mm))
        at_mm += edge.length_mm
    return BoardStretch(near, far, path, tuple(sections))


def _holders(stretches: list[BoardStretch], sizes: dict[str, HolderSize]) -> Iterator[Holder]:
    for item in stretches:
        if item.start in sizes:
            yield Holder(
                item.start,
                item.path.start,
                (item.path.first_heading_deg + 180.0) % 360.0,
                sizes[item.start].length_mm,
                sizes[item.start].width_mm,
            )
        if item.end in sizes:
            yield Holder(item.end, item.path.end, item.path.last_heading_deg % 360.0, sizes[item.end].length_mm, sizes[item.end].width_mm)


def _legs(stretches: list[BoardStretch]) -> dict[str, list[Leg]]:
    """What leaves each breakout: heading, thickness and how far it goes straight."""
    legs: dict[str, list[Leg]] = defaultdict(list)
    for item in stretches:
        first, last = item.path.pieces[0], item.path.pieces[-1]
        legs[item.start].append(Leg(item.path.start, item.path.first_heading_deg % 360.0, item.sections[0].over_mm, first.length_mm))
        legs[item.end].append(Leg(item.path.end, (item.path.last_heading_deg + 180.0) % 360.0, item.sections[-1].over_mm, last.length_mm))
    return {node: found for node, found in sorted(legs.items()) if len(found) > 1}


def _marks(conversion: Conversion, laid: LaidLoom, places: Mapping[str, SplicePlace], stretches: list[BoardStretch]) -> Iterator[BoardMark]:
    for item in stretches:
        for before, after in zip(item.sections, item.sections[1:], strict=False):
            place, heading = item.path.at(before.to_mm)
            yield BoardMark(
                _shared_point(laid, before, after),
                conversion.point[_shared_point(laid, before, after)].kind,
                place,
                heading,
                max(before.over_mm, after.over_mm),
            )
    for node in dict.fromkeys(node for item in stretches for node in (item.start, item.end) if node in conversion.point):
        item = next(item for item in stretches if node in (item.start, item.end))
        place = item.path.start if item.start == node else item.path.end
        yield BoardMark(node, "breakout", place, 0.0, item.bundle_mm)
    used = {end.pin for wire in laid.wires for end in (wire.start, wire.end) if end.is_splice}
    for splice in conversion.splices:
        if splice.ref in used and splice.ref in places:
            yield from _splice_mark(laid, places[splice.ref], stretches)


def _shared_point(laid: LaidLoom, before: Section, after: Section) -> str:
    return next(iter(sorted(_ends(laid, before) & _ends(laid, after))))


def _ends(laid: LaidLoom, section: Section) -> set[str]:
    if section.is_tail:
        return {tail.point for tail in laid.tails if section.ref == f"tail {tail.connector}"}
    return {node for run in laid.runs if run.run == section.ref for node in (run.start, run.end)}


def _splice_mark(laid: LaidLoom, splice: SplicePlace, stretches: list[BoardStretch]) -> Iterator[BoardMark]:
    for item in stretches:
        for index, section in enumerate(item.sections):
            if section.ref != splice.run or section.is_tail:
                continue
            ends = _ends(laid, section)
            first = item.start if index == 0 else _shared_point(laid, item.sections[index - 1], section)
            # With a loop at one point (a run from a point to itself) there is no first end; such runs are refused.
            from_first = (
                splice.at_mm
                if splice.from_point == first or splice.from_point not in ends
                else section.to_mm - section.from_mm - splice.at_mm
            )
            along = section.from_mm + min(max(from_first, 0.0), section.to_mm - section.from_mm)
            place, heading = item.path.at(along)
            yield BoardMark(splice.splice, "splice", place, heading, section.over_mm)


def board_findings(boards: dict[str, Board]) -> Iterator[Finding]:
    """All rules about boards."""
    for board in boards.values():
        if not board.fits:
            asked, size = board.asked_mm, board.size_mm
            yield Finding(
                rule="looms.board-too-small",
                level="fix",
                about=(board.loom,),
                text=f"No way was found to lay loom {board.loom} on a sheet of {asked[0]:.0f} x {asked[1]:.0f} mm; it is laid on {size[0]:.0f} x {size[1]:.0f} mm. The search proves nothing: a longer tail at a crowded point, or a shop that turns a branch by hand, may find one. Look where holders stand close.",
                value=max(size[0] / asked[0], size[1] / asked[1]),
                limit=1.0,
                unit="sheets",
                basis=Basis("common practice", "sheet named for this loom in looms.csv"),
            )


def outline(board: Board) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of all that lies on the board."""
    return bounds(
        [corner for item in board.stretches for corner in item.path.corners]
        + [corner for holder in board.holders for corner in holder.corners]
    )
