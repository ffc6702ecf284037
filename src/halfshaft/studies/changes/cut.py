"""Wires, cables, hoses and tubes: what is cut again, whether the old piece will do, and which run is the cause."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from halfshaft.model.conversion import Shop
from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.wires import Hose, Wire
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import Change, Edit, State
from halfshaft.studies.changes.told import Edits
from halfshaft.studies.looms.network import Route
from halfshaft.studies.looms.routing import LaidCable, LaidHose, LaidWire
from halfshaft.studies.materials import materials

SAME_MM = 0.05
Mark = TypeVar("Mark")
# How the words of a line begin that takes new material.
NEW = "cut new"
Fate = Literal["as it is", "keeps its piece", "cut down", "new piece"]


@dataclass(frozen=True, slots=True)
class Piece:
    """Something cut to a length: the sum of its parts before rounding, and the length that it is cut to; None where it has no way."""

    sum_mm: float | None
    cut_mm: float | None
    material: str


def step_mm(shop: Shop, length_mm: float) -> float:
    """The step of the cutter at a length: by less than that a piece is not another one."""
    return shop.length_step_to_1000_mm if length_mm <= 1000 else shop.length_step_over_1000_mm


def fate_of(old: Piece, new: Piece, shop: Shop) -> Fate:
    """What becomes of a piece that is cut already.

    >>> shop = Shop()
    >>> fate_of(Piece(1477.0, 1480.0, "0.5 PK"), Piece(1492.0, 1500.0, "0.5 PK"), shop)
    'new piece'
    >>> fate_of(Piece(1000.0, 1000.0, "0.5 PK"), Piece(1001.0, 1010.0, "0.5 PK"), shop)
    'keeps its piece'
    """
    if old.material != new.material:
        return "new piece"
    if old.cut_mm is None or new.cut_mm is None or old.sum_mm is None or new.sum_mm is None:
        return "as it is" if old.cut_mm == new.cut_mm else "new piece"
    if abs(new.sum_mm - old.sum_mm) < step_mm(shop, max(new.sum_mm, old.sum_mm)):
        return "as it is" if old.cut_mm == new.cut_mm else "keeps its piece"
    return "cut down" if new.cut_mm < old.cut_mm else "new piece"


def cut_changes(before: State, after: State, edits: Edits) -> Iterator[Change]:
    """All lines about what is cut to a length."""
    for ref, old, new in _both(before.routing.wires, after.routing.wires):
        yield from _wire(ref, old, new, after, edits)
    cables = [{laid.cable.ref: laid for laid in state.routing.cables} for state in (before, after)]
    for ref, old_cable, new_cable in _both(*cables):
        yield from _cable(ref, old_cable, new_cable, after, edits)
    hoses = [{laid.hose.ref: laid for laid in state.routing.hoses} for state in (before, after)]
    for ref, old_hose, new_hose in _both(*hoses):
        yield from _hose(ref, old_hose, new_hose, after, edits)
    yield from _tubes(before, after)


def _both(was: Mapping[Mark, Any], now: Mapping[Mark, Any]) -> Iterator[tuple[Mark, Any, Any]]:
    for ref in dict.fromkeys([*was, *now]):
        yield ref, was.get(ref), now.get(ref)


def _lines(
    kind: str, ref: str, old: Piece | None, new: Piece | None, *, state: State, why: str, told: tuple[Edit, ...], about: tuple[str, ...], minutes: float,
    caution: str = "",
) -> Iterator[Change]:  # fmt: skip
    """The line of one piece: gone, new, of another material, of another length, or nothing."""
    line: dict[str, Any] = {"kind": kind, "ref": ref, "about": about, "caution": caution}
    if new is None or old is None:
        words = [None if piece is None else _piece_words(piece) for piece in (old, new)]
        if new is None:
            yield Change(act="unmake", quantity=kind, was=words[0], now=None, do="take out", edits=told, **line)
        else:
            yield Change(act="cut", quantity=kind, was=None, now=words[1], do=NEW, edits=told, minutes=minutes, **line)
        return
    if old.material != new.material:
        yield Change(
            act="cut", quantity=kind, was=_piece_words(old), now=_piece_words(new), do=f"{NEW}: it is made of something else", edits=told,
            minutes=minutes, why=why, **line,
        )  # fmt: skip
        return
    fate = fate_of(old, new, state.conversion.shop)
    if fate == "as it is":
        return
    unit = "mm" if old.cut_mm is not None and new.cut_mm is not None else ""
    yield Change(
        act="know" if fate == "keeps its piece" else "cut", quantity="cut length", was="no way" if old.cut_mm is None else old.cut_mm,
        now="no way" if new.cut_mm is None else new.cut_mm, unit=unit, do=_fate_words(fate, old, new),
        minutes={"cut down": minutes / 2, "new piece": minutes}.get(fate, 0.0), why=why, **line,
    )  # fmt: skip


def _piece_words(piece: Piece) -> str:
    return f"{piece.material}, {'no way' if piece.cut_mm is None else f'{piece.cut_mm:g} mm'}"


def _fate_words(fate: Fate, old: Piece, new: Piece) -> str:
    if old.cut_mm is None or new.cut_mm is None:
        return NEW if old.cut_mm is None else "has no way any more: see the findings"
    difference = abs(new.cut_mm - old.cut_mm)
    if fate == "keeps its piece":
        return "no need to cut again: the difference is less than the cutter's step"
    if fate == "cut down":
        return f"the old piece can be cut down by {difference:g} mm and one end made anew"
    return f"{NEW}: the old piece is {difference:g} mm short; keep it for a shorter one"


def _wire(ref: str, old: LaidWire | None, new: LaidWire | None, after: State, edits: Edits) -> Iterator[Change]:
    told = edits.of("wires", ref, "section_mm2", "colour", "insulation_class")
    either = new or old
    assert either is not None
    mates = tuple(
        mate.ref for mate in after.conversion.wires if mate.twist_group and mate.twist_group == either.wire.twist_group and mate.ref != ref
    )
    why = _wire_why(old, new)
    if mates:
        why += f"{'; ' if why else ''}twisted with {' and '.join(mates)}"
    yield from _lines(
        "wire",
        ref,
        wire_piece(old),
        wire_piece(new),
        state=after,
        why=why,
        told=told,
        about=(either.wire.loom, *mates),
        minutes=allowances.WIRE,
    )


def wire_piece(laid: LaidWire | None) -> Piece | None:
    """A wire as a piece; None where there is none."""
    if laid is None:
        return None
    length = laid.length
    return Piece(None if length is None else length.sum_mm, None if length is None else length.cut_mm, _wire_material(laid.wire))


def _wire_material(wire: Wire) -> str:
    return f"{wire.section_mm2:g} {wire.colour} {wire.insulation_class}"


def _wire_why(old: LaidWire | None, new: LaidWire | None) -> str:
    if old is None or new is None:
        return ""
    words = list(_way_words(old.route, new.route))
    for end, before, now in (("from", old.start, new.start), ("to", old.end, new.end)):
        if before.pin != now.pin:
            words.append(f"its end “{end}” goes to {now.pin}")
        elif abs(before.tail_mm - now.tail_mm) >= SAME_MM:
            words.append(f"tail at {now.connector} is {_by(now.tail_mm - before.tail_mm)}")
    if old.length is not None and new.length is not None:
        ends = math.fsum((new.length.end_from_mm, new.length.end_to_mm)) - math.fsum((old.length.end_from_mm, old.length.end_to_mm))
        if abs(ends) >= SAME_MM:
            words.append(f"its ends take {abs(ends):.0f} mm {'more' if ends > 0 else 'less'}")
        if not words and old.length.cut_mm != new.length.cut_mm:
            words.append("take-up of the twist, or the cutter's step")
    return "; ".join(words)


def _way_words(old: Route | None, new: Route | None) -> Iterator[str]:
    """Runs that are longer or shorter, and those that it takes instead of others."""
    if old is None or new is None:
        if (old is None) != (new is None):
            yield "it has a way now" if old is None else "it has no way any more"
        return
    lengths = [_by_run(route) for route in (old, new)]
    left = [run for run in lengths[0] if run not in lengths[1]]
    taken = [run for run in lengths[1] if run not in lengths[0]]
    if left or taken:
        yield "; ".join(filter(None, (f"now by {', '.join(taken)}" if taken else "", f"no longer by {', '.join(left)}" if left else "")))
    for run, length_mm in lengths[1].items():
        if run in lengths[0] and abs(length_mm - lengths[0][run]) >= SAME_MM:
            yield f"run {run} is {_by(length_mm - lengths[0][run])}"


def _by_run(route: Route) -> dict[str, float]:
    lengths: Counter[str] = Counter()
    for step in route.steps:
        lengths[step.run] += step.length_mm  # type: ignore[assignment]
    return dict(lengths)


def _by(difference_mm: float) -> str:
    return f"{abs(difference_mm):.0f} mm {'longer' if difference_mm > 0 else 'shorter'}"


def _cable(ref: str, old: LaidCable | None, new: LaidCable | None, after: State, edits: Edits) -> Iterator[Change]:
    def piece(laid: LaidCable | None) -> Piece | None:
        return None if laid is None else Piece(laid.cut_mm, laid.cut_mm, laid.cable.cable_type)

    words = []
    if old is not None and new is not None:
        words = list(_way_words(old.route, new.route))
        if abs(old.tails_mm - new.tails_mm) >= SAME_MM:
            words.append(f"its tails are {_by(new.tails_mm - old.tails_mm)}")
    yield from _lines(
        "cable", ref, piece(old), piece(new), state=after, why="; ".join(words), told=edits.of("cables", ref, "cable_type"), about=(), minutes=allowances.CABLE,
        caution=HV_CAUTION,
    )  # fmt: skip


def _hose(ref: str, old: LaidHose | None, new: LaidHose | None, after: State, edits: Edits) -> Iterator[Change]:
    def piece(laid: LaidHose | None) -> Piece | None:
        return None if laid is None else Piece(laid.cut_mm, laid.cut_mm, f"hose {laid.hose.bore_mm:g} x {laid.hose.outside_mm:g}")

    words, told = [], edits.of("hoses", ref, "bore_mm", "outside_mm")
    if old is not None and new is not None:
        words = list(_way_words(old.route, new.route))
        tails = _tails(new.hose) - _tails(old.hose)
        if abs(tails) >= SAME_MM:
            words.append(f"its tails are {_by(tails)}")
    yield from _lines("hose", ref, piece(old), piece(new), state=after, why="; ".join(words), told=told, about=(), minutes=allowances.HOSE)


def _tails(hose: Hose) -> float:
    return hose.tail_from_mm + hose.tail_to_mm


def _tubes(before: State, after: State) -> Iterator[Change]:
    """Tubes, ducts and sleeves, run by run; tape is not cut to pieces."""
    was, now = _covered(before), _covered(after)
    for (code, ref), old, new in _both(was, now):
        pieces = [None if length is None else Piece(length, float(math.ceil(length - 1e-4)), code) for length in (old, new)]
        runs = [state.routing.run_lengths.get(ref) for state in (before, after)]
        why = ""
        if runs[0] is not None and runs[1] is not None and abs(runs[1].length_mm - runs[0].length_mm) >= SAME_MM:
            why = f"run {ref} is {_by(runs[1].length_mm - runs[0].length_mm)}"
        yield from _lines("tube", f"{code} on {ref}", *pieces, state=after, why=why, told=(), about=(code, ref), minutes=allowances.TUBE)


def _covered(state: State) -> dict[tuple[str, str], float]:
    return {
        (item.code, piece.ref): piece.length_mm
        for item in materials(state.conversion, state.routing)
        if item.group == "covering" and item.is_cut
        for piece in item.pieces
    }


def cut_new(lines: Sequence[Change], kind: str) -> frozenset[str]:
    """Marks of what is cut from new material, of a tube the run or splice under it; what is cut down takes none."""
    return frozenset(
        line.about[-1] if kind == "tube" else line.ref
        for line in lines
        if line.act == "cut" and line.kind == kind and line.do.startswith(NEW)
    )
