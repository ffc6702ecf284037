"""What a meter should read on a finished loom: joined pins, groups that must be open, and parts that bridge two groups."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from halfshaft.model.reading import ALL_OTHERS, Quantity, Reading
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.benches import BRIDGES, Bench, Branch, Branches, mesh_at, roots
from halfshaft.studies.looms.continuity import natural
from halfshaft.studies.looms.resistances import Mesh

# Least that counts as open on the ohms range of a multimeter: common practice.
OPEN_OHM = 1_000_000.0
# What the diode range of a multimeter shows across a diode that conducts, and what it shows at most: common practice.
DIODE_V, DIODE_LOW_V, DIODE_HIGH_V, DIODE_OPEN_V = 0.6, 0.2, 0.9, 2.0
OHM_OF = {"mΩ": 1e-3, "Ω": 1.0}
# Of a reading in its unit: what is beyond is noise of the computing.
DECIMALS = 6


@dataclass(frozen=True, slots=True)
class _Draft:
    """A reading that has no number yet."""

    between: tuple[str, str]
    state: str
    quantity: Quantity
    unit: str
    wires: tuple[str, ...]
    suspect: str
    expected: float | None = None
    low: float = 0.0
    high: float | None = None


def readings_of(bench: Bench) -> tuple[Reading, ...]:
    """Every reading of one loom, numbered: bare loom first, then with what `tested_with` names plugged in."""
    drafts = [*_joined(bench), *_open_groups(bench), *_open_cavities(bench), *_plugged(bench)]
    return tuple(_numbered(drafts, first=1))


def readings_for_tester(bench: Bench, by_hand: Sequence[Reading]) -> tuple[Reading, ...]:
    """For a tester that finds its pins by itself: every two groups apart, in place of each against all the others."""
    grouped = {group.pins[0] for group in bench.groups}
    kept = [item for item in by_hand if item.between[1] != ALL_OTHERS or item.between[0] not in grouped]
    pairs = itertools.combinations(bench.groups, 2)
    drafts = [_open((one.pins[0], other.pins[0]), bench.bare, (*one.wires, *other.wires)) for one, other in pairs]
    return (*kept, *_numbered(drafts, first=len(by_hand) + 1))


def bridge_readings(bench: Bench, places: Iterable[tuple[str, str, str]]) -> tuple[Reading, ...]:
    """Ohms of the parts between two pins, at each state and pair of pins given; open where nothing lies between them."""
    drafts: list[_Draft] = []
    for state, one, other in places:
        networks = _Networks.of(bench.states[state])
        if math.isinf(networks.expected.between(one, other)):
            drafts.append(_open((one, other), state, ()))
        else:
            drafts += _resistance(bench, networks, state, one, other, is_part=True)
    return tuple(_numbered(drafts, first=1))


def _numbered(drafts: Iterable[_Draft], *, first: int) -> Iterator[Reading]:
    for number, draft in enumerate(drafts, start=first):
        yield Reading(
            number=number,
            between=draft.between,
            state=draft.state,
            quantity=draft.quantity,
            expected=_rounded(draft.expected),
            low=round(draft.low, DECIMALS),
            high=_rounded(draft.high),
            unit=draft.unit,
            wires=draft.wires,
            suspect=draft.suspect,
        )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, DECIMALS)


@dataclass(frozen=True, slots=True)
class _Networks:
    """One state of the loom at its lowest, as computed, and at its highest."""

    branches: Branches
    least: Mesh
    expected: Mesh
    most: Mesh

    @classmethod
    def of(cls, branches: Branches) -> _Networks:
        values = branches.values()
        return cls(
            branches, mesh_at(values, Branch.least_ohm), mesh_at(values, lambda branch: branch.ohm), mesh_at(values, Branch.most_ohm)
        )

    def carrying(self, one: str, other: str) -> tuple[str, ...]:
        """References of the branches that carry current between two pins."""
        ways = self.expected.carrying(one, other)
        return tuple(ref for ref, branch in self.branches.items() if branch.conducts and (branch.start, branch.end) in ways)


def _joined(bench: Bench) -> Iterator[_Draft]:
    """From the first pin of each group to every other one of it.

    Expected: copper at 20 C, as the network of wires and splices has it. It passes up to copper plus, for each
    connection, 5 mohm or what the catalogue gives its terminal, whichever is more: a flat 2 ohm would pass a bad crimp
    on any short wire.
    """
    networks = _Networks.of(bench.states[bench.bare])
    for group in bench.groups:
        for pin in group.pins[1:]:
            yield from _resistance(bench, networks, bench.bare, group.pins[0], pin)


def _resistance(bench: Bench, networks: _Networks, state: str, one: str, other: str, *, is_part: bool = False) -> Iterator[_Draft]:
    refs = networks.carrying(one, other)
    if bench.unmeasured.intersection(refs):
        return
    unit = "Ω" if is_part else "mΩ"
    leads_ohm = bench.lead_ohm.get(one, 0.0) + bench.lead_ohm.get(other, 0.0)
    yield _Draft(
        between=(one, other),
        state=state,
        quantity="resistance",
        unit=unit,
        wires=tuple(ref for ref in refs if networks.branches[ref].kind == "wire"),
        suspect=_suspect(networks.branches, refs),
        expected=networks.expected.between(one, other) / OHM_OF[unit],
        low=networks.least.between(one, other) / OHM_OF[unit] if is_part else 0.0,
        high=(networks.most.between(one, other) + leads_ohm) / OHM_OF[unit],
    )


def _suspect(branches: Branches, refs: Iterable[str]) -> str:
    """Where to look first: parts, then splices, then crimps."""
    found = [branches[ref] for ref in refs]
    parts = [branch.ref for branch in found if branch.kind != "wire" and branch.kind != "link"]
    splices = sorted(
        {node for branch in found if branch.kind == "wire" for node in (branch.start, branch.end) if "." not in node}, key=natural
    )
    places = [*([", ".join(parts)] if parts else []), *([f"splice {', '.join(splices)}"] if splices else [])]
    return f"{', '.join(places)}, then the crimps" if places else "the crimp at either end"


def _open(between: tuple[str, str], state: str, wires: tuple[str, ...], suspect: str = "") -> _Draft:
    return _Draft(between, state, "open", "Ω", wires, suspect or "a wire in the wrong cavity, a strand, a nick", low=OPEN_OHM)


def _open_groups(bench: Bench) -> Iterator[_Draft]:
    """Each group against all the others joined together."""
    if len(bench.groups) > 1:
        for group in bench.groups:
            wires = group.wires or tuple(f"screen {name}" for pin in group.pins for name in bench.screens.get(pin, ()))
            yield _open((group.pins[0], ALL_OTHERS), bench.bare, wires)


def _open_cavities(bench: Bench) -> Iterator[_Draft]:
    """Each way that holds none of this loom's wires, against every pin."""
    for pin in bench.open_cavities:
        yield _open((pin, ALL_OTHERS), bench.bare, (), "a terminal one cavity off")


def others(bench: Bench, pin: str) -> tuple[str, ...]:
    """What `all others` are at this pin: every wired pin of another group."""
    return tuple(other for group in bench.groups if pin not in group.pins for other in group.pins)


def _plugged(bench: Bench) -> Iterator[_Draft]:
    """With parts plugged in: across links, fuses and closed contacts, then resistors and coils, diodes, open contacts."""
    for state, branches in list(bench.states.items())[1:]:
        networks, root = _Networks.of(branches), roots(branches.values())
        ends = _test_points(bench, root)
        for pins in ends.values():
            for pin in pins[1:]:
                yield from _resistance(bench, networks, state, pins[0], pin)
        bridges = _Bridges.of(branches.values(), root)
        for one, other in bridges.pairs(ends):
            yield from _resistance(bench, networks, state, ends[one][0], ends[other][0], is_part=True)
        yield from _diodes(state, branches.values(), root, ends, bridges)
        yield from _contacts(state, branches.values(), root, ends, bridges)


def _test_points(bench: Bench, root: dict[str, str]) -> dict[str, list[str]]:
    """One pin for each group of the loom, gathered by what joins the groups once parts are plugged in.

    Of a group's pins the one at a plug that is not plugged in is taken: it is bare.
    """
    found: dict[str, list[str]] = defaultdict(list)
    for group in bench.groups:
        bare = [pin for pin in group.pins if pin.split(".")[0] not in bench.plugged_in]
        pin = (bare or list(group.pins))[0]
        found[root.get(pin, pin)].append(pin)
    return dict(found)


@dataclass(frozen=True, slots=True)
class _Bridges:
    """Parts that bridge joined groups: with a resistance, or with one that nobody knows."""

    known: tuple[tuple[str, str], ...]
    unknown: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, branches: Iterable[Branch], root: dict[str, str]) -> _Bridges:
        known, unknown = [], []
        for branch in branches:
            ends = root.get(branch.start, branch.start), root.get(branch.end, branch.end)
            if ends[0] != ends[1] and branch.kind in BRIDGES:
                known.append(ends)
            elif ends[0] != ends[1] and branch.kind in ("load", "source", "converter"):
                unknown.append(ends)
        return cls(tuple(dict.fromkeys(known)), tuple(dict.fromkeys(unknown)))

    def pairs(self, ends: dict[str, list[str]]) -> Iterator[tuple[str, str]]:
        """Every two groups with test points that known parts bridge with no other test point on the way.

        Left out: a pair beside which a part of unknown resistance lies.
        """
        near: dict[str, list[str]] = defaultdict(list)
        for one, other in self.known:
            near[one].append(other)
            near[other].append(one)
        spoilt = self._spoilt()
        done: set[frozenset[str]] = set()
        for start in ends:
            waiting, seen = list(near[start]), {start}
            while waiting:
                node = waiting.pop(0)
                if node in seen:
                    continue
                seen.add(node)
                if node not in ends:
                    waiting += near[node]
                elif frozenset((start, node)) not in done and start not in spoilt:
                    done.add(frozenset((start, node)))
                    yield start, node

    def _spoilt(self) -> frozenset[str]:
        """Groups at which a reading would go astray through a part of unknown resistance."""
        known = joined_groups(self.known)
        links = [(known.get(one, one), known.get(other, other)) for one, other in self.unknown]
        everything = joined_groups([*self.known, *self.unknown])
        astray: set[str] = set()
        seen: list[tuple[str, str]] = []
        for link in links:
            so_far = joined_groups(seen)
            if so_far.get(link[0], link[0]) == so_far.get(link[1], link[1]):
                astray.add(everything[link[0]])
            seen.append(link)
        return frozenset(node for node, whole in everything.items() if whole in astray)

    def joins(self, one: str, other: str) -> bool:
        """Whether any part lets current from one group to the other."""
        everything = joined_groups([*self.known, *self.unknown])
        return everything.get(one, one) == everything.get(other, other)


def _diodes(
    state: str, branches: Iterable[Branch], root: dict[str, str], ends: dict[str, list[str]], bridges: _Bridges
) -> Iterator[_Draft]:
    """A diode conducts one way and blocks the other (handbook for wiring, loom practice I11), where nothing lies beside it."""
    for branch in branches:
        plus, minus = root.get(branch.start, branch.start), root.get(branch.end, branch.end)
        if branch.kind != "diode" or plus not in ends or minus not in ends or bridges.joins(plus, minus):
            continue
        for between, conducts in (((ends[plus][0], ends[minus][0]), True), ((ends[minus][0], ends[plus][0]), False)):
            yield _Draft(
                between=between,
                state=state,
                quantity="diode",
                unit="V",
                wires=(),
                suspect=f"{branch.ref} the wrong way round",
                expected=DIODE_V if conducts else None,
                low=DIODE_LOW_V if conducts else DIODE_OPEN_V,
                high=DIODE_HIGH_V if conducts else None,
            )


def _contacts(
    state: str, branches: Iterable[Branch], root: dict[str, str], ends: dict[str, list[str]], bridges: _Bridges
) -> Iterator[_Draft]:
    done: set[frozenset[str]] = set()
    for branch in branches:
        one, other = root.get(branch.start, branch.start), root.get(branch.end, branch.end)
        pair = frozenset((one, other))
        if (
            branch.kind == "open contact"
            and one in ends
            and other in ends
            and one != other
            and pair not in done
            and not bridges.joins(one, other)
        ):
            done.add(pair)
            yield _open((ends[one][0], ends[other][0]), state, (), f"{branch.ref}: open at rest")


def value_of(bench: Bench, reading: Reading, branches: Branches, mesh: Mesh) -> float:
    """What the meter shows at this line on the network given, in the line's unit; infinity for no reading."""
    one, other = reading.between
    if reading.quantity == "diode":
        return _diode_value(one, other, branches.values(), mesh)
    if other == ALL_OTHERS:
        return mesh.against(one, others(bench, one))
    ohm = mesh.between(one, other) + (bench.lead_ohm.get(one, 0.0) + bench.lead_ohm.get(other, 0.0)) / 2
    return ohm / OHM_OF[reading.unit]


def _diode_value(one: str, other: str, branches: Iterable[Branch], mesh: Mesh) -> float:
    if math.isfinite(mesh.between(one, other)):
        return 0.0
    near, far = mesh.joined(one), mesh.joined(other)
    conducts = any(branch.kind == "diode" and branch.start in near and branch.end in far for branch in branches)
    return DIODE_V if conducts else math.inf
