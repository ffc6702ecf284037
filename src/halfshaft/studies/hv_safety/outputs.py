"""What each output does in each state of the car: gaps, contradictions, and outputs that reach nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import OutputStates
from halfshaft.studies.wires.circuit import Branch, branches_of, supply_of

STATES = ("off", "waking", "ready", "driving", "plugged_in", "charging", "tripped", "crashed")
# How a cell begins when its output is at rest.
AT_REST = {
    "contactor": ("open",), "pre-charge": ("open",), "lock": ("free", "unlocked", "open"), "line": ("cut", "dead", "off"), "inhibit": ("-", "–", "no"),
}  # fmt: skip
OFF = ("off", "-", "–", "no")
# Words after which an output works only under a condition, not throughout the state.
CONDITIONS = frozenset({"after", "when", "while", "if", "only", "by", "as", "above", "below", "request", "until", "for", "at", "in"})
MESSAGE = "message to "
Doing = Literal["blank", "rest", "on", "sometimes"]
# kind, states in which it must be at rest, why.
MUST_REST: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("contactor", ("off", "tripped", "crashed"), "the battery stays joined to everything behind it"),
    ("pre-charge", ("off", "tripped", "crashed"), "the battery stays joined through the resistor, which burns"),
    ("inverter", ("off", "plugged_in", "charging", "tripped", "crashed"), "the car can move"),
    ("charger", ("off", "driving", "tripped", "crashed"), "it must not feed the battery then"),
    ("heater", ("off", "tripped", "crashed"), "nobody watches it"),
    ("pump", ("off",), "it runs the 12 V battery down with the key off"),
    ("fan", ("off",), "it runs the 12 V battery down with the key off"),
)
# Kinds that live on the pack through the main contactors.
FED = ("converter", "inverter", "charger", "heater")


@dataclass(frozen=True, kw_only=True, slots=True)
class Contradiction:
    """One cell of the table that cannot be meant, and why."""

    output: str
    state: str
    cell: str
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Astray:
    """An output that does not get where it should: `what` of acts_on is not reached, or nothing is joined to its pin."""

    output: str
    what: str
    why: str
    is_protective: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Outputs:
    """The table as written, and what is wrong with it."""

    rows: tuple[OutputStates, ...]
    gaps: tuple[tuple[str, tuple[str, ...]], ...]
    contradictions: tuple[Contradiction, ...]
    astray: tuple[Astray, ...]
    drives_plugged_in: tuple[str, ...]


def doing(kind: str, cell: str) -> Doing:
    """What a cell says: by its first word at rest or not, by the words after it throughout or only under a condition.

    >>> doing("contactor", "open, coil line cut by IS"), doing("converter", "on after main plus"), doing("pump", "on")
    ('rest', 'sometimes', 'on')
    """
    words = cell.lower().replace(",", " ").replace(";", " ").split()
    if not words:
        return "blank"
    if words[0] in AT_REST.get(kind, OFF):
        return "rest"
    return "sometimes" if CONDITIONS & set(words) else "on"


def study_outputs(conversion: Conversion) -> Outputs | None:
    """None where no table of outputs is written."""
    rows = conversion.output_states
    if not rows:
        return None
    return Outputs(
        rows=rows,
        gaps=tuple((row.ref, blank) for row in rows if (blank := tuple(state for state in STATES if not getattr(row, state)))),
        contradictions=tuple(_contradictions(rows)),
        astray=tuple(_astray(conversion, rows)),
        drives_plugged_in=_drives_plugged_in(conversion, rows),
    )


def _contradictions(rows: tuple[OutputStates, ...]) -> Iterable[Contradiction]:
    for kind, states, why in MUST_REST:
        for row in rows:
            if row.kind == kind:
                for state in states:
                    if doing(kind, getattr(row, state)) in ("on", "sometimes"):
                        yield Contradiction(output=row.ref, state=state, cell=getattr(row, state), why=why)
    contactors = [row for row in rows if row.kind == "contactor"]
    refused = {(kind, state) for kind, states, _ in MUST_REST for state in states}
    for state in STATES:
        dead = [row.ref for row in contactors if doing("contactor", getattr(row, state)) == "rest"]
        for row in rows:
            if dead and row.kind in FED and (row.kind, state) not in refused and doing(row.kind, getattr(row, state)) == "on":
                why = f"{' and '.join(dead)} {'is' if len(dead) == 1 else 'are'} open then, so it has no volts to work from"
                yield Contradiction(output=row.ref, state=state, cell=getattr(row, state), why=why)
    for row in rows:
        if row.kind == "lock" and doing("lock", row.charging) == "rest":
            yield Contradiction(output=row.ref, state="charging", cell=row.charging, why="the plug can be pulled under load")


def _drives_plugged_in(conversion: Conversion, rows: tuple[OutputStates, ...]) -> tuple[str, ...]:
    """States with the plug in that no inhibit covers, where the car has a charge inlet and its inverter is in the table."""
    has_inlet = any(cavity.role.startswith("ac_") for cavity in conversion.cavity.values())
    if not has_inlet or not any(row.kind == "inverter" for row in rows):
        return ()
    inhibits = [row for row in rows if row.kind == "inhibit"]
    return tuple(
        state for state in ("plugged_in", "charging") if not any(doing("inhibit", getattr(row, state)) == "on" for row in inhibits)
    )


def _astray(conversion: Conversion, rows: tuple[OutputStates, ...]) -> Iterable[Astray]:
    wired = {pin for wire in conversion.wires for pin in (wire.from_pin, wire.to_pin)}
    tracer = _Tracer(conversion)
    for row in rows:
        if row.driven_by.startswith(MESSAGE):
            yield from _message_astray(conversion, row)
        elif row.driven_by not in conversion.cavity:
            yield _of(row, row.driven_by, "there is no such pin")
        elif row.driven_by not in wired:
            yield _of(row, row.driven_by, "no wire is on that pin")
        else:
            reached = tracer.reached(row.driven_by)
            yield from (_of(row, aim, "no wire leads there") for aim in row.acts_on if not _is_met(conversion, row, aim, reached))


def _of(row: OutputStates, what: str, why: str) -> Astray:
    return Astray(output=row.ref, what=what, why=why, is_protective=row.protective)


def _message_astray(conversion: Conversion, row: OutputStates) -> Iterable[Astray]:
    """A message needs a bus with its receiver and somebody else on it. Where no bus is described, nobody knows."""
    device = row.driven_by.removeprefix(MESSAGE)
    nodes: dict[str, set[str]] = defaultdict(set)
    for node in conversion.bus_nodes:
        nodes[node.bus].add(node.device)
    if nodes and not any(device in found and len(found) > 1 for found in nodes.values()):
        yield _of(row, device, "it is on no bus with another unit")


def _is_met(conversion: Conversion, row: OutputStates, aim: str, reached: frozenset[str]) -> bool:
    """Whether what is reached has a pin of the element, or of the unit, that the output acts on."""
    element = conversion.element.get(aim)
    if element is not None:
        device = aim.partition(".")[0]
        return bool({f"{device}.{element.pin_a}", f"{device}.{element.pin_b}"} & reached)
    # An inhibit is told to the unit at whose pin it arrives.
    return aim == row.driven_by.partition(".")[0] or any(node.partition(".")[0] == aim for node in reached)


def _is_other(moved: set[str], branch: Branch) -> bool:
    """Whether a branch is none of the moved contacts."""
    return branch.ref not in moved


class _Tracer:
    """What a pin moves: along wires and links, through a relay by its coil; never along a rail or through ground."""

    def __init__(self, conversion: Conversion) -> None:
        self.conversion = conversion
        self.branches = branches_of(conversion, {})
        supply = supply_of(conversion)
        self.sources = set() if supply is None else {supply.plus}
        self.grounds = set() if supply is None else set(supply.grounds)
        self.grounds = self._spread(self.grounds, lambda branch: branch.kind in ("wire", "link"), set())

    def _spread(self, starts: Iterable[str], leads: Callable[[Branch], bool], shut: set[str]) -> set[str]:
        at: dict[str, list[Branch]] = defaultdict(list)
        for branch in self.branches:
            if leads(branch):
                at[branch.start].append(branch)
                at[branch.end].append(branch)
        reached, waiting = set(starts), sorted(starts)
        while waiting:
            node = waiting.pop()
            for branch in at.get(node, ()):
                other = branch.other(node)
                if other not in reached and other not in shut:
                    reached.add(other)
                    waiting.append(other)
        return reached

    def reached(self, pin: str) -> frozenset[str]:
        """Nodes downstream of a pin, or at its wire if it switches the low side."""
        found = self._spread([pin], lambda branch: branch.kind in ("wire", "link") or self._rests_closed(branch), self.grounds - {pin})
        while True:
            moved = self._moved_by(found)
            # The rails as they are without those contacts: what only they feed is downstream.
            rails = self._spread(self.sources, partial(_is_other, moved), self.grounds)
            starts = {node for branch in self.branches if branch.ref in moved for node in (branch.start, branch.end)} - rails - self.grounds
            more = found | self._spread(starts, lambda branch: True, rails | self.grounds)
            if more == found:
                return frozenset(found)
            found = more

    def _rests_closed(self, branch: Branch) -> bool:
        return branch.kind == "contact" and self.conversion.element[branch.ref].rest_state == "closed"

    def _moved_by(self, nodes: set[str]) -> set[str]:
        """Contacts that a coil with a pin at these nodes moves."""
        coils = set()
        for ref, element in self.conversion.element.items():
            device = ref.partition(".")[0]
            if element.kind == "coil" and {f"{device}.{element.pin_a}", f"{device}.{element.pin_b}"} & nodes:
                coils.add((device, element.ref))
        return {
            ref
            for ref, element in self.conversion.element.items()
            if element.kind == "contact" and (ref.partition(".")[0], element.moved_by) in coils
        }
