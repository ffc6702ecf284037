"""What is done at the bench."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfshaft.records import laying
from halfshaft.records.database import Database
from halfshaft.records.values import Line, NotThere, RecordError, Step
from store import clock


def step(main: Line, number: int, item: str, state: str = "done", work: str = "lay") -> Step:
    return Step(
        id=f"tablet-{number}",
        revision=main.head,
        loom="REAR",
        work=work,  # type: ignore[arg-type]
        item=item,
        state=state,  # type: ignore[arg-type]
        by="Cat",
        at=clock(),
    )


def test_a_step_that_is_sent_again_counts_once(db: Database, main: Line) -> None:
    steps = [step(main, 1, "W101"), step(main, 2, "W102", "problem")]
    assert laying.record(db, *steps) == 2
    assert laying.record(db, *steps, step(main, 3, "W103")) == 1
    assert laying.state(db, main.head, "REAR", "lay") == {**{item.item: item for item in steps}, "W103": laying.log(db, "TERN")[-1]}
    assert laying.state(db, main.head, "REAR", "test") == {}
    assert len(laying.log(db, main.conversion, loom="REAR")) == 3


def test_the_latest_word_on_a_wire_counts_and_the_rest_stays_in_the_log(db: Database, main: Line) -> None:
    said = ("done", "open", "problem", "done", "open")
    for number, word in enumerate(said):
        laying.record(db, step(main, number, "W101", word))
        assert ("W101" in laying.state(db, main.head, "REAR", "lay")) == (word != "open")
    assert tuple(item.state for item in laying.log(db, main.conversion)) == said


def test_what_makes_no_sense_is_refused_whole(db: Database, main: Line) -> None:
    good = step(main, 1, "W101")
    for bad, error in (
        (replace(good, id=""), RecordError),
        (replace(good, id="x" * 65), RecordError),
        (replace(good, item="W1\nW2"), RecordError),
        (replace(good, state="maybe"), RecordError),  # type: ignore[arg-type]
        (replace(good, note="x" * 3000), RecordError),
        (replace(good, revision="0" * 64), NotThere),
    ):
        with pytest.raises(error):
            laying.record(db, good, bad)
    assert laying.log(db, main.conversion) == ()
