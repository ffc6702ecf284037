"""The route network: points and splices joined by runs, and the shortest way between two of them."""

from __future__ import annotations

import heapq
import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Run
from halfshaft.studies.looms.splices import SplicePlace


@dataclass(frozen=True, kw_only=True, slots=True)
class RunLength:
    """Both lengths of a run. The taped one wins where there is one."""

    run: str
    straight_mm: float
    taped_mm: float | None

    @property
    def length_mm(self) -> float:
        """The length that everything is computed with."""
        return self.straight_mm if self.taped_mm is None else self.taped_mm


@dataclass(frozen=True, slots=True)
class Step:
    """A piece of a route: one run, or the part of it as far as a splice."""

    run: str
    start: str
    end: str
    length_mm: float


@dataclass(frozen=True, slots=True)
class Route:
    """The way of a wire from one point or splice to another; no steps where both ends meet at one point."""

    start: str
    end: str
    steps: tuple[Step, ...]

    @property
    def length_mm(self) -> float:
        """Along the runs, without tails."""
        return math.fsum(step.length_mm for step in self.steps)

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every point and splice passed, both ends included."""
        return (self.start, *(step.end for step in self.steps))


def run_length(conversion: Conversion, run: Run) -> RunLength:
    """Straight length between the two points of a run, beside the taped one."""
    start, end = conversion.point[run.from_point], conversion.point[run.to_point]
    straight_mm = math.dist((start.x_mm, start.y_mm, start.z_mm), (end.x_mm, end.y_mm, end.z_mm))
    return RunLength(run=run.ref, straight_mm=straight_mm, taped_mm=run.length_taped_mm)


@dataclass(slots=True)
class Network:
    """Points, splices and the pieces of run between them, with the shortest ways found so far."""

    lengths: dict[str, RunLength]
    _edges: dict[str, list[tuple[str, Step]]] = field(default_factory=lambda: defaultdict(list))
    _carries: dict[str, frozenset[str]] = field(default_factory=dict)
    _trees: dict[tuple[str, str | None], dict[str, tuple[float, Step | None]]] = field(default_factory=dict)

    @classmethod
    def of(cls, conversion: Conversion, places: Mapping[str, SplicePlace]) -> Network:
        """The network of a conversion. A splice lies on its run and parts it in two."""
        lengths = {run.ref: run_length(conversion, run) for run in conversion.runs}
        network = cls(lengths)
        for run in conversion.runs:
            network._carries[run.ref] = frozenset(run.may_carry)
            for step in pieces_of_run(places, run, lengths[run.ref].length_mm):
                network._edges[step.start].append((step.end, step))
                network._edges[step.end].append((step.start, Step(step.run, step.end, step.start, step.length_mm)))
        return network

    def shortest(self, start: str, end: str, *, kind: str | None) -> Route | None:
        """The shortest way over runs that may carry this kind, or None. `kind` None asks for any run at all.

        Of two ways of one length the one whose names sort first is taken, so that a reprint matches.
        """
        tree = self._tree(start, kind)
        if end not in tree:
            return None
        steps: list[Step] = []
        node = end
        while node != start:
            step = tree[node][1]
            assert step is not None
            steps.append(step)
            node = step.start
        return Route(start, end, tuple(reversed(steps)))

    def through(self, places: Iterable[str], *, kind: str | None) -> Route | None:
        """The shortest way that passes the given places in order."""
        stops = list(places)
        steps: list[Step] = []
        for start, end in itertools.pairwise(stops):
            leg = self.shortest(start, end, kind=kind)
            if leg is None:
                return None
            steps.extend(leg.steps)
        return Route(stops[0], stops[-1], tuple(steps))

    def distances_mm(self, start: str, *, kind: str | None) -> dict[str, float]:
        """How far every point and splice lies that can be reached over runs that may carry this kind."""
        return {node: length_mm for node, (length_mm, _) in self._tree(start, kind).items()}

    def may_carry(self, run: str, kind: str) -> bool:
        """Whether a run is open to this kind."""
        return kind in self._carries[run]

    def _tree(self, start: str, kind: str | None) -> dict[str, tuple[float, Step | None]]:
        """Dijkstra's tree of shortest ways from one place, kept for the next wire that begins there."""
        key = (start, kind)
        if key in self._trees:
            return self._trees[key]
        best: dict[str, tuple[float, Step | None]] = {start: (0.0, None)}
        done: set[str] = set()
        queue: list[tuple[float, str]] = [(0.0, start)]
        while queue:
            length, node = heapq.heappop(queue)
            if node in done:
                continue
            done.add(node)
            for other, step in self._edges.get(node, ()):
                if other in done or (kind is not None and kind not in self._carries[step.run]):
                    continue
                candidate = length + step.length_mm
                known = best.get(other)
                if known is None or candidate < known[0] or (candidate == known[0] and _before(step, known[1])):
                    best[other] = (candidate, step)
                    heapq.heappush(queue, (candidate, other))
        self._trees[key] = best
        return best


def _before(step: Step, other: Step | None) -> bool:
    return other is not None and (step.run, step.start) < (other.run, other.start)


def pieces_of_run(places: Mapping[str, SplicePlace], run: Run, length_mm: float) -> list[Step]:
    """A run cut at the splices that lie on it, from its first point to its last."""
    marks = []
    for place in places.values():
        if place.run == run.ref:
            marks.append((place.from_start_mm(run, length_mm), place.splice))
    marks.sort()
    pieces, at, node = [], 0.0, run.from_point
    for place_mm, splice_ref in marks:
        pieces.append(Step(run.ref, node, splice_ref, place_mm - at))
        at, node = place_mm, splice_ref
    pieces.append(Step(run.ref, node, run.to_point, length_mm - at))
    return pieces
