"""Two editors at once: what touches different cells goes together, what touches the same waits for a choice, and nothing is lost."""

from __future__ import annotations

import pytest

from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions, lines, revisions, saving
from halfshaft.records.database import Database
from halfshaft.records.merge import ORDER, merge
from halfshaft.records.values import Cell, Conflict, Line, RecordError, Saved
from store import Edit, clock, point, run, with_job, with_new, with_row, without_row


def save(db: Database, line: Line, base: str, edit: Edit, by: str) -> Saved | Conflict:
    return saving.edit(db, line.id, base, edit, by=by, at=clock(), reason=f"edit of {by}")


def saved(db: Database, line: Line, base: str, edit: Edit, by: str = "Ann") -> Saved:
    done = save(db, line, base, edit, by)
    assert isinstance(done, Saved)
    return done


def conflicting(db: Database, line: Line, base: str, edit: Edit, by: str = "Ben") -> Conflict:
    done = save(db, line, base, edit, by)
    assert isinstance(done, Conflict)
    return done


def test_two_fields_of_one_row_go_together(db: Database, main: Line) -> None:
    saved(db, main, main.head, with_row("removed", first(db, main), mass_kg=151.0))
    both = saved(db, main, main.head, with_row("removed", first(db, main), note="with oil"), "Ben")
    row = revisions.conversion_at(db, both.revision.id).removed[0]
    assert both.merged
    assert (row.mass_kg, row.note) == (151.0, "with oil")
    assert [revisions.revision(db, key).by for key in both.revision.parents] == ["Ann", "Ben"]


def first(db: Database, main: Line) -> str:
    return revisions.conversion_at(db, main.head).removed[0].ref


def test_the_same_cell_is_a_conflict_that_loses_nothing(db: Database, main: Line) -> None:
    ref = first(db, main)
    theirs = saved(db, main, main.head, with_row("removed", ref, mass_kg=150.0))
    done = conflicting(db, main, main.head, lambda c: with_row("removed", ref, mass_kg=160.0)(with_job(task="mine")(c)))
    assert [(str(clash.cell), clash.theirs, clash.mine) for clash in done.clashes] == [(f"removed:{ref}:mass_kg", "150", "160")]
    assert done.theirs == theirs.revision.id
    assert revisions.conversion_at(db, done.mine).removed[0].mass_kg == 160
    assert lines.line(db, main.id).head == theirs.revision.id
    assert lines.conflict(db, done.aside.id) == done


@pytest.mark.parametrize(("choice", "mass_kg"), [("theirs", 150.0), ("mine", 160.0)])
def test_a_choice_settles_it(db: Database, main: Line, choice: str, mass_kg: float) -> None:
    ref = first(db, main)
    saved(db, main, main.head, with_row("removed", ref, mass_kg=150.0))
    done = conflicting(db, main, main.head, lambda c: with_row("removed", ref, mass_kg=160.0)(with_job(task="mine")(c)))
    taken = lines.take(db, done.aside.id, theirs=done.theirs, by="Ben", at=clock(), choices={done.clashes[0].cell: choice})  # type: ignore[dict-item]
    assert isinstance(taken, Saved)
    now = revisions.conversion_at(db, taken.line.head)
    assert (now.removed[0].mass_kg, now.job.task) == (mass_kg, "mine")
    assert lines.line(db, done.aside.id).state == "taken"
    with pytest.raises(RecordError, match="taken already"):
        lines.take(db, done.aside.id, theirs=done.theirs, by="Ben", at=clock())


def test_a_choice_made_without_knowing_the_latest_is_asked_again(db: Database, main: Line) -> None:
    ref = first(db, main)
    head = saved(db, main, main.head, with_row("removed", ref, mass_kg=150.0)).revision.id
    done = conflicting(db, main, main.head, with_row("removed", ref, mass_kg=160.0))
    saved(db, main, head, with_row("removed", ref, mass_kg=155.0))
    again = lines.take(db, done.aside.id, theirs=done.theirs, by="Ben", at=clock(), choices={done.clashes[0].cell: "mine"})
    assert isinstance(again, Conflict)
    assert again.clashes[0].theirs == "155"
    assert isinstance(
        lines.take(db, again.aside.id, theirs=again.theirs, by="Ben", at=clock(), choices={again.clashes[0].cell: "mine"}), Saved
    )


def test_a_row_that_one_took_away_and_the_other_changed(small: Conversion) -> None:
    ref = small.removed[0].ref
    theirs, mine = without_row("removed", ref)(small), with_row("removed", ref, note="keep")(small)
    done = merge(small, theirs, mine)
    assert [clash.cell for clash in done.clashes] == [Cell("removed", ref, "")]
    assert done.clashes[0].theirs is None
    assert merge(small, theirs, mine, {done.clashes[0].cell: "theirs"}).conversion == theirs
    kept = merge(small, theirs, mine, {done.clashes[0].cell: "mine"}).conversion
    assert kept is not None
    assert {row.ref: row for row in kept.removed} == {row.ref: row for row in mine.removed}


def test_what_one_took_away_and_the_other_uses(small: Conversion) -> None:
    base = with_new("points", point("LONE"))(small)
    theirs = without_row("points", "LONE")(base)
    mine = with_new("runs", run("NEW", small.points[0].ref, "LONE"))(base)
    done = merge(base, theirs, mine)
    assert done.conversion is None
    assert "LONE" in done.faults[0]
    cells = {clash.cell: clash for clash in done.clashes}
    assert set(cells) == {Cell("runs", "NEW", ""), Cell("points", "LONE", "")}
    assert merge(base, theirs, mine, {Cell("points", "LONE", ""): "mine"}).conversion == mine
    assert merge(base, theirs, mine, {Cell("runs", "NEW", ""): "theirs"}).conversion == theirs


def test_what_is_nested_is_merged_as_finely(tern: Conversion) -> None:
    box = tern.boxes[0]
    one, two = box.modules[:2]

    def with_module(ref: str, **fields: object) -> Edit:
        modules = tuple(module.model_copy(update=fields) if module.ref == ref else module for module in box.modules)
        return with_row("boxes", box.ref, modules=modules)

    theirs, mine = with_module(one.ref, x_min_mm=one.x_min_mm + 1)(tern), with_module(two.ref, x_min_mm=two.x_min_mm + 2)(tern)
    done = merge(tern, theirs, mine).conversion
    assert done is not None
    assert [module.x_min_mm for module in done.boxes[0].modules[:2]] == [one.x_min_mm + 1, two.x_min_mm + 2]
    clash = merge(tern, theirs, with_module(one.ref, x_min_mm=one.x_min_mm + 3)(tern)).clashes[0]
    assert str(clash.cell) == f"boxes.modules:{box.ref}/{one.ref}:x_min_mm"


def test_rows_put_in_another_order(small: Conversion) -> None:
    turned = small.model_copy(update={"removed": small.removed[::-1]})
    added = with_new("removed", small.removed[0].model_copy(update={"ref": "NEW"}))(small)
    done = merge(small, added, turned).conversion
    assert done is not None
    assert [row.ref for row in done.removed if row.ref != "NEW"] == [row.ref for row in turned.removed]
    assert {row.ref for row in done.removed} == {row.ref for row in added.removed}
    other = small.model_copy(update={"removed": (*small.removed[1:], small.removed[0])})
    clash = merge(small, other, turned)
    assert [item.cell for item in clash.clashes] == [Cell("removed", "", ORDER)]
    assert merge(small, other, turned, {Cell("removed", "", ORDER): "mine"}).conversion == turned
    assert merge(small, other, turned, {Cell("removed", "", ORDER): "theirs"}).conversion == other


def test_a_save_on_a_line_that_was_dropped_meanwhile_is_kept_aside(db: Database, main: Line) -> None:
    what_if = lines.start(db, main.id, "lower", by="Ann", at=clock())
    lines.drop(db, what_if.id, by="Ann", at=clock(), reason="too dear")
    done = conflicting(db, what_if, what_if.head, with_job(task="late"))
    assert "was dropped meanwhile" in done.faults[0]
    taken = lines.take(db, done.aside.id, theirs=main.head, by="Ben", at=clock())
    assert isinstance(taken, Saved)
    assert taken.line.id == main.id
    assert revisions.conversion_at(db, taken.line.head).job.task == "late"


def test_lists_of_lines(db: Database, main: Line) -> None:
    what_if = lines.start(db, main.id, "lower", by="Ann", at=clock())
    saved(db, what_if, what_if.head, with_job(task="lower"))
    taken = lines.take(db, what_if.id, theirs=main.head, by="Ann", at=clock())
    assert isinstance(taken, Saved)
    assert [(line.kind, line.state) for line in lines.lines(db, main.conversion)] == [("main", "open"), ("what-if", "taken")]
    assert [move.act for move in revisions.moves(db, what_if.id)] == ["take", "save", "start"]
    assert [move.act for move in revisions.moves(db, main.id)] == ["take", "start"]
    assert conversions.entry(db, main.conversion).head == taken.revision
    for act in (lambda: lines.drop(db, main.id, by="Ann", at=clock()), lambda: lines.drop(db, what_if.id, by="Ann", at=clock())):
        with pytest.raises(RecordError):
            act()
