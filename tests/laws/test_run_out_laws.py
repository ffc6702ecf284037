"""The order in which wires are laid: what must hold for any loom, and on the demo's boards."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfshaft.studies.looms.geometry import Bend, Path, Straight
from halfshaft.studies.looms.run_out import run_out
from halfshaft.study import Study
from support import changed

STAGES = ["splice", "pair", "plug", "ground"]


def looms(study: Study) -> list[tuple[str, tuple]]:
    return [(loom.loom.ref, study.run_out[loom.loom.ref]) for loom in study.routing.looms]


def test_every_wire_is_laid_once(tern_study):
    for ref, lines in looms(tern_study):
        assert sorted(line.wire for line in lines) == sorted(laid.wire.ref for laid in tern_study.routing.loom(ref).wires)


@given(st.data())
def test_any_loom_is_laid_by_stages_and_closes_each_plug_once(tern_study, data):
    """Any subset of a loom's wires: joined groups, pairs, plugs, ground wires in that order; each plug and splice closed once, by its last wire."""
    tern = tern_study.conversion
    keep = data.draw(st.sets(st.sampled_from([wire.ref for wire in tern.wires if wire.loom == "FR"]), min_size=1))
    study = Study(changed(tern, wires=tuple(wire for wire in tern.wires if wire.ref in keep)))
    laid = study.routing.loom("FR")
    lines = run_out(study.conversion, laid, None)
    assert sorted(line.wire for line in lines) == sorted(keep)
    stages = [STAGES.index(line.stage) for line in lines]
    assert stages == sorted(stages)
    last: dict[str, int] = {}
    for index, line in enumerate(lines):
        wire = study.routing.wires[line.wire]
        for end in (wire.start, wire.end):
            last[end.pin if end.is_splice else end.connector] = index
    closed = {name: index for index, line in enumerate(lines) for name in line.closes}
    assert closed == last
    assert sum(len(line.closes) for line in lines) == len(closed)


def test_pairs_are_laid_together(tern_study):
    for _, lines in looms(tern_study):
        groups = [tern_study.conversion.wire[line.wire].twist_group for line in lines if line.stage == "pair"]
        runs = [group for index, group in enumerate(groups) if index == 0 or groups[index - 1] != group]
        assert len(runs) == len(set(runs))


def test_the_wires_of_a_splice_follow_each_other(tern_study):
    for _, lines in looms(tern_study):
        seen: list[str] = []
        for line in (item for item in lines if item.stage == "splice"):
            wire = tern_study.routing.wires[line.wire]
            splice = next(end.pin for end in (wire.start, wire.end) if end.is_splice)
            if not seen or seen[-1] != splice:
                seen.append(splice)
        assert len(seen) == len(set(seen))


def test_long_wires_of_a_plug_come_first(tern_study):
    """Within one stage, between two wires that complete nothing in between, the longer comes first."""
    lines = tern_study.run_out["FR"]
    plugs = [line for line in lines if line.stage == "plug"]
    first = tern_study.routing.wires[plugs[0].wire].length.cut_mm
    assert first == max(tern_study.routing.wires[line.wire].length.cut_mm for line in plugs)


def test_the_pegs_of_a_wire_stand_beside_its_way_in_order(tern_study):
    """Every peg named is beside a stretch that the wire runs in, and the pegs of a wire between two plugs begin at its first one."""
    named = 0
    for ref, lines in looms(tern_study):
        board = tern_study.boards.get(ref)
        if board is None:
            assert all(not line.pegs for line in lines)
            continue
        at = {peg.number: peg.at for peg in board.pegs}
        for line in lines:
            wire = tern_study.routing.wires[line.wire]
            runs = {step.run for step in wire.route.steps} | {f"tail {end.connector}" for end in (wire.start, wire.end)}
            ways = [(item, section) for item in board.stretches for section in item.sections if section.ref in runs]
            for number in line.pegs:
                away = min(item.path.nearest(at[number])[1] - section.over_mm / 2 for item, section in ways)
                assert away < 3.0 + tern_study.conversion.shop.peg_diameter_mm
                named += 1
            holders = {holder.connector: holder.at for holder in board.holders}
            if len(line.pegs) > 1 and not wire.start.is_splice and not wire.end.is_splice:
                start, end = (holders[e.connector] for e in (wire.start, wire.end))
                assert math.dist(at[line.pegs[0]], start) + math.dist(at[line.pegs[-1]], end) <= (
                    math.dist(at[line.pegs[-1]], start) + math.dist(at[line.pegs[0]], end)
                )
    assert named > 500


@pytest.mark.parametrize("turn_deg", [-180.0, -90.0, -45.0, 45.0, 90.0, 180.0])
@given(st.floats(-300, 300), st.floats(-300, 300))
def test_what_of_a_line_is_nearest_to_a_place_is_found(turn_deg, x, y):
    """Held against a fine walk along the line."""
    straight = Straight((0.0, 0.0), 30.0, 120.0)
    bend = Bend(straight.at(120.0), 30.0, 60.0, turn_deg)
    path = Path((straight, bend, Straight(bend.at(bend.length_mm), 30.0 + turn_deg, 80.0)))
    along, away = path.nearest((x, y))
    assert math.isclose(math.dist(path.at(along)[0], (x, y)), away, abs_tol=1e-6)
    walked = min(math.dist(path.at(path.length_mm * i / 400)[0], (x, y)) for i in range(401))
    assert walked - path.length_mm / 800 - 1e-6 <= away <= walked + 1e-6
