"""What must hold of any change of mind: nothing of nothing, there and back, and nothing lost on the way."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfshaft.compare import compare, state_of
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion, Shop
from halfshaft.model.references import KEYS, key_of
from halfshaft.studies.changes.between import changes_between
from halfshaft.studies.changes.cut import Piece, fate_of, step_mm
from halfshaft.studies.changes.edits import edits_between
from halfshaft.studies.changes.records import ACTS, Changes
from halfshaft.study import Study

# How the way there is made is not the way back turned round: what is drilled stays drilled, what is cut off is not joined on.
OF_THE_WAY = ("material", "wire end", "board", "board drawing")
TERN = read_folder(Path(__file__).parents[2] / "examples" / "tern")
FIRST_IDEA = read_folder(Path(__file__).parents[2] / "examples" / "tern-first-idea")
# Numbers that name something in another table: another number would lead nowhere.
NAMES = {("wires", "section_mm2"), ("wire_types", "section_mm2"), ("cable_cores", "core"), ("board_pegs", "peg"), ("joints", "")}


@pytest.fixture(scope="module")
def there() -> Changes:
    return compare(Study(FIRST_IDEA), Study(TERN))


@pytest.fixture(scope="module")
def back() -> Changes:
    return compare(Study(TERN), Study(FIRST_IDEA))


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


def test_there_and_back_was_and_is_change_places(there: Changes, back: Changes) -> None:
    assert _sides(there, turned=False) == _sides(back, turned=True)
    assert [(item.name, item.was, item.now) for item in there.figures] == [(item.name, item.now, item.was) for item in back.figures]


def test_there_and_back_what_is_bought_comes_back(there: Changes, back: Changes) -> None:
    parts = [{line.ref for line in changes.of(act) if line.kind == "part"} for changes in (there, back) for act in ("buy", "unmake")]
    assert parts[0] == parts[3] == {"AT-BOX4"}
    assert parts[1] == parts[2] == {"AT-BOX2", "AT-BOX6"}
    assert {line.ref for line in there.lines if line.kind == "busbar" and line.act == "make"} == {
        line.ref for line in back.lines if line.kind == "busbar" and line.act == "unmake"
    }


def test_lines_stand_in_the_order_of_work(there: Changes) -> None:
    order = [list(ACTS).index(line.act) for line in there.lines]
    assert order == sorted(order)


def test_every_edit_of_the_demo_is_told_of(there: Changes) -> None:
    told = {edit for line in there.lines for edit in line.edits}
    assert set(edits_between(FIRST_IDEA, TERN)) == told


def _numbers(record: Any) -> list[str]:
    return [name for name, value in record if isinstance(value, (int, float)) and not isinstance(value, bool)]


@st.composite
def one_number_changed(draw: st.DrawFn) -> tuple[Conversion, str, str, str]:
    """The demo with one number of one record changed: conversion, table, key, field."""
    tables = [name for name in Conversion.model_fields if isinstance(getattr(TERN, name), tuple) and getattr(TERN, name)]
    table = draw(st.sampled_from(tables))
    rows = getattr(TERN, table)
    index = draw(st.integers(0, len(rows) - 1))
    fields = [name for name in _numbers(rows[index]) if (table, name) not in NAMES and name not in KEYS.get(table, ())]
    if not fields:
        table, rows, index, fields = "points", TERN.points, draw(st.integers(0, len(TERN.points) - 1)), ["x_mm", "y_mm", "z_mm"]
    field = draw(st.sampled_from(fields))
    old = getattr(rows[index], field)
    by = draw(st.sampled_from([1, 2])) if isinstance(old, int) else draw(st.sampled_from([0.001, 0.4, 7.0, 90.0]))
    new = (*rows[:index], rows[index].model_copy(update={field: old + by}), *rows[index + 1 :])
    key = key_of(table, rows[index])
    return TERN.model_copy(update={table: new}), table, "/".join(map(str, key)) if isinstance(key, tuple) else str(key), field


BEFORE = state_of(Study(TERN))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(one_number_changed())
def test_no_changed_number_is_lost(edited: tuple[Conversion, str, str, str]) -> None:
    after, table, key, field = edited
    there = changes_between(BEFORE, state_of(Study(after)), ())
    (edit,) = edits_between(TERN, after)
    assert (edit.table, edit.key, edit.field) == (table, key, field)
    assert [line for line in there.lines if edit in line.edits]
    back = changes_between(state_of(Study(after)), BEFORE, ())
    assert _sides(there, turned=False) == _sides(back, turned=True)
    assert there.is_built_otherwise == back.is_built_otherwise


@given(
    st.sampled_from([name for name in Conversion.model_fields if isinstance(getattr(TERN, name), tuple) and len(getattr(TERN, name)) > 1]),
    st.data(),
)
@settings(max_examples=30, deadline=None)
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
