"""Conversions with next to nothing in them: they are checked, listed and set like any other."""

from __future__ import annotations

import pytest

from halfshaft.book.lists import lists_of
from halfshaft.book.pages import cover, pages_of
from halfshaft.drawings.diagrams.document import diagrams_of
from halfshaft.drawings.shapes import Drawing
from halfshaft.study import Study
from support import changed

NOTHING = {
    "wires": (), "looms": (), "splices": (), "cables": (), "cable_cores": (), "hoses": (), "twist_groups": (), "loads": (), "case_loads": (),
}  # fmt: skip


@pytest.mark.parametrize(
    "fields",
    [{"wires": ()}, NOTHING, {**NOTHING, "runs": (), "points": (), "tails": (), "grommets": (), "nearby": (), "ground_points": ()}],
)
def test_a_conversion_without_wires_has_findings_lists_and_a_book(tern, fields):
    study = Study(changed(tern, **fields))
    assert study.boards == {}
    assert study.spare == ()
    assert all(item.text for item in study.findings)
    assert {listing.name for listing in lists_of(study)} >= {"from-to", "runs", "spare"}
    assert study.sensing is not None
    boards = {ref: Drawing(400.0, 300.0, ()) for ref in study.sensing.boards}
    titles = [section["title"] for section in pages_of(study, boards, diagrams_of(study.conversion, study.wires)).sections]
    assert "If a run is longer than measured" not in titles
    assert cover(study)


def test_a_loom_without_wires_does_not_trouble_the_others(tern, tern_study):
    study = Study(changed(tern, wires=tuple(wire for wire in tern.wires if wire.loom != "SF")))
    assert study.routing.loom("SF").wires == ()
    assert [item for item in study.spare if item.loom != "SF"] == [item for item in tern_study.spare if item.loom != "SF"]
    assert not [item for item in study.design_findings if "SF" in item.about]


def test_splices_without_a_run_to_lie_on_have_no_place_and_their_wires_no_way(tern):
    splices = tuple(item.model_copy(update={"run": None, "from_point": None, "at_mm": None}) for item in tern.splices)
    runs = tuple(run.model_copy(update={"may_carry": ("hose",)}) for run in tern.runs)
    study = Study(changed(tern, splices=splices, runs=runs))
    assert study.splice_places == {}
    assert "W131" in {ref for item in study.design_findings if item.rule == "looms.no-path" for ref in item.about}


def test_a_branch_of_nine_metres_is_cut_and_wants_its_clips(tern):
    """U31 to the foot of the old gear lever: 9,000 mm want 29 clips between its points."""
    runs = tuple(run.model_copy(update={"length_taped_mm": 9000.0}) if run.ref == "U31" else run for run in tern.runs)
    study = Study(changed(tern, runs=runs))
    assert study.routing.wires["W107"].length.cut_mm > 9000
    (finding,) = [item for item in study.design_findings if item.rule == "looms.clip-pitch" and item.level == "fix"]
    assert finding.about == ("U31",)
    assert "put 29 clips" in finding.text


def test_a_run_shorter_than_its_bend_allows_is_said_of_every_cable_on_it(tern):
    """The first tunnel run 11 mm long: C1 and C3 of 75 mm least radius turn into it and out of it again."""
    points = tuple(
        item.model_copy(update={"x_mm": 345.0, "y_mm": 2.0, "z_mm": 308.0}) if item.ref == "R64" else item for item in tern.points
    )
    runs = tuple(run.model_copy(update={"length_taped_mm": None}) if run.ref == "U63" else run for run in tern.runs)
    tight = [item for item in Study(changed(tern, points=points, runs=runs)).design_findings if item.rule == "looms.tight-bend"]
    assert {(item.about[0], item.about[1]) for item in tight} == {("C1", "R63"), ("C1", "R64"), ("C3", "R63"), ("C3", "R64")}
    assert all(item.value < item.limit == 75.0 for item in tight)
