"""Somebody at work on the records; as a program, one more process at work: `python at_work.py URL LINE NAME` prints where its points are."""

from __future__ import annotations

import json
import random
import sys
from dataclasses import dataclass, field

from halfshaft.records import laying, lines, saving
from halfshaft.records.database import Database, open_database
from halfshaft.records.values import Conflict, Line, Step
from store import START, Edit, clock, point, with_job, with_new, with_row


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


if __name__ == "__main__":
    url, line_id, name = sys.argv[1:]
    opened = open_database(url)
    found = lines.line(opened, line_id)
    person = Person(db=opened, main=found, name=name, seen=found.started_from)
    person.work(15)
    print(json.dumps(person.places))
