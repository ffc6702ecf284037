"""What must always hold in high-voltage safety."""

from __future__ import annotations

import itertools
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import Bond
from halfshaft.model.wires import CableCore
from halfshaft.studies.hv_safety.bonding import study_bonding
from halfshaft.studies.hv_safety.capacitance import energy_above_j, energy_j
from halfshaft.studies.hv_safety.insulation import CHARGING, CLOSED, isolation_ohm, parallel_mohm, study_insulation
from halfshaft.studies.hv_safety.interlock import trace_interlock
from halfshaft.studies.hv_safety.live import joints, pieces
from halfshaft.studies.insulating import least_clearance_mm, least_creepage_mm
from support import changed

FULL_V = 436.8


@cache
def demo() -> Conversion:
    """Not an argument: where a law is broken, its arguments are printed."""
    return read_folder(Path(__file__).parents[2] / "examples" / "tern")


megohms = st.floats(0.01, 1000.0)


@given(st.lists(megohms, min_size=1, max_size=20), megohms)
def test_one_more_unit_never_raises_the_insulation(others, one):
    assert parallel_mohm([*others, one]) < parallel_mohm(others)
    assert parallel_mohm([*others, one]) <= one


@settings(max_examples=25, deadline=None)
@given(st.lists(megohms, min_size=11, max_size=11))
def test_states_of_the_demo_with_other_figures(figures):
    tern = demo()
    rows = tuple(row.model_copy(update={"insulation_mohm": mohm}) for row, mohm in zip(tern.hv_insulation, figures, strict=True))
    found = study_insulation(changed(tern, hv_insulation=rows), FULL_V)
    closed = found.closed
    for state in found.states:
        assert sum(unit.share_percent for unit in state.units) == pytest.approx(100)
        assert state.pole_mohm <= min(unit.mohm for unit in state.units) * (1 + 1e-12)
        assert state.dominant.mohm == min(unit.mohm for unit in state.units)
        if state.name != CHARGING:
            assert closed.pole_mohm <= state.pole_mohm * (1 + 1e-12)
    proof = found.proof
    assert proof.isolation_mohm == pytest.approx(closed.pole_mohm)
    # The second reading passes just where the insulation does.
    if closed.pole_mohm != pytest.approx(closed.required_mohm):
        assert (proof.pole_with_known_v <= proof.most_with_known_v) == (closed.pole_mohm >= closed.required_mohm)


@given(st.floats(61, 1000), st.floats(1e3, 1e9), st.floats(0.001, 0.999), st.floats(0.001, 0.999))
def test_the_two_readings_are_never_below_nothing(pack_v, known_ohm, share, fall):
    before_v = share * pack_v
    assert isolation_ohm(known_ohm=known_ohm, pack_v=pack_v, before_v=before_v, after_v=fall * before_v) > 0


CABLES = [f"C{number}" for number in range(1, 15)]
PINS = [
    "B1.P.1", "B1.N.1", "B2.P.1", "B2.N.1", "B3.P.1", "B3.N.1", "SD.P.1", "SD.N.1", "HVDB.PP.1", "HVDB.PN.1", "HVDB.IP.1", "HVDB.IN.1",
    "HVDB.C.1", "HVDB.D.1", "HVDB.H.1", "INV.P.1", "INV.N.1", "CHG.H.1", "DCDC.H.1", "HTR.H.1", "MOT.U.1", "MOT.V.1", "INV.U.1",
]  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.sets(st.sampled_from(CABLES), max_size=4), st.lists(st.tuples(st.sampled_from(PINS), st.sampled_from(PINS)), max_size=4))
def test_splitting_ends_at_the_bad_unit(gone, more):
    """With cables left out and others added at random: following the steps finds each unit, and pulls what they need pulled."""
    tern = demo()
    kept = [core for core in tern.cable_cores if core.cable not in gone]
    added = [
        CableCore(cable="C14", core=10 + number, from_pin=one, to_pin=other)
        for number, (one, other) in enumerate(more)
        if one.partition(".")[0] != other.partition(".")[0]
    ]
    conversion = changed(tern, cable_cores=(*kept, *added))
    found = study_insulation(conversion, FULL_V)
    piece_of = pieces(conversion)
    cables = joints(conversion, frozenset(piece_of.values()), piece_of)
    firsts = {side: min(split.number for split in found.splits if split.side == side) for side in {split.side for split in found.splits}}
    step_of = {split.number: split for split in found.splits}
    for first in firsts.values():
        suspects = step_of[first].suspects
        assert len(set(suspects)) == len(suspects)
        for bad in suspects:
            assert followed(step_of, first, bad, cables, piece_of) == bad
    # Every figure that a state adds up is looked for.
    looked_for = {name.partition(".")[0] for first in firsts.values() for name in step_of[first].suspects}
    joined = {unit.unit for state in found.states if state.name == CLOSED for unit in state.units}
    assert joined <= looked_for or len(joined) < 2


def followed(step_of, number, bad, cables, piece_of) -> str:
    """The unit that the steps end at; on the way, what is joined at the place of measuring must be what the step says."""
    pulled: set[str] = set()
    for _ in range(len(step_of) + 1):
        step = step_of[number]
        assert bad in step.suspects
        pulled |= set(step.pull)
        reached = joined_at(step.measure_at, cables, piece_of, pulled)
        assert set(step.joined) <= reached
        assert reached & set(step.suspects) == set(step.joined)
        further, unit = (step.if_low, step.low_unit) if bad in step.joined else (step.if_good, step.good_unit)
        if further is None:
            return unit
        number = further
    raise AssertionError("the steps go round")


def joined_at(start, cables, piece_of, pulled) -> set[str]:
    near = defaultdict(set)
    for one, other in cables:
        if one not in pulled and other not in pulled:
            near[piece_of[one]].add(piece_of[other])
            near[piece_of[other]].add(piece_of[one])
    reached, waiting = {start}, [start]
    while waiting:
        for other in near[waiting.pop()] - reached:
            reached.add(other)
            waiting.append(other)
    return reached


def test_the_loop_opens_whatever_is_pulled(tern):
    """Each plug, cover and handle that holds a link: without the links it holds, the loop does not come back."""
    loop = trace_interlock(tern, {})
    assert loop.gap is None
    names = sorted({name for step in loop.links for name in step.held_by})
    assert len(names) > 30
    for name in names:
        device = name.replace(" ", ".").partition(".")[0]
        own = name.removeprefix(device)[1:]
        part = tern.part[tern.device[device].part]
        less = part.model_copy(update={"inside": tuple(item for item in part.inside if own not in item.held_by)})
        parts = tuple(less if item.ref == part.ref else item for item in tern.parts)
        opened = trace_interlock(changed(tern, parts=parts), {})
        assert opened.gap is not None, name


volts, heights = st.floats(10, 1000), st.floats(0, 5000)


@given(volts, volts, heights, heights, st.sampled_from([1, 2, 3]))
def test_more_volts_thinner_air_and_more_dirt_never_need_less(one_v, other_v, one_m, other_m, pollution):
    least = least_clearance_mm(min(one_v, other_v), pollution=pollution, altitude_m=min(one_m, other_m))
    assert least <= least_clearance_mm(max(one_v, other_v), pollution=pollution, altitude_m=max(one_m, other_m))
    if pollution < 3:
        assert least <= least_clearance_mm(min(one_v, other_v), pollution=pollution + 1, altitude_m=min(one_m, other_m))
    for group, worse in itertools.pairwise(("I", "II", "IIIa")):
        need = least_creepage_mm(one_v, pollution=pollution, group=group)
        assert need <= least_creepage_mm(one_v, pollution=pollution, group=worse)
        assert need >= least_clearance_mm(one_v, pollution=pollution)


@given(st.floats(0, 1e-3), st.floats(0, 1000))
def test_what_counts_above_60_volts_is_never_more_than_the_whole(farad, volt):
    assert 0 <= energy_above_j(farad, volt) <= energy_j(farad, volt)


sections, lengths = st.floats(0.5, 95.0), st.floats(50, 5000)
aims = st.sampled_from(["GP7", "body", "MOT", "INV", "CHG"])
straps = st.lists(st.tuples(st.sampled_from(["MOT", "INV", "CHG"]), aims, sections, lengths), max_size=6)


def bonds_of(rows) -> tuple[Bond, ...]:
    return tuple(
        Bond(ref=f"X{number}", name="strap", device=device, to=to, section_mm2=section, length_mm=length)
        for number, (device, to, section, length) in enumerate(rows)
    )


@settings(max_examples=50, deadline=None)
@given(straps, st.tuples(st.sampled_from(["MOT", "INV", "CHG"]), aims, sections, lengths))
def test_one_more_strap_never_makes_a_way_worse(rows, one):
    tern = demo()
    before = study_bonding(changed(tern, bonds=bonds_of(rows))).by_device
    after = study_bonding(changed(tern, bonds=bonds_of([*rows, one]))).by_device
    for device, path in before.items():
        if path.ends == "body":
            assert after[device].ends == "body"
            assert after[device].path_mohm <= path.path_mohm
            assert path.joints_mohm == 10 * len(path.bonds)
