"""Circles packed in a circle, held against the best packings that anybody has published.

Closed forms are classical, or from R. L. Graham, B. D. Lubachevsky, K. J. Nurmela and P. R. J. Ostergard, "Curved hexagonal
packings of equal disks in a circle" (from memory). Shared benchmarks, circles/: equal circles, best known ratios as
collected by E. Specht (Packomania), two thirds of 2 to 100; circles of several sizes, G = Grosso, Jamali, Locatelli and
Schoen, "Solving the problem of packing equal and unequal circles in a circular container" (2010), Z = a later paper on
iterated tabu search (24 NR + contest instances). The long tables are printed by bench/packings.py.
"""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import pytest

from halfshaft.studies.looms.circles import least_circle

CIRCLES = Path(__file__).parents[2].parent / "shared" / "benchmarks" / "circles"
# As a record may be reached but not broken; the printed one is rounded besides.
ROUNDING = 1e-6

# Diameter of the outer circle round n equal ones, in their diameters.
CLOSED = {
    1: 1.0, 2: 2.0, 3: 1 + 2 / math.sqrt(3), 4: 1 + math.sqrt(2), 5: 1 + 1 / math.sin(math.pi / 5), 6: 3.0, 7: 3.0,
    8: 1 + 1 / math.sin(math.pi / 7), 9: 1 + 1 / math.sin(math.pi / 8), 11: 1 + 1 / math.sin(math.pi / 9), 13: 2 + math.sqrt(5),
    19: 1 + math.sqrt(2) + math.sqrt(6),
}  # fmt: skip


@pytest.mark.parametrize("count", CLOSED)
def test_equal_circles_as_in_closed_form(count):
    assert least_circle([1.0] * count, effort=6).diameter_mm == pytest.approx(CLOSED[count], rel=ROUNDING)


@pytest.mark.parametrize(
    ("radii", "outer"),
    [
        # Three that touch, with a circle round them: one of the whole-numbered solutions of Descartes' theorem, bends -6, 11, 14, 15.
        ((1 / 11, 1 / 14, 1 / 15), 1 / 6),
        # A third that finds room beside two: of 1 and 1 the gap holds 2/3, and no more is needed.
        ((1.0, 1.0, 2 / 3), 2.0),
        ((1.0, 1.0, 0.1), 2.0),
        ((10.0, 10.0, 10.0), 10 * (1 + 2 / math.sqrt(3))),
    ],
)
def test_up_to_three_circles_are_exact(radii, outer):
    assert least_circle([2 * radius for radius in radii]).diameter_mm == pytest.approx(2 * outer, rel=1e-12)


def equal() -> list[tuple[str, list[float], float, float]]:
    path = CIRCLES / "equal_in_circle.csv"
    if not path.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {path.name}")
    with path.open(encoding="utf-8", newline="") as file:
        return [(f"equal {row['n']}", [1.0] * int(row["n"]), float(row["ratio_R_over_r"]), 0.0) for row in csv.DictReader(file)]


def unequal() -> list[tuple[str, list[float], float, float]]:
    """Name, radii, best known radius, and half of its last printed digit."""
    path = CIRCLES / "unequal_in_circle.json"
    if not path.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {path.name}")
    rows = json.loads(path.read_text(encoding="utf-8"), parse_float=str)
    return [
        (row["name"], [float(radius) for radius in row["radii"]], float(row["best_known_R"]), 0.5 * 10.0 ** -len(row["best_known_R"].partition(".")[2]))
        for row in rows
    ]  # fmt: skip


def over(radii: list[float], best: float, digit: float, effort: int) -> float:
    """By how much more than the best known circle is found, as a share; a broken record is almost surely a fault of ours."""
    found = least_circle([2 * radius for radius in radii], effort=effort).diameter_mm / 2
    assert found >= best * (1 - ROUNDING) - digit
    return found / best - 1


def test_the_quick_layout_is_within_six_per_cent_of_every_record_and_three_in_the_mean():
    excess = {name: over(radii, best, digit, 0) for name, radii, best, digit in (*equal(), *unequal()) if len(radii) <= 62}
    assert {name: share for name, share in excess.items() if share > 0.06} == {}
    assert sum(excess.values()) / len(excess) < 0.03


def test_a_short_search_finds_equal_circles_to_three_per_cent_and_most_exactly():
    excess = {name: over(radii, best, digit, 4) for name, radii, best, digit in equal() if len(radii) <= 26}
    assert {name: share for name, share in excess.items() if share > 0.03} == {}
    assert sum(share < 1e-5 for share in excess.values()) > len(excess) / 2


@pytest.mark.parametrize("name", ["M1", "M3", "M4", "M5", "M7", "contest_5", "contest_8", "contest_11", "contest_14", "contest_17"])
def test_a_short_search_finds_circles_of_several_sizes_to_three_per_cent(name):
    ((radii, best, digit),) = ((radii, best, digit) for other, radii, best, digit in unequal() if other == name)
    assert over(radii, best, digit, 8) <= 0.03
