"""What the page of the buses says, and that nothing in its drawing lies over anything else."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.sections.buses import buses
from halfshaft.drawings.bus_line import bus_line
from halfshaft.drawings.shapes import Drawing, Text, box_of
from halfshaft.studies.buses.lines import Station, Stub
from halfshaft.studies.buses.ohms import Terminator
from halfshaft.study import Study
from support import changed


@pytest.fixture(scope="module")
def pages(tern_study) -> Pages:
    made = Pages()
    buses(tern_study, made)
    return made


def tables(section):
    return [block for block in section["blocks"] if block["kind"] == "table"]


def words(cell) -> str:
    return cell if isinstance(cell, str) else cell.get("bold", cell.get("soft", ""))


def test_one_section_with_the_line_the_ohms_and_the_messages(pages):
    (section,) = pages.sections
    assert section["title"] == "CAN buses"
    ohms, meanings, messages = tables(section)
    assert [words(row[0]) for row in ohms["rows"]] == [
        "all plugged in", *(f"{plug} pulled" for plug in ("DISP.A", "DD.A", "SVC.A", "HTR.A", "VCU.A", "VCU.C", "BMM.A", "CC.A", "CC.B", "CHG.A", "INV.A", "DCDC.A")),
    ]  # fmt: skip
    assert ohms["rows"][0][2] == "60 at every plug"
    assert ohms["rows"][2][1:] == ["120.7 and 120.0", "120 at all others"]
    assert [words(row[0]) for row in meanings["rows"]] == ["open", "120.0", "60.0", "56.6", "50.0", "40.0", "0.0"]
    assert len(messages["rows"]) == 16
    assert [words(cell) for cell in messages["rows"][0]] == ["0C0", "VCU_Drive", "VCU", "8", "10", "135", "2.70", "0.54"]


def test_its_facts_are_those_of_the_readme(pages):
    facts = dict(next(block for block in pages.sections[0]["blocks"] if block["kind"] == "facts")["rows"])
    assert facts["Length"].startswith("6.55\u00a0m from end to end; 1 stub, 0.45\u00a0m")
    assert "8.6\u00a0%" in facts["Load"]
    assert "not in use: BMM" in facts["Terminators"]


def test_no_bus_no_page(tern):
    made = Pages()
    buses(Study(changed(tern, buses=(), bus_nodes=(), messages=())), made)
    assert made.sections == []


def apart(drawing: Drawing) -> None:
    """All within the sheet, and no words over others."""
    boxes = [(shape.words, box_of(shape)) for shape in drawing.shapes if isinstance(shape, Text)]
    for shape in drawing.shapes:
        left, bottom, right, top = box_of(shape)
        assert left >= -0.3
        assert bottom >= -0.3
        assert right <= drawing.width_mm + 0.3
        assert top <= drawing.height_mm + 0.3
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (one, other)


def test_the_drawing_of_the_demo_holds_every_unit_and_both_terminators(tern_study):
    drawing = bus_line(tern_study.buses["CAN1"])
    written = [shape.words for shape in drawing.shapes if isinstance(shape, Text)]
    assert {"DISP", "DD", "SVC", "HTR", "VCU", "BMM", "CC", "CHG", "INV", "DCDC", "S4/S5", "not in", "0.45 m"} <= set(written)
    assert written.count("120 Ω") == 2
    apart(drawing)


@pytest.mark.parametrize("count", [2, 3, 8, 9, 17, 30])
def test_a_bus_of_any_length_is_drawn_without_an_overlap(tern_study, count):
    """Long names, stubs at both ends, several at one place, three terminators."""
    order = tuple(
        Station(name=f"UNIT-{place:02d}" if place % 3 else f"S{place}/S{place + 100}", is_unit=place % 3 != 0, at_mm=1234.0 * place)
        for place in range(1, count + 1)
    )
    at = [order[0], order[-1], *order[2:3], *order[2:3]]
    stubs = tuple(
        Stub(at=station.name, at_mm=station.at_mm, units=(f"TOOL{index}", f"GAUGE{index}")[: 1 + index % 2], wires=("W1",), length_mm=450.0 + index)
        for index, station in enumerate(at)
    )  # fmt: skip
    ends = tuple(Terminator(unit=item.name, ohm=120.0, pin="", contact="", is_in=True) for item in order if item.is_unit)[:3]
    apart(bus_line(replace(tern_study.buses["CAN1"], order=order, stubs=stubs, terminators=ends)))
