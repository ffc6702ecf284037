"""The equations of a network: nodal analysis with a row of its own for the current of each source and diode.

Nodes that resistors without resistance join are one node. What can only be in one of a few states (a source that holds its
volts, is at its limit, or is shut; a diode that conducts or does not) is solved by changing states until none is against its
own rule. All at once is tried first, which is quick; if that comes round in a circle, only the first that is wrong is changed
each time (Murty's least-index method: for resistors, sources and diodes it ends).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import coo_matrix, csc_matrix
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from halfshaft.studies.network.records import DcNetwork, Diode, Load, Resistor, Source

# Less than this is no resistance: its ends are one node.
LEAST_OHM = 1e-7
# A diode's resistance counts at least so much, so that two of them side by side share their current.
LEAST_DIODE_OHM = 1e-6
# Below this share of the highest volts of any source every load of set current or power takes less, whatever it names: a current
# that grows without end as the volts fall to nothing is no unit's, and drowns all others in its rounding.
LEAST_FOOT = 0.01
# A load of set current or power that takes less takes nothing: it could hold no piece of a network at any volts.
LEAST_VALUE = 1e-9
# Siemens by which a piece that nothing joins to ground is held, so that it has volts.
ANCHOR_S = 1e-6
# By so much a state may be against its rule, times the largest current or volts there are: rounding.
SLACK = 1e-9
# With so many nodes scipy groups them sooner than counting by hand does; with fewer it is busy with itself.
MANY = 500
ROUNDS_AT_ONCE = 12
ROUNDS_ONE_BY_ONE = 2000

# States of a branch. A diode that conducts holds its forward volts as a source does.
SHUT, HOLDS, LIMITED = 0, 1, 2

Held = tuple[int, ...]
Array = Any


@dataclass(frozen=True, slots=True)
class Lines:
    """Loads of set current or power as straight lines: the amperes of each at no volts, and its siemens."""

    ampere: Array
    siemens: Array
    in_foot: Array


@dataclass(frozen=True, slots=True)
class State:
    """Volts of all merged nodes with ground last, currents of sources and diodes, and the states that they are in.

    `anchors` has for each node ground, or the node by which its loose piece is held at 0 V.
    """

    volt: Array
    branch_a: Array
    held: Held
    anchors: Array


class System:
    """A network that is all joined to its ground, indexed and ready to be solved many times."""

    def __init__(self, network: DcNetwork) -> None:
        self.network = network
        self.nodes = {network.ground: 0}
        for item in network.items:
            for name in ends_of(item):
                self.nodes.setdefault(name, len(self.nodes))
        self.resistors: list[Resistor] = [item for item in network.resistors if item.ohm > LEAST_OHM]
        self.links = [item for item in network.resistors if item.ohm <= LEAST_OHM]
        self.resistive = [item for item in network.loads if item.kind == "resistive"]
        self.loads = [item for item in network.loads if item.kind != "resistive"]
        self.branches: list[Source | Diode] = [*network.sources, *network.diodes]
        self.items = [*self.resistors, *self.resistive, *self.loads, *self.branches]
        # The nodes of all of them before merging: plain ones, then loads, then branches.
        self.starts, self.ends = self.numbers(self.items)
        self.merged, self.count = self._merge()
        self._index_loads()
        self._index_plain()
        self._index_branches()
        self._lay_out()
        self._known_anchors: dict[tuple[bytes, bytes], Array] = {}

    def numbers(self, items: Iterable[Resistor | Source | Load | Diode]) -> tuple[Array, Array]:
        """The nodes at the two ends of each item, before merging."""
        pairs = [ends_of(item) for item in items]
        one, other = ([self.nodes[pair[side]] for pair in pairs] for side in (0, 1))
        return np.array(one, dtype=np.int64), np.array(other, dtype=np.int64)

    def _merged_ends(self, first: int, number: int) -> tuple[Array, Array]:
        """The merged nodes of some items that follow each other."""
        return self.merged[self.starts[first : first + number]], self.merged[self.ends[first : first + number]]

    def _merge(self) -> tuple[Array, int]:
        """The merged node of each node, and how many there are besides ground, which comes last and needs no row."""
        count, label = grouped(*self.numbers(self.links), len(self.nodes))
        return (label - label[0] - 1) % count, count - 1

    def _index_loads(self) -> None:
        self.load_plus, self.load_minus = self._merged_ends(len(self.resistors) + len(self.resistive), len(self.loads))
        value = np.array([item.value for item in self.loads])
        self.value = np.where(np.abs(value) < LEAST_VALUE, 0.0, value)
        self.is_power = np.array([item.kind == "constant power" for item in self.loads], dtype=bool)
        least_v = LEAST_FOOT * max((abs(item.volt) for item in self.network.sources), default=0.0) or LEAST_FOOT
        self.foot_v = np.array([max(item.works_from_v, least_v) for item in self.loads])

    def _index_plain(self) -> None:
        self.start, self.end = self._merged_ends(0, len(self.resistors) + len(self.resistive))
        ohm = [*(item.ohm for item in self.resistors), *(max(item.value, LEAST_OHM) for item in self.resistive)]
        self.siemens = 1 / np.array(ohm)
        self.pieces, self.piece = grouped(self.start, self.end, self.count + 1)

    def _index_branches(self) -> None:
        self.plus, self.minus = self._merged_ends(len(self.items) - len(self.branches), len(self.branches))
        sources, diodes = self.network.sources, self.network.diodes
        self.volt = np.array([*(item.volt for item in sources), *(-item.forward_v for item in diodes)])
        self.ohm = np.array([*(item.ohm for item in sources), *(max(item.ohm, LEAST_DIODE_OHM) for item in diodes)])
        most = [np.inf if item.current_max_a is None else item.current_max_a for item in sources]
        self.most_a = np.array([*most, *(np.inf for _ in diodes)])
        self.least_a = np.array([*(0.0 if item.one_way else -np.inf for item in sources), *(0.0 for _ in diodes)])
        self.held_at_first: Held = (HOLDS,) * len(sources) + (SHUT,) * len(diodes)

    def _lay_out(self) -> None:
        """Where entries go in the matrix: the same places whatever the states, so that only values change."""
        n, m = self.count, len(self.branches)
        nodes, rows = np.arange(n), np.arange(n + 1, n + 1 + m)
        row = [
            *_square(self.start, self.end)[0],
            *_square(self.load_plus, self.load_minus)[0],
            nodes,
            self.plus,
            self.minus,
            rows,
            rows,
            rows,
        ]
        column = [
            *_square(self.start, self.end)[1],
            *_square(self.load_plus, self.load_minus)[1],
            nodes,
            rows,
            rows,
            self.plus,
            self.minus,
            rows,
        ]
        # Ground is node n: it takes a place here so that all is indexed alike, and is left out of the matrix.
        at_row, at_column = np.concatenate(row), np.concatenate(column)
        self.kept = (at_row != n) & (at_column != n)
        # What has both ends at one node is nothing there; its four entries would leave their rounding.
        apart = np.concatenate([np.tile(self.start != self.end, 4), np.tile(self.load_plus != self.load_minus, 4)])
        self.kept[: len(apart)] &= apart
        at_row, at_column = at_row - (at_row > n), at_column - (at_column > n)
        self.size = n + m
        key = at_column[self.kept] * self.size + at_row[self.kept]
        unique, self.slot = np.unique(key, return_inverse=True)
        self.row_of = (unique % max(self.size, 1)).astype(np.int32)
        self.column_from = np.searchsorted(unique, np.arange(self.size + 1) * self.size).astype(np.int32)

    def solve(self, lines: Lines, held: Held) -> State | None:
        """The network with straight-line loads, and each source and diode in the state that suits it; None where none does."""
        for change, most in ((_all_changed, ROUNDS_AT_ONCE), (_first_changed, ROUNDS_ONE_BY_ONE)):
            seen: set[Held] = set()
            # One by one, no states come twice unless the loads' lines fall so steeply that none suits.
            while held not in seen and len(seen) < most:
                seen.add(held)
                state = self._solve_held(lines, held)
                if state is None:
                    return None
                wanted = self._wanted(state)
                if wanted == held:
                    return state
                held = change(held, wanted)
        return None

    def _solve_held(self, lines: Lines, held: Held) -> State | None:
        n = self.count
        states = np.array(held, dtype=np.int64)
        anchors = self._anchors(lines, states)
        matrix = csc_matrix((self._entries(lines, states, anchors), self.row_of, self.column_from), shape=(self.size, self.size))
        right = np.zeros(n + 1 + len(held))
        np.add.at(right, self.load_plus, -lines.ampere)
        np.add.at(right, self.load_minus, lines.ampere)
        right[n + 1 :] = np.where(states == HOLDS, self.volt, 0.0)
        right[n + 1 :][states == LIMITED] = self.most_a[states == LIMITED]
        right = np.delete(right, n)
        if not self.size:
            return State(np.zeros(1), np.zeros(0), held, anchors)
        try:
            factors = splu(matrix)
        except RuntimeError:
            return None
        found = factors.solve(right)
        # One step of refinement: beside a thousandth of an ohm, a megohm's current would drown in rounding.
        found += factors.solve(right - matrix @ found)
        return State(np.append(found[:n], 0.0), found[n:], held, anchors) if np.isfinite(found).all() else None

    def _entries(self, lines: Lines, states: Array, anchors: Array) -> Array:
        """The matrix, with next to nothing to ground from the anchor of each loose piece, where no current should flow.

        If one does, because a source at its limit pushes into the piece or a load draws from it, the volts there run away, and
        the source or load sees that it is in the wrong state.
        """
        g, s = self.siemens, lines.siemens
        holds, one = (states == HOLDS).astype(float), np.ones(len(states))
        own = np.where(states == HOLDS, self.ohm, 1.0)
        parts = [g, g, -g, -g, s, s, -s, -s, ANCHOR_S * (anchors == np.arange(self.count + 1))[: self.count], -one, one, holds, -holds, own]
        return np.bincount(self.slot, weights=np.concatenate(parts)[self.kept], minlength=len(self.row_of))

    def _anchors(self, lines: Lines, states: Array) -> Array:
        """By node, the first node of the piece that shut branches cut off from ground with it; ground itself where none do."""
        holds = states == HOLDS
        key = (holds.tobytes(), lines.in_foot.tobytes())
        if key not in self._known_anchors:
            self._known_anchors[key] = self._found_anchors(holds, lines.in_foot)
        return self._known_anchors[key]

    def _found_anchors(self, holds: Array, in_foot: Array) -> Array:
        if self.pieces == 1:
            return np.full(self.count + 1, self.count)
        one = np.concatenate([self.plus[holds], self.load_plus[in_foot]])
        other = np.concatenate([self.minus[holds], self.load_minus[in_foot]])
        _, label = grouped(self.piece[one], self.piece[other], self.pieces)
        label = label[self.piece]
        _, first = np.unique(label, return_index=True)
        first[label[self.count]] = self.count
        return first[label]

    def _wanted(self, state: State) -> Held:
        """The states that volts and currents ask for."""
        states = np.array(state.held, dtype=np.int64)
        slack_a = SLACK * (1 + np.abs(state.branch_a).max(initial=0.0))
        slack_v = SLACK * (1 + np.abs(state.volt).max())
        # Volts left over, which would drive more current.
        over_v = self.volt - self.ohm * state.branch_a - (state.volt[self.plus] - state.volt[self.minus])
        wanted = states.copy()
        wanted[(states == HOLDS) & (state.branch_a > self.most_a + slack_a)] = LIMITED
        wanted[(states == HOLDS) & (state.branch_a < self.least_a - slack_a)] = SHUT
        wanted[(states == LIMITED) & (over_v < -slack_v)] = HOLDS
        wanted[(states == SHUT) & (over_v > slack_v)] = HOLDS
        return tuple(wanted.tolist())

    def limited(self, state: State) -> frozenset[str]:
        """The sources that give all they can."""
        return frozenset(item.ref for item, held in zip(self.branches, state.held, strict=True) if held == LIMITED)

    def load_v(self, state: State) -> Array:
        """Volts across each load of set current or power."""
        return state.volt[self.load_plus] - state.volt[self.load_minus]

    def in_loose_piece(self, state: State) -> Array:
        """Which of them have an end in a piece that nothing which conducts joins to ground."""
        is_loose = state.anchors != self.count
        return is_loose[self.load_plus] | is_loose[self.load_minus]

    def without_way(self, state: State) -> Array:
        """Which of them put current into a loose piece, from where there is no way."""
        has_current = ANCHOR_S * np.abs(state.volt[state.anchors]) > LEAST_VALUE * (1 + np.abs(state.branch_a).max(initial=0.0))
        return has_current[self.load_plus] | has_current[self.load_minus]

    def load_a(self, volt: Array, scale: Array) -> Array:
        """Amperes that each of them takes at some volts, times its scale."""
        above_a = np.where(self.is_power, self.value / np.maximum(volt, self.foot_v), self.value)
        return scale * above_a * np.where(volt < self.foot_v, volt / self.foot_v, 1.0)

    def tangents(self, volt: Array, scale: Array, *, falling: bool = True) -> Lines:
        """The straight lines that touch the loads' curves at some volts; level ones where they would fall, if asked."""
        in_foot = volt < self.foot_v
        ampere = self.load_a(volt, scale)
        rising = self.load_a(self.foot_v, scale) / self.foot_v
        slope = np.where(self.is_power, -ampere / np.maximum(volt, self.foot_v), 0.0) if falling else np.zeros(len(volt))
        siemens = np.where(in_foot, rising, slope)
        return Lines(ampere - siemens * volt, siemens, in_foot & (siemens != 0))


def ends_of(item: Resistor | Source | Load | Diode) -> tuple[str, str]:
    """The nodes of an item; a diode is told as the source that it is like: its cathode first."""
    if isinstance(item, Resistor):
        return item.start, item.end
    if isinstance(item, Diode):
        return item.cathode, item.anode
    return item.plus, item.minus


def grouped(one: Array, other: Array, count: int) -> tuple[int, Array]:
    """How many groups some pairs make of numbered nodes, and the group of each."""
    if count > MANY:
        graph = coo_matrix((np.ones(len(one)), (one, other)), shape=(count, count))
        groups, label = connected_components(graph, directed=False)
        return int(groups), label.astype(np.int64)
    first = list(range(count))
    for pair in zip(one.tolist(), other.tolist(), strict=True):
        low, high = sorted(_root(first, node) for node in pair)
        first[high] = low
    labels: list[int] = []
    groups = 0
    for node, before in enumerate(first):
        # What a node hangs on comes before it, so it has its label already.
        labels.append(groups if before == node else labels[before])
        groups += before == node
    return groups, np.array(labels, dtype=np.int64)


def _root(first: list[int], node: int) -> int:
    while first[node] != node:
        first[node] = node = first[first[node]]
    return node


def _square(one: Array, other: Array) -> tuple[list[Array], list[Array]]:
    return [one, other, one, other], [one, other, other, one]


def _all_changed(_: Held, wanted: Held) -> Held:
    return wanted


def _first_changed(held: Held, wanted: Held) -> Held:
    place = next(number for number, (one, other) in enumerate(zip(held, wanted, strict=True)) if one != other)
    return (*held[:place], wanted[place], *held[place + 1 :])
