"""What can be wrong with a splice: too near to something else, or too much copper for its crimp."""

from __future__ import annotations

import heapq
import itertools
import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding
from halfshaft.studies.basis import shop_basis
from halfshaft.studies.looms.network import pieces_of_run
from halfshaft.studies.looms.routing import LaidLoom, LaidWire, Routing
from halfshaft.studies.looms.uses import some

# From memory: more wires than these are not crimped into one splice (loom practice E9).
SIDE_MAX, ALL_MAX = 5, 10
# Less than this is the tape measure's, not the design's.
ROUNDING_MM = 1e-6


def splice_findings(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """All rules of this module."""
    for laid in routing.looms:
        used = {end.pin for wire in laid.wires for end in (wire.start, wire.end) if end.is_splice}
        splices = [splice.ref for splice in conversion.splices if splice.ref in used and _lies_on_its_run(routing, splice.ref)]
        if splices:
            tree = _Tree.of(conversion, routing, laid)
            yield from near_branch(conversion, tree, splices)
            yield from near_splice(conversion, tree, laid, splices)
            for splice in splices:
                yield from too_big(conversion, laid, splice)


def _lies_on_its_run(routing: Routing, splice: str) -> bool:
    """Whether it has a place, and not one beyond the end of its run: that is a finding of its own."""
    place = routing.splices.get(splice)
    return place is not None and place.at_mm <= routing.run_lengths[place.run].length_mm


@dataclass(frozen=True, slots=True)
class _Tree:
    """A loom's points, connectors and splices, with the lengths between them."""

    edges: dict[str, list[tuple[str, float]]]
    connectors: frozenset[str]

    @classmethod
    def of(cls, conversion: Conversion, routing: Routing, laid: LaidLoom) -> _Tree:
        edges: dict[str, list[tuple[str, float]]] = defaultdict(list)
        pieces = [
            (piece.start, piece.end, piece.length_mm)
            for run in laid.runs
            for piece in pieces_of_run(routing.splices, conversion.run[run.run], run.length_mm)
        ]
        pieces += [(tail.point, tail.connector, tail.length_mm) for tail in laid.tails]
        for start, end, length_mm in pieces:
            edges[start].append((end, length_mm))
            edges[end].append((start, length_mm))
        return cls(dict(edges), frozenset(tail.connector for tail in laid.tails))

    def within(self, start: str, limit_mm: float) -> dict[str, float]:
        """What lies nearer to a place than a limit, and how far off."""
        found: dict[str, float] = {}
        queue = [(0.0, start)]
        while queue:
            length_mm, node = heapq.heappop(queue)
            if node in found:
                continue
            found[node] = length_mm
            for other, piece_mm in self.edges.get(node, ()):
                if length_mm + piece_mm < limit_mm - ROUNDING_MM:
                    heapq.heappush(queue, (length_mm + piece_mm, other))
        return found


def near_branch(conversion: Conversion, tree: _Tree, splices: list[str]) -> Iterator[Finding]:
    """A splice lies too near to a breakout or to the back of a connector."""
    limit_mm = conversion.shop.splice_apart_mm
    for splice in splices:
        near = {
            node: length_mm
            for node, length_mm in tree.within(splice, limit_mm).items()
            if node in tree.connectors or (node in conversion.point and len(tree.edges[node]) > 2)
        }
        if near:
            node = min(near, key=lambda name: (near[name], name))
            what = f"the back of connector {node}" if node in tree.connectors else f"breakout {node}"
            yield _too_near(conversion, splice, node, what, near[node])


def near_splice(conversion: Conversion, tree: _Tree, laid: LaidLoom, splices: list[str]) -> Iterator[Finding]:
    """Two splices of a loom lie too near to each other; further where the wires of one pass the other."""
    shop = conversion.shop
    reach_mm = max(shop.splice_apart_mm, shop.splice_stagger_mm)
    passed = _passed(laid)
    near = {splice: tree.within(splice, reach_mm) for splice in splices}
    for one, other in itertools.combinations(splices, 2):
        length_mm = near[one].get(other)
        if length_mm is None:
            continue
        if length_mm < shop.splice_apart_mm - ROUNDING_MM:
            yield _too_near(conversion, one, other, f"splice {other}", length_mm)
        elif length_mm < shop.splice_stagger_mm - ROUNDING_MM and (other in passed[one] or one in passed[other]):
            yield Finding(
                rule="looms.splice-near",
                level="note",
                about=(one, other),
                text=f"Splices {one} and {other} lie {length_mm:.0f} mm apart, and wires of one pass the other; staggered by {shop.splice_stagger_mm:g} mm the bundle stays thinner.",
                value=length_mm,
                limit=shop.splice_stagger_mm,
                unit="mm",
                basis=shop_basis(shop.splice_stagger_mm, "splice_stagger_mm"),
            )


def _too_near(conversion: Conversion, splice: str, other: str, what: str, length_mm: float) -> Finding:
    limit_mm = conversion.shop.splice_apart_mm
    return Finding(
        rule="looms.splice-near",
        level="fix",
        about=(splice, other),
        text=f"Splice {splice} lies {length_mm:.0f} mm from {what}; {limit_mm:g} mm is the least: move it along its run, or leave its place blank to have it chosen.",
        value=length_mm,
        limit=limit_mm,
        unit="mm",
        basis=shop_basis(limit_mm, "splice_apart_mm"),
    )


def _passed(laid: LaidLoom) -> dict[str, set[str]]:
    """By splice, what the wires that end in it pass on their way."""
    found: dict[str, set[str]] = defaultdict(set)
    for wire in laid.wires:
        for end in (wire.start, wire.end):
            if end.is_splice and wire.route:
                found[end.pin].update(wire.route.nodes[1:-1])
    return found


def too_big(conversion: Conversion, laid: LaidLoom, splice: str) -> Iterator[Finding]:
    """More copper on one side of a splice than its crimp takes, or more wires than are crimped well."""
    sides = _sides(laid, splice)
    terminal = conversion.terminal[conversion.splice[splice].terminal]
    wires = [wire for side in sides for wire in side]
    fuller = max(sides, key=lambda side: math.fsum(wire.wire.section_mm2 for wire in side), default=[])
    section_mm2 = math.fsum(wire.wire.section_mm2 for wire in fuller)
    refs = tuple(sorted(wire.wire.ref for wire in fuller))
    if section_mm2 > terminal.section_max_mm2 + 1e-9:
        yield Finding(
            rule="looms.splice-too-big",
            level="stop",
            about=(splice, *refs),
            text=f"On one side of splice {splice} lie {some(refs)}, {section_mm2:g} mm² together; its crimp {terminal.ref} takes {terminal.section_max_mm2:g} mm²: share them over two splices, or take a larger crimp.",
            value=section_mm2,
            limit=terminal.section_max_mm2,
            unit="mm²",
            basis=Basis("common practice", "the terminal's own facts in the catalogue"),
        )
    elif len(fuller) > SIDE_MAX or len(wires) > ALL_MAX:
        most = max((len(side) for side in sides), default=0)
        yield Finding(
            rule="looms.splice-too-big",
            level="note",
            about=(splice,),
            text=f"Splice {splice} joins {len(wires)} wires, up to {most} on one side; more than {SIDE_MAX} on a side or {ALL_MAX} in all are hard to crimp well.",
            value=float(most if most > SIDE_MAX else len(wires)),
            limit=float(SIDE_MAX if most > SIDE_MAX else ALL_MAX),
            unit="wires",
            basis=Basis("from memory", "wires in one crimp splice (loom practice E9)"),
        )


def _sides(laid: LaidLoom, splice: str) -> list[list[LaidWire]]:
    """The wires of a splice by the way in which they leave it. One without a way is left out."""
    found: dict[str, list[LaidWire]] = defaultdict(list)
    for wire in laid.wires:
        nodes = wire.route.nodes if wire.route else ()
        if len(nodes) > 1:
            if wire.start.pin == splice:
                found[nodes[1]].append(wire)
            if wire.end.pin == splice:
                found[nodes[-2]].append(wire)
    return [found[node] for node in sorted(found)]
