"""A workshop changes its mind: from two folders to the list that it works through."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import openpyxl
import pdfplumber
import pytest

from halfshaft.book.build import digest_of
from halfshaft.book.report import change_report
from halfshaft.files.folder import folder_files
from halfshaft.model.conversion import Conversion
from halfshaft.studies.changes.records import ACTS, Changes
from halfshaft.study import Study
from support import halfshaft


@pytest.fixture(scope="module")
def report(tern_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    out = tmp_path_factory.mktemp("report") / "out"
    done = halfshaft("compare", tern_folder.parent / "tern-first-idea", tern_folder, "--to", out)
    assert done.returncode == 1, done.stderr
    assert "laying board FR" in done.stderr
    return out, done.stdout


def test_the_screen_says_what_it_does_to_the_car_then_the_work_in_its_order(report: tuple[Path, str]) -> None:
    _, words = report
    assert words.startswith("as it was:      Aldwick Tern, TERN, revision A of 2026-09-04\n")
    at = [words.index(f"{title.upper()}\n") for title in ACTS.values()]
    assert at == sorted(at)
    assert at[0] > words.index("box B1 under its lid")
    assert "Stop work on                          2 boxes, 2 looms, 2 sense looms, 2 cables, 2 hoses\n" in words
    assert "the old piece can be cut down by 60 mm and one end made anew (run U61 is 60 mm shorter)" in words
    assert "Caution: High voltage" in words


def test_the_paper_has_every_line_with_a_box_to_sign(report: tuple[Path, str]) -> None:
    out, _ = report
    with pdfplumber.open(out / "changes.pdf") as pdf:
        text = "\n".join(page.extract_text() for page in pdf.pages)
        assert all(round(page.width) == 595 for page in pdf.pages)
    rows = list(openpyxl.load_workbook(out / "changes.xlsx")["changes"].iter_rows(min_row=2, values_only=True))
    assert len(rows) > 80
    for ref in {row[2] for row in rows if row[0] != ACTS["know"]}:
        assert ref in text
    assert "Done, by" in text
    assert {item["file"] for item in json.loads((out / "contents.json").read_text())} == {"changes.pdf", "changes.xlsx"}


def test_the_same_changes_give_the_same_bytes(report: tuple[Path, str], tern: Conversion, tern_study: Study, tern_changes: Changes) -> None:
    again = change_report(tern_study, tern_changes, digest=digest_of(folder_files(tern)))
    for name in ("changes.pdf", "changes.xlsx", "contents.json"):
        assert again.files[name] == (report[0] / name).read_bytes()


def test_one_folder_twice_is_nothing_to_do(tern_folder: Path) -> None:
    done = halfshaft("compare", tern_folder, tern_folder)
    assert done.returncode == 0
    assert "Nothing differs." in done.stdout
    assert done.stderr == ""


def test_another_word_changes_nothing_that_is_built(tern_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "car"
    shutil.copytree(tern_folder, folder)
    head = folder / "conversion.toml"
    head.write_text(head.read_text(encoding="utf-8").replace('revision = "C"', 'revision = "D"'), encoding="utf-8")
    done = halfshaft("compare", tern_folder, folder, "--json")
    assert done.returncode == 0, done.stdout
    plain = json.loads(done.stdout)
    assert plain["summary"] == "Nothing that is built changes."
    assert [(line["kind"], line["was"], line["now"]) for line in plain["lines"]] == [("book", "C", "D")]


def test_two_folders_that_cannot_be_read_are_both_named(tern_folder: Path, tmp_path: Path) -> None:
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder, pin in zip(folders, ("PED.A.91", "PED.A.92"), strict=True):
        shutil.copytree(tern_folder, folder)
        wires = folder / "wires.csv"
        wires.write_text(wires.read_text(encoding="utf-8").replace("VCU.A.1,PED.A.1", f"VCU.A.1,{pin}"), encoding="utf-8")
    done = halfshaft("compare", *folders, "--to", tmp_path / "out")
    assert done.returncode == 2
    assert f"{folders[0]}: wires.csv, row 2, column to_pin: no pin 'PED.A.91'" in done.stderr
    assert f"{folders[1]}: wires.csv, row 2, column to_pin: no pin 'PED.A.92'" in done.stderr
    assert not (tmp_path / "out").exists()
    assert halfshaft("compare", tern_folder, tmp_path / "nowhere").returncode == 2


def test_another_car_is_said_to_be_another_and_all_of_it_is_told(tern_folder: Path, tmp_path: Path) -> None:
    assert halfshaft("new", "--blank", tmp_path / "blank").returncode == 0
    there = halfshaft("compare", tern_folder, tmp_path / "blank")
    assert there.returncode == 1, there.stderr
    assert "These are two conversions" in there.stdout
    assert "board no longer used" in there.stdout


def test_what_stands_where_the_report_should_go_is_left_alone(tern_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "photo.txt").write_text("beach", encoding="utf-8")
    done = halfshaft("compare", tern_folder, tern_folder, "--to", tmp_path)
    assert done.returncode == 2
    assert [path.name for path in tmp_path.iterdir()] == ["photo.txt"]
