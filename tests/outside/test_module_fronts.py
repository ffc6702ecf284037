"""Lowest fillings against published exact fronts: centre-of-gravity height against luggage litres lost, over two or three bare voids.

Source: module_pareto.json of the shared benchmarks: every point of each front proven by a constraint solver on a lattice of
50 mm, of which all lengths are multiples, so that no other arrangement can be better. No walls, no gaps; modules lie flat.
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from typing import Any

import pytest

from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.candidates import best_boxes
from halfshaft.studies.arrangement.lowest import Prover, lowest_by_counts
from halfshaft.studies.arrangement.nets import NetBlock
from halfshaft.studies.arrangement.stands import STEPS_PER_MM, PackedModule, stands_of

SHARED = Path(__file__).parents[2].parent / "shared"
FRONTS = SHARED / "benchmarks" / "module_pareto.json"
LAYERS = 10
BARE = ArrangementSettings(
    space_gap_mm=0.0, feet_mm=0.0, plug_room_mm=0.0, end_room_mm=0.0, side_room_mm=0.0, under_mm=0.0, over_mm=0.0,
    module_gap_mm=0.0, layer_gap_mm=0.0, layers_max=LAYERS, plates="none",
)  # fmt: skip
Vector = tuple[int, ...]


def cases() -> list[Any]:
    if not FRONTS.is_file():
        return [pytest.param(None, marks=pytest.mark.skip(reason="the shared benchmarks are not beside this repository"))]
    return [pytest.param(case, id=case["name"]) for case in json.loads(FRONTS.read_text(encoding="utf-8"))]


def litres(case: dict[str, Any], counts: Vector) -> float:
    return sum(count * math.prod(module["dims_mm"]) for count, module in zip(counts, case["modules"], strict=True)) / 1e6


def lowest_in(case: dict[str, Any], void: dict[str, Any], kinds: tuple[PackedModule, ...]) -> dict[Vector, int]:
    """Mass times twice the sum of heights of the lowest filling for every choice of counts that fits; each must be proven."""
    stands = tuple(stand for kind in kinds for stand in stands_of(kind, BARE, 0.0))
    length, width, height = (side * STEPS_PER_MM for side in void["dims_mm"])
    net = NetBlock((0, 0, void["floor_z_mm"] * STEPS_PER_MM), (length, width, height), (length, width, height), (length, width, height))
    vectors = itertools.product(*(range(module["count"] + 1) for module in case["modules"]))
    named = {
        vector: tuple((kind.module, count) for kind, count in zip(kinds, vector, strict=True) if count)
        for vector in vectors
        if any(vector) and litres(case, vector) <= math.prod(void["dims_mm"]) / 1e6
    }
    # The voids are bare: a box is not drawn round the modules, so the walls of boxes are left out of the search of grids.
    best = best_boxes((net,), stands, BARE)
    known = {counts: best[counts][0].sum_2z if counts in best else None for counts in named.values()}
    proofs = lowest_by_counts(Prover((net,), stands, floor=0, layers_max=LAYERS, effort=60.0), known)
    lowest = {tuple(0 for _ in kinds): 0}
    for vector, counts in named.items():
        proof, found = proofs[counts], proofs[counts].found
        height_of = known[counts] if found is None else found
        assert height_of == proof.bound, (void["id"], vector)
        if height_of is not None:
            lowest[vector] = height_of
    return lowest


@pytest.mark.parametrize("case", cases())
def test_the_published_front_comes_out(case: dict[str, Any]) -> None:
    kinds = tuple(
        PackedModule(
            module=f"M{index}",
            length_mm=module["dims_mm"][0],
            width_mm=module["dims_mm"][1],
            height_mm=module["dims_mm"][2],
            mass_kg=module["mass_kg"],
            attitudes=("flat",),
        )
        for index, module in enumerate(case["modules"])
    )
    wanted = tuple(module["count"] for module in case["modules"])
    mass_kg = sum(module["mass_kg"] * module["count"] for module in case["modules"])
    least: dict[float, float] = {}
    for choice in itertools.product(*(lowest_in(case, void, kinds).items() for void in case["voids"])):
        if tuple(map(sum, zip(*(vector for vector, _ in choice), strict=True))) == wanted:
            lost = sum(litres(case, vector) for (vector, _), void in zip(choice, case["voids"], strict=True) if void["luggage"])
            height_mm = sum(height for _, height in choice) / (2 * STEPS_PER_MM * 1000 * mass_kg)
            least[lost] = min(height_mm, least.get(lost, math.inf))
    front: list[tuple[float, float]] = []
    for lost in sorted(least):
        if not front or least[lost] < front[-1][1] - 1e-9:
            front.append((lost, least[lost]))
    printed = sorted((point["luggage_volume_lost_l"], point["cg_height_mm"]) for point in case["answer"]["pareto"])
    assert len(front) == len(printed)
    for ours, theirs in zip(front, printed, strict=True):
        assert ours == pytest.approx(theirs, abs=0.00006)  # printed to four digits
