"""Where a splice lies on its run."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Run


@dataclass(frozen=True, kw_only=True, slots=True)
class SplicePlace:
    """A splice's place along a run, measured from one of its ends; `chosen` where the program picked it."""

    splice: str
    run: str
    from_point: str
    at_mm: float
    chosen: bool

    def from_start_mm(self, run: Run, length_mm: float) -> float:
        """How far from the first point of its run it lies; one that is typed beyond its run is laid at the end."""
        from_start = self.at_mm if self.from_point == run.from_point else length_mm - self.at_mm
        return min(max(from_start, 0.0), length_mm)


def given_places(conversion: Conversion) -> dict[str, SplicePlace]:
    """The splices whose place the conversion gives, by mark."""
    return {
        splice.ref: SplicePlace(splice=splice.ref, run=splice.run, from_point=splice.from_point, at_mm=splice.at_mm, chosen=False)
        for splice in conversion.splices
        if splice.run is not None and splice.from_point is not None and splice.at_mm is not None
    }
