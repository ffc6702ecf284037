"""Every single fault that a finished loom can have, and what the meter would then read."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from halfshaft.model.reading import Reading
from halfshaft.studies.looms.benches import Bench, Branch, Branches, Socket, mesh_at
from halfshaft.studies.looms.continuity import Joined
from halfshaft.studies.looms.readings import value_of

FaultKind = Literal[
    "open", "missing", "resistance", "swap", "rings", "short", "cavity", "mirrored", "unplugged", "closed", "shorted", "reversed", "extra"
]
# A hard short, such as a strand across two terminals.
SHORT_OHM = 0.005


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """One thing that can be wrong, as a change of the network.

    `about` names wires and parts, or pins. Wire ends move all at once from the first node of each pair in `moved` to
    the second.
    """

    kind: FaultKind
    about: tuple[str, ...]
    removed: tuple[str, ...] = ()
    moved: tuple[tuple[str, str], ...] = ()
    added: tuple[Branch, ...] = ()
    turned: tuple[str, ...] = ()
    raised_ohm: tuple[tuple[str, float], ...] = ()

    def applied(self, branches: Branches) -> dict[str, Branch]:
        """The branches with this fault among them."""
        new = {ref: branch for ref, branch in branches.items() if ref not in self.removed}
        if self.moved:
            to = dict(self.moved)
            for ref, branch in new.items():
                if branch.kind == "wire" and (branch.start in to or branch.end in to):
                    new[ref] = replace(branch, start=to.get(branch.start, branch.start), end=to.get(branch.end, branch.end))
        for ref in self.turned:
            if ref in new:
                new[ref] = replace(new[ref], start=new[ref].end, end=new[ref].start)
        for ref, ohm in self.raised_ohm:
            if ref in new:
                new[ref] = replace(new[ref], ohm=new[ref].ohm + ohm)
        # A part is there only in a state in which it is plugged in; what is added to a part goes with it.
        new.update({branch.ref: branch for branch in self.added if branch.kind == "short" or branch.moved_by in branches})
        return new


class Simulator:
    """What the meter reads at each line of one loom, sound or with faults. Only what a fault touches is computed again."""

    def __init__(self, bench: Bench, readings: Sequence[Reading]) -> None:
        self.bench, self.readings = bench, tuple(readings)
        self._sound = {state: mesh_at(branches.values(), Branch.likely_ohm) for state, branches in bench.states.items()}
        self._at = {state: _by_node(branches) for state, branches in bench.states.items()}
        self._lines: dict[str, list[tuple[int, Reading]]] = defaultdict(list)
        for index, reading in enumerate(self.readings):
            self._lines[reading.state].append((index, reading))
        self._has_diodes = {state: any(branch.kind == "diode" for branch in branches.values()) for state, branches in bench.states.items()}
        self.sound = {
            index: value_of(bench, reading, bench.states[reading.state], self._sound[reading.state])
            for index, reading in enumerate(self.readings)
        }

    def changes(self, faults: Iterable[Fault]) -> dict[int, float]:
        """By index of its reading, every value that these faults together touch."""
        found: dict[int, float] = {}
        for state, branches in self.bench.states.items():
            new: Branches = branches
            for fault in faults:
                new = fault.applied(new)
            changed = [ref for ref in {**branches, **new} if branches.get(ref) is not new.get(ref)]
            if changed and self._lines[state]:
                found.update(self._values(state, branches, new, changed))
        return found

    def _values(self, state: str, branches: Branches, new: Branches, changed: list[str]) -> Iterator[tuple[int, float]]:
        ends = {end for ref in changed for branch in (branches.get(ref), new.get(ref)) if branch for end in (branch.start, branch.end)}
        touched: set[str] = set()
        for end in sorted(ends):
            touched |= self._sound[state].joined(end)
        if self._has_diodes[state]:
            touched.update(self._at[state])
        refs = {*changed, *(ref for node in touched for ref in self._at[state].get(node, ()))}
        mesh = mesh_at([new[ref] for ref in sorted(refs) if ref in new], Branch.likely_ohm)
        for index, reading in self._lines[state]:
            if reading.between[0] in touched or reading.between[1] in touched:
                yield index, value_of(self.bench, reading, new, mesh)


def _by_node(branches: Branches) -> Mapping[str, tuple[str, ...]]:
    found: dict[str, list[str]] = defaultdict(list)
    for ref, branch in branches.items():
        found[branch.start].append(ref)
        found[branch.end].append(ref)
    return {node: tuple(refs) for node, refs in found.items()}


def single_faults(bench: Bench) -> tuple[Fault, ...]:
    """Every single fault but shorts: wires first, then parts, then terminals in wrong cavities."""
    return (
        *(Fault(kind="open", about=(ref,), removed=(ref,)) for ref, branch in bench.states[bench.bare].items() if branch.kind == "wire"),
        *_part_faults(bench),
        *(fault for socket in bench.sockets for fault in _terminal_faults(bench, socket)),
    )


def short_of(one: Joined, other: Joined) -> Fault:
    """Two groups that touch."""
    return Fault(kind="short", about=(one.pins[0], other.pins[0]), added=(_short(one.pins[0], other.pins[0]),))


def _short(one: str, other: str) -> Branch:
    return Branch(ref=f"{one} to {other}", kind="short", start=one, end=other, ohm=SHORT_OHM)


def _part_faults(bench: Bench) -> Iterator[Fault]:
    parts = {ref: branch for branches in bench.states.values() for ref, branch in branches.items() if branch.kind not in ("wire", "unit")}
    for ref, branch in parts.items():
        if branch.conducts:
            yield Fault(kind="missing", about=(ref,), removed=(ref,))
        if branch.kind in ("coil", "resistor", "diode"):
            yield Fault(kind="shorted", about=(ref,), added=(_inside(ref, branch, "link"),))
        if branch.kind == "open contact":
            yield Fault(kind="closed", about=(ref,), added=(replace(_inside(ref, branch, "link"), ohm=branch.ohm),))
        if branch.kind == "diode":
            yield Fault(kind="missing", about=(ref,), removed=(ref,))
            yield Fault(kind="reversed", about=(ref,), turned=(ref,))


def _inside(ref: str, branch: Branch, kind: str) -> Branch:
    """Something beside a part, there whenever the part is there: `moved_by` names the part."""
    return Branch(ref=f"{ref} bridged", kind=kind, start=branch.start, end=branch.end, ohm=SHORT_OHM, moved_by=ref)


def _terminal_faults(bench: Bench, socket: Socket) -> Iterator[Fault]:
    filled = [pin for pin in socket.places if pin not in bench.open_cavities and pin in bench.lead_ohm]
    for one, other in itertools.combinations(filled, 2):
        same = one in bench.rings and bench.rings[one] == bench.rings.get(other)
        yield Fault(kind="rings" if same else "swap", about=(one, other), moved=((one, other), (other, one)))
    if socket.is_stud:
        return
    for pin in filled:
        for free in socket.places:
            if free in bench.open_cavities:
                yield Fault(kind="cavity", about=(pin, free), moved=((pin, free),))
    if len(filled) > 2:
        mirrored = socket.mirrored()
        moved = tuple((pin, mirrored[pin]) for pin in filled if mirrored.get(pin, pin) != pin)
        if len(moved) > 2:
            yield Fault(kind="mirrored", about=(socket.name,), moved=moved)
    if len(filled) > 1:
        yield Fault(kind="unplugged", about=(socket.name,), moved=tuple((pin, f"~{pin}") for pin in filled))


def wires_at(branches: Branches, pin: str) -> tuple[str, ...]:
    """Wires that end at a pin or splice."""
    return tuple(ref for ref, branch in branches.items() if branch.kind == "wire" and pin in (branch.start, branch.end))


def unreached(bench: Bench, readings: Sequence[Reading]) -> tuple[str, ...]:
    """Parts plugged in whose loss, or whose closing, no reading would show."""
    simulator = Simulator(bench, readings)
    silent = [
        fault.about[0]
        for fault in _part_faults(bench)
        if fault.kind in ("missing", "closed") and all(readings[index].passes(value) for index, value in simulator.changes([fault]).items())
    ]
    return tuple(dict.fromkeys(silent))
