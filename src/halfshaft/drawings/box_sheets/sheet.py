"""The sheet of one battery box, in first angle: from behind, from the left, and below that from above; dimensions and tables."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.drawings.box_sheets.draw import PLUGS_BELOW_MM, draw_box
from halfshaft.drawings.box_sheets.tables import WORDS_MM, Table, draw_tables, height_of, inside_of, tables_of
from halfshaft.drawings.diagrams.symbols import hv_sign
from halfshaft.drawings.dimensions import LEVEL, UPRIGHT, Axis, chain, dimension, running, running_depth
from halfshaft.drawings.frame import PAPERS, Paper, draw_frame
from halfshaft.drawings.projection import first_angle
from halfshaft.drawings.shapes import SOFT_TEXT, Drawing, Sketch, wrapped
from halfshaft.drawings.sheet import BLOCK_HEIGHT_MM, BLOCK_WIDTH_MM, Title, dots, scale_bar, title_block
from halfshaft.drawings.views.eyes import PLAN, REAR, SIDE, Rect, View
from halfshaft.model.boxes import Box
from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.studies.boxes import BATTERY_CAUTION
from halfshaft.studies.device_blocks import block_of

# Reductions of ISO 5455 down to where a module can still be told from its neighbour.
SCALES = (2, 5, 10, 20, 50)
FIGURE_MM, FIRST_MM, NEXT_MM, TITLE_MM, ROOM_MM, FOOT_MM = 3.5, 10.0, 7.0, 8.0, 5.0, 24.0
NOTES_MM, NOTE_LINE_MM = 140.0, 3.9
# Room for two lines of dimensions and their figures.
LINES_MM = FIRST_MM + NEXT_MM + FIGURE_MM + 3.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Layout:
    """Paper, scale, where the three views begin, and the tables with their upper left corner."""

    paper: Paper
    one_to: int
    side: View
    plan: View
    rear: View
    tables: tuple[Table, ...]
    notes: tuple[str, ...]
    tables_at: tuple[float, float]


def box_number(conversion: Conversion, box: Box) -> str:
    """The number of a box's drawing."""
    return f"{conversion.job.ref}-BX-{box.ref}"


def box_sheet(conversion: Conversion, box: Box) -> Drawing:
    """The drawing of one box."""
    space = next(space for space in conversion.spaces if space.ref == box.space)
    layout = lay_out(conversion, box, space)
    sketch = Sketch()
    draw_frame(sketch, layout.paper)
    for view in (layout.rear, layout.side, layout.plan):
        draw_box(sketch, view, box, space)
        left, _, _, top = view.rect(block_of(box))
        sketch.text((left, top + LINES_MM + 1.0), view.eye.title, 2.5, style=SOFT_TEXT)
    _outside_and_inside(sketch, layout, box)
    _places(sketch, layout, box)
    _bolts(sketch, layout, box)
    y = draw_tables(sketch, layout.tables, *layout.tables_at)
    for index, line in enumerate(layout.notes):
        sketch.text((layout.tables_at[0], y - WORDS_MM - NOTE_LINE_MM * index), line, WORDS_MM)
    _foot(sketch, conversion, box, layout)
    number = box_number(conversion, box)
    return Drawing(
        layout.paper.width_mm, layout.paper.height_mm, tuple(sketch.shapes), title=f"{conversion.device[box.ref].name}, {number}"
    )


def lay_out(conversion: Conversion, box: Box, space: Space) -> Layout:
    """The smallest paper, and on it the largest scale, on which the views, their dimensions and the tables find room."""
    tables, notes = tables_of(conversion, box), _notes(box, space)
    found = (_fit(paper, one_to, box, tables, notes) for paper in PAPERS for one_to in SCALES)
    return next((layout for layout, fits in found if fits), _fit(PAPERS[-1], SCALES[-1], box, tables, notes)[0])


def _fit(paper: Paper, one_to: int, box: Box, tables: tuple[Table, ...], notes: tuple[str, ...]) -> tuple[Layout, bool]:
    left, bottom, right, top = paper.inside
    long, wide, high = (size / one_to for size in block_of(box).size)
    beside_z = FIRST_MM + running_depth([value for _, value in _steps(box, 2)], FIGURE_MM)
    beside_y = FIRST_MM + running_depth([value for _, value in _steps(box, 1)], FIGURE_MM)
    below_x = FIRST_MM + running_depth([value for _, value in _steps(box, 0)], FIGURE_MM)
    first_wide = max(beside_z + wide + ROOM_MM, *(table.width_mm for table in tables), 0.0)
    second_wide = beside_y + long + LINES_MM + 12.0
    first_high = TITLE_MM + LINES_MM + high + PLUGS_BELOW_MM + 2.0
    second_high = TITLE_MM + LINES_MM + wide + below_x
    spare_x = right - left - 2 * ROOM_MM - first_wide - second_wide
    spare_y = top - bottom - ROOM_MM - BLOCK_HEIGHT_MM - first_high - second_high
    tables_top = top - ROOM_MM - first_high - max(spare_y, 0.0) / 3
    fits = spare_x >= 0 and spare_y >= 0 and tables_top - height_of(tables) - NOTE_LINE_MM * len(notes) >= bottom + FOOT_MM
    x_first = left + ROOM_MM + max(first_wide - beside_z - wide - ROOM_MM, 0.0) / 2 + beside_z
    x_second = left + ROOM_MM + first_wide + max(spare_x, 0.0) / 2 + beside_y
    z_base = top - ROOM_MM - TITLE_MM - LINES_MM - high - max(spare_y, 0.0) / 6
    y_base = tables_top - TITLE_MM - LINES_MM - wide - max(spare_y, 0.0) / 6

    def view(eye_x: float, eye_y: float, x0: float, y0: float) -> tuple[float, float]:
        return eye_x - x0 / one_to, eye_y - y0 / one_to

    layout = Layout(
        paper=paper,
        one_to=one_to,
        side=View(eye=SIDE, one_to=one_to, origin=view(x_second, z_base, box.x_min_mm, box.z_min_mm)),
        plan=View(eye=PLAN, one_to=one_to, origin=view(x_second, y_base, box.x_min_mm, box.y_min_mm)),
        rear=View(eye=REAR, one_to=one_to, origin=view(x_first, z_base, box.y_min_mm, box.z_min_mm)),
        tables=tables,
        notes=notes,
        tables_at=(left + ROOM_MM, tables_top),
    )
    return layout, fits


def _steps(box: Box, axis: int) -> list[tuple[float, float]]:
    """Where modules begin and end along an axis: in the car, and from the inner corner; each once."""
    inside = inside_of(box)
    origin = (inside.x_min, inside.y_min, inside.z_min)[axis]
    found = set()
    for module in box.modules:
        block = block_of(module)
        found |= {(block.x_min, block.y_min, block.z_min)[axis], (block.x_max, block.y_max, block.z_max)[axis]}
    return [(value, value - origin) for value in sorted(found)]


def _outside_and_inside(sketch: Sketch, layout: Layout, box: Box) -> None:
    """The room inside next to the box, the outside beyond it."""
    outside, inside = block_of(box), inside_of(box)
    side, rear = layout.side, layout.rear
    _two(sketch, LEVEL, side.rect(outside), side.rect(inside), (outside.size[0], inside.size[0]))
    _two(sketch, UPRIGHT, side.rect(outside), side.rect(inside), (outside.size[2], inside.size[2]))
    _two(sketch, LEVEL, rear.rect(outside), rear.rect(inside), (outside.size[1], inside.size[1]))


def _two(sketch: Sketch, axis: Axis, outside: Rect, inside: Rect, values: tuple[float, float]) -> None:
    low, high, thing = (1, 3, outside[2]) if axis.upright else (0, 2, outside[3])
    for rect, value, line in ((inside, values[1], FIRST_MM), (outside, values[0], FIRST_MM + NEXT_MM)):
        dimension(sketch, axis, (rect[low], rect[high]), thing=thing, line=thing + line, value_mm=value, height_mm=FIGURE_MM)


def _places(sketch: Sketch, layout: Layout, box: Box) -> None:
    """Where modules begin and end, from the inner corner: x below and y left of the plan, z left of the view from behind."""
    inside = inside_of(box)
    corner = (inside.x_min, inside.y_min, inside.z_min)
    for view, axis, number in ((layout.plan, LEVEL, 0), (layout.plan, UPRIGHT, 1), (layout.rear, UPRIGHT, 2)):
        rect = view.rect(block_of(box))
        index = 1 if axis.upright else 0
        thing = rect[0] if axis.upright else rect[1]
        places = [(view.on_paper((value, value))[index], step) for value, step in _steps(box, number)]
        origin = view.on_paper((corner[number], corner[number]))[index]
        running(sketch, axis, origin=origin, places=places, thing=thing, line=thing - FIRST_MM, height_mm=FIGURE_MM)


def _bolts(sketch: Sketch, layout: Layout, box: Box) -> None:
    """The hole pattern of the feet from outside to outside: above the plan along x, right of it along y."""
    if not box.mounts:
        return
    rect = layout.plan.rect(block_of(box))
    for axis, low, high, values in (
        (LEVEL, box.x_min_mm, box.x_max_mm, [mount.x_mm for mount in box.mounts]),
        (UPRIGHT, box.y_min_mm, box.y_max_mm, [mount.y_mm for mount in box.mounts]),
    ):
        thing = rect[2] if axis.upright else rect[3]
        index = 1 if axis.upright else 0
        places = [(layout.plan.on_paper((value, value))[index], value) for value in sorted({low, high, *values})]
        chain(sketch, axis, places, thing=thing, line=thing + FIRST_MM, height_mm=FIGURE_MM)


def _foot(sketch: Sketch, conversion: Conversion, box: Box, layout: Layout) -> None:
    """Title block, scale bar, what is not drawn, and the caution."""
    job, (left, bottom, right, _) = conversion.job, layout.paper.inside
    number = box_number(conversion, box)
    parts = [conversion.device[box.ref].part, *(item.module for item in box.modules), *(item.part for item in box.plates)]
    mass_kg = sum(conversion.part[part].mass_kg for part in parts)
    title = Title(
        owner=job.owner, kind="Battery box", status=job.status, scale=f"1:{layout.one_to}", title=f"Battery box {box.ref}",
        subtitle=f"{conversion.device[box.ref].name}; wall {box.wall_mm:g} mm; {mass_kg:.1f} kg filled", number=number, revision=job.revision, date=job.date,
        sheet="1 / 1", drawn=job.drawn_by, approved=job.approved_by, by_type=("Lengths", "mm"), view="first angle",
    )  # fmt: skip
    title_block(sketch, right, bottom, title)
    first_angle(sketch, right - 14.0, bottom + 4.5, 3.0)
    block_left = right - BLOCK_WIDTH_MM
    dots(sketch, block_left - 24.0, bottom + 4.0, 18.0, f"{number} {job.revision} 1/1")
    hv_sign(sketch, left + 5.0, bottom + 5.0, 15.0)
    scale_bar(sketch, left + 28.0, bottom + 7.0, 100.0, upright=False)


def _notes(box: Box, space: Space) -> tuple[str, ...]:
    """What the drawing leaves open, and the caution, as lines as wide as the tables."""
    plugs = f"Thick black edge: wall of the plugs ({space.plugs_look})." if space.plugs_look else "The wall of the plugs is not said."
    about = f"Thick grey edge: cooled face. {plugs} Cut-outs, seals, vent, lid and its screws are not described here."
    caution = f"{BATTERY_CAUTION} Modules are live at all times. Local rules and qualified people decide."
    return tuple(line for words in (about, box.note, caution) if words for line in wrapped(words, WORDS_MM, NOTES_MM))
