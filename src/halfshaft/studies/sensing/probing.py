"""What a probe sheet would read if something were wrong: single faults of modules, plugs and leads, and the volts they lead to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from halfshaft.model.reading import Reading
from halfshaft.studies.sensing.sheets import ProbedModule, ProbeSheet
from halfshaft.studies.sensing.volts import Circuit, Source, Walk

FaultKind = Literal[
    "turned", "turned with taps", "reversed plug", "mirrored plug", "swapped", "open", "exchanged", "leads", "leads at one line", "cell"
]
# Error of a hand-held meter on direct volts: a share of what it shows, and its last digits (common practice).
METER_SHARE, METER_V = 0.005, 0.05
# How far a cell that was not read by itself may be from the middle one of its sheet.
UNREAD_CELL_V = 0.15
# A lead on a wire that goes nowhere shows less than this, or nothing.
FLOATING_V = 0.3


@dataclass(frozen=True, kw_only=True, slots=True)
class ProbeFault:
    """One thing that is wrong: with which module, at which of its taps, with which other module, at which line."""

    kind: FaultKind
    module: str
    taps: tuple[int, ...] = ()
    other: str = ""
    line: int = 0

    @property
    def modules(self) -> tuple[str, ...]:
        """Every module it is about."""
        return (self.module, self.other) if self.other else (self.module,)


def faults_of(sheet: ProbeSheet, module: ProbedModule) -> Iterator[ProbeFault]:
    """Every single fault of one module and its plug; those of single lines depend on what was read, and are not among them."""
    for kind in ("turned", "turned with taps", "reversed plug", "leads"):
        yield ProbeFault(kind=kind, module=module.ref)
    if module.mirrored != tuple(reversed(range(len(module.pins)))):
        yield ProbeFault(kind="mirrored plug", module=module.ref)
    for tap in range(len(module.taps)):
        yield ProbeFault(kind="open", module=module.ref, taps=(tap,))
    for pair in combinations(range(len(module.taps)), 2):
        yield ProbeFault(kind="swapped", module=module.ref, taps=pair)
    for other in sheet.modules:
        if other.ref != module.ref and len(other.taps) == len(module.taps):
            first, second = sorted((module.ref, other.ref))
            yield ProbeFault(kind="exchanged", module=first, other=second)


@dataclass(frozen=True, slots=True)
class Told:
    """What one line would read under some faults, within which error; infinity where a lead hangs on nothing."""

    volts: float
    error_v: float

    def agrees(self, found: float) -> bool:
        """Whether a value found may be this one."""
        if math.isinf(self.volts):
            return math.isinf(found) or abs(found) <= FLOATING_V
        return abs(found - self.volts) <= self.error_v


class Prober:
    """One sheet as it was read: tells what each line would read under given faults, from the cells as they were found."""

    def __init__(self, sheet: ProbeSheet, readings: Sequence[Reading], found: Sequence[float | None]) -> None:
        self.sheet = sheet
        self.readings = tuple(readings)
        self.found = tuple(found)
        self.modules = {module.ref: module for module in sheet.modules}
        self._walked: dict[tuple[str, ...], list[Walk]] = {}
        self._places = {pin: (module.ref, index) for module in sheet.modules for index, pin in enumerate(module.pins)}

    def owners_of(self, pins: Sequence[str]) -> list[str]:
        """The modules at whose plugs these pins are."""
        return [self._places[pin][0] for pin in pins if pin in self._places]

    def told(self, faults: Sequence[ProbeFault]) -> list[Told]:
        """One for each line, in their order."""
        taps = self._taps_at_pins(faults)
        ends = [[taps.get(name, name) for name in reading.between] for reading in self.readings]
        walks = self._walks(tuple(sorted(fault.module for fault in faults if fault.kind in ("turned", "turned with taps"))))
        roots = {node: root for walk in walks for node, root in walk.roots.items()}
        sizes, errors = self._cell_volts(_cells_between(ends, walks, roots), faults)
        volts: dict[str, float] = {}
        error_v: dict[str, float] = {}
        for walk in walks:
            volts.update(walk.potentials(sizes))
            error_v.update(walk.distances(errors))
        told = []
        flipped = self._flipped(faults)
        for reading, (red, black) in zip(self.readings, ends, strict=True):
            if red is None or black is None:
                told.append(Told(math.inf, 0.0))
                continue
            up, down = roots[red], roots[black]
            value = (volts[up] - volts[down]) * (-1 if reading.number in flipped else 1)
            told.append(Told(value, METER_SHARE * abs(value) + METER_V + abs(error_v[up] - error_v[down])))
        return told

    def _walks(self, turned: tuple[str, ...]) -> list[Walk]:
        """The ways through each group with these modules turned end for end; kept, as most faults change none of them."""
        if turned not in self._walked:
            self._walked[turned] = [
                Circuit(
                    group.sources,
                    (
                        *group.joins,
                        *(join for module in group.modules for join in (module.turned if turned.count(module.ref) % 2 else module.studs)),
                    ),
                ).walk(group.datum)
                for group in self.sheet.groups
            ]
        return self._walked[turned]

    def _flipped(self, faults: Sequence[ProbeFault]) -> set[int]:
        """Lines at which the leads were held the other way round."""
        lines: set[int] = set()
        for fault in faults:
            if fault.kind == "leads at one line":
                lines ^= {fault.line}
            elif fault.kind == "leads":
                lines ^= {number for number, owner in self.sheet.owners.items() if owner == fault.module}
        return lines

    def _taps_at_pins(self, faults: Sequence[ProbeFault]) -> dict[str, str | None]:
        """By pin, the tap whose wire is there, or None where it hangs on nothing."""
        at: dict[str, list[str | None]] = {module.ref: list(module.taps) for module in self.sheet.modules}
        for fault in faults:
            here = at[fault.module]
            if fault.kind in ("turned with taps", "reversed plug"):
                at[fault.module] = here[::-1]
            elif fault.kind == "mirrored plug":
                mirrored = self.modules[fault.module].mirrored
                at[fault.module] = [None if index is None else here[index] for index in mirrored]
            elif fault.kind == "swapped":
                one, other = fault.taps
                here[one], here[other] = here[other], here[one]
            elif fault.kind == "open":
                here[fault.taps[0]] = None
            elif fault.kind == "exchanged":
                at[fault.module], at[fault.other] = at[fault.other], at[fault.module]
        return {pin: at[ref][index] for pin, (ref, index) in self._places.items()}

    def _cell_volts(self, single: Sequence[Source | None], faults: Sequence[ProbeFault]) -> tuple[dict[Source, float], dict[Source, float]]:
        """Volts of every cell, and how far they may be off: as read where a line reads just that cell, else the middle of all those."""
        weak = {fault.line for fault in faults if fault.kind == "cell"}
        read: dict[Source, float] = {}
        for source, reading, value in zip(single, self.readings, self.found, strict=True):
            if source is None or value is None or math.isinf(value):
                continue
            kind = self.modules[source.module].kind
            low, high = source.cells * kind.cell_stop_v, source.cells * kind.cell_full_v
            if reading.number in weak or low - METER_V <= abs(value) <= high + METER_V:
                read.setdefault(source, abs(value))
        each = sorted(volts / source.cells for source, volts in read.items())
        sources = [source for group in self.sheet.groups for source in group.sources]
        middle = each[len(each) // 2] if each else self.sheet.modules[0].kind.cell_nominal_v
        sizes = {source: read.get(source, middle * source.cells) for source in sources}
        return sizes, {source: METER_SHARE * sizes[source] if source in read else UNREAD_CELL_V * source.cells for source in sources}


def _cells_between(ends: Sequence[Sequence[str | None]], walks: Sequence[Walk], roots: Mapping[str, str]) -> list[Source | None]:
    """For each line the cell that it reads by itself, if it does."""
    cells = {frozenset((step.start, step.end)): step.source for walk in walks for step in walk.steps}
    return [None if None in pair else cells.get(frozenset(roots[str(node)] for node in pair)) for pair in ends]
