"""What cannot be arranged, and what is said of it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from arrangements import context, filling, menu
from halfshaft.arrange_words import as_words
from halfshaft.errors import HalfshaftError
from halfshaft.model.conversion import Conversion
from halfshaft.model.edits import next_ref, without_loose_ends
from halfshaft.model.pack import ArrangementSettings, HvUnit
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.front import front_of
from halfshaft.studies.arrangement.records import Block, Room
from halfshaft.studies.arrangement.search import kinds_of, plate_mm_of, search, spaces_of
from halfshaft.studies.arrangement.take import take
from halfshaft.study import Study
from support import changed

MENUS = [
    menu("SP1", [filling("SP1", count, (-400.0, -100.0, 200.0)) for count in (1, 2, 3)]),
    menu("SP2", [filling("SP2", count, (2000.0, -100.0, 300.0)) for count in (1, 2, 4)]),
]


def room_of_plan(space: Space) -> Room:
    """The block round a space's plan: enough where its plan is a rectangle."""
    xs, ys = zip(*space.polygon_mm, strict=True)
    block = Block(min(xs), min(ys), space.floor_z_mm, max(xs), max(ys), space.top_z_mm)
    return Room(space=space.ref, blocks=(block,), usable_l=block.volume_l, step_mm=None)


def searched(conversion: Conversion):
    study = Study(conversion)
    rooms = {space.ref: room_of_plan(space) for space in conversion.spaces}
    with ThreadPoolExecutor(1) as executor:
        return search(conversion, study.network, study.mass, rooms, executor=executor, effort=0.0, say=lambda words: None)


def test_modules_that_do_not_divide_into_strings_are_refused_with_a_sentence() -> None:
    front = front_of(MENUS, context(["SP1", "SP2"], strings=2), ArrangementSettings(modules_min=5, modules_max=5))
    assert front.arrangements == ()
    assert front.refused == (("5 modules of M do not divide into 2 equal strings", 2),)
    assert "do not divide into 2 equal strings" in front.nearest
    assert "4 and 6 make 2 equal strings" in front.nearest


def test_of_several_counts_only_those_that_divide_are_left() -> None:
    front = front_of(MENUS, context(["SP1", "SP2"], strings=2), ArrangementSettings(modules_min=1, modules_max=7))
    assert {sum(item.count for item in found.fillings) for found in front.arrangements} <= {2, 4, 6}
    assert dict(front.refused).keys() == {f"{count} modules of M do not divide into 2 equal strings" for count in (1, 3, 5, 7)}


def test_a_target_that_no_arrangement_meets_names_the_nearest_and_why() -> None:
    front = front_of(MENUS, context(["SP1", "SP2"], target=20.0), ArrangementSettings(modules_min=3, modules_max=3))
    assert "No arrangement puts 20.0 % on the front axle. The nearest is number" in front.nearest
    assert "further rearwards" in front.nearest


def test_a_limit_that_refuses_the_nearest_to_the_target_is_named() -> None:
    car = context(["SP1", "SP2"], target=20.0, rear_axle_kg=330.0)
    front = front_of(MENUS, car, ArrangementSettings(modules_min=4, modules_max=4))
    assert "would come nearer" in front.nearest
    assert "rear axle over 330 kg" in front.nearest
    assert dict(front.refused)["rear axle over 330 kg"] > 0


def test_limits_that_no_arrangement_keeps_name_the_nearest_and_by_how_much() -> None:
    front = front_of(MENUS, context(["SP1", "SP2"], rear_axle_kg=290.0), ArrangementSettings(modules_min=4, modules_max=4))
    assert front.arrangements == ()
    assert front.nearest.startswith("No arrangement keeps every limit. The nearest, SP1 ")
    assert "rear axle over 290 kg, by " in front.nearest


def test_volts_outside_a_window_are_refused_by_the_unit() -> None:
    unit = HvUnit(ref="INV", operate_min_v=90, operate_max_v=150, withstand_max_v=160, current_peak_a=100, current_continuous_a=50)
    car = context(["SP1", "SP2"])
    # 8 cells a module: 33.6 V full, 24 V empty. Three are empty at 72 V; five are full at 168 V.
    from dataclasses import replace

    front = front_of(MENUS, replace(car, units=(unit,)), ArrangementSettings(modules_min=3, modules_max=5))
    assert {sum(item.count for item in found.fillings) for found in front.arrangements} == {4}
    assert set(dict(front.refused)) == {
        "3 modules: 72 V empty, INV works from 90 V",
        "5 modules: 168 V full, INV works up to 150 V",
    }


def test_more_modules_than_fit_say_how_many_do() -> None:
    front = front_of(MENUS, context(["SP1", "SP2"]), ArrangementSettings(modules_min=9, modules_max=12))
    assert front.nearest == "No arrangement holds 9 to 12 modules: at most 7 fit, SP1 3, SP2 4."
    # No table of boxes without a box.
    assert "---" not in as_words(front)
    fewer = front_of(MENUS, context(["SP1", "SP2"]), ArrangementSettings(modules_min=5, modules_max=5, boxes_max=1))
    assert fewer.nearest == "No arrangement holds 5 modules: at most 4 fit, SP1 3, SP2 4."


def test_a_space_smaller_than_a_module_says_what_lacks(tern: Conversion) -> None:
    seat = tuple(space.model_copy(update={"for_batteries": space.ref == "SP3"}) for space in tern.spaces)
    front = searched(changed(tern, spaces=seat))
    assert front.arrangements == ()
    assert "No module fits into under the rear seat" in front.nearest


def test_no_space_for_batteries(tern: Conversion) -> None:
    none = changed(tern, spaces=tuple(space.model_copy(update={"for_batteries": False}) for space in tern.spaces))
    with pytest.raises(HalfshaftError, match="no space is for batteries"):
        spaces_of(none)


def test_no_module_type_and_several_without_a_choice(tern: Conversion) -> None:
    with pytest.raises(HalfshaftError, match="no battery module is described"):
        kinds_of(changed(tern, boxes=(), modules=(), busbars=(), joints=()))
    two = (*tern.modules, tern.modules[0].model_copy(update={"part": "AT-PLATE"}))
    with pytest.raises(HalfshaftError, match="name the modules to arrange, of AT-MOD8, AT-PLATE"):
        kinds_of(changed(tern, boxes=(), modules=two, busbars=(), joints=()))
    assert [kind.module for kind in kinds_of(changed(tern, modules=two))] == ["AT-MOD8"]


def test_plates_wanted_but_none_named(tern: Conversion) -> None:
    without = tern.arrangement.model_copy(update={"plate": None})
    with pytest.raises(HalfshaftError, match="no plate is named"):
        plate_mm_of(changed(tern, arrangement=without))
    assert plate_mm_of(changed(tern, arrangement=without.model_copy(update={"plates": "none"}))) == 0.0


def test_without_any_box_there_is_nothing_to_copy(tern: Conversion) -> None:
    front = front_of(MENUS, context(["SP1", "SP2"]), ArrangementSettings(modules_min=3, modules_max=3))
    with pytest.raises(HalfshaftError, match="there is no battery box yet"):
        take(changed(tern, boxes=(), busbars=(), joints=()), front.arrangements[0])


def test_what_names_nothing_any_more_goes_or_is_blanked(tern: Conversion) -> None:
    without = tern.model_copy(update={"devices": tuple(device for device in tern.devices if device.ref != "SD")})
    found, gone = without_loose_ends(without)
    assert found.pack.service_disconnect is None
    assert set(gone["cables"]) == {"C3", "C4"}
    assert all("SD." not in wire.from_pin + wire.to_pin for wire in found.wires)


def test_next_mark() -> None:
    assert next_ref(["B1", "B3", "BAT"], "B1") == "B4"
    assert next_ref([], "M01") == "M01"


def test_a_number_that_is_not_there(tern_folder: Path) -> None:
    from support import halfshaft

    done = halfshaft("arrange", tern_folder, "--effort", "0", "--take", "999")
    assert done.returncode == 2
    assert "there is no arrangement 999" in done.stderr
    assert "Traceback" not in done.stderr
