"""Where each splice lies: as given, or where its wires take least copper."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.conversion import Conversion


@dataclass(frozen=True, kw_only=True, slots=True)
class SplicePlace:
    """A splice's place along a run, measured from one of its ends; `chosen` where the program picked it."""

    splice: str
    run: str
    from_point: str
    at_mm: float
    chosen: bool


def given_places(conversion: Conversion) -> dict[str, SplicePlace]:
    """The splices whose place the conversion gives, by mark."""
    return {
        splice.ref: SplicePlace(splice=splice.ref, run=splice.run, from_point=splice.from_point, at_mm=splice.at_mm, chosen=False)
        for splice in conversion.splices
        if splice.run is not None and splice.from_point is not None and splice.at_mm is not None
    }
