"""A loom's tree laid flat at true length, without crossings, within a sheet.

The way: take the longest line through the tree as trunk, then lay stretch after stretch, trunk first, then the
branches by weight. For each stretch a fan of headings and bends is tried; the best few unfinished boards are kept and
carried on (a beam search). What is taken is kept as cells (`raster`). If no board is found, `fan` lays the tree so
that it cannot cross, at the price of a larger sheet: a cone of directions is shared out among the branches at each
breakout, and cones never meet.

No step draws a random number, so the same loom gives the same board.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.studies.looms.geometry import (
    Bend,
    Path,
    Piece,
    Place,
    Straight,
    ahead,
    bounds,
    rectangle,
    turn_between,
)
from halfshaft.studies.looms.laying_order import NODE_MM, HolderSize, Task, order_of, tasks_of
from halfshaft.studies.looms.raster import Grid, Stamp, Taken
from halfshaft.studies.looms.trees import Stretch

HOLDER_MARGIN_MM = 5.0
COARSE, FINE = Grid(8.0), Grid(5.0)
TRUNKS, TRUNK_BEAM, ROUNDS, BUDGET = 10, 14, 5, 15_000
HEADING_STEP_DEG, FINE_STEP_DEG, ROOMY_DEG = 15.0, 5.0, 200.0
INCOMING_SHARE_DEG = 20.0
TURNS_DEG = (0.0, 45.0, -45.0, 60.0, -60.0, 90.0, -90.0, 30.0, -30.0, 75.0, -75.0, 105.0, -105.0, 120.0, -120.0, 135.0, -135.0, 15.0, -15.0, 150.0, -150.0)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Laid:
    """A tree laid flat: a path for every stretch by its two ends, and how it was found."""

    paths: dict[tuple[str, str], Path]
    method: str
    tried: int

    def box(self, holders: Mapping[str, HolderSize]) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of everything, holders included."""
        corners: list[Place] = []
        for (_, end), path in self.paths.items():
            corners.extend(path.corners)
            if end in holders:
                corners.extend(_holder_corners(path, holders[end]))
        return bounds(corners)


@dataclass(frozen=True, slots=True)
class _State:
    """An unfinished board."""

    cost: float
    paths: dict[tuple[str, str], Path]
    places: dict[str, Place]
    headings: dict[str, tuple[tuple[float, float], ...]]
    taken: Taken
    halo: Taken
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Move:
    """One stretch more on an unfinished board, weighed but not yet carried out."""

    cost: float
    state: _State
    path: Path
    stamps: tuple[Stamp, Stamp]
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a search came to. `crowded` names a breakout whose branches find no room round it on a sheet of any size."""

    laid: Laid | None
    crowded: str | None = None


def lay_in_sheet(
    stretches: tuple[Stretch, ...],
    holders: Mapping[str, HolderSize],
    *,
    width_mm: float,
    height_mm: float,
    bend_factor: float,
    beam: int,
    grid: Grid,
) -> Outcome:
    """The tree laid within a sheet, or nothing where this search finds no place for a stretch (which proves nothing).

    Several shapes of the trunk are tried, from both of its ends. On each, a stretch that finds no place is laid earlier in the next round,
    with all that leads to it. Each end has a budget of ways to try.
    """
    tried = 0
    for backwards in (False, True):
        outcome, count = _from_one_end(stretches, holders, width_mm, height_mm, bend_factor, beam, grid, backwards)
        tried += count
        if outcome.laid is not None or outcome.crowded is not None:
            return Outcome(outcome.laid and Laid(outcome.laid.paths, outcome.laid.method, tried), outcome.crowded)
    return Outcome(None)


def _from_one_end(
    stretches: tuple[Stretch, ...], holders: Mapping[str, HolderSize], width_mm: float, height_mm: float,
    bend_factor: float, beam: int, grid: Grid, backwards: bool,
) -> tuple[Outcome, int]:  # fmt: skip
    """The search with the trunk laid from one of its ends; a board that fails from one often succeeds from the other."""
    tasks = tasks_of(order_of(stretches, backwards=backwards), holders, bend_factor)
    length = _trunk_length(tasks)
    first = [_begin(tasks[0].key[0], holders, grid)]
    shapes, stuck, tried = _search(tasks[:length], first, holders, width_mm, height_mm, TRUNK_BEAM, grid)
    if stuck is not None:
        return Outcome(None), tried
    urgent: dict[str, int] = defaultdict(int)
    for shape in _different(shapes, tasks[:length], TRUNKS):
        for _ in range(ROUNDS):
            tasks = tasks_of(order_of(stretches, urgent, backwards=backwards), holders, bend_factor)
            boards, stuck, count = _search(tasks[length:], [shape], holders, width_mm, height_mm, beam, grid)
            tried += count
            if stuck is None:
                return Outcome(Laid(boards[0].paths, "beam search", tried)), tried
            if stuck.hopeless:
                return Outcome(None, crowded=stuck.task.key[0]), tried
            if tried > BUDGET:
                return Outcome(None), tried
            above = {task.key[1]: task.key[0] for task in tasks[length:]}
            node: str | None = stuck.task.key[1]
            while node in above:
                urgent[node] += 1
                node = above[node]
    return Outcome(None), tried


@dataclass(frozen=True, slots=True)
class _Stuck:
    """A stretch that found no place on any board; hopeless where not even a heading was free at its breakout."""

    task: Task
    hopeless: bool


def _moves(
    grid: Grid, state: _State, task: Task, most: int, holders: Mapping[str, HolderSize], width_mm: float, height_mm: float
) -> tuple[list[_Move], int]:
    """The cheapest ways to go on from one board, and how many were tried.

    No more than `most` from one board, so that boards of several kinds stay in the race. What a way costs in looks is
    the least that it costs at all, so the rest is left untried once enough cheaper ones are found.
    """
    around = grid.disc(state.places[task.key[0]], task.node_mm)
    near = grid.disc(state.places[task.key[0]], 160.0)
    kept: list[_Move] = []
    tried = 0
    for path, looks in sorted(_candidates(task, state, width_mm, height_mm), key=lambda item: item[1]):
        if len(kept) == most and state.cost + looks >= kept[-1].cost:
            break
        tried += 1
        move = _try(grid, state, task, path, looks, around, near, holders, width_mm, height_mm)
        if move is not None:
            kept.append(move)
            kept.sort(key=lambda item: item.cost)
            del kept[most:]
    return kept, tried


def _trunk_length(tasks: list[Task]) -> int:
    """How many of the first stretches follow each other without a branch."""
    length = 1
    while length < len(tasks) and tasks[length].key[0] == tasks[length - 1].key[1]:
        length += 1
    return length


def _different(states: list[_State], trunk: list[Task], most: int) -> list[_State]:
    """The cheapest trunks, no two of which run through the same places or are each other's mirror image."""
    kept: list[_State] = []
    seen: set[tuple[int, ...]] = set()
    for state in states:
        ys = [state.places[task.key[1]][1] for task in trunk]
        side = next((math.copysign(1.0, y) for y in ys if abs(y) > 1.0), 1.0)
        mark = tuple(round(value / 120.0) for task, y in zip(trunk, ys, strict=True) for value in (state.places[task.key[1]][0], side * y))
        if mark not in seen:
            seen.add(mark)
            kept.append(state)
    return kept[:most]


def _search(
    tasks: list[Task], states: list[_State], holders: Mapping[str, HolderSize], width_mm: float, height_mm: float, beam: int, grid: Grid
) -> tuple[list[_State], _Stuck | None, int]:
    """Lay these stretches on these boards: the best boards, the stretch that found no place, and the ways tried."""
    tried = 0
    for task in tasks:
        moves: list[_Move] = []
        most = max(2, beam // 3)
        before = tried
        for state in states:
            found, count = _moves(grid, state, task, most, holders, width_mm, height_mm)
            moves += found
            tried += count
        if not moves:
            return [], _Stuck(task, hopeless=tried == before), tried
        moves.sort(key=lambda move: move.cost)
        states = [_carry_on(grid, move, task) for move in moves[:beam]]
    return states, None, tried


def _still_fits(headings: tuple[tuple[float, float], ...], pending: tuple[float, ...]) -> bool:
    """Whether the branches still to come find room between those that are there (first-fit, widest first)."""
    if not pending:
        return True
    ring = sorted((heading % 360.0, half) for heading, half in headings)
    gaps = []
    for (here, half), (there, other) in zip(ring, (*ring[1:], (ring[0][0] + 360.0, ring[0][1])), strict=True):
        gaps.append(there - here - half - other)
    for half in pending:
        widest = max(range(len(gaps)), key=gaps.__getitem__)
        # Headings come in steps, so a gap is never used to the last degree.
        if gaps[widest] < 2 * half + FINE_STEP_DEG / 2:
            return False
        gaps[widest] -= 2 * half
    return True


def _begin(root: str, holders: Mapping[str, HolderSize], grid: Grid) -> _State:
    """The board with nothing but the first place; a holder there lies behind it, so that the trunk goes to the right."""
    if root not in holders:
        return _State(0.0, {}, {root: (0.0, 0.0)}, {root: ()}, Taken({}), Taken({}), (0.0, 0.0, 0.0, 0.0))
    size = holders[root]
    corners = rectangle((0.0, 0.0), 180.0, length_mm=size.length_mm, width_mm=size.width_mm, margin_mm=HOLDER_MARGIN_MM)
    return _State(0.0, {}, {root: (0.0, 0.0)}, {root: ()}, Taken(grid.polygon(corners)), Taken({}), bounds(((0.0, 0.0), *corners)))


def _candidates(task: Task, state: _State, width_mm: float, height_mm: float) -> Iterator[tuple[Path, float]]:
    """Ways to lay one stretch, each with what it costs in looks: straight on is free, turns and bends are not."""
    node = task.key[0]
    start, others = state.places[node], state.headings[node]
    incoming = others[0][0] + 180.0 if others else 0.0
    for turn in _turns(task) if others else (0.0,):
        heading = (incoming + turn) % 360.0
        if any(turn_between(heading, other) < task.share_deg + half - 1e-9 for other, half in others):
            continue
        if not _still_fits((*others, (heading, task.share_deg)), task.shares_after_deg):
            continue
        # A bundle goes straight on for preference, a short tail stands off to the side.
        looks = (abs(abs(turn) - 75.0) if task.is_leaf else abs(turn)) / 300.0 + _off_axis(heading)
        yield Path((Straight(start, heading, task.length_mm),)), looks
        if task.length_mm >= (400.0 if task.is_leaf else 240.0) and abs(turn) in (0.0, 45.0, 90.0):
            for path, cost in _bent(task, state, start, heading, width_mm, height_mm):
                yield path, looks + cost


def _turns(task: Task) -> tuple[float, ...]:
    """Turns to try, straight on first: in coarse steps, and in fine ones where it is tight round the breakout."""
    if 2 * (task.share_deg + sum(task.shares_after_deg)) < ROOMY_DEG:
        return TURNS_DEG
    return (0.0, *(sign * FINE_STEP_DEG * step for step in range(1, int(180 / FINE_STEP_DEG)) for sign in (1.0, -1.0)))


def _off_axis(heading: float) -> float:
    rest = heading % 90.0
    return 0.0 if rest == 0.0 else 0.06 if rest == 45.0 else 0.12


def _bent(task: Task, state: _State, start: Place, heading: float, width_mm: float, height_mm: float) -> Iterator[tuple[Path, float]]:
    lead_mm = NODE_MM
    left, bottom, right, top = state.box
    ux, uy = math.cos(math.radians(heading)), math.sin(math.radians(heading))
    # As far ahead as the sheet allows, seen from what is laid so far.
    room = min(
        (left + width_mm - start[0]) / ux if ux > 0.05 else (right - width_mm - start[0]) / ux if ux < -0.05 else math.inf,
        (bottom + height_mm - start[1]) / uy if uy > 0.05 else (top - height_mm - start[1]) / uy if uy < -0.05 else math.inf,
    )
    for turn, radius in ((45.0, task.bend_mm), (90.0, task.bend_mm), (180.0, max(task.bend_mm, 70.0)), (180.0, max(task.bend_mm, 150.0))):
        spare = task.length_mm - radius * math.radians(turn) - 2 * lead_mm
        if spare < 0:
            continue
        edge = min(max(room - radius - 60.0 - lead_mm, 0.0), spare)
        for before in dict.fromkeys((0.0, round(spare / 2), round(edge))):
            for side in (1.0, -1.0):
                yield _bend_path(start, heading, lead_mm + before, radius, side * turn, task.length_mm), 0.4 + turn / 450.0


def _bend_path(start: Place, heading: float, before: float, radius: float, turn: float, length: float) -> Path:
    bend = Bend(ahead(start, heading, before), heading, radius, turn)
    after = length - before - bend.length_mm
    pieces: tuple[Piece, ...] = (
        Straight(start, heading, before),
        bend,
        Straight(bend.at(bend.length_mm), (heading + turn) % 360.0, after),
    )
    return Path(pieces)


def _try(
    grid: Grid, state: _State, task: Task, path: Path, looks: float, around: Stamp,
    near: Stamp,
    holders: Mapping[str, HolderSize], width_mm: float, height_mm: float,
) -> _Move | None:  # fmt: skip
    """One way to lay a stretch, or None where it would leave the sheet or meet something."""
    end, corners = path.end, list(path.corners)
    holder = holders.get(task.key[1]) if task.is_leaf else None
    if holder is not None:
        corners.extend(_holder_corners(path, holder))
    left, bottom, right, top = bounds((*corners, (state.box[0], state.box[1]), (state.box[2], state.box[3])))
    if right - left > width_mm or top - bottom > height_mm:
        return None
    if holder is not None:
        extra = grid.polygon(
            rectangle(end, path.last_heading_deg, length_mm=holder.length_mm, width_mm=holder.width_mm, margin_mm=HOLDER_MARGIN_MM)
        )
    else:
        extra = grid.disc(end, task.far_node_mm)
    if state.taken.meets(extra, but=around):
        return None
    stamp: Stamp = {}
    for piece in reversed(path.pieces):
        part = grid.line(piece.corners, task.half_mm)
        if state.taken.meets(part, but=around):
            return None
        for row, mask in part.items():
            stamp[row] = stamp.get(row, 0) | mask
    # A branch cannot but cross the ring round its own breakout, so what lies near its start does not count.
    crowd = state.halo.overlap(stamp, but=near) + 2 * state.halo.overlap(extra, but=near)
    growth = (right - left - state.box[2] + state.box[0]) / width_mm + (top - bottom - state.box[3] + state.box[1]) / height_mm
    cost = state.cost + looks + 0.01 * crowd + 0.05 * growth
    return _Move(cost, state, path, (stamp, extra), (left, bottom, right, top))


def _carry_on(grid: Grid, move: _Move, task: Task) -> _State:
    """The board with the stretch laid."""
    state, path = move.state, move.path
    node, far = task.key
    halo: Stamp = {}
    if task.pending_leaves:
        # Tails and their holders are still to come here; others had better keep away.
        halo = grid.disc(path.end, 170.0 + 15.0 * task.pending_leaves)
    headings = dict(state.headings)
    headings[node] = (*headings[node], (path.first_heading_deg % 360.0, task.share_deg))
    headings[far] = (((path.last_heading_deg + 180.0) % 360.0, INCOMING_SHARE_DEG),)
    return _State(
        cost=move.cost,
        paths={**state.paths, task.key: path},
        places={**state.places, far: path.end},
        headings=headings,
        taken=state.taken.plus(move.stamps),
        halo=state.halo.plus((halo,)) if halo else state.halo,
        box=move.box,
    )


def _holder_corners(path: Path, size: HolderSize) -> tuple[Place, ...]:
    return rectangle(path.end, path.last_heading_deg, length_mm=size.length_mm, width_mm=size.width_mm)


def fan(stretches: tuple[Stretch, ...]) -> Laid:
    """The tree laid straight, each subtree in a cone of directions of its own.

    At every breakout the cone of the branch is shared out among what hangs from it, by number of ends, and each
    stretch takes the middle of its share. A cone under 180 degrees is convex, so whatever lies in it stays in it, and
    cones from one point do not meet: no two stretches cross, whatever their lengths.
    """
    children: dict[str, list[str]] = defaultdict(list)
    lengths: dict[tuple[str, str], float] = {}
    ordered = order_of(stretches)
    root = ordered[0][0].start if ordered[0][1] else ordered[0][0].end
    for stretch, forward in ordered:
        near, far = (stretch.start, stretch.end) if forward else (stretch.end, stretch.start)
        children[near].append(far)
        lengths[near, far] = stretch.length_mm
    ends: dict[str, int] = {}
    for stretch, forward in reversed(ordered):
        far = stretch.end if forward else stretch.start
        ends[far] = sum(ends[child] for child in children[far]) or 1
    paths: dict[tuple[str, str], Path] = {}
    stack: list[tuple[str, Place, float, float]] = [(root, (0.0, 0.0), -85.0, 85.0)]
    while stack:
        node, place, low, high = stack.pop()
        total = sum(ends[child] for child in children[node])
        # The heaviest branch goes on along the middle, the others above and below it in turn.
        arranged: list[str] = []
        for index, child in enumerate(children[node]):
            arranged.insert(len(arranged) if index % 2 else 0, child)
        at = low
        for child in arranged:
            share = (high - low) * ends[child] / total
            heading = at + share / 2
            paths[node, child] = Path((Straight(place, heading, lengths[node, child]),))
            stack.append((child, paths[node, child].end, at, at + share))
            at += share
    return Laid(paths, "fan", 0)
