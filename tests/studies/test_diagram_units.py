"""What stands on a sheet of the wiring diagrams, on the demo: read by hand from the tables of the fuse board and the wires."""

from __future__ import annotations

import pytest

from halfshaft.drawings.diagrams.sheets import sheets_of
from halfshaft.studies.diagrams.layers import rows_of
from halfshaft.studies.diagrams.units import Slot, lines_of_box, lines_of_system, units_of, units_of_box
from support import changed


def on_sheet(tern, system):
    return {unit.ref: unit for unit in units_of(tern, lines_of_system(tern, system))}


def slot_to(unit, pin) -> Slot:
    return next(slot for slot in unit.slots if slot.lower == pin)


def names(slot: Slot) -> list[str]:
    return [symbol.ref for symbol in slot.symbols]


def test_a_relays_contact_hangs_under_its_fuse_and_the_bar(tern):
    fan = slot_to(on_sheet(tern, "COOL")["FRB"], "C.2")
    assert (fan.bar, names(fan)) == ("30", ["F2", "K2"])
    assert (fan.symbols[1].upper, fan.symbols[1].lower) == ("30", "87")
    assert fan.symbols[0].value == "20 A"


def test_coils_that_share_a_fuse_meet_at_one_joint(tern):
    board = on_sheet(tern, "COOL")["FRB"]
    coils = [slot_to(board, pin) for pin in ("A.2", "A.4", "A.5")]
    assert [slot.joint for slot in coils] == ["~86"] * 3
    assert sorted(names(slot) for slot in coils) == [["F16", "K2 coil"], ["K4 coil"], ["K5 coil"]]
    assert [slot.bar for slot in coils].count("30") == 1


def test_the_box_sheet_shows_what_makes_bar_15(tern):
    lines = lines_of_box(tern, "FRB")
    board = next(unit for unit in units_of_box(tern, "FRB", lines) if unit.ref == "FRB")
    maker = next(slot for slot in board.slots if slot.to_bar)
    assert (maker.bar, maker.to_bar, names(maker)) == ("30", "15", ["F18", "K1"])
    # Every fuse of the board is drawn once.
    drawn = [name for slot in board.slots for name in names(slot) if name.startswith("F")]
    assert sorted(drawn) == sorted(f"F{number}" for number in range(1, 19))


def test_a_battery_is_drawn_with_its_fuse_from_plus_to_minus(tern):
    battery = on_sheet(tern, "SUP")["BAT"]
    assert [(slot.upper, names(slot), slot.lower) for slot in battery.slots] == [("P.1", ["FL1", "cells"], "N.1")]


def test_an_inline_connector_is_passed_straight_and_a_controllers_links_are_not(tern):
    socket = on_sheet(tern, "COOL")["XF"]
    assert [(slot.upper, slot.lower, slot.symbols) for slot in socket.slots] == [("A.5", "B.5", ()), ("A.6", "B.6", ())]
    assert not socket.pins
    controller = on_sheet(tern, "CANF")["HTR"]
    assert not controller.slots
    assert len(controller.pins) == 4


def test_a_pin_with_two_ways_inside_stands_free(tern):
    """Pins C.5 to C.8 of the controller all switch to C.2: shown together, none of them is a line of its own."""
    wires = tuple(w.model_copy(update={"system": "X"}) for w in tern.wires if w.ref in ("W226", "W227", "W220"))
    unit = {u.ref: u for u in units_of(changed(tern, wires=wires), lines_of_system(changed(tern, wires=wires), "X"))}["VCU"]
    assert not unit.slots
    assert len(unit.pins) == 3


def test_a_splice_says_which_of_its_wires_are_elsewhere(tern):
    """W134 leaves splice S1 on the sheet of the bus; the other four are on the sheet of the dials."""
    assert on_sheet(tern, "CANF")["S1"].elsewhere == ("W128", "W131", "W132", "W133")
    assert on_sheet(tern, "DIAL")["S1"].elsewhere == ("W134",)


def test_a_part_is_whole_where_all_its_wires_are_on_the_sheet(tern):
    units = on_sheet(tern, "COOL")
    assert units["FAN"].whole
    assert not units["FRB"].whole


@pytest.mark.parametrize("low", [False, True])
def test_current_flows_down_the_sheet(tern, low):
    """Fuse board above, sockets below it, loads below them, ground points all in the last row."""
    lines = lines_of_system(tern, "COOL")
    units = {unit.ref: unit for unit in units_of(tern, lines)}
    rows = rows_of(tern, units, lines, low=low)
    assert rows["FRB"] == 0
    assert rows["FRB"] < rows["XF"] < rows["FAN"] < rows["GP1"]
    assert rows["XF"] < rows["P2"]
    assert rows["GP1"] == rows["GP7"] == max(rows.values())


def test_rows_are_put_together_until_so_many_are_left(tern):
    lines = lines_of_system(tern, "ILK")
    units = {unit.ref: unit for unit in units_of(tern, lines)}
    most = max(rows_of(tern, units, lines, low=False).values()) + 1
    assert most > 3
    for count in range(1, most + 1):
        assert max(rows_of(tern, units, lines, low=False, most=count).values()) == count - 1


def test_each_system_is_a_sheet_and_wires_without_one_share_the_last(tern):
    wires = tuple(w.model_copy(update={"system": None}) if w.system == "VAC" else w for w in tern.wires)
    sheets = sheets_of(changed(tern, wires=wires))
    assert [sheet.ref for sheet in sheets][-2:] == ["ETC", "FRB"]
    assert "VAC" not in [sheet.ref for sheet in sheets]
    assert [sheet.number for sheet in sheets] == list(range(1, len(sheets) + 1))
