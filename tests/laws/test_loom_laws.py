"""What must always hold of lengths, bundles, trees and cells, whatever the loom."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from halfshaft.model.conversion import Shop
from halfshaft.model.wires import TwistGroup
from halfshaft.studies.looms.lengths import CutLength, bundle_at_most_mm, bundle_diameter_mm, circles_of, cut_length, round_up
from halfshaft.studies.looms.raster import _SHIFT as SHIFT
from halfshaft.studies.looms.raster import Grid, Stamp, Taken
from halfshaft.studies.looms.trees import Edge, loops_in, pieces_of, stretches_of

# A step is whole tenths of a millimetre, as a cutter's is.
steps = st.integers(1, 500).map(lambda tenths: tenths / 10)
lengths = st.floats(0, 12_000)
allowances = st.floats(0, 200)
# A thousandth of a millimetre counts as on the step, so a cut may be so much short of its sum.
ON_THE_STEP_MM = 1e-3


@st.composite
def shops(draw):
    return Shop(
        length_step_to_1000_mm=draw(steps),
        length_step_over_1000_mm=draw(steps),
        slack_each_end_mm=draw(allowances),
        termination_each_end_mm=draw(allowances),
        splice_overlap_mm=draw(allowances),
    )


def cut(
    shop: Shop, runs_mm: float, *, tails_mm: float = 0.0, splices: tuple[bool, bool] = (False, False), take_up: float = 0.0
) -> CutLength:
    return cut_length(
        runs_mm=runs_mm,
        tail_from_mm=tails_mm,
        tail_to_mm=tails_mm,
        splice_from=splices[0],
        splice_to=splices[1],
        take_up=take_up,
        shop=shop,
    )


ends = st.tuples(st.booleans(), st.booleans())
twists = st.floats(0, 0.1)


@given(shops(), lengths, allowances, ends, twists)
def test_a_wire_is_never_cut_shorter_than_its_sum_and_always_on_the_step(shop, runs_mm, tails_mm, splices, take_up):
    length = cut(shop, runs_mm, tails_mm=tails_mm, splices=splices, take_up=take_up)
    step_mm = shop.length_step_to_1000_mm if length.sum_mm <= 1000 else shop.length_step_over_1000_mm
    assert length.sum_mm - ON_THE_STEP_MM <= length.cut_mm < length.sum_mm + step_mm + ON_THE_STEP_MM
    assert length.cut_mm / step_mm == pytest.approx(round(length.cut_mm / step_mm), abs=1e-6)


@given(shops(), lengths, allowances, ends, twists)
def test_the_parts_of_the_sum_are_what_went_in(shop, runs_mm, tails_mm, splices, take_up):
    length = cut(shop, runs_mm, tails_mm=tails_mm, splices=splices, take_up=take_up)
    at_pin_mm = shop.slack_each_end_mm + shop.termination_each_end_mm
    assert [length.end_from_mm, length.end_to_mm] == [shop.splice_overlap_mm if splice else at_pin_mm for splice in splices]
    by_hand = (runs_mm + 2 * tails_mm) * (1 + take_up) + length.end_from_mm + length.end_to_mm
    assert length.sum_mm == pytest.approx(by_hand, abs=1e-6)


@given(shops(), lengths, st.floats(0, 3000), allowances, ends, twists)
def test_a_longer_run_never_makes_a_shorter_wire(shop, runs_mm, more_mm, tails_mm, splices, take_up):
    # With a coarse step below a metre and a fine one above, rounding up may come down again just there.
    shop = shop.model_copy(update={"length_step_over_1000_mm": shop.length_step_to_1000_mm})
    short = cut(shop, runs_mm, tails_mm=tails_mm, splices=splices, take_up=take_up)
    long = cut(shop, runs_mm + more_mm, tails_mm=tails_mm, splices=splices, take_up=take_up)
    assert long.cut_mm >= short.cut_mm - 1e-9


@given(shops(), lengths, st.floats(0, 200), ends)
def test_more_slack_never_makes_a_shorter_wire(shop, runs_mm, more_mm, splices):
    shop = shop.model_copy(update={"length_step_over_1000_mm": shop.length_step_to_1000_mm})
    looser = shop.model_copy(update={"slack_each_end_mm": shop.slack_each_end_mm + more_mm})
    assert cut(looser, runs_mm, splices=splices).cut_mm >= cut(shop, runs_mm, splices=splices).cut_mm - 1e-9


@pytest.mark.parametrize(("over_mm", "expected_mm"), [(0.0, 1000.0), (0.0005, 1000.0), (0.002, 1005.0), (4.9, 1005.0), (5.0, 1005.0)])
def test_rounding_up_forgives_a_thousandth_and_no_more(over_mm, expected_mm):
    assert round_up(1000.0 + over_mm, step_mm=5.0) == expected_mm


wires = st.lists(st.floats(0.5, 30), min_size=1, max_size=16)


@settings(deadline=None)
@given(wires, st.floats(1.0, 2.0))
def test_a_bundle_holds_the_area_of_its_wires_and_its_two_thickest_side_by_side(diameters, looseness):
    bundle_mm = bundle_diameter_mm(diameters, looseness=looseness)
    assert bundle_mm >= math.sqrt(math.fsum(diameter * diameter for diameter in diameters)) - 1e-9
    assert bundle_mm >= sum(sorted(diameters)[-2:]) - 1e-9


@settings(deadline=None)
@given(wires)
def test_a_bundle_is_no_thicker_than_circles_can_be_forced_to_be(diameters):
    """Fekete, Keldenich and Scheffer (2019): circles of half the area of a circle always fit into it; two equal ones just so."""
    assert bundle_diameter_mm(diameters, looseness=1.0) <= bundle_at_most_mm(diameters, looseness=1.0) * (1 + 1e-9)


@settings(deadline=None)
@given(wires, st.floats(1.0, 2.0))
def test_looseness_is_for_three_and_more(diameters, looseness):
    tight, loose = (bundle_diameter_mm(diameters, looseness=factor) for factor in (1.0, looseness))
    assert loose == pytest.approx(tight * (looseness if len(diameters) > 2 else 1.0))


# Least outside diameter of n equal wires, in wire diameters: best packings of equal circles in a circle, printed to
# 1e-4 (2: 2, 3: 1 + 2/sqrt 3, 4: 1 + sqrt 2, 7: 3; the literature calls n <= 13 and n = 19 proven).
LEAST = {1: 1.0, 2: 2.0, 3: 2.1547, 4: 2.4142, 5: 2.7013, 6: 3.0, 7: 3.0, 8: 3.3048, 9: 3.6131, 10: 3.8130, 11: 3.9238, 12: 4.0296, 13: 4.2361, 19: 4.8637}  # fmt: skip


@pytest.mark.parametrize("count", LEAST)
def test_a_bundle_is_no_thinner_than_its_wires_can_be_packed_and_at_most_looseness_and_a_little_thicker(count):
    looseness = Shop().looseness if count > 2 else 1.0
    bundle = bundle_diameter_mm([1.0] * count, looseness=looseness)
    assert LEAST[count] - 5e-5 <= bundle / looseness <= LEAST[count] * 1.06


def pair(ref: str, outside_mm: float | None) -> TwistGroup:
    return TwistGroup(ref=ref, kind="CAN pair", lay_mm=30, twist_to_connector_mm=40, outside_diameter_mm=outside_mm)


@given(wires, st.floats(0.5, 3), st.floats(0.5, 3), st.floats(1, 9))
def test_a_pair_lies_as_one_round_thing_and_a_parted_one_as_a_wire(others, one, other, outside_mm):
    """Twice the diameter of its wires, or with its screen as given; a wire whose fellow goes elsewhere is only itself."""
    apart = [(diameter, None) for diameter in others]
    twisted = [(one, "TC1"), (other, "TC1")]
    groups = {"TC1": pair("TC1", None)}
    assert sorted(circles_of([*apart, *twisted], groups)) == pytest.approx(sorted([*others, one + other]))
    assert sorted(circles_of([*apart, *twisted], {"TC1": pair("TC1", outside_mm)})) == pytest.approx(sorted([*others, outside_mm]))
    assert sorted(circles_of([*apart, twisted[0]], {"TC1": pair("TC1", outside_mm)})) == pytest.approx(sorted([*others, one]))


@st.composite
def graphs(draw):
    """Edges between a few nodes, loops round and double runs included."""
    count = draw(st.integers(2, 9))
    pairs = st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)).filter(lambda pair: pair[0] != pair[1])
    return tuple(
        edge(f"U{index}", f"P{a}", f"P{b}", 10.0 + index) for index, (a, b) in enumerate(draw(st.lists(pairs, min_size=1, max_size=14)))
    )


@st.composite
def trees(draw, most=40):
    """A tree: each node but the first hangs from an earlier one."""
    parents = draw(st.lists(st.integers(0, 10**6), min_size=1, max_size=most))
    sizes = draw(st.lists(st.integers(1, 900), min_size=len(parents), max_size=len(parents)))
    edges = []
    for child, (parent, size) in enumerate(zip(parents, sizes, strict=True), start=1):
        ends = (f"P{parent % child}", f"P{child}")
        edges.append(edge(f"U{child}", *(ends if size % 2 else ends[::-1]), float(size)))
    return tuple(draw(st.permutations(edges)))


def edge(ref: str, start: str, end: str, length_mm: float, bundle_mm: float = 5.0) -> Edge:
    return Edge(ref, start, end, length_mm, bundle_mm, False, bundle_mm)


def multigraph(edges: tuple[Edge, ...]) -> nx.MultiGraph:
    graph = nx.MultiGraph()
    for item in edges:
        graph.add_edge(item.start, item.end, key=item.ref, weight=item.length_mm)
    return graph


@settings(deadline=None)
@given(graphs())
def test_as_many_loops_are_found_as_a_graph_has(edges):
    """The number of independent loops is edges - nodes + pieces (Euler), counted with networkx."""
    graph = multigraph(edges)
    independent = graph.number_of_edges() - graph.number_of_nodes() + nx.number_connected_components(graph)
    loops = list(loops_in(edges))
    assert len(loops) == independent
    assert bool(loops) == (not nx.is_forest(nx.Graph(graph)) or len(set(map(frozenset, graph.edges()))) < len(edges))
    by_ref = {item.ref: item for item in edges}
    for loop in loops:
        assert len(set(loop)) == len(loop)
        around = multigraph(tuple(by_ref[ref] for ref in loop))
        assert nx.is_connected(around)
        assert {degree for _, degree in around.degree()} == {2}


@settings(deadline=None)
@given(graphs())
def test_pieces_are_the_connected_parts(edges):
    pieces = pieces_of(edges)
    assert Counter(item.ref for piece in pieces for item in piece) == Counter(item.ref for item in edges)
    ours = {frozenset(node for item in piece for node in (item.start, item.end)) for piece in pieces}
    assert ours == {frozenset(nodes) for nodes in nx.connected_components(multigraph(edges))}


@settings(deadline=None)
@given(trees())
def test_joining_a_tree_into_stretches_loses_no_length_and_no_end(edges):
    stretches = stretches_of(edges)
    graph = multigraph(edges)
    assert sum(item.length_mm for item in stretches) == pytest.approx(sum(item.length_mm for item in edges), abs=1e-6)
    assert Counter(item.ref for stretch in stretches for item in stretch.edges) == Counter(item.ref for item in edges)
    kept = {node for node, degree in graph.degree() if degree != 2}
    assert {node for item in stretches for node in (item.start, item.end)} == kept
    assert len(stretches) == len(kept) - 1
    for stretch in stretches:
        on_the_way = nx.shortest_path_length(graph, stretch.start, stretch.end, weight="weight")
        assert stretch.length_mm == pytest.approx(on_the_way, abs=1e-6)
        for mark in stretch.marks:
            assert mark.at_mm == pytest.approx(nx.shortest_path_length(graph, stretch.start, mark.point, weight="weight"), abs=1e-6)


places = st.tuples(st.floats(-300, 300), st.floats(-300, 300))
grids = st.sampled_from([Grid(4.0), Grid(5.0), Grid(8.0)])
# Whether a cell exactly on the edge is in or out is left open.
EDGE_MM = 1e-3


def cells(stamp: Stamp) -> set[tuple[int, int]]:
    """Column and row of every cell of a stamp, bit by bit; columns are counted from a shift."""
    found = set()
    for row, mask in stamp.items():
        while mask:
            found.add(((mask & -mask).bit_length() - 1 - SHIFT, row))
            mask &= mask - 1
    return found


def held_against_every_cell(grid: Grid, stamp: Stamp, shape, reach_mm: float) -> None:
    """Every cell whose middle is within reach of a shape is in the stamp, and none further than the corner of a square of that reach.

    Square ends are quicker to stamp than round ones, and what is taken too much is safe.
    """
    found, reach = cells(stamp), reach_mm + grid.cell_mm * math.sqrt(0.5)
    left, bottom, right, top = shape.buffer(reach + 2 * grid.cell_mm).bounds
    columns, rows = ([math.floor(low / grid.cell_mm), math.ceil(high / grid.cell_mm)] for low, high in ((left, right), (bottom, top)))
    seen = set()
    for cell in itertools.product(range(*columns), range(*rows)):
        middle = Point((cell[0] + 0.5) * grid.cell_mm, (cell[1] + 0.5) * grid.cell_mm)
        away = shape.distance(middle) - reach
        if away < -EDGE_MM:
            assert cell in found, (cell, away)
        elif away > (math.sqrt(2) - 1) * reach + EDGE_MM:
            assert cell not in found, (cell, away)
        seen.add(cell)
    assert found <= seen


@settings(max_examples=25, deadline=None)
@given(grids, st.lists(st.tuples(st.floats(-60, 60), st.floats(-60, 60)), min_size=2, max_size=3), st.floats(0, 25))
def test_a_stamped_line_is_the_line_cell_by_cell(grid, corners, half_width_mm):
    # Of a line of next to no length shapely knows no distance.
    shape = LineString(corners) if LineString(corners).length > EDGE_MM else Point(corners[0])
    held_against_every_cell(grid, grid.line(corners, half_width_mm), shape, half_width_mm)


@settings(max_examples=15, deadline=None)
@given(grids, st.tuples(st.floats(-60, 60), st.floats(-60, 60)), st.floats(0, 50))
def test_a_stamped_disc_is_the_disc_cell_by_cell(grid, centre, radius_mm):
    held_against_every_cell(grid, grid.disc(centre, radius_mm), Point(centre), radius_mm)


@st.composite
def blocks(draw):
    """A block that stands at any angle, as a holder does."""
    (x, y), angle = draw(places), math.radians(draw(st.floats(0, 360)))
    length, width = draw(st.floats(5, 80)), draw(st.floats(5, 60))
    ux, uy = math.cos(angle), math.sin(angle)
    return tuple(
        (x + a * length * ux - b * width * uy, y + a * length * uy + b * width * ux) for a, b in ((0, -0.5), (1, -0.5), (1, 0.5), (0, 0.5))
    )


@settings(max_examples=15, deadline=None)
@given(grids, blocks())
def test_a_stamped_block_is_the_block_cell_by_cell(grid, corners):
    held_against_every_cell(grid, grid.polygon(corners), Polygon(corners), 0.0)


@st.composite
def shapes(draw):
    """A line with a width, a disc or a block: how it is stamped, and what it is to shapely (line and reach)."""
    kind = draw(st.sampled_from(["line", "disc", "block"]))
    if kind == "block":
        corners = draw(blocks())
        return lambda grid: grid.polygon(corners), Polygon(corners), 0.0
    reach = draw(st.floats(0, 40))
    if kind == "disc":
        centre = draw(places)
        return lambda grid: grid.disc(centre, reach), Point(centre), reach
    corners = draw(st.lists(places, min_size=2, max_size=4, unique=True))
    return lambda grid: grid.line(corners, reach), LineString(corners), reach


@settings(max_examples=300, deadline=None)
@given(grids, shapes(), shapes())
def test_two_shapes_that_touch_always_meet_in_a_cell(grid, here, there):
    """And two that stand a whole diagonal and more apart never do, so that little of a board is wasted."""
    taken = Taken({}).plus([here[0](grid)])
    apart = here[1].distance(there[1]) - here[2] - there[2]
    if apart <= 0:
        assert taken.meets(there[0](grid))
    if apart > 2 * math.sqrt(2) * grid.cell_mm:
        assert not taken.meets(there[0](grid))


@settings(max_examples=100, deadline=None)
@given(grids, shapes(), shapes(), shapes())
def test_cells_left_aside_do_not_count_and_others_do(grid, here, there, aside):
    stamp, other, but = (shape[0](grid) for shape in (here, there, aside))
    taken = Taken({}).plus([stamp])
    common = cells(stamp) & cells(other)
    assert taken.meets(other) == bool(common)
    assert taken.meets(other, but=but) == bool(common - cells(but))
    assert taken.overlap(other, but=but) == len(common - cells(but))
    assert cells(taken.plus([other]).rows) == cells(stamp) | cells(other)


def test_a_board_of_thirteen_metres_can_be_drawn_into_cells():
    assert Grid(5.0).disc((-11_000.0, 0.0), 20.0)
