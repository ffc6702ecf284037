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
# Volts below this share of what is expected are none: the way is open, and what little there is comes from elsewhere.
OPEN_SHARE = 0.05
# Below this share nobody knows what the load takes: a converter lets go, a motor stalls. It has at least the ohms in its way at
# which a load of constant power goes under, a quarter of volts by amperes.
SAG_SHARE, LEAST_SHARE = 0.5, 0.25
# Ranges that miss each other by less than this share are rounding.
ROUNDING = 1e-6
MOST_NAMES = 8
# Megohms that are none.
TINY = 1e-9


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
        reading = self.item.reading
        if reading.quantity == "voltage" and self.off > (1 - SAG_SHARE) * abs(reading.expected or 0.0):
            return LEAST_SHARE * abs(reading.expected or 0.0) / per, math.inf
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
        least, right = max(reading.low, TINY), 1 / max(expected, TINY)
        return _Found(step, item, (1 / found if found > 0 else math.inf) - right, 1 / least - right)
    if reading.quantity == "voltage":
        sign = -1.0 if expected < 0 else 1.0
        is_gone = sign * found < OPEN_SHARE * abs(expected)
        return _Found(
            step,
            item,
            math.inf if is_gone else sign * (expected - found),
            abs(expected - (reading.low if sign > 0 else reading.high or 0.0)),
        )
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
    """One suspect after another until every line that is bad is explained; lines with several faults on their way are, when those are named."""
    left = [one for one in lines if one.is_bad]
    named: set[str] = set()
    while left:
        best = _best(left, lines)
        if best is None:
            yield from map(_by_line, left)
            break
        if best.against and (shared := [one for one in left if any(sense.ref in named for sense in one.step.senses)]):
            left = [one for one in left if one not in shared]
            continue
        yield _named(part, best.things, best.explained)
        named.update(ref for ref, _ in best.things)
        left = [one for one in left if one not in best.explained]
    yield from (_by_line(one) for one in lines if one.failed and not one.is_bad)


@dataclass(frozen=True, slots=True)
class _Guess:
    """Things, by reference and kind, any of which explains these lines; `against` is how many other lines speak against each."""

    things: tuple[tuple[str, str], ...]
    explained: tuple[_Found, ...]
    against: int


def _best(left: Sequence[_Found], lines: Sequence[_Found]) -> _Guess | None:
    """The things that the fewest lines speak against, and of these the ones that explain most of what is left."""
    scored: dict[tuple[str, str], tuple[int, tuple[_Found, ...]]] = {}
    for ref, kind in dict.fromkeys((sense.ref, sense.kind) for one in left for sense in one.step.senses):
        guess = _agreement(ref, left, lines)
        if guess is not None:
            scored[ref, kind] = guess
    if not scored:
        return None
    against, explained = min(scored.values(), key=lambda guess: (guess[0], -len(guess[1])))
    things = tuple(thing for thing, guess in scored.items() if guess == (against, explained))
    return _Guess(things=things, explained=explained, against=against)


def _agreement(ref: str, left: Sequence[_Found], lines: Iterable[_Found]) -> tuple[int, tuple[_Found, ...]] | None:
    """How many lines speak against this thing, and which it explains, being just as bad as suits them best."""
    ranges = {one.item.reading.number: one.range_of(per) for one in lines if (per := _per(one, ref)) is not None}
    failing = [one for one in left if one.item.reading.number in ranges and ranges[one.item.reading.number][0] > 0]
    guesses = []
    for level in sorted({ranges[one.item.reading.number][0] for one in failing}):
        against = sum(high < level * (1 - ROUNDING) for _, high in ranges.values())
        fits = tuple(
            one
            for one in failing
            if ranges[one.item.reading.number][0] <= level and ranges[one.item.reading.number][1] >= level * (1 - ROUNDING)
        )
        guesses.append((against, fits))
    return min(guesses, key=lambda guess: (guess[0], -len(guess[1])), default=None)


def _per(one: _Found, ref: str) -> float | None:
    return next((sense.per for sense in one.step.senses if sense.ref == ref), None)


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
