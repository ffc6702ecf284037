"""What is bought: ends counted by what they are crimped into, lengths never rounded down."""

from __future__ import annotations

import math
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.study import Study
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


@cache
def demo() -> Conversion:
    return read_folder(DEMO)


def with_wires(**changes: dict[str, str]) -> Study:
    """The demo with some fields of some wires others."""
    wires = tuple(wire.model_copy(update=changes.get(wire.ref, {})) for wire in demo().wires)
    return Study(changed(demo(), wires=wires))


def needed(study: Study, code: str) -> float:
    """Pieces of a code without the spare ones."""
    return sum(line.quantity - line.spare for line in study.parts_list if line.code == code and not line.name.startswith("blanking"))


def test_two_drains_in_one_cavity_are_one_terminal():
    screens = {wire.ref: {"screen": "", "screen_joined_to": ""} for wire in demo().wires if wire.screen}
    assert len(screens) == 8
    assert needed(Study(demo()), "T12S") - needed(with_wires(**screens), "T12S") == 1


def test_two_wires_in_one_cavity_share_its_terminal_and_its_seal():
    """W102 moved into the cavity of W101: one T12S and one Q12a less; the plug for the empty way is no seal."""
    together = with_wires(W102={"from_pin": demo().wire["W101"].from_pin})
    assert needed(Study(demo()), "T12S") - needed(together, "T12S") == 1
    assert needed(Study(demo()), "Q12a") - needed(together, "Q12a") == 1


def test_each_wire_on_a_stud_has_a_ring_of_its_own():
    """W153 moved from ring 2 to ring 1 of the ground point: as many rings as before."""
    pins = {ref: next(p for p in (demo().wire[ref].from_pin, demo().wire[ref].to_pin) if p.startswith("GP1.")) for ref in ("W152", "W153")}
    field = "to_pin" if demo().wire["W153"].to_pin == pins["W153"] else "from_pin"
    ring = demo().cavity[pins["W153"]].terminal
    moved = with_wires(W153={field: pins["W152"]})
    assert needed(moved, ring) == needed(Study(demo()), ring)


def test_lengths_are_rounded_up_to_a_tenth_of_a_metre():
    study = Study(demo())
    cut_mm: dict[tuple[str, str], float] = defaultdict(float)
    for laid in study.routing.wires.values():
        cut_mm[f"{laid.wire.section_mm2:g} {laid.wire.colour}", laid.wire.insulation_class] += laid.length.cut_mm
    lines = [line for line in study.parts_list if line.group == "wire"]
    assert len(lines) == len(cut_mm)
    for line in lines:
        millimetres = cut_mm[line.code, line.name[-1]]
        assert line.quantity == pytest.approx(math.ceil(millimetres / 100) / 10)
