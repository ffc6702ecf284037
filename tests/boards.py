"""What shapely (GEOS) sees wrong with a loom laid flat or with a whole board. Used by the laws and the cases."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely import LineString, Point, Polygon, STRtree

from halfshaft.studies.looms.board import Board, outline
from halfshaft.studies.looms.geometry import Bend, Path
from halfshaft.study import Study

TRUE_MM = 1e-6


@dataclass(frozen=True)
class Line:
    """A laid stretch between two named nodes."""

    ends: tuple[str, str]
    path: Path

    @property
    def shape(self) -> LineString:
        """Its centre line, arcs in steps of two degrees."""
        places = [self.path.start]
        for piece in self.path.pieces:
            steps = math.ceil(abs(piece.turn_deg) / 2) if isinstance(piece, Bend) else 1
            places += [piece.at(piece.length_mm * step / steps) for step in range(1, steps + 1)]
        return LineString(places)

    def place(self, node: str) -> tuple[float, float]:
        return self.path.start if node == self.ends[0] else self.path.end


def crossings(lines: Sequence[Line]) -> list[str]:
    """Stretches without a common node that touch, and stretches with one that touch anywhere else."""
    shapes = [line.shape for line in lines]
    found = []
    for here, there in STRtree(shapes).query(shapes, predicate="dwithin", distance=TRUE_MM).T:
        if here >= there:
            continue
        shared = set(lines[here].ends) & set(lines[there].ends)
        if len(shared) != 1:
            found.append(f"{lines[here].ends} touches {lines[there].ends}")
            continue
        (node,) = shared
        if math.dist(lines[here].place(node), lines[there].place(node)) > TRUE_MM:
            found.append(f"{node} lies in two places")
        # Rounding may leave a piece of no length where two lines meet end to end: all of it must lie at the node.
        common = shapes[here].intersection(shapes[there])
        if not common.is_empty and common.hausdorff_distance(Point(lines[here].place(node))) > 1e-3:
            found.append(f"{lines[here].ends} touches {lines[there].ends} beyond {node}")
    return found


def on_top(lines: Sequence[Line], bundle_mm: dict[frozenset[str], float]) -> list[str]:
    """Stretches without a common node whose bundles, as thick as they are, lie on each other."""
    found = []
    for (here, first), (there, second) in itertools.combinations([(line, line.shape) for line in lines], 2):
        least_mm = (bundle_mm[frozenset(here.ends)] + bundle_mm[frozenset(there.ends)]) / 2
        if not set(here.ends) & set(there.ends) and first.distance(second) < least_mm:
            found.append(f"{here.ends} lies on {there.ends}")
    return found


def kinks(lines: Iterable[Line]) -> list[str]:
    """Where a path does not go on as it came."""
    found = []
    for line in lines:
        for piece, after in itertools.pairwise(line.path.pieces):
            turn = (piece.heading_at(piece.length_mm) - after.heading_at(0.0) + 180.0) % 360.0 - 180.0
            if math.dist(piece.at(piece.length_mm), after.start) > TRUE_MM or abs(turn) > 1e-6:
                found.append(f"{line.ends}")
        if any(piece.length_mm < 0 for piece in line.path.pieces):
            found.append(f"{line.ends} goes backwards")
    return found


def too_tight(lines: Iterable[Line], bundle_mm: dict[frozenset[str], float], factor: float) -> list[str]:
    return [
        f"{line.ends}: radius {piece.radius_mm} for a bundle of {bundle_mm[frozenset(line.ends)]}"
        for line in lines
        for piece in line.path.pieces
        if isinstance(piece, Bend) and piece.radius_mm < factor * bundle_mm[frozenset(line.ends)] - 1e-9
    ]


def board_faults(study: Study, board: Board) -> list[str]:
    """Everything that no board may show, however it was laid."""
    conversion, laid = study.conversion, study.routing.loom(board.loom)
    lines = [Line((item.start, item.end), item.path) for item in board.stretches]
    bundles = {frozenset((item.start, item.end)): max(section.over_mm for section in item.sections) for item in board.stretches}
    found = crossings(lines) + kinks(lines) + too_tight(lines, bundles, conversion.shop.bend_radius_factor)
    if board.method == "search":
        found += on_top(lines, bundles)
    asked = {run.run: run.length_mm for run in laid.runs} | {f"tail {tail.connector}": tail.length_mm for tail in laid.tails}
    for item in board.stretches:
        at_mm = 0.0
        for section in item.sections:
            if abs(section.from_mm - at_mm) > TRUE_MM or abs(section.to_mm - at_mm - asked.pop(section.ref)) > TRUE_MM:
                found.append(f"{section.ref} is not as long as it was asked")
            at_mm = section.to_mm
        if abs(item.path.length_mm - at_mm) > TRUE_MM:
            found.append(f"{item.start} to {item.end} is {item.path.length_mm} long")
    found += [f"{ref} is not on the board" for ref in asked]
    left, bottom, right, top = outline(board)
    if left < 0 or bottom < 0 or right > board.size_mm[0] or top > board.size_mm[1]:
        found.append(f"it leaves its sheet: {outline(board)}")
    if {holder.connector for holder in board.holders} != {tail.connector for tail in laid.tails}:
        found.append("not every connector has a holder")
    return found


def holder_faults(board: Board) -> list[str]:
    """Holders on each other or on a bundle that is not their own."""
    blocks = {holder.connector: Polygon(holder.corners) for holder in board.holders}
    found = [f"{here} on {there}" for here, there in itertools.combinations(blocks, 2) if blocks[here].intersects(blocks[there])]
    for item in board.stretches:
        line = Line((item.start, item.end), item.path).shape
        for connector, block in blocks.items():
            if connector not in (item.start, item.end) and block.distance(line) < item.bundle_mm / 2:
                found.append(f"{connector} on {item.start} to {item.end}")
    return found


def pegs_in_holders(board: Board, peg_mm: float) -> list[str]:
    """Pegs that would be drilled under a holder."""
    blocks = {holder.connector: Polygon(holder.corners) for holder in board.holders}
    return [
        f"peg {peg.number} under {name}"
        for name, block in blocks.items()
        for peg in board.pegs
        if block.distance(Point(peg.at)) < peg_mm / 2 - 0.1
    ]


def all_faults(study: Study, board: Board) -> list[str]:
    """Everything together, for a board that was found by search."""
    peg_mm = study.conversion.shop.peg_diameter_mm
    return [*board_faults(study, board), *holder_faults(board), *pegs_in_wires(board), *pegs_in_holders(board, peg_mm)]


def pegs_in_wires(board: Board) -> list[str]:
    """Pegs whose hole would be drilled where wires lie. That a peg clears tubes and touches nothing else is more: see below."""
    found = []
    for item in board.stretches:
        for section in item.sections:
            span = section.to_mm - section.from_mm
            steps = max(2, math.ceil(span / 4))
            line = LineString([item.path.at(section.from_mm + span * step / steps)[0] for step in range(steps + 1)])
            found += [f"peg {peg.number} in {section.ref}" for peg in board.pegs if line.distance(Point(peg.at)) < section.bundle_mm / 2]
    return found
