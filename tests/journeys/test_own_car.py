"""The manual's own car: what docs/your-own-car.md tells a newcomer to write is written, checked and booked."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.files.start import start_files
from halfshaft.files.whole import write_whole
from support import halfshaft

GUIDE = (Path(__file__).parents[2] / "docs" / "your-own-car.md").read_text(encoding="utf-8")
STEPS = GUIDE.split("\n## ")[1:]
BLOCK = r"^<!-- {}: (.+?) -->\n```\w+\n(.*?)^```$"


def blocks(mark: str, text: str) -> Iterator[tuple[str, str]]:
    """What a fenced block is marked with, and what stands in it."""
    yield from re.findall(BLOCK.format(mark), text, re.MULTILINE | re.DOTALL)


def conversion_files(text: str) -> dict[str, bytes]:
    """A blank conversion with the guide's blocks in place of the files of their names."""
    written: dict[str, str] = {}
    for name, content in blocks("file", text):
        written[name] = written.get(name, "") + content
    return {**start_files(blank=True), **{name: content.encode() for name, content in written.items()}}


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder in which the newcomer stands: `mycar` is in it."""
    folder = tmp_path_factory.mktemp("workshop")
    write_whole(conversion_files(GUIDE), folder / "mycar")
    return folder


def test_each_fenced_block_says_what_it_is() -> None:
    marked = [*blocks("file", GUIDE), *blocks("output of", GUIDE)]
    assert GUIDE.count("\n```") == 2 * len(marked)
    assert len(marked) > 30


def test_the_guide_names_only_files_of_a_conversion() -> None:
    known = start_files(blank=True)
    for name, _ in blocks("file", GUIDE):
        assert name in known or name.startswith("parts/"), name


@pytest.mark.parametrize("count", range(1, len(STEPS) + 1))
def test_after_each_step_the_folder_can_be_read(count: int, tmp_path: Path) -> None:
    write_whole(conversion_files("\n## ".join(STEPS[:count])), tmp_path / "mycar")
    read_folder(tmp_path / "mycar")


def test_the_finished_car_has_what_the_guide_speaks_of(workshop: Path) -> None:
    car = read_folder(workshop / "mycar")
    assert car.car.raised is not None
    assert len(car.removed) == 3
    assert sum(len(box.modules) for box in car.boxes) == 2
    assert 10 <= len(car.points) <= 12
    assert len(car.splices) == len(car.twist_groups) == 1
    assert sum(wire.loom == "ML" for wire in car.wires) == 11


def test_check_finds_only_the_disconnect_that_is_still_to_come(workshop: Path) -> None:
    done = halfshaft("check", "mycar", cwd=workshop)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 that stop, 1 to put right" in done.stdout
    assert "has no service disconnect" in done.stdout


@pytest.mark.parametrize(("command", "shown"), list(blocks("output of", GUIDE)))
def test_the_program_still_says_what_the_guide_quotes(command: str, shown: str, workshop: Path) -> None:
    said = [line.rstrip() for line in halfshaft(*command.split()[1:], cwd=workshop).stdout.splitlines()]
    for line in shown.splitlines():
        assert line.rstrip() in said


@pytest.mark.parametrize(
    ("file", "right", "wrong"),
    [("wires.csv", "B1.A.2,GP2.S.3", "B1.A.2,GP2.S.4"), ("tails.csv", "GP1,S,R8,60,\n", "")],
    ids=["a pin that is not there", "a tail forgotten"],
)
def test_a_slip_is_answered_as_the_guide_says(file: str, right: str, wrong: str, tmp_path: Path) -> None:
    files = conversion_files(GUIDE)
    slipped = files[file].decode().replace(right, wrong)
    write_whole({**files, file: slipped.encode()}, tmp_path / "mycar")
    done = halfshaft("check", "mycar", cwd=tmp_path)
    assert done.returncode != 0
    said = {line.strip() for line in (done.stdout + done.stderr).splitlines()}
    assert said & {line.strip() for line in GUIDE.splitlines() if line.startswith("    ")}


def test_the_book_is_made_printed_again_and_holds_what_the_guide_names(workshop: Path) -> None:
    made = [line.strip() for line in GUIDE.splitlines() if line.startswith("    halfshaft book ")]
    again = re.findall(r"`(halfshaft book [^`]+--bar-x[^`]+)`", GUIDE)
    assert made
    assert again
    for command in (*made, *again):
        done = halfshaft(*command.split()[1:], cwd=workshop)
        assert done.returncode == 0, done.stderr
    contents = json.loads((workshop / "out-A" / "contents.json").read_text(encoding="utf-8"))
    named = {item["file"] for item in contents}
    assert {"book.pdf", *re.findall(r"`(boards/[^`]+)`", GUIDE)} <= named


def test_the_workbook_goes_out_and_comes_back(workshop: Path) -> None:
    for command in re.findall(r"^    (halfshaft sheet .+)$", GUIDE, re.MULTILINE):
        done = halfshaft(*command.split()[1:], cwd=workshop)
        assert done.returncode == 0, done.stderr
    assert read_folder(workshop / "mycar2") == read_folder(workshop / "mycar")
