"""Busbars and bolted joints of the battery boxes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from typing import Any, TypeVar

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.pack import Busbar, Joint
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import Change
from halfshaft.studies.changes.told import Edits, pairs

Copper = TypeVar("Copper", bound="Busbar | Joint")


def copper_changes(was: Conversion, now: Conversion, touched: Collection[str], edits: Edits) -> Iterator[Change]:
    """Bars and joints that are new, gone or otherwise; `touched` are the boxes that change."""
    bars = {bar.ref: bar for bar in was.busbars}, {bar.ref: bar for bar in now.busbars}
    yield from _copper("busbar", *bars, _bar_words, "make: cut, bend, drill, insulate", allowances.BUSBAR, touched, edits)
    joints = {item.ref: item for item in was.joints}, {item.ref: item for item in now.joints}
    yield from _copper("joint", *joints, _joint_words, "bolt up to the torque and measure", allowances.JOINT, touched, edits)


def _bar_words(bar: Busbar, other: Busbar | None) -> str:
    """Where a bar goes and its size; its note only where the other one has another."""
    words = [bar.box, f"{bar.from_stud} to {bar.to_stud}", f"{bar.wide_mm:g} x {bar.thick_mm:g} x {bar.length_mm:g} mm"]
    if bar.note and (other is None or other.note != bar.note):
        words.append(bar.note)
    return ", ".join(words)


def _joint_words(joint: Joint, other: Joint | None) -> str:
    """Where a joint is, and of the rest what the other one has otherwise."""
    said = {
        "bolt": joint.bolt,
        "torque_nm": f"{joint.torque_nm:g} Nm",
        "allowed_uohm": f"at most {joint.allowed_uohm:g} µΩ",
        "busbars": " and ".join(joint.busbars),
        "stack": " / ".join(joint.stack),
        "reached_from": joint.reached_from,
        "x_mm": "" if joint.x_mm is None else f"x {joint.x_mm:g}",
        "y_mm": "" if joint.y_mm is None else f"y {joint.y_mm:g}",
        "z_mm": "" if joint.z_mm is None else f"z {joint.z_mm:g}",
    }
    return ", ".join(
        [
            joint.stud,
            *(words for field, words in said.items() if words and (other is None or getattr(other, field) != getattr(joint, field))),
        ]
    )


def _copper(
    kind: str, was: dict[str, Copper], now: dict[str, Copper], words: Callable[[Copper, Copper | None], str], make: str, minutes: float, touched: Collection[str],
    edits: Edits,
) -> Iterator[Change]:  # fmt: skip
    if not was or not now:
        yield from _list_of(kind, was, now, words, make, minutes, touched, edits)
        return
    used = _old_of_the_size(was, now) if kind == "busbar" else {}
    for ref, old, new in pairs(was, now):
        if old == new:
            continue
        boxes = tuple(dict.fromkeys(item.box for item in (new, old) if item is not None and item.box))
        yield Change(
            act="unmake" if new is None else "make", kind=kind, ref=ref, quantity=kind, was=None if old is None else words(old, new), now=None if new is None else words(new, old),
            do="take out" if new is None else f"{make}; the old {used[ref]} is of this size: see first whether its bends agree" if ref in used else make, why=f"box {boxes[0]} changes" if boxes and boxes[0] in touched else "", about=boxes,
            minutes=0.0 if new is None else minutes, edits=edits.of(f"{kind}s", ref), caution=HV_CAUTION,
        )  # fmt: skip


def _old_of_the_size(was: dict[str, Copper], now: dict[str, Copper]) -> dict[str, str]:
    """For each bar that changes an old one that comes free and is as wide, thick and long; each old one once, between the same studs first."""
    free = {ref: bar for ref, bar in was.items() if isinstance(bar, Busbar) and now.get(ref) != bar}
    found: dict[str, str] = {}
    for same_studs in (True, False):
        for ref, bar in now.items():
            if ref in found or was.get(ref) == bar or not isinstance(bar, Busbar):
                continue
            fits = (old for old, item in free.items() if _size(item) == _size(bar) and (not same_studs or _studs(item) == _studs(bar)))
            if (old := next(fits, None)) is not None:
                found[ref] = old
                del free[old]
    return found


def _size(bar: Busbar) -> tuple[float, float, float]:
    return bar.wide_mm, bar.thick_mm, bar.length_mm


def _studs(bar: Busbar) -> frozenset[str]:
    return frozenset((bar.from_stud, bar.to_stud))


def _list_of(
    kind: str, was: dict[str, Copper], now: dict[str, Copper], words: Callable[[Copper, Copper | None], str], make: str, minutes: float, touched: Collection[str],
    edits: Edits,
) -> Iterator[Change]:  # fmt: skip
    """One description lists none at all, so nobody knows what is built: box by box, and bar by bar where a box changes."""
    items = [*(was or now).values()]
    for box in dict.fromkeys(item.box or "" for item in items):
        inside = [item for item in items if (item.box or "") == box]
        changes = box in touched
        groups: list[list[Copper]] = [[item] for item in inside] if changes and kind == "busbar" else [inside]
        for group in groups:
            yield _listed(kind, group, words, make, minutes, edits, is_new=bool(now), box=box, changes=changes)


def _listed(
    kind: str, group: Sequence[Copper], words: Callable[[Copper, Copper | None], str], make: str, minutes: float, edits: Edits, *, is_new: bool, box: str, changes: bool
) -> Change:  # fmt: skip
    refs = [item.ref for item in group]
    said = words(group[0], None) if len(group) == 1 else f"{len(group)} {kind}s"
    line: dict[str, Any] = {
        "kind": kind, "ref": refs[0] if len(refs) == 1 else f"{refs[0]} to {refs[-1]}", "quantity": kind, "was": None if is_new else said, "now": said if is_new else None,
        "about": (box,) if box else (), "edits": tuple(edit for ref in refs for edit in edits.of(f"{kind}s", ref)),
    }  # fmt: skip
    if changes and is_new:
        return Change(act="make", do=make, why=f"box {box} changes", minutes=minutes * len(group), caution=HV_CAUTION, **line)
    if changes:
        return Change(act="unmake", do="take out", why=f"box {box} changes", caution=HV_CAUTION, **line)
    stays = f"box {box} stays as it is" if box else "its box is not said"
    return Change(act="know", do=f"{'listed for the first time' if is_new else 'no longer listed'}; {stays}: see that it agrees", **line)
