"""What the rows of `board_ways.csv` say about a loom as it is now: what was turned by hand, and what lies where it was drilled.

A row tells how one run or tail lies: where it begins, its heading, its bends. A stretch is kept where there is a row for each of its runs and
they still go on from one another. When a length has changed, what hangs beyond moves: the part of the board with most on it stays.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from halfshaft.model.wires import BoardWay
from halfshaft.studies.looms.geometry import Path, Place, Straight, turn_between
from halfshaft.studies.looms.laying_order import bend_mm
from halfshaft.studies.looms.trees import Edge, Stretch
from halfshaft.studies.looms.ways import Wish, path_of

# Rows are written to the hundredth of a millimetre and to a thousandth of a degree.
SAME_MM, SAME_DEG = 0.05, 0.01
Bends = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """What stays of a drilled board: the node that everything is measured from, and the lines that go out from it; how far each was moved."""

    root: str
    place: Place
    paths: Mapping[tuple[str, str], Path]
    shifts: Mapping[tuple[str, str], Place]


def bends_of(row: BoardWay) -> Bends:
    """The bends of a row, each as straight before it, turn, radius."""
    first = (
        () if row.before_mm is None or row.turn_deg is None or row.radius_mm is None else ((row.before_mm, row.turn_deg, row.radius_mm),)
    )
    more = tuple((float(before), float(turn), float(radius)) for before, turn, radius in (words.split() for words in row.more_bends))
    return (*first, *more)


def row_of(loom: str, from_node: str, to_node: str, path: Path) -> BoardWay:
    """The row that keeps a run or tail as it lies."""
    rounded = tuple((round(before, 3), round(turn, 6), round(radius, 3)) for before, turn, radius in path.bends)
    first, more = (rounded[0], rounded[1:]) if rounded else (None, ())
    return BoardWay(
        loom=loom, from_node=from_node, to_node=to_node, set_by="drilled", heading_deg=_whole_turn(round(path.first_heading_deg % 360.0, 6)),
        before_mm=first[0] if first else None, turn_deg=first[1] if first else None, radius_mm=first[2] if first else None,
        more_bends=tuple(" ".join(_number(value) for value in bend) for bend in more),
        x_mm=round(path.start[0], 2) + 0.0, y_mm=round(path.start[1], 2) + 0.0,
    )  # fmt: skip


def same_way(one: BoardWay, other: BoardWay) -> bool:
    """Whether two rows of one run or tail say the same, but for rounding."""
    if one.x_mm is None or one.y_mm is None or other.x_mm is None or other.y_mm is None or one.set_by != other.set_by:
        return False
    near = (
        math.dist((one.x_mm, one.y_mm), (other.x_mm, other.y_mm)) < SAME_MM and turn_between(one.heading_deg, other.heading_deg) < SAME_DEG
    )
    bends = list(zip(bends_of(one), bends_of(other), strict=False))
    return near and len(bends_of(one)) == len(bends_of(other)) and all(math.dist(here, there) < SAME_MM for here, there in bends)


def _whole_turn(heading_deg: float) -> float:
    return 0.0 if heading_deg == 360.0 else heading_deg + 0.0


def _number(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")


def wishes_of(rows: Sequence[BoardWay], tree: Sequence[Stretch], bend_factor: float) -> dict[BoardWay, dict[tuple[str, str], Wish]]:
    """Each row set by hand that still names a stretch, with what it asks of that stretch, walked from either end.

    Nothing at all, where the stretch is too short for the bends or its bundle too thick for them.
    """
    found: dict[BoardWay, dict[tuple[str, str], Wish]] = {}
    for row in rows:
        stretch = next((item for item in tree if _begins(row, item)), None)
        if row.set_by != "hand" or stretch is None:
            continue
        far = stretch.end if stretch.start == row.from_node else stretch.start
        # Bends of one run of several are no bends of the whole stretch: then only the heading is a wish.
        bends = bends_of(row) if row.to_node == far else ()
        heading = row.heading_deg % 360.0
        path = path_of((0.0, 0.0), heading, bends, stretch.length_mm)
        if path is None or any(radius < bend_factor * stretch.bundle_mm - 1e-9 for _, _, radius in bends):
            found[row] = {}
            continue
        found[row] = {
            (row.from_node, far): Wish(heading, at_far_end=False, bends=bends or None),
            (far, row.from_node): Wish((heading + 180.0) % 360.0, at_far_end=True, bends=path.backwards().bends if bends else None),
        }
    return found


def _begins(row: BoardWay, stretch: Stretch) -> bool:
    """Whether a row says how this stretch leaves one of its ends."""
    if row.from_node not in (stretch.start, stretch.end):
        return False
    return row.to_node in (stretch.start, stretch.end, *(mark.point for mark in stretch.marks)) and row.to_node != row.from_node


def kept_of(rows: Sequence[BoardWay], tree: Sequence[Stretch], wishes: Mapping[tuple[str, str], Wish], bend_factor: float) -> Kept | None:
    """What can stay of a drilled board, or None where nothing was drilled or nothing of it is left."""
    drilled = [row for row in rows if row.x_mm is not None and row.y_mm is not None]
    was: dict[str, Place] = {row.from_node: (row.x_mm, row.y_mm) for row in drilled if row.x_mm is not None and row.y_mm is not None}
    by_ends = {(row.from_node, row.to_node): row for row in drilled}
    shapes: dict[tuple[str, str], Path] = {}
    for stretch in tree:
        shape = _shape_of(stretch, by_ends, bend_factor)
        wish = wishes.get((stretch.start, stretch.end))
        if shape is not None and (wish is None or _agrees(shape, wish)):
            shapes[stretch.start, stretch.end] = shape
    root = _heaviest(shapes, was)
    return None if root is None else _from(root, shapes, was)


def _agrees(shape: Path, wish: Wish) -> bool:
    heading = shape.last_heading_deg if wish.at_far_end else shape.first_heading_deg
    return turn_between(heading, wish.heading_deg) < SAME_DEG


def _nodes_of(stretch: Stretch) -> tuple[str, ...]:
    return stretch.start, *(mark.point for mark in stretch.marks), stretch.end


def _shape_of(stretch: Stretch, rows: Mapping[tuple[str, str], BoardWay], bend_factor: float) -> Path | None:
    """How a stretch was drilled, at the length that it has now, from its own start.

    None where a row is missing, where it does not fit any more, or where the bundle has become too thick for a bend.
    """
    nodes = _nodes_of(stretch)
    parts: list[Path] = []
    for edge, (here, there) in zip(stretch.edges, itertools.pairwise(nodes), strict=True):
        part = _part(edge, here, there, rows)
        if part is None:
            return None
        parts.append(part)
    whole = _joined(parts, bend_mm(stretch, bend_factor))
    if whole is None or any(radius < bend_factor * stretch.bundle_mm - 1e-9 for _, _, radius in whole.bends):
        return None
    return whole


def _part(edge: Edge, here: str, there: str, rows: Mapping[tuple[str, str], BoardWay]) -> Path | None:
    row, backwards = rows.get((here, there)), False
    if row is None:
        row, backwards = rows.get((there, here)), True
    if row is None:
        return None
    path = _fitted(row, edge.length_mm)
    return path.backwards() if path is not None and backwards else path


def _fitted(row: BoardWay, length_mm: float) -> Path | None:
    """A row at a length. What is missing is taken out of the last straight, then out of those before the bends, the last first."""
    bends = list(bends_of(row))
    short_mm = math.fsum(before + radius * math.radians(abs(turn)) for before, turn, radius in bends) - length_mm
    for index in reversed(range(len(bends))):
        before, turn, radius = bends[index]
        taken = min(max(short_mm, 0.0), before)
        bends[index] = (before - taken, turn, radius)
        short_mm -= taken
    return None if short_mm > 1e-9 else path_of((0.0, 0.0), row.heading_deg % 360.0, bends, length_mm)


def _joined(parts: Sequence[Path], radius_mm: float) -> Path | None:
    """Parts one after the other. Where a breakout is gone at which the bundle turned, the corner becomes a bend between the same two places."""
    runs = [parts[0]]
    for part in parts[1:]:
        onward = part.moved(runs[-1].end[0] - part.start[0], runs[-1].end[1] - part.start[1])
        if turn_between(runs[-1].last_heading_deg, onward.first_heading_deg) > SAME_DEG:
            runs.append(onward)
        else:
            runs[-1] = _merged(Path((*runs[-1].pieces, *onward.pieces)))
    if len(runs) == 1:
        return runs[0]
    return _rounded(runs[0], runs[1], radius_mm) if len(runs) == 2 and not runs[0].bends and not runs[1].bends else None


def _rounded(first: Path, second: Path, radius_mm: float) -> Path | None:
    """Two straights that meet in a corner as straight, bend, straight between the same ends and of the same length.

    A bend cuts the corner, so the corner is pushed out until the length is right (by halving, to a millionth of a millimetre).
    """
    start, corner, end = first.start, first.end, second.end
    length_mm = first.length_mm + second.length_mm
    out = (2 * corner[0] - start[0] - end[0], 2 * corner[1] - start[1] - end[1])
    size = math.hypot(*out)
    if size < SAME_MM:
        return None

    def bent(by_mm: float) -> tuple[float, float, float, float]:
        """Heading, straight before the bend, turn, and the whole length, with the corner pushed out by so much."""
        x, y = corner[0] + by_mm * out[0] / size, corner[1] + by_mm * out[1] / size
        heading = math.degrees(math.atan2(y - start[1], x - start[0]))
        turn = (math.degrees(math.atan2(end[1] - y, end[0] - x)) - heading + 180.0) % 360.0 - 180.0
        cut_mm = radius_mm * math.tan(math.radians(abs(turn)) / 2)
        before, after = math.dist(start, (x, y)) - cut_mm, math.dist((x, y), end) - cut_mm
        whole = before + after + radius_mm * math.radians(abs(turn)) if min(before, after) >= 0 else -math.inf
        return heading, before, turn, whole

    low, high = 0.0, length_mm / 4
    if bent(high)[3] < length_mm:
        return None
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if bent(middle)[3] >= length_mm else (middle, high)
    heading, before, turn, _ = bent(high)
    return path_of(start, heading % 360.0, ((before, turn, radius_mm),), length_mm)


def _merged(path: Path) -> Path:
    """Straights that go on from one another as one, and a bend that lies over several runs as one bend again."""
    bends: list[tuple[float, float, float]] = []
    for before_mm, turn_deg, radius_mm in _straight_on(path).bends:
        last = bends[-1] if bends else None
        if last and before_mm < SAME_MM and radius_mm == last[2] and (turn_deg > 0) == (last[1] > 0):
            bends[-1] = (last[0], last[1] + turn_deg, radius_mm)
        else:
            bends.append((before_mm, turn_deg, radius_mm))
    return path_of(path.start, path.first_heading_deg, bends, path.length_mm) or path


def _straight_on(path: Path) -> Path:
    pieces = [path.pieces[0]]
    for piece in path.pieces[1:]:
        last = pieces[-1]
        if isinstance(last, Straight) and isinstance(piece, Straight):
            pieces[-1] = Straight(last.start, last.heading_deg, last.length_mm + piece.length_mm)
        else:
            pieces.append(piece)
    return Path(tuple(pieces))


def _unmoved(ends: tuple[str, str], shape: Path, was: Mapping[str, Place]) -> bool:
    """Whether both ends can lie where they lay. Where a connector lay is not written, since nothing hangs from it."""
    here, there = was.get(ends[0]), was.get(ends[1])
    if here is None or there is None:
        return True
    return math.dist((there[0] - here[0], there[1] - here[1]), (shape.end[0] - shape.start[0], shape.end[1] - shape.start[1])) < SAME_MM


def _heaviest(shapes: Mapping[tuple[str, str], Path], was: Mapping[str, Place]) -> str | None:
    """A node of the heaviest part of the board in which nothing has changed; what hangs from the others moves."""
    at: dict[str, list[str]] = defaultdict(list)
    for (here, there), shape in shapes.items():
        at[here], at[there] = at[here], at[there]
        if _unmoved((here, there), shape, was):
            at[here].append(there)
            at[there].append(here)
    best: tuple[float, str] | None = None
    seen: set[str] = set()
    for node in sorted(at):
        if node in seen:
            continue
        part = [node]
        for item in part:
            part += [other for other in sorted(set(at[item])) if other not in part]
        seen.update(part)
        placed = [item for item in part if item in was]
        weight = math.fsum(shape.length_mm for (here, there), shape in shapes.items() if here in part and there in part)
        if placed and (best is None or weight > best[0]):
            best = weight, min(placed)
    return None if best is None else best[1]


def _from(root: str, shapes: Mapping[tuple[str, str], Path], was: Mapping[str, Place]) -> Kept:
    at: dict[str, list[tuple[str, Path]]] = defaultdict(list)
    for (here, there), shape in shapes.items():
        at[here].append((there, shape))
        at[there].append((here, shape.backwards()))
    paths: dict[tuple[str, str], Path] = {}
    shifts: dict[tuple[str, str], Place] = {}
    places = {root: was[root]}
    pending = [root]
    for node in pending:
        x, y = places[node]
        for other, shape in at[node]:
            if other in places:
                continue
            path = shape.moved(x - shape.start[0], y - shape.start[1])
            paths[node, other], places[other] = path, path.end
            shifts[node, other] = _shift(node, other, places, was)
            pending.append(other)
    return Kept(root, was[root], paths, shifts)


def _shift(near: str, far: str, places: Mapping[str, Place], was: Mapping[str, Place]) -> Place:
    """How far a stretch has moved: at its far end where that is known, or else at its near one."""
    node = next((item for item in (far, near) if item in was), None)
    if node is None:
        return 0.0, 0.0
    dx, dy = places[node][0] - was[node][0], places[node][1] - was[node][1]
    return (0.0, 0.0) if math.hypot(dx, dy) < SAME_MM else (dx, dy)


def no_longer_there(rows: Sequence[BoardWay], tree: Sequence[Stretch]) -> Iterator[BoardWay]:
    """Rows that name no stretch of the loom any more, nor a run or tail of one."""
    known = {(here, there) for stretch in tree for here, there in itertools.pairwise(_nodes_of(stretch))}
    for row in rows:
        ends = row.from_node, row.to_node
        if ends not in known and ends[::-1] not in known and not any(_begins(row, stretch) for stretch in tree):
            yield row
