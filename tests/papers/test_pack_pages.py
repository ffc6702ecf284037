"""What the pages of the pack say, and what its pictures show."""

from __future__ import annotations

import math

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.sections.pack import pack
from halfshaft.drawings.box_plan import MARGIN_MM, box_plan, layers_of, scale_of
from halfshaft.drawings.shapes import Circle, Text, box_of
from halfshaft.study import Study
from support import changed


@pytest.fixture(scope="module")
def pages(tern_study) -> Pages:
    made = Pages()
    pack(tern_study, made)
    return made


def tables(section):
    return [block for block in section["blocks"] if block["kind"] == "table"]


def words(cell) -> str:
    return cell if isinstance(cell, str) else cell.get("bold", cell.get("soft", ""))


def test_two_sections_under_the_mark_of_high_voltage_and_with_their_cautions(pages):
    assert [(section["title"], section["hv"]) for section in pages.sections] == [
        ("Battery pack", True),
        ("Bolted joints of the pack", True),
    ]
    cautions = [[block["word"] for block in section["blocks"] if block["kind"] == "caution"] for section in pages.sections]
    assert cautions == [["WARNING", "WARNING"], ["DANGER"]]


def test_every_unit_stands_against_every_state_with_what_is_left(pages):
    """Inverter 240 to 450 V: full 436.8 leaves 13.2, nominal 379.6 leaves 70.4, empty 312.0 leaves 72.0."""
    windows = tables(pages.sections[0])[0]
    assert [words(row[0]) for row in windows["rows"]] == ["INV", "CHG", "DCDC", "HTR", "HVDB"]
    assert windows["rows"][0][4:7] == ["13.2", "70.4", "72.0"]
    assert windows["rows"][0][8] == "works up to 450 V, full"


def test_every_joint_has_a_line_with_boxes_to_tick(pages, tern):
    (register,) = tables(pages.sections[1])
    assert [words(row[0]) for row in register["rows"]] == [joint.ref for joint in tern.joints]
    assert all(sum(cell == {"box": True} for cell in row) == 4 for row in register["rows"])


def test_each_box_has_its_picture_and_each_module_its_poles(pages, tern):
    assert sorted(pages.pictures) == [f"box-{box.ref}-1.svg" for box in tern.boxes]
    for box in tern.boxes:
        picture = pages.pictures[f"box-{box.ref}-1.svg"]
        written = {shape.words for shape in picture.shapes if isinstance(shape, Text)}
        assert {module.ref for module in box.modules} <= written
        assert sum(isinstance(shape, Circle) for shape in picture.shapes) == 2 * len(box.modules)


def test_a_picture_is_to_its_scale_and_nothing_leaves_it(pages, tern):
    """M01.P is at x 235, y -65 of box B1, which begins at x -205, y -446; the right side of the car is up."""
    box = tern.boxes[0]
    picture, scale = pages.pictures["box-B1-1.svg"], scale_of(box)
    at = (MARGIN_MM + (235 + 205) / scale, MARGIN_MM + (-65 + 446) / scale)
    assert any(math.dist(shape.centre, at) < 1e-6 for shape in picture.shapes if isinstance(shape, Circle))
    assert picture.width_mm == pytest.approx((263 + 205) / scale + 2 * MARGIN_MM)
    for drawing in pages.pictures.values():
        for shape in drawing.shapes:
            left, bottom, right, top = box_of(shape)
            assert left >= 0
            assert bottom >= 0
            assert right <= drawing.width_mm
            assert top <= drawing.height_mm


def test_modules_over_each_other_are_drawn_layer_by_layer(tern):
    box = tern.boxes[0]
    raised = box.modules[3].model_copy(update={"z_min_mm": 430.0, "z_max_mm": 581.0, "x_min_mm": -81.0, "x_max_mm": 27.0})
    box = box.model_copy(update={"modules": (*box.modules[:3], raised)})
    layers = layers_of(box)
    assert [[module.ref for module in layer] for layer in layers] == [["M01", "M02", "M03"], ["M04"]]
    pack_of = Study(changed(tern, boxes=(box, *tern.boxes[1:]))).pack
    upper = box_plan(box, layers[1], [bar for bar in pack_of.bars if bar.box == "B1"], pack_of.studs)
    written = [shape.words for shape in upper.shapes if isinstance(shape, Text)]
    assert "BB05 to M03.N" in written
    assert "M01" not in written


def test_no_modules_no_pages(tern):
    made = Pages()
    pack(Study(changed(tern, boxes=())), made)
    assert made.sections == []
