"""Message files of buses: kept as they stand, carried by the workbook, and refused with a sentence that says where and what to do."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from halfshaft.errors import Fault, InputError
from halfshaft.files.folder import folder_files, read_folder, write_folder
from halfshaft.files.message_files import file_values
from halfshaft.files.workbook import read_workbook, write_workbook
from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import MessageFile

REPO = Path(__file__).parents[2]
TERN = REPO / "examples" / "tern"
DBC = (TERN / "messages" / "CAN1.dbc").read_bytes()


@pytest.fixture(scope="module")
def tern() -> Conversion:
    return read_folder(TERN)


def folder_with(tern: Conversion, folder: Path, data: bytes, name: str = "messages/CAN1.dbc") -> Path:
    write_folder(tern, folder)
    (folder / name).write_bytes(data)
    return folder


def fault_of(folder: Path) -> Fault:
    with pytest.raises(InputError) as caught:
        read_folder(folder)
    (fault,) = caught.value.faults
    return fault


def with_file(tern: Conversion, data: bytes) -> Conversion:
    return tern.model_copy(update={"messages": (MessageFile(bus="CAN1", **file_values(data)),)})


def test_the_demo_file_says_what_its_readme_counts(tern: Conversion) -> None:
    (file,) = tern.messages
    assert len(file.messages) == 16
    assert file.nodes == ("VCU", "BMS", "INV", "CHG", "DCDC", "CC", "HTR", "DD", "DISP")
    drive = file.messages[0]
    assert (drive.name, drive.frame_id, drive.is_extended, drive.length_bytes, drive.senders, drive.cycle_ms) == (
        "VCU_Drive", 192, False, 8, ("VCU",), 10.0,
    )  # fmt: skip


# Line ends of other systems, a byte order mark, letters of both encodings, tabs, no line end at the end, lines of blanks.
AS_SAVED = {
    "windows": DBC.replace(b"\n", b"\r\n"),
    "mark": b"\xef\xbb\xbf" + DBC,
    "utf-8": DBC.replace(b'"behind the contactors"', '"hinter den Schützen °C"'.encode()),
    "latin-1": DBC.replace(b'"behind the contactors"', '"hinter den Schützen °C"'.encode("latin-1")),
    "windows letters": DBC.replace(b'"behind the contactors"', b'"\x93behind\x94 the contactors \x80"'),
    "tabs": DBC.replace(b" SG_", b"\tSG_"),
    "open end": DBC.rstrip(b"\n"),
    "blanks": DBC.replace(b"\n\nBU_", b"\n   \n\t\nBU_") + b"  \n\n",
    "looks like an escape": DBC.replace(b'"behind the contactors"', b'"_x0041_ <r>&amp;</r> =1+1 \'"'),
}


@pytest.mark.parametrize("data", AS_SAVED.values(), ids=AS_SAVED)
def test_a_file_stays_byte_for_byte_in_a_folder_and_through_a_workbook(tern: Conversion, tmp_path: Path, data: bytes) -> None:
    read = read_folder(folder_with(tern, tmp_path / "car", data))
    assert folder_files(read)["messages/CAN1.dbc"] == data
    assert len(read.messages[0].messages) == 16
    (tmp_path / "car.xlsx").write_bytes(write_workbook(read))
    again = read_workbook(tmp_path / "car.xlsx")
    assert again == read
    assert folder_files(again)["messages/CAN1.dbc"] == data


FAULTS = [
    (DBC.replace(b"BO_ 208 INV", b"BO_ 20x8 INV"), 18, "cannot be read from column 10 on, at 'INV_Motion: 8 INV'"),
    (DBC.replace(b"[-160|160] ", b"[-160|160 "), 10, "put this line right, or the end of the one before it"),
    (DBC.replace(b"BO_ 208 INV", b"BO_ 3000 INV"), 18, "more than 11 bits in message INV_Motion"),
    (DBC.replace(b"BU_: VCU", b"BU: VCU"), 7, "cannot be read from column 1 on, at 'BU: VCU BMS INV CHG DCDC CC HT'"),
    (b"", None, "is empty; put the message file of this bus here, or take this one away"),
    (b"messages of the car\n", 1, "cannot be read from column 1 on"),
    (DBC[:100] + b"\x00" + DBC[100:], DBC[:100].count(b"\n") + 1, "holds bytes that are no text; save the file again as plain text"),
    (b" " * 4_000_001, None, "no message file of one bus is over 4 MB"),
]


@pytest.mark.parametrize(("data", "row", "words"), FAULTS)
def test_a_mistake_is_one_sentence_with_file_row_and_remedy(
    tern: Conversion, tmp_path: Path, data: bytes, row: int | None, words: str
) -> None:
    fault = fault_of(folder_with(tern, tmp_path / "car", data))
    assert fault.file == "messages/CAN1.dbc"
    assert fault.row == row
    assert words in fault.message


def test_a_file_of_no_bus_says_which_buses_there_are(tern: Conversion, tmp_path: Path) -> None:
    fault = fault_of(folder_with(tern, tmp_path / "car", DBC, "messages/CAN2.dbc"))
    assert fault.file == "messages/CAN2.dbc"
    assert "did you mean 'CAN1'?" in fault.message


@pytest.mark.parametrize("name", ["tern.dbc", "messages/CAN1.DBC"])
def test_a_file_at_another_place_says_where_it_belongs(tern: Conversion, tmp_path: Path, name: str) -> None:
    fault = fault_of(folder_with(tern, tmp_path / "car", DBC, name))
    assert str(fault) == f"{name}: no file of a conversion is called so; messages of a bus stand in messages/BUS.dbc"


def test_other_files_beside_it_are_left_alone(tern: Conversion, tmp_path: Path) -> None:
    assert read_folder(folder_with(tern, tmp_path / "car", b"notes", "messages/README.txt")) == tern


def edited(tern: Conversion, path: Path, sheet: str, row: int, column: int, value: str) -> Path:
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(tern)))
    book[sheet].cell(row=row, column=column, value=value)
    book.save(path)
    return path


def test_a_mistake_in_a_workbook_names_sheet_and_row(tern: Conversion, tmp_path: Path) -> None:
    path = edited(tern, tmp_path / "car.xlsx", "messages.lines", 10, 2, "BO_ x VCU_Drive: 8 VCU")
    with pytest.raises(InputError) as caught:
        read_workbook(path)
    (fault,) = caught.value.faults
    assert (fault.file, fault.row, fault.column) == ("sheet messages.lines", 10, "line")
    assert "cannot be read from column 5 on" in fault.message


def test_lines_of_no_bus_in_a_workbook_say_so(tern: Conversion, tmp_path: Path) -> None:
    path = edited(tern, tmp_path / "car.xlsx", "messages.lines", 5, 1, "CAN7")
    with pytest.raises(InputError) as caught:
        read_workbook(path)
    assert "sheet messages.lines, row 5, column in_messages: no 'CAN7' in sheet messages; did you mean 'CAN1'?" in [
        str(fault) for fault in caught.value.faults
    ]
