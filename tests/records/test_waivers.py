"""Findings that somebody lets stand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfshaft.model.finding import COMMON_PRACTICE, Finding
from halfshaft.records import waivers
from halfshaft.records.database import Database
from halfshaft.records.values import Line, NotThere, RecordError
from store import clock

FOUND = Finding(
    rule="wires.fuse-load-share", level="fix", about=("F3", "W103"), text="Fuse F3 carries 8.4 A of 10 A.", basis=COMMON_PRACTICE
)


def test_a_waiver_is_of_the_finding_as_it_reads(db: Database, main: Line) -> None:
    kept = waivers.waive(db, main.head, FOUND, by="Ann", at=clock(), reason="measured 7 A")
    standing = waivers.waivers(db, main.conversion)
    assert standing == (kept,)
    assert waivers.waiver_of(standing, FOUND) == kept
    for other in (
        replace(FOUND, text="Fuse F3 carries 9.4 A of 10 A."),
        replace(FOUND, about=("F4", "W103")),
        replace(FOUND, rule="wires.other"),
    ):
        assert waivers.waiver_of(standing, other) is None
        with pytest.raises(NotThere):
            waivers.withdraw(db, main.head, other, by="Ann", at=clock(), reason="not so")


def test_what_was_waived_and_taken_back_stays_in_the_log(db: Database, main: Line) -> None:
    waivers.waive(db, main.head, FOUND, by="Ann", at=clock(), reason="measured 7 A")
    waivers.withdraw(db, main.head, FOUND, by="Ben", at=clock(), reason="measured again: 9 A")
    assert waivers.waivers(db, main.conversion) == ()
    assert [(item.stands, item.by) for item in waivers.log(db, main.conversion)] == [(True, "Ann"), (False, "Ben")]


@pytest.mark.parametrize(("by", "reason"), [("", "why"), ("Ann", ""), ("Ann", "  "), ("A\nB", "why")])
def test_it_wants_a_name_and_a_reason(db: Database, main: Line, by: str, reason: str) -> None:
    with pytest.raises(RecordError):
        waivers.waive(db, main.head, FOUND, by=by, at=clock(), reason=reason)
