"""A board that is drilled survives a small change: what need not move keeps its place, and every peg its number.

The demo's boards are kept as they are laid; then one run is made longer or shorter, a connector is taken away, or one is added.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest
from shapely import LineString, Point

from boards import Line, all_faults
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Tail
from halfshaft.model.parts import Part
from halfshaft.studies.looms.board import Board, lay_board
from halfshaft.study import Study
from support import changed

TERN = Path(__file__).parents[2] / "examples" / "tern"
SAME_MM = 0.01
BOARDS = ("BX", "FR", "RR", "SF", "SR")


@cache
def drilled() -> Conversion:
    """The demo with all of its boards kept."""
    conversion = read_folder(TERN)
    for loom in BOARDS:
        conversion = Study(conversion).with_board_kept(loom)
    return conversion


@cache
def before(loom: str) -> Board:
    return Study(read_folder(TERN)).boards[loom]


def board_of(conversion: Conversion, loom: str) -> tuple[Study, Board]:
    study = Study(conversion)
    board = lay_board(conversion, study.routing.loom(loom), study.splice_places)
    assert board is not None
    return study, board


def longer(conversion: Conversion, run: str, by_mm: float) -> Conversion:
    length_mm = Study(conversion).network.lengths[run].length_mm + by_mm
    return changed(
        conversion, runs=tuple(row.model_copy(update={"length_taped_mm": length_mm}) if row.ref == run else row for row in conversion.runs)
    )


def without(conversion: Conversion, loom: str, connector: str) -> Conversion:
    """All wires of a loom that end at a connector taken away."""
    ends = f"{connector}."
    return changed(
        conversion,
        wires=tuple(
            wire for wire in conversion.wires if wire.loom != loom or not (wire.from_pin.startswith(ends) or wire.to_pin.startswith(ends))
        ),
    )


def with_one_more(conversion: Conversion, loom: str, like: str, point: str) -> Conversion:
    """A device like another one, hung from a point of the loom and joined to the other's first pin."""
    device = conversion.device[like]
    connector = conversion.part[device.part].connectors[0]
    wire = next(wire for wire in conversion.wires if wire.loom == loom and wire.to_pin.startswith(f"{like}."))
    pin = connector.cavities[0].ref
    return changed(
        conversion,
        devices=(*conversion.devices, device.model_copy(update={"ref": "NEW"})),
        tails=(*conversion.tails, Tail(device="NEW", connector=connector.ref, point=point, tail_mm=130.0)),
        wires=(*conversion.wires, wire.model_copy(update={"ref": "W999", "to_pin": f"NEW.{connector.ref}.{pin}", "twist_group": None, "screen": ""})),
    )  # fmt: skip


def lines_of(board: Board) -> dict[frozenset[str], tuple[LineString, float]]:
    return {frozenset((item.start, item.end)): (Line((item.start, item.end), item.path).shape, item.bundle_mm) for item in board.stretches}


def pegs_that_must_stay(old: Board, new: Board) -> dict[int, tuple[float, float]]:
    """Pegs of the old board beside which nothing has moved, come or gone, as far as a peg's neighbours reach."""
    ours, theirs = lines_of(old), lines_of(new)
    still = {ends for ends, (line, _) in ours.items() if ends in theirs and line.hausdorff_distance(theirs[ends][0]) < SAME_MM}
    moving = [line for ends, (line, _) in [*ours.items(), *theirs.items()] if ends not in still]
    return {peg.number: peg.at for peg in old.pegs if all(line.distance(Point(peg.at)) > 60.0 for line in moving)}


def held_to_the_law(conversion: Conversion, loom: str) -> float:
    """Checks a changed board against the one that was drilled, and gives back the share of its pegs that stay."""
    study, board = board_of(conversion, loom)
    old = before(loom)
    assert all_faults(study, board) == []
    assert board.moves is not None
    assert not board.moves.anew
    places = {peg.number: peg.at for peg in board.pegs}
    for number, place in pegs_that_must_stay(old, board).items():
        assert number in places, f"peg {number} is gone"
        assert math.dist(places[number], place) <= SAME_MM, f"peg {number} has moved"
    holes = {peg.number: peg.at for peg in old.pegs}
    for number, place in places.items():
        if number in holes:
            assert math.dist(place, holes[number]) <= SAME_MM, f"peg {number} stands in another place under its old number"
    kept = sum(number in places for number in holes)
    assert (len(board.moves.kept), len(board.moves.empty)) == (kept, len(holes) - kept)
    assert all(number > max(holes) for number in board.moves.new)
    return kept / len(holes)


@pytest.mark.parametrize("loom", BOARDS)
def test_a_board_that_did_not_change_is_the_board_that_was_drilled(loom):
    study, board = board_of(drilled(), loom)
    old = before(loom)
    assert all_faults(study, board) == []
    assert [peg.number for peg in board.pegs] == [peg.number for peg in old.pegs]
    assert all(math.dist(here.at, there.at) <= SAME_MM for here, there in zip(board.pegs, old.pegs, strict=True))
    assert board.moves is not None
    assert (board.moves.new, board.moves.empty, board.moves.gone, board.moves.anew) == ((), (), (), False)


@pytest.mark.parametrize("loom", BOARDS)
def test_keeping_a_kept_board_changes_nothing(loom):
    again = Study(drilled()).with_board_kept(loom)
    assert set(again.board_ways) == set(drilled().board_ways)
    assert set(again.board_pegs) == set(drilled().board_pegs)


@pytest.mark.parametrize(
    ("loom", "run", "by_mm"),
    [("FR", run, by) for run in ("U03", "U08", "U12", "U16", "U22", "U26") for by in (40.0, -40.0)]
    + [("RR", run, by) for run in ("U36", "U38", "U44") for by in (40.0, -40.0)],
)
def test_a_run_of_another_length_moves_only_what_hangs_beyond(loom, run, by_mm):
    assert held_to_the_law(longer(drilled(), run, by_mm), loom) > 0.6


@pytest.mark.parametrize(
    ("loom", "connector"),
    [("FR", "BS.A"), ("FR", "FAN.A"), ("FR", "VS.A"), ("FR", "HTR.A"), ("RR", "P1.A"), ("RR", "INV.A"), ("BX", "CC.A")],
)
def test_a_connector_less_leaves_the_rest_where_it_is(loom, connector):
    assert held_to_the_law(without(drilled(), loom, connector), loom) > 0.5


@pytest.mark.parametrize(
    ("loom", "like", "point"), [("FR", "FAN", "R12"), ("FR", "FAN", "R04"), ("FR", "P2", "R08"), ("FR", "FAN", "R20"), ("RR", "P1", "R40")]
)
def test_a_connector_more_is_laid_into_the_room_that_is_free(loom, like, point):
    assert held_to_the_law(with_one_more(drilled(), loom, like, point), loom) > 0.8


def test_the_numbers_of_empty_holes_are_not_given_away():
    """Kept, changed, kept and changed back: the pegs drilled in between have numbers of their own."""
    once = longer(drilled(), "U08", 40.0)
    twice = longer(Study(once).with_board_kept("FR"), "U08", -40.0)
    _, board = board_of(twice, "FR")
    holes = {peg.peg: (peg.x_mm, peg.y_mm) for peg in twice.board_pegs if peg.loom == "FR"}
    assert len(holes) > len(before("FR").pegs)
    for peg in board.pegs:
        if peg.number in holes:
            assert peg.at == holes[peg.number]


def test_a_part_is_what_the_helper_takes_it_for():
    assert isinstance(drilled().part[drilled().device["FAN"].part], Part)
