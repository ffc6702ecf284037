"""What must always hold of the places that the program chooses for splices. Lengths are measured with networkx, not with our own network."""

from __future__ import annotations

import itertools

import networkx as nx
import pytest
from generate import generated
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device, Tail
from halfshaft.model.wires import Point, Run, Splice, Wire
from halfshaft.studies.looms.placing import place_splices
from halfshaft.studies.looms.splices import SplicePlace
from halfshaft.study import Study
from support import changed

BASE = generated(2, board=False)
SECTIONS = (0.5, 1.0, 2.5)
LITTLE = 1e-3


@st.composite
def looms(draw, splices: int = 1, extra_runs: int = 0):
    """A tree of points (with a few runs more, where asked), a connector at some, and splices with wires to them and to each other."""
    count = draw(st.integers(2, 8))
    points = [Point(ref=f"R{index}", name="somewhere", x_mm=0.0, y_mm=0.0, z_mm=0.0, kind="breakout") for index in range(count)]
    pairs = [(draw(st.integers(0, child - 1)), child) for child in range(1, count)]
    pairs += draw(
        st.lists(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)).filter(lambda p: p[0] != p[1]), max_size=extra_runs)
    )
    runs = [
        Run(ref=f"U{index}", from_point=f"R{a}", to_point=f"R{b}", length_taped_mm=float(draw(st.integers(20, 900))), may_carry=("LV",))
        for index, (a, b) in enumerate(pairs)
    ]
    devices, tails, wires = [], [], []
    for index in range(splices):
        for end in range(draw(st.integers(1 + (splices == 1), 4))):
            device = f"D{index}{end}"
            devices.append(Device(ref=device, part="P-UNIT", name=device, place="somewhere", x_mm=0.0, y_mm=0.0, z_mm=0.0))
            tails.append(Tail(device=device, connector="A", point=f"R{draw(st.integers(0, count - 1))}", tail_mm=60.0))
            wires.append(wire(f"W{index}{end}", f"S{index}", f"{device}.A.1", draw(st.sampled_from(SECTIONS))))
    for index in range(splices - 1):
        wires.append(wire(f"W{index}-{index + 1}", f"S{index}", f"S{index + 1}", draw(st.sampled_from(SECTIONS))))
    apart_mm, stagger_mm = draw(st.sampled_from([(40.0, 51.0), (10.0, 90.0), (60.0, 0.0)]))
    shop = BASE.shop.model_copy(update={"splice_apart_mm": apart_mm, "splice_stagger_mm": stagger_mm})
    return changed(
        BASE, shop=shop, points=tuple(points), runs=tuple(runs), devices=tuple(devices), tails=tuple(tails), wires=tuple(wires), loads=(), cases=(),
        case_loads=(), ground_points=(), supply=BASE.supply.model_copy(update={"battery": None, "converter": None}),
        splices=tuple(Splice(ref=f"S{index}", meaning="joined", loom="L0", terminal="T1") for index in range(splices)),
    )  # fmt: skip


def wire(ref: str, from_pin: str, to_pin: str, section_mm2: float) -> Wire:
    return Wire(
        ref=ref, meaning="any", from_pin=from_pin, to_pin=to_pin, section_mm2=section_mm2, colour="BK", insulation_class="B", loom="L0"
    )


def network(conversion: Conversion, places: dict[str, tuple[str, float]]) -> nx.MultiGraph:
    """The runs, each cut at the splices on it; a place is a run and the millimetres from its first point."""
    graph = nx.MultiGraph()
    for run in conversion.runs:
        marks = sorted((at_mm, splice) for splice, (on, at_mm) in places.items() if on == run.ref)
        nodes = [(0.0, run.from_point), *marks, (run.length_taped_mm, run.to_point)]
        for (begun_mm, start), (ended_mm, end) in itertools.pairwise(nodes):
            graph.add_edge(start, end, weight=ended_mm - begun_mm)
    return graph


def copper(conversion: Conversion, places: dict[str, tuple[str, float]], of: str | None = None) -> float:
    """Sum of length times section of all wires, or of those that end in one splice."""
    graph, total = network(conversion, places), 0.0
    at = {f"{tail.device}.A.1": tail.point for tail in conversion.tails}
    for item in conversion.wires:
        if of in (None, item.from_pin, item.to_pin):
            start, end = (pin if pin in places else at[pin] for pin in (item.from_pin, item.to_pin))
            total += item.section_mm2 * nx.shortest_path_length(graph, start, end, weight="weight")
    return total


def from_start(conversion: Conversion, place: SplicePlace) -> tuple[str, float]:
    run = conversion.run[place.run]
    return run.ref, place.at_mm if place.from_point == run.from_point else run.length_taped_mm - place.at_mm


def is_allowed(conversion: Conversion, places: dict[str, tuple[str, float]], splice: str) -> bool:
    """So far from both ends of its run, and so far from every other splice, as the shop says."""
    (run, at_mm), shop = places[splice], conversion.shop
    gap_mm = max(shop.splice_apart_mm, shop.splice_stagger_mm)
    length_mm = conversion.run[run].length_taped_mm
    if at_mm < shop.splice_apart_mm - 1e-6 or at_mm > length_mm - shop.splice_apart_mm + 1e-6:
        return False
    away = nx.single_source_dijkstra_path_length(network(conversion, places), splice, weight="weight")
    return all(away[other] >= gap_mm - 1e-6 for other in places if other != splice)


def every_place(conversion: Conversion, steps: int = 25):
    for run in conversion.runs:
        for step in range(steps + 1):
            yield run.ref, run.length_taped_mm * step / steps


def found(conversion: Conversion) -> dict[str, tuple[str, float]]:
    return {ref: from_start(conversion, place) for ref, place in place_splices(conversion).items()}


def held_against_every_place(conversion: Conversion, places: dict[str, tuple[str, float]], splice: str) -> None:
    """Where any place keeps the distances, so does the chosen one, and none that does takes less copper."""
    allowed = [moved for place in every_place(conversion) if is_allowed(conversion, moved := {**places, splice: place}, splice)]
    if allowed:
        assert is_allowed(conversion, places, splice)
        least = min(copper(conversion, moved, of=splice) for moved in allowed)
        assert copper(conversion, places, of=splice) <= least + LITTLE


@settings(deadline=None, max_examples=40)
@given(looms())
def test_no_allowed_place_on_a_tree_takes_less_copper_than_the_chosen_one(conversion):
    held_against_every_place(conversion, found(conversion), "S0")


@settings(deadline=None, max_examples=40)
@given(looms(extra_runs=3))
def test_nor_does_one_on_runs_that_close_loops(conversion):
    held_against_every_place(conversion, found(conversion), "S0")


@settings(deadline=None, max_examples=40)
@given(looms(splices=3))
def test_of_several_that_are_joined_none_alone_can_move_to_a_better_place(conversion):
    places = found(conversion)
    assert set(places) == {"S0", "S1", "S2"}
    for splice in places:
        held_against_every_place(conversion, places, splice)


@settings(deadline=None, max_examples=25)
@given(looms(splices=2))
def test_a_chosen_place_raises_no_rule_about_places(conversion):
    places = found(conversion)
    near = [item.about for item in Study(conversion).design_findings if item.rule == "looms.splice-near"]
    if all(is_allowed(conversion, places, splice) for splice in places):
        assert near == []


@settings(deadline=None, max_examples=25)
@given(looms(splices=2), st.randoms(use_true_random=False))
def test_the_order_in_which_things_are_listed_does_not_matter(conversion, order):
    shuffled = {
        name: tuple(order.sample(getattr(conversion, name), len(getattr(conversion, name)))) for name in ("runs", "wires", "splices")
    }
    ours, theirs = place_splices(conversion), place_splices(changed(conversion, **shuffled))
    assert {ref: (place.run, place.from_point, round(place.at_mm, 6)) for ref, place in ours.items()} == {
        ref: (place.run, place.from_point, round(place.at_mm, 6)) for ref, place in theirs.items()
    }


@settings(deadline=None, max_examples=25)
@given(looms(), st.data())
def test_a_run_that_is_named_is_kept(conversion, data):
    run = data.draw(st.sampled_from(conversion.runs))
    named = changed(conversion, splices=(conversion.splices[0].model_copy(update={"run": run.ref}),))
    place = place_splices(named)["S0"]
    assert place.run == run.ref
    assert place.chosen
    if run.length_taped_mm < 2 * conversion.shop.splice_apart_mm:
        assert place.at_mm == pytest.approx(run.length_taped_mm / 2)


@pytest.mark.parametrize("reverse", [False, True])
def test_the_distance_to_a_splice_beyond_a_breakout_is_kept(reverse):
    """S0 lies 30 mm past R1. S1 is pulled to R1 from the other side; 90 mm are asked, so it stays 60 mm short of R1."""
    ends = ("R1", "R0") if reverse else ("R0", "R1")
    points = tuple(Point(ref=f"R{index}", name="somewhere", x_mm=0.0, y_mm=0.0, z_mm=0.0, kind="breakout") for index in range(3))
    runs = (
        Run(ref="U0", from_point=ends[0], to_point=ends[1], length_taped_mm=400.0, may_carry=("LV",)),
        Run(ref="U1", from_point="R1", to_point="R2", length_taped_mm=100.0, may_carry=("LV",)),
    )
    tail = Tail(device="D", connector="A", point="R2", tail_mm=60.0)
    device = Device(ref="D", part="P-UNIT", name="D", place="somewhere", x_mm=0.0, y_mm=0.0, z_mm=0.0)
    splices = (
        Splice(ref="S0", meaning="joined", loom="L0", terminal="T1", run="U1", from_point="R1", at_mm=30.0),
        Splice(ref="S1", meaning="joined", loom="L0", terminal="T1", run="U0"),
    )
    shop = BASE.shop.model_copy(update={"splice_apart_mm": 10.0, "splice_stagger_mm": 90.0})
    wires = (wire("W1", "S1", "D.A.1", 1.0), wire("W2", "S0", "D.A.2", 1.0), wire("W3", "S0", "S1", 1.0))
    conversion = changed(
        BASE, shop=shop, points=points, runs=runs, devices=(device,), tails=(tail,), splices=splices, wires=wires, loads=(), cases=(),
        case_loads=(), ground_points=(), supply=BASE.supply.model_copy(update={"battery": None, "converter": None}),
    )  # fmt: skip
    assert place_splices(conversion)["S1"] == SplicePlace(splice="S1", run="U0", from_point="R1", at_mm=60.0, chosen=True)
