"""Twenty-five people at once, and several processes: of what was acknowledged, nothing is lost."""

from __future__ import annotations

import itertools
import json
import random
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from halfshaft.records import laying, lines, revisions, saving
from halfshaft.records.database import Database, open_database
from halfshaft.records.values import Conflict, Line, Step
from store import START, Edit, clock, point, url_of, with_job, with_new, with_row

PEOPLE, EDITS = 25, 40


@dataclass
class Person:
    """Somebody at work: own points are added and moved, one cell is everybody's, and steps at the bench are told."""

    db: Database
    main: Line
    name: str
    seen: str
    places: dict[str, float] = field(default_factory=dict)
    aside: list[str] = field(default_factory=list)
    steps: list[str] = field(default_factory=list)

    def work(self, edits: int) -> None:
        dice = random.Random(self.name)
        for number in range(edits):
            act = dice.choice(("add", "move", "move", "everybody's", "step")) if self.places else "add"
            if act == "step":
                step = Step(
                    id=f"{self.name}-{number}", revision=self.main.head, loom="REAR", work="lay",
                    item=f"W{number}", state="done", by=self.name, at=START,
                )  # fmt: skip
                assert laying.record(self.db, step) == 1
                self.steps.append(step.id)
            elif act == "everybody's":
                self.save(with_job(task=f"as {self.name} says, {number}"))
            else:
                ref = f"{self.name}-{number}" if act == "add" else dice.choice(list(self.places))
                place = float(number)
                move = with_new("points", point(ref).model_copy(update={"x_mm": place}))
                self.save(move if act == "add" else with_row("points", ref, x_mm=place))
                self.places[ref] = place

    def save(self, edit: Edit) -> None:
        done = saving.edit(self.db, self.main.id, self.seen, edit, by=self.name, at=clock(), reason="work")
        if isinstance(done, Conflict):
            self.aside.append(done.mine)
            assert [str(clash.cell) for clash in done.clashes] == ["job::task"]
            self.seen = done.theirs
        else:
            self.seen = done.revision.id


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
            [sys.executable, __file__, url_of(tmp_path / "records.db"), main.id, name],
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


if __name__ == "__main__":
    url, line_id, name = sys.argv[1:]
    opened = open_database(url)
    found = lines.line(opened, line_id)
    person = Person(db=opened, main=found, name=name, seen=found.started_from)
    person.work(15)
    print(json.dumps(person.places))
