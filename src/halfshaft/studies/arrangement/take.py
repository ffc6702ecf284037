"""Taking an arrangement: the conversion as it is then, what has changed, and what has still to be described. Conversion in, conversion out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from halfshaft.model.boxes import Box
from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device
from halfshaft.model.edits import without_loose_ends
from halfshaft.model.parts import Part
from halfshaft.model.wires import Point, Run
from halfshaft.studies.arrangement.records import Arrangement, Block
from halfshaft.studies.arrangement.take_boxes import Boxes, block_of_box, boxes_of, moved_modules, part_for
from halfshaft.studies.arrangement.take_cables import joined_up, links_of, tails_of_new

# A route point that is no further from a box than this stands at its wall: its tails and stubs hang from it.
AT_WALL_MM = 75.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Taken:
    """The new conversion, and in plain words what was changed and what is left to do."""

    conversion: Conversion
    changed: tuple[str, ...]
    to_do: tuple[str, ...]


def take(conversion: Conversion, arrangement: Arrangement) -> Taken:
    """A conversion with another arrangement of its battery.

    Raises HalfshaftError where there is no box yet to copy, or something names what goes and cannot be left blank.
    """
    before = conversion
    boxes = boxes_of(before, arrangement)
    changed, to_do = _words_of_boxes(before, boxes)
    conversion = before.model_copy(update={"boxes": boxes.boxes})
    conversion, inside_gone = _devices(conversion, before, boxes)
    conversion = _parts(conversion, before, boxes, changed)
    conversion = _points(conversion, before, boxes, changed, to_do)
    conversion = _bars(conversion, before, boxes, changed)
    conversion = _hoses(conversion, boxes, changed, to_do)
    conversion, gone = without_loose_ends(conversion)
    conversion = _pairs(conversion, before)
    changed += _words_of_gone(gone, inside_gone, boxes)
    to_do += _to_do_after_gone(before, gone, inside_gone)
    conversion = _joined_up(conversion, before, arrangement, boxes, changed, to_do)
    to_do += [
        f"{made.ref} ({made.name}) names a box that has changed: see whether it still fits"
        for made in before.made_parts
        if set(made.name.replace(",", " ").split()) & {*boxes.altered, *boxes.gone}
    ]
    return Taken(conversion=conversion, changed=tuple(changed), to_do=tuple(to_do))


def _joined_up(
    conversion: Conversion, before: Conversion, arrangement: Arrangement, boxes: Boxes, changed: list[str], to_do: list[str]
) -> Conversion:
    """The pack's cable through the boxes in their new order. Where strings lie side by side it is left to whoever described them."""
    tails = [tail for ref in boxes.new for tail in tails_of_new(conversion, ref)]
    to_do += [
        f"{tail.device}.{tail.connector}: a tail of {tail.tail_mm:.0f} mm straight to {tail.point} is a guess; measure it" for tail in tails
    ]
    conversion = conversion.model_copy(update={"tails": (*conversion.tails, *tails)})
    if before.pack.strings > 1:
        to_do.append(f"join up each of the {before.pack.strings} strings: cables that were there are left as they were")
        return conversion
    cables = joined_up(conversion, before, links_of(conversion, boxes.order, arrangement.before_disconnect))
    changed += cables.words
    return conversion.model_copy(update={"cables": cables.cables, "cable_cores": cables.cores})


def _words_of_boxes(before: Conversion, boxes: Boxes) -> tuple[list[str], list[str]]:
    was = {box.ref: box for box in before.boxes}
    names = {space.ref: space.name for space in before.spaces}
    changed, to_do = [], []
    for box in boxes.boxes:
        size = " x ".join(f"{side:.0f}" for side in block_of_box(box).size)
        where = f"{names[box.space]} ({box.space})"
        if box.ref in boxes.kept:
            changed.append(f"box {box.ref} in {where} stays as it is, {len(box.modules)} modules")
        elif box.ref in boxes.altered:
            changed.append(
                f"box {box.ref} in {where} is made anew: {len(box.modules)} modules, was {len(was[box.ref].modules)}; {size} mm; {box.note}"
            )
            to_do.append(f"{box.ref}: joints, busbars, and where sense board and fuse lie in it")
        else:
            changed.append(f"box {box.ref} in {where} is new: {len(box.modules)} modules; {size} mm; {box.note}")
            to_do.append(
                f"{box.ref}: its interlock and cell chain wires, hoses, sense board, fuse, busbars, joints, what its feet are bolted to, "
                "and tails where they differ from the guess"
            )
    for ref in boxes.gone:
        changed.append(f"box {ref} in {names[was[ref].space]} ({was[ref].space}) goes")
        to_do.append(f"{ref} is gone: close the interlock, the cell chain and the coolant branch that passed it")
    changed += moved_modules(before, boxes)
    changed.append(f"the string passes the boxes in the order {', '.join(boxes.order)}")
    return changed, to_do


def _devices(conversion: Conversion, before: Conversion, boxes: Boxes) -> tuple[Conversion, tuple[str, ...]]:
    """Boxes at their new middles; what is inside a box goes with it: moved, or out of the car with a box that goes."""
    was = {box.ref: block_of_box(box) for box in before.boxes}
    now = {box.ref: box for box in boxes.boxes}
    devices: list[Device] = []
    inside_gone: list[str] = []
    for device in before.devices:
        if device.ref in was:
            if device.ref in now:
                devices.append(_box_device(before, device, now[device.ref]))
            continue
        inside = next((ref for ref, block in was.items() if holds(block, device)), None)
        if inside in boxes.gone:
            inside_gone.append(device.ref)
        elif inside in boxes.altered:
            devices.append(_moved(device, was[inside], block_of_box(now[inside])))
        else:
            devices.append(device)
    model = before.device[before.boxes[0].ref]
    at = max((index for index, device in enumerate(devices) if device.ref in now), default=-1) + 1
    devices[at:at] = [_new_device(before, model, now[ref]) for ref in boxes.new]
    return conversion.model_copy(update={"devices": tuple(devices)}), tuple(inside_gone)


def holds(block: Block, device: Device) -> bool:
    """Whether the centre of a device lies within a block."""
    return (
        block.x_min < device.x_mm < block.x_max and block.y_min < device.y_mm < block.y_max and block.z_min < device.z_mm < block.z_max
    )  # fmt: skip


def _box_device(before: Conversion, device: Device, box: Box) -> Device:
    was = next(item for item in before.boxes if item.ref == box.ref)
    x, y, z = (float(round(value, 1)) for value in block_of_box(box).centre)
    coolant_l = device.coolant_l
    if was.plates and len(was.plates) != len(box.plates):
        coolant_l = round(device.coolant_l / len(was.plates) * len(box.plates), 3)
    if block_of_box(was) == block_of_box(box):
        x, y, z = device.x_mm, device.y_mm, device.z_mm
    return device.model_copy(update={"x_mm": x, "y_mm": y, "z_mm": z, "coolant_l": coolant_l})


def _new_device(before: Conversion, model: Device, box: Box) -> Device:
    space = next(item for item in before.spaces if item.ref == box.space)
    x, y, z = (float(round(value, 1)) for value in block_of_box(box).centre)
    per_plate = model.coolant_l / max(1, len(before.boxes[0].plates))
    nearest = min(
        (point for point in before.points if point.zone),
        key=lambda point: (math.dist((point.x_mm, point.y_mm, point.z_mm), (x, y, z)), point.ref),
        default=None,
    )
    return Device(
        ref=box.ref,
        part=model.part,
        name=f"battery box, {space.name}",
        place=space.name,
        x_mm=x,
        y_mm=y,
        z_mm=z,
        attitude=f"lid up, plugs to the {space.plugs_look}" if space.plugs_look else "lid up",
        zone=nearest.zone if nearest is not None else model.zone,
        coolant_l=round(per_plate * len(box.plates), 3),
    )


def _scaled(value: float, low: float, high: float, new_low: float, new_high: float) -> float:
    """A coordinate between two walls keeps its share of the way between them; one outside moves with its nearer wall."""
    if value <= low:
        return value + new_low - low
    if value >= high:
        return value + new_high - high
    return new_low + (value - low) / (high - low) * (new_high - new_low)


def _carried(place: tuple[float, float, float], was: Block, now: Block) -> tuple[float, float, float]:
    x, y, z = place
    return (
        float(round(_scaled(x, was.x_min, was.x_max, now.x_min, now.x_max))),
        float(round(_scaled(y, was.y_min, was.y_max, now.y_min, now.y_max))),
        float(round(_scaled(z, was.z_min, was.z_max, now.z_min, now.z_max))),
    )


def _moved(device: Device, was: Block, now: Block) -> Device:
    x, y, z = _carried((device.x_mm, device.y_mm, device.z_mm), was, now)
    return device.model_copy(update={"x_mm": x, "y_mm": y, "z_mm": z})


def _parts(conversion: Conversion, before: Conversion, boxes: Boxes, changed: list[str]) -> Conversion:
    """A part for every size of box; those of no box any more are dropped."""
    parts: list[Part] = list(before.parts)
    used: dict[str, str] = {}
    old = {before.device[box.ref].part for box in before.boxes}
    for box in boxes.boxes:
        model = before.part[before.device[box.ref if box.ref in before.device else before.boxes[0].ref].part]
        if box.ref in boxes.kept:
            used[box.ref] = model.ref
            continue
        part = part_for(conversion, box, model, parts)
        if part.ref not in {item.ref for item in parts}:
            parts.append(part)
            changed.append(
                f"part {part.ref} is new: {part.name}, {part.mass_kg:g} kg, {part.price_eur:g} EUR by area; weigh it and get an offer"
            )
        used[box.ref] = part.ref
    devices = tuple(item.model_copy(update={"part": used[item.ref]}) if item.ref in used else item for item in conversion.devices)
    dropped = {ref for ref in old if ref not in {device.part for device in devices}}
    changed += [f"part {ref} is no longer used and is dropped" for ref in sorted(dropped)]
    kept = tuple(sorted((part for part in parts if part.ref not in dropped), key=lambda part: part.ref))
    return conversion.model_copy(update={"parts": kept, "devices": devices})


def _points(conversion: Conversion, before: Conversion, boxes: Boxes, changed: list[str], to_do: list[str]) -> Conversion:
    """Route points at a box's wall move with it. A taped run there keeps what it was longer than straight, until it is taped again."""
    was = {box.ref: block_of_box(box) for box in before.boxes}
    now = {box.ref: block_of_box(box) for box in boxes.boxes}
    users = users_of_points(before)
    points: dict[str, Point] = dict(before.point)
    for ref, point in before.point.items():
        (user,) = users[ref] if len(users.get(ref, ())) == 1 else ("",)
        if user not in boxes.altered or was[user] == now[user] or away_mm(was[user], point) > AT_WALL_MM:
            continue
        x, y, z = _carried((point.x_mm, point.y_mm, point.z_mm), was[user], now[user])
        if (x, y, z) != (point.x_mm, point.y_mm, point.z_mm):
            points[ref] = point.model_copy(update={"x_mm": x, "y_mm": y, "z_mm": z})
            by_mm = math.dist((x, y, z), (point.x_mm, point.y_mm, point.z_mm))
            changed.append(f"point {ref}, {point.name}, moves {by_mm:.0f} mm with the wall of {user}")
    runs: list[Run] = []
    for run in before.runs:
        old_mm, new_mm = (straight_mm(table, run) for table in (before.point, points))
        if run.length_taped_mm is not None and old_mm != new_mm:
            to_do.append(f"tape run {run.ref} again, {run.from_point} to {run.to_point}: an end of it has moved")
            runs.append(run.model_copy(update={"length_taped_mm": float(max(1, round(run.length_taped_mm + new_mm - old_mm)))}))
        else:
            runs.append(run)
    return conversion.model_copy(update={"points": tuple(points[point.ref] for point in before.points), "runs": tuple(runs)})


def users_of_points(before: Conversion) -> dict[str, set[str]]:
    """Devices whose tails hang at each point, or whose hoses end there."""
    users: dict[str, set[str]] = {}
    for tail in before.tails:
        users.setdefault(tail.point, set()).add(tail.device)
    for hose in before.hoses:
        for point, part in ((hose.from_point, hose.from_part), (hose.to_point, hose.to_part)):
            if point is not None:
                users.setdefault(point, set()).add(part.split()[0])
    return users


def away_mm(block: Block, point: Point) -> float:
    """How far outside a block a point is."""
    return math.hypot(
        max(block.x_min - point.x_mm, 0.0, point.x_mm - block.x_max),
        max(block.y_min - point.y_mm, 0.0, point.y_mm - block.y_max),
        max(block.z_min - point.z_mm, 0.0, point.z_mm - block.z_max),
    )


def straight_mm(points: dict[str, Point], run: Run) -> float:
    """From one end of a run straight to the other."""
    start, end = points[run.from_point], points[run.to_point]
    return math.dist((start.x_mm, start.y_mm, start.z_mm), (end.x_mm, end.y_mm, end.z_mm))


def _bars(conversion: Conversion, before: Conversion, boxes: Boxes, changed: list[str]) -> Conversion:
    """Busbars and joints of boxes that are made anew do not apply any more."""
    stale = {*boxes.altered, *boxes.gone}
    bars = tuple(bar for bar in before.busbars if bar.box not in stale)
    joints = tuple(joint for joint in before.joints if joint.box not in stale)
    lost = len(before.busbars) - len(bars), len(before.joints) - len(joints)
    if any(lost):
        changed.append(f"{lost[0]} busbars and {lost[1]} joints of {', '.join(sorted(stale))} are taken out: they fit the old boxes")
    return conversion.model_copy(update={"busbars": bars, "joints": joints})


def _hoses(conversion: Conversion, boxes: Boxes, changed: list[str], to_do: list[str]) -> Conversion:
    """Hoses pushed on a box that goes go with it."""
    gone = [hose for hose in conversion.hoses if {hose.from_part.split()[0], hose.to_part.split()[0]} & set(boxes.gone)]
    if gone:
        changed.append(f"hoses {', '.join(hose.ref for hose in gone)} go")
        open_ends = [part for hose in gone for part in (hose.from_part, hose.to_part) if part.split()[0] not in boxes.gone]
        to_do.append(f"hoses: close the circuit again between {' and '.join(open_ends)}")
    hoses = tuple(hose for hose in conversion.hoses if hose not in gone)
    return conversion.model_copy(update={"hoses": hoses})


def _pairs(conversion: Conversion, before: Conversion) -> Conversion:
    """Twisted pairs of which no wire is left go with their wires."""
    had, has = ({wire.twist_group for wire in item.wires} for item in (before, conversion))
    return conversion.model_copy(
        update={"twist_groups": tuple(group for group in conversion.twist_groups if group.ref in has or group.ref not in had)}
    )


TABLE_WORDS = {
    "wires": "wires", "hoses": "hoses", "busbars": "busbars", "joints": "joints", "board_ways": "kept stretches of boards", "loads": "loads",
    "ground_points": "ground points", "hv_units": "units of the pack", "enclosures": "enclosures", "enclosure_items": "places in enclosures",
    "case_contacts": "contacts in cases", "case_units": "units in cases", "hv_insulation": "insulation of units", "bonds": "bonds", "bus_nodes": "nodes of buses",
}  # fmt: skip


def _words_of_gone(gone: dict[str, tuple[Any, ...]], inside_gone: tuple[str, ...], boxes: Boxes) -> list[str]:
    words = []
    if inside_gone:
        words.append(f"{', '.join(inside_gone)} {'goes' if len(inside_gone) == 1 else 'go'} with {', '.join(boxes.gone)}")
    for table, keys in gone.items():
        if table in TABLE_WORDS:
            names = ", ".join(".".join(map(str, key)) if isinstance(key, tuple) else str(key) for key in keys)
            words.append(f"{TABLE_WORDS[table]} {names} go: what they named is gone")
    return words


def _to_do_after_gone(before: Conversion, gone: dict[str, tuple[Any, ...]], inside_gone: tuple[str, ...]) -> list[str]:
    words = [f"wire {ref}, {before.wire[ref].meaning}, is gone: join up again what it joined" for ref in gone.get("wires", ())]
    parts = {ref: before.part[before.device[ref].part] for ref in inside_gone}
    fuses = [ref for ref, part in parts.items() if any(element.kind == "fuse" for element in part.inside)]
    return [*words, *(f"{ref}, {before.device[ref].name}, went with its box: see that the string is still fused" for ref in fuses)]
