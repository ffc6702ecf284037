"""What takes a second or more, as functions that another process can run. Each is given the conversion as this program packed it."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from typing import Any

from halfshaft.compare import compare
from halfshaft.drawings.diagrams.document import Diagrams, diagrams_of
from halfshaft.studies.changes.records import Changes
from halfshaft.studies.looms.board import Board
from halfshaft.study import Study


def boards(packed: bytes) -> tuple[dict[str, Board], dict[str, Board]]:
    """The boards by loom: those of the car, and those of the looms inside the battery boxes."""
    study = Study(pickle.loads(packed))
    return study.boards, study.sensing.boards if study.sensing else {}


def diagrams(packed: bytes) -> Diagrams:
    """The wiring diagrams."""
    study = Study(pickle.loads(packed))
    return diagrams_of(study.conversion, study.wires)


def rest(packed: bytes) -> dict[str, Any]:
    """Results of a study by name: choices of cables, plans of cutting."""
    study = Study(pickle.loads(packed))
    return {"cable_choices": study.cable_choices, "batch": study.batch}


def changes(before: bytes, after: bytes) -> Changes:
    """What differs between two, in the order of work."""
    return compare(Study(pickle.loads(before)), Study(pickle.loads(after)))


# By name, as the shelf asks for them.
ALL: dict[str, Callable[[bytes], Any]] = {"boards": boards, "diagrams": diagrams, "rest": rest}


def step_back() -> None:
    """At the start of a process that works in the background: let the pages go first."""
    if hasattr(os, "nice"):
        os.nice(10)
