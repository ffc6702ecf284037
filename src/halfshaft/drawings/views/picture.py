"""The three views one below the other for the book, as wide as its text, with what their marks mean beside the last."""

from __future__ import annotations

from halfshaft.drawings.shapes import SOFT_TEXT, Drawing, Sketch, Style, moved, shortened
from halfshaft.drawings.views.body import draw_body
from halfshaft.drawings.views.eyes import PLAN, REAR, SIDE, Eye, Rect, View, around
from halfshaft.drawings.views.key import WIDEST_MM, draw_signs
from halfshaft.drawings.views.labels import Ground, lines_of, write
from halfshaft.drawings.views.marks import BELOW_GROUND_MM, BESIDE_WHEEL_MM, draw_centres, draw_loads
from halfshaft.drawings.views.shown import Shown, shown
from halfshaft.drawings.views.things import draw_things, write_module_numbers
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.mass import MassResult

WIDTH_MM, MOST_HIGH_MM = 170.0, 230.0
# Beside those of ISO 5455 the picture of the book may take these, so that it fills its page; the sheet may not.
BOOK_SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500, 1000, 2000, 5000)
TITLE_MM, EDGE_MM, KEY_GAP_MM, REAR_BELOW_MM, SIGNS_BELOW_MM = 5.5, 7.0, 6.0, 3.0, 44.0
TICK = Style("SCALE", 0.35)


def draw_view(
    sketch: Sketch, eye: Eye, one_to: float, things: Shown, result: MassResult, *, origin: tuple[float, float], room: Rect
) -> tuple[str, ...]:
    """One view whose frame begins at `origin`, with all words inside `room`; returns the refs for which there was no place."""
    view, ground = View(eye=eye, one_to=one_to, origin=origin), Ground(room)
    car = things.conversion.car
    before = len(sketch.shapes)
    draw_body(sketch, view, car)
    ground.lines += lines_of(sketch.shapes[before:])
    draw_loads(sketch, view, car, result, ground)
    wanted = draw_things(sketch, view, things, ground)
    centres = draw_centres(sketch, view, result, ground)
    write_module_numbers(sketch, view, things, ground)
    return write(sketch, ground, [*centres, *wanted])


def extent(eye: Eye, things: Shown) -> Rect:
    """Everything in a view: left, bottom, right, top in millimetres of the car."""
    view = View(eye=eye, one_to=1.0, origin=(0.0, 0.0))
    return around(view.rect(block) for block in things.blocks())


def book_picture(conversion: Conversion, routing: Routing, result: MassResult) -> Drawing:
    """Side, plan and rear view, what the marks mean, and a bar of one metre."""
    things = shown(conversion, routing)
    side, plan, rear = (extent(eye, things) for eye in (SIDE, PLAN, REAR))
    one_to = next((scale for scale in BOOK_SCALES if _fits(scale, side, plan, rear)), BOOK_SCALES[-1])
    length = side[2] - side[0]
    sketch = Sketch()
    left_out: list[str] = []
    left = (WIDTH_MM - length / one_to) / 2 - side[0] / one_to
    top = MOST_HIGH_MM
    for eye, box, above, below in ((SIDE, side, 2.0, BELOW_GROUND_MM), (PLAN, plan, BESIDE_WHEEL_MM, BESIDE_WHEEL_MM)):
        sketch.text((0.0, top - 3.5), eye.title, 2.5, style=SOFT_TEXT)
        base = top - TITLE_MM - above - box[3] / one_to
        bottom = base + box[1] / one_to - below
        left_out += draw_view(sketch, eye, one_to, things, result, origin=(left, base), room=(0.0, bottom, WIDTH_MM, top - 4.5))
        top = bottom
    sketch.text((0.0, top - 3.5), REAR.title, 2.5, style=SOFT_TEXT)
    base = top - TITLE_MM - 2.0 - rear[3] / one_to
    bottom = base + rear[1] / one_to - REAR_BELOW_MM
    wide = (rear[2] - rear[0]) / one_to + 2 * EDGE_MM
    left_out += draw_view(
        sketch, REAR, one_to, things, result, origin=(EDGE_MM - rear[0] / one_to, base), room=(0.0, bottom, wide, top - 4.5)
    )
    beside = _signs_beside(rear, one_to)
    signs_left, signs_top = (wide + KEY_GAP_MM, top - TITLE_MM) if beside else (0.0, bottom - 2.0)
    end = draw_signs(sketch, signs_left, signs_top, WIDTH_MM - signs_left, has_height=result.donor.z_mm is not None)
    if left_out:
        sketch.text((signs_left, end - 6.0), shortened(f"No room to write {', '.join(left_out)}", 2.5, WIDTH_MM - signs_left), 2.5)
        end -= 10.0
    _scale(sketch, signs_left, min(bottom + 3.0, end - 6.0), one_to)
    lowest = min(bottom, end - 9.0)
    shapes = tuple(moved(shape, 0.0, -lowest) for shape in sketch.shapes)
    return Drawing(WIDTH_MM, MOST_HIGH_MM - lowest, shapes, title=f"{conversion.job.name}: side, plan and rear view, 1:{one_to}")


def _signs_beside(rear: Rect, one_to: float) -> bool:
    """Whether what the marks mean finds room beside the view from behind."""
    return (rear[2] - rear[0]) / one_to + 2 * EDGE_MM + KEY_GAP_MM + WIDEST_MM <= WIDTH_MM


def _fits(one_to: float, side: Rect, plan: Rect, rear: Rect) -> bool:
    """Whether all three views with their words and signs fit the page at a scale."""
    around_mm = 3 * TITLE_MM + 2 * 2.0 + BELOW_GROUND_MM + 2 * BESIDE_WHEEL_MM + REAR_BELOW_MM
    around_mm += 0.0 if _signs_beside(rear, one_to) else SIGNS_BELOW_MM
    high = sum(box[3] - box[1] for box in (side, plan, rear)) / one_to
    wide = max(box[2] - box[0] for box in (side, plan, rear)) / one_to
    return high + around_mm <= MOST_HIGH_MM and wide + 2 * EDGE_MM <= WIDTH_MM


def _scale(sketch: Sketch, left: float, y: float, one_to: int) -> None:
    """The scale in words, and a bar of a metre, or of more, to measure it by."""
    metres = next(size for size in (1, 2, 5, 10, 20, 50, 100, 200) if size * 1000 / one_to >= 8.0)
    length = metres * 1000 / one_to
    sketch.line((left, y), (left + length, y), TICK)
    for x in (left, left + length):
        sketch.line((x, y - 1.2), (x, y + 1.2), TICK)
    sketch.text((left + length + 2.0, y - 1.2), f"{metres} m at 1:{one_to}, lengths in mm", 2.5)
