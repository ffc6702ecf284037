"""Twenty-five people at once, and several processes: of what was acknowledged, nothing is lost."""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import at_work
from at_work import Person
from halfshaft.records import laying, lines, revisions
from halfshaft.records.database import Database
from halfshaft.records.values import Line
from store import url_of

PEOPLE, EDITS = 25, 40


def test_twenty_five_at_once_lose_nothing(db: Database, main: Line) -> None:
    people = [Person(db=db, main=main, name=f"T{number:02d}", seen=main.head) for number in range(PEOPLE)]
    with ThreadPoolExecutor(PEOPLE) as pool:
        list(pool.map(lambda person: person.work(EDITS), people))

    now = revisions.conversion_at(db, lines.line(db, main.id).head)
    for person in people:
        assert {ref: now.point[ref].x_mm for ref in person.places} == person.places
        assert all(revisions.revision(db, key).by == person.name for key in person.aside)
    assert {step.id for step in laying.log(db, main.conversion)} == {step for person in people for step in person.steps}
    aside = [line for line in lines.lines(db, main.conversion) if line.kind == "aside"]
    assert sorted(line.head for line in aside) == sorted(itertools.chain.from_iterable(person.aside for person in people))
    assert revisions.faults_of_records(db) == ()


def test_processes_at_once_lose_nothing(db: Database, main: Line, tmp_path: Path) -> None:
    working = [
        subprocess.Popen(
            [sys.executable, at_work.__file__, url_of(tmp_path / "records.db"), main.id, name],
            stdout=subprocess.PIPE,
            env={"PYTHONPATH": ":".join(sys.path)},
        )
        for name in ("P1", "P2", "P3")
    ]
    told = [json.loads(process.communicate(timeout=240)[0]) for process in working]
    now = revisions.conversion_at(db, lines.line(db, main.id).head)
    for places in told:
        assert len(places) > 1
        assert {ref: now.point[ref].x_mm for ref in places} == places
    assert revisions.faults_of_records(db) == ()
