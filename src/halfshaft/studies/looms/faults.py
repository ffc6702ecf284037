"""From the readings of a filled test sheet to the likely fault: the fewest faults that explain every reading."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from halfshaft.model.reading import Measured, Reading
from halfshaft.studies.looms.benches import Bench, Branch
from halfshaft.studies.looms.fault_words import Suspect, suspect_of
from halfshaft.studies.looms.readings import OHM_OF, OPEN_OHM
from halfshaft.studies.looms.single_faults import Fault, Simulator, short_of, single_faults

# How many half explanations are followed at once, by how many faults they hold; beyond that the best one alone.
BEAM = (24, 12, 4)
MOST_FAULTS = 24
MOST_EXPLANATIONS = 12
# Two values are taken for one where they differ by no more than this share: what a hand-held meter is good for.
SAME_SHARE = 0.15
# A value told to pass so close to a limit, as a share of the room between both limits, may be found beyond it.
NEAR_SHARE = 0.05
# Two voltages across a diode are taken for one where they differ by no more.
SAME_V = 0.4


@dataclass(frozen=True, kw_only=True, slots=True)
class Explanation:
    """Faults that together explain the readings."""

    suspects: tuple[Suspect, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Diagnosis:
    """What a filled sheet says of one loom.

    `explanations` fit equally well. `unexplained` are lines out of limits that none of them explains, `unexpected` are
    lines within limits that should not be, were the first explanation true. `told` is what else there is to say.
    """

    loom: str
    passed: tuple[Measured, ...]
    failed: tuple[Measured, ...]
    not_measured: tuple[Reading, ...]
    explanations: tuple[Explanation, ...]
    unexplained: tuple[Measured, ...]
    unexpected: tuple[Measured, ...]
    told: tuple[str, ...] = ()

    @property
    def is_good(self) -> bool:
        """Whether every line was measured and passes."""
        return not self.failed and not self.not_measured


def diagnose(bench: Bench, measured: Sequence[Measured]) -> Diagnosis:
    """Hold what was found against what is right, and name the likely faults and where to look."""
    return Bay(bench, [item.reading for item in measured]).diagnose([item.found for item in measured], measured)


@dataclass(frozen=True, slots=True)
class _Guess:
    """Some faults, the values that they lead to, and how many readings speak against them."""

    faults: tuple[Fault, ...]
    values: dict[int, float]
    wrong: frozenset[int]


class Bay:
    """One loom with its lines and every single fault tried once; for several sheets of the same loom."""

    def __init__(self, bench: Bench, readings: Sequence[Reading]) -> None:
        self.bench, self.readings = bench, tuple(readings)
        self.simulator = Simulator(bench, self.readings)
        self._short_of: dict[tuple[int, int], tuple[Fault, dict[int, float]]] = {}

    @cached_property
    def known(self) -> tuple[tuple[Fault, dict[int, float]], ...]:
        """Every single fault but shorts with the values that it changes."""
        return tuple((fault, self.simulator.changes([fault])) for fault in single_faults(self.bench))

    @cached_property
    def _touching(self) -> dict[int, list[int]]:
        """By index of a reading, the numbers of the faults that change it."""
        touching: dict[int, list[int]] = defaultdict(list)
        for number, (_, alone) in enumerate(self.known):
            for index in alone:
                touching[index].append(number)
        return touching

    def _shorts(self, failed: frozenset[int]) -> list[tuple[Fault, dict[int, float]]]:
        """Shorts of every two groups of which one has a line that fails: of a large loom all pairs would be too many."""
        pins = {pin for index in failed for pin in self.readings[index].between}
        failing = [number for number, group in enumerate(self.bench.groups) if not pins.isdisjoint(group.pins)]
        pairs = sorted({(min(one, other), max(one, other)) for one in failing for other in range(len(self.bench.groups)) if other != one})
        for one, other in pairs:
            if (one, other) not in self._short_of:
                fault = short_of(self.bench.groups[one], self.bench.groups[other])
                self._short_of[one, other] = (fault, self.simulator.changes([fault]))
        return [self._short_of[pair] for pair in pairs]

    def diagnose(self, found: Sequence[float | None], measured: Sequence[Measured]) -> Diagnosis:
        """What these values say, one for each line."""
        values = {index: value for index, value in enumerate(found) if value is not None}
        failed = frozenset(index for index, value in values.items() if not self.readings[index].passes(value))
        guesses = self._guesses(values, failed)
        wrong = guesses[0].wrong if guesses else failed
        return Diagnosis(
            loom=self.bench.name,
            passed=tuple(measured[index] for index in values if index not in failed),
            failed=tuple(measured[index] for index in sorted(failed)),
            not_measured=tuple(self.readings[index] for index, value in enumerate(found) if value is None),
            explanations=tuple(
                Explanation(suspects=tuple(suspect_of(self.bench, fault) for fault in guess.faults))
                for guess in guesses[:MOST_EXPLANATIONS]
            ),
            unexplained=tuple(measured[index] for index in sorted(wrong & failed)),
            unexpected=tuple(measured[index] for index in sorted(wrong - failed)),
        )

    def _guesses(self, found: dict[int, float], failed: frozenset[int]) -> list[_Guess]:
        """Explanations of all readings; failing that, of those taken in the states in which lines fail.

        A wire that was open on its own and not so with parts plugged in has been touched in between, or comes and goes.
        """
        guesses = self._search(found, failed)
        if guesses or not failed:
            return guesses
        states = {self.readings[index].state for index in failed}
        near = {index: value for index, value in found.items() if self.readings[index].state in states}
        guesses = [replace(guess, wrong=self._against(guess.values, found, failed)) for guess in self._search(near, failed)]
        fewest = min((len(guess.wrong) for guess in guesses), default=0)
        return [guess for guess in guesses if len(guess.wrong) == fewest]

    def _search(self, found: dict[int, float], failed: frozenset[int]) -> list[_Guess]:
        """Explanations with the fewest faults; without one that explains everything, the best of those that come near."""
        beam = [_Guess((), {}, failed)]
        best: list[_Guess] = []
        for depth in range(1, MOST_FAULTS + 1):
            grown = self._grown(beam, found, failed)
            if not grown:
                break
            best = [guess for guess in grown if len(guess.wrong) == len(grown[0].wrong)]
            if not grown[0].wrong:
                break
            beam = grown[: BEAM[depth - 1] if depth <= len(BEAM) else 1]
        return best

    def _grown(self, beam: list[_Guess], found: dict[int, float], failed: frozenset[int]) -> list[_Guess]:
        """Each guess with one fault more, where that speaks for it; best first."""
        grown: dict[frozenset[tuple[str, ...]], _Guess] = {}
        shorts = self._shorts(failed)

        def grow(guess: _Guess, fault: Fault, alone: dict[int, float]) -> None:
            faults = (*guess.faults, fault)
            values = alone if not guess.faults else self.simulator.changes(faults)
            wrong = self._against(values, found, failed)
            if fault not in guess.faults and len(wrong) < len(guess.wrong):
                place = frozenset(_place(item) for item in faults)
                if place not in grown or len(wrong) < len(grown[place].wrong):
                    grown[place] = _Guess(faults, values, wrong)

        for guess in beam:
            for number in sorted({number for index in guess.wrong for number in self._touching.get(index, ())}):
                grow(guess, *self.known[number])
            for fault, alone in shorts:
                if not guess.wrong.isdisjoint(alone):
                    grow(guess, fault, alone)
        # Almost any reading can be had with some resistance somewhere; that is asked only where nothing plainer fits.
        if all(guess.wrong for guess in grown.values()):
            for guess in beam:
                for fault in self._measured_faults(guess, found):
                    grow(guess, fault, self.simulator.changes([fault]))
        return sorted(grown.values(), key=lambda guess: len(guess.wrong))

    def _measured_faults(self, guess: _Guess, found: dict[int, float]) -> Iterable[Fault]:
        """Faults whose size follows from a reading: resistance where there should be less of it, or more."""
        for index in sorted(guess.wrong):
            reading, value = self.readings[index], found[index]
            now = guess.values.get(index, self.simulator.sound[index])
            if reading.quantity != "resistance" or _is_open(reading, value) or _is_open(reading, now) or reading.passes(value):
                continue
            excess_ohm = (value - now) * OHM_OF[reading.unit]
            if excess_ohm > 0:
                yield from self._poor_contacts(reading, excess_ohm)
            elif reading.unit == "Ω" and value > 0:
                yield from self._extra(reading, value * now / (now - value))

    def _poor_contacts(self, reading: Reading, excess_ohm: float) -> Iterable[Fault]:
        branches = self.bench.states[reading.state]
        on_the_way = set(reading.wires) | {ref for ref, branch in branches.items() if branch.kind in ("fuse", "closed contact")}
        for ref, branch in branches.items():
            if ref in on_the_way and branch.conducts:
                yield Fault(kind="resistance", about=(ref,), raised_ohm=((ref, round(excess_ohm, 6)),))

    def _extra(self, reading: Reading, ohm: float) -> Iterable[Fault]:
        """Something beside the parts: in one of the units that are plugged in, or anywhere."""
        units = [branch for branch in self.bench.states[reading.state].values() if branch.kind == "unit"]
        for unit in units:
            branch = Branch(
                ref=f"extra at {unit.ref}", kind="resistor", start=unit.start, end=unit.end, ohm=round(ohm, 3), moved_by=unit.ref
            )
            yield Fault(kind="extra", about=(unit.ref.removesuffix(" plug"), f"{ohm:.3g}"), added=(branch,))
        if not units:
            one, other = reading.between
            branch = Branch(ref=f"extra at {one}", kind="short", start=one, end=other, ohm=round(ohm, 3))
            yield Fault(kind="extra", about=(f"{one} and {other}", f"{ohm:.3g}"), added=(branch,))

    def _against(self, values: dict[int, float], found: dict[int, float], failed: frozenset[int]) -> frozenset[int]:
        """Measured lines where what was found is not what these values say."""
        asked = failed.union(index for index, value in values.items() if index in found and not self.readings[index].passes(value))
        return frozenset(
            index for index in asked if not _agree(self.readings[index], values.get(index, self.simulator.sound[index]), found[index])
        )


def _place(fault: Fault) -> tuple[str, ...]:
    """What makes a fault another one: how many ohms it has is not part of that."""
    return (fault.kind, *(fault.about[:1] if fault.kind == "extra" else fault.about))


def _agree(reading: Reading, told: float, found: float) -> bool:
    """Whether a value found may be the one that was told."""
    if reading.quantity == "diode" and reading.passes(told) == reading.passes(found):
        return told == found or abs(told - found) <= SAME_V
    if reading.quantity != "resistance":
        return reading.passes(told) == reading.passes(found)
    if _is_open(reading, told) or _is_open(reading, found):
        return _is_open(reading, told) and _is_open(reading, found)
    if reading.passes(told) and reading.passes(found):
        return True
    assert reading.high is not None
    assert reading.expected is not None
    close = abs(told - found) <= max((reading.high - reading.expected) / 2, SAME_SHARE * max(told, found))
    near = NEAR_SHARE * (reading.high - reading.low)
    return close and (told > reading.high - near or told < reading.low + near)


def _is_open(reading: Reading, value: float) -> bool:
    return value * OHM_OF[reading.unit] >= OPEN_OHM
