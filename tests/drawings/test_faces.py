"""A face shows what its connector's record says: where the cavities, the key and the latch are, and what is in each way."""

from __future__ import annotations

from typing import get_args

import pytest

from halfshaft.drawings.board_notes import filling_of
from halfshaft.drawings.colours import tones
from halfshaft.drawings.faces import (
    CELL,
    HIGH_MM,
    KEY,
    MIRROR,
    OUTLINE,
    STACK_HIGH_MM,
    Filling,
    View,
    both_faces,
    draw_face,
    face_size_mm,
    scale_for,
)
from halfshaft.drawings.shapes import PAPER, Circle, Drawing, Line, Polygon, Shape, Sketch, Text, box_of
from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import COUNTING, Cavity, Connector
from halfshaft.studies.looms.geometry import Place
from halfshaft.study import Study

PAGE_MM = 170.0
KEYS = ("top left", "top right", "bottom left", "bottom right")
LATCHES = ("top", "bottom", "left", "right")
Box = tuple[float, float, float, float]


def plug(
    *, rows: int = 2, columns: int = 3, pitch_mm: float = 4.0, key: str = "", latch: str = "", numbering: str | None = None
) -> Connector:
    """A plug of its own, with a cavity in every place."""
    cavities = tuple(
        Cavity(ref=str(index + 1), name="way", role="spare", terminal="T", sealed="no", wires_max=1) for index in range(rows * columns)
    )
    values = {"ref": "A", "kind": "plug", "rows": rows, "columns": columns, "pitch_mm": pitch_mm, "key": key, "latch": latch}
    return Connector.model_validate(values | {"cavities": cavities} | ({"numbering": numbering} if numbering else {}))


def shapes_of(connector: Connector, view: View = "wire side", scale: float = 3.0, filling: dict[str, Filling] | None = None) -> list[Shape]:
    sketch = Sketch()
    draw_face(sketch, connector, filling or {}, view=view, scale=scale, left=0.0, bottom=0.0, is_hv=False)
    return sketch.shapes


def body_of(shapes: list[Shape]) -> Box:
    return next(box_of(shape) for shape in shapes if isinstance(shape, Polygon) and shape.style is OUTLINE)


def cells_of(connector: Connector, shapes: list[Shape]) -> dict[str, Box]:
    """The cell of each cavity: the box in which its number stands."""
    boxes = [box_of(shape) for shape in shapes if isinstance(shape, Polygon) and shape.style is CELL]
    numbers = [shape for shape in shapes if isinstance(shape, Text) and shape.bold and not shape.words.startswith("seen")]
    cells = {text.words: next(box for box in boxes if is_within(box_of(text), box)) for text in numbers}
    assert list(cells) == [cavity.ref for cavity in connector.cavities]
    assert len(set(cells.values())) == len(boxes) == len(connector.cavities)
    return cells


def is_within(inner: Box, outer: Box) -> bool:
    return inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def centre(box: Box) -> Place:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def place_of(connector: Connector, cavity: str) -> tuple[int, int]:
    """Row and column of a cavity as drawn from the wire side, counted from the top left."""
    cells = cells_of(connector, shapes_of(connector))
    lefts = sorted({round(box[0], 6) for box in cells.values()})
    tops = sorted({round(box[3], 6) for box in cells.values()}, reverse=True)
    return tops.index(round(cells[cavity][3], 6)), lefts.index(round(cells[cavity][0], 6))


# By hand, for two rows of three: row and column of cavities 1, 2 and 6, from the top left as seen from the wire side.
BY_HAND = {
    "row by row from the top left, seen from the wire side": ((0, 0), (0, 1), (1, 2)),
    "row by row from the top right, seen from the wire side": ((0, 2), (0, 1), (1, 0)),
    "column by column from the top left, seen from the wire side": ((0, 0), (1, 0), (1, 2)),
    "column by column from the top right, seen from the wire side": ((0, 2), (1, 2), (1, 0)),
}


@pytest.mark.parametrize("numbering", BY_HAND)
def test_cavities_are_where_the_numbering_says(numbering: str):
    connector = plug(numbering=numbering)
    assert tuple(place_of(connector, cavity) for cavity in ("1", "2", "6")) == BY_HAND[numbering]


def test_every_numbering_of_the_model_can_be_drawn():
    words = set(get_args(Connector.model_fields["numbering"].annotation))
    assert words == set(COUNTING) == set(BY_HAND)
    assert set(get_args(Connector.model_fields["key"].annotation)) == {"", *KEYS}
    assert set(get_args(Connector.model_fields["latch"].annotation)) == {"", *LATCHES}


def assert_mirrored(connector: Connector, scale: float):
    wire, mating = (shapes_of(connector, view, scale) for view in ("wire side", "mating face"))
    left, bottom, right, top = body_of(wire)
    assert body_of(mating) == pytest.approx((left, bottom, right, top))
    there = cells_of(connector, mating)
    for ref, box in cells_of(connector, wire).items():
        assert there[ref] == pytest.approx((left + right - box[2], box[1], left + right - box[0], box[3]))
    for mark in (KEY, OUTLINE):
        here, over = ([box_of(item) for item in found if isinstance(item, Polygon) and item.style is mark] for found in (wire, mating))
        assert over == [pytest.approx((left + right - box[2], box[1], left + right - box[0], box[3])) for box in here]


@pytest.mark.parametrize("numbering", BY_HAND)
@pytest.mark.parametrize("latch", LATCHES)
@pytest.mark.parametrize("key", KEYS)
def test_the_mating_face_is_the_mirror_image(key: str, latch: str, numbering: str):
    assert_mirrored(plug(key=key, latch=latch, numbering=numbering), scale=2.0)


def test_the_mating_face_is_the_mirror_image_for_the_demo(tern: Conversion):
    for connector in tern.connector.values():
        if connector.kind != "stud":
            assert_mirrored(connector, scale_for(connector))


@pytest.mark.parametrize("key", KEYS)
def test_the_key_is_where_it_is_described(key: str):
    shapes = shapes_of(plug(key=key))
    left, bottom, right, top = body_of(shapes)
    (wedge,) = (box_of(shape) for shape in shapes if isinstance(shape, Polygon) and shape.style is KEY)
    edge, side = key.split()
    assert (wedge[3] == top) if edge == "top" else (wedge[1] == bottom)
    assert (centre(wedge)[0] < (left + right) / 2) == (side == "left")
    assert is_within(wedge, (left, bottom, right, top))


@pytest.mark.parametrize("latch", LATCHES)
def test_the_latch_is_on_its_side_and_inside_the_view(latch: str):
    connector = plug(latch=latch)
    shapes = shapes_of(connector)
    body, found = (box_of(shape) for shape in shapes if isinstance(shape, Polygon) and shape.style is OUTLINE)
    outer = {"top": found[1] == body[3], "bottom": found[3] == body[1], "left": found[2] == body[0], "right": found[0] == body[2]}
    assert [side for side, is_there in outer.items() if is_there] == [latch]
    (word,) = (box_of(shape) for shape in shapes if isinstance(shape, Text) and shape.words == "latch")
    assert is_within(word, found)
    width, height = face_size_mm(connector, 3.0)
    assert all(is_within(box_of(shape), (-1e-9, -1e-9, width + 1e-9, height + 1e-9)) for shape in shapes)


def test_without_a_key_or_a_latch_there_is_a_plain_rectangle():
    shapes = shapes_of(plug())
    assert not any(isinstance(shape, Polygon) and shape.style is KEY for shape in shapes)
    (outline,) = (shape for shape in shapes if isinstance(shape, Polygon) and shape.style is OUTLINE)
    assert len(outline.corners) == 4


def drawn_in(box: Box, shapes: list[Shape]) -> tuple[list[Circle], list[Line]]:
    inside = [shape for shape in shapes if is_within(box_of(shape), box)]
    return [item for item in inside if isinstance(item, Circle)], [item for item in inside if isinstance(item, Line)]


def assert_all_filled(connector: Connector, filling: dict[str, Filling], scale: float):
    shapes = shapes_of(connector, scale=scale, filling=filling)
    for ref, box in cells_of(connector, shapes).items():
        discs, lines = drawn_in(box, shapes)
        if ref not in filling:
            assert not discs, ref
            assert not lines, ref
            continue
        (disc,) = discs
        colour = filling[ref].colour
        assert disc.style.fill == (tones(colour)[0] if colour else PAPER)
        assert len(lines) == (2 if filling[ref].plug else 0), ref
        assert disc.centre[0] > centre(box)[0], ref
        assert disc.centre[1] < centre(box)[1], ref


@pytest.mark.parametrize("scale", [None, 2.0, 1.0])
def test_every_wire_and_every_blanking_plug_of_the_demo_is_drawn(tern: Conversion, tern_study: Study, scale: float | None):
    """At the scale of the book, at that of the board, and in the small cells of 1:1."""
    wires = 0
    for (device, name), connector in tern.connector.items():
        if connector.kind != "stud":
            filling = filling_of(tern, f"{device}.{name}", tern_study.wires)
            assert_all_filled(connector, filling, scale or scale_for(connector))
            wires += len(filling)
    assert wires > 100


def test_the_controller_has_its_wires_and_its_plugs(tern: Conversion, tern_study: Study):
    connector = tern.connector["VCU", "A"]
    filling = filling_of(tern, "VCU.A", tern_study.wires)
    assert len(filling) == len(connector.cavities) == 26
    assert any(item.plug for item in filling.values())
    assert any(item.colour for item in filling.values())
    drawing = both_faces(connector, filling, is_hv=False)
    crosses = [shape for shape in drawing.shapes if isinstance(shape, Line) and shape.style is not MIRROR]
    assert len(crosses) == 2 * sum(item.plug for item in filling.values())
    assert len([shape for shape in drawing.shapes if isinstance(shape, Circle)]) == 2 * 26


@pytest.mark.parametrize("pitch_mm", [1.0, 2.0, 4.0, 5.9])
def test_in_a_small_cell_the_disc_is_below_the_number(pitch_mm: float):
    connector = plug(pitch_mm=pitch_mm, rows=3, columns=4)
    shapes = shapes_of(connector, scale=1.0, filling={cavity.ref: Filling("BU-WH") for cavity in connector.cavities})
    for ref, box in cells_of(connector, shapes).items():
        ((disc,), _) = drawn_in(box, shapes)
        number = next(shape for shape in shapes if isinstance(shape, Text) and shape.words == ref)
        assert box_of(disc)[3] < box_of(number)[1]


def are_stacked(drawing: Drawing) -> bool:
    """Whether the mating face stands below: its band starts where that of the wire side does."""
    wire, mating = (shape for shape in drawing.shapes if isinstance(shape, Text) and shape.words.startswith("seen"))
    return wire.at[0] == mating.at[0] and wire.at[1] > mating.at[1]


def test_both_views_of_every_connector_of_the_demo_fit_the_page(tern: Conversion):
    stacked = set()
    for pair, connector in tern.connector.items():
        if connector.kind == "stud":
            continue
        drawing = both_faces(connector, {}, is_hv=False)
        assert drawing.width_mm <= PAGE_MM
        assert all(is_within(box_of(shape), (0.0, 0.0, drawing.width_mm, drawing.height_mm)) for shape in drawing.shapes)
        body = next(box_of(shape) for shape in drawing.shapes if isinstance(shape, Polygon) and shape.style is OUTLINE)
        assert body[3] - body[1] <= HIGH_MM
        assert body[2] - body[0] == pytest.approx((connector.plug_width_mm or 0) * scale_for(connector))
        if are_stacked(drawing):
            stacked.add(pair)
            assert drawing.height_mm <= STACK_HIGH_MM
    assert ("VCU", "A") in stacked
    assert scale_for(tern.connector["VCU", "A"]) == 2.0
    # One large pole gains nothing by it, and is not blown up.
    assert ("INV", "P") not in stacked


@pytest.mark.parametrize("latch", ["top", "left"])
def test_the_mirror_is_midway_between_the_views(latch: str):
    for columns in (3, 13):
        connector = plug(columns=columns, latch=latch)
        drawing = both_faces(connector, {}, is_hv=False)
        (mirror,) = (shape for shape in drawing.shapes if isinstance(shape, Line))
        bodies = [box_of(shape) for shape in drawing.shapes if isinstance(shape, Polygon) and shape.style is OUTLINE][::2]
        assert mirror.start[0] == mirror.end[0]
        if are_stacked(drawing):
            assert [centre(body)[0] for body in bodies] == pytest.approx([mirror.start[0]] * 2)
            assert drawing.shapes[0] is mirror
        else:
            assert bodies[0][2] < mirror.start[0] < bodies[1][0]
