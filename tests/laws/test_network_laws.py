"""What must always hold of a direct-current network, whatever the network: here small ones drawn at random."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from halfshaft.studies.looms.resistances import Mesh
from halfshaft.studies.network.records import DcNetwork, Diode, Failure, Load, Resistor, Solution, Source
from halfshaft.studies.network.solver import solve

NODES = ["0", "a", "b", "c", "d", "e", "f"]
PAIRS = st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(lambda pair: pair[0] != pair[1])
OHMS = st.one_of(st.just(0.0), st.floats(1e-4, 1e3))
LIMITS = st.one_of(st.none(), st.floats(0.5, 50))
KINDS = st.sampled_from(["resistive", "constant current", "constant power"])


def resistors(pairs, ohms):
    return tuple(
        Resistor(ref=f"R{k}", start=one, end=other, ohm=ohm) for k, ((one, other), ohm) in enumerate(zip(pairs, ohms, strict=True))
    )


@st.composite
def networks(draw, *, kinds=KINDS, ohms=OHMS, limits=LIMITS, diodes=True) -> DcNetwork:
    """Anything between seven nodes: loops, links without resistance, pieces that float, sources against each other."""
    pairs = draw(st.lists(PAIRS, min_size=1, max_size=10))
    volts = draw(st.lists(st.floats(1, 400), min_size=1, max_size=3))
    found_sources = []
    for k, volt in enumerate(volts):
        plus, minus = draw(PAIRS)
        found_sources.append(
            Source(
                ref=f"S{k}",
                plus=plus,
                minus=minus,
                volt=volt,
                ohm=draw(st.one_of(st.just(0.0), st.floats(1e-3, 1))),
                current_max_a=draw(limits),
                one_way=draw(st.booleans()),
            )
        )
    loads = []
    for k in range(draw(st.integers(0, 4))):
        kind = draw(kinds)
        value = draw({"resistive": st.floats(0.1, 1e3), "constant current": st.floats(0, 20), "constant power": st.floats(0, 300)}[kind])
        plus, minus = draw(PAIRS)
        loads.append(Load(ref=f"L{k}", plus=plus, minus=minus, kind=kind, value=value, works_from_v=draw(st.sampled_from([0.0, 6.0]))))
    ways = draw(st.lists(PAIRS, max_size=3)) if diodes else []
    return DcNetwork(
        ground="0",
        resistors=resistors(pairs, [draw(ohms) for _ in pairs]),
        sources=tuple(found_sources),
        loads=tuple(loads),
        diodes=tuple(Diode(ref=f"D{k}", anode=one, cathode=other) for k, (one, other) in enumerate(ways)),
    )


def sums(network: DcNetwork, found: Solution) -> dict[str, float]:
    """What flows out of each node, added up anew from the currents that are told."""
    out: dict[str, float] = defaultdict(float)
    for item in network.resistors:
        out[item.start] += found.current_a[item.ref]
        out[item.end] -= found.current_a[item.ref]
    for source in network.sources:
        out[source.plus] -= found.current_a[source.ref]
        out[source.minus] += found.current_a[source.ref]
    for load in network.loads:
        out[load.plus] += found.current_a[load.ref]
        out[load.minus] -= found.current_a[load.ref]
    for diode in network.diodes:
        out[diode.anode] += found.current_a[diode.ref]
        out[diode.cathode] -= found.current_a[diode.ref]
    return out


def largest_a(found: Solution) -> float:
    return max(map(abs, found.current_a.values()), default=0.0)


@given(networks())
@settings(max_examples=400, deadline=None)
def test_an_answer_holds_every_law_and_every_rule_of_its_parts(network):
    found = solve(network)
    if isinstance(found, Failure):
        assert found.text
        assert found.kind != "not converged"
        return
    close_a = 1e-6 * (1 + largest_a(found))
    close_v = 1e-6 * (1 + max(map(abs, found.volt.values())))
    assert max(map(abs, sums(network, found).values())) <= close_a
    for item in network.resistors:
        if item.start in found.volt:
            assert found.between(item.start, item.end) == pytest.approx(found.current_a[item.ref] * item.ohm, abs=close_v)
        else:
            assert found.current_a[item.ref] == 0
    for source in network.sources:
        if source.plus in found.volt:
            source_holds(found, source, close_v)
    for diode in network.diodes:
        ampere = found.current_a[diode.ref]
        assert ampere >= 0
        if diode.anode in found.volt:
            over_v = found.between(diode.anode, diode.cathode) - diode.forward_v - ampere * diode.ohm
            assert over_v <= close_v
            assert ampere <= close_a or over_v >= -close_v
    for load in network.loads:
        load_takes(found, load, max(load.works_from_v, 0.01 * max(item.volt for item in network.sources)))


def source_holds(found: Solution, source: Source, close_v: float) -> None:
    ampere = found.current_a[source.ref]
    over_v = source.volt - source.ohm * ampere - found.between(source.plus, source.minus)
    most_a = math.inf if source.current_max_a is None else source.current_max_a
    assert ampere <= most_a
    assert ampere >= 0 or not source.one_way
    assert over_v <= close_v or source.ref in found.limited
    assert over_v >= -close_v or (source.one_way and ampere == 0)
    assert source.ref not in found.limited or ampere == most_a


def load_takes(found: Solution, load: Load, foot_v: float) -> None:
    ampere = found.current_a[load.ref]
    if load.plus not in found.volt or load.minus not in found.volt:
        assert (ampere, load.ref in found.starved) == (0, True)
        return
    volt = found.between(load.plus, load.minus)
    if load.kind == "resistive":
        assert ampere == pytest.approx(volt / load.value, abs=1e-9)
    elif load.ref in found.starved:
        assert volt <= foot_v
    else:
        assert ampere == pytest.approx(load.value if load.kind == "constant current" else load.value / volt, rel=1e-9, abs=1e-9)


@given(networks())
@settings(max_examples=100, deadline=None)
def test_sources_give_what_all_else_turns_into_heat_and_work(network):
    found = solve(network)
    assume(isinstance(found, Solution))
    given_w = taken_w = 0.0
    for source in network.sources:
        if source.plus in found.volt:
            given_w += found.between(source.plus, source.minus) * found.current_a[source.ref]
    ends = [(item.ref, item.start, item.end) for item in network.resistors]
    ends += [(item.ref, item.plus, item.minus) for item in network.loads]
    ends += [(item.ref, item.anode, item.cathode) for item in network.diodes]
    for ref, one, other in ends:
        if one in found.volt and other in found.volt:
            taken_w += found.between(one, other) * found.current_a[ref]
    assert taken_w == pytest.approx(given_w, abs=1e-6 * (1 + largest_a(found)) * (1 + max(map(abs, found.volt.values()))))


@given(networks(kinds=st.just("resistive"), limits=st.none(), diodes=False))
@settings(max_examples=100, deadline=None)
def test_of_a_linear_network_each_source_adds_its_own_part(network):
    network = replace(network, sources=tuple(replace(item, one_way=False, ohm=item.ohm + 0.01) for item in network.sources))
    found = solve(network)
    assume(isinstance(found, Solution))
    alone = [
        solve(replace(network, sources=tuple(replace(one, volt=one.volt if one == item else 0.0) for one in network.sources)))
        for item in network.sources
    ]
    for node, volt in found.volt.items():
        assert sum(part.volt[node] for part in alone) == pytest.approx(volt, abs=1e-6 * (1 + max(map(abs, found.volt.values()))))


@given(st.lists(st.tuples(PAIRS, st.floats(1e-3, 1e3)), min_size=1, max_size=12))
@settings(max_examples=100, deadline=None)
def test_one_ampere_shows_the_ohms_that_a_meter_reads(edges):
    mesh = Mesh([(one, other, ohm) for (one, other), ohm in edges])
    ohm = mesh.between("a", "0")
    assume(0 < ohm < math.inf)
    network = DcNetwork(
        ground="0",
        resistors=resistors([pair for pair, _ in edges], [value for _, value in edges]),
        sources=(Source(ref="meter", plus="a", minus="0", volt=1e6, ohm=0.0, current_max_a=1.0),),
    )  # fmt: skip
    found = solve(network)
    assert isinstance(found, Solution)
    assert found.between("a", "0") == pytest.approx(ohm, rel=1e-9)


@st.composite
def trees(draw) -> DcNetwork:
    """One source, and loads on a tree of wires; every load comes back by the same ground."""
    count = draw(st.integers(1, 8))
    wires = tuple(
        Resistor(ref=f"W{k}", start=f"n{draw(st.integers(0, k))}", end=f"n{k + 1}", ohm=draw(st.floats(0.001, 0.1))) for k in range(count)
    )
    loads = []
    for k in range(count):
        kind = draw(KINDS)
        value = draw({"resistive": st.floats(1, 50), "constant current": st.floats(0, 10), "constant power": st.floats(0, 120)}[kind])
        loads.append(Load(ref=f"L{k}", plus=f"n{k + 1}", minus="0", kind=kind, value=value, works_from_v=5.0))
    return DcNetwork(ground="0", resistors=wires, sources=(Source(ref="S", plus="n0", minus="0", volt=13.0, ohm=0.01),), loads=tuple(loads))


@given(trees(), st.data())
@settings(max_examples=150, deadline=None)
def test_more_load_raises_no_volt_where_one_source_feeds_a_tree(network, data):
    before = solve(network)
    assume(isinstance(before, Solution))
    number = data.draw(st.integers(0, len(network.loads) - 1))
    load, factor = network.loads[number], data.draw(st.floats(1, 3))
    more = replace(load, value=load.value / factor if load.kind == "resistive" else load.value * factor)
    after = solve(replace(network, loads=(*network.loads[:number], more, *network.loads[number + 1 :])))
    if isinstance(after, Failure):
        assert after.kind == "no operating point"
        return
    for node, volt in before.volt.items():
        assert after.volt[node] <= volt + 1e-8


@given(
    st.floats(5, 500),
    st.floats(0.001, 1),
    st.floats(0.001, 1),
    st.floats(0.01, 3).filter(lambda share: abs(share - 1) > 1e-6),
    st.floats(0, 0.4),
)
@settings(max_examples=150, deadline=None)
def test_a_load_is_met_up_to_the_limit_and_never_beyond(volt, inner_ohm, wire_ohm, share, foot):
    watt = share * volt**2 / 4 / (inner_ohm + wire_ohm)
    found = solve(
        DcNetwork(
            ground="0",
            resistors=(Resistor(ref="W", start="p", end="u", ohm=wire_ohm),),
            sources=(Source(ref="S", plus="p", minus="0", volt=volt, ohm=inner_ohm),),
            loads=(Load(ref="L", plus="u", minus="0", kind="constant power", value=watt, works_from_v=foot * volt),),
        )
    )  # fmt: skip
    if share < 1:
        assert isinstance(found, Solution)
        assert found.volt["u"] >= volt / 2 * (1 - 1e-9)
    else:
        assert isinstance(found, Failure)
        # The wire or the source's own resistance is named, whichever takes more volts; of equals the wire.
        assert (found.kind, found.about) == ("no operating point", ("L", "S" if inner_ohm > wire_ohm * 1.001 else "W"))


@given(networks())
@settings(max_examples=50, deadline=None)
def test_the_same_network_has_the_same_answer_to_the_last_digit(network):
    assert solve(network) == solve(network)
