"""A fuse that is too small names the rating that would carry its loads, and the wires that are too thin for it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.study import Study
from support import changed


@cache
def text(current_a: float) -> str:
    demo = read_folder(Path(__file__).parents[2] / "examples" / "tern")
    rows = [item.model_copy(update={"steady_a": current_a}) if item.load == "FAN.motor" else item for item in demo.case_loads]
    findings = Study(changed(demo, case_loads=tuple(rows))).design_findings
    return next(item.text for item in findings if item.rule == "wires.fuse-too-small" and item.about[0] == "FRB.F2")


# Four fifths for good: 18 A want 22.5, 22 A want 27.5, 30 A want 37.5. 25 A belong on 3 mm² and 30 A on 6 by the maker's pairs; 40 A on 8.5.
@pytest.mark.parametrize(("current_a", "rating_a", "section_mm2"), [(18.0, 25, 3), (22.0, 30, 6), (30.0, 40, 8.5)])
def test_the_next_rating_that_carries_it_and_the_wires_for_it_are_named(current_a, rating_a, section_mm2):
    assert f"a regular blade of {rating_a} A would carry it, with W124, W152, W205 of at least {section_mm2:g} mm²." in text(current_a)


def test_beyond_the_family_nothing_is_promised():
    assert "would carry it" not in text(40.0)
