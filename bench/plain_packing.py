"""A plain model of packing, for comparison only: every piece a free box with its own coordinates, any two of them apart."""

from __future__ import annotations

from itertools import combinations, pairwise

from ortools.sat.python import cp_model

from halfshaft.studies.arrangement.lattice import Piece
from halfshaft.studies.arrangement.stands import Steps


def plain_most(
    pieces: tuple[Piece, ...], inner: Steps, free: int, *, seconds: float | None = None, time: float | None = None
) -> tuple[int, int]:
    """The most modules that it places between the insides of walls, and its bound; `free` boxes are offered to it."""
    model = cp_model.CpModel()
    room = (*inner[:2], inner[2] + pieces[0].stand.layer_gap)
    used = [[model.new_bool_var("") for _ in pieces] for _ in range(free)]
    low = [[model.new_int_var(-room[axis], room[axis], "") for axis in range(3)] for _ in range(free)]
    high = []
    for choices, at in zip(used, low, strict=True):
        model.add_at_most_one(choices)
        high.append([at[axis] + sum(piece.size[axis] * choice for piece, choice in zip(pieces, choices, strict=True)) for axis in range(3)])
        for piece, choice in zip(pieces, choices, strict=True):
            for axis in range(3):
                wall = piece.wall[axis] if axis < 2 else 0
                model.add(at[axis] >= wall).only_enforce_if(choice)
                model.add(at[axis] + piece.size[axis] <= room[axis] - wall).only_enforce_if(choice)
    for one, two in combinations(range(free), 2):
        ways = [model.new_bool_var("") for _ in range(6)]
        for axis in range(3):
            model.add(high[one][axis] <= low[two][axis]).only_enforce_if(ways[2 * axis])
            model.add(high[two][axis] <= low[one][axis]).only_enforce_if(ways[2 * axis + 1])
        model.add_bool_or([*ways, *(~is_used(model, used[index]) for index in (one, two))])
    for one, two in pairwise(used):
        model.add(sum(one) >= sum(two))  # Boxes are alike: the first ones are used first.
    model.maximize(sum(piece.count * choice for choices in used for piece, choice in zip(pieces, choices, strict=True)))
    solver = cp_model.CpSolver()
    if time is not None:
        solver.parameters.num_workers = 1
        solver.parameters.max_deterministic_time = time
    if seconds is not None:
        solver.parameters.num_workers = 2
        solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = round(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else 0
    return found, round(solver.best_objective_bound)


def is_used(model: cp_model.CpModel, choices: list[cp_model.IntVar]) -> cp_model.IntVar:
    """Whether a free box is used at all."""
    used = model.new_bool_var("")
    model.add(sum(choices) == used)
    return used
