"""Somebody measures the finished car, fills the sheet of the electrics, and is told what is wrong."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import openpyxl

from support import halfshaft


def filled(book: Path, to: Path, found: dict[str, str]) -> Path:
    """The sheet with what is expected everywhere, but for lines in whose place or state these words stand."""
    with (book / "tests" / "electrics.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        value = next(
            (value for words, value in found.items() if words in f"{row['between']} to {row['and']}, {row['state']}"), row["expect"]
        )
        row["found"], row["by"] = value, "AB"
    with to.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return to


def test_a_right_car_passes(tern_folder, tern_book, tmp_path):
    done = halfshaft("test", tern_folder, filled(tern_book, tmp_path / "electrics.csv", {}))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("electrics: ")
    assert "0 fail, 0 not measured" in done.stdout


def test_a_fuse_that_four_relays_share(tern_folder, tern_book, tmp_path):
    found = {f"{load} switched on": "0" for load in ("FAN.motor", "P1.motor", "P2.motor", "VP.motor")}
    done = halfshaft("test", tern_folder, filled(tern_book, tmp_path / "electrics.csv", found))
    assert done.returncode == 1
    assert "- Fuse FRB.F16: open, blown, not closed, or a bad contact." in done.stdout
    assert "stop: lines of “High voltage” were measured though “12 V” is not passed whole" in done.stdout
    assert "qualified people only" in done.stdout
    assert "+0 V; passes 11.2 to 13.1 V" in done.stdout or "passes 11.1" in done.stdout
    assert "Put no sense plug" not in done.stdout


def test_answers_and_insulation_as_people_write_them(tern_folder, tern_book, tmp_path):
    found = {"B1, either pole": ">550", "charge lamp to on": "No"}
    done = halfshaft("test", tern_folder, filled(tern_book, tmp_path / "electrics.csv", found))
    assert done.returncode == 1
    assert "1 fail, 0 not measured" in done.stdout
    assert "Output charge lamp does not do what the table says." in done.stdout


def test_the_sheet_is_shown_and_listed(tern_folder, tern_book, tern_contents):
    done = halfshaft("show", tern_folder, "commissioning")
    assert done.returncode == 0
    assert "DEAD TESTS. Service disconnect out and locked" in done.stdout
    assert done.stdout.count("STOP: go on only when every line above passes.") == 4
    plain = json.loads(halfshaft("show", tern_folder, "commissioning", "--json").stdout)
    assert plain["steps"][0]["reading"]["between"] == ["MOT case, bare metal", "GP7"]
    files = {str(item["file"]) for item in tern_contents}
    assert {"tests/electrics.csv", "lists/commissioning.xlsx"} <= files
    sheet = openpyxl.load_workbook(tern_book / "lists" / "commissioning.xlsx").active
    assert sheet.max_row >= len(plain["steps"])
