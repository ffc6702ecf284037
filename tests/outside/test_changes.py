"""A change of mind against what the demo's own tables say of it, written down apart from the program.

Origin of every number here: README of the scenario's tables, "First idea against present" and "Totals". Where it says that something of the
first idea is longer, it is cut down on the way to the present arrangement.
"""

from __future__ import annotations

import pytest

from halfshaft.studies.changes.records import Changes

FIRST_IDEA_IS_LONGER_MM = {
    "C1": 60, "C2": 60, "H4": 55, "H5": 109, "W111": 20, "W119": 20, "W155": 20, "W150": -20, "W151": 25, "W501": -10, "W502": -10, "W503": 30, "W504": 30,
}  # fmt: skip


def test_what_is_cut_again_is_what_the_tables_say_and_nothing_else(tern_changes: Changes) -> None:
    cut = {line.ref: line for line in tern_changes.of("cut") if line.kind in ("wire", "cable", "hose")}
    assert cut.keys() == FIRST_IDEA_IS_LONGER_MM.keys()
    for ref, longer_mm in FIRST_IDEA_IS_LONGER_MM.items():
        line = cut[ref]
        # Hoses are cut to whole millimetres, each length rounded up by itself.
        assert line.was - line.now == pytest.approx(longer_mm, abs=1.0 if ref == "H5" else 0.0), ref
        assert ("cut down" in line.do) == (longer_mm > 0)
        assert line.why.startswith("run U")


def test_boxes_and_plates_and_modules(tern_changes: Changes) -> None:
    """Boxes B1 and B2 are made again, B3 is not; plate PL3 goes from B1 to B2, and so do two modules."""
    assert [line.ref for line in tern_changes.of("make") if line.kind == "box"] == ["B1", "B2"]
    out = {(line.kind, line.ref): (line.was, line.now) for line in tern_changes.of("unmake") if line.quantity == "box"}
    assert out == {("module", "M05"): ("B1", "B2"), ("module", "M06"): ("B1", "B2"), ("plate", "PL3"): ("B1", "B2")}
    assert not [line for line in tern_changes.lines if "B3" in (line.ref, *line.about) and line.act != "know"]


def test_the_front_board_keeps_most_of_its_pegs(tern_changes: Changes) -> None:
    boards = {line.ref: line for line in tern_changes.of("loom") if line.kind == "board"}
    assert boards.keys() == {"FR", "SF"}
    assert "drill" in boards["FR"].do
    assert "stay" in boards["FR"].do


@pytest.mark.parametrize(
    ("figure", "was", "now", "within"),
    [
        ("CG behind the front axle", 1190, 1183, 0.5),
        ("CG to the right", -16, 0, 0.5),
        ("CG above the ground", 519, 514, 0.5),
        ("on the front axle", 43.6, 44.0, 0.06),
        ("front axle", 330.4, 332.9, 0.3),
        ("rear axle", 427.2, 424.4, 0.3),
        ("box B1 under its lid", -40, 117, 0.0),
        # The table takes off the whole width of the box, 21.0 l; 16 mm of it stand outside the luggage room, 0.9 l.
        ("luggage", 50.9 + 0.9, 71.9, 0.1),
    ],
)
def test_figures_of_the_car(tern_changes: Changes, figure: str, was: float, now: float, within: float) -> None:
    (found,) = [item for item in tern_changes.figures if item.name == figure]
    assert found.was == pytest.approx(was, abs=within)
    assert found.now == pytest.approx(now, abs=within)


def test_what_stays_as_it_is_is_not_in_the_figures(tern_changes: Changes) -> None:
    """Thirteen modules, 29.99 kWh, 379.6 V before and after."""
    assert not [item for item in tern_changes.figures if item.name.startswith(("battery", "modules", "boxes"))]
