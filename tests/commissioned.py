"""A commissioning sheet as somebody fills it: everything right, but for what a test changes."""

from __future__ import annotations

import math
from collections.abc import Mapping

from halfshaft.model.reading import Measured
from halfshaft.studies.commissioning.records import SHEET, Commissioning, Step
from halfshaft.studies.looms.faults import Diagnosis
from halfshaft.study import Study


def right(sheet: Commissioning) -> dict[int, float | None]:
    """By line what a right car shows."""
    return {step.reading.number: math.inf if step.reading.expected is None else step.reading.expected for step in sheet.steps}


def told(study: Study, found: Mapping[int, float | None]) -> Diagnosis:
    """What the sheet says with these lines instead."""
    values = {**right(study.commissioning), **found}
    return study.diagnosis(SHEET, [Measured(reading=item, found=values[item.number]) for item in study.commissioning.readings])


def suspected(diagnosis: Diagnosis) -> list[tuple[str, ...]]:
    """The names of each suspect, explanation by explanation."""
    return [suspect.about for explanation in diagnosis.explanations for suspect in explanation.suspects]


def lines(study: Study, part: str, *words: str) -> list[Step]:
    """Lines of a part in which all these words stand."""
    return [step for step in study.commissioning.of(part) if all(word in f"{step.reading.between} {step.reading.state}" for word in words)]


def line(study: Study, part: str, *words: str) -> Step:
    """The only one."""
    (found,) = lines(study, part, *words)
    return found
