"""In which order a person lays the wires of a loom on its board, and past which pegs each one goes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.board import Board
from halfshaft.studies.looms.continuity import natural
from halfshaft.studies.looms.on_board import Lines, Span
from halfshaft.studies.looms.routing import LaidLoom, LaidWire

# A peg belongs to a bundle that it stands this near to, beyond touching it.
PEG_CLEAR_MM = 3.0
GROUND_ROLES = frozenset({"ground", "sensor_ground"})


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidNext:
    """One line of the run-out list: the wire, why it comes now, its pegs in order, and which plugs and splices it completes."""

    wire: str
    stage: str
    pegs: tuple[int, ...]
    closes: tuple[str, ...]


def run_out(conversion: Conversion, laid: LaidLoom, board: Board | None) -> tuple[LaidNext, ...]:
    """The wires in the order in which they are laid (common practice).

    Joined groups first, since a splice is soon covered; then twisted and screened pairs, which cannot be threaded in later;
    then plug by plug, the one with the longest wire first and its own wires long ones first, so that each plug is completed
    once and left; ground wires last. Wires without a way are left out.
    """
    by_stage: dict[str, list[LaidWire]] = {"splice": [], "pair": [], "plug": [], "ground": []}
    for wire in laid.wires:
        if wire.length is not None:
            by_stage[_stage_of(conversion, wire)].append(wire)
    ordered: list[tuple[str, LaidWire]] = []
    ordered += [("splice", wire) for wire in _by_splice(by_stage["splice"])]
    ordered += [("pair", wire) for wire in _by_pair(by_stage["pair"])]
    for stage in ("plug", "ground"):
        ordered += [(stage, wire) for wire in _by_plug(by_stage[stage])]
    waiting: dict[str, int] = defaultdict(int)
    for _, wire in ordered:
        for name in _ends(wire):
            waiting[name] += 1
    path = _Pegs(board, conversion.shop.peg_diameter_mm) if board is not None else None
    lines = []
    for stage, wire in ordered:
        closes = []
        for name in _ends(wire):
            waiting[name] -= 1
            if waiting[name] == 0:
                closes.append(name)
        lines.append(LaidNext(wire=wire.wire.ref, stage=stage, pegs=path.of(wire) if path else (), closes=tuple(closes)))
    return tuple(lines)


def _stage_of(conversion: Conversion, wire: LaidWire) -> str:
    if wire.start.is_splice or wire.end.is_splice:
        return "splice"
    if wire.wire.twist_group or wire.wire.screen:
        return "pair"
    pins = (wire.wire.from_pin, wire.wire.to_pin)
    return "ground" if any(conversion.cavity[pin].role in GROUND_ROLES for pin in pins) else "plug"


def _ends(wire: LaidWire) -> tuple[str, ...]:
    """What is complete once its last wire is in: plugs and splices."""
    return tuple(dict.fromkeys(end.pin if end.connector is None else end.connector for end in (wire.start, wire.end)))


def _long_first(wire: LaidWire) -> tuple[float, list[tuple[int, str]]]:
    assert wire.length is not None
    return -wire.length.cut_mm, natural(wire.wire.ref)


def _by_splice(wires: list[LaidWire]) -> Iterator[LaidWire]:
    """Splice by splice; a wire between two of them goes with the first."""
    at: dict[str, list[LaidWire]] = defaultdict(list)
    for wire in wires:
        at[next(end.pin for end in (wire.start, wire.end) if end.is_splice)].append(wire)
    for splice in sorted(at, key=natural):
        yield from sorted(at[splice], key=_long_first)


def _by_pair(wires: list[LaidWire]) -> Iterator[LaidWire]:
    """Pair by pair, the longest first."""
    groups: dict[str, list[LaidWire]] = defaultdict(list)
    for wire in wires:
        groups[wire.wire.twist_group or wire.wire.screen].append(wire)
    for group in sorted(groups.values(), key=lambda group: min(_long_first(wire) for wire in group)):
        yield from sorted(group, key=lambda wire: natural(wire.wire.ref))


def _by_plug(wires: list[LaidWire]) -> Iterator[LaidWire]:
    """The plug with the longest wire first, all that is left of it, then the next."""
    left = sorted(wires, key=_long_first)
    while left:
        longest = left[0]
        # Of its two plugs the one with fewer wires left is completed: the other waits for more anyway.
        counts = {name: sum(name in _ends(wire) for wire in left) for name in _ends(longest)}
        plug = min(counts, key=lambda name: (counts[name], natural(name)))
        own = [wire for wire in left if plug in _ends(wire)]
        yield from own
        left = [wire for wire in left if wire not in own]


class _Pegs:
    """Which pegs stand beside each run and tail of a board."""

    def __init__(self, board: Board, peg_mm: float) -> None:
        self._lines = Lines(board)
        self._beside: dict[str, list[tuple[float, int]]] = {}
        for item in board.stretches:
            places = [(*item.path.nearest(peg.at), peg.number) for peg in board.pegs]
            for section in item.sections:
                reach = section.over_mm / 2 + PEG_CLEAR_MM + peg_mm / 2
                self._beside[section.ref] = sorted((along, number) for along, away, number in places if away <= reach)

    def of(self, wire: LaidWire) -> tuple[int, ...]:
        """The pegs that a wire passes, from its first end to its last."""
        return tuple(dict.fromkeys(number for span in self._lines.of(wire) for number in self._passed(span)))

    def _passed(self, span: Span) -> list[int]:
        low, high = sorted((span.from_mm, span.to_mm))
        numbers = [number for along, number in self._beside[span.section.ref] if low <= along <= high]
        return numbers if span.from_mm <= span.to_mm else numbers[::-1]
