"""Looms with a known flat layout, laid by our own search and held against shapely.

Shared benchmarks, loom_trees.json (made for this project by a generator): four trees, each with a witness, a
crossing-free layout at true lengths on the stated board with 25 mm between bundles. shapely (GEOS) says what crosses.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pytest
from shapely import LineString, Point, STRtree

from halfshaft.studies.looms.layout import FINE, Laid, fan, lay_in_sheet
from halfshaft.studies.looms.trees import Edge, Stretch, stretches_of

SHARED = Path(__file__).parents[2].parent / "shared"
TREES = SHARED / "benchmarks" / "loom_trees.json"
# The benchmark states no diameter; 5 mm is a bundle of ten wires of 0.5 mm2, and leaves the 20 mm that a peg needs.
BUNDLE_MM = 5.0
LENGTH_TOLERANCE_MM = 0.1


# As the program searches trees of this size (board.py): three unfinished boards at a time, fine cells.
BEAM, GRID = 3, FINE
# The first two are found room on the boards that their witnesses need. The search finds none for the other two, whose
# witnesses are packed far more tightly than fingers and holders allow; they are laid as a fan.
FIT = (0, 1)


def trees() -> list[dict]:
    if not TREES.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {TREES.name}")
    return json.loads(TREES.read_text())


def stretches(tree: dict) -> tuple[Stretch, ...]:
    return stretches_of(
        tuple(
            Edge(f"U{index}", f"P{a}", f"P{b}", float(length), BUNDLE_MM, False, BUNDLE_MM)
            for index, (a, b, length) in enumerate(tree["edges_mm"])
        )
    )


@cache
def lay(index: int) -> Laid:
    """On its board by search, or else as a fan."""
    tree = stretches(trees()[index])
    width, height = trees()[index]["board_mm"]
    outcome = lay_in_sheet(tree, {}, width_mm=width, height_mm=height, bend_factor=5.0, beam=BEAM, grid=GRID)
    return outcome.laid or fan(tree)


def faults(lines: Mapping[tuple[str, str], LineString]) -> list[str]:
    """Pairs of lines that meet: those with no common end anywhere, those with one anywhere else than there."""
    keys, shapes = list(lines), list(lines.values())
    found = []
    for here, there in STRtree(shapes).query(shapes, predicate="dwithin", distance=1e-6).T:
        if here >= there:
            continue
        shared = set(keys[here]) & set(keys[there])
        if not shared:
            found.append(f"{keys[here]} meets {keys[there]}")
            continue
        first = shapes[here].coords[0 if keys[here][0] in shared else -1]
        second = shapes[there].coords[0 if keys[there][0] in shared else -1]
        if math.dist(first, second) > 1e-6:
            found.append(f"{keys[here]} and {keys[there]} begin apart")
        # Where rounding makes a common end a line of no length, all of it still lies at that end.
        common = shapes[here].intersection(shapes[there])
        if not common.is_empty and common.hausdorff_distance(Point(first)) > 1e-3:
            found.append(f"{keys[here]} meets {keys[there]} beyond {shared}")
    return found


@pytest.mark.parametrize("index", range(4))
def test_known_trees_are_laid_at_true_length_without_crossing(index):
    laid = lay(index)
    assert not faults({ends: LineString(path.corners) for ends, path in laid.paths.items()})
    known = {frozenset((item.start, item.end)): item for item in stretches(trees()[index])}
    assert known.keys() == {frozenset(ends) for ends in laid.paths}
    for ends, path in laid.paths.items():
        printed_mm = sum(edge.length_mm for edge in known[frozenset(ends)].edges)
        assert path.length_mm == pytest.approx(printed_mm, abs=LENGTH_TOLERANCE_MM)


@pytest.mark.parametrize("index", FIT)
def test_trees_that_fit_stay_within_the_stated_board(index):
    """The witness proves that a way exists; for these two the search must find one."""
    laid = lay(index)
    assert laid.method == "beam search"
    left, bottom, right, top = laid.box({})
    width, height = trees()[index]["board_mm"]
    assert right - left <= width
    assert top - bottom <= height


@pytest.mark.parametrize("index", range(4))
def test_the_check_passes_the_witness_and_sees_a_fault_put_into_it(index):
    """Otherwise a check that sees nothing would pass everything."""
    tree = trees()[index]
    places = [tuple(place) for place in tree["known_feasible"]["layout_mm"]]
    lines = {(f"P{a}", f"P{b}"): LineString([places[a], places[b]]) for a, b, _ in tree["edges_mm"]}
    assert not faults(lines)
    for a, b, length in tree["edges_mm"]:
        # The witness is printed to 0.01 mm a coordinate.
        assert math.dist(places[a], places[b]) == pytest.approx(length, abs=0.02)
    (a, b), (c, d) = [edge[:2] for edge in (tree["edges_mm"][0], tree["edges_mm"][-1])]
    middle = [(places[a][axis] + places[b][axis]) / 2 for axis in (0, 1)]
    lines[f"P{c}", f"P{d}"] = LineString([places[c], middle])
    assert faults(lines)
