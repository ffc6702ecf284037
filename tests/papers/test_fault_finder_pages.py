"""What the fault-finder's pages say, and that the screen says the same."""

from __future__ import annotations

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.sections.fault_finder import fault_finder
from halfshaft.show import as_words
from halfshaft.show.tables import SCREEN_CHARACTERS
from halfshaft.study import Study
from support import changed


@pytest.fixture(scope="module")
def pages(tern_study) -> Pages:
    made = Pages()
    fault_finder(tern_study, made)
    return made


def tables(pages) -> list[list[list[str]]]:
    (section,) = pages.sections
    found = [block["rows"] for block in section["blocks"] if block["kind"] == "table"]
    return [[[cell if isinstance(cell, str) else cell["bold"] for cell in row] for row in rows] for rows in found]


def test_one_section_with_its_warning_and_each_table_on_a_page_of_its_own(pages):
    (section,) = pages.sections
    kinds = [block["kind"] for block in section["blocks"]]
    assert section["title"] == "Fault-finder"
    assert kinds == ["caution", "heading", "table", "small", "break", "heading", "table", "small"]
    assert section["blocks"][0]["word"] == "WARNING"


def test_every_fuse_has_its_line_in_the_order_of_their_numbers(pages, tern_study):
    stops, _ = tables(pages)
    fuses = [row[0] for row in stops]
    assert fuses == ["BAT.FL1", "FL.FL2", *(f"FRB.F{number}" for number in range(1, 19)), "OL.old fuse 3"]
    assert stops[fuses.index("FRB.F2")][1:] == ["20", "Radiator fan", ""]
    assert all(row[2] for row in stops)


def test_what_stops_with_a_fuse_is_said_in_sentences(pages):
    stops, _ = tables(pages)
    (row,) = [row for row in stops if row[0] == "FRB.F9"]
    assert row[3] == "High-voltage contacts drop out: HVDB.main minus; HVDB.main plus; HVDB.pre-charge"
    (row,) = [row for row in stops if row[0] == "FRB.F13"]
    assert "Left with one feed of two: stop lamps, two" in row[2]
    assert row[3].endswith("are closed: all of these")


def test_everything_that_can_fail_is_found_by_its_name(pages, tern_study):
    """All loads but the rev counter, whose earth left with the engine; sorted as a reader looks for them."""
    _, looks = tables(pages)
    names = [row[0] for row in looks]
    loads = tern_study.conversion.load
    assert len(names) == len(loads) - 1
    assert "rev counter" not in names
    assert (
        names.index("battery coolant pump") < names.index("cabin blower, full") < names.index("radiator fan") < names.index("wiper motor")
    )
    (fan,) = [row for row in looks if row[0] == "radiator fan"]
    assert fan[1:3] == ["BAT.FL1, FRB.F2", "FRB.K2 (by FRB.K2 coil: BAT.FL1, FRB.F7, FRB.F16)"]
    assert fan[3].endswith("W124 - FAN.A.1")
    assert fan[4] == "FAN.A.2 - W152 - GP1.S.1"


def test_the_screen_says_the_same_and_no_line_is_wider_than_it(pages, tern_study):
    words = as_words(tern_study, "fault_finder")
    assert max(len(line) for line in words.splitlines()) <= SCREEN_CHARACTERS
    flat = " ".join(words.split())
    for table in tables(pages):
        for row in table:
            assert all(" ".join(cell.split()) in flat for cell in row[2:] if cell)


def test_without_a_battery_no_pages_and_one_sentence(tern_study):
    bare = changed(tern_study.conversion, supply=tern_study.conversion.supply.model_copy(update={"battery": None}))
    made = Pages()
    fault_finder(Study(bare), made)
    assert made.sections == []
    assert as_words(Study(bare), "fault_finder").startswith("No 12 V battery")
