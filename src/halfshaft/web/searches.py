"""What takes a second or more, as functions of a conversion that another process can run."""

from __future__ import annotations

from typing import Any

from halfshaft.drawings.diagrams.document import Diagrams, diagrams_of
from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.board import Board
from halfshaft.study import Study


def boards(conversion: Conversion) -> tuple[dict[str, Board], dict[str, Board]]:
    """The boards by loom: those of the car, and those of the looms inside the battery boxes."""
    study = Study(conversion)
    return study.boards, study.sensing.boards if study.sensing else {}


def diagrams(conversion: Conversion) -> Diagrams:
    """The wiring diagrams."""
    return diagrams_of(conversion, Study(conversion).wires)


def rest(conversion: Conversion) -> dict[str, Any]:
    """Results of a study by name: choices of cables, plans of cutting."""
    study = Study(conversion)
    return {"cable_choices": study.cable_choices, "batch": study.batch}
