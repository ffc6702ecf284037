"""From a filled commissioning sheet to what is suspected.

Each line says by how much each thing on its way would change it. So a line that fails gives a range of how bad each such
thing would have to be, and every other line with the same thing on its way, failed or passed, gives one too. A thing is
suspected where all these ranges agree and it explains most of the lines that fail; of several such the sheet cannot tell which
it is, and all are named. What is left over is explained by the next thing.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from halfshaft.model.reading import Measured
from halfshaft.studies.commissioning.records import Commissioning, Part, Step
from halfshaft.studies.commissioning.study import BUS_PART
from halfshaft.studies.looms.benches import Bench
from halfshaft.studies.looms.fault_words import Suspect
from halfshaft.studies.looms.faults import Diagnosis, Explanation, diagnose

BINARY = ("open", "seen")
OHM_OF = {"mΩ": 1e-3, "Ω": 1.0}
# Volts below this share of what is expected are taken for none: the way is open, and what little there is comes from elsewhere.
OPEN_SHARE = 0.5
# Ranges that miss each other by less than this share are rounding.
ROUNDING = 1e-6
MOST_NAMES = 8


@dataclass(frozen=True, slots=True)
class _Found:
    """One measured line: by how much it is off to the bad side, and how far it may be off by nature."""

    step: Step
    item: Measured
    off: float
    play: float

    @property
    def failed(self) -> bool:
        """Whether the line is outside its limits."""
        assert self.item.found is not None
        return not self.item.reading.passes(self.item.found)

    @property
    def is_bad(self) -> bool:
        """Whether it failed to the side to which worse things move it."""
        return self.failed and self.off > 0

    def range_of(self, per: float) -> tuple[float, float]:
        """How bad a thing on its way must be at least, and may be at most, by this line."""
        if per == 0.0:
            # Nothing but its opening is felt here: a line that has its volts says that it is not open, and no more.
            return (math.inf, math.inf) if math.isinf(self.off) else (-math.inf, sys.float_info.max)
        if math.isinf(self.off):
            return math.inf, math.inf
        bent = self._bent()
        return (self.off - self.play) / (per * bent), (self.off + self.play) * bent / per

    def _bent(self) -> float:
        """Volts that sag change what the loads take, up or down: by this factor at most."""
        reading, found = self.item.reading, self.item.found
        if reading.quantity != "voltage" or not found or not reading.expected:
            return 1.0
        return max(abs(reading.expected / found), 1.0)


def _found(step: Step, item: Measured) -> _Found:
    reading, found = step.reading, item.found
    assert found is not None
    if reading.quantity in BINARY:
        return _Found(step, item, 0.0 if reading.passes(found) else math.inf, 0.0)
    expected = reading.expected or 0.0
    if reading.quantity == "insulation":
        off = (1 / found if found > 0 else math.inf) - 1 / expected
        return _Found(step, item, off, 1 / reading.low - 1 / expected)
    if reading.quantity == "voltage":
        sign = -1.0 if expected < 0 else 1.0
        is_gone = sign * found < OPEN_SHARE * abs(expected)
        return _Found(step, item, math.inf if is_gone else sign * (expected - found), abs(expected - (reading.low if sign > 0 else reading.high or 0.0)))
    factor = OHM_OF.get(reading.unit, 1.0)
    play = math.inf if reading.high is None else reading.high - expected
    return _Found(step, item, factor * (found - expected), factor * play)


def diagnose_commissioning(sheet: Commissioning, measured: Sequence[Measured], bus: Bench | None) -> Diagnosis:
    """Which lines pass, and what is suspected where they do not; lines behind a stop that is not passed are told."""
    step_of = {step.reading.number: step for step in sheet.steps}
    found = [_found(step_of[item.reading.number], item) for item in measured if item.found is not None]
    failed = tuple(one.item for one in found if one.failed)
    parts = [part for stage in sheet.stages for part in stage.parts]
    alternatives: list[tuple[tuple[Suspect, ...], ...]] = []
    for part in parts:
        lines = [one for one in found if one.step.part == part.key]
        if not any(one.failed for one in lines):
            continue
        if part.key == BUS_PART and bus is not None:
            alternatives.append(_bus(sheet, lines, bus))
        else:
            alternatives.append((tuple(_suspects(part, lines)),))
    return Diagnosis(
        loom="electrics",
        passed=tuple(one.item for one in found if not one.failed),
        failed=failed,
        not_measured=tuple(item.reading for item in measured if item.found is None and not item.reading.is_optional),
        explanations=tuple(Explanation(suspects=tuple(item for group in choice for item in group)) for choice in product(*alternatives))
        if alternatives
        else (),
        unexplained=(),
        unexpected=(),
        told=tuple(_stops(sheet, found)),
    )


def _bus(sheet: Commissioning, lines: Sequence[_Found], bus: Bench) -> tuple[tuple[Suspect, ...], ...]:
    """The bus has a study of its own; its lines stand here in the same order."""
    own = {step.reading.number: index for index, step in enumerate(sheet.of(BUS_PART), start=1)}
    items = [replace(one.item, reading=replace(one.item.reading, number=own[one.item.reading.number])) for one in lines]
    told = diagnose(bus, items)
    found = tuple(explanation.suspects for explanation in told.explanations)
    return found or (tuple(_by_line(one) for one in lines if one.failed),)


def _suspects(part: Part, lines: Sequence[_Found]) -> Iterator[Suspect]:
    left = [one for one in lines if one.is_bad]
    while left:
        group, explained = _best(left, lines)
        if not group:
            yield from map(_by_line, left)
            break
        yield _named(part, group, explained)
        left = [one for one in left if one not in explained]
    yield from (_by_line(one) for one in lines if one.failed and not one.is_bad)


def _best(left: Sequence[_Found], lines: Sequence[_Found]) -> tuple[list[tuple[str, str]], list[_Found]]:
    """The things that no line speaks against and that explain most of what is left, and the lines that they explain.

    Where a line speaks against each of them, the things with the fewest such lines.
    """
    scored: dict[tuple[str, str], tuple[int, int, list[_Found]]] = {}
    for ref, kind in dict.fromkeys((sense.ref, sense.kind) for one in left for sense in one.step.senses):
        explained = [one for one in left if any(sense.ref == ref for sense in one.step.senses)]
        fits, against = _agreement(ref, explained, lines)
        if fits:
            scored[ref, kind] = (-against, len(fits), fits)
    if not scored:
        return [], []
    best = max((against, count) for against, count, _ in scored.values())
    group = [name for name, (against, count, _) in scored.items() if (against, count) == best]
    return group, scored[group[0]][2]


def _agreement(ref: str, failing: Sequence[_Found], lines: Iterable[_Found]) -> tuple[list[_Found], int]:
    """Lines that this thing explains by being as bad as the worst of them asks for, and how many of all lines then disagree."""
    ranges = [(one, one.range_of(_per(one, ref))) for one in failing]
    possible = [(one, low, high) for one, (low, high) in ranges if low > 0]
    if not possible:
        return [], 0
    least = max(low for _, low, _ in possible)
    fits = [one for one, _, high in possible if high >= least * (1 - ROUNDING)]
    others = [one for one in lines if one not in fits and any(sense.ref == ref for sense in one.step.senses)]
    against = sum(one.range_of(_per(one, ref))[1] < least * (1 - ROUNDING) for one in others if not one.failed)
    return fits, against


def _per(one: _Found, ref: str) -> float:
    return next(sense.per for sense in one.step.senses if sense.ref == ref)


def _named(part: Part, group: Sequence[tuple[str, str]], explained: Sequence[_Found]) -> Suspect:
    names = [f"{kind} {ref}" for ref, kind in group]
    shown = names if len(names) <= MOST_NAMES else [*names[:MOST_NAMES], f"{len(names) - MOST_NAMES} more on the same way"]
    words = shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"
    numbers = sorted(one.item.reading.number for one in explained)
    text = part.wrong.format(words)
    return Suspect(
        kind=part.key,
        about=tuple(ref for ref, _ in group),
        text=text[:1].upper() + text[1:],
        look=f"{_lines(numbers)}: {explained[0].item.reading.suspect}" if len(explained) == 1 else f"what {_lines(numbers)} have in common",
    )


def _lines(numbers: Sequence[int]) -> str:
    return f"line {numbers[0]}" if len(numbers) == 1 else f"lines {', '.join(map(str, numbers))}"


def _by_line(one: _Found) -> Suspect:
    """Where nothing on its way explains a line: to the other side of its limits, or a line with nothing on its way."""
    reading = one.item.reading
    return Suspect(
        kind=one.step.part,
        about=tuple(sense.ref for sense in one.step.senses[:MOST_NAMES]),
        text=f"Line {reading.number}, {reading.between[0]} to {reading.between[1]}, is off: {reading.suspect}.",
        look=reading.suspect,
    )


def _stops(sheet: Commissioning, found: Sequence[_Found]) -> Iterator[str]:
    """Stages that were begun though one before them is not passed."""
    good = {one.step.reading.number for one in found if not one.failed}
    begun = {one.step.stage for one in found}
    barred = ""
    for stage in sheet.stages:
        if barred and stage.key in begun:
            yield f"stop: lines of “{stage.title}” were measured though “{barred}” is not passed whole; what they say counts only after that"
        needed = [step.reading.number for step in sheet.steps if step.stage == stage.key and not step.reading.is_optional]
        if not barred and not good.issuperset(needed):
            barred = stage.title
