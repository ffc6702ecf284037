"""Somebody fits a stronger blower: one figure in loads.csv, and `check` says what follows."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from support import halfshaft

REPO = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the demo."""
    return Path(shutil.copytree(REPO / "examples" / "tern", tmp_path / "tern"))


def change(folder: Path, name: str, ref: str, **cells: str) -> None:
    """Some cells of the row of a table that begins with a mark."""
    text = io.StringIO((folder / name).read_text(encoding="utf-8"))
    rows = list(csv.DictReader(text))
    assert [row["ref"] for row in rows].count(ref) == 1
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows({**row, **cells} if row["ref"] == ref else row for row in rows)
    (folder / name).write_text(out.getvalue(), encoding="utf-8")


def findings(folder: Path) -> dict[str, list[dict[str, Any]]]:
    """What `show findings --json` says, by rule."""
    done = halfshaft("show", folder, "findings", "--json")
    assert done.returncode == 0, done.stderr
    found: dict[str, list[dict[str, Any]]] = {}
    for item in json.loads(done.stdout):
        found.setdefault(item["rule"], []).append(item)
    return found


def test_eighteen_amperes_in_place_of_six_and_a_half_name_fuse_wire_drop_and_cure(folder):
    """F13 of 25 A carries 4.2 + 18 + 3.6 + 3.5 A and the small ones; F18 of 40 A, ahead of it, is over four fifths as well."""
    change(folder, "loads.csv", "OL.blower", steady_a="18", peak_a="36")
    words = halfshaft("check", folder).stdout
    assert "wires.fuse-too-small" in words
    assert "FRB.F13" in words
    assert "Fuse FRB.F13 of 25 A carries 29.9 A" in words
    found = findings(folder)
    (fuse,) = [item for item in found["wires.fuse-too-small"] if item["about"][0] == "FRB.F13"]
    assert "OL.blower" in fuse["about"]
    drops = [item for item in found["wires.voltage-drop"] if "OL.blower" in item["about"]]
    assert len(drops) == 1
    assert {"W211", "W130", "W160"} <= set(drops[0]["about"])
    assert "6 mm² for W211, W130 would leave" in drops[0]["text"]


def test_eight_amperes_that_become_eighteen_name_fuse_wires_drop_and_cure(folder):
    """The vacuum pump on F3 of 15 A and 2.5 mm²: at 8 A nothing is said of it, at 18 A all four.

    18 A want 22.5 A at four fifths, so 25 A, and those belong on 3 mm². 4.2 m there and back: 0.35 V of 13.8 are 3 %.
    """
    change(folder, "loads.csv", "VP.motor", steady_a="8")
    words = halfshaft("check", folder).stdout
    assert "FRB.F3" not in words
    assert "acuum pump" not in words
    change(folder, "loads.csv", "VP.motor", steady_a="18")
    words = halfshaft("check", folder).stdout
    assert "Fuse FRB.F3 of 15 A carries 18.0 A" in words
    assert "a regular blade of 25 A would carry it, with W126, W154, W207 of at least 3 mm²." in words
    assert "Vacuum pump loses 0.58 V in W207, W126, W154" in words
    assert "4 mm² would leave about 2.6 %" in words


def test_the_stronger_blower_is_felt_in_every_case_that_has_it_on(folder):
    def asked(at: Path) -> dict[str, float]:
        done = halfshaft("show", at, "low_voltage", "--json")
        assert done.returncode == 0, done.stderr
        return {case["case"]: case["asked_all_a"] for case in json.loads(done.stdout)["cases"]}

    before = asked(folder)
    change(folder, "loads.csv", "OL.blower", steady_a="18", peak_a="36")
    after = asked(folder)
    with_blower = {"day drive", "night and rain", "hot", "cold"}
    assert {name for name in before if after[name] - before[name] == pytest.approx(11.5)} == with_blower
    assert all(after[name] == before[name] for name in before if name not in with_blower)


def test_the_12_v_side_is_told_in_words(folder):
    words = halfshaft("show", folder, "low_voltage").stdout
    for line in ("26 days to half", "FRB.K2", "GP8", "W331 GP7 body GP5 W402"):
        assert line in words


def test_a_fan_of_46_amperes_overloads_the_hot_case(folder):
    """Hot: 36.8 A on the average, with the fan at 16; at 46 it is 66.8, and a hot converter gives 65."""
    change(folder, "loads.csv", "FAN.motor", steady_a="46", peak_a="60")
    found = findings(folder)
    (overload,) = [item for item in found["low_voltage.supply-overloaded"] if item["level"] == "fix"]
    assert overload["about"] == ["hot"]
    assert overload["limit"] == 65
