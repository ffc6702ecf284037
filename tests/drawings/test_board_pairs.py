"""Pairs on a board: which wires are twisted together stands beside the connector, once a pair."""

from __future__ import annotations

import pytest

from halfshaft.drawings.board import board_drawing
from halfshaft.drawings.board_notes import rows_of
from halfshaft.drawings.shapes import Line, Text


@pytest.mark.parametrize(("loom", "connector", "pairs"), [("FR", "VCU.A", {"W116": "TC1", "W117": "TC1"}), ("SF", "B1.A", {"W501": "TS1", "W502": "TS1", "W503": "TS2", "W504": "TS2"})])  # fmt: skip
def test_each_wire_of_a_pair_says_so(tern_study, loom, connector, pairs):
    rows = rows_of(tern_study.conversion, tern_study.routing.loom(loom), connector, tern_study.wires)
    assert {row.wire: row.pair for row in rows if row.pair} == pairs
    assert all(row.screened == (loom == "SF") for row in rows if row.pair)


def test_the_board_names_each_pair_at_both_ends_and_draws_its_wave(tern_study):
    board = tern_study.boards["SF"]
    drawing = board_drawing(tern_study.conversion, tern_study.routing.loom("SF"), board, tern_study.wires, "N", 0)
    names = [shape.words for shape in drawing.shapes if isinstance(shape, Text) and shape.words in ("TS1", "TS2")]
    # TS1 from the monitor to box B1, TS2 from there to box B2: each pair is named at both its ends.
    assert sorted(names) == ["TS1", "TS1", "TS2", "TS2"]
    marks = [shape for shape in drawing.shapes if isinstance(shape, Line) and shape.style.layer == "TWIST"]
    assert {shape.style.width_mm for shape in marks} == {0.35, 0.25}
