"""The rooms of the demo by hand, and boxes beside walls that come in between their corners."""

from __future__ import annotations

import pytest

from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.rooms import room_of
from halfshaft.studies.boxes import outside_space
from halfshaft.study import Study
from meshes import block_mesh


def test_the_demo_by_hand(tern_study: Study) -> None:
    """SP1: 515 x 415 less a corner of 20 x 20 / 2, 323 high. SP4: 400 x 800 and 230 x 1,120, 260 high; its keep-out ends below its floor."""
    rooms = tern_study.rooms
    assert rooms["SP1"].usable_l == pytest.approx((515 * 415 - 20 * 20 / 2) * 323 / 1e6)
    assert rooms["SP4"].usable_l == pytest.approx((400 * 800 + 230 * 1120) * 260 / 1e6)
    assert [block.size for block in rooms["SP4"].blocks] == [(630, 800, 260), (230, 1120, 260)]
    assert [block.size for block in rooms["SP1"].blocks] == [(495, 415, 323), (515, 395, 323)]
    assert {ref for ref, room in rooms.items() if room.step_mm is None} == {"SP3", "SP4", "SP5"}


def test_a_keep_out_parts_a_room(tern: Conversion) -> None:
    """Cables 20 mm wide and 50 mm above the floor, the whole length of the space under the rear seat (1,090 wide, 155 high)."""
    space = next(space for space in tern.spaces if space.ref == "SP3")
    cables = tern.keep_outs[3].model_copy(
        update={"x_min_mm": 1400.0, "x_max_mm": 1900.0, "y_min_mm": -10.0, "y_max_mm": 10.0, "z_min_mm": 200.0, "z_max_mm": 340.0}
    )
    room = room_of(space, (cables,))
    assert {block.size for block in room.blocks} == {(360, 535, 155), (360, 1090, 105)}
    assert len(room.blocks) == 3
    assert room.usable_l == pytest.approx((360 * 1090 * 155 - 360 * 20 * 50) / 1e6)


def test_a_wall_that_passes_right_through_a_box_is_seen(tern: Conversion) -> None:
    """A slot 2 mm wide, open to the right: no corner of the box is outside, and no corner of the space is in the box."""
    box = tern.boxes[0]
    x, y = (box.x_min_mm + box.x_max_mm) / 2, (box.y_min_mm - 50, box.y_max_mm + 50)
    low, high = box.x_min_mm - 50, box.x_max_mm + 50
    plan = ((low, y[0]), (high, y[0]), (high, y[1]), (x + 1, y[1]), (x + 1, y[0] + 10), (x - 1, y[0] + 10), (x - 1, y[1]), (low, y[1]))
    space = Space(ref="SP1", name="a", loaded_from="above", floor_z_mm=0, top_z_mm=900, polygon_mm=plan)
    (finding,) = outside_space(box, space, None)
    assert finding.value == 2
    assert "does not stand inside the plan" in finding.text


@pytest.mark.parametrize(("by_mm", "stops"), [(0.0, False), (0.005, False), (0.5, True), (2000.0, True)])
def test_a_box_stands_in_the_skin_of_a_mesh_or_not(tern: Conversion, by_mm: float, stops: bool) -> None:
    box = tern.boxes[0]
    low, high = (box.x_min_mm + by_mm, box.y_min_mm, box.z_min_mm), (box.x_max_mm + by_mm, box.y_max_mm, box.z_max_mm)
    space = Space(ref="SP1", name="a", loaded_from="above", floor_z_mm=0, top_z_mm=900, mesh="ME1")
    assert bool(list(outside_space(box, space, block_mesh("ME1", low, high)))) == stops


def test_a_lid_below_the_whole_mesh_leaves_nothing(tern: Conversion) -> None:
    space = Space(ref="SP1", name="a", loaded_from="above", floor_z_mm=-100, top_z_mm=-50, mesh="ME1")
    room = room_of(space, (), block_mesh())
    assert room.blocks == ()
    assert room.usable_l == pytest.approx(0.0, abs=1e-9)
