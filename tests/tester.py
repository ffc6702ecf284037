"""A tester of looms for the tests: it knows the wires and parts of the demo and asks networkx, not the program, what joins what.

networkx (BSD-3-Clause) is an independent library of graphs: connected components for what is open, the shortest path
for the resistance of a tree, `resistance_distance` (effective resistance from the Laplacian) where there are meshes.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import networkx as nx

from halfshaft.model.conversion import Conversion
from halfshaft.model.reading import ALL_OTHERS, Measured, Reading
from halfshaft.study import Study

# What each crimp of a good wire adds here: less than the 5 mohm of a whole connection that may pass.
CRIMP_OHM = 0.002
SHORT_OHM = 0.01


@dataclass(frozen=True)
class Rod:
    """Anything with two ends that an ohmmeter sees."""

    ref: str
    start: str
    end: str
    ohm: float


class LoomTester:
    """One loom of a conversion as it was built, right or wrong."""

    def __init__(self, study: Study, loom: str) -> None:
        self.conversion: Conversion = study.conversion
        self.loom = loom
        self.readings: tuple[Reading, ...] = study.readings[loom]
        self.wires = [
            Rod(wire.ref, wire.from_pin, wire.to_pin, study.wires.resistance_ohm[wire.ref] + 2 * CRIMP_OHM)
            for wire in self.conversion.wires
            if wire.loom == loom
        ]
        self.parts = [rod for device in self.conversion.loom[loom].tested_with for rod in self._parts(device)]
        sound = nx.Graph([(wire.start, wire.end) for wire in self.wires])
        ended = {wire.screen_joined_to for wire in self.conversion.wires if wire.loom == loom and wire.screen}
        self.drains = sorted(ended & self.conversion.cavity.keys())
        sound.add_nodes_from(self.drains)
        self.groups = [frozenset(pin for pin in group if "." in pin) for group in nx.connected_components(sound)]
        self.group = {pin: group for group in self.groups for pin in group}
        self.pins = sorted({end for wire in self.wires for end in (wire.start, wire.end) if "." in end})

    def _parts(self, device: str) -> list[Rod]:
        inside = self.conversion.part[self.conversion.device[device].part].inside
        return [
            Rod(f"{device}.{item.ref}", f"{device}.{item.pin_a}", f"{device}.{item.pin_b}", item.resistance_ohm or 0.0)
            for item in inside
            if item.kind in ("link", "fuse", "coil", "resistor") or (item.kind == "contact" and item.rest_state == "closed")
        ]

    def without(self, ref: str) -> list[Rod]:
        return [wire for wire in self.wires if wire.ref != ref]

    def swapped(self, one: str, other: str) -> list[Rod]:
        """Whatever sits in two cavities has changed places."""
        to = {one: other, other: one}
        return [replace(wire, start=to.get(wire.start, wire.start), end=to.get(wire.end, wire.end)) for wire in self.wires]

    def shorted(self, one: str, other: str) -> list[Rod]:
        return [*self.wires, Rod("short", one, other, SHORT_OHM)]

    def read(self, wires: list[Rod], *, parts: list[Rod] | None = None) -> list[Measured]:
        """What the meter shows at every line."""
        bare = Network(wires)
        full = Network([*wires, *(self.parts if parts is None else parts)]) if self.parts else bare
        state = self.readings[0].state
        return [Measured(reading=item, found=self._value(item, bare if item.state == state else full)) for item in self.readings]

    def _value(self, reading: Reading, network: Network) -> float:
        one, other = reading.between
        joined = network.joined(one)
        if other == ALL_OTHERS:
            own = self.group.get(one, frozenset([one]))
            return SHORT_OHM if any(pin in self.group and pin not in own for pin in joined) else math.inf
        if other not in joined:
            return math.inf
        return network.ohm(one, other) / {"mΩ": 1e-3, "Ω": 1.0}[reading.unit]


class Network:
    """Rods by node. Rods side by side are one; so much is done by hand, since most of what is left are trees."""

    def __init__(self, rods: list[Rod]) -> None:
        self.graph = nx.Graph()
        self.solved: dict[frozenset[str], dict[str, dict[str, float]]] = {}
        for rod in rods:
            ohm = max(rod.ohm, 1e-9)
            if self.graph.has_edge(rod.start, rod.end):
                ohm = 1 / (1 / ohm + 1 / self.graph.edges[rod.start, rod.end]["ohm"])
            self.graph.add_edge(rod.start, rod.end, ohm=ohm)

    def joined(self, node: str) -> frozenset[str]:
        return frozenset(nx.node_connected_component(self.graph, node)) if node in self.graph else frozenset([node])

    def ohm(self, one: str, other: str) -> float:
        nodes = self.joined(one)
        piece = self.graph.subgraph(nodes)
        if nx.is_tree(piece):
            return float(nx.shortest_path_length(piece, one, other, weight="ohm"))
        if nodes not in self.solved:
            self.solved[nodes] = nx.resistance_distance(nx.Graph(piece), weight="ohm")
        return float(self.solved[nodes][one][other])


def plugs(tester: LoomTester, *, drains: bool = False) -> list[list[str]]:
    """Filled cavities, plug by plug; the studs of one device together. A cavity may hold nothing but drains of screens."""
    found: dict[str, list[str]] = {}
    for pin in [*tester.pins, *(tester.drains if drains else [])]:
        device, name, _ = pin.split(".")
        stud = tester.conversion.connector[device, name].kind == "stud"
        found.setdefault(device if stud else f"{device}.{name}", []).append(pin)
    return list(found.values())


def meetings(study: Study, tester: LoomTester) -> list[tuple[str, str]]:
    """Every two groups that share a plug or a run: where a short can be. One pin of each, in one plug if there is one."""
    runs = {wire.ref: {step.run for step in study.routing.wires[wire.ref].route.steps} for wire in tester.wires}
    lies_in = {group: set().union(*(runs[wire.ref] for wire in tester.wires if group & {wire.start, wire.end})) for group in tester.groups}
    met: dict[frozenset[frozenset[str]], tuple[str, str]] = {}
    for pins in plugs(tester, drains=True):
        for one, other in itertools.combinations(pins, 2):
            if tester.group[one] is not tester.group[other]:
                met.setdefault(frozenset((tester.group[one], tester.group[other])), (one, other))
    for one_group, other_group in itertools.combinations(tester.groups, 2):
        if lies_in[one_group] & lies_in[other_group]:
            met.setdefault(frozenset((one_group, other_group)), (min(one_group), min(other_group)))
    return list(met.values())
