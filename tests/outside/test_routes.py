"""The shortest way over runs, held against networkx (3.x, `dijkstra_path_length`) and against graphs with known answers.

networkx is somebody else's Dijkstra, so it is the outside here; the benchmark's own lengths were computed with
networkx and rustworkx, which agree to 1e-12 (README of the shared benchmarks, "Loom").
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.model.car import Car, Limits, Weighed
from halfshaft.model.conversion import Conversion, Job
from halfshaft.model.wires import Point, Run, Splice
from halfshaft.studies.looms.network import Network, Route
from halfshaft.studies.looms.splices import given_places

SHARED = Path(__file__).parents[2].parent / "shared"
GRAPHS = SHARED / "benchmarks" / "route_graphs.json"
KINDS = ("LV", "sense", "power", "HV", "hose")
MM_PER_M = 1000.0

CAR = Car(
    wheelbase_mm=2400,
    track_front_mm=1300,
    track_rear_mm=1300,
    tyre_static_radius_mm=280,
    front_edge_x_mm=-600,
    rear_edge_x_mm=3000,
    overall_width_mm=1600,
    overall_height_mm=1400,
    ground_clearance_mm=150,
    seats=4,
    weighed=Weighed(front_left_kg=200, front_right_kg=200, rear_left_kg=200, rear_right_kg=200, state="empty"),
    limits=Limits(front_axle_kg=600, rear_axle_kg=600, gross_kg=1100),
)
JOB = Job(ref="ROUTES", name="a route network", owner="tests", revision="A", date="2026-01-31")


def conversion_with(points: list[Point], runs: list[Run], splices: tuple[Splice, ...] = ()) -> Conversion:
    return Conversion(job=JOB, car=CAR, points=tuple(points), runs=tuple(runs), splices=splices)


def network_of(conversion: Conversion) -> Network:
    return Network.of(conversion, given_places(conversion))


def point(index: int, place: tuple[float, ...]) -> Point:
    x_mm, y_mm, z_mm = place
    return Point(ref=f"P{index}", name="a place", x_mm=x_mm, y_mm=y_mm, z_mm=z_mm, kind="clip")


def is_one_way(route: Route, network: Network, places: tuple[str, ...]) -> bool:
    """Whether the steps follow each other from the first place over the others, in order, to the last."""
    at = route.start
    for step in route.steps:
        if step.start != at:
            return False
        at = step.end
    nodes = iter(route.nodes)
    return at == route.end and all(any(node == place for node in nodes) for place in dict.fromkeys(places))


def graphs() -> list[dict]:
    if not GRAPHS.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {GRAPHS.name}")
    return json.loads(GRAPHS.read_text())


@pytest.mark.parametrize("index", range(4))
def test_known_graphs_give_the_printed_lengths(index):
    """Shared benchmarks, route_graphs.json, graph by graph; lengths in metres, printed in full; null is no way."""
    graph = graphs()[index]
    points = [point(i, tuple(MM_PER_M * metres for metres in place)) for i, place in enumerate(graph["points_m"])]
    runs = [Run(ref=f"U{i}", from_point=f"P{a}", to_point=f"P{b}", may_carry=("LV",)) for i, (a, b) in enumerate(graph["edges"])]
    network = network_of(conversion_with(points, runs))
    assert len(graph["queries"]) == 25
    for query in graph["queries"]:
        route = network.shortest(f"P{query['a']}", f"P{query['b']}", kind="LV")
        if query["length_m"] is None:
            assert route is None
        else:
            assert route.length_mm == pytest.approx(MM_PER_M * query["length_m"], rel=1e-9)
            assert is_one_way(route, network, (f"P{query['a']}", f"P{query['b']}"))


@st.composite
def networks(draw):
    """Points on a coarse lattice, so that ways of one length and points on one spot occur, and runs between them."""
    places = draw(st.lists(st.tuples(*[st.integers(0, 3)] * 3), min_size=2, max_size=9))
    points = [point(i, tuple(250.0 * value for value in place)) for i, place in enumerate(places)]
    pairs = st.tuples(st.integers(0, len(points) - 1), st.integers(0, len(points) - 1)).filter(lambda pair: pair[0] != pair[1])
    runs = []
    for index, (start, end) in enumerate(draw(st.lists(pairs, min_size=1, max_size=16))):
        taped = draw(st.none() | st.integers(1, 12).map(lambda steps: 100.0 * steps))
        carries = draw(st.sets(st.sampled_from(KINDS), min_size=1).map(sorted))
        runs.append(Run(ref=f"U{index}", from_point=f"P{start}", to_point=f"P{end}", length_taped_mm=taped, may_carry=tuple(carries)))
    return points, runs


def graph_of(points: list[Point], runs: list[Run], kind: str | None) -> nx.MultiGraph:
    """The same network in networkx, with only the runs that may carry this kind."""
    place = {p.ref: (p.x_mm, p.y_mm, p.z_mm) for p in points}
    graph = nx.MultiGraph()
    graph.add_nodes_from(place)
    for run in runs:
        if kind is None or kind in run.may_carry:
            straight = math.dist(place[run.from_point], place[run.to_point])
            length = straight if run.length_taped_mm is None else run.length_taped_mm
            graph.add_edge(run.from_point, run.to_point, weight=length)
    return graph


def way_by_networkx(graph: nx.MultiGraph, places: tuple[str, ...]) -> float | None:
    try:
        return sum(nx.dijkstra_path_length(graph, a, b) for a, b in itertools.pairwise(places))
    except nx.NetworkXNoPath:
        return None


@settings(max_examples=100, deadline=None)
@given(networks(), st.sampled_from((None, *KINDS)), st.data())
def test_any_network_agrees_with_networkx_in_kind_and_via(built, kind, data):
    points, runs = built
    names = st.sampled_from([p.ref for p in points])
    places = tuple(data.draw(st.lists(names, min_size=2, max_size=5)))
    network = network_of(conversion_with(points, runs))
    route = network.through(places, kind=kind)
    expected = way_by_networkx(graph_of(points, runs, kind), places)
    if expected is None:
        assert route is None
        return
    assert route.length_mm == pytest.approx(expected, abs=1e-6)
    assert is_one_way(route, network, places)
    if kind is not None:
        carries = {run.ref: run.may_carry for run in runs}
        assert all(kind in carries[step.run] for step in route.steps)


def test_a_barred_run_and_a_via_point_change_the_way():
    """By hand: a triangle with sides 300, 400, 500 mm. Straight across 500; barred or sent round, 700."""
    points = [point(0, (0, 0, 0)), point(1, (300, 0, 0)), point(2, (300, 400, 0))]
    runs = [
        Run(ref="U0", from_point="P0", to_point="P1", may_carry=("LV", "HV")),
        Run(ref="U1", from_point="P1", to_point="P2", may_carry=("LV", "HV")),
        Run(ref="U2", from_point="P2", to_point="P0", may_carry=("LV",)),
    ]
    network = network_of(conversion_with(points, runs))
    assert network.shortest("P0", "P2", kind="LV").length_mm == 500
    assert network.shortest("P0", "P2", kind="HV").length_mm == 700
    assert network.through(("P0", "P1", "P2"), kind="LV").length_mm == 700
    assert network.shortest("P0", "P2", kind="hose") is None


@settings(max_examples=40, deadline=None)
@given(networks(), st.data())
def test_a_splice_parts_its_run_where_networkx_has_a_node(built, data):
    points, runs = built
    index = data.draw(st.integers(0, len(runs) - 1))
    run = runs[index]
    place = {p.ref: (p.x_mm, p.y_mm, p.z_mm) for p in points}
    straight = math.dist(place[run.from_point], place[run.to_point])
    length = straight if run.length_taped_mm is None else run.length_taped_mm
    at = length * data.draw(st.integers(0, 4)) / 4
    ends = (run.from_point, run.to_point)
    end = data.draw(st.sampled_from(ends))
    splice = Splice(ref="S1", meaning="joined", loom="FR", run=run.ref, from_point=end, at_mm=at, terminal="SPL")
    network = network_of(conversion_with(points, runs, (splice,)))
    graph = graph_of(points, [other for other in runs if other is not run], None)
    graph.add_edge(end, "S1", weight=at)
    graph.add_edge("S1", ends[1] if end == ends[0] else ends[0], weight=length - at)
    for name in place:
        expected = way_by_networkx(graph, (name, "S1"))
        route = network.shortest(name, "S1", kind=None)
        assert (route is None) == (expected is None)
        if route is not None:
            assert route.length_mm == pytest.approx(expected, abs=1e-6)


@settings(max_examples=100, deadline=None)
@given(networks(), st.data())
def test_the_order_of_rows_does_not_choose_between_ways_of_one_length(built, data):
    points, runs = built
    shuffled = data.draw(st.permutations(runs))
    first, second = (network_of(conversion_with(points, rows)) for rows in (runs, list(shuffled)))
    for a, b in itertools.combinations([p.ref for p in points], 2):
        here, there = first.shortest(a, b, kind=None), second.shortest(a, b, kind=None)
        assert (here is None) == (there is None)
        if here is not None:
            assert here == there
