"""The three views on one A3 sheet, in first angle: rear view left of the side view, plan below it."""

from __future__ import annotations

from halfshaft.drawings.frame import PAPERS, draw_frame
from halfshaft.drawings.projection import first_angle
from halfshaft.drawings.shapes import SOFT_TEXT, Drawing, Sketch, shortened
from halfshaft.drawings.sheet import BLOCK_HEIGHT_MM, BLOCK_WIDTH_MM, Title, dots, scale_bar, title_block
from halfshaft.drawings.views.eyes import PLAN, REAR, SIDE
from halfshaft.drawings.views.key import WIDEST_MM, draw_entries, draw_signs, entries
from halfshaft.drawings.views.marks import BELOW_GROUND_MM, BESIDE_WHEEL_MM
from halfshaft.drawings.views.picture import EDGE_MM, TITLE_MM, draw_view, extent
from halfshaft.drawings.views.shown import shown
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.mass import MassResult

# Reductions of ISO 5455.
ISO_SCALES = (5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
ROOM_MM, BETWEEN_MM, BAR_MM, BAR_ROOM_MM = 4.0, 6.0, 100.0, 20.0
# Names need a column so wide.
NAMES_MM = 50.0


def car_number(conversion: Conversion) -> str:
    """The number of the car's drawing."""
    return f"{conversion.job.ref}-CV"


def car_sheet(conversion: Conversion, routing: Routing, result: MassResult) -> Drawing:
    """The sheet, at the largest scale of ISO 5455 at which all three views find room."""
    paper = PAPERS[0]
    left, bottom, right, top = paper.inside
    things = shown(conversion, routing)
    side, plan, rear = (extent(eye, things) for eye in (SIDE, PLAN, REAR))
    high = (side[3] - side[1]) + (plan[3] - plan[1])

    def first_column(scale: float) -> float:
        return max((rear[2] - rear[0]) / scale + 2 * EDGE_MM, WIDEST_MM)

    def fits(scale: float) -> bool:
        wide = first_column(scale) + BETWEEN_MM + (side[2] - side[0]) / scale + 2 * EDGE_MM
        return wide <= right - left - 2 * ROOM_MM and max(high, rear[3] - rear[1]) / scale <= spare_high

    spare_high = top - bottom - BLOCK_HEIGHT_MM - 2 * ROOM_MM - 2 * TITLE_MM - BELOW_GROUND_MM - 2 * BESIDE_WHEEL_MM
    one_to = next((scale for scale in ISO_SCALES if fits(scale)), ISO_SCALES[-1])
    sketch = Sketch()
    draw_frame(sketch, paper)
    rear_left = left + ROOM_MM
    side_left = rear_left + first_column(one_to) + BETWEEN_MM
    side_right = min(side_left + (side[2] - side[0]) / one_to + 4 * EDGE_MM, right - ROOM_MM)
    ground = top - ROOM_MM - TITLE_MM - max(side[3], rear[3]) / one_to
    # What height is left over goes above, between and below the views.
    spare = (spare_high - high / one_to) / 3
    ground -= spare / 2
    plan_top = ground + side[1] / one_to - BELOW_GROUND_MM - spare
    plan_base = plan_top - TITLE_MM - BESIDE_WHEEL_MM - plan[3] / one_to
    plan_bottom = plan_base + plan[1] / one_to - BESIDE_WHEEL_MM
    x = side_left + (side_right - side_left - (side[2] - side[0]) / one_to) / 2 - side[0] / one_to
    left_out: list[str] = []
    for eye, origin, room in (
        (SIDE, (x, ground), (side_left, plan_top + spare, side_right, top - ROOM_MM - spare / 2)),
        (PLAN, (x, plan_base), (side_left, plan_bottom, side_right, plan_top)),
        (
            REAR,
            (rear_left + EDGE_MM - rear[0] / one_to, ground),
            (rear_left, plan_top + spare, side_left - BETWEEN_MM, top - ROOM_MM - spare / 2),
        ),
    ):
        sketch.text((room[0], room[3] - 3.5), eye.title, 2.5, style=SOFT_TEXT)
        left_out += draw_view(sketch, eye, one_to, things, result, origin=origin, room=(room[0], room[1], room[2], room[3] - 4.5))
    rows = entries(things)
    signs_end = draw_signs(sketch, rear_left, plan_top, side_left - BETWEEN_MM - rear_left, has_height=result.donor.z_mm is not None)
    if right - ROOM_MM - side_right >= NAMES_MM:
        draw_entries(sketch, rows, side_right + 4.0, bottom + BLOCK_HEIGHT_MM + ROOM_MM, right - ROOM_MM, top - ROOM_MM, columns=1)
    else:
        draw_entries(sketch, rows, rear_left, bottom + BAR_ROOM_MM, side_left - BETWEEN_MM, signs_end - 5.0, columns=1)
    scale_bar(sketch, left + ROOM_MM + 2.0, bottom + 6.0, BAR_MM, upright=False)
    _block(sketch, conversion, one_to, left_out)
    return Drawing(paper.width_mm, paper.height_mm, tuple(sketch.shapes), title=f"{conversion.job.name}, {car_number(conversion)}")


def _block(sketch: Sketch, conversion: Conversion, one_to: int, left_out: list[str]) -> None:
    job, (_, bottom, right, _) = conversion.job, PAPERS[0].inside
    number = car_number(conversion)
    title = Title(
        owner=job.owner, kind="Car view", status=job.status, scale=f"1:{one_to}", title="Batteries in the car", subtitle=job.name, number=number,
        revision=job.revision, date=job.date, sheet="1 / 1", drawn=job.drawn_by, approved=job.approved_by, by_type=("Lengths", "mm; body schematic"), view="first angle",
    )  # fmt: skip
    title_block(sketch, right, bottom, title)
    first_angle(sketch, right - 14.0, bottom + 4.5, 3.0)
    dots(sketch, right - BLOCK_WIDTH_MM - 24.0, bottom + 4.0, 18.0, f"{number} {job.revision} 1/1")
    if left_out:
        words = shortened(f"No room to write {', '.join(left_out)}", 2.5, BLOCK_WIDTH_MM)
        sketch.text((right - BLOCK_WIDTH_MM, bottom + BLOCK_HEIGHT_MM + 1.5), words, 2.5)
