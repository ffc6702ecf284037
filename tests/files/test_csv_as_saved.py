"""The same tables as spreadsheets of different makes and countries save them: each must yield the same conversion."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from halfshaft.errors import InputError
from halfshaft.files.cells import kind_of
from halfshaft.files.folder import read_folder
from halfshaft.files.layout import record_of
from halfshaft.model.conversion import Conversion

Rows = list[list[str]]
Saver = Callable[[Rows, str], bytes]  # rows of a table and its name, to the bytes of a file


def csv_text(rows: Rows, separator: str = ",", end: str = "\n", quoting: int = csv.QUOTE_MINIMAL) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=end, quoting=quoting).writerows(rows)  # type: ignore[arg-type]
    return out.getvalue()


def numbers(rows: Rows, table: str, change: Callable[[str], str]) -> Rows:
    """Another way to write each number, and nothing else."""
    header, *body = rows
    fields = record_of(table).model_fields
    where = [kind_of(fields[name].annotation) in ("float", "int") for name in header]
    return [
        header,
        *([change(text) if number and text else text for text, number in zip(row, where, strict=True)] for row in body),
    ]


def with_comma(rows: Rows, table: str) -> Rows:
    return numbers(rows, table, lambda text: text.replace(".", ","))


SAVED: dict[str, Saver] = {
    "byte order mark": lambda rows, _: csv_text(rows).encode("utf-8-sig"),
    "CRLF": lambda rows, _: csv_text(rows, end="\r\n").encode(),
    "CR": lambda rows, _: csv_text(rows, end="\r").encode(),
    "semicolons and decimal commas": lambda rows, table: csv_text(with_comma(rows, table), ";").encode(),
    "semicolons and decimal points": lambda rows, _: csv_text(rows, ";").encode(),
    "semicolons, mark, CRLF": lambda rows, table: csv_text(with_comma(rows, table), ";", "\r\n").encode("utf-8-sig"),
    "tabs": lambda rows, _: csv_text(rows, "\t").encode(),
    "tabs and decimal commas": lambda rows, table: csv_text(with_comma(rows, table), "\t").encode(),
    "every cell quoted": lambda rows, _: csv_text(rows, quoting=csv.QUOTE_ALL).encode(),
    "every cell quoted, semicolons": lambda rows, table: csv_text(with_comma(rows, table), ";", quoting=csv.QUOTE_ALL).encode(),
    "no line end at the end": lambda rows, _: csv_text(rows).rstrip("\n").encode(),
    "blank rows below": lambda rows, _: csv_text([*rows, [""] * len(rows[0]), [], ["", " "]]).encode(),
    "blank columns to the right": lambda rows, _: csv_text([[*row, "", " "] for row in rows]).encode(),
    "blank rows between": lambda rows, _: csv_text([row for each in rows for row in (each, [""] * 3)]).encode(),
    "columns the other way round": lambda rows, _: csv_text([row[::-1] for row in rows]).encode(),
    "spaces round every cell": lambda rows, _: csv_text([[f"  {text} " for text in row] for row in rows]).encode(),
    "blank columns left out": lambda rows, table: csv_text(without_blank_columns(rows, table)).encode(),
    "two decimals more": lambda rows, table: csv_text(numbers(rows, table, lambda text: f"{text}{'' if '.' in text else '.'}00")).encode(),
    "plus signs": lambda rows, table: csv_text(numbers(rows, table, lambda text: text if text[0] == "-" else f"+{text}")).encode(),
    "typographers' minus signs": lambda rows, table: csv_text(numbers(rows, table, lambda text: text.replace("-", "\u2212"))).encode(),
    "powers of ten": lambda rows, table: csv_text(numbers(rows, table, lambda text: f"{text}E+00")).encode(),
}


def without_blank_columns(rows: Rows, table: str) -> Rows:
    fields = record_of(table).model_fields
    keep = [at for at, name in enumerate(rows[0]) if fields[name].is_required() or any(row[at] for row in rows[1:])]
    return [[row[at] for at in keep] for row in rows]


@pytest.mark.parametrize("name", SAVED)
def test_every_way_of_saving_is_the_same_conversion(name: str, tern: Conversion, tern_folder: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(tern_folder, tmp_path / "tern"))
    changed = 0
    for path in folder.glob("*.csv"):
        before = path.read_bytes()
        path.write_bytes(SAVED[name](list(csv.reader(io.StringIO(before.decode(), newline=""))), path.stem))
        changed += path.read_bytes() != before
    assert changed > 1
    assert read_folder(folder) == tern


def test_toml_with_byte_order_mark_and_crlf(tern: Conversion, tern_folder: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(tern_folder, tmp_path / "tern"))
    for path in folder.rglob("*.toml"):
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert read_folder(folder) == tern


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("ref,ambient_max_c\nnose,45\ncabin,hot\n", 3),
        ("ref,ambient_max_c\r\nnose,45\r\ncabin,hot\r\n", 3),
        ("ref,ambient_max_c\n\n,,,\n\ncabin,hot\n", 5),
        # A cell in quotation marks may hold line ends, here two; an editor counts lines, and so does the fault.
        ('ref,ambient_max_c,note\n"nose",45,"\n\n"\ncabin,hot,\n', 5),
        ('ref,ambient_max_c,note\n"nose",45,"\n\n"\ncabin,45,,x\n', 5),
        ("\ufeffref;ambient_max_c\nnose;45,5\ncabin;hot\n", 3),
    ],
)
def test_the_row_of_a_fault_is_the_line_in_the_file(table: str, row: int, tern_folder: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(tern_folder, tmp_path / "tern"))
    (folder / "zones.csv").write_text(table, encoding="utf-8", newline="")
    with pytest.raises(InputError) as caught:
        read_folder(folder)
    assert row in [fault.row for fault in caught.value.faults if fault.file == "zones.csv"]
    assert {fault.row for fault in caught.value.faults if fault.file == "zones.csv"} == {row}
