"""The committed examples, read and written: the same value, and the same bytes."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfshaft.files.folder import folder_files, read_folder, write_folder
from halfshaft.files.workbook import read_workbook, write_workbook
from halfshaft.model.conversion import Conversion

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module", params=["tern", "tern-first-idea"])
def example(request: pytest.FixtureRequest) -> tuple[Path, Conversion]:
    folder = EXAMPLES / request.param
    return folder, read_folder(folder)


def bytes_in(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_a_folder_is_written_as_it_is_committed(example: tuple[Path, Conversion]) -> None:
    folder, conversion = example
    assert folder_files(conversion) == bytes_in(folder)


def test_a_written_folder_is_the_same_conversion_and_the_same_bytes(example: tuple[Path, Conversion], tmp_path: Path) -> None:
    folder, conversion = example
    write_folder(conversion, tmp_path / "copy")
    assert bytes_in(tmp_path / "copy") == bytes_in(folder)
    assert read_folder(tmp_path / "copy") == conversion


def test_a_workbook_is_the_same_conversion_and_the_same_bytes(example: tuple[Path, Conversion], tmp_path: Path) -> None:
    _, conversion = example
    workbook = tmp_path / "tern.xlsx"
    workbook.write_bytes(write_workbook(conversion))
    again = read_workbook(workbook)
    assert again == conversion
    assert folder_files(again) == folder_files(conversion)
    assert write_workbook(again) == workbook.read_bytes()


def test_the_examples_are_two_different_conversions() -> None:
    assert read_folder(EXAMPLES / "tern") != read_folder(EXAMPLES / "tern-first-idea")


def test_every_table_of_the_model_is_in_the_first_example(tern: Conversion) -> None:
    """So that the round trips above go through all of them."""
    of_its_own = {"meshes"}  # those are in tests of their own: a scan would be most of the demo
    assert {name for name in type(tern).model_fields if not getattr(tern, name)} == of_its_own


def test_tables_with_nothing_in_them_leave_no_file_save_the_required(pedal: Conversion, tmp_path: Path) -> None:
    assert {name for name in folder_files(pedal) if not name.startswith("parts/")} == {
        "conversion.toml", "devices.csv", "looms.csv", "points.csv", "removed.csv", "runs.csv", "spaces.toml", "tails.csv",
        "terminals.csv", "wires.csv", "zones.csv",
    }  # fmt: skip
    write_folder(pedal, tmp_path / "pedal")
    assert read_folder(tmp_path / "pedal") == pedal
