"""The looms inside the battery boxes, which are made from the arrangement: what becomes of their wires when it changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from halfshaft.model.finding import HV_CAUTION
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.cut import fate_of, wire_piece
from halfshaft.studies.changes.records import Change, State
from halfshaft.studies.changes.told import count_words
from halfshaft.studies.looms.routing import LaidWire

Wires = Mapping[str, LaidWire]


def sense_loom_changes(before: State, after: State) -> Iterator[Change]:
    """One line a loom; none where every wire keeps its piece and its ends."""
    was, now = _by_loom(before), _by_loom(after)
    for loom in sorted({*was, *now}):
        old, new = was.get(loom, {}), now.get(loom, {})
        if not new:
            yield Change(
                act="unmake", kind="sense loom", ref=loom, quantity="wires", was=_words(old), now=None, do="take out", caution=HV_CAUTION
            )
            continue
        fates = Counter(_fate(old.get(ref), new.get(ref), after) for ref in {*old, *new})
        told = [f"{fates[fate]} {fate}" for fate in ("cut new", "cut down", "led to another place", "no longer used") if fates[fate]]
        if told:
            yield Change(
                act="cut", kind="sense loom", ref=loom, quantity="wires", was=_words(old) if old else None, now=_words(new),
                do=f"lay it anew from the new list: {', '.join(told)}", minutes=allowances.WIRE * (fates["cut new"] + fates["cut down"] / 2 + fates["led to another place"]),
                caution=HV_CAUTION,
            )  # fmt: skip


def _by_loom(state: State) -> dict[str, dict[str, LaidWire]]:
    found: dict[str, dict[str, LaidWire]] = {}
    for ref, laid in (state.inside.wires if state.inside else {}).items():
        found.setdefault(laid.wire.loom, {})[ref] = laid
    return found


def _fate(old: LaidWire | None, new: LaidWire | None, after: State) -> str:
    if new is None:
        return "no longer used"
    if old is None:
        return "cut new"
    piece, other = wire_piece(old), wire_piece(new)
    assert piece is not None
    assert other is not None
    fate = fate_of(piece, other, after.conversion.shop)
    if fate in ("new piece", "cut down"):
        return "cut new" if fate == "new piece" else fate
    is_same = (old.wire.from_pin, old.wire.to_pin) == (new.wire.from_pin, new.wire.to_pin)
    return "as it is" if is_same else "led to another place"


def _words(wires: Wires) -> str:
    metres = sum(laid.length.cut_mm for laid in wires.values() if laid.length) / 1000
    return f"{count_words(len(wires), 'wire')}, {metres:.1f} m"
