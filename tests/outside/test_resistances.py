"""The network of resistors against somebody else's: networkx, and figures that are printed in every textbook.

networkx (BSD-3-Clause) computes the effective resistance from the pseudo-inverse of the Laplacian (Klein and Randic,
Resistance distance, J. Math. Chem. 12, 1993); ours holds one node at zero and inverts what is left.
"""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.files.folder import read_folder
from halfshaft.studies.looms.resistances import Mesh
from halfshaft.study import Study

DEMO = Path(__file__).parents[2] / "examples" / "tern"
ohms = st.floats(1e-3, 1e3)
edges = st.lists(
    st.tuples(st.sampled_from("abcdefgh"), st.sampled_from("abcdefgh"), ohms).filter(lambda edge: edge[0] != edge[1]),
    min_size=1,
    max_size=16,
)


@settings(deadline=None, max_examples=60)
@given(edges)
def test_any_network_reads_as_networkx_says(rods):
    mesh, graph = Mesh(rods), nx.MultiGraph()
    for start, end, ohm in rods:
        graph.add_edge(start, end, ohm=ohm)
    for one, other in itertools.combinations(sorted(graph), 2):
        if nx.has_path(graph, one, other):
            piece = nx.MultiGraph(graph.subgraph(nx.node_connected_component(graph, one)))
            assert mesh.between(one, other) == pytest.approx(nx.resistance_distance(piece, one, other, weight="ohm"), rel=1e-6)
        else:
            assert math.isinf(mesh.between(one, other))


def cube() -> list[tuple[str, str, float]]:
    corners = ["".join(bits) for bits in itertools.product("01", repeat=3)]
    return [(a, b, 1.0) for a, b in itertools.combinations(corners, 2) if sum(x != y for x, y in zip(a, b, strict=True)) == 1]


@pytest.mark.parametrize(("to", "printed_ohm"), [("001", 7 / 12), ("011", 3 / 4), ("111", 5 / 6)])
def test_the_cube_of_twelve_resistors(to, printed_ohm):
    """Edge, face diagonal and body diagonal of a cube of 1 ohm resistors: 7/12, 3/4 and 5/6 ohm, as in any textbook."""
    assert Mesh(cube()).between("000", to) == pytest.approx(printed_ohm, rel=1e-9)


def test_a_bridge_in_balance_carries_nothing_across():
    """Wheatstone's bridge: with equal ratios the bridge's own resistor makes no difference."""
    arms = [("a", "b", 1.0), ("b", "d", 2.0), ("a", "c", 10.0), ("c", "d", 20.0)]
    mesh = Mesh([*arms, ("b", "c", 5.0)])
    assert mesh.between("a", "d") == pytest.approx(Mesh(arms).between("a", "d"), rel=1e-9)
    assert ("b", "c") not in mesh.carrying("a", "d")


def test_a_coil_and_its_suppressor_read_as_two_resistors_side_by_side():
    """85 and 680 ohm side by side are 75.6 ohm, 90 and 680 are 79.5: product over sum."""
    readings = Study(read_folder(DEMO)).readings["BX"]
    coils = [item for item in readings if "coil" in item.suspect and item.unit == "Ω"]
    assert len(coils) == 5
    for item in coils:
        assert item.expected == pytest.approx(85 * 680 / (85 + 680) if "K1 coil" in item.suspect else 90 * 680 / (90 + 680), abs=0.11)
        assert item.low < item.expected < item.high


def test_the_bus_reads_60_with_both_terminators_and_120_with_one():
    """Circuit theory (loom practice I12): 60 ohm with both, 120 with one; the rest is copper and links, a few ohm at most."""
    readings = Study(read_folder(DEMO)).bus_readings
    by_plug = {item.between[0].rpartition(".")[0]: item.expected for item in readings[1:]}
    assert readings[0].expected == pytest.approx(60, abs=1)
    assert by_plug["SVC.A"] == pytest.approx(60, abs=1)
    for plug in ("DISP.A", "DCDC.A", "VCU.A", "BMM.A", "HTR.A", "INV.A", "CHG.A"):
        assert by_plug[plug] == pytest.approx(120, abs=1)
