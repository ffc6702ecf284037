"""The wiring diagrams as they are written: what they join is the netlist, and everything on them can be read."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import STRtree
from shapely.geometry import LineString, Polygon, box

from diagram_reader import Read, Words, read, wires_of
from halfshaft.drawings.diagrams.document import diagrams_of
from halfshaft.drawings.frame import PAPERS
from halfshaft.drawings.shapes import text_width_mm
from halfshaft.model.conversion import Conversion
from halfshaft.pens.dxf import dxf
from halfshaft.study import Study
from support import changed

WIRE_MM = 1.2


def netlist(conversion: Conversion, system: str | None) -> dict[str, frozenset[str]]:
    """By a wire's text, what it joins, from the tables themselves."""
    found = {f"{w.ref} {w.colour} {w.section_mm2:g}": frozenset((w.from_pin, w.to_pin)) for w in conversion.wires if w.system == system}
    for cable in conversion.cables:
        if cable.system != system:
            continue
        kind = conversion.cable_type[cable.cable_type]
        for core in (core for core in conversion.cable_cores if core.cable == cable.ref):
            number = f".{core.core}" if kind.cores > 1 else ""
            found[f"HV {cable.ref}{number} OG {kind.section_mm2:g}"] = frozenset((core.from_pin, core.to_pin))
    return found


@pytest.fixture(scope="module")
def sheets(tern_book: Path, tern: Conversion) -> dict[str, Read]:
    return {system.ref: read((tern_book / "diagrams" / f"TERN-WD-{system.ref}.dxf").read_bytes()) for system in tern.systems}


def test_what_the_written_sheets_join_is_the_netlist(sheets, tern):
    wires = 0
    for ref, sheet in sheets.items():
        assert {name: frozenset(ends) for name, ends in wires_of(sheet).items()} == netlist(tern, ref), ref
        wires += len(sheet.wires)
    assert wires == len(tern.wires) + len(tern.cable_cores)


def words_box(words: Words) -> Polygon:
    """The room that words take: from the base line to a capital's height, as wide as the font makes them."""
    width = text_width_mm(words.words, words.height_mm)
    x, y = words.at
    if math.isclose(words.angle_deg, 90.0):
        return box(x - words.height_mm, y, x, y + width)
    assert words.angle_deg == 0.0
    return box(x, y, x + width, y + words.height_mm)


@pytest.mark.parametrize("layer", ["PIN_REF", "WIRE_REF", "PART_REF"])
def test_no_words_of_the_circuit_stand_on_a_wire(sheets, layer):
    looked = 0
    for ref, sheet in sheets.items():
        wires = [LineString(points).buffer(WIRE_MM / 2, cap_style="flat") for points in sheet.wires]
        tree = STRtree(wires)
        for words in sheet.layer(layer):
            met = [wires[index] for index in tree.query(words_box(words), predicate="intersects")]
            assert not met, f"{ref}: {words.words} at {words.at} stands on a wire"
            looked += 1
    assert looked > 50


def test_no_two_words_of_the_circuit_stand_on_each_other(sheets):
    for ref, sheet in sheets.items():
        found = [(w, words_box(w)) for layer in ("PIN_REF", "WIRE_REF", "PART_REF") for w in sheet.layer(layer)]
        for (one, one_box), (other, other_box) in itertools.combinations(found, 2):
            assert not one_box.intersects(other_box), f"{ref}: {one.words} and {other.words} stand on each other"


def test_wires_are_level_or_upright_and_never_lie_on_each_other(sheets):
    for ref, sheet in sheets.items():
        check_lines(ref, sheet)


def check_lines(ref: str, sheet: Read) -> None:
    pieces = [(index, LineString(pair)) for index, points in enumerate(sheet.wires) for pair in itertools.pairwise(points)]
    for _, piece in pieces:
        (x1, y1), (x2, y2) = piece.coords
        assert x1 == x2 or y1 == y2, f"{ref}: a wire runs aslant"
    tree = STRtree([piece for _, piece in pieces])
    for index, piece in pieces:
        for other in tree.query(piece, predicate="intersects"):
            if pieces[other][0] != index:
                shared = piece.intersection(pieces[other][1])
                assert shared.length < 1e-9, f"{ref}: two wires lie on each other at {shared}"


def test_everything_lies_inside_the_frame_and_clear_of_the_title_block(sheets, tern_study):
    papers = {sheet.ref: sheet.paper for sheet in diagrams_of(tern_study.conversion, tern_study.wires).sheets}
    for ref, sheet in sheets.items():
        left, bottom, right, top = papers[ref].inside
        block = box(right - 180.0, bottom, right, bottom + 36.0)
        for shape in [LineString(points) for points in sheet.wires] + [Polygon(points) for points in sheet.outlines]:
            assert box(left, bottom, right, top).contains(shape), ref
            assert not block.intersects(shape), ref
        for words in sheet.words:
            if words.layer != "FRAME":
                assert box(left, bottom, right, top).contains(words_box(words)), f"{ref}: {words.words}"


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_any_choice_of_wires_gives_a_sheet_that_reads_back(tern_study: Study, data):
    """A sheet of wires picked at random: the drawing joins what the tables join, and no two wires lie on each other."""
    tern = tern_study.conversion
    picked = data.draw(st.sets(st.sampled_from([wire.ref for wire in tern.wires]), min_size=1, max_size=14))
    wires = tuple(w.model_copy(update={"system": None}) for w in tern.wires if w.ref in picked)
    conversion = changed(tern, wires=wires, systems=(), cables=(), cable_cores=())
    found = diagrams_of(conversion, Study(conversion).wires)
    (drawing,) = (drawing for number, drawing in found.drawings.items() if number.endswith("-ETC"))
    sheet = read(dxf(drawing))
    assert {name: frozenset(ends) for name, ends in wires_of(sheet).items()} == netlist(conversion, None)
    check_lines("ETC", sheet)


def test_zones_are_counted_from_the_middle_outwards():
    """ISO 5457: fields of 50 mm from the centre lines; A3 has 8 along its long side and 6 along its short one."""
    paper = PAPERS[0]
    assert paper.zone_of(paper.width_mm / 2 - 0.1, paper.height_mm / 2 + 0.1) == "C4"
    assert paper.zone_of(paper.width_mm / 2 + 0.1, paper.height_mm / 2 - 0.1) == "D5"
    assert paper.zone_of(21.0, paper.height_mm - 11.0) == "A1"
    assert paper.zone_of(paper.width_mm - 11.0, 11.0) == "F8"


def test_a_conversion_without_wires_has_no_diagrams(tern):
    bare = changed(tern, wires=(), cables=(), cable_cores=(), splices=(), systems=())
    found = diagrams_of(bare, Study(bare).wires)
    assert not found.sheets
    assert not [number for number in found.drawings if "IDX" in number]
