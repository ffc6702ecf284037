"""Looms that no sheet was meant for: each is laid right, or said to be impossible, and never drawn wrong."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from boards import all_faults
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import BoardWay
from halfshaft.studies.looms.board import Board, lay_board
from halfshaft.studies.looms.board_rules import board_findings
from halfshaft.study import Study
from support import changed

TERN = Path(__file__).parents[2] / "examples" / "tern"
SHEET = (2440.0, 1220.0)


@cache
def demo() -> Conversion:
    return read_folder(TERN)


def laid(conversion: Conversion, loom: str) -> tuple[Study, Board]:
    study = Study(conversion)
    board = lay_board(conversion, study.routing.loom(loom), study.splice_places)
    assert board is not None
    return study, board


def rules_of(board: Board) -> set[str]:
    return {finding.rule for finding in board_findings({board.loom: board})}


def with_run(run: str, length_mm: float) -> Conversion:
    return changed(
        demo(), runs=tuple(row.model_copy(update={"length_taped_mm": length_mm}) if row.ref == run else row for row in demo().runs)
    )


def with_tail(device: str, length_mm: float) -> Conversion:
    return changed(
        demo(), tails=tuple(row.model_copy(update={"tail_mm": length_mm}) if row.device == device else row for row in demo().tails)
    )


def with_plugs(part: str, **size: float) -> Conversion:
    rows = demo().parts
    plugs = tuple(plug.model_copy(update=size) for plug in demo().part[part].connectors)
    return changed(demo(), parts=tuple(row.model_copy(update={"connectors": plugs}) if row.ref == part else row for row in rows))


def wires_of(loom: str, count: int) -> Conversion:
    """Only the first few wires of a loom, and its splices gone."""
    mine = [wire.ref for wire in demo().wires if wire.loom == loom][:count]
    return changed(demo(), wires=tuple(wire for wire in demo().wires if wire.loom != loom or wire.ref in mine))


def test_a_connector_bigger_than_the_sheet_says_which_sheet_would_do():
    study, board = laid(with_plugs("AT-BMM", plug_length_mm=200.0, plug_width_mm=3000.0), "SF")
    assert all_faults(study, board) == []
    assert board.size_mm[0] > SHEET[0] or board.size_mm[1] > SHEET[1]
    (finding,) = board_findings({"SF": board})
    assert finding.rule == "looms.board-too-small"
    assert "Larger than that sheet's room by itself: BMM.C." in finding.text
    assert "sheets of 2440 x 1220 joined" in finding.text


def test_a_connector_bigger_than_all_sheets_stops_the_work():
    _, board = laid(with_plugs("AT-BMM", plug_length_mm=30_000.0, plug_width_mm=30_000.0), "SF")
    (finding,) = board_findings({"SF": board})
    assert (finding.rule, finding.level) == ("looms.board-not-laid", "stop")


@pytest.mark.parametrize(("loom", "run"), [("SF", "U03"), ("FR", "U27"), ("FR", "U29")])
def test_a_run_of_nine_metres_is_folded_on_the_sheet(loom, run):
    """In the trunk, in a branch, and at the end of one."""
    study, board = laid(with_run(run, 9000.0), loom)
    assert all_faults(study, board) == []
    assert board.size_mm == SHEET
    folded = next(item for item in board.stretches if any(section.ref == run for section in item.sections))
    assert len(folded.path.bends) >= 3


def test_a_tail_of_nine_metres_is_laid_true():
    study, board = laid(with_tail("B1", 9000.0), "SF")
    assert all_faults(study, board) == []


@pytest.mark.parametrize("length_mm", [6000.0, 9000.0])
def test_one_long_run_with_a_connector_at_each_end_is_folded_on_the_sheet(length_mm):
    one = wires_of("SF", 1)
    study = Study(one)
    rest_mm = sum(run.length_mm for run in study.routing.loom("SF").runs if run.run != "U03")
    study, board = laid(changed(one, runs=with_run("U03", length_mm - rest_mm).runs), "SF")
    assert all_faults(study, board) == []
    assert board.size_mm == SHEET
    (stretch,) = board.stretches
    assert len(stretch.path.bends) >= 2
    assert len(board.holders) == 2


def test_a_run_shorter_than_its_bend_allows_is_laid_straight():
    """U23 of 45 mm between two breakouts, in a bundle whose bend would take more."""
    study, board = laid(with_run("U23", 45.0), "FR")
    assert all_faults(study, board) == []
    short = next(item for item in board.stretches if any(section.ref == "U23" for section in item.sections))
    assert short.path.bends == ()
    assert rules_of(board) == set()


def test_a_bend_by_hand_that_is_longer_than_its_run_is_let_go():
    rows = (BoardWay(loom="SF", from_node="R16", to_node="B1.A", set_by="hand", heading_deg=90, before_mm=50, turn_deg=180, radius_mm=60),)
    study, board = laid(changed(demo(), board_ways=rows), "SF")
    assert all_faults(study, board) == []
    assert rules_of(board) == {"looms.hand-cannot-be-kept"}


def test_no_wires_give_no_board():
    study = Study(wires_of("SF", 0))
    assert lay_board(study.conversion, study.routing.loom("SF"), study.splice_places) is None
    assert "SF" not in study.boards


def test_a_loom_that_is_no_tree_gives_no_board_and_says_why():
    """A second run between two points of the trunk, and a wire sent over it."""
    loop = demo().run["U03"].model_copy(update={"ref": "U98", "from_point": "R03", "to_point": "R06", "length_taped_mm": 400.0})
    first = next(wire for wire in demo().wires if wire.loom == "FR" and wire.to_pin.startswith("FAN."))
    sent = first.model_copy(update={"ref": "W998", "via": ("R04",)})
    study = Study(changed(demo(), runs=(*demo().runs, loop), wires=(*demo().wires, sent)))
    assert lay_board(study.conversion, study.routing.loom("FR"), study.splice_places) is None
    assert any(finding.rule == "looms.loop" and "FR" in finding.about for finding in study.design_findings)


# --- turned by hand ----------------------------------------------------------------------------------------------------


def heading_from(board: Board, from_node: str, to_node: str) -> float:
    """With which heading a stretch leaves one of its ends."""
    for item in board.stretches:
        if (item.start, item.end) == (from_node, to_node):
            return item.path.first_heading_deg % 360.0
        if (item.end, item.start) == (from_node, to_node):
            return (item.path.last_heading_deg + 180.0) % 360.0
    raise AssertionError(f"no stretch from {from_node} to {to_node}")


@pytest.mark.parametrize(
    ("from_node", "to_node", "far", "heading_deg"),
    [
        ("R13", "FAN.A", "FAN.A", 275.0),
        ("FAN.A", "R13", "R13", 45.0),
        ("R06", "R20", "R20", 200.0),
        ("R06", "R19", "R20", 200.0),
        ("VP.A", "R15", "R15", 30.0),
    ],
)
def test_what_is_turned_by_hand_is_obeyed(from_node, to_node, far, heading_deg):
    """From a breakout and from a connector, named by its far end or by the first point on the way, in a branch and in the trunk."""
    rows = (BoardWay(loom="FR", from_node=from_node, to_node=to_node, set_by="hand", heading_deg=heading_deg),)
    study, board = laid(changed(demo(), board_ways=rows), "FR")
    assert all_faults(study, board) == []
    assert board.let_go == ()
    assert heading_from(board, from_node, far) == pytest.approx(heading_deg, abs=1e-6)


def test_a_bend_by_hand_is_obeyed_from_either_end():
    for from_node, to_node in (("R06", "R20"), ("R20", "R06")):
        rows = (
            BoardWay(
                loom="FR", from_node=from_node, to_node=to_node, set_by="hand", heading_deg=90, before_mm=60, turn_deg=-90, radius_mm=100
            ),
        )
        study, board = laid(changed(demo(), board_ways=rows), "FR")
        assert all_faults(study, board) == []
        stretch = next(item for item in board.stretches if {item.start, item.end} == {"R06", "R20"})
        path = stretch.path if stretch.start == from_node else stretch.path.backwards()
        assert path.first_heading_deg % 360.0 == pytest.approx(90.0)
        assert path.bends == (pytest.approx((60.0, -90.0, 100.0)),)


def test_of_two_that_cannot_both_be_obeyed_one_is_let_go_and_named():
    rows = tuple(BoardWay(loom="FR", from_node="R13", to_node=to, set_by="hand", heading_deg=0) for to in ("FAN.A", "R12"))
    study, board = laid(changed(demo(), board_ways=rows), "FR")
    assert all_faults(study, board) == []
    assert len(board.let_go) == 1
    assert rules_of(board) == {"looms.hand-cannot-be-kept"}


def test_a_branch_turned_on_a_drilled_board_leaves_the_rest_drilled():
    kept = Study(demo()).with_board_kept("FR")
    heading_deg = (heading_from(Study(demo()).boards["FR"], "R13", "FAN.A") + 20.0) % 360.0
    rows = tuple(
        row.model_copy(update={"set_by": "hand", "heading_deg": heading_deg}) if (row.from_node, row.to_node) == ("R13", "FAN.A") else row
        for row in kept.board_ways
    )
    study, board = laid(changed(kept, board_ways=rows), "FR")
    assert all_faults(study, board) == []
    assert heading_from(board, "R13", "FAN.A") == pytest.approx(heading_deg)
    assert board.moves is not None
    assert len(board.moves.kept) >= len(Study(demo()).boards["FR"].pegs) - 3


def test_what_is_turned_by_hand_stays_so_when_the_board_is_kept():
    rows = (BoardWay(loom="FR", from_node="R13", to_node="FAN.A", set_by="hand", heading_deg=275.0),)
    kept = Study(changed(demo(), board_ways=rows)).with_board_kept("FR")
    (row,) = [row for row in kept.board_ways if row.set_by == "hand"]
    assert (row.from_node, row.to_node, row.heading_deg) == ("R13", "FAN.A", 275.0)
    assert row.x_mm is not None
