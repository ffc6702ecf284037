"""The commissioning sheet, for a screen."""

from __future__ import annotations

from halfshaft.model.finding import HV_CAUTION
from halfshaft.show.tables import table
from halfshaft.studies.commissioning.records import Commissioning, Part, Stage
from halfshaft.studies.commissioning.words import expected_words, passes_words
from halfshaft.study import Study


def commissioning(study: Study) -> str:
    """Stage by stage, part by part: what to measure, in which state, with what, what to expect and what passes."""
    sheet = study.commissioning
    if not sheet.steps:
        return "nothing to commission is described: no bonds, ground points, fuses, cables, bus or 12 V battery"
    stages = [_stage(sheet, stage) for stage in sheet.stages]
    unsaid = [f"no line for {words}" for words in sheet.unsaid]
    return "\n\n".join([HV_CAUTION, *stages, *unsaid])


def _stage(sheet: Commissioning, stage: Stage) -> str:
    parts = [_part(sheet, part) for part in stage.parts]
    return "\n\n".join([f"{stage.title.upper()}. {stage.before}", *parts, "STOP: go on only when every line above passes."])


def _part(sheet: Commissioning, part: Part) -> str:
    rows = [
        (
            item.number,
            *item.between,
            expected_words(item, value_words),
            passes_words(item, value_words),
            "only if low or high before" if item.is_optional else "",
            item.state,
        )
        for item in (step.reading for step in sheet.of(part.key))
    ]
    basis = "; ".join(map(str, part.basis))
    return f"{part.title}: {part.instrument}\n{table(('no', 'from', 'to', 'expect', 'passes', 'when', 'state'), rows)}\nbasis: {basis}"


def value_words(value: float) -> str:
    """Three figures: more is beyond a hand-held meter; volts of a pack keep their tenth."""
    return f"{value:.1f}" if abs(value) >= 100 else f"{value:.3g}"
