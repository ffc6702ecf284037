"""A fuse that is too small names the rating that would carry its loads, and the wires that are too thin for it."""

from functools import cache
from pathlib import Path

from halfshaft.files.folder import read_folder
from halfshaft.study import Study
from support import changed


@cache
def _text(current_a: float) -> str:
    demo = read_folder(Path(__file__).parents[2] / "examples" / "tern")
    rows = [item.model_copy(update={"steady_a": current_a}) if item.load == "FAN.motor" else item for item in demo.case_loads]
    findings = Study(changed(demo, case_loads=tuple(rows))).findings
    return next(item.text for item in findings if item.rule == "wires.fuse-too-small")


def test_the_next_rating_that_carries_it_is_named() -> None:
    """18 A at a share of 0.8 wants 22.5 A: the next rating is 25 A."""
    assert " of 25 A would carry it" in _text(18.0)
