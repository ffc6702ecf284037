"""The program as a workshop uses it, from the first command to the last, and what it says when something is wrong."""

from __future__ import annotations

import csv
import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import openpyxl
import pdfplumber
import pytest

from halfshaft.cli import STUDIES
from halfshaft.files.folder import read_folder
from support import halfshaft

COMMANDS = ("new", "check", "show", "book", "compare", "test", "sheet", "sheet out", "sheet in")


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_every_command_explains_itself(command: str) -> None:
    done = halfshaft(*command.split(), "--help")
    assert done.returncode == 0
    assert "Usage:" in done.stdout
    assert len(done.stdout.splitlines()) > 4


def test_a_newcomer_makes_the_demo_checks_it_and_reads_it(tmp_path: Path) -> None:
    assert halfshaft("new", tmp_path / "car").returncode == 0
    checked = halfshaft("check", tmp_path / "car")
    assert checked.returncode == 0
    assert "0 that stop, 8 to put right" in checked.stdout
    shown = halfshaft("show", tmp_path / "car", "mass")
    assert "finished" in shown.stdout
    plain = json.loads(halfshaft("show", tmp_path / "car", "mass", "--json").stdout)
    assert plain["finished"]["name"] == "finished"


@pytest.mark.parametrize("study", STUDIES)
def test_every_study_can_be_shown_both_ways(study: str, tern_folder: Path) -> None:
    words = halfshaft("show", tern_folder, study)
    assert words.returncode == 0
    assert len(words.stdout.splitlines()) > 3
    assert json.loads(halfshaft("show", tern_folder, study, "--json").stdout)


def test_the_batch_is_shown_for_the_cutter_with_its_cutting_plans(tern_folder: Path, tern) -> None:
    words = halfshaft("show", tern_folder, "batch").stdout
    assert words.startswith("kits: 4\n")
    lines = words.splitlines()
    assert sum(f"  {wire.ref}  " in line for wire in tern.wires for line in lines) == len(tern.wires)
    plain = json.loads(halfshaft("show", tern_folder, "batch", "--json").stdout)
    assert {item["loom"] for item in plain["loom_costs"]} == {loom.ref for loom in tern.looms}
    (cable,) = [item for item in plain["batch"]["materials"] if item["need"]["material"]["code"] == "HV35"]
    assert cable["plan"]["found"] == cable["plan"]["least"] == 437.5


def test_a_blank_conversion_can_be_read_and_booked_at_once(tmp_path: Path) -> None:
    assert halfshaft("new", "--blank", tmp_path / "mine").returncode == 0
    assert halfshaft("check", tmp_path / "mine").returncode == 0
    done = halfshaft("book", tmp_path / "mine", "--to", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out" / "book.pdf").stat().st_size > 10_000


def test_a_blank_conversion_has_a_set_of_cases_to_start_from(tmp_path: Path) -> None:
    assert halfshaft("new", "--blank", tmp_path / "mine").returncode == 0
    cases = {case.ref: case for case in read_folder(tmp_path / "mine").cases}
    assert list(cases) == ["parked", "key on", "day drive", "night and rain", "hot", "cold", "AC charging", "DC charging", "limp"]
    assert {name for name, case in cases.items() if case.converter != "on"} == {"parked", "key on", "limp"}
    assert {name for name, case in cases.items() if case.contactors == "open"} == {"parked", "key on"}


def test_a_design_that_stops_says_so_by_its_exit_code(tern_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "car"
    shutil.copytree(tern_folder, folder)
    head = folder / "conversion.toml"
    head.write_text(head.read_text(encoding="utf-8").replace("gross_kg = 1060", "gross_kg = 800"), encoding="utf-8")
    done = halfshaft("check", folder)
    assert done.returncode == 1
    assert "STOP  The whole car with driver weighs 832.0 kg; the plate allows 800 kg." in done.stdout


def test_a_folder_that_cannot_be_read_gives_its_faults_and_exit_2(tern_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "car"
    shutil.copytree(tern_folder, folder)
    wires = folder / "wires.csv"
    wires.write_text(wires.read_text(encoding="utf-8").replace("VCU.A.1,PED.A.1", "VCU.A.1,PED.A.91"), encoding="utf-8")
    for words in (
        ("check", folder),
        ("show", folder, "mass"),
        ("book", folder, "--to", tmp_path / "out"),
        ("test", folder, tmp_path / "FR.csv"),
        ("sheet", "out", folder, tmp_path / "x.xlsx"),
    ):
        done = halfshaft(*words)
        assert done.returncode == 2
        assert "wires.csv, row 2, column to_pin: no pin 'PED.A.91'; did you mean 'PED.A.1'?" in done.stderr
        assert "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()
    assert not (tmp_path / "x.xlsx").exists()


def test_a_workbook_goes_out_and_comes_back_as_the_same_folder(tern_folder: Path, tmp_path: Path) -> None:
    assert halfshaft("sheet", "out", tern_folder, tmp_path / "car.xlsx").returncode == 0
    assert halfshaft("sheet", "in", tmp_path / "car.xlsx", tmp_path / "back").returncode == 0
    for path in tern_folder.rglob("*"):
        if path.is_file():
            assert (tmp_path / "back" / path.relative_to(tern_folder)).read_bytes() == path.read_bytes()


def test_nothing_is_overwritten_that_is_not_ours(tern_folder: Path, tmp_path: Path) -> None:
    kept = tmp_path / "holiday"
    kept.mkdir()
    (kept / "photo.txt").write_text("beach", encoding="utf-8")
    for words in (("book", tern_folder, "--to", kept), ("new", kept), ("sheet", "out", tern_folder, kept / "photo.txt")):
        done = halfshaft(*words)
        assert done.returncode == 2
        assert "is there already" in done.stderr
    assert [path.name for path in kept.iterdir()] == ["photo.txt"]
    assert [path.name for path in tmp_path.iterdir()] == ["holiday"]


def test_contents_lists_every_file_of_the_book(tern_book: Path, tern_contents: list[dict[str, object]]) -> None:
    on_disk = {str(path.relative_to(tern_book)) for path in tern_book.rglob("*") if path.is_file()} - {"contents.json"}
    assert {item["file"] for item in tern_contents} == on_disk
    assert {item["kind"] for item in tern_contents} == {
        "book",
        "board",
        "card",
        "diagram",
        "diagrams",
        "drawing",
        "scene",
        "labels",
        "list",
        "tests",
        "tiles",
    }
    for item in tern_contents:
        assert item["title"]
        if item["kind"] in ("board", "tiles"):
            assert item["loom"] in ("BX", "FR", "RR", "SF", "SR", "IB1", "IB2", "IB3")
            # Looms inside the battery boxes lie on a quarter of a sheet; 10 mm of paper round both.
            size = (1240.0, 630.0) if str(item["loom"]).startswith("IB") else (2460.0, 1240.0)
            assert (item["width_mm"], item["height_mm"]) == size


def test_a_second_book_is_the_first_one_byte_for_byte(tern_folder: Path, tern_book: Path, tmp_path: Path) -> None:
    done = halfshaft("book", tern_folder, "--to", tmp_path / "again")
    assert done.returncode == 0, done.stderr

    def digests(folder: Path) -> dict[str, str]:
        return {str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.rglob("*") if p.is_file()}

    assert digests(tmp_path / "again") == digests(tern_book)


def test_a_full_disk_leaves_the_old_book_whole(tern_folder: Path, tern_book: Path, tmp_path: Path) -> None:
    """Files over 200 kB are refused by the system half way through the book: the first such file is the front board."""
    target = tmp_path / "out"
    shutil.copytree(tern_book, target)
    before = {path: path.read_bytes() for path in target.rglob("*") if path.is_file()}
    script = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000)); sys.argv = ['halfshaft', *sys.argv[1:]];"
        "from halfshaft.cli import main; main()"
    )
    command = [sys.executable, "-c", script, "book", str(tern_folder), "--to", str(target)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False, env={**os.environ, "TMPDIR": str(tmp_path)})
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "File too large" in done.stderr or "could not be" in done.stderr
    assert {path: path.read_bytes() for path in target.rglob("*") if path.is_file()} == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_the_book_says_what_a_workshop_must_read(tern_book: Path) -> None:
    with pdfplumber.open(tern_book / "book.pdf") as pdf:
        texts = [page.extract_text() or "" for page in pdf.pages]
        fonts = {char["fontname"].split("+")[-1] for page in pdf.pages for char in page.chars}
    assert all(font.startswith("SourceSans3") for font in fonts), fonts
    front = texts[0]
    for words in ("Aldwick Tern", "757.0 kg", "332.7 / 424.3 kg", "WARNING", "High voltage", "Local rules and qualified people decide"):
        assert words in front.replace("\n", " ")
    everything = "\n".join(texts)
    for section in (
        "Findings",
        "Mass and axle loads",
        "Feet of the battery boxes",
        "From-to list",
        "Cut list",
        "Batch for 4 kits",
        "Connectors",
        "Test sheet, pin to pin",
        "Parts list",
        "Loom boards",
    ):
        assert section in everything
    assert everything.count("seen from the wire side") == everything.count("seen from the mating face") > 40
    # Every loose sheet says by itself what car, revision and sheet it is.
    for number, text in enumerate(texts, start=1):
        assert f"sheet {number} of {len(texts)}" in text
        assert "Aldwick Tern, revision C" in text


def test_every_wire_is_cut_labelled_and_tested(tern_book: Path, tern) -> None:
    wires = {wire.ref for wire in tern.wires}

    def column(name: str, heading: str) -> list[str]:
        sheet = openpyxl.load_workbook(tern_book / "lists" / f"{name}.xlsx").worksheets[0]
        header = [cell.value for cell in sheet[1]]
        return [str(row[header.index(heading)]) for row in sheet.iter_rows(min_row=2, values_only=True)]

    assert set(column("cut-list", "wire")) == wires
    assert set(column("from-to", "wire")) == wires
    assert sorted(column("batch-cut-list", "wire")) == sorted(wires)
    assert set(column("batch-cut-list", "pieces")) == {str(tern.job.kits)}
    assert set(column("loom-costs", "loom")) == {loom.ref for loom in tern.looms}
    assert {"HV35", "DUCT", "hose 19x26", "0.5 BN B", "0.5 BN C"} <= set(column("cutting-plan", "what"))
    tested = {ref for cell in column("test-sheet", "wires") for ref in cell.split(", ")}
    assert wires <= tested
    with (tern_book / "labels" / "labels.csv").open(encoding="utf-8", newline="") as file:
        labels = list(csv.DictReader(file))
    inside = set(column("sense-wires", "wire"))
    assert len(inside) == 181
    assert sorted(row["wire"] for row in labels) == sorted(2 * [*wires, *inside])


def filled(book: Path, loom: str, to: Path, found: dict[str, str], *, separator: str = ",") -> Path:
    """The sheet of a loom as a person fills it: what is expected everywhere, but for the lines given."""
    with (book / "tests" / f"{loom}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["found"], row["by"] = found.get(row["no"], row["expect"]), "AB"
        if separator == ";":
            row["found"] = row["found"].replace(".", ",")
    with to.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), delimiter=separator)
        writer.writeheader()
        writer.writerows(rows)
    return to


@pytest.mark.parametrize("separator", [",", ";"])
def test_a_loom_is_tested_found_good_and_found_bad(tern_folder: Path, tern_book: Path, tmp_path: Path, separator: str) -> None:
    good = halfshaft("test", tern_folder, filled(tern_book, "BX", tmp_path / "good.csv", {}, separator=separator))
    assert (good.returncode, good.stderr) == (0, "")
    assert good.stdout.startswith("BX: 98 lines pass, 0 fail, 0 not measured")
    # W201 pushed one cavity too far, into the empty one: open to its place, and something where nothing should be.
    with (tern_book / "tests" / "BX.csv").open(encoding="utf-8", newline="") as file:
        numbers = {(row["between"], row["and"]): row["no"] for row in csv.DictReader(file)}
    wrong = {
        numbers["FRB.B.1", "XF.A.1"]: "OL",
        numbers["FRB.B.11", "all others"]: "0.02",
        numbers["BMM.A.1", "XF.A.1"]: "open",
    }
    bad = halfshaft("test", tern_folder, filled(tern_book, "BX", tmp_path / "bad.csv", wrong, separator=separator))
    assert bad.returncode == 1
    assert "W201 sits in FRB.B cavity 11; it belongs in FRB.B cavity 1." in bad.stdout
    assert "look at: FRB.B cavity 11, FRB.B cavity 1" in bad.stdout


def test_an_empty_sheet_passes_nothing(tern_folder: Path, tern_book: Path) -> None:
    for name in ("SF", "SF-tester", "bus"):
        done = halfshaft("test", tern_folder, tern_book / "tests" / f"{name}.csv")
        assert done.returncode == 1
        assert ": 0 lines pass, 0 fail, " in done.stdout
        assert "not measured, so not passed: lines 1 to " in done.stdout


def test_a_mistake_of_ours_is_a_sentence_too(tern_folder: Path) -> None:
    script = (
        "import sys, halfshaft.study; halfshaft.study.Study.design_findings = property(lambda self: 1 / 0);"
        "sys.argv = ['halfshaft', *sys.argv[1:]]; from halfshaft.cli import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, "check", str(tern_folder)], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 2
    assert "a mistake in Halfshaft itself" in done.stderr
    assert "Traceback" not in done.stderr
