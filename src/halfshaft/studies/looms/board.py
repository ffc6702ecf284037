"""The board of a loom: its tree laid on a sheet at full size, with holders, pegs and everything that is marked on it.

Places are millimetres from the lower left corner of the sheet.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import BoardPeg, BoardWay
from halfshaft.studies.looms.fan import fan
from halfshaft.studies.looms.geometry import Path, Place, ahead, bounds, lines_apart_mm, rectangle
from halfshaft.studies.looms.kept import SAME_MM, Kept, kept_of, no_longer_there, row_of, same_way, wishes_of
from halfshaft.studies.looms.laying_order import HolderSize, wanted_mm2
from halfshaft.studies.looms.layout import COARSE, FINE, FRONT_MM, ROUNDS, Ask, Laid, lay_tree
from halfshaft.studies.looms.pegs import Block, Leg, Line, Peg, pegs_of
from halfshaft.studies.looms.raster import Grid, Stamp
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.studies.looms.splices import SplicePlace
from halfshaft.studies.looms.trees import Stretch, edges_of, loops_in, pieces_of, stretches_of
from halfshaft.studies.looms.ways import Room, Wish

# Round the loom the sheet keeps room for scale bars; at its lower right corner for the title block.
MARGIN_MM = 40.0
TITLE_BLOCK_MM = (230.0, 60.0)
STUD_MM = 22.0
COMMON_SHEET_MM = (2440.0, 1220.0)
BETWEEN_PIECES_MM = 60.0
CLEAR_OF_BLOCK_MM = 20.0
# Fine cells pack a board more tightly; on a big one they cost time and gain little.
MANY_STRETCHES = 100
# A sheet of which a loom would want more than this is not searched. One of which it would want more than the other is searched only
# where it is the one that was asked for, and not for long.
FULL, RATHER_FULL = 0.6, 0.35
# How much larger the next sheet is that is searched.
STEP_UP = 1.3
SHEETS_AT_MOST = 8
# Who stands at a flat board's edge reaches so far (loom practice, B14: 600 to 700 mm, common practice).
REACH_MM = 650.0


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
class Moves:
    """What has changed on a board since it was drilled: numbers of pegs, holders, and rows of `board_ways.csv` that name nothing any more.

    `anew` says that nothing of the drilled board could be kept.
    """

    new: tuple[int, ...]
    kept: tuple[int, ...]
    empty: tuple[int, ...]
    holders: tuple[str, ...]
    gone: tuple[str, ...]
    anew: bool


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
    moves: Moves | None = None
    let_go: tuple[str, ...] = ()
    crowded: str = ""

    @property
    def blocked(self) -> tuple[str, ...]:
        """Connectors with something in front of them, so that no counterpart or test plug goes on."""
        return tuple(holder.connector for holder in self.holders if any(_in_front(holder, self)))

    @property
    def out_of_reach(self) -> tuple[str, ...]:
        """Connectors too far from every edge for who stands there."""
        return tuple(
            holder.connector
            for holder in self.holders
            if min(*holder.at, self.size_mm[0] - holder.at[0], self.size_mm[1] - holder.at[1]) > REACH_MM
        )

    @property
    def fits(self) -> bool:
        """Whether it fits the sheet that was asked for."""
        return self.size_mm == self.asked_mm


@dataclass(frozen=True, kw_only=True, slots=True)
class _Job:
    """What a board is laid from."""

    trees: tuple[tuple[Stretch, ...], ...]
    holders: Mapping[str, HolderSize]
    bend_factor: float
    rows: tuple[BoardWay, ...]
    hands: Mapping[BoardWay, Mapping[tuple[str, str], Wish]]
    impossible: tuple[BoardWay, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Found:
    """How it was laid: every piece on one sheet, what was kept of each, and which rows by hand had to be let go."""

    size: tuple[float, float]
    pieces: tuple[Laid, ...]
    kept: tuple[Kept | None, ...]
    let_go: tuple[BoardWay, ...] = ()
    crowded: str = ""


def lay_board(conversion: Conversion, laid: LaidLoom, places: Mapping[str, SplicePlace]) -> Board | None:
    """The board of a loom, or None where it has none or is no tree (which the loom's own rules say)."""
    loom, edges = laid.loom, edges_of(laid)
    if loom.board_width_mm is None or loom.board_height_mm is None or not edges or any(True for _ in loops_in(edges)):
        return None
    asked = (loom.board_width_mm, loom.board_height_mm)
    trees = tuple(stretches_of(piece) for piece in pieces_of(edges))
    rows = tuple(row for row in conversion.board_ways if row.loom == loom.ref)
    hands = wishes_of(rows, [stretch for tree in trees for stretch in tree], conversion.shop.bend_radius_factor)
    job = _Job(
        trees=trees,
        holders={tail.connector: _holder_size(conversion, tail.connector) for tail in laid.tails},
        bend_factor=conversion.shop.bend_radius_factor,
        rows=rows,
        hands={row: wishes for row, wishes in hands.items() if wishes},
        impossible=tuple(row for row, wishes in hands.items() if not wishes),
    )
    holes = {peg.peg: (peg.x_mm, peg.y_mm) for peg in conversion.board_pegs if peg.loom == loom.ref}
    found = _on_the_drilled_board(job, asked, holes)
    anew = found is None and _was_drilled(job)
    if found is None:
        found, holes = _on_a_new_board(job, asked), {} if anew else holes
    return _assemble(conversion, laid, places, job, found, asked, holes, anew=anew)


def _was_drilled(job: _Job) -> bool:
    return any(row.x_mm is not None and row.set_by == "drilled" for row in job.rows)


def _on_the_drilled_board(job: _Job, asked: tuple[float, float], holes: Mapping[int, Place]) -> _Found | None:
    """The loom laid round what was drilled, or None where nothing was or where no way is found."""
    drilled = [*holes.values(), *((row.x_mm, row.y_mm) for row in job.rows if row.x_mm is not None and row.y_mm is not None)]
    if not drilled or all(row.x_mm is None for row in job.rows):
        return None
    width, height = max(x for x, _ in drilled), max(y for _, y in drilled)
    size = next((size for size in _sheets(asked) if size[0] >= width and size[1] >= height), None)
    for let_go in _less_and_less(job):
        found = None if size is None else _all_pieces(job, size, let_go, ROUNDS, keep=True)
        if found is not None:
            return found if any(found.kept) else None
    return None


def _on_a_new_board(job: _Job, asked: tuple[float, float]) -> _Found:
    """The loom laid on the sheet asked for, or on the smallest on which a way is found; if on none, as a fan."""
    for let_go in _less_and_less(job):
        long = all(row in let_go for row in job.hands) and not _is_full(job, asked, RATHER_FULL)
        found = None if _is_full(job, asked, FULL) else _all_pieces(job, asked, let_go, ROUNDS if long else ROUNDS[:1])
        if found is not None:
            return found
    # A breakout round which its branches find no room is as crowded on the largest sheet.
    roomy = (4 * max(asked[0], COMMON_SHEET_MM[0]), 4 * max(asked[1], COMMON_SHEET_MM[1]))
    for let_go in _less_and_less(job):
        # A small loom that finds no place there quickly is crowded; a big one may only be slow.
        big = sum(len(tree) for tree in job.trees) > MANY_STRETCHES
        found = _all_pieces(job, roomy, let_go, ROUNDS if big else ROUNDS[:1])
        if found is None:
            continue
        tried_mm2 = asked[0] * asked[1]
        for size in _sheets(asked):
            # Two sheets of much the same size are searched to the same end, so only one of them is.
            if size[0] * size[1] >= STEP_UP * tried_mm2 and not _is_full(job, size, RATHER_FULL):
                tried_mm2 = size[0] * size[1]
                smaller = _all_pieces(job, size, let_go, ROUNDS[:1])
                if smaller is not None:
                    return smaller
        return _cut_down(job, found)
    size, pieces = _sheet_round(tuple(fan(tree) for tree in job.trees), job.holders)
    crowded = [lay_tree(_ask(job, tree, roomy), rounds=ROUNDS[:1]).crowded for tree in job.trees]
    return _Found(
        size=size,
        pieces=pieces,
        kept=tuple(None for _ in pieces),
        let_go=(*job.impossible, *job.hands),
        crowded=" and ".join(f"{near} to {far}" for near, far in filter(None, crowded)),
    )


def _ask(job: _Job, tree: tuple[Stretch, ...], size: tuple[float, float]) -> Ask:
    return Ask(tree=tree, holders=job.holders, room=room_of(size), bend_factor=job.bend_factor, grid=COARSE)


def _cut_down(job: _Job, found: _Found) -> _Found:
    """The least sheet round a loom that was laid with more room than it needs."""
    left, bottom, right, top = bounds([corner for piece in found.pieces for corner in _corners(piece, job.holders)])
    moved = tuple(piece.moved(MARGIN_MM - left, MARGIN_MM + TITLE_BLOCK_MM[1] - bottom) for piece in found.pieces)
    return replace(found, size=_round_up(right - left + 2 * MARGIN_MM, top - bottom + 2 * MARGIN_MM + TITLE_BLOCK_MM[1]), pieces=moved)


def _round_up(width_mm: float, height_mm: float) -> tuple[float, float]:
    return math.ceil(width_mm / 10) * 10.0, math.ceil(height_mm / 10) * 10.0


def _less_and_less(job: _Job) -> Iterator[tuple[BoardWay, ...]]:
    """Rows by hand to let go: only those that are impossible as they stand, then each other one in turn, then all."""
    hands = tuple(job.hands)
    yield job.impossible
    if len(hands) > 1:
        yield from ((*job.impossible, row) for row in hands)
    if hands:
        yield (*job.impossible, *hands)


def _is_full(job: _Job, size: tuple[float, float], share: float) -> bool:
    """Whether the loom would want more than a share of a sheet's room, or a holder more than all of it. To search such a sheet takes long and comes to nothing."""
    room = room_of(size)
    if room.width_mm <= 0 or room.height_mm <= 0 or any(is_too_big(holder, room) for holder in job.holders.values()):
        return True
    return math.fsum(wanted_mm2(tree, job.holders) for tree in job.trees) > share * room.width_mm * room.height_mm


def is_too_big(holder: HolderSize, room: Room) -> bool:
    """Whether a holder finds no room for itself alone, however it is turned."""
    thin, long = sorted((holder.length_mm, holder.width_mm))
    return thin > min(room.width_mm, room.height_mm) or long > math.hypot(room.width_mm, room.height_mm)


def _holder_size(conversion: Conversion, connector: str) -> HolderSize:
    device, _, name = connector.partition(".")
    part = conversion.connector[device, name]
    return HolderSize(part.plug_length_mm or STUD_MM, part.plug_width_mm or STUD_MM)


def room_of(size: tuple[float, float]) -> Room:
    """What a sheet leaves for the loom inside its margins."""
    return Room(MARGIN_MM, MARGIN_MM, size[0] - MARGIN_MM, size[1] - MARGIN_MM)


def _sheets(asked: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """The sheet asked for, then several of it or of the common sheet of plywood joined: small before large, and narrow ones, over which one can reach, before square ones."""
    joined = [(across, up) for across in range(1, 5) for up in range(1, 5) if across * up <= SHEETS_AT_MOST]
    sizes = {(width * across, height * up) for width, height in (asked, COMMON_SHEET_MM) for across, up in joined}
    larger = [size for size in sizes if size[0] >= asked[0] and size[1] >= asked[1] and size != asked]
    yield asked
    yield from sorted(larger, key=lambda size: (size[0] * size[1], min(size), size))


def _all_pieces(
    job: _Job, size: tuple[float, float], let_go: tuple[BoardWay, ...], rounds: Sequence[int], *, keep: bool = False
) -> _Found | None:
    """Every piece of the loom on one sheet, each in the room that the others leave, or None."""
    room = room_of(size)
    if room.width_mm <= 0 or room.height_mm <= 0:
        return None
    wishes = {ends: wish for row, asks in job.hands.items() if row not in let_go for ends, wish in asks.items()}
    grid = FINE if sum(len(tree) for tree in job.trees) <= MANY_STRETCHES else COARSE
    keeps = [kept_of(job.rows, tree, wishes, job.bend_factor) if keep else None for tree in job.trees]
    # What is kept takes its place before what is free to go anywhere.
    order = sorted(range(len(job.trees)), key=lambda index: (keeps[index] is None, index))
    taken: list[Stamp] = [grid.box(size[0] - TITLE_BLOCK_MM[0], 0.0, size[0], TITLE_BLOCK_MM[1])]
    pieces: dict[int, Laid] = {}
    for index in order:
        tree = job.trees[index]
        outcome = lay_tree(
            Ask(tree=tree, holders=job.holders, room=room, bend_factor=job.bend_factor, grid=grid, taken=tuple(taken), kept=keeps[index], wishes=wishes),
            rounds=rounds,
        )  # fmt: skip
        if outcome.laid is None:
            return None
        pieces[index] = outcome.laid
        taken += _stamps(tree, outcome.laid, job.holders, grid)
    laid = tuple(pieces[index] for index in range(len(job.trees)))
    if not any(keeps):
        laid = _centred(laid, job.holders, size)
    return _Found(size=size, pieces=laid, kept=tuple(keeps), let_go=let_go)


def _stamps(tree: tuple[Stretch, ...], laid: Laid, holders: Mapping[str, HolderSize], grid: Grid) -> Iterator[Stamp]:
    """The cells that a piece takes, with half the room between pieces round it."""
    bundles = {frozenset((stretch.start, stretch.end)): stretch.bundle_mm for stretch in tree}
    for ends, path in laid.paths.items():
        yield grid.line(path.corners, bundles[frozenset(ends)] / 2 + BETWEEN_PIECES_MM / 2)
        for node, place, heading in ((ends[0], path.start, path.first_heading_deg + 180.0), (ends[1], path.end, path.last_heading_deg)):
            if node in holders:
                size = holders[node]
                yield grid.polygon(
                    rectangle(place, heading, length_mm=size.length_mm, width_mm=size.width_mm, margin_mm=BETWEEN_PIECES_MM / 2)
                )


def _centred(pieces: tuple[Laid, ...], holders: Mapping[str, HolderSize], size: tuple[float, float]) -> tuple[Laid, ...]:
    """All of it in the middle of the sheet, as far as the title block leaves that room."""
    left, bottom, right, top = bounds([corner for piece in pieces for corner in _corners(piece, holders)])
    dx, dy = (size[0] - right - left) / 2, (size[1] - top - bottom) / 2
    for share in ((1.0, 1.0), (0.0, 1.0), (1.0, 0.0)):
        moved = tuple(piece.moved(share[0] * dx, share[1] * dy) for piece in pieces)
        corners = [corner for piece in moved for corner in _corners(piece, holders)]
        if not any(x > size[0] - TITLE_BLOCK_MM[0] - CLEAR_OF_BLOCK_MM and y < TITLE_BLOCK_MM[1] + CLEAR_OF_BLOCK_MM for x, y in corners):
            return moved
    return pieces


def _corners(piece: Laid, holders: Mapping[str, HolderSize]) -> Iterator[Place]:
    """Places along everything that lies there, close enough to see whether the title block is free."""
    for (near, far), path in piece.paths.items():
        count = max(1, math.ceil(path.length_mm / 25.0))
        yield from (path.at(path.length_mm * step / count)[0] for step in range(count + 1))
        yield from path.corners
        for node, place, heading in ((near, path.start, path.first_heading_deg + 180.0), (far, path.end, path.last_heading_deg)):
            if node in holders:
                yield from rectangle(place, heading, length_mm=holders[node].length_mm, width_mm=holders[node].width_mm)


def _sheet_round(pieces: tuple[Laid, ...], holders: Mapping[str, HolderSize]) -> tuple[tuple[float, float], tuple[Laid, ...]]:
    """A sheet on which these pieces have room one above the other, over the title block."""
    boxes = [bounds(list(_corners(piece, holders))) for piece in pieces]
    width = max(right - left for left, _, right, _ in boxes) + 2 * MARGIN_MM
    at, moved = MARGIN_MM + TITLE_BLOCK_MM[1], []
    for piece, (left, bottom, _, top) in zip(pieces, boxes, strict=True):
        moved.append(piece.moved(MARGIN_MM - left, at - bottom))
        at += top - bottom + BETWEEN_PIECES_MM
    return _round_up(width, at + MARGIN_MM), tuple(moved)


def _assemble(
    conversion: Conversion, laid: LaidLoom, places: Mapping[str, SplicePlace], job: _Job, found: _Found, asked: tuple[float, float],
    holes: Mapping[int, Place], *, anew: bool,
) -> Board:  # fmt: skip
    stretches: list[BoardStretch] = []
    lines: list[Line] = []
    for tree, piece, kept in zip(job.trees, found.pieces, found.kept, strict=True):
        by_ends = {frozenset((stretch.start, stretch.end)): stretch for stretch in tree}
        for (near, far), path in piece.paths.items():
            item = _board_stretch(by_ends[frozenset((near, far))], near, far, path)
            stays = kept is not None and kept.paths.get((near, far)) == path
            stretches.append(item)
            lines.append(_line(item, kept.shifts[near, far] if kept is not None and stays else (0.0, 0.0)))
    holders = tuple(_holders(stretches, job.holders))
    pegs = pegs_of(
        lines,
        _legs(stretches),
        peg_mm=conversion.shop.peg_diameter_mm,
        pitch_mm=conversion.shop.peg_pitch_mm,
        blocks=[Block(holder.at, holder.heading_deg, holder.length_mm, holder.width_mm) for holder in holders],
        holes=holes,
    )
    return Board(
        loom=laid.loom.ref,
        size_mm=found.size,
        asked_mm=asked,
        stretches=tuple(stretches),
        holders=holders,
        pegs=pegs,
        marks=tuple(_marks(conversion, laid, places, stretches)),
        method=" and ".join(dict.fromkeys(piece.method for piece in found.pieces)),
        moves=_moves(job, stretches, pegs, holes, anew=anew),
        let_go=tuple(f"{row.from_node} to {row.to_node}" for row in found.let_go),
        crowded=found.crowded,
    )


def _line(item: BoardStretch, moved_mm: Place) -> Line:
    """A stretch as pegs see it, always walked from the same end, so that it wants the same pegs whichever end was laid first."""
    sections = [(section.from_mm, section.to_mm, section.over_mm) for section in item.sections]
    if item.start <= item.end:
        return Line(item.path, sections, moved_mm)
    whole_mm = sections[-1][1]
    return Line(item.path.backwards(), [(whole_mm - to, whole_mm - start, over) for start, to, over in reversed(sections)], moved_mm)


def _moves(job: _Job, stretches: Sequence[BoardStretch], pegs: tuple[Peg, ...], holes: Mapping[int, Place], *, anew: bool) -> Moves | None:
    """What has changed since the board was drilled, or None where it was not."""
    if not holes and not job.rows:
        return None
    used = {peg.number for peg in pegs}
    everything = [stretch for tree in job.trees for stretch in tree]
    return Moves(
        new=tuple(peg.number for peg in pegs if peg.is_new),
        kept=tuple(sorted(used & set(holes))),
        empty=tuple(sorted(set(holes) - used)),
        holders=tuple(sorted(_moved_holders(job, stretches))),
        gone=tuple(f"{row.from_node} to {row.to_node}" for row in no_longer_there(job.rows, everything)),
        anew=anew,
    )


def _moved_holders(job: _Job, stretches: Sequence[BoardStretch]) -> Iterator[str]:
    """Connectors whose tail does not begin where it was drilled; that a tail has another length no row can tell."""
    drilled = {frozenset((row.from_node, row.to_node)): row for row in job.rows if row.set_by == "drilled"}
    for item in stretches:
        first, last = item.sections[0], item.sections[-1]
        for connector, at_mm, other_mm in ((item.start, 0.0, first.to_mm), (item.end, last.to_mm, last.from_mm)):
            row = next((row for ends, row in drilled.items() if connector in ends), None) if connector in job.holders else None
            if row is None or row.x_mm is None or row.y_mm is None:
                continue
            now = item.path.at(at_mm if row.from_node == connector else other_mm)[0]
            if math.dist(now, (row.x_mm, row.y_mm)) > SAME_MM:
                yield connector


def drilled_rows(laid: LaidLoom, board: Board, rows: Sequence[BoardWay]) -> tuple[BoardWay, ...]:
    """The rows that keep a board as it lies, one a run or tail. What was set by hand stays so, and a row that is still right stays as it is."""
    known = {
        (row.from_node, row.to_node): row
        for row in rows
        if row.loom == board.loom and f"{row.from_node} to {row.to_node}" not in board.let_go
    }
    made: dict[tuple[str, str], BoardWay] = {}
    for item in board.stretches:
        between = [_shared_point(laid, before, after) for before, after in itertools.pairwise(item.sections)]
        nodes = (item.start, *between, item.end)
        for section, (here, there) in zip(item.sections, itertools.pairwise(nodes), strict=True):
            path = item.path.cut(section.from_mm, section.to_mm)
            if (there, here) in known:
                here, there, path = there, here, path.backwards()
            row = row_of(board.loom, here, there, path)
            old = known.get((here, there))
            if old is not None and old.set_by == "hand":
                row = row.model_copy(update={"set_by": "hand"})
            made[here, there] = old if old is not None and same_way(old, row) else row
    by_hand = {ends: row for ends, row in known.items() if row.set_by == "hand"}
    order = [*(ends for ends in known if ends in made or ends in by_hand), *(ends for ends in made if ends not in known)]
    return tuple(made.get(ends) or by_hand[ends] for ends in order)


def drilled_pegs(board: Board, pegs: Sequence[BoardPeg]) -> tuple[BoardPeg, ...]:
    """Every hole of a board: those in use, and those that are empty now but still there, so that no number is used twice."""
    anew = board.moves is not None and board.moves.anew
    holes = {} if anew else {peg.peg: peg for peg in pegs if peg.loom == board.loom}
    for peg in board.pegs:
        holes.setdefault(peg.number, BoardPeg(loom=board.loom, peg=peg.number, x_mm=round(peg.at[0], 2), y_mm=round(peg.at[1], 2)))
    return tuple(holes[number] for number in sorted(holes))


def _in_front(holder: Holder, board: Board) -> Iterator[str]:
    """What lies where this holder's counterpart is pushed on."""
    ahead_of = rectangle(
        ahead(holder.at, holder.heading_deg, holder.length_mm), holder.heading_deg, length_mm=FRONT_MM, width_mm=holder.width_mm
    )
    zone = (*ahead_of, ahead_of[0])
    middle = ahead(holder.at, holder.heading_deg, holder.length_mm + FRONT_MM / 2)
    reach = FRONT_MM + holder.width_mm
    for item in board.stretches:
        left, bottom, right, top = bounds(item.path.corners)
        if (
            left - reach < middle[0] < right + reach
            and bottom - reach < middle[1] < top + reach
            and lines_apart_mm(zone, item.path.corners) < item.bundle_mm / 2
        ):
            yield f"{item.start} to {item.end}"
    for other in board.holders:
        if (
            other is not holder
            and math.dist(other.at, middle) < reach + other.length_mm + other.width_mm
            and lines_apart_mm(zone, (*other.corners, other.corners[0])) <= 0.0
        ):
            yield other.connector


def _board_stretch(stretch: Stretch, near: str, far: str, path: Path) -> BoardStretch:
    """The runs and tails along a path, walked from its near end."""
    edges = stretch.edges if stretch.start == near else tuple(reversed(stretch.edges))
    sections, at_mm = [], 0.0
    for edge in edges:
        sections.append(Section(edge.ref, at_mm, at_mm + edge.length_mm, edge.bundle_mm, edge.is_tail, edge.over_mm))
        at_mm += edge.length_mm
    return BoardStretch(near, far, path, tuple(sections))


def _holders(stretches: list[BoardStretch], sizes: Mapping[str, HolderSize]) -> Iterator[Holder]:
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


def outline(board: Board) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of all that lies on the board."""
    return bounds(
        [corner for item in board.stretches for corner in item.path.corners]
        + [corner for holder in board.holders for corner in holder.corners]
    )
