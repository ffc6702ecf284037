"""The sheets that boxes are welded from: their figures are the model's, and they can be read."""

from __future__ import annotations

import itertools

import pytest

from drawings.pictures import outside, overlapping_words, rects, words
from halfshaft.drawings.box_sheets.sheet import box_sheet, lay_out
from halfshaft.drawings.dimensions import LEVEL, dimension, running, spread_out, words_of
from halfshaft.drawings.shapes import Polygon, Sketch, Text
from halfshaft.files.folder import read_folder
from support import changed

BOXES = pytest.mark.parametrize("number", [0, 1, 2], ids=["B1", "B2", "B3"])


def figures(drawing) -> list[str]:
    return [shape.words for shape in drawing.shapes if isinstance(shape, Text) and shape.style.layer == "DIMENSION_TEXT"]


@BOXES
def test_dimensions_are_those_of_the_model(tern, number):
    box = tern.boxes[number]
    said = figures(box_sheet(tern, box))
    outside_mm = (box.x_max_mm - box.x_min_mm, box.y_max_mm - box.y_min_mm, box.z_max_mm - box.z_min_mm)
    wanted = [f"{size:g}" for size in outside_mm] + [f"{size - 2 * box.wall_mm:g}" for size in outside_mm]
    for module in box.modules:
        for low, high, corner in ((module.x_min_mm, module.x_max_mm, box.x_min_mm), (module.y_min_mm, module.y_max_mm, box.y_min_mm), (module.z_min_mm, module.z_max_mm, box.z_min_mm)):  # fmt: skip
            wanted += [f"{low - corner - box.wall_mm:g}", f"{high - corner - box.wall_mm:g}"]
    holes_x, holes_y = sorted({mount.x_mm for mount in box.mounts}), sorted({mount.y_mm for mount in box.mounts})
    wanted += [f"{holes_x[0] - box.x_min_mm:g}", f"{holes_x[1] - holes_x[0]:g}", f"{box.x_max_mm - holes_x[1]:g}"]
    wanted += [f"{holes_y[0] - box.y_min_mm:g}", f"{holes_y[1] - holes_y[0]:g}", f"{box.y_max_mm - holes_y[1]:g}"]
    assert set(wanted) - {"0"} <= set(said)
    # And nothing else: every figure on the sheet is one of the model's.
    assert set(said) <= {*wanted, "0"}


def test_the_box_of_the_spare_wheel_well_as_reckoned_by_hand(tern):
    """B1 of the demo: 468 x 407 x 200 outside, 2 mm wall; M04 begins 8 mm from its outer front wall, so 6 from the inner one."""
    said = figures(box_sheet(tern, tern.boxes[0]))
    for figure in ("468", "464", "407", "403", "200", "196", "6", "114", "122", "230", "234", "342", "350", "458", "24", "379", "4", "155", "25", "418", "21", "365"):  # fmt: skip
        assert figure in said


@BOXES
def test_outlines_have_the_sizes_that_the_scale_says(tern, number):
    box = tern.boxes[number]
    drawing = box_sheet(tern, box)
    assert "1:5" in words(drawing)
    sizes = {(round(r - l, 3), round(t - b, 3)) for l, b, r, t in rects(drawing, "BOX", width_mm=0.7)}  # noqa: E741
    x, y, z = ((high - low) / 5 for low, high in ((box.x_min_mm, box.x_max_mm), (box.y_min_mm, box.y_max_mm), (box.z_min_mm, box.z_max_mm)))
    assert sizes == {(x, z), (y, z), (x, y)}
    modules = rects(drawing, "MODULE")
    assert len(modules) == 3 * len(box.modules)


def test_tables_say_where_each_module_stands_and_how(tern):
    said = words(box_sheet(tern, tern.boxes[0]))
    for word in ("M01", "350 … 458", "24 … 379", "4 … 155", "long edge", "22 Nm", "M8 8.8", "−4", "52.0 kg filled"):
        assert any(word in text for text in said), word


def many_modules(tern):
    """Forty modules in one box: the tables need a larger sheet."""
    box = tern.boxes[0]
    modules = []
    for number in range(40):
        x, z = box.x_min_mm + 8 + 112 * (number % 10), box.z_min_mm + 6 + 157 * (number // 10)
        place = {"x_min_mm": x, "x_max_mm": x + 108, "z_min_mm": z, "z_max_mm": z + 151}
        modules.append(box.modules[0].model_copy(update={**place, "ref": f"MOD{number}", "order_in_string": number + 1}))
    large = box.model_copy(update={"modules": tuple(modules), "x_max_mm": box.x_min_mm + 1140, "z_max_mm": box.z_min_mm + 660})
    return changed(tern, boxes=(large, *tern.boxes[1:]))


def empty(tern):
    return changed(tern, boxes=(tern.boxes[0].model_copy(update={"modules": (), "plates": (), "mounts": ()}), *tern.boxes[1:]))


def odd_lengths(tern):
    box = tern.boxes[0].model_copy(update={"x_min_mm": -205.25, "z_max_mm": 470.5, "note": "a note " * 60})
    return changed(tern, boxes=(box, *tern.boxes[1:]))


def plugs(wall):
    def case(tern):
        return changed(tern, spaces=tuple(space.model_copy(update={"plugs_look": wall}) for space in tern.spaces))

    case.__name__ = f"plugs {wall}"
    return case


@pytest.mark.parametrize("case", [lambda tern: tern, many_modules, empty, odd_lengths, *map(plugs, ("", "front", "left", "right", "above"))], ids=lambda case: case.__name__)  # fmt: skip
def test_no_word_lies_on_another_and_nothing_leaves_the_paper(tern, case):
    conversion = case(tern)
    for box in conversion.boxes:
        drawing = box_sheet(conversion, box)
        assert not outside(drawing)
        assert not overlapping_words(drawing)


def test_the_first_idea_with_two_layers_can_be_read_too(tern_folder):
    conversion = read_folder(tern_folder.parent / "tern-first-idea")
    for box in conversion.boxes:
        drawing = box_sheet(conversion, box)
        assert not outside(drawing)
        assert not overlapping_words(drawing)


def test_more_modules_take_a_larger_sheet_and_every_one_is_in_the_table(tern):
    conversion = many_modules(tern)
    box = conversion.boxes[0]
    space = next(space for space in conversion.spaces if space.ref == box.space)
    assert lay_out(conversion, box, space).paper.name != "A3"
    assert {f"MOD{number}" for number in range(40)} <= set(words(box_sheet(conversion, box)))


def test_figures_of_running_dimensions_move_apart_and_keep_their_order():
    spread = spread_out([0.0, 1.0, 1.5, 30.0], 4.0)
    assert spread == sorted(spread)
    assert min(b - a for a, b in itertools.pairwise(spread)) >= 4.0 - 1e-9
    assert spread[3] == 30.0
    assert sum(spread[:3]) == pytest.approx(2.5)


def test_a_short_dimension_has_its_arrows_outside():
    for long, outwards in ((20.0, False), (6.0, True)):
        sketch = Sketch()
        dimension(sketch, LEVEL, (0.0, long), thing=0.0, line=10.0, value_mm=long * 5, height_mm=3.5)
        heads = [shape for shape in sketch.shapes if isinstance(shape, Polygon)]
        left_head = min(heads, key=lambda head: head.corners[0])
        assert (left_head.corners[1][0] < 0) is outwards


def test_running_dimensions_begin_at_a_circle():
    sketch = Sketch()
    running(sketch, LEVEL, origin=0.0, places=[(10.0, 50.0)], thing=0.0, line=-10.0, height_mm=3.5)
    assert [shape.words for shape in sketch.shapes if isinstance(shape, Text)] == ["0", "50"]


@pytest.mark.parametrize(("length", "said"), [(468, "468"), (12.5, "12.5"), (-4, "−4"), (0.0, "0"), (-0.001, "0"), (3.14159, "3.14")])
def test_lengths_are_written_as_a_drawing_has_them(length, said):
    assert words_of(length) == said
