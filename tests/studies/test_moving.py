"""Something in the car put elsewhere: what goes with it, what follows, and what stands in its way."""

from __future__ import annotations

import pytest

from halfshaft.errors import HalfshaftError
from halfshaft.model.conversion import Conversion
from halfshaft.studies.moving import Shift, in_the_way, moved
from halfshaft.study import Study


def test_a_box_takes_along_what_is_in_it_and_nothing_else(tern: Conversion) -> None:
    after = moved(tern, [Shift(ref="B3", by_mm=(-40.0, 0.0, 12.0))])
    before_box, box = (next(item for item in one.boxes if item.ref == "B3") for one in (tern, after))
    for old, new in zip((before_box, *before_box.modules, *before_box.plates), (box, *box.modules, *box.plates), strict=True):
        assert (new.x_min_mm - old.x_min_mm, new.z_max_mm - old.z_max_mm) == (-40.0, 12.0)
    for old, new in zip(before_box.mounts, box.mounts, strict=True):
        assert (new.x_mm - old.x_mm, new.y_mm, new.z_mm - old.z_mm) == (-40.0, old.y_mm, 12.0)
    moved_devices = {device.ref for device in after.devices if device != tern.device[device.ref]}
    assert "B3" in moved_devices
    inside = {ref for ref in moved_devices if ref != "B3"}
    assert inside
    for ref in inside:
        device = tern.device[ref]
        assert before_box.x_min_mm < device.x_mm < before_box.x_max_mm
        assert before_box.z_min_mm < device.z_mm < before_box.z_max_mm
    assert [item for item in after.boxes if item.ref != "B3"] == [item for item in tern.boxes if item.ref != "B3"]


def test_axle_loads_follow_by_the_law_of_the_lever(tern: Conversion, tern_study: Study) -> None:
    """100 mm rearwards of a mass m move m x 100 / wheelbase from the front axle to the rear one."""
    after = Study(moved(tern, [Shift(ref="BAT", by_mm=(100.0, 0.0, 0.0))]))
    mass_kg = tern.part[tern.device["BAT"].part].mass_kg
    lines_kg = after.mass.finished.total_kg - tern_study.mass.finished.total_kg
    shift_kg = after.mass.finished.rear_kg - tern_study.mass.finished.rear_kg
    assert shift_kg == pytest.approx(mass_kg * 100.0 / tern.car.wheelbase_mm, abs=abs(lines_kg) + 0.1)
    assert shift_kg > 0.3


def test_cables_and_hoses_follow_the_box(tern: Conversion, tern_study: Study) -> None:
    after = Study(moved(tern, [Shift(ref="B3", by_mm=(-100.0, 0.0, 0.0))]))
    was = {laid.cable.ref: laid.cut_mm for laid in tern_study.routing.cables}
    changed = {laid.cable.ref for laid in after.routing.cables if laid.cut_mm != was[laid.cable.ref]}
    # C4 comes from ahead of the rear box; C5 leaves it behind, from a point of its own.
    assert "C4" in changed
    assert changed < set(was)


@pytest.mark.parametrize("ref", ["B1", "B3", "M05", "MOT", "ENC", "BAT"])
def test_there_and_back_is_where_it_was(tern: Conversion, ref: str) -> None:
    there = Shift(ref=ref, by_mm=(37.5, -12.0, 4.0))
    back = Shift(ref=ref, by_mm=(-37.5, 12.0, -4.0))
    again = moved(tern, [there, back])
    assert again.boxes == tern.boxes
    assert again.devices == tern.devices
    assert again.points == tern.points
    # Taped lengths are whole millimetres, so one may be left over.
    for old, new in zip(tern.runs, again.runs, strict=True):
        assert (new.length_taped_mm or 0.0) == pytest.approx(old.length_taped_mm or 0.0, abs=1.0)


def test_a_module_moves_in_its_box_alone(tern: Conversion) -> None:
    after = moved(tern, [Shift(ref="M06", by_mm=(0.0, 5.0, 0.0))])
    assert after.devices == tern.devices
    was = {module.ref: module for box in tern.boxes for module in box.modules}
    assert [m.ref for box in after.boxes for m in box.modules if m != was[m.ref]] == ["M06"]


def test_what_stands_in_its_way_is_named(tern: Conversion) -> None:
    def way(ref: str, *by_mm: float) -> tuple[str, ...]:
        return in_the_way(tern, moved(tern, [Shift(ref=ref, by_mm=(by_mm[0], by_mm[1], by_mm[2]))]), ref)

    assert way("B1", 0.0, 0.0, 0.0) == ()
    assert "B2" in way("B1", 0.0, tern.boxes[1].y_min_mm - tern.boxes[0].y_min_mm, 0.0)
    assert way("M06", 0.0, 1.0, 0.0) == ()
    assert way("M06", 60.0, 0.0, 0.0) == ("M07",)


def test_what_is_in_an_enclosure_goes_with_it_and_is_not_in_its_way(tern: Conversion) -> None:
    items = {item.ref for item in tern.enclosure_items if item.enclosure == "ENC"}
    assert items
    after = moved(tern, [Shift(ref="ENC", by_mm=(10.0, 0.0, 0.0))])
    assert {device.ref for device in after.devices if device != tern.device[device.ref]} == {"ENC", *items}
    assert not items & set(in_the_way(tern, after, "ENC"))


def test_what_is_not_there_cannot_be_moved(tern: Conversion) -> None:
    with pytest.raises(HalfshaftError, match="no device, box or module X9"):
        moved(tern, [Shift(ref="X9", by_mm=(1.0, 0.0, 0.0))])
