"""Which fuse guards a wire, and what other sources send through it; on a network of five branches and on the demo."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.studies.wires.circuit import Branch, Circuit, Supply
from halfshaft.study import Study
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


@cache
def demo() -> Conversion:
    return read_folder(DEMO)


def test_of_two_fuses_that_reach_a_wire_the_larger_guards_it():
    """A contact between the outputs of a 10 A and a 30 A fuse: closed, the 30 A one feeds both."""
    wire = Branch("W1", "wire", "a", "load", 0.01, None)
    circuit = Circuit(
        [
            Branch("F10", "fuse", "plus", "a", 0.0, 10.0),
            Branch("F30", "fuse", "plus", "b", 0.0, 30.0),
            Branch("K1", "contact", "b", "a", 0.0, 20.0),
            wire,
        ],
        Supply("plus", "minus", frozenset({"stud"})),
    )
    assert circuit.feeding_fuse(wire).ref == "F30"


def test_the_converter_sends_its_rating_through_its_own_wires():
    use = Study(demo()).wires.uses["W403"]
    assert use.current_a == pytest.approx(80.0)
    assert use.case == "DCDC.output at its limit"


def test_where_only_one_table_objects_the_pair_is_to_be_put_right():
    """10 A on 0.5 and 0.75 mm2: sold for 11 and 14 A, so the seller agrees; the vehicle maker wants 0.85 mm2."""
    board = demo().part["AT-FRB"]
    inside = tuple(item.model_copy(update={"rating_a": 10.0}) if item.ref == "F9" else item for item in board.inside)
    parts = tuple(board.model_copy(update={"inside": inside}) if part.ref == board.ref else part for part in demo().parts)
    larger = changed(demo(), parts=parts)
    found = [item for item in Study(larger).design_findings if item.rule == "wires.fuse-too-big"]
    assert found
    assert {(item.level, item.about[1], item.limit) for item in found} == {("fix", "FRB.F9", 1.0)}
