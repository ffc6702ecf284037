"""What the pages of the high-voltage chain say, and that nothing on its pictures leaves them or lies on other words."""

from __future__ import annotations

import dataclasses
import itertools

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.sections.high_voltage import CHAIN, CURVE, high_voltage
from halfshaft.drawings.one_line import one_line
from halfshaft.drawings.precharge_chart import precharge_chart
from halfshaft.drawings.shapes import Text
from halfshaft.study import Study
from support import changed, fits


@pytest.fixture(scope="module")
def pages(tern_study) -> Pages:
    made = Pages()
    high_voltage(tern_study, made)
    return made


def test_sections_and_their_cautions(pages):
    told = [(s["title"], s["hv"], [b["word"] for b in s["blocks"] if b["kind"] == "caution"]) for s in pages.sections]
    assert told == [
        ("High-voltage chain", True, ["WARNING"]),
        ("High voltage: switching on and off", True, ["NOTICE", "WARNING"]),
        ("High voltage: load cases and contacts", True, ["NOTICE"]),
    ]


def test_the_demo_authors_figures_are_on_the_page(pages):
    """README of the demo: 72.5 ms, 95 % after 0.22 s, 69 J; disconnect, fuses and units as in the tables."""
    rows = next(block for block in pages.sections[1]["blocks"] if block["kind"] == "facts")["rows"]
    words = " ".join(" ".join(row) for row in rows)
    for figure in ("100 Ω", "725 µF", "72.5 ms", "95.0 %", "0.22 s", "69 J"):
        assert figure in words
    written = {shape.words for shape in pages.pictures[CHAIN].shapes if isinstance(shape, Text)}
    assert {"C1", "FH1 link", "B1: M01 to M04", "SD handle", "B3: M09 to M13", "INV", "CHG", "DCDC", "HTR", "100 Ω"} <= written


def test_pictures_of_the_demo_fit(pages):
    fits(pages.pictures[CHAIN])
    fits(pages.pictures[CURVE])


@pytest.mark.parametrize("units", [0, 1, 2, 8])
def test_the_chain_fits_with_few_and_many_units(tern_study, units):
    high = tern_study.high_voltage
    ways = tuple(itertools.islice(itertools.cycle(high.chain.ways), units))
    shown = dataclasses.replace(high, chain=dataclasses.replace(high.chain, ways=ways))
    fits(one_line(tern_study.conversion, tern_study.routing, tern_study.pack, shown))


@pytest.mark.parametrize("times", [2, 3])
def test_the_chain_fits_with_a_string_that_is_longer(tern_study, times):
    pack = tern_study.pack
    string = pack.strings[0]
    inner = string.joins[1:-1]
    joins = (string.joins[0], *[join for _ in range(times) for join in (*inner, inner[3])][:-1], string.joins[-1])
    longer = dataclasses.replace(string, modules=string.modules * times, joins=joins)
    fits(one_line(tern_study.conversion, tern_study.routing, dataclasses.replace(pack, strings=(longer,)), tern_study.high_voltage))


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9, 0.98, 0.999])
def test_the_curve_fits_wherever_the_contactor_closes(tern, share):
    settings = tern.high_voltage.model_copy(update={"precharge_close_at_percent": 100 * share})
    fits(precharge_chart(Study(changed(tern, high_voltage=settings)).high_voltage.precharge))


def test_silent_where_nothing_is_described(tern):
    settings = type(tern.high_voltage)()
    bare = changed(tern, high_voltage=settings, hv_insulation=(), case_units=(), fuse_points=(), hv_units=())
    study = Study(bare)
    assert [item for item in study.design_findings if item.rule.startswith("high_voltage.")] == []
    made = Pages()
    high_voltage(study, made)
    # The disconnect is a contact in the pack's way.
    assert [section["title"] for section in made.sections] == ["High-voltage chain", "High voltage: load cases and contacts"]
    made = Pages()
    high_voltage(Study(changed(tern, boxes=())), made)
    assert made.sections == []
