"""Where a wire lies on the board of its loom: the parts of the board's centre lines that it follows."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.studies.looms.board import Board, Section
from halfshaft.studies.looms.geometry import Path, Place
from halfshaft.studies.looms.network import Step
from halfshaft.studies.looms.routing import LaidLoom, LaidWire


def is_turned(path: Path, section: Section, start: Place) -> bool:
    """Whether a run lies on its stretch with its first point, which is at `start`, towards the stretch's end."""
    return _away(path.at(section.from_mm)[0], start) > _away(path.at(section.to_mm)[0], start)


def _away(place: Place, other: Place) -> float:
    return abs(place[0] - other[0]) + abs(place[1] - other[1])


class Lines:
    """The centre lines of one board, by run and tail."""

    def __init__(self, laid: LaidLoom, board: Board) -> None:
        self._first = {run.run: run.start for run in laid.runs}
        self._sections: dict[str, tuple[Path, Section, bool]] = {}
        places = {mark.ref: mark.at for mark in board.marks}
        for item in board.stretches:
            for section in item.sections:
                start = places.get(self._first.get(section.ref, ""))
                self._sections[section.ref] = item.path, section, start is not None and is_turned(item.path, section, start)

    def of(self, wire: LaidWire) -> tuple[Path, ...]:
        """What a wire lies along, from its first end to its last; nothing where it has no way."""
        if wire.route is None:
            return ()
        ends = [self._tail(end.connector) for end in (wire.start, wire.end)]
        return (*ends[0], *(line for step in wire.route.steps for line in self._step(step)), *ends[1])

    def _tail(self, connector: str | None) -> Iterator[Path]:
        if f"tail {connector}" in self._sections:
            path, section, _ = self._sections[f"tail {connector}"]
            yield path.cut(section.from_mm, section.to_mm)

    def _step(self, step: Step) -> Iterator[Path]:
        """A whole run, or as much of it as lies before a splice."""
        if step.run not in self._sections:
            return
        path, section, turned = self._sections[step.run]
        length = section.to_mm - section.from_mm
        along = min(step.length_mm, length)
        is_from_first = self._first.get(step.run) in (step.start, step.end)
        from_mm = section.from_mm if is_from_first != turned else section.to_mm - along
        yield path.cut(from_mm, from_mm + along)
