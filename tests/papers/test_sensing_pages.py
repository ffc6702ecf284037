"""What the pages about cell sensing must say, read from their blocks before they are set."""

from __future__ import annotations

import json

from halfshaft.book.frame import Pages
from halfshaft.book.sections.sensing import cell_sensing
from halfshaft.study import Study
from support import changed


def test_wires_volts_and_sheets_are_there_with_their_warnings(tern):
    pages = Pages()
    cell_sensing(Study(tern), pages)
    wires, probing = pages.sections
    assert wires["hv"]
    assert probing["hv"]
    for section in (wires, probing):
        assert section["blocks"][0]["word"] == "WARNING"
        assert "Local rules and qualified people decide" in section["blocks"][0]["text"]
    text = json.dumps(wires, ensure_ascii=False)
    for words in ("Cell sense loom of B1 (IB1)", "M01-8", "+379.60", "B3-K4"):
        assert words in text
    text = json.dumps(probing, ensure_ascii=False)
    for words in (
        "Box B3 (sense-B3): 5 modules, 50 lines",
        "M09 at plug SB3.J1",
        "a value without a sign counts as not read",
        "+3.65",
        "−0.1 to 0.1",
    ):
        assert words in text


def test_a_car_without_boxes_has_no_such_pages(tern):
    pages = Pages()
    cell_sensing(Study(changed(tern, boxes=(), busbars=(), joints=())), pages)
    assert pages.sections == []


def test_a_car_without_sense_boards_has_no_such_pages_and_its_study_does_not_fail(tern):
    study = Study(changed(tern, devices=tuple(item for item in tern.devices if not item.ref.startswith("SB"))))
    assert study.sensing is None
    assert study.probe_sheets == {}
    assert [item.about for item in study.design_findings if item.rule == "sensing.no-board"] == [("B1",), ("B2",), ("B3",)]
