"""High-voltage safety on small questions: what is joined to what, what a cell says, and silence where nothing is described."""

from __future__ import annotations

import pytest

from halfshaft.model.parts import Cavity, Connector
from halfshaft.studies.hv_safety.clearance import neighbours
from halfshaft.studies.hv_safety.live import joined_units, mains_units
from halfshaft.studies.hv_safety.outputs import doing
from halfshaft.study import Study
from rule_cases.changes import inside
from support import changed

BEFORE, BEHIND = {"B1", "B2", "B3", "SD", "HVDB"}, {"HVDB", "INV", "MOT", "CHG", "DCDC", "HTR"}


def test_open_contactors_part_the_battery_from_all_else(tern):
    """README of the demo: contactors in the distribution box, an isolating charger."""
    groups = joined_units(tern, contactors_closed=False)
    assert set(groups) == {frozenset(BEFORE), frozenset(BEHIND), frozenset({"INL", "CHG"})}
    assert set(joined_units(tern, contactors_closed=True)) == {frozenset(BEFORE | BEHIND), frozenset({"INL", "CHG"})}
    assert mains_units(tern) == {"INL", "CHG"}


def test_a_charger_of_which_nothing_is_said_joins_the_mains_to_the_car(tern):
    silent = inside("AT-CHG66", "charging", isolated="")(tern)
    assert mains_units(silent) == BEFORE | BEHIND | {"INL"}


@pytest.mark.parametrize(
    ("kind", "cell", "said"),
    [
        ("contactor", "open, coil line cut by IS", "rest"),
        ("contactor", "closed", "on"),
        ("contactor", "Closed when link at 95 %", "sometimes"),
        ("lock", "free", "rest"),
        ("lock", "locked", "on"),
        ("pump", "as cells need", "sometimes"),
        ("pump", "off", "rest"),
        ("inhibit", "-", "rest"),
        ("inhibit", "yes", "on"),
        ("fan", "  ", "blank"),
    ],
)
def test_what_a_cell_says(kind, cell, said):
    assert doing(kind, cell) == said


def plug(*roles: str) -> Connector:
    cavities = tuple(
        Cavity(ref=str(number), name="way", role=role, terminal="H06", sealed="yes") for number, role in enumerate(roles, start=1)
    )
    return Connector(ref="H", kind="plug", rows=1, columns=len(roles), pitch_mm=4, cavities=cavities)


def test_pins_of_one_pole_or_with_an_empty_way_between_are_no_neighbours():
    assert neighbours(plug("hv_plus", "hv_minus")) == ("1", "2")
    assert neighbours(plug("hv_plus", "hv_plus")) is None
    assert neighbours(plug("hv_plus", "spare", "hv_minus")) is None


def of_safety(conversion) -> list[tuple[str, str]]:
    return [(item.rule, item.level) for item in Study(conversion).design_findings if item.rule.startswith("hv_safety.")]


def test_at_most_one_note_where_nothing_is_described(tern):
    parts = tuple(
        part.model_copy(
            update={
                "connectors": tuple(
                    item.model_copy(update={"touch_protection": "", "clearance_mm": None, "creepage_mm": None}) for item in part.connectors
                ),
                "outside": "",
            }
        )
        for part in tern.parts
    )
    bare = changed(
        tern,
        parts=parts,
        high_voltage=type(tern.high_voltage)(),
        hv_insulation=(),
        bonds=(),
        output_states=(),
        devices=tuple(item.model_copy(update={"hv_sign": ""}) for item in tern.devices),
        cables=tuple(item.model_copy(update={"screen_earthed": ""}) for item in tern.cables),
        cable_types=tuple(item.model_copy(update={"covering": ""}) for item in tern.cable_types),
    )
    assert of_safety(bare) == [("hv_safety.not-said", "note")]
    assert of_safety(changed(tern, boxes=())) == []


def test_nothing_is_asked_of_a_pack_that_may_be_touched(tern):
    """One module of eight cells at 4.2 V has 33.6 V."""
    owner = tern.boxes[0]
    small = owner.model_copy(update={"modules": owner.modules[:1]})
    conversion = changed(tern, boxes=(small,), busbars=(), joints=())
    assert Study(conversion).pack.full_v <= 60
    assert Study(conversion).hv_safety is None
