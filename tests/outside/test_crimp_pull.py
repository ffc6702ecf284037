"""Crimp pull minimums, held against the shared references.

crimp_pull_forces.csv, rows `UL 486A / commercial`: printed in two terminal makers' specifications (sources in the rows).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from halfshaft.standards import crimp_pulls
from halfshaft.studies.looms.crimps import pull_min_n

TABLE = Path(__file__).parents[2].parent / "shared" / "references" / "crimp_pull_forces.csv"


def test_every_published_gauge_gives_the_printed_force():
    if not TABLE.is_file():
        pytest.skip("the shared references are not beside this repository: no crimp_pull_forces.csv")
    rows = [row for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()) if row["standard"] == "UL 486A / commercial"]
    assert [(float(row["size_mm2"]), float(row["force_min_n"])) for row in rows] == list(crimp_pulls())
    for row in rows:
        found = pull_min_n(float(row["size_mm2"]))
        assert float(row["force_min_n"]) <= found < float(row["force_min_n"]) + 1


def test_printed_pounds_and_newtons_agree():
    """The same tables print pounds: 4.448 N each, rounded to half a newton."""
    for section_mm2, pounds in ((0.518, 13), (0.823, 20), (1.31, 30), (2.08, 50), (5.26, 80), (33.6, 180)):
        assert pull_min_n(section_mm2) == pytest.approx(pounds * 4.448, abs=1.5)


def test_more_copper_never_asks_for_less():
    sections = [0.13 + 0.25 * step for step in range(260)]
    pulls = [pull_min_n(section) for section in sections]
    assert pulls == sorted(pulls)


@pytest.mark.parametrize("section_mm2", [0.05, 95.0])
def test_outside_the_table_nothing_is_said(section_mm2):
    assert pull_min_n(section_mm2) is None


def test_every_end_of_the_demo_is_counted(tern_study):
    assert sum(item.count for item in tern_study.crimps) == len(tern_study.wires.ends) == 2 * len(tern_study.conversion.wires)
