"""A filled test sheet as it comes back from the bench: every mistake at once, with its row, column and remedy."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

import pytest

from halfshaft.errors import InputError
from halfshaft.files.filled import COLUMNS, MORE_COLUMNS, blank_sheet, read_filled
from halfshaft.model.reading import ALL_OTHERS, Reading

LINES = (
    Reading(number=1, between=("P.A.1", "Q.A.1"), state="bare", quantity="resistance", expected=20.0, low=0.0, high=30.0, unit="mΩ", wires=("W1",), suspect=""),
    Reading(number=2, between=("P.A.1", ALL_OTHERS), state="bare", quantity="open", expected=None, low=1e6, high=None, unit="Ω", wires=("W1",), suspect=""),
    Reading(number=3, between=("P.A.1", "Q.A.2"), state="with P", quantity="diode", expected=0.6, low=0.2, high=0.9, unit="V", wires=(), suspect=""),
)  # fmt: skip
TESTER = (LINES[0], LINES[2], Reading(number=4, between=("P.A.1", "Q.A.2"), state="bare", quantity="open", expected=None, low=1e6, high=None, unit="Ω", wires=(), suspect=""))  # fmt: skip
SHEETS = {"FR": (LINES, TESTER)}


def written(path: Path, *found: str, separator: str = ",") -> Path:
    rows = blank_sheet("FR", LINES).decode().splitlines()
    assert rows[0] == ",".join(COLUMNS)
    filled = [rows[0], *(f"{row[:-2]},{value},AB" for row, value in zip(rows[1:], found, strict=False))]
    path.write_text("\n".join(line.replace(",", separator) for line in filled) + "\n", encoding="utf-8")
    return path


def faults(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_filled(path, SHEETS)
    return [str(fault) for fault in caught.value.faults]


def test_a_sheet_that_is_filled_is_read_line_by_line(tmp_path):
    measured = read_filled(written(tmp_path / "f.csv", "22.5", "OL", "0.58"), SHEETS)["FR"]
    assert [item.found for item in measured] == [22.5, math.inf, 0.58]
    assert [item.reading for item in measured] == list(LINES)
    assert {item.by for item in measured} == {"AB"}


@pytest.mark.parametrize("word", ["open", "Open", "OPEN", "OL", "O.L", "0L", ">1M", "> 1 MΩ", "∞"])
def test_words_for_no_reading(tmp_path, word):
    assert read_filled(written(tmp_path / "f.csv", "22.5", word, "0.58"), SHEETS)["FR"][1].found == math.inf


def test_semicolons_tabs_and_decimal_commas_as_spreadsheets_save_them(tmp_path):
    path = tmp_path / "f.csv"
    for separator in (";", "\t"):
        text = "no;loom;between;and;unit;found\r\n1;FR;P.A.1;Q.A.1;mΩ;22,5\r\n".replace(";", separator)
        path.write_bytes(text.encode("utf-8-sig"))
        assert read_filled(path, SHEETS)["FR"][0].found == 22.5


def test_a_line_that_is_blank_or_not_there_is_not_measured(tmp_path):
    measured = read_filled(written(tmp_path / "f.csv", "22.5", ""), SHEETS)["FR"]
    assert [item.found for item in measured] == [22.5, None, None]


def test_a_testers_sheet_is_known_by_its_lines(tmp_path):
    path = tmp_path / "t.csv"
    path.write_bytes(blank_sheet("FR", TESTER))
    measured = read_filled(path, SHEETS)["FR"]
    assert [item.reading.number for item in measured] == [1, 3, 4]
    assert all(item.found is None for item in measured)


def test_every_mistake_is_told_at_once_with_row_column_and_remedy(tmp_path):
    path = tmp_path / "f.csv"
    path.write_text(
        "no,loom,between,and,unit,found\n"
        "1,FR,P.A.1,Q.A.1,mΩ,-3\n"
        "1,FR,P.A.1,Q.A.1,mΩ,5\n"
        '2,FR,P.A.1,all others,Ω,"2,5"\n'
        "3,FR,P.A.1,Q.A.9,V,0.6\n"
        "9,FR,P.A.1,Q.A.1,mΩ,5\n"
        "1,FT,P.A.1,Q.A.1,mΩ,5\n"
        "x,FR,P.A.1,Q.A.1,mΩ,5\n"
        "3,FR,P.A.1,Q.A.2,V,about half\n",
        encoding="utf-8",
    )
    told = faults(path)
    for number, words in enumerate(
        (
            "row 2, column found: -3 mΩ is below nought: zero the meter",
            "row 4, column found: '2,5' is no number: write a decimal point",
            "row 5, column and: line 3 of FR has 'Q.A.2' here, not 'Q.A.9'. Is the sheet of another revision?",
            "row 6, column no: FR has no line 9; the last is 4",
            "row 7, column loom: no loom 'FT'; did you mean 'FR'?",
            "row 8, column no: 'x' is no number of a line",
            "row 9, column found: 'about half' stands where a number belongs; or write `open`",
        )
    ):
        assert words in told[number]
    assert len(told) == 7


def test_a_line_that_stands_twice_is_a_mistake(tmp_path):
    path = tmp_path / "f.csv"
    path.write_text("no,loom,between,and,unit,found\n1,FR,P.A.1,Q.A.1,mΩ,5\n1,FR,P.A.1,Q.A.1,mΩ,6\n", encoding="utf-8")
    assert faults(path) == ["f.csv, row 3, column no: line 1 of FR stands twice; keep one"]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "column no: this column is missing"),
        (b"no,loom,between,and,unit,found\n", "holds no line"),
        (b"no,loom,between,and,unit\n1,FR,P.A.1,Q.A.1,m\n", "column found: this column is missing and must be there"),
        (b"\xff\xfe\x00", "is not UTF-8 text"),
        (b"no,lo\x00om\n", "holds bytes that are no text"),
        (b'no,loom,between,and,unit,found\n1,"FR', "is no table of comma separated values"),
    ],
)
def test_what_is_no_sheet_is_said_in_a_sentence(tmp_path, data, words):
    path = tmp_path / "f.csv"
    path.write_bytes(data)
    assert any(words in fault for fault in faults(path))


def test_a_file_that_is_not_there_or_a_folder(tmp_path):
    assert "cannot be read" in faults(tmp_path / "none.csv")[0]
    assert "is a folder" in faults(tmp_path)[0]


VOLTS = (Reading(number=1, between=("SB1.J1.2", "SB1.J1.1"), state="bars bolted", quantity="voltage", expected=3.65, low=2.8, high=4.2, unit="V", wires=(), suspect=""),)  # fmt: skip


def read_volts(path: Path, found: str) -> float | None:
    rows = blank_sheet("sense-B1", VOLTS).decode().splitlines()
    path.write_text(f"{rows[0]}\n{rows[1][:-2]},{found},AB\n", encoding="utf-8")
    return read_filled(path, {"sense-B1": (VOLTS,)})["sense-B1"][0].found


def test_volts_are_expected_with_their_sign():
    assert ",voltage,+3.65,2.8,4.2,V,," in blank_sheet("sense-B1", VOLTS).decode()


@pytest.mark.parametrize(
    ("words", "volts"),
    [("+3.65", 3.65), ("-3.65", -3.65), ("\N{MINUS SIGN}3.65", -3.65), ("+ 3.65", 3.65), ("plus 3.65", 3.65), ("Minus 3.65", -3.65), ("0", 0), ("0.00", 0), ("", None), ("OL", math.inf)],
)  # fmt: skip
def test_volts_with_a_sign_or_the_word_for_it(tmp_path, words, volts):
    assert read_volts(tmp_path / "v.csv", words) == volts


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("3.65", "'3.65' has no sign: write +3.65 or -3.65 as the meter shows it"),
        ("0.02", "has no sign"),
        ("+-3.65", "has two signs"),
        ("+3.65 V", "holds a unit: leave out 'V'"),
        ("+", "stands where a number belongs"),
        ("plus", "stands where a number belongs"),
    ],
)
def test_volts_without_a_sign_are_refused(tmp_path, words, told):
    with pytest.raises(InputError) as caught:
        read_volts(tmp_path / "v.csv", words)
    (fault,) = caught.value.faults
    assert told in str(fault)
    assert "row 2, column found" in str(fault)


ELECTRICS = (
    Reading(number=1, between=("B1", "body"), state="plugs off", quantity="insulation", expected=40.0, low=20.0, high=None, unit="MΩ", wires=(), suspect="", instrument="tester", basis="published"),
    Reading(number=2, between=("charge lamp", "on"), state="key on", quantity="seen", expected=1.0, low=1.0, high=1.0, unit="yes or no", wires=(), suspect="", instrument="eye", basis="common practice"),
    Reading(number=3, between=("minus post", "its lead"), state="parked", quantity="amount", expected=16.0, low=8.0, high=24.0, unit="mA", wires=(), suspect="", instrument="ammeter", basis="published"),
)  # fmt: skip


def electrics(path: Path, *found: str) -> Path:
    rows = list(csv.DictReader(io.StringIO(blank_sheet("electrics", ELECTRICS).decode())))
    assert tuple(rows[0]) == (*COLUMNS, *MORE_COLUMNS)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows({**row, "found": value} for row, value in zip(rows, found, strict=True))
    return path


@pytest.mark.parametrize(("word", "value"), [("35", 35.0), (">550", 550.0), ("> 1000", 1000.0), ("open", math.inf), ("OL", math.inf)])
def test_insulation_beyond_the_testers_range(tmp_path, word, value):
    assert read_filled(electrics(tmp_path / "f.csv", word, "yes", "16"), {"electrics": (ELECTRICS,)})["electrics"][0].found == value


@pytest.mark.parametrize(("word", "value"), [("yes", 1.0), ("Yes", 1.0), ("y", 1.0), ("no", 0.0), ("N", 0.0), ("", None)])
def test_answers(tmp_path, word, value):
    assert read_filled(electrics(tmp_path / "f.csv", "35", word, "16"), {"electrics": (ELECTRICS,)})["electrics"][1].found == value


@pytest.mark.parametrize(("found", "says"), [
    (("35", "1", "16"), "'1' is no answer: write yes or no"),
    (("35", "yes", "-16"), "below nought: write it without its sign"),
    (("-35", "yes", "16"), "zero the meter"),
])  # fmt: skip
def test_answers_and_amounts_that_cannot_be(tmp_path, found, says):
    with pytest.raises(InputError) as caught:
        read_filled(electrics(tmp_path / "f.csv", *found), {"electrics": (ELECTRICS,)})
    assert says in str(caught.value)
