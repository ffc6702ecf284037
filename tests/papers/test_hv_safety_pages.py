"""What the pages of high-voltage safety say."""

from __future__ import annotations

from itertools import chain

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.sections.hv_safety import hv_safety
from halfshaft.study import Study
from support import changed


def pages_of(study: Study) -> Pages:
    made = Pages()
    hv_safety(study, made)
    return made


@pytest.fixture(scope="module")
def pages(tern_study) -> Pages:
    return pages_of(tern_study)


def words(section) -> str:
    """Every word of a section, cell by cell."""
    found: list[str] = []
    for block in section["blocks"]:
        found += [block.get("text", ""), *chain.from_iterable(block["rows"] if block["kind"] == "facts" else ())]
        if block["kind"] == "table":
            found += [cell if isinstance(cell, str) else cell["bold"] for row in block["rows"] for cell in row]
    return " | ".join(found).replace("\u00a0", " ")


def test_sections_and_their_cautions(pages):
    told = [(s["title"], s["hv"], [b["word"] for b in s["blocks"] if b["kind"] == "caution"]) for s in pages.sections]
    assert told == [
        ("High-voltage safety", True, ["WARNING"]),
        ("High-voltage safety: insulation", True, ["NOTICE", "WARNING"]),
        ("High-voltage safety: what each output does", True, ["NOTICE"]),
    ]


def test_every_plug_bond_unit_and_output_is_there(pages, tern, tern_study):
    first, insulation, outputs = (words(section) for section in pages.sections)
    found = tern_study.hv_safety
    assert all(plug.plug in first for plug in found.distances.plugs)
    assert all(bond.ref in first for bond in tern.bonds)
    assert all(step.ref in first for step in found.interlock.steps if step.kind == "wire")
    assert all(row.ref in insulation for row in tern.hv_insulation)
    assert all(f"| {output.ref} | {output.driven_by} |" in outputs for output in tern.output_states)


def test_figures_of_the_demo(pages):
    """Worked by hand: 1/(3/80 + 1/200 + 1/60 + 1/50 + 1/25 + 2/30 + 1/20) = 4.24 MΩ; 500 × 436.8 = 218.4 kΩ; half the pack's volts
    over 4.24 MΩ with 10 MΩ beside it: 436.8 × 2.977 / 7.217 = 180 V; 66 nF at 436.8 V: 6.3 mJ; 20 nF at 230 V, 50 Hz: 1.45 mA."""
    assert all(figure in words(pages.sections[1]) for figure in ("4.24", "218.4 kΩ", "180 V", "66 nF, 6.3 mJ", "1.45 mA", "0.218"))
    # 0.25 m of 16 mm² have 0.27 mΩ; two joints 10.
    assert "B3 (BD8), MOT (BD1) | 0.27 | 10.3 | 20" in words(pages.sections[0])


def test_what_is_not_known_is_said(tern):
    """Blank columns and no case: nothing is made up, and the page says so."""
    settings = tern.high_voltage.model_copy(update={"isolation_case": "", "isolation_edition": ""})
    devices = tuple(item.model_copy(update={"hv_sign": ""}) for item in tern.devices)
    cables = tuple(item.model_copy(update={"screen_earthed": ""}) for item in tern.cables)
    rows = tuple(item.model_copy(update={"charging": ""}) for item in tern.output_states)
    made = pages_of(Study(changed(tern, high_voltage=settings, devices=devices, cables=cables, output_states=rows)))
    first, insulation, outputs = (words(section) for section in made.sections)
    assert "100 Ω/V, as nobody has said which case it is" in insulation
    assert "not said: B1" in first
    assert "not said where earthed: C1" in first
    assert "| ? |" in outputs


def test_a_broken_loop_is_said(tern):
    settings = tern.high_voltage.model_copy(update={"interlock_to": "DD.A.10"})
    assert "Broken: from VCU.A.18" in words(pages_of(Study(changed(tern, high_voltage=settings))).sections[0])


def test_silent_where_nothing_is_described(tern):
    bare = changed(tern, high_voltage=type(tern.high_voltage)(), hv_insulation=(), bonds=(), output_states=())
    assert [section["title"] for section in pages_of(Study(bare)).sections] == ["High-voltage safety"]
    assert pages_of(Study(changed(tern, boxes=()))).sections == []
