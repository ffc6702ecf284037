"""What the pages of fuses say, and that nothing on their graphs leaves them or lies on other words."""

from __future__ import annotations

import dataclasses
import math

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.lists import lists_of
from halfshaft.book.sections.electrics import fuses
from halfshaft.book.sections.protection import time_current
from halfshaft.drawings.shapes import Line, Text
from halfshaft.drawings.time_current import PER_SHEET, time_current_sheets, with_graph
from halfshaft.studies.protection.bands import staircase
from halfshaft.study import Study
from support import changed, fits


@pytest.fixture(scope="module")
def pages(tern_study) -> Pages:
    made = Pages()
    fuses(tern_study, made)
    time_current(tern_study, made)
    return made


def test_sections(pages, tern_study):
    count = len(with_graph([(item, None) for item in tern_study.protection.fuses if item.thinnest]))
    sheets = math.ceil(count / PER_SHEET)
    # FL1, FL2, F1 to F15 (those after feed no wire), five cartridges.
    assert count == 22
    assert [section["title"] for section in pages.sections] == [
        "Fuses and voltage drop",
        *(f"Fuses: time and current, {number + 1} of {sheets}" for number in range(sheets)),
    ]
    assert all("qualified people decide" in str(section) for section in pages.sections)
    assert "High voltage: work by qualified people only" in str(pages.sections[-1])


def row_of(pages: Pages, ref: str) -> list[str]:
    rows = next(block for block in pages.sections[0]["blocks"] if block["kind"] == "table")["rows"]
    row = next(row for row in rows if row[0] == {"bold": ref})
    return [cell if isinstance(cell, str) else cell["bold"] for cell in row]


def test_the_row_of_the_fan(pages, tern_study):
    """F2 of 20 A, yellow; 16 A of 15.1 in air of 60 °C; its start of 34 A for 0.4 s; the thinnest wire has 2.5 mm²."""
    row = [cell.replace("\u00a0", " ") for cell in row_of(pages, "FRB.F2")]
    guard = next(item for item in tern_study.protection.fuses if item.ref == "FRB.F2")
    assert row[:6] == ["FRB.F2", "20", "regular blade, yellow", "radiator fan", "W124 2.5 mm²", "16.0 / 15.1"]
    assert row[6:8] == ["34 A 0.4 s", f"{guard.most_a:.0f} / {guard.least_a:.0f}"]


def test_a_fuse_ahead_of_others_names_them(pages):
    assert row_of(pages, "FRB.F18")[3] == "FRB.F13; FRB.F14; FRB.F15"
    assert row_of(pages, "BAT.FL1")[3] == "fuses of FL; fuses of FRB"


def test_every_fuse_is_in_the_table_and_in_the_list(pages, tern_study):
    rows = next(block for block in pages.sections[0]["blocks"] if block["kind"] == "table")["rows"]
    refs = {item.ref for item in tern_study.protection.fuses}
    assert {row[0]["bold"] for row in rows} == refs
    (listed,) = [item for item in lists_of(tern_study) if item.name == "fuses"]
    assert {row[0] for row in listed.rows} == refs
    assert all(len(row) == len(listed.header) for row in listed.rows)


def test_graphs_of_the_demo_fit_and_no_word_is_cut(pages):
    for drawing in pages.pictures.values():
        fits(drawing)
        assert not [shape.words for shape in drawing.shapes if isinstance(shape, Text) and "…" in shape.words]


def test_the_band_of_a_graph_lies_where_the_standard_has_it(tern_study):
    """F2 alone: the latest falls from 5 s to 0.5 s at 70 A, so an upright stands there between those two times."""
    guard = next(item for item in tern_study.protection.fuses if item.ref == "FRB.F2")
    (drawing,) = time_current_sheets([(guard, None)])
    across = [shape for shape in drawing.shapes if isinstance(shape, Line) and shape.style.layer == "BAND"]
    uprights = [(line.start[0], abs(line.end[1] - line.start[1])) for line in across if abs(line.start[0] - line.end[0]) < 1e-3]
    # Amperes by the two ticks that are written: 20 A and 500 A.
    (x20, x500) = [shape.at[0] for words in ("20", "500") for shape in drawing.shapes if isinstance(shape, Text) and shape.words == words]
    x70 = x20 + (x500 - x20) * math.log(70 / 20) / math.log(25)
    decade_mm = [high for x, high in uprights if abs(x - x70) < 0.05]
    # 5 s to 0.5 s is one decade; the earliest falls there from 0.04 to 0.02 s.
    assert len(decade_mm) == 2
    assert min(decade_mm) / max(decade_mm) == pytest.approx(math.log10(2), abs=0.01)


@pytest.mark.parametrize("rating_a", [0.5, 2.0, 7.5, 30.0, 120.0, 900.0])
@pytest.mark.parametrize("most_a", [None, 10.0, 300.0, 20_000.0])
@pytest.mark.parametrize("family", ["mini blade", "maxi blade", "strip"])
def test_a_graph_fits_whatever_the_fuse(tern_study, rating_a, most_a, family):
    guard = next(item for item in tern_study.protection.fuses if item.ref == "FRB.F2")
    wire = tern_study.protection.by_wire["W124"]
    least_a = None if most_a is None else most_a / 7
    shown = dataclasses.replace(guard, rating_a=rating_a, band=staircase(family, rating_a), most_a=most_a, least_a=least_a)
    fits(time_current_sheets([(shown, wire)] * 3)[0])


def test_nothing_without_fuses(tern):
    made = Pages()
    bare = Study(changed(tern, supply=tern.supply.model_copy(update={"battery": None}), boxes=()))
    fuses(bare, made)
    time_current(bare, made)
    assert made.sections == []
