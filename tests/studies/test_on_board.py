"""Where a wire lies on its board: as long there as it is in the car, in one line from end to end, past pegs in their order."""

from __future__ import annotations

import itertools
import math

import pytest

from halfshaft.studies.looms.on_board import Span, lines_of
from halfshaft.studies.looms.run_out import PEG_CLEAR_MM
from halfshaft.study import Study

LOOMS = ["BX", "FR", "RR", "SF", "SR"]


def ends(span: Span) -> tuple[tuple[float, float], tuple[float, float]]:
    return span.path.at(span.from_mm)[0], span.path.at(span.to_mm)[0]


@pytest.mark.parametrize("loom", LOOMS)
def test_a_wire_is_as_long_on_the_board_as_its_way_and_tails_are_in_the_car(tern_study: Study, loom: str) -> None:
    laid = tern_study.routing.loom(loom)
    spans = lines_of(laid, tern_study.boards[loom])
    for wire in laid.wires:
        assert wire.route is not None
        wanted = wire.route.length_mm + sum(end.tail_mm for end in (wire.start, wire.end) if not end.is_splice)
        assert math.fsum(span.line.length_mm for span in spans[wire.wire.ref]) == pytest.approx(wanted, abs=0.5), wire.wire.ref


@pytest.mark.parametrize("loom", LOOMS)
def test_each_piece_begins_where_the_one_before_ends(tern_study: Study, loom: str) -> None:
    laid, board = tern_study.routing.loom(loom), tern_study.boards[loom]
    holders = {holder.connector: holder for holder in board.holders}
    spans = lines_of(laid, board)
    for wire in laid.wires:
        pieces = spans[wire.wire.ref]
        for one, other in itertools.pairwise(pieces):
            assert math.dist(ends(one)[1], ends(other)[0]) == pytest.approx(0.0, abs=0.5), wire.wire.ref
        for end, place in ((wire.start, ends(pieces[0])[0]), (wire.end, ends(pieces[-1])[1])):
            if end.connector:
                assert math.dist(holders[end.connector].at, place) == pytest.approx(0.0, abs=0.5), wire.wire.ref


def test_pegs_are_told_in_the_order_in_which_the_wire_passes_them(tern_study: Study) -> None:
    """W201 passes two splices that part its run: the pegs beside the piece between them are told too."""
    peg_mm = tern_study.conversion.shop.peg_diameter_mm
    for loom in ("BX", "FR"):
        board = tern_study.boards[loom]
        places = {peg.number: peg.at for peg in board.pegs}
        spans = lines_of(tern_study.routing.loom(loom), board)
        for line in tern_study.run_out[loom]:
            passed = 0.0
            at = []
            for span in spans[line.wire]:
                low, high = sorted((span.from_mm, span.to_mm))
                for number in line.pegs:
                    along, away = span.path.nearest(places[number])
                    if low <= along <= high and away <= span.section.over_mm / 2 + PEG_CLEAR_MM + peg_mm / 2:
                        at.append((passed + abs(along - span.from_mm), number))
                passed += high - low
            first = {number: min(place for place, other in at if other == number) for number in line.pegs}
            assert set(first) == set(line.pegs)
            assert list(line.pegs) == sorted(line.pegs, key=lambda number: first[number]), line.wire
