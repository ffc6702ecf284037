"""What ends a bus, and what an ohmmeter reads on it: terminators in each unit, readings with each plug pulled, and what others mean."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.benches import Bench, Branch, elements_of, mesh_at
from halfshaft.studies.looms.bus import ALL_PLUGGED_IN, BusPair, pulled

# What lies between H and L and is more than this ends no bus: sensing dividers, drivers at rest.
TERMINATOR_MAX_OHM = 1_000.0
# Readings that a workshop's meter shows as the same.
SAME_OHM = 2.0
SHORT_OHM = 5.0
# One at each end.
WANTED = 2
CONTACTS = ("open contact", "closed contact")


@dataclass(frozen=True, kw_only=True, slots=True)
class Terminator:
    """A resistor between H and L inside a unit; `pin` is where it sits on H, `contact` what switches it, "" where it is built in."""

    unit: str
    ohm: float
    pin: str
    contact: str
    is_in: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class PlugOhms:
    """With one plug pulled, or none: on its wires' side at each of its pairs, and at all other plugs, alike ones together.

    None where nothing ends the wires there, so that the meter reads open.
    """

    plug: str
    there: tuple[float | None, ...]
    elsewhere: tuple[tuple[float | None, tuple[str, ...]], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Meaning:
    """A reading with everything plugged in, None for open, and what it says."""

    ohm: float | None
    words: str


def terminators_of(conversion: Conversion, pairs: Iterable[BusPair]) -> tuple[Terminator, ...]:
    """What each unit of the bus has between H and L, in use or not."""
    found = {}
    for pair in pairs:
        unit = pair.connector.partition(".")[0]
        if unit in found:
            continue
        inside = elements_of(conversion, unit, {})
        now, closed = _between(inside, pair), _between([_closed(branch) for branch in inside], pair)
        if min(now, closed) > TERMINATOR_MAX_OHM:
            continue
        is_in = now <= TERMINATOR_MAX_OHM
        ohm = now if is_in else closed
        mesh = mesh_at(inside if is_in else [_closed(branch) for branch in inside], lambda branch: branch.ohm)
        ways = mesh.carrying(pair.high, pair.low)
        contacts = [branch.ref for branch in inside if branch.kind in CONTACTS and (branch.start, branch.end) in ways]
        found[unit] = Terminator(
            unit=unit, ohm=round(ohm, 3), pin=pair.high, contact=", ".join(contacts), is_in=is_in
        )  # fmt: skip
    return tuple(found.values())


def _closed(branch: Branch) -> Branch:
    return replace(branch, kind="closed contact") if branch.kind == "open contact" else branch


def _between(inside: Sequence[Branch], pair: BusPair) -> float:
    return mesh_at(inside, lambda branch: branch.ohm).between(pair.high, pair.low)


def plug_ohms(bench: Bench, pairs: Sequence[BusPair]) -> tuple[PlugOhms, ...]:
    """Everything plugged in, then each plug of the bus pulled, power off."""
    plugs = list(dict.fromkeys(pair.connector for pair in pairs))
    return tuple(_plug_ohms(bench, pairs, plug) for plug in ("", *plugs))


def _plug_ohms(bench: Bench, pairs: Sequence[BusPair], plug: str) -> PlugOhms:
    mesh = mesh_at(bench.states[pulled(plug) if plug else ALL_PLUGGED_IN].values(), lambda branch: branch.ohm)
    there = tuple(_maybe(mesh.between(pair.high, pair.low)) for pair in pairs if pair.connector == plug)
    groups: list[tuple[float | None, list[str]]] = []
    for pair in pairs:
        if pair.connector == plug:
            continue
        ohm = _maybe(mesh.between(pair.high, pair.low))
        known = next((group for group in groups if _alike(group[0], ohm)), None)
        if known is None:
            groups.append((ohm, [pair.connector]))
        elif pair.connector not in known[1]:
            known[1].append(pair.connector)
    return PlugOhms(plug=plug, there=there, elsewhere=tuple((ohm, tuple(names)) for ohm, names in groups))


def _maybe(ohm: float) -> float | None:
    return None if math.isinf(ohm) else ohm


def _alike(one: float | None, other: float | None) -> bool:
    """Whether a workshop's meter shows the same."""
    return one is other or (one is not None and other is not None and abs(one - other) < SAME_OHM)


def parallel(ohms: Iterable[float]) -> float:
    """Resistances side by side; infinite for none."""
    siemens = math.fsum(1 / ohm for ohm in ohms)
    return 1 / siemens if siemens else math.inf


def meanings_of(terminators: Sequence[Terminator], nominal_ohm: float) -> tuple[Meaning, ...]:
    """What a reading with everything plugged in says, from nothing to open; the copper of the wires left out."""
    fitted = [item for item in terminators if item.is_in]
    right_ohm = parallel(item.ohm for item in fitted)
    found = [Meaning(ohm=None, words="no terminator is reached: the pair is open at the meter, or the unit there is not on this bus")]
    if fitted:
        right = "as it should be" if len(fitted) == WANTED else "as the parts have it, but two are right"
        found.append(Meaning(ohm=right_ohm, words=f"{right}: terminators in {listed([item.unit for item in fitted])}"))
    for item in fitted if len(fitted) > 1 else ():
        rest_ohm = parallel(other.ohm for other in fitted if other is not item)
        found.append(Meaning(ohm=_maybe(rest_ohm), words=f"the terminator in {item.unit} is missing, or the pair is open on the way to it"))
    for item in terminators:
        if not item.is_in:
            ohm = parallel((right_ohm, item.ohm)) if fitted else item.ohm
            found.append(Meaning(ohm=ohm, words=f"the terminator in {item.unit} is in ({item.contact})"))
    if fitted:
        found.append(Meaning(ohm=parallel((right_ohm, nominal_ohm)), words=f"one terminator of {nominal_ohm:g} Ω too many, in any unit"))
        # Some units come with a few hundred ohms of their own; what is beside the bus is told from the reading alone.
        for extra_ohm in (300.0, 1000.0):
            ohm = parallel((right_ohm, extra_ohm))
            found.append(Meaning(ohm=ohm, words=f"{extra_ohm:g} Ω too many beside it, such as a weak terminator inside a unit"))
        found.append(Meaning(ohm=0.0, words=f"under {SHORT_OHM:g} Ω: H and L touch, or are crossed at one plug"))
    return tuple(_told_once(found))


def listed(names: Sequence[str]) -> str:
    """Names as a sentence has them.

    >>> listed(["A", "B", "C"]), listed(["A"])
    ('A, B and C', 'A')
    """
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]


def _told_once(meanings: Iterable[Meaning]) -> list[Meaning]:
    """Highest first, those that a meter does not tell apart in one line."""
    lines: list[Meaning] = []
    for item in sorted(meanings, key=lambda item: -math.inf if item.ohm is None else -item.ohm):
        if lines and _alike(lines[-1].ohm, item.ohm):
            lines[-1] = Meaning(ohm=lines[-1].ohm, words=f"{lines[-1].words}; or {item.words}")
        else:
            lines.append(item)
    return lines
