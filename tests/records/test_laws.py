"""What must always hold of the records, whatever is edited and in whatever order."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.files.folder import folder_files
from halfshaft.model.car import Removed
from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions, lines, revisions, saving, steps
from halfshaft.records.database import Database, open_database
from halfshaft.records.keeping import pack
from halfshaft.records.merge import merge
from halfshaft.records.values import Conflict, Line, Saved
from store import Edit, clock, url_of, with_new, with_row, without_row


def fixed(examples: int) -> settings:
    """Today's run is yesterday's run; no deadline, as a busy machine is no fault of the code."""
    return settings(max_examples=examples, derandomize=True, deadline=None)


@contextmanager
def records_of(conversion: Conversion) -> Iterator[tuple[Database, Line]]:
    with tempfile.TemporaryDirectory() as folder:
        db = open_database(url_of(Path(folder) / "records.db"))
        try:
            yield db, conversions.create(db, conversion, by="Ann", at=clock())
        finally:
            db.close()


def few_of(small: Conversion) -> Conversion:
    return small.model_copy(update={"removed": small.removed[:6]})


TEXTS = st.text("abc ,;\"'äΩ\u2028", max_size=6).map(str.strip).filter(lambda text: "\u2028" not in text)
FIELDS = st.one_of(
    st.fixed_dictionaries({"note": TEXTS}),
    st.fixed_dictionaries({"mass_kg": st.floats(0, 500)}),
    st.fixed_dictionaries({"x_mm": st.integers(-500, 500).map(float), "y_mm": st.floats(-900, 900)}),
)


@dataclass(frozen=True)
class Cells:
    """An edit in words, so that a failure can be read: one row's new fields, or the row gone."""

    row: int
    fields: tuple[tuple[str, object], ...] | None

    def of(self, conversion: Conversion) -> Edit:
        ref = conversion.removed[self.row].ref
        return without_row("removed", ref) if self.fields is None else with_row("removed", ref, **dict(self.fields))


EDITS = st.builds(Cells, row=st.integers(0, 5), fields=st.one_of(st.none(), FIELDS.map(lambda fields: tuple(fields.items()))))


@fixed(15)
@given(st.lists(EDITS, min_size=1, max_size=4))
def test_what_is_saved_comes_back_byte_for_byte(small: Conversion, edits: list[Cells]) -> None:
    base = few_of(small)
    with records_of(base) as (db, main):
        head, now = main.head, base
        for edit in edits:
            now = edit.of(base)(now)
            done = saving.save(db, main.id, head, now, by="Ann", at=clock(), reason="edit")
            assert isinstance(done, Saved)
            head = done.revision.id
            assert revisions.files_at(db, head) == folder_files(now)
            assert done.revision.tree == pack(now).tree  # the same content has the same name, whatever it was made from
            db.held.clear()
            assert revisions.conversion_at(db, head) == now
        assert revisions.faults_of_records(db) == ()


def without_loss(base: Conversion, side: Conversion, merged: Conversion, clashed: set[tuple[str, str]]) -> None:
    """Every cell that a side changed stands in the merged one, save those that clashed."""
    was, now, both = ({row.ref: row for row in conversion.removed} for conversion in (base, side, merged))
    for ref in {*was, *now}:
        if ref not in now:
            assert ref not in both or (ref, "") in clashed
            continue
        for field in Removed.model_fields:
            changed = ref not in was or getattr(was[ref], field) != getattr(now[ref], field)
            if changed and not {(ref, ""), (ref, field)} & clashed:
                assert getattr(both[ref], field) == getattr(now[ref], field)


@fixed(150)
@given(st.lists(EDITS, max_size=5), st.lists(EDITS, max_size=5))
def test_no_cell_of_either_is_lost_in_a_merge(small: Conversion, here: list[Cells], there: list[Cells]) -> None:
    base = few_of(small)
    theirs = mine = base
    for edit in here:
        theirs = edit.of(base)(theirs)
    for edit in there:
        mine = edit.of(base)(mine)
    done = merge(base, theirs, mine)
    clashed = {(clash.cell.key, clash.cell.field) for clash in done.clashes}
    for side, choice in ((theirs, "theirs"), (mine, "mine")):
        chosen = merge(base, theirs, mine, {clash.cell: choice for clash in done.clashes}).conversion  # type: ignore[misc]
        assert chosen is not None
        without_loss(base, side, chosen, set())
        without_loss(base, mine if side is theirs else theirs, chosen, clashed)
    assert (done.conversion is None) == bool(clashed)
    # Whoever comes second, the same cells clash.
    assert {clash.cell for clash in merge(base, mine, theirs).clashes} == {clash.cell for clash in done.clashes}


@fixed(100)
@given(st.lists(EDITS, max_size=4), st.lists(EDITS, max_size=4))
def test_edits_of_different_rows_merge_to_both_done(small: Conversion, here: list[Cells], there: list[Cells]) -> None:
    base = few_of(small)
    theirs = both = mine = base
    for edit in here:
        theirs = both = Cells(edit.row % 3, edit.fields).of(base)(theirs)
    for edit in there:
        other = Cells(3 + edit.row % 3, edit.fields).of(base)
        mine, both = other(mine), other(both)
    new = base.removed[0].model_copy(update={"ref": "NEW1"}), base.removed[1].model_copy(update={"ref": "NEW2"})
    theirs, mine = with_new("removed", new[0])(theirs), with_new("removed", new[1])(mine)
    both = with_new("removed", new[1])(with_new("removed", new[0])(both))
    assert merge(base, theirs, mine).conversion == both


@fixed(25)
@given(st.lists(EDITS, min_size=1, max_size=4), st.data())
def test_undo_then_redo_changes_nothing(small: Conversion, edits: list[Cells], data: st.DataObject) -> None:
    base = few_of(small)
    with records_of(base) as (db, main):
        now = main
        for edit in edits:
            done = saving.edit(db, main.id, now.head, edit.of(base), by="Ann", at=clock(), reason="edit")
            assert isinstance(done, Saved)
            now = done.line
        depth = len(revisions.history(db, now.head)) - 1
        count = data.draw(st.integers(0, depth))
        seen = [now]
        for _ in range(count):
            seen.append(steps.undo(db, main.id, seen[-1].head, by="Ann", at=clock()))
        if count == depth:
            assert seen[-1].head == main.head
        for before in reversed(seen[:-1]):
            again = steps.redo(db, main.id, lines.line(db, main.id).head, by="Ann", at=clock())
            assert (again.head, again.redo, again.can_undo) == (before.head, before.redo, before.can_undo)


@fixed(25)
@given(st.lists(st.tuples(st.booleans(), EDITS, st.booleans()), min_size=1, max_size=6))
def test_two_editors_in_any_order_lose_no_cell(small: Conversion, turns: list[tuple[bool, Cells, bool]]) -> None:
    """Each edits what they last saw, and sometimes looks again; whatever was saved is in the head, or waits aside with its clash."""
    base = few_of(small)
    with records_of(base) as (db, main):
        seen = {True: main.head, False: main.head}
        for who, edit, looks in turns:
            if looks:
                seen[who] = lines.line(db, main.id).head
            before = revisions.conversion_at(db, seen[who])
            if len(before.removed) < 6:
                continue
            under = revisions.conversion_at(db, lines.line(db, main.id).head)
            mine = edit.of(base)(before)
            done = saving.save(db, main.id, seen[who], mine, by="Ann" if who else "Ben", at=clock(), reason="edit")
            head = revisions.conversion_at(db, lines.line(db, main.id).head)
            if isinstance(done, Conflict):
                assert head == under
                assert revisions.conversion_at(db, done.mine) == mine
                choices = {clash.cell: "mine" for clash in done.clashes}
                taken = lines.take(db, done.aside.id, theirs=done.theirs, by="Ann", at=clock(), choices=choices)  # type: ignore[arg-type]
                assert isinstance(taken, Saved)
                head = revisions.conversion_at(db, taken.line.head)
                without_loss(before, under, head, {(clash.cell.key, clash.cell.field) for clash in done.clashes})
            else:
                without_loss(before, under, head, set())
            without_loss(before, mine, head, set())
        assert revisions.faults_of_records(db) == ()
