"""Cutting plans against instances whose optimum is known.

Falkenauer's triplets (t60) and uniform ones (u250) and those of Schwerin and Waescher, from the ESICUP data sets (CC0), read
from the shared benchmarks with their proven counts. Two textbook examples need no shared folder: Chvatal, Linear Programming (1983),
chapter 13 (453 raws; from memory, to be confirmed), and the paper machine of the encyclopaedia article "Cutting stock problem" (73 rolls).
"""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import pytest

from halfshaft.studies.looms.cutting import CuttingPlan, StockKind, cut_stock

SHARED = Path(__file__).parents[2].parent / "shared"
INSTANCES = SHARED / "benchmarks" / "cutting" / "cutting_1d.json"
# All 26 of them.
NAMES = [
    *(f"t60_{number:02}" for number in range(12)),
    *(f"u250_{number:02}" for number in range(6)),
    *(f"SCH_WAE1 BPP {number}" for number in range(1, 9)),
]
TEXTBOOK = {
    "Chvatal": (100, {45: 97, 36: 610, 31: 395, 14: 211}, 453),
    "paper machine": (
        5600,
        dict(zip((1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200), (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20), strict=True)),
        73,
    ),
}  # fmt: skip


def instance(name: str) -> dict:
    if not INSTANCES.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {INSTANCES.name}")
    return next(item for item in json.loads(INSTANCES.read_text()) if item["name"] == name)


def plan_for(length: int, pieces: dict[int, int]) -> CuttingPlan:
    """The plan, after a look at whether it can be cut."""
    plan = cut_stock(pieces, [StockKind(ref="R", length_mm=length)], trim_mm=0, offcut_min_mm=length)
    cut: Counter[int] = Counter()
    for item in plan.cuts:
        assert sum(piece * count for piece, count in item.pieces) + item.left_mm == length
        assert item.left_mm >= 0
        for piece, count in item.pieces:
            cut[piece] += count * item.times
    assert cut == pieces
    assert plan.found == length * sum(item.times for item in plan.cuts)
    return plan


@pytest.mark.parametrize("name", NAMES)
def test_as_few_lengths_as_are_proven_and_the_program_proves_it_too(name):
    known = instance(name)
    plan = plan_for(known["stock_length"], Counter(known["pieces"]))
    assert plan.found == known["stock_length"] * known["optimal_stock_count"]
    assert plan.proven


@pytest.mark.parametrize("name", TEXTBOOK)
def test_textbook_examples(name):
    length, pieces, optimum = TEXTBOOK[name]
    plan = plan_for(length, pieces)
    assert plan.found == length * optimum
    assert plan.proven
