"""Bounds on how many modules a room can hold and how low they can lie that need no places: area at every height, and volume.

Every piece that crosses one height has its own share of the floor's area, and all of them share the volume. The shares
may be weighed with dual feasible functions: whenever lengths fit side by side into a room, so do their weighed lengths
(Fekete and Schepers 2004, "A general framework for bounds for higher-dimensional orthogonal packing problems"). What is
left is a small question of how many pieces of each sort begin at which height.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

from halfshaft.studies.arrangement.lattice import Piece, normal_positions
from halfshaft.studies.arrangement.stands import Steps, X, Y, Z

# Weighings by u(k), for k = 1, 2 ...; 0 is the plain length.
WEIGHINGS = (0, 1, 2, 3, 4)
TIME = 0.5


def weighed(length: int, room: int, k: int) -> tuple[int, int]:
    """A length and its room, weighed by u(k): x where (k + 1) x is whole, else floor((k + 1) x) / k; x being length over room.

    >>> weighed(60, 100, 1)
    (100, 100)
    >>> weighed(30, 100, 2)
    (0, 200)
    """
    if k == 0:
        return length, room
    whole, rest = divmod((k + 1) * length, room)
    return (k * length if rest == 0 else whole * room), k * room


@dataclass(frozen=True, kw_only=True, slots=True)
class Begins:
    """Pieces of one sort that begin at one height."""

    piece: Piece
    z: int


class AreaBound:
    """The question for one room."""

    def __init__(self, pieces: tuple[Piece, ...], inner: Steps, *, layers_max: int) -> None:
        length, width = (inner[axis] - 2 * min(piece.wall[axis] for piece in pieces) for axis in (X, Y))
        self.room = (length, width, inner[Z] + pieces[0].stand.layer_gap)
        fitting = tuple(
            piece
            for piece in pieces
            if all(piece.size[axis] + 2 * piece.wall[axis] <= inner[axis] for axis in (X, Y)) and piece.size[Z] <= self.room[Z]
        )
        heights = normal_positions(fitting, Z, self.room[Z], layers_max)
        self.begins = [Begins(piece=piece, z=z) for piece, found in zip(fitting, heights, strict=True) for z in found]
        self.layers_max = layers_max

    def most(self) -> int:
        """A count that is surely not exceeded."""
        least = self._least([-begin.piece.count for begin in self.begins], None) if self.begins else 0
        return -(least or 0)

    def lowest(self, counts: Mapping[str, int], weights: Mapping[str, int]) -> int | None:
        """Least mass times twice the sum of heights of so many modules of each type; None where they surely do not fit."""
        modules = {begin.piece.stand.kind.module for begin in self.begins}
        if not {module for module, count in counts.items() if count} <= modules:
            return None
        goal = [begin.piece.count * weights[begin.piece.stand.kind.module] * (2 * begin.z + begin.piece.centre_2z) for begin in self.begins]
        return self._least(goal, counts)

    def on_the_floor(self, counts: Mapping[str, int], weights: Mapping[str, int]) -> int | None:
        """The same if the floor had room for all of them, each as low as any of its type can lie: a bound without a search."""
        least: dict[str, int] = {}
        for begin in self.begins:
            module = begin.piece.stand.kind.module
            least[module] = min(least.get(module, begin.piece.centre_2z), begin.piece.centre_2z)
        if not {module for module, count in counts.items() if count} <= set(least):
            return None
        return sum(count * weights[module] * least[module] for module, count in counts.items() if count)

    def most_by_volume(self) -> int:
        """A count that is surely not exceeded, from the volume alone."""
        if not self.begins:
            return 0
        room = self.room[X] * self.room[Y] * self.room[Z]
        return max(room * begin.piece.count // (begin.piece.size[X] * begin.piece.size[Y] * begin.piece.size[Z]) for begin in self.begins)

    def _least(self, goal: list[int], counts: Mapping[str, int] | None) -> int | None:
        """The least of a goal over how many pieces begin where; None where nothing is possible."""
        from ortools.sat.python import cp_model

        model = cp_model.CpModel()
        area = self.room[X] * self.room[Y]
        limits = [self.layers_max * area // (begin.piece.size[X] * begin.piece.size[Y]) for begin in self.begins]
        numbers = [model.new_int_var(0, limit, "") for limit in limits]
        for shares, whole in self._shares():
            model.add(cp_model.LinearExpr.weighted_sum(numbers, shares) <= whole)
        if counts is not None:
            for module in sorted({begin.piece.stand.kind.module for begin in self.begins}):
                tally = [begin.piece.count if begin.piece.stand.kind.module == module else 0 for begin in self.begins]
                model.add(cp_model.LinearExpr.weighted_sum(numbers, tally) == counts.get(module, 0))
        model.minimize(cp_model.LinearExpr.weighted_sum(numbers, goal))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = TIME
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            return None
        return round(solver.best_objective_bound)

    def _shares(self) -> list[tuple[list[int], int]]:
        """Shares of the floor at every height, of the layers, and of the volume, each with what they may come to."""
        found: dict[tuple[int, ...], int] = {}
        level = list(product(WEIGHINGS, WEIGHINGS))
        weighed_area = {pair: [self._area(begin.piece, *pair) for begin in self.begins] for pair in level}
        for areas in weighed_area.values():
            whole = areas[0][1]
            for z in sorted({begin.z for begin in self.begins}):
                crossing = tuple(
                    share if begin.z <= z < begin.z + begin.piece.size[Z] else 0
                    for begin, (share, _) in zip(self.begins, areas, strict=True)
                )
                found[crossing] = min(whole, found.get(crossing, whole))
            for k in WEIGHINGS:
                tall = [weighed(begin.piece.size[Z], self.room[Z], k) for begin in self.begins]
                volume = tuple(share * height for (share, _), (height, _) in zip(areas, tall, strict=True))
                found[volume] = min(whole * tall[0][1], found.get(volume, whole * tall[0][1]))
        plain = tuple(share for share, _ in weighed_area[0, 0])
        found[plain] = min(self.layers_max * self.room[X] * self.room[Y], found.get(plain, self.layers_max * self.room[X] * self.room[Y]))
        return [(list(shares), whole) for shares, whole in found.items() if any(shares)]

    def _area(self, piece: Piece, k: int, m: int) -> tuple[int, int]:
        length, whole_length = weighed(piece.size[X], self.room[X], k)
        width, whole_width = weighed(piece.size[Y], self.room[Y], m)
        return length * width, whole_length * whole_width
