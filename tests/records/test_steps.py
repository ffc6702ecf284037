"""Undo, redo, go back."""

from __future__ import annotations

import pytest

from halfshaft.records import lines, revisions, saving, steps
from halfshaft.records.database import Database
from halfshaft.records.values import Line, Moved, RecordError, Saved
from store import clock, with_job


def saved(db: Database, line: str, base: str, task: str) -> str:
    done = saving.edit(db, line, base, with_job(task=task), by="Ann", at=clock(), reason=task)
    assert isinstance(done, Saved)
    return done.revision.id


def task_of(db: Database, line: Line) -> str:
    return revisions.conversion_at(db, line.head).job.task


def test_an_edit_after_an_undo_leaves_what_was_undone_to_be_found(db: Database, main: Line) -> None:
    one = saved(db, main.id, main.head, "one")
    two = saved(db, main.id, one, "two")
    back = steps.undo(db, main.id, two, by="Ann", at=clock())
    assert (back.head, back.redo, back.can_undo) == (one, (two,), True)
    three = saved(db, main.id, one, "three")
    now = lines.line(db, main.id)
    assert (now.head, now.redo) == (three, ())
    with pytest.raises(RecordError, match="nothing to redo"):
        steps.redo(db, main.id, three, by="Ann", at=clock())
    assert two in {move.after for move in revisions.moves(db, main.id)}
    again = steps.go_back(db, main.id, three, two, by="Ann", at=clock())
    assert revisions.conversion_at(db, again.revision.id).job.task == "two"
    assert again.revision.parents == (three,)
    assert task_of(db, steps.undo(db, main.id, again.revision.id, by="Ann", at=clock())) == "three"


def test_the_start_cannot_be_undone(db: Database, main: Line) -> None:
    with pytest.raises(RecordError, match="nothing to undo"):
        steps.undo(db, main.id, main.head, by="Ann", at=clock())
    one = saved(db, main.id, main.head, "one")
    what_if = lines.start(db, main.id, "other", by="Ann", at=clock())
    with pytest.raises(RecordError, match="nothing to undo"):
        steps.undo(db, what_if.id, one, by="Ann", at=clock())


def test_nobody_undoes_what_they_have_not_seen(db: Database, main: Line) -> None:
    one = saved(db, main.id, main.head, "one")
    two = saved(db, main.id, one, "two")
    for act in (steps.undo, steps.redo):
        with pytest.raises(Moved) as caught:
            act(db, main.id, one, by="Ben", at=clock())
        assert caught.value.head == two


def test_a_save_over_what_was_undone_meanwhile_brings_only_its_own_change(db: Database, main: Line) -> None:
    one = saved(db, main.id, main.head, "one")
    steps.undo(db, main.id, one, by="Ann", at=clock())
    done = saving.edit(db, main.id, one, with_job(owner="another shop"), by="Ben", at=clock(), reason="owner")
    assert isinstance(done, Saved)
    now = revisions.conversion_at(db, done.line.head)
    assert (now.job.owner, now.job.task) == ("another shop", revisions.conversion_at(db, main.head).job.task)
