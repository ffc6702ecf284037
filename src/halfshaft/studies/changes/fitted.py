"""Devices, made parts, route points and runs: what is fitted, taken out, or moved in the car."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfshaft.model.car import MadePart
from halfshaft.model.devices import Device
from halfshaft.model.wires import Point
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import Act, Change, State
from halfshaft.studies.changes.told import Edits, pairs

PLACE = ("x_mm", "y_mm", "z_mm")
SAME_MM = 0.05


def fitted_changes(before: State, after: State, edits: Edits) -> Iterator[Change]:
    """All lines about what is fitted and where routes go."""
    was, now = before.conversion, after.conversion
    boxes = {box.ref for box in (*was.boxes, *now.boxes)}
    for ref, old, new in pairs(was.device, now.device):
        if ref not in boxes and old != new:
            yield from _device(ref, old, new, edits)
    for ref, made, made_now in pairs({item.ref: item for item in was.made_parts}, {item.ref: item for item in now.made_parts}):
        if made != made_now:
            yield from _made(ref, made, made_now, edits)
    for ref, point, point_now in pairs(was.point, now.point):
        if point != point_now:
            yield from _point(ref, point, point_now, edits)
    yield from _left_in(before, after, edits)
    yield from _runs(before, after, edits)


def _place(item: Device | MadePart | Point) -> str:
    return f"x {item.x_mm:g}, y {item.y_mm:g}, z {item.z_mm:g}"


def _moved(old: Device | MadePart | Point, new: Device | MadePart | Point) -> bool:
    return any(getattr(old, side) != getattr(new, side) for side in PLACE)


def _device(ref: str, old: Device | None, new: Device | None, edits: Edits) -> Iterator[Change]:
    words = [
        None if item is None else f"{item.part} at {_place(item)}{', ' + item.attitude if item.attitude else ''}" for item in (old, new)
    ]
    if new is None:
        yield Change(act="unmake", kind="device", ref=ref, quantity="device", was=words[0], now=None, do="take out", edits=edits.of("devices", ref))  # fmt: skip
    elif old is None:
        yield Change(act="fit", kind="device", ref=ref, quantity="device", was=None, now=words[1], do="fit", minutes=allowances.DEVICE, edits=edits.of("devices", ref))  # fmt: skip
    else:
        do = []
        if old.part != new.part:
            do.append(f"change for {new.part}: read the label code before it goes in")
        if _moved(old, new):
            do.append(f"move by {_apart_mm(old, new):.0f} mm")
        if old.attitude != new.attitude:
            do.append("turn")
        if do:
            told = edits.of("devices", ref, "part", "attitude", *PLACE)
            yield Change(act="fit", kind="device", ref=ref, quantity="device", was=words[0], now=words[1], do="; ".join(do), minutes=allowances.DEVICE, edits=told)  # fmt: skip


def _apart_mm(old: Device | MadePart | Point, new: Device | MadePart | Point) -> float:
    return math.dist([getattr(old, side) for side in PLACE], [getattr(new, side) for side in PLACE])


def _made(ref: str, old: MadePart | None, new: MadePart | None, edits: Edits) -> Iterator[Change]:
    words = [None if item is None else f"{item.name}, {item.mass_kg:g} kg at {_place(item)}" for item in (old, new)]
    told = edits.of("made_parts", ref, "name", "mass_kg", *PLACE)
    if new is None:
        yield Change(act="unmake", kind="made part", ref=ref, quantity="made part", was=words[0], now=None, do="take out", edits=told)
    elif old is None or words[0] != words[1] or _moved(old, new):
        do = "make" if old is None else "see whether it can be altered, else make again"
        yield Change(act="make", kind="made part", ref=ref, quantity="made part", was=words[0], now=words[1], do=do, minutes=allowances.MADE_PART, edits=told)  # fmt: skip


def _point(ref: str, old: Point | None, new: Point | None, edits: Edits) -> Iterator[Change]:
    words = [None if item is None else f"{item.kind} at {_place(item)}" for item in (old, new)]
    told = edits.of("points", ref, "kind", *PLACE)
    kind = (new or old).kind  # type: ignore[union-attr]
    if old is not None and new is not None and not told:
        return
    if new is None:
        do = "no longer used: take its fixing off, close its hole"
    elif old is None:
        do = f"set the {kind}"
    else:
        do = f"moves by {_apart_mm(old, new):.0f} mm" if _moved(old, new) else f"is a {kind} now"
    # An end goes where its device is; it is not fixed by itself.
    act: Act = "know" if kind == "end" else "unmake" if new is None else "fit"
    yield Change(
        act=act, kind="point", ref=ref, quantity="point", was=words[0], now=words[1], do=do, edits=told, minutes=allowances.POINT if act == "fit" else 0.0
    )  # fmt: skip


def _left_in(before: State, after: State, edits: Edits) -> Iterator[Change]:
    """What comes out of the donor as well, and what stays in it after all."""
    was, now = ({item.ref: item for item in state.conversion.removed} for state in (before, after))
    for ref, old, new in pairs(was, now):
        if old is None or new is None:
            words = [None if item is None else f"{item.name}, {item.mass_kg:g} kg" for item in (old, new)]
            yield Change(
                act="fit" if new is None else "unmake", kind="donor part", ref=ref, quantity="comes out", was=words[0], now=words[1],
                do="stays in, or goes back in" if new is None else "take out of the donor", edits=edits.of("removed", ref),
            )  # fmt: skip


def _runs(before: State, after: State, edits: Edits) -> Iterator[Change]:
    """Runs of another length: what cuts everything that lies in them anew."""
    was, now = before.routing.run_lengths, after.routing.run_lengths
    for ref in (ref for ref in was if ref in now):
        old, new = was[ref], now[ref]
        difference = new.length_mm - old.length_mm
        if abs(difference) < SAME_MM:
            continue
        run = after.conversion.run[ref]
        moved = [point for point in (run.from_point, run.to_point) if _point_moved(before, after, point)]
        why = "taped anew" if None not in (old.taped_mm, new.taped_mm) else "taped" if new.taped_mm is not None else "no longer taped" if old.taped_mm is not None else ""  # fmt: skip
        words = [*([f"point {' and '.join(moved)} moved"] if moved else []), *([why] if why else [])]
        yield Change(
            act="know", kind="run", ref=ref, quantity="length", was=round(old.length_mm, 1), now=round(new.length_mm, 1), unit="mm", why=", ".join(words),
            do=f"{abs(difference):.0f} mm {'longer' if difference > 0 else 'shorter'}", about=(run.from_point, run.to_point), edits=edits.of("runs", ref, "length_taped_mm"),
        )  # fmt: skip


def _point_moved(before: State, after: State, ref: str) -> bool:
    old, new = before.conversion.point.get(ref), after.conversion.point.get(ref)
    return old is not None and new is not None and _moved(old, new)
