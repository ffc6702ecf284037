"""In which order things stand in each row, so that few wires cross, and then how far to the right each stands."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from halfshaft.drawings.diagrams.columns import GRID_MM, Width, columns_of
from halfshaft.drawings.diagrams.nets import End, Net, Node, Terminal
from halfshaft.studies.diagrams.units import Side, Unit

GAP_MM = 10.0
SWEEPS = 12


@dataclass(frozen=True, slots=True)
class Order:
    """Rows of nodes from left to right, how wide units are, and where everything stands."""

    rows: tuple[tuple[Node, ...], ...]
    widths: dict[str, Width]
    left_mm: dict[Node, float]

    def x_of(self, terminal: Terminal) -> float:
        """Where a wire meets its row."""
        left = self.left_mm[terminal.node]
        return left if terminal.end is None else left + self.widths[terminal.node.unit].x_of[terminal.end]

    def width_of(self, node: Node) -> float:
        """A unit's width; a way is a line."""
        return self.widths[node.unit].width_mm if node.unit else 0.0

    def with_row(self, row: int, nodes: Sequence[Node]) -> Order:
        """The same with one row in another order, packed and centred."""
        left = dict(self.left_mm)
        at = -sum(self.width_of(node) + GAP_MM for node in nodes) / 2
        for node in nodes:
            left[node] = at
            at += self.width_of(node) + GAP_MM
        return Order((*self.rows[:row], tuple(nodes), *self.rows[row + 1 :]), self.widths, left)


def order_rows(units: Mapping[str, Unit], rows: Mapping[str, int], sides: Mapping[End, Side], nets: tuple[Net, ...]) -> Order:
    """A good order by sweeps that put each thing under the middle of what it is joined to; the best one met is kept.

    A heuristic: the fewest crossings are not proven.
    """
    nodes: dict[int, list[Node]] = defaultdict(list)
    for ref in sorted(units, key=lambda ref: (rows[ref], ref)):
        nodes[rows[ref]].append(Node(rows[ref], ref))
    for node in dict.fromkeys(t.node for net in nets for t in (net.first, net.last) if not t.node.unit):
        nodes[node.row].append(node)
    table = [nodes[row] for row in sorted(nodes)]
    partners = _partners(nets)
    channels = _by_channel(nets)
    order = _packed(units, sides, table, partners, None)
    best = (math.inf, order)
    for sweep in range(SWEEPS):
        down = sweep % 2 == 0
        for row in range(len(table)) if down else reversed(range(len(table))):
            only = None if sweep >= SWEEPS // 2 else row - 1 if down else row + 1
            middles = {node: _middle(order, node, partners, only=only) for node in table[row]}
            table[row] = sorted(table[row], key=lambda node: (middles[node], node))
            order = order.with_row(row, table[row])
        order = _swapped(_packed(units, sides, table, partners, order), channels)
        table = [list(row) for row in order.rows]
        cost = math.fsum(_cost(order, found) for found in channels.values())
        if cost < best[0]:
            best = cost, order
    return _spread(best[1], nets)


Partners = dict[Node, dict[Terminal, list[Terminal]]]


def _partners(nets: tuple[Net, ...]) -> Partners:
    """By node and its terminals, what each is joined to."""
    partners: Partners = defaultdict(lambda: defaultdict(list))
    for net in nets:
        partners[net.first.node][net.first].append(net.last)
        partners[net.last.node][net.last].append(net.first)
    return partners


def _by_channel(nets: tuple[Net, ...]) -> dict[int, list[Net]]:
    found: dict[int, list[Net]] = defaultdict(list)
    for net in nets:
        found[net.channel].append(net)
    return found


def _middle(order: Order, node: Node, partners: Partners, *, only: int | None) -> float:
    """Where a node would best stand: the mean of what it is joined to in one neighbouring row, or in all."""
    found = [order.x_of(other) for others in partners[node].values() for other in others if only is None or other.node.row == only]
    return sum(found) / len(found) if found else order.left_mm[node] + order.width_of(node) / 2


def _packed(
    units: Mapping[str, Unit], sides: Mapping[End, Side], table: list[list[Node]], partners: Partners, before: Order | None
) -> Order:
    """Each row packed and centred, with each unit's columns in the order of what they are joined to."""

    def wanted(end: End, node: Node) -> float:
        return _wanted(before, Terminal(node, end), partners)

    widths = {node.unit: columns_of(units[node.unit], sides, partial(wanted, node=node)) for row in table for node in row if node.unit}
    order = Order(tuple(tuple(row) for row in table), widths, {})
    for index, nodes in enumerate(table):
        order = order.with_row(index, nodes)
    return order


def _wanted(before: Order | None, terminal: Terminal, partners: Partners) -> float:
    if before is None:
        return 0.0
    found = [before.x_of(other) for other in partners[terminal.node][terminal]]
    return sum(found) / len(found)


def _swapped(order: Order, channels: Mapping[int, list[Net]]) -> Order:
    """Neighbours changed over wherever that makes the two channels beside them better."""
    for row in range(len(order.rows)):
        beside = [net for channel in (row, row + 1) for net in channels.get(channel, ())]
        cost = _cost(order, beside)
        for index in range(len(order.rows[row]) - 1):
            nodes = list(order.rows[row])
            nodes[index : index + 2] = reversed(nodes[index : index + 2])
            trial = order.with_row(row, nodes)
            new = _cost(trial, beside)
            if new < cost:
                order, cost = trial, new
    return order


def _cost(order: Order, nets: list[Net]) -> float:
    return 100.0 * crossings(order, nets) + sum(abs(order.x_of(net.first) - order.x_of(net.last)) for net in nets) / 10.0


def crossings(order: Order, nets: Iterable[Net]) -> int:
    """How many pairs of wires must cross in the channels between rows, given the order along the rows."""
    by_channel: dict[int, list[tuple[tuple[float, bool], tuple[float, bool]]]] = defaultdict(list)
    for net in nets:
        ends = sorted((order.x_of(t), net.is_high(t)) for t in (net.first, net.last))
        by_channel[net.channel].append((ends[0], ends[1]))
    count = 0
    for found in by_channel.values():
        rings = [sorted(_round(end) for end in ends) for ends in found]
        for index, one in enumerate(rings):
            # Ends go round the channel; two wires cross just if their ends alternate on that ring.
            count += sum((one[0] < other[0] < one[1]) != (one[0] < other[1] < one[1]) for other in rings[index + 1 :])
    return count


def _round(end: tuple[float, bool]) -> tuple[int, float]:
    x, is_high = end
    return (0, x) if is_high else (1, -x)


def _spread(order: Order, nets: tuple[Net, ...]) -> Order:
    """The same order with everything moved sideways so that wires run as straight as they can.

    A linear programme: least sum of sideways ways, straight wires past rows first, neighbours no nearer than their gaps. All
    gaps are multiples of the grid, and so is every corner of what is allowed, so the answer falls on the grid.
    """
    import numpy as np
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    nodes = [node for row in order.rows for node in row]
    number = {node: index for index, node in enumerate(nodes)}
    pulls = [net for net in nets if net.first.node != net.last.node]
    size = len(nodes) + len(pulls)
    rows: list[list[tuple[int, float]]] = []
    limits: list[float] = []
    cost = np.zeros(size)
    for index, net in enumerate(pulls):
        slack = len(nodes) + index
        apart = _offset(order, net.last) - _offset(order, net.first)
        one, other = number[net.first.node], number[net.last.node]
        rows += [[(other, 1.0), (one, -1.0), (slack, -1.0)], [(one, 1.0), (other, -1.0), (slack, -1.0)]]
        limits += [-apart, apart]
        passing = (not net.first.node.unit) + (not net.last.node.unit)
        cost[slack] = (1.0, 2.0, 8.0)[passing] if net.goes_through else 0.5
    for row in order.rows:
        for left, right in itertools.pairwise(row):
            rows.append([(number[left], 1.0), (number[right], -1.0)])
            limits.append(-order.width_of(left) - GAP_MM)
    cost[: len(nodes)] = 1e-3
    where = [(r, c, v) for r, entries in enumerate(rows) for c, v in entries]
    matrix = csr_array(([v for _, _, v in where], ([r for r, _, _ in where], [c for _, c, _ in where])), shape=(len(rows), size))
    answer = linprog(cost, A_ub=matrix, b_ub=limits, bounds=(0, None), method="highs-ds")
    if not answer.success:
        raise AssertionError(f"a row can always be spread further: {answer.message}")
    lefts = {node: round(float(answer.x[number[node]]) / GRID_MM) * GRID_MM for node in nodes}
    return Order(order.rows, order.widths, lefts)


def _offset(order: Order, terminal: Terminal) -> float:
    return 0.0 if terminal.end is None else order.widths[terminal.node.unit].x_of[terminal.end]
