"""Do the battery boxes stand where they are said to stand, and are the modules in them? First checks on blocks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from halfshaft.model.boxes import Box, ModulePlace, PlatePlace
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding
from halfshaft.model.spaces import Space

FITS = Basis("common practice", "geometry: what does not fit cannot be fitted")
BATTERY_CAUTION = "Batteries burn when crushed: boxes, mounts and crush zones are for qualified people and local rules to judge."


def box_findings(conversion: Conversion) -> Iterator[Finding]:
    """All rules of this study."""
    spaces = {space.ref: space for space in conversion.spaces}
    for box in conversion.boxes:
        yield from outside_space(box, spaces[box.space])
        yield from contents_outside(box)
        yield from device_elsewhere(conversion, box)
    yield from string_order(conversion)


def outside_space(box: Box, space: Space) -> Iterator[Finding]:
    """A box stands through the lid, the floor or a wall of its space."""
    for what, value, limit, over in (
        ("top", box.z_max_mm, space.top_z_mm, box.z_max_mm - space.top_z_mm),
        ("floor", box.z_min_mm, space.floor_z_mm, space.floor_z_mm - box.z_min_mm),
    ):
        if over > 0:
            word = "too tall" if what == "top" else "too low"
            yield Finding(
                rule="boxes.outside-space",
                level="stop",
                about=(box.ref, space.ref),
                text=f"Box {box.ref} is {over:.0f} mm {word} for {space.name}: its {'top' if what == 'top' else 'floor'} stands at {value:.0f}, allowed {limit:.0f}.",
                value=value,
                limit=limit,
                unit="mm",
                basis=FITS,
                caution=BATTERY_CAUTION,
            )
    corners = [(x, y) for x in (box.x_min_mm, box.x_max_mm) for y in (box.y_min_mm, box.y_max_mm)]
    outside = [corner for corner in corners if not _inside(corner, space.polygon_mm)]
    # A corner of the space inside the box is a wall that comes into it.
    pierced = [(x, y) for x, y in space.polygon_mm if box.x_min_mm < x < box.x_max_mm and box.y_min_mm < y < box.y_max_mm]
    if outside or pierced:
        places = "; ".join(f"x {x:.0f}, y {y:.0f}" for x, y in [*outside, *pierced])
        yield Finding(
            rule="boxes.outside-space",
            level="stop",
            about=(box.ref, space.ref),
            text=f"Box {box.ref} does not stand inside the plan of {space.name}: see {places}.",
            value=float(len(outside) + len(pierced)),
            limit=0.0,
            unit="corners",
            basis=FITS,
            caution=BATTERY_CAUTION,
        )


def _inside(place: tuple[float, float], polygon: tuple[tuple[float, float], ...]) -> bool:
    """Whether a place lies in a polygon or on its edge (even-odd rule, edges counted in)."""
    x, y = place
    inside = False
    for (x0, y0), (x1, y1) in zip(polygon, (*polygon[1:], polygon[0]), strict=True):
        cross = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)
        if abs(cross) < 1e-6 and min(x0, x1) <= x <= max(x0, x1) and min(y0, y1) <= y <= max(y0, y1):
            return True
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
            inside = not inside
    return inside


def contents_outside(box: Box) -> Iterator[Finding]:
    """A module or plate reaches into or through the wall of its box, or two of them share room."""
    blocks: list[ModulePlace | PlatePlace] = [*box.modules, *box.plates]
    for block in blocks:
        reach = max(
            box.x_min_mm + box.wall_mm - block.x_min_mm,
            block.x_max_mm - box.x_max_mm + box.wall_mm,
            box.y_min_mm + box.wall_mm - block.y_min_mm,
            block.y_max_mm - box.y_max_mm + box.wall_mm,
            box.z_min_mm + box.wall_mm - block.z_min_mm,
            block.z_max_mm - box.z_max_mm + box.wall_mm,
        )
        if reach > 0:
            yield Finding(
                rule="boxes.contents-outside",
                level="stop",
                about=(block.ref, box.ref),
                text=f"{block.ref} reaches {reach:.0f} mm into the wall of box {box.ref} or beyond it.",
                value=reach,
                limit=0.0,
                unit="mm",
                basis=FITS,
                caution=BATTERY_CAUTION,
            )
    for index, one in enumerate(blocks):
        for other in blocks[index + 1 :]:
            shared = min(
                min(one.x_max_mm, other.x_max_mm) - max(one.x_min_mm, other.x_min_mm),
                min(one.y_max_mm, other.y_max_mm) - max(one.y_min_mm, other.y_min_mm),
                min(one.z_max_mm, other.z_max_mm) - max(one.z_min_mm, other.z_min_mm),
            )
            if shared > 0:
                yield Finding(
                    rule="boxes.contents-overlap",
                    level="stop",
                    about=(one.ref, other.ref, box.ref),
                    text=f"{one.ref} and {other.ref} share {shared:.0f} mm of room in box {box.ref}.",
                    value=shared,
                    limit=0.0,
                    unit="mm",
                    basis=FITS,
                    caution=BATTERY_CAUTION,
                )


def device_elsewhere(conversion: Conversion, box: Box) -> Iterator[Finding]:
    """The device that is this box is weighed at a place outside the box."""
    device = conversion.device[box.ref]
    away = max(
        box.x_min_mm - device.x_mm,
        device.x_mm - box.x_max_mm,
        box.y_min_mm - device.y_mm,
        device.y_mm - box.y_max_mm,
        box.z_min_mm - device.z_mm,
        device.z_mm - box.z_max_mm,
    )
    if away > 0:
        yield Finding(
            rule="boxes.device-elsewhere",
            level="fix",
            about=(box.ref,),
            text=f"Device {box.ref} has its centre {away:.0f} mm outside its own box, so it is weighed in the wrong place: correct devices.csv or boxes.toml.",
            value=away,
            limit=0.0,
            unit="mm",
            basis=FITS,
        )


def string_order(conversion: Conversion) -> Iterator[Finding]:
    """Two modules of a string have one number in it, or a number is left out."""
    modules = [module for box in conversion.boxes for module in box.modules]
    for string in sorted({module.string for module in modules}):
        yield from _order_of(string, [module for module in modules if module.string == string])


def _order_of(string: int, modules: list[ModulePlace]) -> Iterator[Finding]:
    orders = Counter(module.order_in_string for module in modules)
    twice = sorted(order for order, count in orders.items() if count > 1)
    missing = sorted(set(range(1, len(modules) + 1)) - set(orders))
    if twice or missing:
        words = [f"{', '.join(map(str, twice))} stand twice"] if twice else []
        words += [f"{', '.join(map(str, missing))} {'is' if len(missing) == 1 else 'are'} missing"] if missing else []
        yield Finding(
            rule="boxes.string-order",
            level="fix",
            about=tuple(module.ref for module in modules if module.order_in_string in twice),
            text=f"The modules are not numbered from 1 to {len(modules)} along string {string}: {' and '.join(words)}.",
            value=float(len(twice) + len(missing)),
            limit=0.0,
            unit="numbers",
            basis=Basis("common practice", "each module of a string has its own number, plus end first"),
            caution=BATTERY_CAUTION,
        )
