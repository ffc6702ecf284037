"""Looms with a known flat layout, laid by our own search and held against shapely.

Shared benchmarks, loom_trees.json (made for this project by a generator): four trees, each with a witness, a
crossing-free layout at true lengths on the stated board with 25 mm between bundles. shapely (GEOS) says what crosses.
"""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pytest
from shapely import LineString, Point, STRtree

from halfshaft.studies.looms.layout import FINE, Ask, Laid, lay_tree
from halfshaft.studies.looms.trees import Edge, Stretch, stretches_of
from halfshaft.studies.looms.ways import Room

SHARED = Path(__file__).parents[2].parent / "shared"
TREES = SHARED / "benchmarks" / "loom_trees.json"
# The benchmark states no diameter; 5 mm is a bundle of ten wires of 0.5 mm2, and leaves the 20 mm that a peg needs.
BUNDLE_MM = 5.0
LENGTH_TOLERANCE_MM = 0.1


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
    """On its board, as the program lays a board of this size."""
    width, height = trees()[index]["board_mm"]
    ask = Ask(tree=stretches(trees()[index]), holders={}, room=Room(0.0, 0.0, width, height), bend_factor=5.0, grid=FINE)
    laid = lay_tree(ask).laid
    assert laid is not None, "no way was found on the board that the witness needs"
    return laid


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


@pytest.mark.parametrize("index", range(4))
def test_every_tree_stays_within_the_stated_board(index):
    """The witness proves that a way exists."""
    left, bottom, right, top = lay(index).box({})
    width, height = trees()[index]["board_mm"]
    assert left >= -1e-6
    assert bottom >= -1e-6
    assert right <= width + 1e-6
    assert top <= height + 1e-6


@pytest.mark.parametrize("index", range(4))
def test_bundles_without_a_common_end_lie_as_far_apart_as_in_the_witness(index):
    """25 mm between centre lines, as the benchmark states it; close to a breakout the neighbours of neighbours may come nearer."""
    paths = lay(index).paths
    shapes = {ends: LineString(path.corners) for ends, path in paths.items()}
    for here, there in itertools.combinations(shapes, 2):
        nodes = set(here) | set(there)
        if len(nodes) == 4 and not any({a, b} in [set(ends) for ends in shapes] for a in here for b in there):
            assert shapes[here].distance(shapes[there]) >= 25.0 - 1e-6, (here, there)


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
