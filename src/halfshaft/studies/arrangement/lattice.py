"""Bounds that are proven, and boxes that grids do not reach: set packing on the positions that matter.

Whatever stands in a box can be pushed to the front, to the left and down until each thing touches a wall or another
thing, and is then no higher than before. So every coordinate is a sum of sides (a normal position), and an arrangement
is a choice among finitely many placed blocks of which no two share a point. Two blocks that overlap share the point of
their greater lowest coordinates, which is again made of normal positions: it is enough that at most one block covers
each such point. Blocks have the room that they keep on them. The limit on layers counts what stands over one another.
References: Herz 1972 and Christofides and Whitlock 1977 for normal positions; Beasley 1985 for points covered once.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from halfshaft.studies.arrangement.stands import Stand, Steps, Unit, X, Y, Z, unit_size

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

# More placed blocks than this are not given to the solver: it would only use up its time.
BLOCKS_MAX = 2_500
# The constraints are cliques already and their linear relaxation is strong: what pays is to hand it over whole, at once.
# Looking for larger cliques, included constraints, symmetries and what follows from single choices costs more than it gives.
SOLVER: dict[str, int | float | bool] = {
    "linearization_level": 2,
    "add_lp_constraints_lazily": False,
    "cp_model_probing_level": 0,
    "symmetry_level": 0,
    "max_presolve_iterations": 1,
    "merge_at_most_one_work_limit": 0.0,
    "presolve_inclusion_work_limit": 0,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Piece:
    """What is placed as one, with the room that it keeps on it: `size`; `wall` is how far that stays from the walls' insides."""

    stand: Stand
    count: int
    size: Steps
    wall: tuple[int, int]
    centre_2z: int


def pieces_of(stands: tuple[Stand, ...]) -> tuple[Piece, ...]:
    """Single modules with their plates, and pairs; of those that are the same block only the first."""
    pieces: dict[tuple[object, ...], Piece] = {}
    for stand in stands:
        for count in (1,) if stand.pairs_axis is None else (2, 1):
            bare = unit_size(stand, count)
            size = (bare[X] + 2 * stand.keeps(X), bare[Y] + 2 * stand.keeps(Y), bare[Z] + stand.layer_gap)
            wall = (stand.wall(X) - stand.keeps(X), stand.wall(Y) - stand.keeps(Y))
            centre_2z = 2 * stand.tall - stand.size[Z]
            key = (stand.kind.module, count, size, wall, centre_2z)
            pieces.setdefault(key, Piece(stand=stand, count=count, size=size, wall=wall, centre_2z=centre_2z))
    return tuple(pieces.values())


@dataclass(frozen=True, kw_only=True, slots=True)
class Placed:
    """A piece at a place, its lowest corner with its room."""

    piece: Piece
    at: Steps

    def unit(self, number: int, layer: int) -> Unit:
        """It as it stands in a box, from the lowest corner of the room between the walls' insides."""
        stand = self.piece.stand
        at = (self.at[X] + stand.keeps(X), self.at[Y] + stand.keeps(Y), self.at[Z])
        return Unit(stand=stand, count=self.piece.count, at=at, number=number, layer=layer)


def normal_positions(pieces: tuple[Piece, ...], axis: int, room: int, layers_max: int | None = None) -> list[list[int]]:
    """For each piece the positions along an axis that matter: against the wall, or behind a row of other pieces.

    With `layers_max` no row is longer than that, the piece itself counted.
    """
    walls = [piece.wall[axis] if axis != Z else 0 for piece in pieces]
    sides = [piece.size[axis] for piece in pieces]
    found: list[set[int]] = [set() for _ in pieces]
    behind: set[int] = set()
    fresh = [(index, wall) for index, wall in enumerate(walls)]
    layers = 0
    while fresh and layers != layers_max:
        layers += 1
        ends = set()
        for index, at in fresh:
            if at + sides[index] <= room - walls[index] and at not in found[index]:
                found[index].add(at)
                ends.add(at + sides[index])
        behind |= ends
        fresh = [(index, end) for end in sorted(ends) for index, wall in enumerate(walls) if end >= wall]
    return [sorted(positions) for positions in found]


class Lattice:
    """All pieces at all normal positions of one room (the inside of the largest box that a block takes)."""

    def __init__(self, pieces: tuple[Piece, ...], room: Steps, *, layers_max: int) -> None:
        self.pieces = pieces
        self.layers_max = layers_max
        self.room = room
        heights = max((piece.stand.layer_gap for piece in pieces), default=0)
        by_axis = [normal_positions(pieces, axis, room[axis]) for axis in (X, Y)]
        by_axis.append(normal_positions(pieces, Z, room[Z] + heights, layers_max))
        self.lines = [sorted({at for positions in axis for at in positions}) for axis in by_axis]
        self.size = sum(len(by_axis[X][i]) * len(by_axis[Y][i]) * len(by_axis[Z][i]) for i in range(len(pieces)))
        self._by_axis = by_axis

    @property
    def is_small(self) -> bool:
        """Whether the solver is worth asking."""
        return 0 < self.size <= BLOCKS_MAX

    def placed(self) -> list[Placed]:
        """Every piece at every place."""
        return [
            Placed(piece=piece, at=(x, y, z))
            for index, piece in enumerate(self.pieces)
            for z in self._by_axis[Z][index]
            for x in self._by_axis[X][index]
            for y in self._by_axis[Y][index]
        ]

    def covered(self, placed: Placed, axis: int) -> range:
        """Which lines of an axis a placed piece covers."""
        lines, at = self.lines[axis], placed.at[axis]
        return range(bisect_left(lines, at), bisect_left(lines, at + placed.piece.size[axis]))


@dataclass(frozen=True, kw_only=True, slots=True)
class Proof:
    """What a solver says of one room: the goal that it found and the goal's proven bound (None: it has none), what it placed, and its effort."""

    found: int | None
    bound: int | None
    placed: tuple[Placed, ...]
    effort: float
    is_impossible: bool = False

    def units(self) -> tuple[Unit, ...]:
        """What it placed, from the lowest corner between the walls' insides, close together, with layers counted from below."""
        layered = _layered(self.placed)
        close = _layered(_pushed(_pushed(self.placed, X), Y))
        best = close if _deepest(close) <= _deepest(layered) else layered
        return tuple(placed.unit(number, layer) for number, (placed, layer) in enumerate(best))


def _layered(pieces: tuple[Placed, ...]) -> list[tuple[Placed, int]]:
    """Pieces from below with their layers: one more than the highest layer that is anywhere below."""
    ranked = sorted(pieces, key=lambda placed: (placed.at[Z], placed.at[X], placed.at[Y], placed.piece.size))
    layers: list[int] = []
    for index, placed in enumerate(ranked):
        below = [layers[other] for other in range(index) if _meet(placed, ranked[other], (X, Y))]
        layers.append(max(below, default=0) + 1)
    return list(zip(ranked, layers, strict=True))


def _deepest(layered: list[tuple[Placed, int]]) -> int:
    return max((layer for _, layer in layered), default=0)


def _pushed(pieces: tuple[Placed, ...], axis: int) -> tuple[Placed, ...]:
    """Each piece, first come first, moved along a level axis until it meets the wall or another."""
    moved: list[Placed] = []
    others = tuple(other for other in (X, Y, Z) if other != axis)
    for placed in sorted(pieces, key=lambda placed: (placed.at[axis], placed.at, placed.piece.size)):
        stops = [other.at[axis] + other.piece.size[axis] for other in moved if _meet(placed, other, others)]
        low = max([placed.piece.wall[axis], *stops])
        at = (low, placed.at[Y], placed.at[Z]) if axis == X else (placed.at[X], low, placed.at[Z])
        moved.append(replace(placed, at=at))
    return tuple(moved)


def _meet(one: Placed, other: Placed, axes: tuple[int, ...]) -> bool:
    """Whether two pieces share some of each of these axes."""
    return all(
        one.at[axis] < other.at[axis] + other.piece.size[axis] and other.at[axis] < one.at[axis] + one.piece.size[axis] for axis in axes
    )


class Packing:
    """The packing model of one room, made once and asked several times."""

    def __init__(self, lattice: Lattice) -> None:
        from ortools.sat.python import cp_model

        self.placed = lattice.placed()
        self.model = cp_model.CpModel()
        self.chosen = [self.model.new_bool_var("") for _ in self.placed]
        points: dict[tuple[int, int, int], list[int]] = {}
        columns: dict[tuple[int, int], list[int]] = {}
        for index, placed in enumerate(self.placed):
            heights = lattice.covered(placed, Z)
            for x in lattice.covered(placed, X):
                for y in lattice.covered(placed, Y):
                    columns.setdefault((x, y), []).append(index)
                    for z in heights:
                        points.setdefault((x, y, z), []).append(index)
        for members in _distinct(points.values()):
            self.model.add_at_most_one(self.chosen[index] for index in members)
        for members in _distinct(columns.values()):
            self.model.add(cp_model.LinearExpr.sum([self.chosen[index] for index in members]) <= lattice.layers_max)

    def most(self, *, time: float) -> Proof:
        """As many modules as can be."""
        from ortools.sat.python import cp_model

        model = self.model.clone()
        model.maximize(cp_model.LinearExpr.weighted_sum(self.chosen, [placed.piece.count for placed in self.placed]))
        return self._solved(model, time)

    def lowest(self, counts: Mapping[str, int], *, weights: Mapping[str, int], below: int | None, time: float) -> Proof:
        """So many modules of each type, mass times twice the sum of their heights least, and less than `below`.

        Where nothing less is proven, `found` is None and the bound is `below` itself.
        """
        from ortools.sat.python import cp_model

        model = self.model.clone()
        modules = [placed.piece.stand.kind.module for placed in self.placed]
        for module in sorted(weights):
            share = [placed.piece.count if name == module else 0 for placed, name in zip(self.placed, modules, strict=True)]
            model.add(cp_model.LinearExpr.weighted_sum(self.chosen, share) == counts.get(module, 0))
        heights = [
            placed.piece.count * weights[name] * (2 * placed.at[Z] + placed.piece.centre_2z)
            for placed, name in zip(self.placed, modules, strict=True)
        ]
        unit = math.gcd(*heights)
        goal = cp_model.LinearExpr.weighted_sum(self.chosen, [height // unit for height in heights])
        if below is not None:
            model.add(goal <= -(-below // unit) - 1)
        model.minimize(goal)
        proof = self._solved(model, time)
        if proof.is_impossible:
            return replace(proof, bound=below)
        return replace(
            proof, found=None if proof.found is None else proof.found * unit, bound=None if proof.bound is None else proof.bound * unit
        )

    def _solved(self, model: cp_model.CpModel, time: float) -> Proof:
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        for name, value in SOLVER.items():
            setattr(solver.parameters, name, value)
        solver.parameters.max_deterministic_time = time
        status = solver.solve(model)
        effort = solver.deterministic_time
        if status == cp_model.INFEASIBLE:
            return Proof(found=None, bound=None, placed=(), effort=effort, is_impossible=True)
        # A solver stopped before it began has no bound.
        bound = round(solver.best_objective_bound) if math.isfinite(solver.best_objective_bound) else None
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Proof(found=None, bound=bound, placed=(), effort=effort)
        chosen = tuple(p for p, c in zip(self.placed, self.chosen, strict=True) if solver.boolean_value(c))
        return Proof(found=round(solver.objective_value), bound=bound, placed=chosen, effort=effort)


def _distinct(groups: Iterable[list[int]]) -> list[tuple[int, ...]]:
    """Each group once, without those of one."""
    return sorted({tuple(group) for group in groups if len(group) > 1})
