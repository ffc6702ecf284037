"""What the pages of the 12 V side say, and that nothing on its picture leaves it or lies on other words."""

from __future__ import annotations

import itertools
import json

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.sections.low_voltage import PICTURE, low_voltage
from halfshaft.drawings.shapes import Text, box_of
from halfshaft.show import as_plain, as_words
from halfshaft.study import Study
from support import changed

ROUNDING_MM = 1e-6
TITLES = ["12 V side: cases and supply", "12 V side: volts", "12 V side: relays and switches", "12 V side: ground points and ways back"]


@pytest.fixture(scope="module")
def pages(tern_study) -> Pages:
    made = Pages()
    low_voltage(tern_study, made)
    return made


def tables(pages, title: str) -> list[list[list[str]]]:
    section = next(section for section in pages.sections if section["title"] == title)
    found = [block["rows"] for block in section["blocks"] if block["kind"] == "table"]
    return [[[cell if isinstance(cell, str) else cell["bold"] for cell in row] for row in rows] for rows in found]


def test_four_sections(pages):
    assert [section["title"] for section in pages.sections] == TITLES


def test_every_case_has_its_line_and_the_authors_totals(pages, tern):
    """README of the demo: night and rain 39.7 A on the average, 71.0 A all at once, of 80 A; limp about 38 min."""
    (supply,) = tables(pages, TITLES[0])
    assert [row[0] for row in supply] == [case.ref for case in tern.cases]
    night = next(row for row in supply if row[0] == "night and rain")
    assert night[1] == "39.7 / 71.0"
    assert night[4] == "80"
    assert next(row for row in supply if row[0] == "limp")[-1] == "39 min"
    assert next(row for row in supply if row[0] == "parked")[-1] == "26 days to half"


def test_what_draws_besides_the_list_is_said(pages):
    paragraphs = [block["text"] for block in pages.sections[0]["blocks"] if block["kind"] == "para"]
    assert paragraphs == ["In the case parked these draw besides the listed loads: VCU.inertia pull-down 1.3 mA."]


def test_every_load_has_its_least_volts_and_the_one_without_earth_none(pages, tern_study):
    volts, _ = tables(pages, TITLES[1])
    loads = {load.load for case in tern_study.low_voltage.cases for load in case.loads}
    assert sorted(row[0] for row in volts) == sorted(loads)
    assert next(row for row in volts if row[0] == "FAN.motor")[4:6] == ["12.63", "night and rain"]
    assert next(row for row in volts if row[0] == "OL.rev counter")[4] == "not fed"


def test_what_takes_most_volts_stands_first(pages, tern_study):
    """The fan's 16 A: 3.6 m of 2.5 mm² in the warm, and a terminal of 1.5 mohm on each end, which take 0.77 W."""
    _, lost = tables(pages, TITLES[1])
    volts = [float(row[4]) for row in lost]
    assert volts == sorted(volts, reverse=True)
    assert len(lost) == 12
    assert next(row for row in lost if row[0] == "W124")[1:4:2] == [tern_study.conversion.wire["W124"].meaning, "16.0"]
    assert next(row for row in lost if row[0] == "W124")[6] == "0.8"


def test_ways_back_stand_by_ground_point_each_load_once(pages, tern):
    _, ways = tables(pages, TITLES[3])
    begins = [row[0].split(" – ")[0] for row in ways if row[0]]
    assert begins == ["GP1", "GP2", "GP3", "GP4", "GP6", "GP7", "GP8", "none; it left with ST4"]
    assert ways[:2] == [["GP1 – body – GP5 – W402", "W152", "FAN.motor"], ["", "W153", "P2.motor"]]
    told = [load for row in ways for load in row[2].split("; ")]
    assert sorted(told) == sorted(load.ref for load in tern.loads)


def test_the_bars_fit_and_no_words_lie_on_others(pages):
    drawing = pages.pictures[PICTURE]
    for shape in drawing.shapes:
        left, bottom, right, top = box_of(shape)
        assert left >= -ROUNDING_MM
        assert bottom >= -ROUNDING_MM
        assert right <= drawing.width_mm + ROUNDING_MM
        assert top <= drawing.height_mm + ROUNDING_MM
    words = [(shape.words, box_of(shape)) for shape in drawing.shapes if isinstance(shape, Text)]
    assert {"night and rain", "70.4", "DC-DC converter"} <= {text for text, _ in words}
    for (one, a), (other, b) in itertools.combinations(words, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one!r} lies on {other!r}"


def test_the_screen_is_no_wider_than_it_need_be_and_points_to_the_fault_finder(tern_study):
    words = as_words(tern_study, "low_voltage")
    assert max(len(line) for line in words.splitlines()) <= 125
    assert words.endswith("halfshaft show FOLDER fault_finder")


def test_another_program_gets_every_current_and_loss(tern_study):
    plain = json.loads(json.dumps(as_plain(tern_study, "low_voltage")))
    night = next(case for case in plain["cases"] if case["case"] == "night and rain")
    wire = next(item for item in night["carried"] if item["ref"] == "W124")
    assert wire["all_a"] == pytest.approx(16.0)
    assert wire["loss_w"] == pytest.approx(wire["all_a"] * wire["drop_v"])
    assert {"wire", "link", "fuse", "contact", "ground"} <= {item["kind"] for item in night["carried"]}


def test_no_battery_or_no_case_no_pages(tern_study):
    conversion = tern_study.conversion
    for bare in (
        changed(conversion, supply=conversion.supply.model_copy(update={"battery": None})),
        changed(conversion, cases=(), case_loads=(), case_contacts=(), case_units=()),
    ):
        made = Pages()
        low_voltage(Study(bare), made)
        assert made.sections == []
