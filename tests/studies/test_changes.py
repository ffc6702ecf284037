"""Single changes of mind, each with what must follow from it."""

from __future__ import annotations

from typing import Any

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.lists import change_list
from halfshaft.book.sections.changes import what_changed
from halfshaft.compare import compare, state_of
from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import LuggageRoom
from halfshaft.studies.changes.between import changes_between
from halfshaft.studies.changes.edits import rows_of
from halfshaft.studies.changes.records import Act, Change, Changes, State
from halfshaft.studies.changes.rest import ONLY_WORDS, STEPS
from halfshaft.studies.changes.words import counted, money_words
from halfshaft.studies.luggage import donor_luggage_l, luggage_left_l
from halfshaft.study import Study
from meshes import block_mesh


@pytest.fixture(scope="module")
def before(tern_study: Study) -> State:
    return state_of(tern_study)


def after(tern: Conversion, table: str, ref: str, **fields: Any) -> Conversion:
    rows = tuple(row.model_copy(update=fields) if row.ref == ref else row for row in getattr(tern, table))
    return tern.model_copy(update={table: rows})


def changed(before: State, conversion: Conversion) -> Changes:
    return changes_between(before, state_of(Study(conversion)), ())


def line(changes: Changes, act: Act, kind: str, ref: str) -> Change:
    (found,) = [item for item in changes.of(act) if (item.kind, item.ref) == (kind, ref)]
    return found


def test_a_longer_run_cuts_everything_in_it_anew_and_says_so(before: State, tern: Conversion) -> None:
    changes = changed(before, after(tern, "runs", "U61", length_taped_mm=260.0))
    cable = line(changes, "cut", "cable", "C1")
    assert (cable.now - cable.was, cable.why) == (35.0, "run U61 is 35 mm longer")
    assert cable.do == "cut new: the old piece is 35 mm short; keep it for a shorter one"
    assert line(changes, "stop", "cable", "C1").why == "run U61 is 35 mm longer"
    assert line(changes, "buy", "material", "HV35").now == pytest.approx((3.156 + 0.765), abs=0.01)
    assert line(changes, "test", "cable", "C1").caution
    assert line(changes, "know", "run", "U61").why == "taped anew"


def test_less_than_the_cutters_step_is_not_cut_again(before: State, tern: Conversion) -> None:
    changes = changed(before, after(tern, "runs", "U61", length_taped_mm=227.0))
    assert not changes.of("cut")
    assert "no need to cut again" in line(changes, "know", "cable", "C2").do
    assert not changes.is_built_otherwise


def test_a_thicker_wire_is_cut_new(before: State, tern: Conversion) -> None:
    changes = changed(before, after(tern, "wires", "W205", section_mm2=4.0))
    wire = line(changes, "cut", "wire", "W205")
    assert wire.was.startswith("2.5 ")
    assert wire.now.startswith("4 ")
    assert not [item for item in changes.lines if item.kind == "wires"]


def test_a_wire_taken_out_and_one_that_is_new(before: State, tern: Conversion) -> None:
    without = tern.model_copy(update={"wires": tuple(wire for wire in tern.wires if wire.ref != "W155")})
    gone = changed(before, without)
    assert line(gone, "unmake", "wire", "W155").now is None
    come = changes_between(state_of(Study(without)), before, ())
    assert line(come, "cut", "wire", "W155").do == "cut new"
    assert line(come, "stop", "loom", "FR").why == "1 of its wires changes"


def test_a_box_that_moves_with_all_that_is_in_it_is_not_made_again(before: State, tern: Conversion) -> None:
    (box,) = [item for item in tern.boxes if item.ref == "B2"]

    def moved(item: Any) -> Any:
        return item.model_copy(update={name: getattr(item, name) - 10.0 for name in ("x_min_mm", "x_max_mm")})

    fields = {
        "modules": tuple(map(moved, box.modules)),
        "plates": tuple(map(moved, box.plates)),
        "x_min_mm": box.x_min_mm - 10,
        "x_max_mm": box.x_max_mm - 10,
    }
    changes = changed(before, after(tern, "boxes", "B2", **fields))
    assert line(changes, "fit", "box", "B2").why == "the box moves"
    assert line(changes, "know", "module", "M05").do == "goes along with its box"
    assert not [item for item in changes.of("make") if item.kind == "box"]


def test_a_turned_module_alters_the_box_and_tests_it_again(before: State, tern: Conversion) -> None:
    (box,) = [item for item in tern.boxes if item.ref == "B3"]
    turned = tuple(
        item.model_copy(update={"plus_end": "left" if item.plus_end == "right" else "right"}) if item.ref == "M10" else item
        for item in box.modules
    )
    changes = changed(before, after(tern, "boxes", "B3", modules=turned))
    assert line(changes, "fit", "module", "M10").do == "turn in B3"
    assert line(changes, "test", "box", "B3").caution


def test_another_label_code_is_read_before_it_goes_in(before: State, tern: Conversion) -> None:
    pump = next(device for device in tern.devices if device.ref == "P2")
    copy = tern.part[pump.part].model_copy(update={"ref": "AT-PUMP-X", "lead_time_days": 40})
    changes = changed(before, after(tern.model_copy(update={"parts": (*tern.parts, copy)}), "devices", "P2", part="AT-PUMP-X"))
    assert "AT-PUMP-X" in line(changes, "fit", "device", "P2").do
    assert line(changes, "buy", "part", "AT-PUMP-X").do == "buy 1, 40 days"
    assert changes.of("buy")[0].ref == "AT-PUMP-X"


def test_a_new_stop_stands_first(before: State, tern: Conversion) -> None:
    limits = tern.car.limits.model_copy(update={"gross_kg": 800.0})
    changes = changed(before, tern.model_copy(update={"car": tern.car.model_copy(update={"limits": limits})}))
    assert {item.quantity for item in changes.of("stop")} == {"mass.gross-limit"}
    assert changes.is_built_otherwise


def test_another_colour_prints_labels_and_diagrams_again(tern: Conversion, tern_study: Study) -> None:
    changes = compare(tern_study, Study(after(tern, "wires", "W401", meaning="ring of the starter battery")))
    assert line(changes, "print", "labels", "PW").do == "print W401"
    assert line(changes, "print", "diagrams", "TERN-WD").do.startswith("print TERN-WD-")
    assert not changes.is_built_otherwise
    assert changes.notes[0].startswith("Both say revision C")


def test_counts_and_money(before: State, tern: Conversion) -> None:
    changes = changed(before, after(tern, "runs", "U61", length_taped_mm=260.0))
    assert counted(changes.of("cut")) == "2 cables, 1 tube"
    assert changes.hours == pytest.approx((2 * 45 + 10) / 60)
    assert "1.7 h of work" in money_words(changes)


def test_luggage_is_rooms_less_boxes_each_litre_once(tern: Conversion) -> None:
    """A room of 10 x 10 x 10 dm, of which a box takes a corner of 2 x 3 x 4 dm; shared room counts once."""
    (box,) = [item for item in tern.boxes if item.ref == "B1"]
    sides = {"x_min_mm": 0.0, "y_min_mm": 0.0, "z_min_mm": 0.0, "x_max_mm": 1000.0, "y_max_mm": 1000.0, "z_max_mm": 1000.0}
    room = LuggageRoom(ref="L1", name="boot", is_in="both", **sides)
    corner = box.model_copy(
        update={"x_min_mm": -500.0, "x_max_mm": 200.0, "y_min_mm": 700.0, "y_max_mm": 1200.0, "z_min_mm": 600.0, "z_max_mm": 1000.0}
    )
    car = tern.model_copy(
        update={"luggage_rooms": (room, room.model_copy(update={"ref": "L2"})), "boxes": (corner, corner.model_copy(update={"ref": "B9"}))}
    )
    assert donor_luggage_l(car) == pytest.approx(1000.0)
    assert luggage_left_l(car) == pytest.approx(976.0)
    assert luggage_left_l(tern.model_copy(update={"luggage_rooms": ()})) == 0.0


def test_a_board_that_is_written_down_is_kept_and_says_which_pegs_and_holders_move(tern: Conversion, tern_study: Study) -> None:
    """The demo's board SR is drilled; a plug of it that hangs 80 mm lower moves its holder, and the new book draws just that."""
    tails = tuple(
        tail.model_copy(update={"tail_mm": tail.tail_mm + 80.0}) if (tail.device, tail.connector) == ("B3", "A") else tail
        for tail in tern.tails
    )
    changes = compare(tern_study, Study(tern.model_copy(update={"tails": tails})))
    board = line(changes, "loom", "board", "SR")
    assert "move the holder of B3.A" in board.do
    assert board.why == ""
    assert line(changes, "print", "board drawing", "SR").do
    assert line(changes, "loom", "tails", "B3/A").now == 170.0


def test_the_books_section_and_list_hold_every_line(tern_changes: Changes) -> None:
    pages = Pages()
    what_changed(tern_changes, pages)
    (section,) = pages.sections
    tables = [block for block in section["blocks"] if block["kind"] == "table"]
    assert sum(len(table["rows"]) for table in tables) == len(tern_changes.lines) + len(tern_changes.figures)
    assert len(change_list(tern_changes).rows) == len(tern_changes.lines)
    assert [block["word"] for block in section["blocks"] if block["kind"] == "caution"] == ["WARNING", "WARNING"]


def test_bars_between_the_same_studs_are_not_made_twice(tern_changes: Changes) -> None:
    """M05 to M06 keeps its bar on the way to the other box, whatever mark it has there."""
    bars = {line.ref: line for line in tern_changes.of("make") if line.kind == "busbar"}
    assert bars.keys() == {"BB04", "BB06", "BB07", "BB08", "BB09"}
    assert "the old BB07 is of this size" in bars["BB08"].do


def test_what_stays_in_the_donor_after_all_goes_back(before: State, tern: Conversion) -> None:
    kept = tern.removed[0]
    there = changed(before, tern.model_copy(update={"removed": tern.removed[1:]}))
    assert line(there, "fit", "donor part", kept.ref).do == "stays in, or goes back in"
    back = changes_between(state_of(Study(tern.model_copy(update={"removed": tern.removed[1:]}))), before, ())
    assert line(back, "unmake", "donor part", kept.ref).do == "take out of the donor"


def test_the_table_of_steps_names_tables_and_columns_that_are_there(tern: Conversion) -> None:
    rows = rows_of(tern.model_copy(update={"meshes": (block_mesh(),)}), list(Conversion.model_fields))
    fields = {table: set(next(iter(found.values()))) for table, found in rows.items()}
    for table, field in STEPS:
        assert field in {"", *fields[table]}, (table, field)
    assert set(ONLY_WORDS) <= set().union(*fields.values()) | {"order of rows"}


def test_a_module_that_is_moved_makes_its_sense_loom_and_its_sheets_anew(before: State, tern: Conversion) -> None:
    # M05 and M08 of B2 exchange their numbers: each is led to the other's plug of the board, and other bars are read across.
    other = {"M05": 8, "M08": 5}
    boxes = tuple(
        box.model_copy(
            update={
                "modules": tuple(
                    item.model_copy(update={"order_in_string": other.get(item.ref, item.order_in_string)}) for item in box.modules
                )
            }
        )
        for box in tern.boxes
    )
    changes = changed(before, tern.model_copy(update={"boxes": boxes}))
    loom = line(changes, "cut", "sense loom", "IB2")
    assert loom.was != loom.now or "led to another place" in loom.do
    assert loom.caution
    assert loom.minutes > 0
    assert line(changes, "stop", "sense loom", "IB2").do
    assert line(changes, "test", "test sheet", "sense-B2").minutes > 0
    assert not [item for item in changes.lines if item.ref in ("IB1", "IB3", "sense-B1", "sense-B3")]


def test_a_sense_board_that_leaves_its_box_takes_the_loom_with_it(before: State, tern: Conversion) -> None:
    changes = changed(before, after(tern, "devices", "SB3", x_mm=400.0))
    assert line(changes, "unmake", "sense loom", "IB3").was.startswith("69 wires")
