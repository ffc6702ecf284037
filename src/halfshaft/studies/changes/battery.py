"""Boxes, and what is in them: which are made again, which modules and plates change their place, which bars and joints."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from halfshaft.model.boxes import Box, ModulePlace, PlatePlace
from halfshaft.model.conversion import Conversion
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.copper import copper_changes
from halfshaft.studies.changes.records import Change, State
from halfshaft.studies.changes.told import Edits, count_words, pairs

SIDES = ("x_min_mm", "y_min_mm", "z_min_mm", "x_max_mm", "y_max_mm", "z_max_mm")
LIVE = "Modules are live at all times: qualified people only, poles covered, two to lift."
MOUNT = "A mount carries its box in a crash: a qualified person and local rules judge it."
SAME_MM = 1e-6
Block = ModulePlace | PlatePlace


def battery_changes(before: State, after: State, edits: Edits) -> Iterator[Change]:
    """All lines about the battery."""
    was = {box.ref: box for box in before.conversion.boxes}
    now = {box.ref: box for box in after.conversion.boxes}
    carried: set[str] = set()
    touched: set[str] = set()
    for ref, old, new in pairs(was, now):
        line = _box(before.conversion, after.conversion, ref, old, new, edits)
        if line is not None:
            yield line
            touched.add(ref)
            yield from _emptied(line, old, new)
        if old is not None and new is not None:
            carried |= _moved_along(old, new)
    modules, plates = _held(before.conversion, "modules"), _held(after.conversion, "modules")
    yield from _contents("module", modules, plates, carried, edits)
    yield from _contents("plate", _held(before.conversion, "plates"), _held(after.conversion, "plates"), carried, edits)
    yield from _feet(was, now, edits)
    yield from copper_changes(before.conversion, after.conversion, touched, edits)


def _box(was: Conversion, now: Conversion, ref: str, old: Box | None, new: Box | None, edits: Edits) -> Change | None:
    """A box that is new, gone, of another shape, of other contents, or at another place."""
    told = (*edits.of("boxes", ref, "space", "wall_mm", *SIDES), *edits.of("devices", ref, "part", "x_mm", "y_mm", "z_mm"))
    words = [None if box is None else _box_words(car, box, other) for car, box, other in ((was, old, new), (now, new, old))]
    common: dict[str, Any] = {"kind": "box", "ref": ref, "quantity": "box", "was": words[0], "now": words[1], "edits": told}
    again = 60 * now.arrangement.box_hours
    if old is None or new is None:
        if old is None:
            return Change(act="make", do="make, trial fit, then coat", minutes=again, **common)
        return Change(act="unmake", do="empty it and take it out", caution=LIVE, **common)
    part_was, part_now = was.device[ref].part, now.device[ref].part
    why = []
    if _size(old) != _size(new):
        why.append("its outside is another size")
    if old.wall_mm != new.wall_mm:
        why.append("its wall is of another thickness")
    if part_was != part_now:
        why.append(f"its label code is {part_now}, was {part_was}")
    if why:
        return Change(act="make", do="make again", why=", ".join(why), minutes=again, **common)
    if _inside(old) != _inside(new):
        return Change(act="make", do="alter inside: seats for modules and plates", why="its contents stand otherwise", minutes=allowances.ALTER_BOX, **common)  # fmt: skip
    if any(getattr(old, side) != getattr(new, side) for side in SIDES) or old.space != new.space:
        return Change(act="fit", do="set at its new place with all that is in it, lid of the space closed", why="the box moves", minutes=allowances.MOVE_BOX, **common)  # fmt: skip
    return None


def _emptied(line: Change, old: Box | None, new: Box | None) -> Iterator[Change]:
    """A box that is made again or altered is emptied first."""
    if line.act != "make" or old is None or new is None:
        return
    held = [[*(block.ref for block in box.modules), *(block.ref for block in box.plates)] for box in (old, new)]
    if held[0] or held[1]:
        yield Change(
            act="unmake", kind="box", ref=line.ref, quantity="holds", was=", ".join(held[0]) or None, now=", ".join(held[1]) or None,
            do="take its cables off and empty it, where it is filled", caution=LIVE,
        )  # fmt: skip


def _box_words(conversion: Conversion, box: Box, other: Box | None) -> str:
    """A box in a few words; its wall and place only where the other one has others."""
    size = " x ".join(f"{side:g}" for side in _size(box))
    part = conversion.device[box.ref].part
    words = [f"{part}, {size} mm", count_words(len(box.modules), "module"), count_words(len(box.plates), "plate")]
    if other is None or other.wall_mm != box.wall_mm:
        words.append(f"wall {box.wall_mm:g}")
    place = (box.space, box.x_min_mm, box.y_min_mm, box.z_min_mm)
    if other is None or place != (other.space, other.x_min_mm, other.y_min_mm, other.z_min_mm):
        words.append("in {} from x {:g}, y {:g}, z {:g}".format(*place))
    return ", ".join(words)


def _size(box: Box) -> tuple[float, ...]:
    return _in_box(box, box)[3:]


def _in_box(box: Box, block: Block | Box) -> tuple[float, ...]:
    """A block's sides from the box's own corner, to a millionth of a millimetre."""
    corner = (box.x_min_mm, box.y_min_mm, box.z_min_mm) * 2
    return tuple(round(getattr(block, side) - from_mm, 6) for side, from_mm in zip(SIDES, corner, strict=True))


def _inside(box: Box) -> list[tuple[Any, ...]]:
    """What a box is built for: blocks of a kind at places, whatever their marks."""
    modules = [("module", block.module, _in_box(box, block), block.attitude or "", block.cooled_face or "") for block in box.modules]
    return sorted([*modules, *(("plate", block.part, _in_box(box, block), "", "") for block in box.plates)])


def _moved_along(old: Box, new: Box) -> set[str]:
    """Modules and plates that a box takes with it: nothing about them is changed but where the box stands."""
    blocks: list[Block] = [*new.modules, *new.plates]
    known: dict[str, Block] = {block.ref: block for block in old.modules} | {block.ref: block for block in old.plates}
    along = set()
    for block in blocks:
        before = known.get(block.ref)
        if before is not None and type(before) is type(block) and _in_box(old, before) == _in_box(new, block):
            shift = dict(zip(SIDES, (getattr(block, side) for side in SIDES), strict=True))
            if before.model_copy(update=shift) == block:
                along.add(block.ref)
    return along


def _held(conversion: Conversion, what: str) -> dict[str, tuple[str, Block]]:
    return {block.ref: (box.ref, block) for box in conversion.boxes for block in getattr(box, what)}


def _contents(
    kind: str, was: dict[str, tuple[str, Block]], now: dict[str, tuple[str, Block]], carried: set[str], edits: Edits
) -> Iterator[Change]:
    """Modules or plates that come, go, change their box, or stand otherwise."""
    minutes = allowances.MODULE if kind == "module" else allowances.PLATE
    for ref in dict.fromkeys([*was, *now]):
        told = edits.of(f"boxes.{kind}s", ref, "box", "attitude", "cooled_face", "plus_end", "string", "order_in_string", "module", "part", *SIDES)  # fmt: skip
        old, new = was.get(ref), now.get(ref)
        if not told:
            continue
        if old is not None and (new is None or old[0] != new[0]):
            yield Change(
                act="unmake", kind=kind, ref=ref, quantity="box", was=old[0], now=None if new is None else new[0], do=f"take out of {old[0]}",
                minutes=minutes, about=(old[0],), edits=told if new is None else (), caution=LIVE if kind == "module" else "",
            )  # fmt: skip
        if new is None:
            continue
        words = [None if held is None else _block_words(held, other) for held, other in ((old, new), (new, old))]
        alone = ref not in carried
        yield Change(
            act="fit" if alone else "know", kind=kind, ref=ref, quantity="place", was=words[0], now=words[1], about=(new[0],), edits=told,
            do=_put_words(kind, old, new) if alone else "goes along with its box", minutes=minutes if alone else 0.0,
            why="" if alone else f"box {new[0]} moves",
        )  # fmt: skip


def _put_words(kind: str, old: tuple[str, Block] | None, new: tuple[str, Block]) -> str:
    """What is done with a block."""
    if old is None or old[0] != new[0]:
        return f"set into {new[0]}"
    turned = any(getattr(old[1], look, None) != getattr(new[1], look, None) for look in ("attitude", "cooled_face", "plus_end"))
    moved = any(abs(getattr(old[1], side) - getattr(new[1], side)) > SAME_MM for side in SIDES)
    if moved or turned:
        return " and ".join(["move"] * moved + ["turn"] * turned) + f" in {new[0]}"
    return "stays where it is; other number in the string" if kind == "module" else "stays where it is; other part"


def _block_words(held: tuple[str, Block], other: tuple[str, Block] | None) -> str:
    """A block in a few words: where its low front left corner is, and of the rest what the other one has otherwise."""
    box, block = held
    words = [f"{box}: x {block.x_min_mm:g}, y {block.y_min_mm:g}, z {block.z_min_mm:g}"]
    sides = [
        [getattr(item, f"{axis}_max_mm") - getattr(item, f"{axis}_min_mm") for axis in "xyz"]
        for item in (block, other[1] if other else block)
    ]
    if other is None or any(abs(one - two) > SAME_MM for one, two in zip(*sides, strict=True)):
        words.append(" x ".join(f"{side:g}" for side in sides[0]) + " mm")
    for field, name in (
        ("order_in_string", "no"), ("string", "string"), ("module", ""), ("part", ""), ("attitude", ""), ("plus_end", "plus to"), ("cooled_face", "cooled face to"),
    ):  # fmt: skip
        value = getattr(block, field, None)
        if value is not None and (other is None or getattr(other[1], field, None) != value):
            words.append(f"{name} {value}".strip())
    return ", ".join(words)


def _feet(was: dict[str, Box], now: dict[str, Box], edits: Edits) -> Iterator[Change]:
    """Feet of boxes that are there before and after; those of a new box are made with it."""
    for ref in (ref for ref in was if ref in now):
        feet = [{foot.ref: foot for foot in box.mounts} for box in (was[ref], now[ref])]
        for mark, old, new in pairs(*feet):
            if old == new:
                continue
            words = [None if foot is None else f"{foot.bolt}, {foot.torque_nm:g} Nm, x {foot.x_mm:g}, y {foot.y_mm:g}, z {foot.z_mm:g}, to {foot.to}" for foot in (old, new)]  # fmt: skip
            yield Change(
                act="unmake" if new is None else "make", kind="foot", ref=f"{ref}.{mark}", quantity="foot", was=words[0], now=words[1], about=(ref,),
                do="take off" if new is None else "make, and drill its place in the car only after the trial fit", caution=MOUNT,
                minutes=0.0 if new is None else allowances.FOOT, edits=edits.of("boxes.mounts", f"{ref}.{mark}"),
            )  # fmt: skip
