"""The commissioning sheet, for a screen."""

from __future__ import annotations

from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.reading import Reading
from halfshaft.show.tables import table
from halfshaft.studies.commissioning.records import Commissioning, Part, Stage
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
            expected_words(item),
            passes_words(item),
            "only if low or high before" if item.is_optional else "",
            item.state,
        )
        for item in (step.reading for step in sheet.of(part.key))
    ]
    basis = "; ".join(map(str, part.basis))
    return f"{part.title}: {part.instrument}\n{table(('no', 'from', 'to', 'expect', 'passes', 'when', 'state'), rows)}\nbasis: {basis}"


def expected_words(item: Reading) -> str:
    """`+12.7 V`, `open`, `yes`."""
    if item.quantity == "seen":
        return "yes"
    if item.expected is None:
        return "open"
    sign = "+" if item.quantity == "voltage" and item.expected > 0 else ""
    return f"{sign}{value_words(item.expected)} {item.unit}"


def passes_words(item: Reading) -> str:
    """`0 to 20`, `over 1.2`, `yes`."""
    if item.quantity == "seen":
        return "yes"
    if item.quantity == "open" and item.low >= MEGA:
        return f"over {value_words(item.low / MEGA)} M{item.unit}"
    if item.high is None:
        return f"over {value_words(item.low)} {item.unit}"
    if item.low == item.high:
        return value_words(item.low)
    return f"{value_words(item.low)} to {value_words(item.high)}"


MEGA = 1e6


def value_words(value: float) -> str:
    """Three figures: more is beyond a hand-held meter; volts of a pack keep their tenth."""
    return f"{value:.1f}" if abs(value) >= 100 else f"{value:.3g}"
