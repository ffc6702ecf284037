"""What an ohmmeter reads between two nodes of any network of resistors: series, parallel and meshed alike."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

Edge = tuple[str, str, float]

# A link without resistance counts as a millionth of an ohm: less than any meter shows, enough to divide by.
LEAST_OHM = 1e-6
# Of one ampere through the meter, the least that counts as current and not as rounding.
LEAST_SHARE = 1e-6


class Mesh:
    """Resistors between named nodes, in pieces that are not joined to each other.

    Each piece is solved by nodal analysis: with one node held at zero, the inverse G of the matrix of conductances
    gives R(a, b) = G(a, a) + G(b, b) - 2 G(a, b). Source: Kirchhoff's laws.

    >>> mesh = Mesh([("a", "b", 2.0), ("a", "b", 2.0), ("b", "c", 1.0)])
    >>> round(mesh.between("a", "c"), 9), mesh.between("a", "d")
    (2.0, inf)
    """

    def __init__(self, edges: Iterable[Edge]) -> None:
        at: dict[str, list[Edge]] = defaultdict(list)
        for edge in edges:
            at[edge[0]].append(edge)
            at[edge[1]].append(edge)
        self.piece: dict[str, frozenset[str]] = {}
        self._edges: dict[str, tuple[Edge, ...]] = {}
        for node in at:
            if node not in self.piece:
                self._gather(node, at)

    def _gather(self, start: str, at: dict[str, list[Edge]]) -> None:
        nodes, edges, waiting = {start}, [], [start]
        while waiting:
            node = waiting.pop()
            for edge in at[node]:
                if edge[0] == node:
                    edges.append(edge)
                other = edge[1] if edge[0] == node else edge[0]
                if other not in nodes:
                    nodes.add(other)
                    waiting.append(other)
        piece, kept = frozenset(nodes), tuple(sorted(edges))
        for node in nodes:
            self.piece[node] = piece
            self._edges[node] = kept

    def joined(self, one: str) -> frozenset[str]:
        """Every node that some way joins to this one, itself among them."""
        return self.piece.get(one, frozenset((one,)))

    def between(self, one: str, other: str) -> float:
        """Ohms from one node to another; infinite where nothing joins them."""
        if one == other:
            return 0.0
        if other not in self.joined(one):
            return math.inf
        return _solved(self._edges[one]).between(one, other)

    def against(self, one: str, others: Iterable[str]) -> float:
        """Ohms from one node to several others that are tied together."""
        near = sorted(self.joined(one).intersection(others) - {one})
        if not near:
            return math.inf
        tied = [(near[0], other, LEAST_OHM) for other in near[1:]]
        return _solved(tuple(sorted([*self._edges[one], *tied]))).between(one, near[0])

    def carrying(self, one: str, other: str) -> frozenset[tuple[str, str]]:
        """Pairs of nodes between which current flows while a meter is held to these two."""
        if one == other or other not in self.joined(one):
            return frozenset()
        return _solved(self._edges[one]).carrying(one, other)


@dataclass(frozen=True, slots=True)
class _Solved:
    edges: tuple[Edge, ...]
    index: dict[str, int]
    inverse: Any

    def between(self, one: str, other: str) -> float:
        a, b = self.index[one], self.index[other]
        return float(self.inverse[a, a] + self.inverse[b, b] - 2 * self.inverse[a, b])

    def carrying(self, one: str, other: str) -> frozenset[tuple[str, str]]:
        volt = self.inverse[:, self.index[one]] - self.inverse[:, self.index[other]]
        return frozenset(
            (start, end)
            for start, end, ohm in self.edges
            if abs(volt[self.index[start]] - volt[self.index[end]]) / max(ohm, LEAST_OHM) > LEAST_SHARE
        )


@lru_cache(maxsize=8192)
def _solved(edges: tuple[Edge, ...]) -> _Solved:
    """One piece, solved; the same piece is met again and again while faults elsewhere are tried."""
    import numpy as np

    index = {node: number for number, node in enumerate(sorted({node for edge in edges for node in edge[:2]}))}
    matrix = np.zeros((len(index), len(index)))
    for start, end, ohm in edges:
        a, b, siemens = index[start], index[end], 1 / max(ohm, LEAST_OHM)
        matrix[a, a] += siemens
        matrix[b, b] += siemens
        matrix[a, b] -= siemens
        matrix[b, a] -= siemens
    inverse = np.zeros_like(matrix)
    inverse[1:, 1:] = np.linalg.inv(matrix[1:, 1:])
    return _Solved(edges, index, inverse)
