"""Where a wire lies on the board of its loom: the parts of the board's centre lines that it follows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.studies.looms.board import Board, Section
from halfshaft.studies.looms.geometry import Path
from halfshaft.studies.looms.network import Step
from halfshaft.studies.looms.routing import End, LaidLoom, LaidWire


@dataclass(frozen=True, slots=True)
class Span:
    """A part of a run or tail as a wire follows it: from one length along its stretch's line to another, which may be less."""

    section: Section
    path: Path
    from_mm: float
    to_mm: float

    @property
    def line(self) -> Path:
        """The part by itself, drawn the way of the stretch."""
        return self.path.cut(*sorted((self.from_mm, self.to_mm)))


class Lines:
    """The centre lines of one board, by run and tail."""

    def __init__(self, board: Board) -> None:
        self._sections = {section.ref: (item.path, section) for item in board.stretches for section in item.sections}
        self._places = {mark.ref: mark.at for mark in board.marks}

    def of(self, wire: LaidWire) -> tuple[Span, ...]:
        """What a wire lies along, from its first end to its last; nothing where it has no way."""
        if wire.route is None:
            return ()
        steps = (span for step in wire.route.steps for span in self._step(step))
        return (*self._tail(wire.start, is_start=True), *steps, *self._tail(wire.end, is_start=False))

    def _tail(self, end: End, *, is_start: bool) -> Iterator[Span]:
        """From the connector to the point where its tail leaves the bundle, or back."""
        if end.node is None or f"tail {end.connector}" not in self._sections:
            return
        path, section = self._sections[f"tail {end.connector}"]
        node = self._along(path, section, end.node)
        plug = section.to_mm if node - section.from_mm < section.to_mm - node else section.from_mm
        yield Span(section, path, *((plug, node) if is_start else (node, plug)))

    def _step(self, step: Step) -> Iterator[Span]:
        """A whole run, or as much of it as lies before or between splices."""
        if step.run in self._sections:
            path, section = self._sections[step.run]
            yield Span(section, path, self._along(path, section, step.start), self._along(path, section, step.end))

    def _along(self, path: Path, section: Section, node: str) -> float:
        """How far along its stretch a point or splice of a section lies."""
        if node not in self._places:
            return section.from_mm
        return min(max(path.nearest(self._places[node])[0], section.from_mm), section.to_mm)


def lines_of(laid: LaidLoom, board: Board) -> dict[str, tuple[Span, ...]]:
    """The way of every wire of a loom on its board, by the wire's ref."""
    lines = Lines(board)
    return {wire.wire.ref: lines.of(wire) for wire in laid.wires}
