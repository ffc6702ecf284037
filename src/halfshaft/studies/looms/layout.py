"""A loom's tree laid flat at true length, without crossings, within a sheet.

The way: the longest line through the tree is the trunk. Several shapes of it are laid first, those that leave room for what hangs
from them before the others (a beam search). On each, stretch after stretch is laid in the best free way, by weight. A stretch that finds no free way is laid
all the same, in the way that costs least, and what lies there is lifted and laid anew. What had to be lifted often, or finds no place often,
costs more to lift, so the search does not go round in circles for long. What is taken is kept as cells (`raster`).

No step draws a random number, and effort is counted in ways tried, so the same loom gives the same board.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from halfshaft.studies.looms.geometry import Path, Place, ahead, bounds, lines_apart_mm, rectangle, turn_between, unit
from halfshaft.studies.looms.kept import Kept
from halfshaft.studies.looms.laying_order import GAP_MM, NODE_MM, HolderSize, Task, order_of, tasks_of
from halfshaft.studies.looms.raster import Grid, Stamp, Taken
from halfshaft.studies.looms.trees import Stretch
from halfshaft.studies.looms.ways import Room, Wish, ways_of

HOLDER_MARGIN_MM = 5.0
# A plug's counterpart, or a test plug, is pushed on from the front.
FRONT_MM = 60.0
# Beside each holder a table of its wires is written, about so far from it on every side.
NOTE_MM, TABLE_MM = 75.0, 130.0
COARSE, FINE = Grid(8.0), Grid(5.0)
TRUNKS, QUICK_TRUNKS, QUICK_BEAM, TRUNK_BEAM = 5, 3, 6, 24
# Two trunks are of different shape where their breakouts lie so far apart on average.
UNLIKE_MM = 150.0
# Of so many boards that are quickly laid the one with most room round its holders is taken.
CHOICE = 3
# Ways tried on one shape of the trunk before the next: on the first few shapes; when none is done, on more shapes; and then how many more on each.
# All of that for a tree of so many stretches at most, and in proportion for a bigger one: laying one that finds its place at once takes about 30.
USUAL_STRETCHES = 40
ROUNDS = (2_400, 4_000, 12_000)
INCOMING_SHARE_DEG = 20.0
# What counts in the choice of a way, beside its looks: a cell where others are still to come, and room where much is still to hang.
CROWD_COSTS, FRONT_COSTS, ROOM_COSTS, TRUNK_ROOM_COSTS = 0.01, 0.03, 4.0, 4.0
ROOM_MOST_MM = 400.0
# Whatever is drilled is lifted only where nothing else helps.
KEPT_IS_DEAR = 5.0
# Who looks at a board looks for its trunk first, so a turn of that counts more.
TRUNK_LOOKS = 2.0
# Where all the room round a holder is taken, against a turn of 90 degrees at 0.3.
TIGHT_COSTS = 2.0
# What a way costs more each time that it proved wrong.
AGAIN_COSTS, AGAIN_BEYOND_COSTS, AGAIN_UP_COSTS = 0.05, 1.0, 2.0


@dataclass(frozen=True, slots=True)
class Laid:
    """A tree laid flat: a path for every stretch by its two ends, and how it was found."""

    paths: dict[tuple[str, str], Path]
    method: str
    tried: int

    def box(self, holders: Mapping[str, HolderSize]) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of everything, holders included."""
        corners: list[Place] = []
        for (near, far), path in self.paths.items():
            corners.extend(path.corners)
            if far in holders:
                corners.extend(holder_corners(path.end, path.last_heading_deg, holders[far]))
            if near in holders:
                corners.extend(holder_corners(path.start, path.first_heading_deg + 180.0, holders[near]))
        return bounds(corners)

    def moved(self, dx_mm: float, dy_mm: float) -> Laid:
        """The same elsewhere on the sheet."""
        return Laid({ends: path.moved(dx_mm, dy_mm) for ends, path in self.paths.items()}, self.method, self.tried)


@dataclass(frozen=True, kw_only=True, slots=True)
class Ask:
    """What is to be laid, and where."""

    tree: tuple[Stretch, ...]
    holders: Mapping[str, HolderSize]
    room: Room
    bend_factor: float
    grid: Grid
    taken: tuple[Stamp, ...] = ()
    kept: Kept | None = None
    wishes: Mapping[tuple[str, str], Wish] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Lie:
    """One stretch as it lies, and what that cost: its cells, those of its far end (holder or breakout), those that others had better leave free, its bounds."""

    task: Task
    path: Path
    line: Stamp
    end: Stamp
    halo: Stamp
    box: tuple[float, float, float, float]
    cost: float = 0.0


class _Draft:
    """An unfinished board."""

    def __init__(self, ask: Ask, tasks: Sequence[Task], start: Place, heading_deg: float) -> None:
        self.ask, self.start, self.heading_deg = ask, start, heading_deg
        self.tasks = {task.key[1]: task for task in tasks}
        self.trunk = frozenset(task.key[1] for task in trunk_of(tasks))
        self.hangs_mm2 = _hanging(tasks)
        self.parent = {task.key[1]: task.key[0] for task in tasks}
        self.branches: dict[str, list[str]] = defaultdict(list)
        for task in tasks:
            self.branches[task.key[0]].append(task.key[1])
        self.root = tasks[0].key[0]
        self.base: Stamp = {}
        for stamp in ask.taken:
            _add(self.base, stamp)
        if self.root in ask.holders:
            # A holder at the first place lies behind it.
            _add(self.base, _holder_stamp(ask, start, heading_deg + 180.0, ask.holders[self.root]))
        self.laid: dict[str, _Lie] = {}
        self.rows: Stamp = dict(self.base)
        self.halo: Stamp = {}
        self.cost, self.tried = 0.0, 0
        self.moved: dict[str, float] = defaultdict(float)
        self.dear: dict[str, float] = defaultdict(lambda: 1.0)
        self.wrong: dict[tuple[str, int, int, int], float] = defaultdict(float)

    def copy(self) -> _Draft:
        """The same board, to be carried on in another way."""
        other = object.__new__(_Draft)
        other.__dict__.update(self.__dict__)
        other.laid, other.rows, other.halo, other.wrong = dict(self.laid), dict(self.rows), dict(self.halo), defaultdict(float)
        other.moved, other.dear = defaultdict(float), defaultdict(lambda: 1.0)
        return other

    def put(self, lie: _Lie) -> None:
        """Lay one stretch."""
        self.laid[lie.task.key[1]] = lie
        _add(self.rows, lie.line)
        _add(self.rows, lie.end)
        _add(self.halo, lie.halo)

    def lift(self, nodes: Iterable[str]) -> None:
        """Take off what leads to these nodes and all that hangs beyond."""
        for node in nodes:
            for gone in self.beyond(node):
                self.laid.pop(gone, None)
        self.rows, self.halo = dict(self.base), {}
        for lie in self.laid.values():
            _add(self.rows, lie.line)
            _add(self.rows, lie.end)
            _add(self.halo, lie.halo)

    def beyond(self, node: str) -> list[str]:
        """A node and all nodes that hang from it."""
        found = [node]
        for item in found:
            found.extend(self.branches.get(item, ()))
        return found

    def above(self, node: str) -> Iterator[str]:
        """A node and those between it and the root, the root left out."""
        while node in self.parent:
            yield node
            node = self.parent[node]

    def place(self, node: str) -> Place:
        """Where a node lies."""
        return self.laid[node].path.end if node in self.laid else self.start

    def ring(self, node: str, *, with_branches: bool = True) -> list[tuple[float, float]]:
        """What is taken round a node, the incoming bundle first."""
        ring = [((self.laid[node].path.last_heading_deg + 180.0) % 360.0, INCOMING_SHARE_DEG)] if node in self.laid else []
        if with_branches:
            ring += [
                (self.laid[other].path.first_heading_deg % 360.0, self.tasks[other].share_deg)
                for other in self.branches[node]
                if other in self.laid
            ]
        return ring

    def ways(self, task: Task, ring: list[tuple[float, float]]) -> list[tuple[float, Path]]:
        """Ways to lay a stretch beside what is laid round its start, cheapest first."""
        near, far = task.key
        waiting = [self.tasks[other].share_deg for other in self.branches[near] if other not in self.laid and other != far]
        incoming = ring[0][0] + 180.0 if ring else self.heading_deg
        return ways_of(
            task, self.place(near), incoming % 360.0, ring, sorted(waiting, reverse=True), self.ask.room, self.ask.wishes.get(task.key)
        )

    def around(self, task: Task) -> Stamp:
        """The cells round a stretch's start that it may share: the breakout's own, and further out those of the bundles that meet there.

        What keeps those apart is the angle between them.
        """
        near, grid = task.key[0], self.ask.grid
        around, wide = grid.disc(self.place(near), task.node_mm), grid.disc(self.place(near), NODE_MM)
        for node in (near, *self.branches[near]):
            for row, mask in self.laid[node].line.items() if node in self.laid else ():
                if row in wide and mask & wide[row]:
                    around[row] = around.get(row, 0) | mask & wide[row]
        return around

    def lie(self, task: Task, path: Path, *, off_sheet: bool = False) -> _Lie | None:
        """A way as cells, or None where it leaves the sheet (which what is drilled may do)."""
        holder = self.ask.holders.get(task.key[1]) if task.is_leaf else None
        corners = path.corners
        if holder is not None:
            corners = (*corners, *holder_corners(path.end, path.last_heading_deg, holder))
        if not (off_sheet or self.ask.room.holds(corners)):
            return None
        if holder is not None:
            end = _holder_stamp(self.ask, path.end, path.last_heading_deg, holder)
        else:
            end = self.ask.grid.disc(path.end, task.far_node_mm)
        left, bottom, right, top = bounds(corners)
        wide = max(task.half_mm, task.far_node_mm, HOLDER_MARGIN_MM) + 2 * self.ask.grid.cell_mm
        return _Lie(task, path, {}, end, {}, (left - wide, bottom - wide, right + wide, top + wide))

    def block(self, lie: _Lie) -> tuple[Place, ...]:
        """The outline of the holder at its end, back to where it began, or nothing."""
        holder = self.ask.holders.get(lie.task.key[1]) if lie.task.is_leaf else None
        corners = holder_corners(lie.path.end, lie.path.last_heading_deg, holder) if holder else ()
        return (*corners, *corners[:1])

    def outline(self, lie: _Lie) -> tuple[Place, ...]:
        """The corners of its line and of its holder."""
        return (*lie.path.corners, *self.block(lie))

    def with_line(self, lie: _Lie) -> _Lie:
        """The same with the cells of its line, which cost more to find."""
        line: Stamp = {}
        for piece in lie.path.pieces:
            _add(line, self.ask.grid.line(piece.corners, lie.task.half_mm))
        return replace(lie, line=line)

    def with_halo(self, lie: _Lie) -> _Lie:
        """The same with the cells that others had better leave free: where tails are still to come, and in front of a plug."""
        task, path, grid = lie.task, lie.path, self.ask.grid
        if task.pending_leaves:
            return replace(lie, halo=grid.disc(path.end, 170.0 + 15.0 * task.pending_leaves))
        if task.is_leaf and task.key[1] in self.ask.holders:
            holder = self.ask.holders[task.key[1]]
            halo = grid.polygon(front_of(path.end, path.last_heading_deg, holder))
            _add(halo, grid.disc(ahead(path.end, path.last_heading_deg, holder.length_mm / 2), NOTE_MM))
            return replace(lie, halo=halo)
        return lie

    def best(self, task: Task, most: int) -> list[tuple[float, _Lie]]:
        """The cheapest free ways to lay a stretch, no more than `most`."""
        around, near = self.around(task), self.ask.grid.disc(self.place(task.key[0]), 160.0)
        taken, halo = Taken(self.rows), Taken(self.halo)
        kept: list[tuple[float, _Lie]] = []
        dear = TRUNK_LOOKS if task.key[1] in self.trunk else 1.0
        for looks, path in self.ways(task, self.ring(task.key[0])):
            # What a way costs in looks is the least that it costs at all.
            if len(kept) == most and looks * dear >= kept[-1][0]:
                break
            self.tried += 1
            lie = self.lie(task, path)
            if lie is None or taken.meets(lie.end, but=around):
                continue
            lie = self.with_line(lie)
            if taken.meets(lie.line, but=around):
                continue
            cost = looks * dear + self._crowd(lie, taken, halo, near) + self.wrong[_mark(lie)]
            kept.append((cost, replace(lie, cost=cost)))
            kept.sort(key=lambda item: item[0])
            del kept[most:]
        return [(cost, self.with_halo(lie)) for cost, lie in kept]

    def _crowd(self, lie: _Lie, taken: Taken, halo: Taken, near: Stamp) -> float:
        """What a way costs because of its neighbours. A branch cannot but cross the ring round its own breakout, so what lies near its start does not count."""
        task = lie.task
        cost = CROWD_COSTS * (halo.overlap(lie.line, but=near) + 2 * halo.overlap(lie.end, but=near))
        if task.is_leaf:
            if task.key[1] in self.ask.holders:
                front = self.ask.grid.polygon(front_of(lie.path.end, lie.path.last_heading_deg, self.ask.holders[task.key[1]]))
                cost += FRONT_COSTS * taken.overlap(front, but={})
            return cost
        hangs_mm2 = self.hangs_mm2[task.key[1]]
        half_mm = min(ROOM_MOST_MM, 55.0 + 0.65 * math.sqrt(hangs_mm2))
        (x, y), room = lie.path.end, self.ask.room
        wanted = self.ask.grid.box(x - half_mm, y - half_mm, x + half_mm, y + half_mm)
        lost = taken.overlap(wanted, but=near) + self.ask.grid.outside(wanted, room.left_mm, room.bottom_mm, room.right_mm, room.top_mm)
        share = lost / sum(mask.bit_count() for mask in wanted.values())
        if task.key[1] in self.trunk:
            return cost + TRUNK_ROOM_COSTS * share * hangs_mm2 / max(self.hangs_mm2[node] for node in self.trunk)
        return cost + ROOM_COSTS * share

    def forced(self, task: Task, dear: Mapping[str, float]) -> tuple[float, _Lie, set[str]] | None:
        """The way that costs least to clear, what it costs, and the nodes whose stretches lie in it. Nothing that leads here is in it."""
        near = task.key[0]
        around = self.around(task)
        base, above = Taken(self.base), set(self.above(near))
        beside = [other for other in self.branches[near] if other in self.laid]
        best: tuple[float, _Lie, set[str]] | None = None
        for looks, path in self.ways(task, self.ring(near, with_branches=False)):
            self.tried += 1
            lie = self.lie(task, path)
            if lie is None or base.meets(lie.end, but=around):
                continue
            lie = self.with_line(lie)
            if base.meets(lie.line, but=around):
                continue
            met = {node for node, other in self.laid.items() if _meet(lie, other, around)}
            met.update(
                other
                for other in beside
                if turn_between(path.first_heading_deg, self.laid[other].path.first_heading_deg)
                < task.share_deg + self.tasks[other].share_deg - 1e-9
            )
            if met & above:
                continue
            lifted = {gone for node in met for gone in self.beyond(node) if gone in self.laid}
            cost = math.fsum(dear[node] for node in lifted) + 0.5 * looks + self.wrong[_mark(lie)]
            if best is None or cost < best[0]:
                best = cost, replace(lie, cost=looks), met
        return best


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a search came to. `crowded` names the stretch that found no place most often, by its two ends."""

    laid: Laid | None
    crowded: tuple[str, str] | None = None
    tried: int = 0


def lay_tree(ask: Ask, *, rounds: Sequence[int] = ROUNDS) -> Outcome:
    """The tree laid within the room, or nothing where this search finds no way (which proves nothing).

    Several shapes of the trunk are tried, from both of its ends in turn; on each so many ways, and if none is done then, so many more.
    """
    if ask.kept is not None:
        return _round_what_is_kept(ask, ask.kept, rounds)
    tried, crowded = 0, None
    scale = max(1.0, len(ask.tree) / USUAL_STRETCHES)
    for beam, budgets in ((QUICK_BEAM, rounds[:1]), (TRUNK_BEAM, rounds[1:])):
        shapes: list[_Draft] = []
        for budget in budgets:
            done: list[_Draft] = []
            for number, shape in enumerate(_in_turn(ask, beam, shapes), start=1):
                begun = shape.tried
                stuck = _finish(shape, round(budget * scale))
                tried += shape.tried - begun
                crowded = stuck or crowded
                if stuck is None:
                    done.append(shape)
                if done and (number >= CHOICE or beam == TRUNK_BEAM):
                    return Outcome(_laid(min(done, key=_displeasure), tried), None, tried)
            if done:
                return Outcome(_laid(min(done, key=_displeasure), tried), None, tried)
    return Outcome(None, crowded, tried)


def _displeasure(draft: _Draft) -> float:
    """What a finished board cost, and how much of the room round each holder is taken or off the sheet: tables of wires are written there, and hands go there."""
    taken, room, grid = Taken(draft.rows), draft.ask.room, draft.ask.grid
    total = math.fsum(lie.cost for lie in draft.laid.values())
    for node, lie in draft.laid.items():
        if node in draft.ask.holders:
            x, y = lie.path.end
            round_it = grid.box(x - TABLE_MM, y - TABLE_MM, x + TABLE_MM, y + TABLE_MM)
            lost = taken.overlap(round_it, but={}) + grid.outside(round_it, room.left_mm, room.bottom_mm, room.right_mm, room.top_mm)
            total += TIGHT_COSTS * lost / sum(mask.bit_count() for mask in round_it.values())
    return total


def _in_turn(ask: Ask, beam: int, shapes: list[_Draft]) -> Iterator[_Draft]:
    """Shapes of the trunk from one end and from the other in turn. They are found when they are first asked for, and remembered in a list."""
    if shapes:
        yield from tuple(shapes)
        return
    from_ends: list[list[_Draft]] = []
    for index in range(2 * (QUICK_TRUNKS if beam == QUICK_BEAM else TRUNKS)):
        end, number = index % 2, index // 2
        if len(from_ends) <= end:
            tasks = tasks_of(order_of(ask.tree, backwards=end == 1), ask.holders, ask.bend_factor)
            from_ends.append(_trunk_shapes(ask, tasks, beam))
        if number < len(from_ends[end]):
            shapes.append(from_ends[end][number])
            yield from_ends[end][number]


def _laid(draft: _Draft, tried: int) -> Laid:
    return Laid({lie.task.key: lie.path for lie in draft.laid.values()}, "search", tried)


def _round_what_is_kept(ask: Ask, kept: Kept, rounds: Sequence[int]) -> Outcome:
    """What is new laid into the room that is free; what is kept is lifted only where it lies on something, or where nothing else helps."""
    tasks = tasks_of(order_of(ask.tree, root=kept.root), ask.holders, ask.bend_factor)
    first = next((path for (near, _), path in kept.paths.items() if near == kept.root), None)
    draft = _Draft(ask, tasks, first.start if first else kept.place, first.first_heading_deg if first else 0.0)
    for task in tasks:
        path = kept.paths.get(task.key)
        lie = draft.lie(task, path, off_sheet=True) if path is not None else None
        if lie is not None:
            draft.put(draft.with_halo(draft.with_line(lie)))
            draft.dear[task.key[1]] = KEPT_IS_DEAR
    draft.lift(list(_in_conflict(draft)))
    crowded = _finish(draft, sum(rounds))
    return Outcome(None, crowded, draft.tried) if crowded else Outcome(_laid(draft, draft.tried), None, draft.tried)


def _in_conflict(draft: _Draft) -> Iterator[str]:
    """Of what is kept: whatever leaves the sheet, and of two stretches that lie on each other the one with less beyond it."""
    off = {node for node, lie in draft.laid.items() if not draft.ask.room.holds(draft.outline(lie))}
    yield from off
    for here, there in itertools.combinations(draft.laid, 2):
        one, other = draft.laid[here], draft.laid[there]
        if here not in off and there not in off and not set(one.task.key) & set(other.task.key) and _lie_on_each_other(draft, one, other):
            lighter = min((sum(draft.tasks[item].length_mm for item in draft.beyond(node)), node) for node in (here, there))
            off.add(lighter[1])
            yield lighter[1]


def _lie_on_each_other(draft: _Draft, one: _Lie, other: _Lie) -> bool:
    """Whether two bundles or holders without a common end touch. Exact, where cells would also see what is merely near."""
    if one.box[0] > other.box[2] or one.box[2] < other.box[0] or one.box[1] > other.box[3] or one.box[3] < other.box[1]:
        return False
    apart_mm = one.task.half_mm + other.task.half_mm - GAP_MM
    lines = [((item.path.corners), item.task.half_mm - GAP_MM / 2) for item in (one, other)]
    if lines_apart_mm(lines[0][0], lines[1][0]) < apart_mm:
        return True
    blocks = [draft.block(item) for item in (one, other)]
    for block, (line, half) in zip(blocks, reversed(lines), strict=True):
        if block and lines_apart_mm(block, line) < half:
            return True
    return bool(blocks[0] and blocks[1]) and lines_apart_mm(blocks[0], blocks[1]) <= 0.0


def trunk_of(tasks: Sequence[Task]) -> Sequence[Task]:
    """The first stretches, as far as each follows the last one without a branch between."""
    length = 1
    while length < len(tasks) and tasks[length].key[0] == tasks[length - 1].key[1]:
        length += 1
    return tasks[:length]


def _hanging(tasks: Sequence[Task]) -> dict[str, float]:
    """How much of a sheet is wanted by what hangs from each node; of the trunk's nodes, without the rest of the trunk."""
    hangs = {task.key[1]: task.beyond_mm2 for task in tasks}
    branches: dict[str, float] = defaultdict(float)
    trunk = {task.key[1] for task in trunk_of(tasks)}
    for task in tasks:
        if task.key[1] not in trunk:
            branches[task.key[0]] += task.own_mm2 + task.beyond_mm2
    return hangs | {node: branches[node] for node in trunk}


def _trunk_shapes(ask: Ask, tasks: Sequence[Task], beam: int) -> list[_Draft]:
    """Shapes of the trunk, the best first, no two of which run through the same places."""
    starts = [(place, heading) for place, heading in _starts(ask, tasks) if _has_room(ask, tasks[0].key[0], place, heading)]
    drafts = [_Draft(ask, tasks, place, heading) for place, heading in starts]
    for task in trunk_of(tasks):
        moves: list[tuple[float, int, _Lie]] = []
        for index, draft in enumerate(drafts):
            moves += [(draft.cost + cost, index, lie) for cost, lie in draft.best(task, max(2, beam // 2))]
        moves.sort(key=lambda move: move[:2])
        carried = []
        for cost, index, lie in moves[:beam]:
            draft = drafts[index].copy()
            draft.put(lie)
            draft.cost = cost
            carried.append(draft)
        drafts = carried
    kept: list[_Draft] = []
    for draft in drafts:
        if all(_apart_mm(draft, other) > UNLIKE_MM for other in kept):
            kept.append(draft)
    return kept


def _has_room(ask: Ask, root: str, place: Place, heading_deg: float) -> bool:
    """Whether the holder at the first place has room behind it."""
    if root not in ask.holders:
        return True
    corners = holder_corners(place, heading_deg + 180.0, ask.holders[root])
    taken = Taken({}).plus(ask.taken)
    return ask.room.holds(corners) and not taken.meets(_holder_stamp(ask, place, heading_deg + 180.0, ask.holders[root]))


def _apart_mm(one: _Draft, other: _Draft) -> float:
    """How far the breakouts of two trunks lie apart, on average."""
    return math.fsum(math.dist(lie.path.end, other.laid[node].path.end) for node, lie in one.laid.items()) / len(one.laid)


def _starts(ask: Ask, tasks: Sequence[Task]) -> Iterator[tuple[Place, float]]:
    """Where the trunk may begin, and its heading: at the left edge, in the middle or nearer to a corner; or as it was turned by hand."""
    root, room = tasks[0].key[0], ask.room
    wish = ask.wishes.get(tasks[0].key)
    size = ask.holders.get(root)
    behind_mm = size.length_mm + HOLDER_MARGIN_MM if size else 0.0
    beside_mm = size.width_mm / 2 + HOLDER_MARGIN_MM if size else 0.0
    headings = (0.0,) if wish is None or wish.at_far_end else (wish.heading_deg % 360.0,)
    for heading in headings:
        ux, uy = unit(heading)
        for share in (0.5, 0.25, 0.1):
            across = beside_mm + share * ((room.height_mm if abs(ux) >= abs(uy) else room.width_mm) - 2 * beside_mm)
            if abs(ux) >= abs(uy):
                yield (room.left_mm + behind_mm if ux > 0 else room.right_mm - behind_mm, room.bottom_mm + across), heading
            else:
                yield (room.left_mm + across, room.bottom_mm + behind_mm if uy > 0 else room.top_mm - behind_mm), heading


def _finish(draft: _Draft, budget: int) -> tuple[str, str] | None:
    """Lay all that is not laid yet. Gives back the stretch that was hardest to lay where that comes to nothing."""
    dear = draft.dear
    end = draft.tried + budget
    while len(draft.laid) < len(draft.tasks):
        task = next(
            task
            for node, task in draft.tasks.items()
            if node not in draft.laid and (task.key[0] == draft.root or task.key[0] in draft.laid)
        )
        free = draft.best(task, 1)
        if free:
            draft.put(free[0][1])
            continue
        dear[task.key[1]] += 1.0
        if draft.tried > end or not _make_room(draft, task, dear):
            return draft.tasks[max(dear, key=lambda node: (dear[node], node))].key
    return None


def _make_room(draft: _Draft, task: Task, dear: dict[str, float]) -> bool:
    """Lift what costs least: what lies in one of the ways of this stretch, or what leads to it, so that it is laid elsewhere."""
    forced = draft.forced(task, dear)
    above = [
        (sum(item in draft.laid for item in draft.beyond(node)) + AGAIN_UP_COSTS * step + draft.moved[node], step, node)
        for step, node in enumerate(draft.above(task.key[0]), start=1)
    ]
    if above and (forced is None or min(above)[0] < forced[0]):
        node = min(above)[2]
        draft.wrong[_mark(draft.laid[node])] += AGAIN_BEYOND_COSTS
        draft.moved[node] += 1.0
        draft.lift([node])
        return True
    if forced is None:
        return False
    _, lie, met = forced
    draft.lift(met)
    draft.wrong[_mark(lie)] += AGAIN_COSTS
    draft.put(draft.with_halo(lie))
    return True


def _mark(lie: _Lie) -> tuple[str, int, int, int]:
    """About where a stretch ends, and with which heading."""
    x, y = lie.path.end
    return lie.task.key[1], round(x / 60.0), round(y / 60.0), round(lie.path.last_heading_deg % 360.0 / 30.0)


def _meet(lie: _Lie, other: _Lie, but: Stamp) -> bool:
    """Whether two stretches as they lie touch, the cells of `but` left aside."""
    left, bottom, right, top = other.box
    if lie.box[0] > right or lie.box[2] < left or lie.box[1] > top or lie.box[3] < bottom:
        return False
    for stamp in (other.line, other.end):
        for row, mask in stamp.items():
            mine = lie.line.get(row, 0) | lie.end.get(row, 0)
            if mine & mask and mine & mask & ~but.get(row, 0):
                return True
    return False


def _add(rows: Stamp, stamp: Stamp) -> None:
    for row, mask in stamp.items():
        rows[row] = rows.get(row, 0) | mask


def holder_corners(at: Place, heading_deg: float, size: HolderSize) -> tuple[Place, ...]:
    """A holder's outline."""
    return rectangle(at, heading_deg, length_mm=size.length_mm, width_mm=size.width_mm)


def front_of(at: Place, heading_deg: float, size: HolderSize) -> tuple[Place, ...]:
    """Where a counterpart is pushed on: as wide as the holder, in front of it."""
    return rectangle(ahead(at, heading_deg, size.length_mm), heading_deg, length_mm=FRONT_MM, width_mm=size.width_mm)


def _holder_stamp(ask: Ask, at: Place, heading_deg: float, size: HolderSize) -> Stamp:
    return ask.grid.polygon(rectangle(at, heading_deg, length_mm=size.length_mm, width_mm=size.width_mm, margin_mm=HOLDER_MARGIN_MM))
