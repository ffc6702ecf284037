"""Tubes, heat-shrink and grommets chosen by hand from a small catalogue, and by the program."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook

from halfshaft.book.frame import Pages
from halfshaft.book.sections.bundles import bundles
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.study import Study
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


@pytest.fixture(scope="module")
def demo() -> Conversion:
    return read_folder(DEMO)


def with_coverings(conversion: Conversion, **by_ref: dict[str, object]) -> Study:
    rows = tuple(item.model_copy(update=by_ref.get(item.ref, {})) for item in conversion.coverings)
    return Study(changed(conversion, coverings=rows))


def smallest(study: Study, run: str) -> str | None:
    found = next(item for item in study.coverings.runs if item.run.ref == run).smallest
    return None if found is None else found.ref


def test_the_smallest_tube_stays_within_its_fill(demo):
    """U15: two wires of 1 mm2 make 4.2 mm, 38 % of a bore of 6.8. U53: the ground cable of 11.6 mm fills 16.6 to 49 %, and 12.6 to 85 %."""
    study = Study(demo)
    assert smallest(study, "U15") == "T07"
    assert smallest(study, "U53") == "T17"


def test_a_tube_that_is_too_full_or_too_cool_is_passed_over(demo):
    """At 35 % allowed U15 (38 %) wants the next one; the front boot has 45 C."""
    assert smallest(with_coverings(demo, T07={"fill_max_percent": 35.0}), "U15") == "T10"
    assert smallest(with_coverings(demo, T07={"temperature_max_c": 44.0}), "U15") == "T10"
    assert smallest(with_coverings(demo, T07={"temperature_max_c": 45.0}), "U15") == "T07"


def test_a_tube_without_a_fill_of_its_own_is_held_to_that_of_corrugated_tube(demo):
    """70 %, published; U41: five wires, 5.1 mm, 57 % of 6.8 mm."""
    assert smallest(with_coverings(demo, T07={"fill_max_percent": None}), "U41") == "T07"
    assert smallest(with_coverings(demo, T07={"fill_max_percent": None, "bore_mm": 6.1}), "U41") == "T10"


def test_where_nothing_would_do_it_says_so(demo):
    """U52: two battery cables of 11.6 mm side by side, 81 % of the largest tube."""
    assert smallest(Study(demo), "U52") is None


def test_a_run_without_a_zone_is_as_hot_as_the_hotter_of_its_points(demo):
    """U35 goes from the bulkhead to the motor bay, both counted to the motor bay (70 C)."""
    runs = tuple(run.model_copy(update={"zone": None}) if run.ref == "U35" else run for run in demo.runs)
    (covered,) = [item for item in Study(changed(demo, runs=runs)).coverings.runs if item.run.ref == "U35"]
    assert covered.ambient_c == 70


def test_everything_in_a_run_counts_whatever_its_loom(demo):
    study = Study(demo)
    (covered,) = [item for item in study.coverings.runs if item.run.ref == "U36"]
    assert covered.looms == ("RR", "PW", "SR")
    assert len(covered.passing) == sum(len(run.wires) for loom in study.routing.looms for run in loom.runs if run.run == "U36")
    assert covered.bundle_mm > max(run.bundle_mm for loom in study.routing.looms for run in loom.runs if run.run == "U36")


def test_a_splice_needs_heat_shrink_wider_than_its_thicker_side(demo):
    """S4 takes two wires of 0.5 mm2 (1.6 mm each) on one side."""
    (covered,) = [item for item in Study(demo).coverings.splices if item.splice.ref == "S4"]
    assert covered.joint_mm == pytest.approx(3.2)
    assert covered.smallest.ref == "HS9"
    for bore_mm, fits in ((3.2, False), (3.3, True)):
        (covered,) = [item for item in with_coverings(demo, HS9={"bore_mm": bore_mm}).coverings.splices if item.splice.ref == "S4"]
        assert (covered.smallest is not None) == fits


def test_the_book_shows_every_run_splice_and_grommet(demo):
    study, pages = Study(demo), Pages()
    bundles(study, pages)
    (section,) = pages.sections
    tables = [block for block in section["blocks"] if block["kind"] == "table"]
    runs = sum(len(loom.runs) for loom in study.routing.looms)
    assert [len(table["rows"]) for table in tables] == [runs, len(demo.splices), len(study.coverings.grommets)]


def test_the_list_of_runs_has_each_covering_with_its_fill(tern_book):
    """U06 holds the sense loom's pair beside six wires of the front loom: 8.9 mm in a bore of 12.6."""
    rows = [row for row in load_workbook(tern_book / "lists" / "runs.xlsx").active.iter_rows(values_only=True) if row[:2] == ("SF", "U06")]
    ((*_, covering, all_mm, fill_percent, would_do),) = rows
    assert (covering, would_do) == ("T13", "T13")
    assert all_mm == pytest.approx(8.9, abs=0.05)
    assert fill_percent == pytest.approx(50, abs=0.5)
