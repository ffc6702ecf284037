"""A workbook as spreadsheets save it, and one mistake at a time in it."""

from __future__ import annotations

import datetime
import io
import os
import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import python_calamine

from halfshaft.errors import Fault, InputError
from halfshaft.files.archive import safe_copy
from halfshaft.files.folder import folder_files
from halfshaft.files.workbook import read_workbook, write_workbook
from halfshaft.model.car import Removed
from halfshaft.model.conversion import Conversion

openpyxl = pytest.importorskip("openpyxl")

Edit = Callable[[Any], object]  # of an openpyxl workbook


@pytest.fixture(scope="module")
def sheets(pedal: Conversion) -> bytes:
    return write_workbook(pedal)


def edited(data: bytes, *edits: Edit) -> bytes:
    """The workbook opened in another program, changed there and saved."""
    book = openpyxl.load_workbook(io.BytesIO(data))
    for edit in edits:
        edit(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def read(data: bytes, tmp_path: Path) -> Conversion:
    path = tmp_path / "car.xlsx"
    path.write_bytes(data)
    return read_workbook(path)


def faults_of(data: bytes, tmp_path: Path) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        read(data, tmp_path)
    return caught.value.faults


def the_fault_of(data: bytes, tmp_path: Path) -> Fault:
    faults = faults_of(data, tmp_path)
    assert len(faults) == 1, "\n".join(map(str, faults[:20]))
    return faults[0]


# --- as other programs save it ------------------------------------------------------------------------------------------


def columns_reversed(book: Any) -> None:
    for sheet in book:
        for row in sheet.iter_rows():
            for cell, value in zip(row, [cell.value for cell in row][::-1], strict=True):
                cell.value = value


def numbers_as_text(book: Any) -> None:
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, (int, float)):
                    cell.value = str(cell.value)


def blank_rows_between(book: Any) -> None:
    for sheet in book:
        for row in range(sheet.max_row, 1, -1):
            sheet.insert_rows(row)


def coloured_far_away(book: Any) -> None:
    """A cell that was only painted is no cell to read, wherever it is."""
    book["wires"]["XFD1048576"].fill = openpyxl.styles.PatternFill("solid", fgColor="FF0000")


def without_blank_sheets(book: Any) -> None:
    for sheet in list(book):
        if sheet.max_row == 1 and sheet.title not in ("tails", "runs", "looms", "wires"):
            book.remove(sheet)


@pytest.fixture(scope="module")
def few_sheets(sheets: bytes) -> bytes:
    """No more sheets than a mistake can be made in, which is quicker to open and save."""
    return edited(sheets, without_blank_sheets)


SAVED: dict[str, Edit] = {
    "by another program": lambda book: None,
    "columns the other way round": columns_reversed,
    "numbers as text": numbers_as_text,
    "blank rows between": blank_rows_between,
    "sheets the other way round": lambda book: book._sheets.reverse(),
    "only sheets with something in them": without_blank_sheets,
    "a cell painted in the last row and column": coloured_far_away,
    "a day that is a day": lambda book: set_head(book, "job.date", datetime.date(2026, 11, 20)),
    "a day with a time": lambda book: set_head(book, "job.date", datetime.datetime(2026, 11, 20)),
}


def set_head(book: Any, name: str, value: object) -> int:
    """Another value in the sheet of single values; the row on which it stands."""
    for cell, other in book["conversion"].iter_rows():
        if cell.value == name:
            other.value = value
            return int(cell.row)
    raise AssertionError(f"no {name}")


@pytest.mark.parametrize("name", SAVED)
def test_every_way_of_saving_is_the_same_conversion(name: str, sheets: bytes, pedal: Conversion, tmp_path: Path) -> None:
    data = edited(sheets, SAVED[name])
    again = read(data, tmp_path)
    assert again == pedal
    assert folder_files(again) == folder_files(pedal)


def test_what_a_person_changes_is_what_changes(sheets: bytes, pedal: Conversion, tmp_path: Path) -> None:
    again = read(edited(sheets, put("removed", "C2", 99.5)), tmp_path)
    assert again.removed[0].mass_kg == 99.5
    assert again.removed[1:] == pedal.removed[1:]


def test_a_formula_counts_with_its_result(sheets: bytes, tmp_path: Path) -> None:
    data = edited(sheets, put("removed", "C2", "=80+8"))
    data = with_entry(data, sheet_entry(data, "removed"), lambda xml: re.sub(rb"(<f>80\+8</f>)<v ?/>", rb"\1<v>88</v>", xml))
    assert read(data, tmp_path).removed[0].mass_kg == 88


def with_removed(conversion: Conversion, removed: tuple[Removed, ...]) -> Conversion:
    return Conversion(**{name: getattr(conversion, name) for name in type(conversion).model_fields} | {"removed": removed})


def test_all_text_is_text_and_no_formula_or_link(pedal: Conversion, tmp_path: Path) -> None:
    traps = (
        "=1+1",
        "@SUM(1)",
        "+1",
        "-1",
        "https://example.org",
        "mailto:a@b.c",
        "{=1}",
        "007",
        "1e5",
        "TRUE",
        "#N/A",
        "_x000D_",
        "_x0041_",
    )
    removed = tuple(
        pedal.removed[0].model_copy(update={"ref": f"Y{number}", "name": trap, "note": trap}) for number, trap in enumerate(traps)
    )
    conversion = with_removed(pedal, removed)
    data = write_workbook(conversion)
    assert read(data, tmp_path) == conversion
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert {cell.data_type for row in book["removed"].iter_rows(min_row=2, max_col=2) for cell in row} == {"s"}


def test_a_number_of_seventeen_digits_is_kept(pedal: Conversion, tmp_path: Path) -> None:
    """A cell of a workbook holds sixteen, so such a number has to go in as text."""
    removed = (pedal.removed[0].model_copy(update={"mass_kg": 0.1 + 0.2}),)
    conversion = with_removed(pedal, removed)
    assert read(write_workbook(conversion), tmp_path).removed[0].mass_kg == 0.1 + 0.2


# --- one mistake at a time ----------------------------------------------------------------------------------------------


def put(sheet: str, place: str, value: object) -> Edit:
    return lambda book: setattr(book[sheet][place], "value", value)


def named(sheet: str, name: str) -> Edit:
    return lambda book: setattr(book[sheet], "title", name)


def gone(sheet: str) -> Edit:
    return lambda book: book.remove(book[sheet])


# Where the fault must be found (sheet, row, column), and words that must be in its sentence.
MISTAKES: dict[str, tuple[Edit, str, int | None, str | None, str]] = {
    "unknown sheet": (lambda book: book.create_sheet("devises"), "devises", None, None, "did you mean 'devices'?"),
    "no sheet of single values": (gone("conversion"), "conversion", None, None, "this sheet is missing"),
    "no sheet of devices": (gone("devices"), "devices", None, None, "this sheet is missing"),
    "no sheet of what others belong to": (gone("parts"), "parts", None, None, "this sheet is missing"),
    "no sheet between": (gone("parts.connectors"), "parts.connectors", None, None, "this sheet is missing"),
    "single values without names": (put("conversion", "A1", "nome"), "conversion", 1, "name", "this column is missing"),
    "a value without a name": (put("conversion", "B200", "x"), "conversion", 200, "name", "is blank"),
    "unknown name": (put("conversion", "A200", "job.dat"), "conversion", 200, "job.dat", "did you mean 'job.date'?"),
    "a name that holds others": (put("conversion", "A200", "car.weighed"), "conversion", 200, "car.weighed", "unknown name"),
    "a name twice": (put("conversion", "A200", "job.ref"), "conversion", 200, "job.ref", "stands here a second time"),
    "a single value with a unit": (
        lambda book: set_head(book, "car.wheelbase_mm", "2110 mm"), "conversion", 11, "car.wheelbase_mm", "leave out 'mm'",
    ),
    "a single value out of range": (
        lambda book: set_head(book, "car.wheelbase_mm", -5), "conversion", 11, "car.wheelbase_mm", "-5 is too small",
    ),
    "missing column": (lambda book: book["removed"].delete_cols(3), "removed", 1, "mass_kg", "this column is missing"),
    "unknown column": (put("removed", "H1", "notes"), "removed", 1, "notes", "unknown column; did you mean 'note'?"),
    "missing column of who owns a row": (
        lambda book: book["parts.connectors"].delete_cols(1), "parts.connectors", 1, "in_parts", "this column is missing",
    ),
    "column twice": (put("removed", "H1", "name"), "removed", 1, "name", "stands twice"),
    "a cell beside the table": (put("removed", "J2", "x"), "removed", 2, None, "to the right of the last named column"),
    "text for a number": (put("removed", "C3", "heavy"), "removed", 3, "mass_kg", "stands where a number belongs"),
    "yes for a number": (put("removed", "C3", True), "removed", 3, "mass_kg", "stands where a number belongs"),
    "a day for a number": (put("removed", "C3", datetime.date(2026, 3, 1)), "removed", 3, "mass_kg", "stands where a number belongs"),
    "a unit": (put("removed", "C3", "8,2 kg"), "removed", 3, "mass_kg", "'8,2 kg' is no number"),
    "blank": (put("removed", "C3", None), "removed", 3, "mass_kg", "is blank"),
    "a failed formula": (put("removed", "C3", "#REF!"), "removed", 3, "mass_kg", "the spreadsheet shows '#REF!' here"),
    "a failed formula where blank is allowed": (put("removed", "H3", "#N/A"), "removed", 3, "note", "the spreadsheet shows '#N/A' here"),
    "a formula without a result": (put("removed", "C3", "=1/0.01"), "removed", 3, "mass_kg", "is a formula without a result"),
    "a number for a mark": (put("removed", "A3", 1.5), "removed", 3, "ref", "'1.5' is no mark"),
    "twice": (put("removed", "A3", "X01"), "removed", 3, "ref", "X01 stands here a second time"),
    "leads nowhere": (put("devices", "B2", "AT-PEDD"), "devices", 2, "part", "did you mean 'AT-PED'?"),
    "leads nowhere, from inside": (
        put("parts.connectors.cavities", "F2", "T12X"), "parts.connectors.cavities", 2, "terminal", "did you mean 'T12",
    ),
    "belongs to no part": (
        put("parts.connectors", "A2", "AT-PEDD"), "parts.connectors", 2, "in_parts",
        "no 'AT-PEDD' in sheet parts, so this row belongs to nothing; did you mean 'AT-PED'?",
    ),
    "belongs to no connector": (
        put("parts.connectors.cavities", "B3", "Z"), "parts.connectors.cavities", 3, "in_connectors", "no 'AT-PED / Z' in sheet parts.connectors",
    ),
    "a faulty cell inside": (put("parts.connectors", "D2", 0), "parts.connectors", 2, "rows", "0 is too small; it must be at least 1"),
    "corners that are none": (put("spaces", "F2", "0 0;1 0;one one"), "spaces", 2, "polygon_mm", "is no list of corners: write x y;x y;x y"),
    "too few corners": (put("spaces", "F2", "0 0;1 0"), "spaces", 2, "polygon_mm", "needs at least 3 of them"),
    "a corner that is none": (put("spaces", "F2", "0 0;1 0;1"), "spaces", 2, "polygon_mm[3][2]", "is missing"),
}  # fmt: skip


@pytest.mark.parametrize("name", MISTAKES)
def test_one_mistake_is_one_fault_at_its_place(name: str, few_sheets: bytes, tmp_path: Path) -> None:
    edit, sheet, row, column, says = MISTAKES[name]
    fault = the_fault_of(edited(few_sheets, edit), tmp_path)
    assert (fault.file, fault.row, fault.column) == (f"sheet {sheet}", row, column)
    assert says in fault.message


def test_a_misspelt_sheet_is_named_under_both_names(sheets: bytes, tmp_path: Path) -> None:
    unknown, missing = faults_of(edited(sheets, named("devices", "devises")), tmp_path)
    assert (missing.file, missing.message) == ("sheet devises", "no sheet of a conversion is called so; did you mean 'devices'?")
    assert (unknown.file, unknown.message) == ("sheet devices", "this sheet is missing and must be there")


def test_several_mistakes_are_all_reported(sheets: bytes, tmp_path: Path) -> None:
    data = edited(
        sheets,
        lambda book: set_head(book, "car.seats", "four"),
        put("removed", "C2", "heavy"),
        put("removed", "C3", -1),
        put("parts.inside", "C2", "wire"),
        put("devices", "B2", "AT-PEDD"),
    )
    assert [(fault.file, fault.column) for fault in faults_of(data, tmp_path)] == [
        ("sheet conversion", "car.seats"),
        ("sheet devices", "part"),
        ("sheet parts.inside", "kind"),
        ("sheet removed", "mass_kg"),
        ("sheet removed", "mass_kg"),
    ]


# --- what is no workbook, and what is one only to do harm -----------------------------------------------------------------


def sheet_entry(data: bytes, name: str) -> str:
    book = openpyxl.load_workbook(io.BytesIO(data))
    return f"xl/worksheets/sheet{book.sheetnames.index(name) + 1}.xml"


def with_entry(data: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    """The workbook with one entry of its archive changed, without any program's help."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.namelist():
            before = old.read(entry)
            after = change(before) if entry == name else before
            assert entry != name or after != before
            new.writestr(entry, after)
    return out.getvalue()


NO_WORKBOOK: dict[str, Callable[[bytes], bytes]] = {
    "nothing": lambda data: b"",
    "text": lambda data: b"ref,name,mass_kg\n" * 50,
    "cut off at the end": lambda data: data[:-30],
    "cut off in the middle": lambda data: data[: len(data) // 2],
    "its end only": lambda data: data[len(data) // 2 :],
    "damaged in the middle": lambda data: data[:600] + bytes(400) + data[1000:],
    "another archive": lambda data: zipped({"readme.txt": b"hello"}),
    "archive of nothing": lambda data: zipped({}),
    "no list of sheets": lambda data: zipped({name: text for name, text in unzipped(data).items() if name != "xl/workbook.xml"}),
    "no shared texts": lambda data: zipped({name: text for name, text in unzipped(data).items() if "sharedStrings" not in name}),
    "a sheet that breaks off": lambda data: with_entry(data, "xl/worksheets/sheet1.xml", lambda xml: xml[: len(xml) // 2]),
    "a cell in no column": lambda data: with_entry(data, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(b'r="A2"', b'r="ZZZZZZZ2"')),
    "a cell in no row": lambda data: with_entry(data, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(b'r="A2"', b'r="A0"')),
    "texts without number": lambda data: with_entry(
        data, "xl/sharedStrings.xml", lambda xml: re.sub(rb'ount="\d+"', b'ount="999999999999"', xml)
    ),
    "a text that is not there": lambda data: with_entry(
        data, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(b'<c r="A2" s="2" t="s"><v>', b'<c r="A2" s="2" t="s"><v>99999')
    ),
}  # fmt: skip


def zipped(entries: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, text in entries.items():
            archive.writestr(name, text)
    return out.getvalue()


def unzipped(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.mark.parametrize("name", NO_WORKBOOK)
def test_what_is_no_workbook_is_said_to_be_none(name: str, sheets: bytes, tmp_path: Path) -> None:
    fault = the_fault_of(NO_WORKBOOK[name](sheets), tmp_path)
    assert (fault.file, fault.row) == ("car.xlsx", None)
    assert fault.message.startswith("is no .xlsx workbook")


def test_a_workbook_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"car\.xlsx: cannot be read: No such file or directory"):
        read_workbook(tmp_path / "car.xlsx")


def test_a_folder_where_a_workbook_belongs(tmp_path: Path) -> None:
    (tmp_path / "car.xlsx").mkdir()
    with pytest.raises(InputError, match=r"car\.xlsx: cannot be read: Is a directory"):
        read_workbook(tmp_path / "car.xlsx")


def test_a_hundred_megabytes_are_not_even_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "car.xlsx"
    path.touch()
    os.truncate(path, 100_000_000)
    monkeypatch.delattr(Path, "read_bytes")
    with pytest.raises(InputError, match=r"car\.xlsx: is 100 MB; no workbook of a conversion is over 32 MB"):
        read_workbook(path)


def test_a_bomb_is_not_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = io.BytesIO()
    with (
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive,
        archive.open("xl/worksheets/sheet1.xml", "w") as entry,
    ):
        for _ in range(260):
            entry.write(bytes(1_000_000))
    assert len(out.getvalue()) < 2_000_000
    monkeypatch.delattr(zipfile.ZipFile, "open")
    assert "would unpack to far more" in the_fault_of(out.getvalue(), tmp_path).message


def test_an_archive_of_very_many_entries_is_not_unpacked(tmp_path: Path) -> None:
    assert "would unpack to far more" in the_fault_of(zipped({f"xl/{number}.xml": b"" for number in range(2001)}), tmp_path).message


@pytest.mark.parametrize("with_sum", [False, True], ids=["plainly", "with the right check sum"])
def test_an_archive_that_lies_about_its_sizes(with_sum: bool, sheets: bytes, tmp_path: Path) -> None:
    """The entry says a thousand bytes and holds five million; a reader that takes its word unpacks them all."""
    name = "xl/worksheets/sheet1.xml"
    long = unzipped(sheets)[name].replace(b"</sheetData>", b" " * 5_000_000 + b"</sheetData>")
    data = with_entry(sheets, name, lambda _: long)
    sizes = struct.pack("<I", len(long))
    assert data.count(sizes) == 2  # before the entry and in the directory at the end
    data = data.replace(sizes, struct.pack("<I", 1000))
    if with_sum:
        data = data.replace(struct.pack("<I", zlib.crc32(long)), struct.pack("<I", zlib.crc32(long[:1000])))
    assert the_fault_of(data, tmp_path).message.startswith("is no .xlsx workbook")


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ("A1048576", "sheet removed reaches to row 1048576, column 8; delete the cells that stand far outside"),
        ("XFD1048576", "sheet removed reaches to row 1048576, column 16384; delete the cells that stand far outside"),
        (
            "XFD3",
            "'x' stands to the right of the last named column: is the row shifted? Text that holds the separator wants quotation marks",
        ),
    ],
)
def test_a_stray_cell_far_away(place: str, says: str, sheets: bytes, tmp_path: Path) -> None:
    """A reader lays out every cell up to the last: one in the last corner took the whole program down."""
    assert the_fault_of(edited(sheets, put("removed", place, "x")), tmp_path).message == says


def test_an_entity_bomb_does_not_reach_the_reader(sheets: bytes, tmp_path: Path) -> None:
    bomb = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    texts = "xl/sharedStrings.xml"
    data = with_entry(sheets, texts, lambda xml: xml.replace(b"?>", b"?>" + bomb, 1).replace(b"<t>", b"<t>&b;", 1))
    assert texts in unzipped(safe_copy(sheets)[0])
    assert texts not in unzipped(safe_copy(data)[0])
    assert the_fault_of(data, tmp_path).message.startswith("is no .xlsx workbook")


class Panic(BaseException):
    """How a fault inside the reader arrives: it is no Exception."""


@pytest.mark.parametrize(
    ("error", "arrives_as"), [(Panic(), InputError), (ValueError(), InputError), (KeyboardInterrupt(), KeyboardInterrupt)]
)
def test_whatever_the_reader_stumbles_over_is_no_workbook(
    error: BaseException, arrives_as: type[BaseException], sheets: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Stumbling:
        @staticmethod
        def from_filelike(_: object) -> None:
            raise error

    monkeypatch.setattr(python_calamine, "CalamineWorkbook", Stumbling)
    with pytest.raises(arrives_as):
        read(sheets, tmp_path)


def test_an_entry_twice_is_read_once(sheets: bytes, pedal: Conversion, tmp_path: Path) -> None:
    """Readers differ on which of two entries of one name they take; here only one is left to take."""
    out = io.BytesIO(sheets)
    with warnings.catch_warnings(), zipfile.ZipFile(out, "a") as archive:
        warnings.simplefilter("ignore")
        archive.writestr("xl/worksheets/sheet1.xml", unzipped(sheets)["xl/worksheets/sheet1.xml"])
    assert read(out.getvalue(), tmp_path) == pedal


def test_other_entries_do_no_harm(sheets: bytes, pedal: Conversion, tmp_path: Path) -> None:
    data = zipped({**unzipped(sheets), "xl/media/image1.png": b"\x89PNG\r\n", "mimetype": b"application/x", "xl/vbaProject.bin": bytes(99)})
    assert read(data, tmp_path) == pedal
