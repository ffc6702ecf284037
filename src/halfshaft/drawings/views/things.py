"""Spaces, what must stay clear, luggage rooms, cables, devices, boxes and modules in one view, far things first."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator

from halfshaft.drawings.shapes import DASHED, HV, HV_FILL, HV_TINT, INK, LONG_DASH_TWO_DOTS, PAPER, SOFT, Sketch, Style, Text, Track, box_of
from halfshaft.drawings.views.eyes import PLAN, REAR, Rect, View, corners_of
from halfshaft.drawings.views.labels import REF, Ground, Wanted, grown, meet
from halfshaft.drawings.views.shown import Shown, ShownDevice
from halfshaft.model.boxes import Box, ModulePlace
from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.device_blocks import block_of, block_round, mesh_corners
from halfshaft.studies.looms.geometry import Path, Place
from halfshaft.studies.module_places import DIRECTIONS

SPACE = Style("SPACE", 0.25, SOFT, None, DASHED)
SPACE_MOUTH = Style("SPACE", 0.7, SOFT)
KEEP_OUT = Style("KEEP_OUT", 0.25, INK, None, DASHED)
HATCH = Style("KEEP_OUT", 0.13)
LUGGAGE = Style("LUGGAGE", 0.18, INK, None, LONG_DASH_TWO_DOTS)
BOX = Style("HV", 0.7, HV, HV_TINT)
BOX_HIDDEN = Style("HV_HIDDEN", 0.35, HV, None, (8.0, 3.0))
MODULE = Style("MODULE", 0.25, INK, PAPER)
PLATE = Style("PLATE", 0.18, SOFT, SOFT)
DEVICE = Style("DEVICE", 0.35, INK, PAPER)
HV_DEVICE = Style("HV_DEVICE", 0.35, INK, HV_TINT)
DISCONNECT = Style("HV_DEVICE", 0.5, INK, HV_FILL)
PLUS = Style("PLUS", 0.25)
# A device of which less than this is seen is not named.
NAMED_FROM, GRID = 0.6, 9
HATCH_MM, NUMBER_MM, PLUS_MM, THINNEST_CABLE_MM = 1.4, 2.5, 1.4, 0.6
MOUTHS = {"above": (None, "top", "top"), "below": (None, "bottom", "bottom"), "front": ("left", "left", None), "rear": ("right", "right", None), "left": ("bottom", None, "left"), "right": ("top", None, "right")}  # fmt: skip


def draw_things(sketch: Sketch, view: View, shown: Shown, ground: Ground) -> list[Wanted]:
    """Draw them and say what is to be written beside them; what is solid is noted for whoever writes."""
    conversion = shown.conversion
    wanted: list[Wanted] = []
    later: list[Wanted] = []
    for room in conversion.luggage_rooms:
        if room.is_in != "donor":
            rect = view.rect(block_of(room))
            sketch.polygon(corners_of(rect), LUGGAGE)
            later.append(Wanted(words=room.ref, outline=corners_of(rect), bold=False))
            ground.lines += _edges(corners_of(rect))
    for space in conversion.spaces:
        with sketch.about(f"space:{space.ref}"):
            outline = _draw_space(sketch, view, conversion, space)
        if view.eye is REAR:
            _draw_mouth(sketch, view, conversion, space)
        later.append(Wanted(words=space.ref, outline=outline, bold=False))
        ground.lines += _edges(outline)
    for keep_out in conversion.keep_outs:
        rect = view.rect(block_of(keep_out))
        hatch(sketch, rect)
        sketch.polygon(corners_of(rect), KEEP_OUT)
        later.append(Wanted(words=keep_out.ref, outline=corners_of(rect), bold=False, inside=False))
        ground.solids.append(rect)
    for cable in shown.cables:
        with sketch.about(f"cable:{cable.ref}"):
            _draw_cable(sketch, view, cable.places, cable.diameter_mm, ground)
    for _, draw in sorted(_solids(view, shown, ground, sketch), key=lambda item: -view.eye.far_away(item[0])):
        wanted += draw()
    _hidden_boxes(sketch, view, shown)
    # From the left and from above over everything: a box that stands through a lid is seen to.
    for space in () if view.eye is REAR else conversion.spaces:
        _draw_mouth(sketch, view, conversion, space)
    # From behind the spaces lie all behind each other: their names are in the other two views.
    return wanted if view.eye is REAR else [*wanted, *later]


def _solids(view: View, shown: Shown, ground: Ground, sketch: Sketch) -> Iterator[tuple[Block, Callable[[], list[Wanted]]]]:
    """Everything that covers what is behind it, with how to draw it."""
    for device in shown.devices:
        yield device.block, _device_drawer(sketch, view, shown, device, ground)
    for box in shown.conversion.boxes:
        yield block_of(box), _box_drawer(sketch, view, shown, box, ground)


def _device_drawer(sketch: Sketch, view: View, shown: Shown, device: ShownDevice, ground: Ground) -> Callable[[], list[Wanted]]:
    def draw() -> list[Wanted]:
        rect = view.rect(device.block)
        with sketch.about(f"device:{device.ref}"):
            sketch.polygon(corners_of(rect), DISCONNECT if device.opens_string else HV_DEVICE if device.is_hv else DEVICE)
        ground.solids.append(rect)
        return [_named(view, shown, device.block, device.ref)] if len(_seen(view, shown, device.block)) >= NAMED_FROM * GRID**2 else []

    return draw


def _nearer(view: View, shown: Shown, block: Block) -> list[Rect]:
    """Boxes and devices that stand before a block, on the paper."""
    blocks = (*(block_of(box) for box in shown.conversion.boxes), *(device.block for device in shown.devices))
    return [view.rect(other) for other in blocks if view.eye.far_away(other) < view.eye.far_away(block)]


def _seen(view: View, shown: Shown, block: Block) -> list[Place]:
    """Those of a grid of places on a block that nothing nearer hides."""
    left, bottom, right, top = view.rect(block)
    nearer = [rect for rect in _nearer(view, shown, block) if meet(rect, (left, bottom, right, top))]
    steps = [(i + 0.5) / GRID for i in range(GRID)]
    places = [(left + (right - left) * i, bottom + (top - bottom) * j) for i in steps for j in steps]
    return [(x, y) for x, y in places if not any(r[0] <= x <= r[2] and r[1] <= y <= r[3] for r in nearer)]


def _named(view: View, shown: Shown, block: Block, words: str) -> Wanted:
    """What is to be written beside a block; its leader ends where the block is seen, if only some of it is."""
    seen = _seen(view, shown, block)
    return Wanted(words=words, outline=corners_of(view.rect(block)), seen=tuple(seen) if len(seen) < GRID**2 else ())


def _box_drawer(sketch: Sketch, view: View, shown: Shown, box: Box, ground: Ground) -> Callable[[], list[Wanted]]:
    def draw() -> list[Wanted]:
        rect = view.rect(block_of(box))
        with sketch.about(f"device:{box.ref}"):
            sketch.polygon(corners_of(rect), BOX)
            for plate in box.plates:
                sketch.polygon(corners_of(view.rect(block_of(plate))), PLATE)
        ground.solids.append(rect)
        for module in sorted(box.modules, key=lambda item: -view.eye.far_away(block_of(item))):
            rect_of_module = view.rect(block_of(module))
            with sketch.about(f"module:{module.ref}"):
                sketch.polygon(corners_of(rect_of_module), MODULE)
                plus_sign(sketch, view, module, PLUS_MM)
            ground.solids.append(rect_of_module)
        count = len(box.modules)
        words = f"{box.ref}, {count} module{'' if count == 1 else 's'}" if count else box.ref
        return [_named(view, shown, block_of(box), words)]

    return draw


def write_module_numbers(sketch: Sketch, view: View, shown: Shown, ground: Ground) -> None:
    """Each module's number in the string in its middle, where it is seen and there is room; layers behind each other share one line."""
    strings = {module.string for box in shown.conversion.boxes for module in box.modules}
    at: dict[tuple[float, ...], list[tuple[float, str]]] = defaultdict(list)
    before: dict[tuple[float, ...], list[Rect]] = {}
    for box in shown.conversion.boxes:
        nearer = _nearer(view, shown, block_of(box))
        for module in box.modules:
            block = block_of(module)
            word = f"{module.string}.{module.order_in_string}" if len(strings) > 1 else str(module.order_in_string)
            key = tuple(round(value, 3) for value in view.rect(block))
            at[key].append((view.eye.far_away(block), word))
            before.setdefault(key, nearer)
    for rect_key, found in at.items():
        left, bottom, right, top = rect_key
        words = "·".join(word for _, word in sorted(found))
        for angle in (0.0, 90.0):
            x, y = (left + right) / 2, (bottom + top) / 2
            at_place = (x, y - NUMBER_MM / 2) if angle == 0.0 else (x + NUMBER_MM / 2, y)
            text = Text(at_place, words, NUMBER_MM, REF, anchor="middle", angle_deg=angle)
            area = box_of(text)
            fits = area[0] > left + 0.3 and area[2] < right - 0.3 and area[1] > bottom + 0.3 and area[3] < top - 0.3
            if fits and not any(meet(grown(area, 0.3), other) for other in [*ground.texts, *before[rect_key]]):
                sketch.shapes.append(text)
                ground.texts.append(area)
                break


def plus_sign(sketch: Sketch, view: View, module: ModulePlace, size_mm: float) -> None:
    """A plus sign at the end that the plus stud is at, where that end is seen from the side."""
    if module.plus_end is None:
        return
    direction = DIRECTIONS[module.plus_end]
    aside, up = direction[view.eye.across], direction[view.eye.up]
    left, bottom, right, top = view.rect(block_of(module))
    if (aside, up) == (0, 0) or min(right - left, top - bottom) < size_mm + 0.6 or max(right - left, top - bottom) < 3 * size_mm:
        return
    inset, half = 0.9 * size_mm, size_mm / 2
    x = (left + right) / 2 + aside * ((right - left) / 2 - inset)
    y = (bottom + top) / 2 + up * ((top - bottom) / 2 - inset)
    sketch.line((x - half, y), (x + half, y), PLUS)
    sketch.line((x, y - half), (x, y + half), PLUS)


def _hidden_boxes(sketch: Sketch, view: View, shown: Shown) -> None:
    """The outline of a box dashed over the nearer box or device that hides some of it."""
    blocks = [block_of(box) for box in shown.conversion.boxes]
    fronts = [*blocks, *(device.block for device in shown.devices)]
    for block in blocks:
        rect = view.rect(block)
        if any(view.eye.far_away(other) < view.eye.far_away(block) and meet(view.rect(other), rect) for other in fronts):
            sketch.polygon(corners_of(rect), BOX_HIDDEN)


def _draw_space(sketch: Sketch, view: View, conversion: Conversion, space: Space) -> tuple[Place, ...]:
    """Its outline, dashed."""
    outline = _outline(view, conversion, space)
    sketch.polygon(outline, SPACE)
    return outline


def _outline(view: View, conversion: Conversion, space: Space) -> tuple[Place, ...]:
    """The plan of a prism, the band tightest round a mesh, else the rectangle that is seen."""
    if space.mesh is not None:
        return _band({view.at(corner) for corner in mesh_corners(conversion, space)})
    if view.eye is PLAN and space.polygon_mm is not None:
        return tuple(view.at((x, y, 0.0)) for x, y in space.polygon_mm)
    return corners_of(view.rect(block_round(conversion, space)))


def _band(places: set[Place]) -> tuple[Place, ...]:
    """The convex hull, anticlockwise (Andrew's monotone chain)."""
    halves: list[list[Place]] = []
    for order in (sorted(places), sorted(places, reverse=True)):
        half: list[Place] = []
        for x, y in order:
            while len(half) > 1 and (half[-1][0] - half[-2][0]) * (y - half[-2][1]) <= (half[-1][1] - half[-2][1]) * (x - half[-2][0]):
                half.pop()
            half.append((x, y))
        halves.append(half[:-1])
    return tuple(halves[0] + halves[1])


def _draw_mouth(sketch: Sketch, view: View, conversion: Conversion, space: Space) -> None:
    """The side from which a space is loaded, as a thick line."""
    mouth = MOUTHS[space.loaded_from][("plan", "side", "rear").index(view.eye.ref)]
    left, bottom, right, top = view.rect(block_round(conversion, space))
    edges = {"top": ((left, top), (right, top)), "bottom": ((left, bottom), (right, bottom)), "left": ((left, bottom), (left, top)), "right": ((right, bottom), (right, top))}  # fmt: skip
    if mouth:
        sketch.line(*edges[mouth], SPACE_MOUTH)


def hatch(sketch: Sketch, rect: Rect) -> None:
    """Lines at 45 degrees across a rectangle."""
    left, bottom, right, top = rect
    # Lines y = x + c; the same c for all rectangles, so that neighbours carry on each other's lines.
    for step in range(math.ceil((bottom - right) / HATCH_MM), math.floor((top - left) / HATCH_MM) + 1):
        c = step * HATCH_MM
        start, end = max(left, bottom - c), min(right, top - c)
        if end - start > 0.05:
            sketch.line((start, start + c), (end, end + c), HATCH)


def _draw_cable(sketch: Sketch, view: View, places: tuple[tuple[float, float, float], ...], diameter_mm: float, ground: Ground) -> None:
    """Orange between two edges of ink, at its true width where that can be seen."""
    flat = [view.at(place) for place in places]
    corners = [place for index, place in enumerate(flat) if index == 0 or math.dist(place, flat[index - 1]) > 1e-6]
    if len(corners) < 2:
        return
    width = max(diameter_mm / view.one_to, THINNEST_CABLE_MM)
    path = Path.through(corners)
    sketch.shapes.append(Track(path, Style("HV_CABLE_EDGE", width + 0.3, INK)))
    sketch.shapes.append(Track(path, Style("HV_CABLE", width, HV_FILL)))
    ground.cables += itertools.pairwise(corners)


def _edges(outline: tuple[Place, ...]) -> list[tuple[Place, Place]]:
    return list(zip(outline, (*outline[1:], outline[0]), strict=True))
