"""An arrangement written down as boxes: modules in the order of the string, plates, feet, and the catalogue part of every box."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfshaft.errors import HalfshaftError
from halfshaft.model.boxes import Box, ModulePlace, Mount, PlatePlace
from halfshaft.model.conversion import Conversion
from halfshaft.model.edits import next_ref
from halfshaft.model.parts import Part
from halfshaft.studies.arrangement.context import area_of, filling_of
from halfshaft.studies.arrangement.module_order import in_string_order, place_of
from halfshaft.studies.arrangement.records import Arrangement, Block, Filling, PlacedModule


@dataclass(frozen=True, kw_only=True, slots=True)
class Boxes:
    """What becomes of the boxes: the new ones in the order of the spaces' table, and by mark what stays as it is, changes, comes and goes."""

    boxes: tuple[Box, ...]
    order: tuple[str, ...]
    kept: tuple[str, ...]
    altered: tuple[str, ...]
    new: tuple[str, ...]
    gone: tuple[str, ...]


def boxes_of(conversion: Conversion, arrangement: Arrangement) -> Boxes:
    """Every box of an arrangement. A space that keeps a box keeps its mark; so do modules and plates as far as there are any."""
    if not conversion.boxes:
        raise HalfshaftError(
            "there is no battery box yet whose plugs and feet could be copied: describe one in boxes.toml, devices.csv and parts first"
        )
    now = {box.space: box for box in reversed(conversion.boxes)}
    fillings = {filling.space: filling for filling in arrangement.fillings}
    kept = {space: box for space, box in now.items() if space in fillings and _is_as_it_is(box, fillings[space])}
    modules = _marks(conversion, now, kept, fillings, "modules")
    plates = _marks(conversion, now, kept, fillings, "plates")
    refs = _box_refs(conversion, now, arrangement)
    made: dict[str, Box] = {}
    count = sum(filling.count for filling in arrangement.fillings)
    order = 0
    for space in arrangement.order:
        numbers = [_place_in_strings(order + step, count, conversion.pack.strings) for step in range(fillings[space].count)]
        order += len(numbers)
        if space in kept:
            made[space] = _renumbered(kept[space], numbers)
        else:
            made[space] = _made(conversion, fillings[space], now.get(space), refs[space], modules[space], plates[space], numbers)
    boxes = tuple(made[space.ref] for space in conversion.spaces if space.ref in made)
    return Boxes(
        boxes=boxes,
        order=tuple(refs[space] for space in arrangement.order),
        kept=tuple(box.ref for box in boxes if box.space in kept),
        altered=tuple(box.ref for box in boxes if box.space in now and box.space not in kept),
        new=tuple(box.ref for box in boxes if box.space not in now),
        gone=tuple(box.ref for box in conversion.boxes if box.ref not in refs.values()),
    )


def block_of_box(box: Box) -> Block:
    """The outside of a box."""
    return Block(box.x_min_mm, box.y_min_mm, box.z_min_mm, box.x_max_mm, box.y_max_mm, box.z_max_mm)


def _is_as_it_is(box: Box, filling: Filling) -> bool:
    """Whether a filling is the box that is described, block for block."""
    now = filling_of(box)
    return (
        now.box == filling.box
        and sorted((item.block, item.module, item.attitude) for item in now.modules)
        == sorted((item.block, item.module, item.attitude) for item in filling.modules)
        and sorted(now.plates) == sorted(filling.plates)
    )


def _place_in_strings(number: int, count: int, strings: int) -> tuple[int, int]:
    """The string and the number in it of the n-th module along the cable, from nought."""
    string, order = divmod(number, count // strings)
    return string + 1, order + 1


def _renumbered(box: Box, numbers: Sequence[tuple[int, int]]) -> Box:
    """The same box further along the string, or not so far."""
    along = sorted(box.modules, key=lambda item: (item.string, item.order_in_string))
    new = {item.ref: number for item, number in zip(along, numbers, strict=True)}
    modules = tuple(
        item.model_copy(update={"string": new[item.ref][0], "order_in_string": new[item.ref][1]}) for item in box.modules
    )  # fmt: skip
    return box.model_copy(update={"modules": modules})


def _box_refs(conversion: Conversion, now: dict[str, Box], arrangement: Arrangement) -> dict[str, str]:
    """A mark for every box of an arrangement."""
    taken = set(conversion.device)
    refs = {}
    for space in sorted(filling.space for filling in arrangement.fillings):
        refs[space] = now[space].ref if space in now else next_ref(taken, conversion.boxes[0].ref)
        taken.add(refs[space])
    return refs


def _marks(
    conversion: Conversion, now: dict[str, Box], kept: dict[str, Box], fillings: dict[str, Filling], what: str
) -> dict[str, list[str]]:
    """Marks of modules or plates for every box that is made: its own first, then those that come free, then new ones."""
    known = [item.ref for box in conversion.boxes for item in getattr(box, what)]
    wanted = {space: len(getattr(filling, what)) for space, filling in sorted(fillings.items()) if space not in kept}
    marks = {space: [item.ref for item in getattr(now[space], what)][:count] if space in now else [] for space, count in wanted.items()}
    used = {ref for refs in marks.values() for ref in refs} | {item.ref for box in kept.values() for item in getattr(box, what)}
    free = [ref for ref in known if ref not in used]
    taken = set(known)
    for space, count in wanted.items():
        while len(marks[space]) < count:
            ref = free.pop(0) if free else next_ref(taken, known[0] if known else {"modules": "M01", "plates": "PL1"}[what])
            taken.add(ref)
            marks[space].append(ref)
    return marks


def _made(
    conversion: Conversion, filling: Filling, before: Box | None, ref: str, modules: list[str], plates: list[str], numbers: list[tuple[int, int]],
) -> Box:  # fmt: skip
    settings = conversion.arrangement
    space = next(item for item in conversion.spaces if item.ref == filling.space)
    kinds = {kind.part: kind for kind in conversion.modules}
    along = in_string_order(filling, space, kinds)
    places = tuple(
        place_of(item, ref=mark, order=order, string=string)
        for item, mark, (string, order) in zip(along, sorted(modules), numbers, strict=True)
    )
    outside = filling.box
    return Box(
        ref=ref,
        space=filling.space,
        x_min_mm=outside.x_min,
        y_min_mm=outside.y_min,
        z_min_mm=outside.z_min,
        x_max_mm=outside.x_max,
        y_max_mm=outside.y_max,
        z_max_mm=outside.z_max,
        wall_mm=settings.wall_mm,
        note=filling.how,
        modules=places,
        plates=tuple(_plate(conversion, block, mark, places) for block, mark in zip(sorted(filling.plates), plates, strict=True)),
        mounts=_mounts(conversion, outside, before, ref),
    )


def _plate(conversion: Conversion, block: Block, mark: str, modules: Iterable[ModulePlace]) -> PlatePlace:
    touching = [item.ref for item in modules if _touches(block, item)]
    return PlatePlace(
        ref=mark,
        part=conversion.arrangement.plate or "",
        x_min_mm=block.x_min,
        y_min_mm=block.y_min,
        z_min_mm=block.z_min,
        x_max_mm=block.x_max,
        y_max_mm=block.y_max,
        z_max_mm=block.z_max,
        between=";".join(touching),
    )


def _touches(plate: Block, module: ModulePlace) -> bool:
    """Whether a plate lies against a face of a module: no gap along any axis, and faces that overlap along two."""
    shared = [
        min(plate.x_max, module.x_max_mm) - max(plate.x_min, module.x_min_mm),
        min(plate.y_max, module.y_max_mm) - max(plate.y_min, module.y_min_mm),
        min(plate.z_max, module.z_max_mm) - max(plate.z_min, module.z_min_mm),
    ]
    return min(shared) > -0.5 and sum(side > 0.5 for side in shared) >= 2


def _mounts(conversion: Conversion, outside: Block, before: Box | None, ref: str) -> tuple[Mount, ...]:
    """Four feet at the corners, as far in and as far below as those of the box before, or of another box, with their bolts."""
    model = before if before is not None and before.mounts else next((box for box in conversion.boxes if box.mounts), None)
    if model is None:
        return ()
    foot = model.mounts[0]
    in_x = min(min(abs(item.x_mm - model.x_min_mm), abs(item.x_mm - model.x_max_mm)) for item in model.mounts)
    in_y = min(min(abs(item.y_mm - model.y_min_mm), abs(item.y_mm - model.y_max_mm)) for item in model.mounts)
    z_mm = outside.z_min + foot.z_mm - model.z_min_mm
    corners = [
        (x, y) for y in (outside.y_min + in_y, outside.y_max - in_y) for x in (outside.x_min + in_x, outside.x_max - in_x)
    ]  # fmt: skip
    return tuple(
        Mount(
            ref=f"{ref}-{number}", x_mm=x, y_mm=y, z_mm=z_mm, bolt=foot.bolt, torque_nm=foot.torque_nm,
            to=foot.to if before is not None else "",
        )
        for number, (x, y) in enumerate(corners, start=1)
    )  # fmt: skip


def part_for(conversion: Conversion, box: Box, model: Part, known: Sequence[Part]) -> Part:
    """The catalogue part of a box: one of the same size if there is one, else a new one with the plugs and the inside of the model."""
    settings = conversion.arrangement
    block = block_of_box(box)
    sides = sorted(block.size, reverse=True)
    for part in known:
        if part.kind == model.kind and all(
            abs(a - b) < 0.5 for a, b in zip(sorted((part.length_mm, part.width_mm, part.height_mm), reverse=True), sides, strict=True)
        ):
            return part
    area_m2 = area_of(block)
    return model.model_copy(
        update={
            "ref": _part_ref(model.ref, [part.ref for part in known]),
            "name": f"battery box, {len(box.modules)} modules, {sides[0]:.0f} x {sides[1]:.0f} x {sides[2]:.0f}",
            "mass_kg": round(settings.box_kg_per_m2 * area_m2, 2),
            "length_mm": sides[0],
            "width_mm": sides[1],
            "height_mm": sides[2],
            "price_eur": math.ceil(settings.box_eur + settings.box_eur_per_m2 * area_m2),
            "verified_by": "",
            "note": f"plugs and inside as {model.ref}; mass and price by outside area, not weighed, no offer",
        }
    )


def _part_ref(model: str, known: Sequence[str]) -> str:
    """The model's code with the first letter behind it that is free."""
    stem = model[:-2] if len(model) > 2 and model[-2] == "-" and model[-1].isalpha() and model[:-2] in known else model
    letters = [chr(ord("A") + number) for number in range(26)] + [f"A{number}" for number in range(1, 1000)]
    return next(ref for letter in letters if (ref := f"{stem[:20]}-{letter}") not in known)


def moved_modules(before: Conversion, boxes: Boxes) -> list[str]:
    """Which modules change their box, in words."""
    was = {item.ref: box.ref for box in before.boxes for item in box.modules}
    now = {item.ref: box.ref for box in boxes.boxes for item in box.modules}
    ways: dict[tuple[str, str], list[str]] = {}
    for ref, box in sorted(now.items()):
        if was.get(ref, "") != box:
            ways.setdefault((was.get(ref, ""), box), []).append(ref)
    words = [
        f"{', '.join(refs)} {'goes' if len(refs) == 1 else 'go'} from {start} to {end}" for (start, end), refs in ways.items() if start
    ]
    words += [f"{', '.join(refs)} {'is' if len(refs) == 1 else 'are'} new, in {end}" for (start, end), refs in ways.items() if not start]
    left = sorted(set(was) - set(now))
    return [*words, *([f"{', '.join(left)} no longer used"] if left else [])]


__all__ = ["Boxes", "PlacedModule", "block_of_box", "boxes_of", "moved_modules", "part_for"]
