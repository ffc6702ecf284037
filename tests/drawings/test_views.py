"""The car from three sides: everything stands where the scale says, in all three views, and no word on another."""

from __future__ import annotations

import pytest

from drawings.pictures import outside, overlapping_words, rects, words
from halfshaft.drawings.shapes import Circle, Drawing, Line, Polygon, Sketch, Text
from halfshaft.drawings.views.eyes import PLAN, REAR, SIDE, View
from halfshaft.drawings.views.picture import book_picture, draw_view, extent
from halfshaft.drawings.views.sheet import car_sheet
from halfshaft.drawings.views.shown import shown
from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Point
from halfshaft.study import Study
from support import changed

EYES = pytest.mark.parametrize("eye", [SIDE, PLAN, REAR], ids=lambda eye: eye.ref)
ONE_TO, ORIGIN = 20.0, (80.0, 90.0)


def view_of(conversion: Conversion, eye) -> Drawing:
    """One view on a sheet of its own, its frame at ORIGIN."""
    study, sketch = Study(conversion), Sketch()
    draw_view(sketch, eye, ONE_TO, shown(conversion, study.routing), study.mass, origin=ORIGIN, room=(0.0, 0.0, 300.0, 250.0))
    return Drawing(300.0, 250.0, tuple(sketch.shapes))


def on_paper(eye, low, high):
    """By the arithmetic of the scale: what the drawing is compared with."""
    a, b = eye.across, eye.up
    return (ORIGIN[0] + low[a] / 20, ORIGIN[1] + low[b] / 20, ORIGIN[0] + high[a] / 20, ORIGIN[1] + high[b] / 20)


def faces(thing):
    return (thing.x_min_mm, thing.y_min_mm, thing.z_min_mm), (thing.x_max_mm, thing.y_max_mm, thing.z_max_mm)


@EYES
def test_boxes_and_modules_lie_where_the_scale_says_and_each_is_drawn_once(tern, eye):
    drawing = view_of(tern, eye)
    for things, drawn in (
        (tern.boxes, rects(drawing, "HV")),
        ([module for box in tern.boxes for module in box.modules], rects(drawing, "MODULE")),
    ):
        assert len(drawn) == len(things)
        for thing in things:
            wanted = on_paper(eye, *faces(thing))
            assert sum(rect == pytest.approx(wanted, abs=0.01) for rect in drawn) >= 1, thing.ref


@EYES
def test_both_centres_of_gravity_lie_where_they_were_computed(tern, tern_study, eye):
    circles = [shape for shape in view_of(tern, eye).shapes if isinstance(shape, Circle) and shape.style.layer == "CG"]
    for stand, circle in zip((tern_study.mass.donor, tern_study.mass.finished), circles, strict=True):
        place = (stand.x_mm, stand.y_mm, stand.z_mm)
        assert circle.centre == pytest.approx(on_paper(eye, place, place)[:2], abs=0.01)


def test_nothing_is_mirrored():
    """x, y and z are right-handed; seen from the left the front is at the left, from above the right side is on top, from behind the left side is at the left."""
    front, right, up = (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
    for eye, spot, expected in ((SIDE, front, (-1, 0)), (SIDE, up, (0, 1)), (PLAN, front, (-1, 0)), (PLAN, right, (0, 1)), (REAR, right, (1, 0)), (REAR, up, (0, 1))):  # fmt: skip
        assert View(eye=eye, one_to=1.0, origin=(0.0, 0.0)).at(spot) == pytest.approx(expected)


def test_what_is_nearer_is_drawn_later(tern):
    """From the left B1 (left of the car) covers B2 (right of it)."""
    first, second = (rects(view_of(tern, SIDE), "HV").index(pytest.approx(on_paper(SIDE, *faces(tern.boxes[i])), abs=0.01)) for i in (0, 1))
    assert first > second


def test_the_lid_of_a_space_is_drawn_over_the_box_that_stands_through_it(tern_folder):
    from halfshaft.files.folder import read_folder

    first_idea = read_folder(tern_folder.parent / "tern-first-idea")
    shapes = view_of(first_idea, SIDE).shapes
    lid = next(
        i for i, s in enumerate(shapes) if isinstance(s, Line) and s.style.layer == "SPACE" and s.start[1] == pytest.approx(90 + 585 / 20)
    )
    last_box = max(i for i, s in enumerate(shapes) if s.style.layer == "HV")
    assert lid > last_box


def pictures(conversion: Conversion) -> tuple[Drawing, Drawing]:
    study = Study(conversion)
    return book_picture(conversion, study.routing, study.mass), car_sheet(conversion, study.routing, study.mass)


def without_boxes(tern: Conversion) -> Conversion:
    return changed(tern, boxes=())


def without_height(tern: Conversion) -> Conversion:
    return changed(tern, car=tern.car.model_copy(update={"raised": None, "cg_height_mm": None}))


def one_space(tern: Conversion) -> Conversion:
    return changed(tern, boxes=(), keep_outs=(), spaces=tern.spaces[2:3], luggage_rooms=())


def long_names(tern: Conversion) -> Conversion:
    name = "the box that stands where for sixty years the spare wheel lay and where nobody ever looked " * 2
    devices = tuple(device.model_copy(update={"name": name}) for device in tern.devices)
    spaces = tuple(space.model_copy(update={"name": name}) for space in tern.spaces)
    return changed(tern, devices=devices, spaces=spaces)


def twelve_boxes(tern: Conversion) -> Conversion:
    """Twelve small boxes in three layers, so that in every view some hide others."""
    template = tern.boxes[0]
    boxes, devices = [], list(tern.devices)
    for number in range(12):
        x, y, z = -200 + 500 * (number % 2), -400 + 450 * (number // 2 % 2), 300 + 220 * (number // 4)
        low, high = {"x_min_mm": x, "y_min_mm": y, "z_min_mm": z}, {"x_max_mm": x + 420, "y_max_mm": y + 380, "z_max_mm": z + 200}
        ref = f"BX{number}"
        boxes.append(template.model_copy(update={**low, **high, "ref": ref, "modules": (), "plates": (), "mounts": ()}))
        devices.append(tern.device["B1"].model_copy(update={"ref": ref, "x_mm": x + 210, "y_mm": y + 190, "z_mm": z + 100}))
    return changed(tern, boxes=tuple(boxes), devices=tuple(devices))


def points_on_each_other(tern: Conversion) -> Conversion:
    """Every high-voltage point at one place: runs without length."""
    moved = tuple(
        Point(**{**point.model_dump(), "x_mm": 1000.0, "y_mm": 0.0, "z_mm": 300.0}) if point.zone == "tunnel" else point
        for point in tern.points
    )
    return changed(tern, points=moved)


def nothing_but_a_car(tern: Conversion) -> Conversion:
    return Conversion(job=tern.job, car=tern.car)


CASES = [lambda tern: tern, without_boxes, without_height, one_space, long_names, twelve_boxes, points_on_each_other, nothing_but_a_car]


@pytest.mark.parametrize("case", CASES, ids=lambda case: getattr(case, "__name__", "tern"))
def test_no_word_lies_on_another_and_nothing_leaves_the_paper(tern, case):
    for drawing in pictures(case(tern)):
        assert not outside(drawing)
        assert not overlapping_words(drawing)
        assert min(shape.height_mm for shape in drawing.shapes if isinstance(shape, Text)) >= 1.8


def test_a_car_without_a_known_height_has_its_centres_in_the_plan_only(tern):
    circles = {eye.ref: sum(isinstance(s, Circle) and s.style.layer == "CG" for s in view_of(without_height(tern), eye).shapes) for eye in (SIDE, PLAN, REAR)}  # fmt: skip
    assert circles == {"side": 0, "plan": 2, "rear": 0}


def test_loads_are_written_before_and_now(tern, tern_study):
    said = words(pictures(tern)[0])
    now, before = tern_study.mass.finished, tern_study.mass.donor
    assert {
        f"{now.front_kg:.0f} kg",
        f"{now.rear_kg:.0f} kg",
        f"RR {now.rear_right_kg:.0f} kg",
        f"before {before.rear_right_kg:.0f}",
    } <= set(said)


def test_scales_are_said_and_are_those_of_the_standard_on_the_sheet(tern):
    book, sheet = pictures(tern)
    assert "1 m at 1:25, lengths in mm" in words(book)
    assert "1:20" in words(sheet)
    # On the sheet the wheelbase of 2110 mm is 105.5 mm long at 1:20.
    axle_lines = sorted({round(s.start[0], 3) for s in sheet.shapes if isinstance(s, Line) and s.style.layer == "LOAD"})
    assert axle_lines[1] - axle_lines[0] == pytest.approx(2110 / 20, abs=0.01)


def test_first_angle_puts_the_rear_view_left_and_the_plan_below(tern):
    titles = {s.words: s.at for s in pictures(tern)[1].shapes if isinstance(s, Text)}
    side, plan, rear = (titles[eye.title] for eye in (SIDE, PLAN, REAR))
    assert rear[0] < side[0]
    assert rear[1] == side[1]
    assert plan[1] < side[1]
    assert plan[0] == side[0]


def test_the_extent_holds_everything_that_is_drawn(tern, tern_study):
    left, bottom, right, top = extent(SIDE, shown(tern, tern_study.routing))
    assert (left, right) == (-640, 2930)
    assert (bottom, top) == (0, 1380)


def test_a_space_that_is_a_mesh_is_drawn_as_the_band_round_it_and_stands_in_the_scene(tern):
    from drawings.test_glb import read, scene
    from halfshaft.model.meshes import Mesh
    from halfshaft.pens.glb import glb

    # A tetrahedron in metres: of its four corners three are seen as the outline from above, for the fourth lies inside.
    corners = ((1.0, -0.3, 0.3), (1.0, 0.3, 0.3), (1.2, 0.0, 0.6), (1.6, 0.0, 0.3))
    triangles = ((0, 1, 3), (0, 2, 1), (0, 3, 2), (1, 2, 3))
    mesh = Mesh(ref="SCAN", unit="m", corners=corners, triangles=triangles)
    space = tern.spaces[2].model_copy(update={"polygon_mm": None, "mesh": "SCAN"})
    conversion = changed(tern, meshes=(mesh,), spaces=(*tern.spaces[:2], space, *tern.spaces[3:]))
    outlines = [set(s.corners) for s in view_of(conversion, PLAN).shapes if isinstance(s, Polygon) and s.style.layer == "SPACE"]
    wanted = {(ORIGIN[0] + x * 50, ORIGIN[1] + y * 50) for x, y, _ in (corners[0], corners[1], corners[3])}
    assert wanted in [{(round(x, 6), round(y, 6)) for x, y in outline} for outline in outlines]
    found = read(glb(scene(conversion), title="mesh"))["SP3"]
    assert found.volume == pytest.approx(0.6 * 0.6 * 0.3 / 6)
