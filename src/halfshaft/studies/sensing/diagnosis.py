"""From a filled probe sheet to what is wrong: which taps read the other way round, and which module or plug it comes from.

Searched from the lowest module upwards: the first line that does not agree is about one module, and only its faults
are tried, each as the whole sheet would read under it. Of all sets of faults that explain every line, the smallest are told.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from halfshaft.model.reading import Measured
from halfshaft.studies.looms.fault_words import Suspect
from halfshaft.studies.looms.faults import Diagnosis, Explanation
from halfshaft.studies.sensing.probing import ProbeFault, Prober, Told, faults_of
from halfshaft.studies.sensing.sheets import ProbedModule, ProbeSheet

# Half explanations that are followed at once, and faults that one may hold.
BEAM = 6
MOST_FAULTS = 24
MOST_EXPLANATIONS = 6


@dataclass(frozen=True, slots=True)
class _Guess:
    """Some faults, and the lines by index that speak against them."""

    faults: tuple[ProbeFault, ...]
    wrong: tuple[int, ...]


def diagnose_volts(sheet: ProbeSheet, measured: Sequence[Measured]) -> Diagnosis:
    """Hold what was read against what is right; name the taps that are reversed, and the likely cause."""
    read = [(item.reading, item.found) for item in measured if item.found is not None]
    prober = Prober(sheet, [reading for reading, _ in read], [found for _, found in read])
    failed = [index for index, (reading, found) in enumerate(read) if not reading.passes(found)]
    guesses = _search(prober) if failed else []
    wrong = guesses[0].wrong if guesses else tuple(failed)
    done = [item for item in measured if item.found is not None]
    return Diagnosis(
        loom=sheet.name,
        passed=tuple(item for index, item in enumerate(done) if index not in failed),
        failed=tuple(done[index] for index in failed),
        not_measured=tuple(item.reading for item in measured if item.found is None),
        explanations=tuple(
            Explanation(suspects=tuple(_suspect(sheet, fault) for fault in guess.faults)) for guess in guesses[:MOST_EXPLANATIONS]
        ),
        unexplained=tuple(done[index] for index in wrong if index in failed),
        unexpected=tuple(done[index] for index in wrong if index not in failed),
    )


def _search(prober: Prober) -> list[_Guess]:
    """The smallest sets of faults that explain every line; failing that, the one that comes nearest."""
    beam = [_Guess((), _against(prober, ()))]
    best: list[_Guess] = []
    for _ in range(MOST_FAULTS):
        grown: dict[frozenset[ProbeFault], _Guess] = {}
        for guess in beam:
            for fault in _next_faults(prober, guess):
                faults = frozenset((*guess.faults, fault))
                if fault in guess.faults or faults in grown:
                    continue
                wrong = _against(prober, (*guess.faults, fault))
                if not wrong or len(wrong) < len(guess.wrong) or wrong[0] > guess.wrong[0]:
                    grown[faults] = _Guess((*guess.faults, fault), wrong)
        if not grown:
            break
        beam = sorted(grown.values(), key=lambda guess: len(guess.wrong))[:BEAM]
        best = [guess for guess in beam if len(guess.wrong) == len(beam[0].wrong)]
        if not beam[0].wrong:
            break
    return best


def _against(prober: Prober, faults: tuple[ProbeFault, ...]) -> tuple[int, ...]:
    """Lines where what was found is not what these faults lead to."""
    told = prober.told(faults)
    return tuple(index for index, found in enumerate(prober.found) if found is not None and not told[index].agrees(found))


def _next_faults(prober: Prober, guess: _Guess) -> Iterator[ProbeFault]:
    """Every fault of the module that the first unexplained line is about, or of the one below it, whose top tap it touches."""
    if not guess.wrong:
        return
    index = guess.wrong[0]
    reading, found = prober.readings[index], prober.found[index]
    owner = prober.sheet.owners[reading.number]
    for ref in dict.fromkeys((owner, *prober.owners_of(reading.between))):
        yield from faults_of(prober.sheet, prober.modules[ref])
    told = prober.told(guess.faults)[index]
    if found is not None and Told(-told.volts, told.error_v).agrees(found):
        yield ProbeFault(kind="leads at one line", module=owner, line=reading.number)
    elif found is not None and found * told.volts > 0:
        yield ProbeFault(kind="cell", module=owner, line=reading.number)


def _suspect(sheet: ProbeSheet, fault: ProbeFault) -> Suspect:
    """The words for one fault; `about` begins with its modules, then the pins that it is about."""
    modules = {module.ref: module for module in sheet.modules}
    module = modules[fault.module]
    text, look, pins = _words(sheet, fault, module, modules.get(fault.other))
    return Suspect(kind=fault.kind, about=(*fault.modules, *pins), text=text, look=look)


def _words(sheet: ProbeSheet, fault: ProbeFault, module: ProbedModule, other: ProbedModule | None) -> tuple[str, str, tuple[str, ...]]:
    plug = module.pins[0].rpartition(".")[0]
    cells = module.pins[1:]
    stands = f"how {module.ref} stands" + (f": its plus end should look {module.plus_looks}" if module.plus_looks else "")
    taps = f"{len(cells)} taps reversed, {cells[0]} to {cells[-1].rpartition('.')[2]}"
    if fault.kind == "turned with taps":
        words = f"{module.ref} is turned end for end, and its taps are picked up by their place: {taps}."
        return words, f"{stands}; take its bars off first, qualified people only", cells
    if fault.kind == "turned":
        words = f"{module.ref} is turned end for end: its plug is right, its bars are on each other's studs."
        return words, f"{stands}; take its bars off first, qualified people only", ()
    if fault.kind == "reversed plug":
        return (
            f"Plug {plug} of {module.ref} is filled from the wrong end: {taps}; the module itself stands right.",
            f"the wire side of {plug}",
            cells,
        )
    if fault.kind == "mirrored plug":
        return (
            f"Plug {plug} of {module.ref} is filled as seen from its other side; the module itself stands right.",
            f"the wire side of {plug}",
            cells,
        )
    if fault.kind == "swapped":
        pins = tuple(module.pins[tap] for tap in fault.taps)
        return (
            f"The wires at {pins[0]} and {pins[1]} are in each other's place.",
            f"both cavities of {plug}, and of the plug at {module.ref}",
            pins,
        )
    if fault.kind == "open":
        pin = module.pins[fault.taps[0]]
        return f"The wire at {pin} does not lead to its tap.", f"its crimps at {pin} and {module.taps[fault.taps[0]]}", (pin,)
    if other is not None:
        there = other.pins[0].rpartition(".")[0]
        return (
            f"The plugs of {module.ref} and {other.ref} are exchanged: {plug} is at {other.ref}, {there} at {module.ref}.",
            f"the labels at {plug} and {there}",
            (plug, there),
        )
    reading = next(item for item in sheet.readings if item.number == fault.line or not fault.line)
    if fault.kind == "leads":
        return (
            f"The leads were the other way round at all of plug {plug}, or its minus signs were overlooked.",
            f"{plug} once more, red lead on the first pin",
            (),
        )
    if fault.kind == "leads at one line":
        return (
            f"The leads were the other way round at line {fault.line}, or its sign was overlooked.",
            f"line {fault.line} once more, red lead on {reading.between[0]}",
            (reading.between[0],),
        )
    return (
        f"The cell at {reading.between[0]} is outside the volts of a good cell.",
        f"the same cell once more; do not charge or connect {module.ref} before it is clear why",
        (reading.between[0],),
    )
