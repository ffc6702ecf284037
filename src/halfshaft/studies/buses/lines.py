"""One line of a bus, H or L, as a tree of wires: its trunk from end to end, what stands along it, and its stubs."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import Routing


@dataclass(frozen=True, kw_only=True, slots=True)
class Length:
    """One wire between two pins or splices, or a way through a unit, which counts as no length."""

    one: str
    other: str
    length_mm: float
    wire: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Station:
    """A unit or a splice on the trunk, and how far from its first end."""

    name: str
    is_unit: bool
    at_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Stub:
    """What branches off the trunk at one station: its units, and the longest way in it."""

    at: str
    at_mm: float
    units: tuple[str, ...]
    wires: tuple[str, ...]
    length_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """One line from end to end. `closing` are wires that close a ring, each left out of the tree."""

    stations: tuple[Station, ...]
    stubs: tuple[Stub, ...]
    trunk_mm: float
    wires: tuple[str, ...]
    closing: tuple[str, ...]


def lengths_of(conversion: Conversion, routing: Routing) -> tuple[Length, ...]:
    """Every wire at its cut length, one without a way at none, and every way through a unit."""
    wires = [
        Length(
            one=item.wire.from_pin, other=item.wire.to_pin, length_mm=item.length.cut_mm if item.length else 0.0, wire=item.wire.ref
        )
        for item in routing.wires.values()
    ]  # fmt: skip
    links = [
        Length(one=f"{ref.partition('.')[0]}.{element.pin_a}", other=f"{ref.partition('.')[0]}.{element.pin_b}", length_mm=0.0)
        for ref, element in conversion.element.items()
        if element.kind == "link"
    ]
    return (*wires, *links)


def unit_of(node: str) -> str:
    """The device of a pin, or the splice itself."""
    return node.partition(".")[0]


def pieces_of(lengths: Iterable[Length], pins: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """The pins given, by what is joined, in the order in which they come."""
    root = joined_groups((item.one, item.other) for item in lengths)
    found: dict[str, list[str]] = {}
    for pin in pins:
        found.setdefault(root.get(pin, pin), []).append(pin)
    return tuple(tuple(group) for group in found.values())


def line_of(lengths: Iterable[Length], pin: str, ends: Iterable[str]) -> Line:
    """The line that a pin is on.

    Its trunk lies between those two of `ends`, pins with a terminator, that are furthest apart; with one, from there to
    the pin furthest away; with none, between the two pins furthest apart.
    """
    tree = _Tree.of(lengths, pin)
    known = [end for end in dict.fromkeys(ends) if end in tree.near]
    first, last = tree.far_apart(known)
    path = tree.path(first, last)
    on_path = set(path)
    stations: list[Station] = []
    stubs: list[Stub] = []
    at_mm = 0.0
    for before, node in zip((None, *path), path, strict=False):
        at_mm += tree.near[before][node].length_mm if before else 0.0
        if not stations or stations[-1].name != unit_of(node):
            stations.append(Station(name=unit_of(node), is_unit="." in node, at_mm=at_mm))
        stubs += tree.stubs(node, on_path, at_mm)
    wires = tuple(wire for one, other in itertools.pairwise(path) if (wire := tree.near[one][other].wire))
    return Line(stations=tuple(stations), stubs=tuple(stubs), trunk_mm=at_mm, wires=wires, closing=tree.closing)


@dataclass(frozen=True, slots=True)
class _Tree:
    near: Mapping[str, Mapping[str, Length]]
    closing: tuple[str, ...]

    @classmethod
    def of(cls, lengths: Iterable[Length], pin: str) -> _Tree:
        """What is joined to a pin, short wires first; a wire that would close a ring is left out."""
        kept = list(lengths)
        root = joined_groups((item.one, item.other) for item in kept)
        ours = sorted(
            (item for item in kept if root.get(item.one) == root.get(pin, pin)),
            key=lambda item: (item.length_mm, item.wire, item.one, item.other),
        )
        near: dict[str, dict[str, Length]] = defaultdict(dict)
        near[pin] = {}
        parent: dict[str, str] = {}

        def top(node: str) -> str:
            while parent.setdefault(node, node) != node:
                parent[node] = parent[parent[node]]
                node = parent[node]
            return node

        closing = []
        for item in ours:
            if top(item.one) == top(item.other):
                closing += [item.wire] if item.wire else []
                continue
            parent[top(item.other)] = top(item.one)
            near[item.one][item.other] = near[item.other][item.one] = item
        return cls(near, tuple(closing))

    def distances(self, start: str) -> dict[str, float]:
        """How far every node is."""
        found, waiting = {start: 0.0}, [start]
        while waiting:
            node = waiting.pop()
            for other, length in self.near[node].items():
                if other not in found:
                    found[other] = found[node] + length.length_mm
                    waiting.append(other)
        return found

    def far_apart(self, ends: list[str]) -> tuple[str, str]:
        """The two ends of the trunk, those of equal distance in the order of their names."""
        pins = sorted(node for node in self.near if "." in node) or sorted(self.near)
        firsts = sorted(ends) if ends else [self._furthest(pins[0], pins)]
        others = sorted(ends) if len(ends) > 1 else pins
        pairs = [(first, self._furthest(first, others)) for first in firsts]
        return max(pairs, key=lambda pair: self.distances(pair[0])[pair[1]])

    def _furthest(self, start: str, among: list[str]) -> str:
        far = self.distances(start)
        return max(among, key=lambda node: (far[node], unit_of(node) != unit_of(start)))

    def path(self, first: str, last: str) -> list[str]:
        """Nodes from one to the other, both with them."""
        came: dict[str, str] = {first: ""}
        waiting = [first]
        while waiting:
            node = waiting.pop()
            for other in self.near[node]:
                if other not in came:
                    came[other] = node
                    waiting.append(other)
        way = [last]
        while came[way[-1]]:
            way.append(came[way[-1]])
        return way[::-1]

    def stubs(self, node: str, on_path: set[str], at_mm: float) -> list[Stub]:
        """What hangs at one node of the trunk."""
        found = []
        for first in self.near[node]:
            if first in on_path:
                continue
            nodes, far, wires = [first], {first: self.near[node][first].length_mm}, [self.near[node][first].wire]
            waiting = [(first, node)]
            while waiting:
                here, before = waiting.pop()
                for other, length in self.near[here].items():
                    if other != before:
                        nodes.append(other)
                        far[other] = far[here] + length.length_mm
                        wires.append(length.wire)
                        waiting.append((other, here))
            units = sorted({unit_of(item) for item in nodes if "." in item} - {unit_of(node)})
            if any(wires):
                found.append(
                    Stub(
                        at=unit_of(node),
                        at_mm=at_mm,
                        units=tuple(units),
                        wires=tuple(sorted(wire for wire in wires if wire)),
                        length_mm=max(far.values()),
                    )
                )
        return found
