"""A loom as a tree: is it one, and if so, which stretches of bundle hang between its breakouts and connectors?"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import LaidLoom


@dataclass(frozen=True, slots=True)
class Edge:
    """One run or one tail of a loom between two nodes. A connector is a node of its own; `over_mm` is over any tube."""

    ref: str
    start: str
    end: str
    length_mm: float
    bundle_mm: float
    is_tail: bool
    over_mm: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A route point that a stretch passes, and how far along it lies."""

    point: str
    at_mm: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """A length of bundle between two breakouts, or from a breakout to a connector, with what it passes."""

    start: str
    end: str
    edges: tuple[Edge, ...]
    marks: tuple[Mark, ...]

    @property
    def length_mm(self) -> float:
        """Along the centre line."""
        return math.fsum(edge.length_mm for edge in self.edges)

    @property
    def bundle_mm(self) -> float:
        """The thickest that it is anywhere, over any tube."""
        return max(edge.over_mm for edge in self.edges)


def edges_of(laid: LaidLoom, *, thin: bool = False) -> tuple[Edge, ...]:
    """Runs and tails of a loom as edges between named nodes; `thin` where only its shape is asked for, and no bundle's diameter."""
    runs = [
        Edge(run.run, run.start, run.end, run.length_mm, 0.0 if thin else run.bundle_mm, False, 0.0 if thin else run.over_mm)
        for run in laid.runs
    ]
    tails = [
        Edge(f"tail {tail.connector}", tail.point, tail.connector, tail.length_mm, bundle_mm, True, bundle_mm)
        for tail in laid.tails
        for bundle_mm in (0.0 if thin else tail.bundle_mm,)
    ]
    return (*runs, *tails)


def loops_in(edges: tuple[Edge, ...]) -> Iterator[tuple[str, ...]]:
    """Each independent loop, as the refs of the edges that make it, in the order in which they are met."""
    parent: dict[str, tuple[str, Edge] | None] = {}
    for edge in edges:
        path_a, path_b = _way_up(parent, edge.start), _way_up(parent, edge.end)
        roots = (path_a[-1][0] if path_a else edge.start, path_b[-1][0] if path_b else edge.end)
        if roots[0] == roots[1]:
            refs_a = [step.ref for _, step in path_a]
            refs_b = [step.ref for _, step in path_b]
            while refs_a and refs_b and refs_a[-1] == refs_b[-1]:
                refs_a.pop()
                refs_b.pop()
            yield (edge.ref, *refs_a, *reversed(refs_b))
        else:
            _reroot(parent, edge.end)
            parent[edge.end] = (edge.start, edge)


def _way_up(parent: dict[str, tuple[str, Edge] | None], node: str) -> list[tuple[str, Edge]]:
    steps = []
    while (above := parent.get(node)) is not None:
        steps.append(above)
        node = above[0]
    return steps


def _reroot(parent: dict[str, tuple[str, Edge] | None], node: str) -> None:
    """Turn the tree of `node` over so that it becomes its root."""
    below: tuple[str, Edge] | None = None
    current: str | None = node
    while current is not None:
        above = parent.get(current)
        parent[current] = below
        below = (current, above[1]) if above else None
        current = above[0] if above else None


def pieces_of(edges: tuple[Edge, ...]) -> list[tuple[Edge, ...]]:
    """The parts of a loom that hang together, each in the order of the edges given."""
    groups = joined_groups((edge.start, edge.end) for edge in edges)
    found: dict[str, list[Edge]] = defaultdict(list)
    for edge in edges:
        found[groups[edge.start]].append(edge)
    return [tuple(piece) for piece in found.values()]


def stretches_of(edges: tuple[Edge, ...]) -> tuple[Stretch, ...]:
    """A tree's edges joined wherever a node has just two of them, so that only breakouts and ends remain as nodes.

    The edges must be a tree. A point with two edges is a clip, or the foot of a single tail: the bundle goes on.
    """
    at: dict[str, list[Edge]] = defaultdict(list)
    for edge in edges:
        at[edge.start].append(edge)
        at[edge.end].append(edge)
    stretches: list[Stretch] = []
    used: set[str] = set()
    for node in sorted(node for node, touching in at.items() if len(touching) != 2):
        for edge in at[node]:
            if edge.ref in used:
                continue
            chain, current = [edge], _other(edge, node)
            while len(at[current]) == 2:
                edge = at[current][0] if at[current][1].ref == chain[-1].ref else at[current][1]
                chain.append(edge)
                current = _other(edge, current)
            used.update(item.ref for item in chain)
            stretches.append(_stretch(node, chain))
    return tuple(stretches)


def _stretch(start: str, chain: list[Edge]) -> Stretch:
    marks, at_mm, node = [], 0.0, start
    for edge in chain[:-1]:
        at_mm += edge.length_mm
        node = _other(edge, node)
        marks.append(Mark(node, at_mm))
    return Stretch(start, _other(chain[-1], node), tuple(chain), tuple(marks))


def _other(edge: Edge, node: str) -> str:
    return edge.end if edge.start == node else edge.start
