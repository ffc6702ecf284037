"""Test sheets and what a filled one says, for a screen."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.reading import Measured, Reading
from halfshaft.show.tables import table
from halfshaft.studies.commissioning.records import SHEET
from halfshaft.studies.looms.bus import BUS
from halfshaft.studies.looms.faults import Diagnosis
from halfshaft.studies.looms.readings import OPEN_OHM
from halfshaft.study import Study


def tests(study: Study) -> str:
    """What a meter should read."""
    lines = [(loom, reading) for loom, readings in study.readings.items() for reading in readings]
    lines += [(BUS, reading) for reading in study.bus_readings]
    rows = [
        (loom, item.number, *item.between, item.quantity, _expected(item), _limits(item), " ".join(item.wires), item.state)
        for loom, item in lines
    ]
    return table(("loom", "no", "between", "and", "quantity", "expect", "passes", "wires", "state"), rows)


def _expected(reading: Reading) -> str:
    if reading.quantity == "seen":
        return "yes"
    return "open" if reading.expected is None else f"{reading.expected:.1f} {reading.unit}"


def _limits(reading: Reading) -> str:
    if reading.quantity == "seen":
        return "yes"
    if reading.quantity == "open" and reading.low == OPEN_OHM:
        return "1 MΩ and over"
    # Sheets with an instrument in each line have microohms beside megohms.
    low, high = (
        None if value is None else f"{value:.4g}" if reading.instrument else f"{value:.1f}" for value in (reading.low, reading.high)
    )
    return f"{low} {reading.unit} and over" if high is None else f"{low} to {high} {reading.unit}"


def diagnosis_words(diagnosis: Diagnosis) -> str:
    """What a filled sheet says: counts, the lines that fail, and what is likely wrong and where to look."""
    failed, left = diagnosis.failed, diagnosis.not_measured
    lines = [f"{diagnosis.loom}: {len(diagnosis.passed)} lines pass, {len(failed)} fail, {len(left)} not measured"]
    lines += [f"  fails {_line_words(item)}" for item in failed]
    if left:
        lines.append(f"  not measured, so not passed: {_number_words([item.number for item in left])}")
    if len(diagnosis.explanations) > 1:
        lines.append("  likely one of these; the readings cannot tell them apart, colours and labels may:")
    elif diagnosis.explanations:
        lines.append("  likely:")
    for explanation in diagnosis.explanations:
        for index, suspect in enumerate(explanation.suspects):
            lines += [f"    {'and ' if index else '- '}{suspect.text}", f"      look at: {suspect.look}"]
    if diagnosis.unexplained and not diagnosis.explanations:
        lines.append("  No fault that is tried here explains this. Measure these lines again.")
    elif diagnosis.unexplained:
        lines.append(f"  not explained by this: {_number_words([item.reading.number for item in diagnosis.unexplained])}")
    if diagnosis.unexpected:
        lines.append(f"  speak against it, as they pass: {_number_words([item.reading.number for item in diagnosis.unexpected])}")
    if failed:
        whole = "from the first line of its part on" if diagnosis.loom == SHEET else "the whole loom"
        lines.append(f"  Put it right, then measure {whole} again: one fault can hide another.")
    lines += [f"  {words}" for words in diagnosis.told]
    if failed and diagnosis.loom == SHEET:
        lines.append(f"  {HV_CAUTION}")
    elif any(item.reading.quantity == "voltage" for item in failed):
        lines += ["  Put no sense plug on its board before every line passes: a reversed one destroys the board.", f"  {HV_CAUTION}"]
    return "\n".join(lines)


def _line_words(item: Measured) -> str:
    assert item.found is not None
    reading = item.reading
    sign = "+" if reading.quantity == "voltage" else ""
    found = "open" if math.isinf(item.found) else f"{item.found:{sign}g} {reading.unit}"
    if reading.quantity == "seen":
        found = "no"
    return f"{reading.number}: {reading.between[0]} to {reading.between[1]}, {reading.state}: {found}; passes {_limits(reading)}"


def _number_words(numbers: Sequence[int]) -> str:
    """`lines 3, 5 to 9`."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][-1] + 1:
            spans[-1] = [spans[-1][0], number]
        else:
            spans.append([number, number])
    words = [f"{first}" if first == last else f"{first} to {last}" for first, last in spans]
    return f"line {words[0]}" if len(numbers) == 1 else f"lines {', '.join(words)}"
