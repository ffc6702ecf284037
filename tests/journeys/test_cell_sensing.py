"""Somebody probes the cell taps of a box, fills the sheet, and is told what is wrong before a plug is put on."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import openpyxl

from support import halfshaft


def filled(book: Path, to: Path, found: dict[str, str]) -> Path:
    """The sheet of box B1 with what is expected everywhere, but for the lines given."""
    with (book / "tests" / "sense-B1.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["found"], row["by"] = found.get(row["no"], row["expect"]), "AB"
    with to.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return to


def test_a_right_box_passes(tern_folder, tern_book, tmp_path):
    done = halfshaft("test", tern_folder, filled(tern_book, tmp_path / "b1.csv", {}))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("sense-B1: 40 lines pass, 0 fail, 0 not measured")


def test_a_module_that_was_turned_is_named_with_its_taps(tern_folder, tern_book, tmp_path):
    """M03 is the second from the minus pole: its cells read backwards, and everything above is 58.4 V lower."""
    found = {str(number): "-3.65" for number in range(12, 20)} | {"20": "0.0", "30": "+29.2", "40": "+58.4"}
    done = halfshaft("test", tern_folder, filled(tern_book, tmp_path / "b1.csv", found))
    assert done.returncode == 1
    assert done.stderr == ""
    assert "M03 is turned end for end, and its taps are picked up by their place: 8 taps reversed, SB1.J3.2 to 9." in done.stdout
    assert "its plus end should look right" in done.stdout
    assert "Put no sense plug on its board before every line passes" in done.stdout
    assert "qualified people only" in done.stdout
    assert "fails 12: SB1.J3.2 to SB1.J3.1" in done.stdout
    assert ": -3.65 V; passes 2.8 to 4.2 V" in done.stdout


def test_a_value_without_a_sign_is_refused_in_a_sentence(tern_folder, tern_book, tmp_path):
    done = halfshaft("test", tern_folder, filled(tern_book, tmp_path / "b1.csv", {"5": "3.65"}))
    assert done.returncode == 2
    assert "row 6, column found: '3.65' has no sign: write +3.65 or -3.65" in done.stderr


def test_the_sense_loom_is_tested_like_any_other(tern_folder, tern_book, tmp_path):
    with (tern_book / "tests" / "IB2.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["found"] = row["expect"]
    path = tmp_path / "ib2.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    done = halfshaft("test", tern_folder, path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("IB2: ")


def test_the_screen_says_wires_and_volts(tern_folder):
    done = halfshaft("show", tern_folder, "sensing")
    assert done.returncode == 0
    line = next(line for line in done.stdout.splitlines() if " M01-8 " in line)
    assert line.split() == ["IB1", "M01-8", "M01.S.9", "SB1.J1.9", "GY", "435.0", "+29.20", "+379.60"]
    plain = json.loads(halfshaft("show", tern_folder, "sensing", "--json").stdout)
    assert len(plain["tap_volts"]) == 117
    assert set(plain["sheets"]) == {"sense-B1", "sense-B2", "sense-B3"}


def test_the_book_has_wires_boards_and_lists(tern_book):
    rows = list(openpyxl.load_workbook(tern_book / "lists" / "sense-wires.xlsx").worksheets[0].iter_rows(min_row=2, values_only=True))
    assert len(rows) == 181
    for loom in ("IB1", "IB2", "IB3"):
        assert (tern_book / "boards" / f"TERN-LB-{loom}.pdf").exists()
