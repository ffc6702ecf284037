"""What must hold of any change of mind: nothing of nothing, there and back, and nothing lost on the way."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.compare import compare, state_of
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion, Shop
from halfshaft.model.references import KEYS, key_of
from halfshaft.studies.changes.between import changes_between
from halfshaft.studies.changes.cut import Piece, fate_of, step_mm
from halfshaft.studies.changes.edits import edits_between
from halfshaft.studies.changes.records import ACTS, BUILT, Changes
from halfshaft.study import Study

# How the way there is made is not the way back turned round: what is drilled stays drilled, what is cut off is not joined on.
OF_THE_WAY = ("material", "wire end", "board", "board drawing")
TERN = read_folder(Path(__file__).parents[2] / "examples" / "tern")
FIRST_IDEA = read_folder(Path(__file__).parents[2] / "examples" / "tern-first-idea")
# Numbers that name something in another table: another number would lead nowhere.
NAMES = {("wires", "section_mm2"), ("wire_types", "section_mm2"), ("cable_cores", "core"), ("board_pegs", "peg"), ("joints", "")}


@pytest.fixture(scope="module")
def back() -> Changes:
    """Without boards and papers: those are no part of the laws."""
    return changes_between(state_of(Study(TERN)), state_of(Study(FIRST_IDEA)), ())


@pytest.mark.parametrize("conversion", [TERN, FIRST_IDEA], ids=["tern", "first idea"])
def test_a_conversion_against_itself_is_nothing(conversion: Conversion) -> None:
    changes = compare(Study(conversion), Study(conversion.model_copy(deep=True)))
    assert not changes.lines
    assert not changes.figures
    assert not changes.notes
    assert not changes.is_built_otherwise


def _sides(changes: Changes, *, turned: bool) -> Counter[tuple[Any, ...]]:
    sides = ((line.was, line.now) for line in changes.lines if line.kind not in OF_THE_WAY)
    named = ((line.kind, line.ref, line.quantity) for line in changes.lines if line.kind not in OF_THE_WAY)
    return Counter((*name, *(reversed(pair) if turned else pair)) for name, pair in zip(named, sides, strict=True))


def test_there_and_back_was_and_is_change_places(tern_changes: Changes, back: Changes) -> None:
    assert _sides(tern_changes, turned=False) == _sides(back, turned=True)
    assert [(item.name, item.was, item.now) for item in tern_changes.figures] == [(item.name, item.now, item.was) for item in back.figures]


def test_there_and_back_what_is_bought_comes_back(tern_changes: Changes, back: Changes) -> None:
    parts = [{line.ref for line in changes.of(act) if line.kind == "part"} for changes in (tern_changes, back) for act in ("buy", "unmake")]
    assert parts[0] == parts[3] == {"AT-BOX4"}
    assert parts[1] == parts[2] == {"AT-BOX2", "AT-BOX6"}


def test_bars_that_nobody_listed_are_made_one_way_and_taken_out_the_other() -> None:
    """Those of the two boxes that change; of the third nobody knows, so it is looked at."""
    without, tern = (state_of(Study(conversion)) for conversion in (FIRST_IDEA.model_copy(update={"busbars": ()}), TERN))
    there, back = changes_between(without, tern, ()), changes_between(tern, without, ())
    made = {line.ref for line in there.of("make") if line.kind == "busbar"}
    assert made == {line.ref for line in back.of("unmake") if line.kind == "busbar"} == {bar.ref for bar in TERN.busbars if bar.box != "B3"}
    assert [line.about for line in there.of("know") if line.kind == "busbar"] == [("B3",)]
    assert _sides(there, turned=False) == _sides(back, turned=True)


def test_lines_stand_in_the_order_of_work(tern_changes: Changes) -> None:
    order = [list(ACTS).index(line.act) for line in tern_changes.lines]
    assert order == sorted(order)


def test_every_edit_of_the_demo_is_told_of(tern_changes: Changes) -> None:
    told = {edit for line in tern_changes.lines for edit in line.edits}
    assert set(edits_between(FIRST_IDEA, TERN)) == told


def _numbers(record: Any) -> list[str]:
    return [name for name, value in record if isinstance(value, (int, float)) and not isinstance(value, bool)]


TABLES = [name for name in Conversion.model_fields if isinstance(getattr(TERN, name), tuple) and getattr(TERN, name)]
PLACES = {
    table: [
        (index, field)
        for index, record in enumerate(getattr(TERN, table))
        for field in _numbers(record)
        if (table, field) not in NAMES and field not in KEYS.get(table, ())
    ]
    for table in TABLES
}
BEFORE = state_of(Study(TERN))


@settings(max_examples=25, deadline=None)
@given(st.sampled_from([table for table in TABLES if PLACES[table]]), st.integers(0, 10_000), st.sampled_from([1, 7, 90]))
def test_no_changed_number_is_lost(table: str, which: int, by: int) -> None:
    index, field = PLACES[table][which % len(PLACES[table])]
    rows = getattr(TERN, table)
    old = getattr(rows[index], field)
    new = old + by if isinstance(old, int) else old + by / 10
    after = TERN.model_copy(update={table: (*rows[:index], rows[index].model_copy(update={field: new}), *rows[index + 1 :])})
    key = key_of(table, rows[index])
    now = state_of(Study(after))
    there = changes_between(BEFORE, now, ())
    (edit,) = edits_between(TERN, after)
    assert (edit.table, edit.key, edit.field) == (table, "/".join(map(str, key)) if isinstance(key, tuple) else str(key), field)
    assert [line for line in there.lines if edit in line.edits]
    back = changes_between(now, BEFORE, ())
    assert _sides(there, turned=False) == _sides(back, turned=True)
    # A finding that stops the work comes one way and goes the other; everything built changes both ways.
    built = [
        {(line.kind, line.ref) for line in changes.lines if line.act in BUILT and line.kind not in ("finding", *OF_THE_WAY)}
        for changes in (there, back)
    ]
    assert built[0] == built[1]


@settings(max_examples=30, deadline=None)
@given(st.sampled_from([table for table in TABLES if len(getattr(TERN, table)) > 1]), st.data())
def test_rows_that_come_go_or_change_places_are_edits(table: str, data: st.DataObject) -> None:
    rows = getattr(TERN, table)
    index = data.draw(st.integers(0, len(rows) - 1))
    gone = TERN.model_copy(update={table: (*rows[:index], *rows[index + 1 :])})
    assert any(edit.table == table and not edit.field and edit.now is None for edit in edits_between(TERN, gone))
    assert any(edit.table == table and not edit.field and edit.was is None for edit in edits_between(gone, TERN))
    turned = TERN.model_copy(update={table: (*rows[1:], rows[0])})
    assert any(edit.table == table for edit in edits_between(TERN, turned))


@given(st.floats(50, 5000), st.floats(-200, 200))
def test_a_piece_is_cut_again_from_one_step_of_the_cutter_on(length_mm: float, by_mm: float) -> None:
    shop = Shop()
    old, new = (Piece(value, round(value + 0.5), "0.5 PK") for value in (length_mm, length_mm + by_mm))
    fate = fate_of(old, new, shop)
    if abs(new.sum_mm - old.sum_mm) < step_mm(shop, max(new.sum_mm, old.sum_mm)):
        assert fate in ("as it is", "keeps its piece")
    else:
        assert fate == ("new piece" if by_mm > 0 else "cut down")
