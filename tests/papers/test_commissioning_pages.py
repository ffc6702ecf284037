"""What the commissioning pages must say, read from their blocks before they are set."""

from __future__ import annotations

import json

import pytest

from halfshaft.book.frame import DEFER, Pages
from halfshaft.book.lists import lists_of
from halfshaft.book.sections.commissioning import commissioning
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION
from halfshaft.study import Study


@pytest.fixture(scope="module")
def pages(tern):
    made = Pages()
    commissioning(Study(tern), made)
    return made


def test_each_stage_is_a_section_with_its_warning_on_every_page_and_a_stop_at_its_end(pages):
    assert [section["title"] for section in pages.sections] == [
        "Commissioning 1: dead tests",
        "Commissioning 2: 12 V",
        "Commissioning 3: polarity, pre-charge",
        "Commissioning 4: high voltage",
    ]
    for section in pages.sections:
        assert section["hv"]
        assert section["every_page"].startswith(HV_CAUTION)
        first, *_, stop, sign = section["blocks"]
        assert (first["kind"], first["word"]) == ("caution", "WARNING")
        assert first["text"].endswith(DEFER)
        assert stop["text"].startswith("Stop. Go on only when every line above passes")
        assert stop["text"].endswith(DEFER)
        assert sign["kind"] == "sign"


def test_every_line_has_its_number_once_what_to_expect_and_boxes_to_write_in(pages, tern_study):
    rows = [row for section in pages.sections for block in section["blocks"] if block["kind"] == "table" for row in block["rows"]]
    assert [int(row[0]) for row in rows] == [step.reading.number for step in tern_study.commissioning.steps]
    assert all(row[-3:] == [{"box": True}] * 3 for row in rows)
    heads = {
        tuple(column["head"] for column in block["columns"][-3:])
        for section in pages.sections
        for block in section["blocks"]
        if block["kind"] == "table"
    }
    assert heads == {("Found", "By", "Date")}


def test_what_is_expected_stands_there_with_sign_unit_and_basis(pages):
    text = json.dumps(pages.sections, ensure_ascii=False)
    for words in (
        "10.3 mΩ", "0 to 20", "over 1 MΩ", "over 765 Ω", "+379.6 V", "312 to 436.8", "−60 to 60", "0.22 s", "rest after them", "B3.N pulled", "UN R100 / AIS-038, 5.1.2.2",
        "from memory, to be confirmed: half of what the data sheets add up to", "Only where a line above fails", "with a second person",
    ):  # fmt: skip
        assert words in text, words


def test_every_table_has_its_instrument_above_and_its_basis_below(pages):
    for section in pages.sections:
        kinds = [block["kind"] for block in section["blocks"]]
        for index, block in enumerate(section["blocks"]):
            if block["kind"] == "heading":
                following = section["blocks"][index + 1 :]
                end = next((number for number, other in enumerate(following) if other["kind"] in ("heading", "caution")), len(following))
                assert following[0]["text"].startswith("Instrument: ")
                assert any(other["kind"] == "small" and other["text"].startswith("Basis: ") for other in following[:end])
        assert "table" in kinds


def test_the_list_has_the_same_lines(tern_study):
    listing = next(item for item in lists_of(tern_study) if item.name == "commissioning")
    assert len(listing.rows) == len(tern_study.commissioning.steps)
    assert listing.header[-3:] == ("found", "by", "date")


def test_a_car_without_electrics_has_no_such_pages(tern):
    study = Study(Conversion(job=tern.job, car=tern.car))
    made = Pages()
    commissioning(study, made)
    assert made.sections == []
    assert "electrics" not in study.test_sheets
    assert not any(item.name == "commissioning" for item in lists_of(study))
