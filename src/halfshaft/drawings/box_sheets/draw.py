"""One view of a battery box: walls, modules, plates, bolts and the wall that the plugs are in."""

from __future__ import annotations

import re

from halfshaft.drawings.box_sheets.tables import inside_of
from halfshaft.drawings.shapes import HV, HV_TINT, INK, LONG_DASH_DOT, PAPER, SOFT, Sketch, Style, Text, box_of
from halfshaft.drawings.views.eyes import PLAN, Rect, View, corners_of
from halfshaft.drawings.views.labels import REF, meet
from halfshaft.drawings.views.things import plus_sign
from halfshaft.model.boxes import Box, Look, ModulePlace
from halfshaft.model.spaces import Space
from halfshaft.studies.device_blocks import block_of
from halfshaft.studies.looms.geometry import Place
from halfshaft.studies.module_places import DIRECTIONS

WALL = Style("BOX", 0.7, HV, HV_TINT)
INSIDE = Style("BOX", 0.35, HV, PAPER)
MODULE = Style("MODULE", 0.35, INK, PAPER)
COOLED = Style("COOLED", 1.0, SOFT)
PLATE = Style("PLATE", 0.35, SOFT, "#C4C8CC")
BOLT = Style("BOLT", 0.35)
AXIS = Style("BOLT", 0.18, INK, None, LONG_DASH_DOT)
THIN = Style("PLUG_WALL", 0.18)
PLUG_WALL = Style("PLUG_WALL", 1.4)
NUMBER_MM, SMALL_MM, CROSS_MM, COOLED_INSET_MM, PLUGS_BELOW_MM = 3.5, 2.5, 3.0, 0.9, 8.5
THREAD = re.compile(r"M(\d+(?:\.\d+)?)")
TOWARD: dict[str, Look] = {"front": "front", "rear": "rear", "left": "left", "right": "right", "above": "up"}


def draw_box(sketch: Sketch, view: View, box: Box, space: Space) -> None:
    """The box as seen, its far modules first; words last."""
    sketch.polygon(corners_of(view.rect(block_of(box))), WALL)
    sketch.polygon(corners_of(view.rect(inside_of(box))), INSIDE)
    for plate in box.plates:
        sketch.polygon(corners_of(view.rect(block_of(plate))), PLATE)
    modules = sorted(box.modules, key=lambda item: -view.eye.far_away(block_of(item)))
    for module in modules:
        rect = view.rect(block_of(module))
        sketch.polygon(corners_of(rect), MODULE)
        _cooled(sketch, view, module, rect)
        plus_sign(sketch, view, module, 2.2)
    taken: list[Rect] = []
    for module in reversed(modules):
        _names(sketch, view.rect(block_of(module)), module, taken)
    for mount in box.mounts:
        _bolt(sketch, view, (mount.x_mm, mount.y_mm, mount.z_mm), box, mount.bolt)
    _plugs(sketch, view, box, space)


def _cooled(sketch: Sketch, view: View, module: ModulePlace, rect: Rect) -> None:
    """A thick line along the face that is cooled, where that face is seen as an edge."""
    if module.cooled_face is None:
        return
    ends = _edge(
        view,
        module.cooled_face,
        (rect[0] + COOLED_INSET_MM, rect[1] + COOLED_INSET_MM, rect[2] - COOLED_INSET_MM, rect[3] - COOLED_INSET_MM),
    )
    if ends and rect[2] - rect[0] > 3 * COOLED_INSET_MM and rect[3] - rect[1] > 3 * COOLED_INSET_MM:
        sketch.line(*ends, COOLED)


def _edge(view: View, look: Look, rect: Rect) -> tuple[Place, Place] | None:
    """The edge of a rectangle on the side where a face looks; None where it looks at the reader or away."""
    direction = DIRECTIONS[look]
    aside, up = direction[view.eye.across], direction[view.eye.up]
    left, bottom, right, top = rect
    if aside:
        x = right if aside > 0 else left
        return (x, bottom), (x, top)
    if up:
        y = top if up > 0 else bottom
        return (left, y), (right, y)
    return None


def _names(sketch: Sketch, rect: Rect, module: ModulePlace, taken: list[Rect]) -> None:
    """Number in the string and ref, level or upright, each module where no nearer one has written."""
    left, bottom, right, top = rect
    x, y = (left + right) / 2, (bottom + top) / 2
    for angle in (0.0, 90.0):
        places = ((x, y + 0.4), (x, y - 0.4 - SMALL_MM)) if angle == 0.0 else ((x - 0.4, y), (x + 0.4 + SMALL_MM, y))
        texts = (
            Text(places[0], str(module.order_in_string), NUMBER_MM, REF, anchor="middle", angle_deg=angle, bold=True),
            Text(places[1], module.ref, SMALL_MM, REF, anchor="middle", angle_deg=angle),
        )
        areas = [box_of(text) for text in texts]
        fits = all(a[0] > left + 1.4 and a[2] < right - 1.4 and a[1] > bottom + 1.4 and a[3] < top - 1.4 for a in areas)
        if fits and not any(meet(area, other) for area in areas for other in taken):
            sketch.shapes.extend(texts)
            taken.extend(areas)
            return


def _bolt(sketch: Sketch, view: View, spot: tuple[float, float, float], box: Box, bolt: str) -> None:
    """From above a circle with a cross; from the side its axis through the floor."""
    x, y = view.at(spot)
    if view.eye is PLAN:
        found = THREAD.search(bolt)
        radius = (float(found[1]) if found else 8.0) / 2 / view.one_to
        sketch.circle((x, y), max(radius, 0.5), BOLT)
        sketch.line((x - CROSS_MM, y), (x + CROSS_MM, y), BOLT)
        sketch.line((x, y - CROSS_MM), (x, y + CROSS_MM), BOLT)
        return
    low, high = y - 3.5, view.at((0.0, 0.0, box.z_min_mm))[1] + 3.5
    sketch.line((x, min(low, high)), (x, max(low, high)), AXIS)


def _plugs(sketch: Sketch, view: View, box: Box, space: Space) -> None:
    """The wall that the plugs are in as a thick line; its word below a wall, or left of a lid, clear of all dimensions."""
    if not space.plugs_look:
        return
    edge = _edge(view, TOWARD[space.plugs_look], view.rect(block_of(box)))
    if edge is None:
        return
    sketch.line(*edge, PLUG_WALL)
    x, y = edge[0]
    if view.eye is PLAN:
        return
    if edge[1][1] == y:
        sketch.text((x - 1.5, y - SMALL_MM / 2), "plugs", SMALL_MM, anchor="end")
    else:
        sketch.line((x, y - 0.7), (x, y - PLUGS_BELOW_MM + SMALL_MM + 0.6), THIN)
        sketch.text((x, y - PLUGS_BELOW_MM), "plugs", SMALL_MM, anchor="middle")
