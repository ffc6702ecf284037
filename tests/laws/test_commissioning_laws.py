"""What must hold of the commissioning sheet whatever is measured: a right car passes, and a single fault is always among the suspects."""

from __future__ import annotations

import csv
import io
import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commissioned import suspected, told
from halfshaft.files.filled import blank_sheet, read_filled
from halfshaft.files.folder import read_folder
from halfshaft.studies.commissioning.diagnosis import OHM_OF
from halfshaft.studies.commissioning.records import SHEET, Step
from halfshaft.study import Study

STUDY = Study(read_folder(Path(__file__).parents[2] / "examples" / "tern"))
STEPS = STUDY.commissioning.steps
NUMBERS = st.sampled_from(STEPS)


def written(path: Path, **found: str) -> Path:
    """The blank sheet with what it expects, or what is given by number of the line."""
    rows = list(csv.DictReader(io.StringIO(blank_sheet(SHEET, STUDY.commissioning.readings).decode())))
    for row in rows:
        row["found"], row["by"], row["date"] = found.get(f"line{row['no']}", row["expect"]), "AB", "28 Nov"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return path


def test_a_sheet_filled_with_what_it_expects_passes_whole(tmp_path):
    measured = read_filled(written(tmp_path / "electrics.csv"), STUDY.test_sheets)
    assert list(measured) == [SHEET]
    diagnosis = STUDY.diagnosis(SHEET, measured[SHEET])
    assert diagnosis.is_good
    assert len(diagnosis.passed) == len(STEPS)


def test_lines_are_numbered_through_and_stages_follow_each_other():
    assert [step.reading.number for step in STEPS] == list(range(1, len(STEPS) + 1))
    keys = [step.stage for step in STEPS]
    assert list(dict.fromkeys(keys)) == ["dead", "12 V", "pre-charge", "high voltage"]
    assert keys == sorted(keys, key=["dead", "12 V", "pre-charge", "high voltage"].index)


def test_every_line_says_where_with_what_and_on_what_basis():
    for step in STEPS:
        reading = step.reading
        assert all(reading.between), reading
        assert reading.state, reading
        assert reading.instrument, reading
        assert reading.suspect, reading
        assert reading.basis.startswith(("published", "common practice", "from memory")), reading
        assert reading.expected is None or reading.passes(reading.expected), reading


SENSED = sorted({(step.part, sense.ref) for step in STEPS for sense in step.senses})


def erring(step: Step, share: float) -> float | None:
    """What a right car shows at a line, off by a share of the room to its limit; None where there is nothing to err in."""
    reading = step.reading
    if reading.expected is None or reading.quantity == "seen":
        return None
    if reading.quantity == "insulation":
        return 1 / max(1 / reading.expected + share * (1 / reading.low - 1 / reading.expected), 1e-4)
    high = reading.expected if reading.high is None else reading.high
    return reading.expected + share * ((high - reading.expected) if share > 0 else (reading.expected - reading.low))


# From this many ohms on a coil lets its contact go.
LETS_GO_OHM = 1000.0


def worse(step: Step, shown: float, by: float, per: float) -> float:
    """What it shows with something on its way worse by this much: ohms, siemens and amperes add; volts divide as between resistors."""
    reading, off = step.reading, by * per
    if reading.quantity == "seen":
        return 0.0
    if reading.quantity == "open":
        return 1e-3
    if reading.quantity == "insulation":
        return 1 / (1 / shown + off)
    if reading.quantity == "voltage":
        if per == 0:
            return 0.0 if by > LETS_GO_OHM else shown
        return shown / (1 + off / shown)
    return shown + off / OHM_OF.get(reading.unit, 1.0)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(SENSED), st.floats(-3, 4), st.integers(0, 10**6))
def test_one_thing_that_is_worse_is_always_among_the_suspects(thing, decades, seed):
    """By any amount, and with every reading off by up to two fifths of the room to its limit."""
    part, ref = thing
    chance = random.Random(seed)
    found = {step.reading.number: value for step in STEPS if (value := erring(step, chance.uniform(-0.4, 0.4))) is not None}
    assert told(STUDY, found).is_good
    for step in STEPS:
        per = next((sense.per for sense in step.senses if sense.ref == ref), None)
        if step.part == part and per is not None:
            number = step.reading.number
            found[number] = worse(step, found.get(number, 0.0), 10.0**decades, per)
    diagnosis = told(STUDY, found)
    assert not diagnosis.failed or ref in {name for group in suspected(diagnosis) for name in group}


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(NUMBERS.map(lambda step: step.reading.number), st.one_of(st.floats(-1e6, 1e6), st.just(float("inf"))), max_size=40))
def test_any_readings_end_with_every_failed_line_counted_and_something_said(found):
    diagnosis = told(STUDY, found)
    assert len(diagnosis.passed) + len(diagnosis.failed) == len(STEPS)
    assert bool(diagnosis.failed) == bool(diagnosis.explanations)
    assert all(explanation.suspects for explanation in diagnosis.explanations)


@pytest.mark.parametrize(("found", "says"), [("12.6", "has no sign"), ("perhaps", "")])
def test_a_value_that_cannot_be_is_refused(tmp_path, found, says):
    from halfshaft.errors import InputError

    number = next(step.reading.number for step in STEPS if step.reading.quantity == "voltage")
    with pytest.raises(InputError) as caught:
        read_filled(written(tmp_path / "electrics.csv", **{f"line{number}": found}), STUDY.test_sheets)
    assert says in str(caught.value)
