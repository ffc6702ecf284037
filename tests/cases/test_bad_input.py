"""One mistake at a time in a copy of the demo conversion: where it is said to be, and in which words.

Every case asserts that there is one fault and no second one that only follows from the first.
"""

from __future__ import annotations

import csv
import io
import os
import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from halfshaft.errors import Fault, InputError
from halfshaft.files.folder import read_folder

TERN = Path(__file__).parents[2] / "examples" / "tern"


@dataclass(frozen=True)
class Mistake:
    """Something to do to a folder; returns the row of the file on which it was done."""

    file: str
    column: str | None
    make: Callable[[Path], int | None]

    def __call__(self, folder: Path) -> int | None:
        return self.make(folder)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(TERN, tmp_path / "tern"))


def faults_of(folder: Path) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        read_folder(folder)
    return caught.value.faults


def the_fault_of(folder: Path) -> Fault:
    faults = faults_of(folder)
    assert len(faults) == 1, "\n".join(map(str, faults[:20]))
    return faults[0]


# --- ways to make a mistake ---------------------------------------------------------------------------------------------


def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def rows_of(path: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text_of(path), newline="")))


def save(path: Path, rows: list[list[str]]) -> None:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")


def row_of(rows: list[list[str]], *key: str) -> int:
    """The row, counted from 1, that begins with these cells."""
    return next(number for number, row in enumerate(rows, start=1) if row[: len(key)] == list(key))


def cell(file: str, key: str | tuple[str, ...], column: str, text: str) -> Mistake:
    """Another text in one cell, in the row that begins with `key`."""

    def make(folder: Path) -> int:
        rows = rows_of(folder / file)
        number = row_of(rows, *([key] if isinstance(key, str) else key))
        rows[number - 1][rows[0].index(column)] = text
        save(folder / file, rows)
        return number

    return Mistake(file, column, make)


def again(file: str, *key: str) -> Mistake:
    """The row that begins with `key` a second time, at the end."""

    def make(folder: Path) -> int:
        rows = rows_of(folder / file)
        rows.append(rows[row_of(rows, *key) - 1])
        save(folder / file, rows)
        return len(rows)

    return Mistake(file, None, make)


def header(file: str, column: str, name: str) -> Mistake:
    """Another name over a column."""

    def make(folder: Path) -> int:
        rows = rows_of(folder / file)
        rows[0][rows[0].index(column)] = name
        save(folder / file, rows)
        return 1

    return Mistake(file, name or None, make)


def no_column(file: str, column: str) -> Mistake:
    def make(folder: Path) -> int:
        rows = rows_of(folder / file)
        at = rows[0].index(column)
        save(folder / file, [row[:at] + row[at + 1 :] for row in rows])
        return 1

    return Mistake(file, column, make)


def swap(file: str, old: str, new: str, encoding: str = "utf-8") -> Mistake:
    """Another text in place of the first such text."""

    def make(folder: Path) -> int:
        text = text_of(folder / file)
        (folder / file).write_bytes(text.replace(old, new, 1).encode(encoding))
        return text[: text.index(old)].count("\n") + 1

    return Mistake(file, None, make)


def line(file: str, number: int, text: str) -> Mistake:
    """One more line before line `number`."""

    def make(folder: Path) -> int:
        lines = text_of(folder / file).split("\n")
        lines.insert(number - 1, text)
        (folder / file).write_text("\n".join(lines), encoding="utf-8")
        return number

    return Mistake(file, None, make)


def added(file: str) -> Mistake:
    return Mistake(file, None, lambda folder: (folder / file).touch())


def gone(file: str) -> Mistake:
    return Mistake(file, None, lambda folder: (folder / file).unlink())


def renamed(file: str, name: str) -> Mistake:
    def make(folder: Path) -> int:
        (folder / file).rename(folder / name)
        return 1

    return Mistake(name, None, make)


# --- the cases ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Case:
    """A mistake, the column at which it must be found, and words that must be in the sentence."""

    name: str
    mistake: Mistake
    column: str | None
    says: tuple[str, ...]


def case(name: str, mistake: Mistake, *says: str, at: str | None = None) -> Case:
    return Case(name=name, mistake=mistake, column=at or mistake.column, says=says)


FILES = [
    *(
        case(f"{name} missing", gone(name), "is missing")
        for name in ("conversion.toml", "devices.csv", "tails.csv", "points.csv", "runs.csv", "looms.csv", "wires.csv")
    ),
    case("stray csv", added("wirse.csv"), "no file of a conversion is called so", "did you mean 'wires.csv'?"),
    case("stray toml", added("conversions.toml"), "did you mean 'conversion.toml'?"),
    case("stray file in parts", added("parts/wires.csv"), "no file of a conversion is called so"),
    case("NUL byte", swap("points.csv", "clip", "cl\0p"), "holds bytes that are no text"),
    case("cp1252", swap("points.csv", "left sill", "Böschung", encoding="cp1252"), "is not UTF-8", "save it again as `CSV UTF-8`"),
    case("UTF-16", swap("devices.csv", "ref", "ref", encoding="utf-16"), "is not UTF-8", "save it again as `CSV UTF-8`"),
    case("cp1252 in TOML", swap("parts/AT-PED.toml", "accelerator", "Gaspédal", encoding="cp1252"), "is not UTF-8"),
    case("open quotation mark", swap("looms.csv", '"open, tied"', '"open, tied'), "is no table"),
]

COLUMNS = [
    case("missing", no_column("wires.csv", "colour"), "this column is missing"),
    case("missing key", no_column("points.csv", "ref"), "this column is missing"),
    case("unknown", header("wires.csv", "via", "vja"), "unknown column; did you mean 'via'?"),
    case("unknown, far from any", header("zones.csv", "note", "Bemerkung"), "there are ambient_max_c, note, ref, water"),
    case("twice", header("wires.csv", "screen_joined_to", "screen"), "stands twice"),
    case("nameless", header("wires.csv", "screen", ""), "a column without a name"),
    case("a cell too many", swap("wires.csv", ",FR,,,,,PED", ",FR,,,,,PED,R01"), "'R01' stands to the right of the last named column"),
]

CELLS = [
    case("text for a number", cell("removed.csv", "X01", "mass_kg", "heavy"), "'heavy' stands where a number belongs"),
    case("a unit", cell("tails.csv", ("B1", "A"), "tail_mm", "12 mm"), "'12 mm' holds a unit: leave out 'mm'"),
    case("decimal comma", cell("wires.csv", "W101", "section_mm2", "0,5"), "'0,5' is no number: write a decimal point"),
    case("NaN", cell("points.csv", "R01", "x_mm", "NaN"), "'NaN' is no number that can be measured"),
    case("infinity", cell("points.csv", "R01", "x_mm", "-inf"), "'-inf' is no number that can be measured"),
    case("past all floats", cell("points.csv", "R01", "x_mm", "1e999"), "'1e999' is no number that can be measured"),
    case("hexadecimal", cell("points.csv", "R01", "x_mm", "0x10"), "stands where a number belongs"),
    case("underscore", cell("points.csv", "R01", "x_mm", "1_000"), "stands where a number belongs"),
    case("negative length", cell("runs.csv", "U01", "length_taped_mm", "-215"), "-215 is too small; it must be more than 0"),
    case("zero length", cell("runs.csv", "U01", "length_taped_mm", "0"), "0 is too small; it must be more than 0"),
    case("negative mass", cell("removed.csv", "X01", "mass_kg", "-88"), "-88 is too small; it must be at least 0"),
    case("out of range", cell("points.csv", "R01", "x_mm", "1600000"), "1600000 is too large; it must be at most 100000"),
    case("share over one", cell("case_loads.csv", ("parked", "OL.clock"), "duty", "100"), "it must be at most 1"),
    case("no whole number", cell("runs.csv", "U01", "clips_between", "1.5"), "'1.5' is no whole number"),
    case("neither yes nor no", cell("cable_types.csv", "HV35", "screened", "true"), "`yes` or `no` belongs"),
    case("blank", cell("wires.csv", "W101", "colour", ""), "is blank and must be given"),
    case("spaces only", cell("wires.csv", "W101", "meaning", "  "), "is blank and must be given"),
    case("blank ref", cell("removed.csv", "X01", "ref", ""), "is blank and must be given"),
    case("list of nothing", cell("runs.csv", "U01", "may_carry", ";"), "needs at least 1 of them"),
    case("none of the choices", cell("runs.csv", "U01", "may_carry", "LV;water"), "'water' is none of LV, sense"),
    case("a colour in words", cell("wires.csv", "W101", "colour", "blue"), "'blue' is no colour", "such as BU-WH"),
    case("letters of no colour", cell("wires.csv", "W101", "colour", "BU-QQ"), "'QQ' is no colour of IEC 60757"),
    case("letters of no colour, seal", cell("seals.csv", "Q12a", "colour", "BLU"), "'BLU' is no colour"),
    case("space in a mark", cell("removed.csv", "X01", "ref", "X 01"), "'X 01' is no mark", "no spaces"),
    case("too long", cell("removed.csv", "X01", "name", "x" * 201), "is too long; at most 200 characters"),
    case("line end in a cell", cell("removed.csv", "X01", "note", "a\nb"), "cannot be printed on one line"),
]

TWICE = [
    case("wire", again("wires.csv", "W101"), "W101 stands here a second time", at="ref"),
    case("wire type", again("wire_types.csv", "0.5"), "0.5 stands here a second time", at="section_mm2"),
    case("tail", again("tails.csv", "B1", "A"), "B1 / A stands here a second time", at="device"),
    case("cable core", again("cable_cores.csv", "C1", "1"), "C1 / 1 stands here a second time", at="cable"),
    case("space", swap("spaces.toml", 'ref = "SP5"', 'ref = "SP1"'), "SP1 stands here a second time", at="ref"),
    case(
        "cavity",
        swap("parts/AT-FRB.toml", '{ ref = "11", name', '{ ref = "10", name'),
        "10 stands here a second time",
        at="connectors[2].cavities[11].ref",
    ),
    case("element", swap("parts/AT-PED.toml", "track 2 output", "track 1 output"), "a second time", at="inside[4].ref"),
]

NOWHERE = [
    case("no pin", cell("wires.csv", "W101", "to_pin", "PED.A.11"), "no pin 'PED.A.11'; did you mean 'PED.A.1'?"),
    case("no connector", cell("wires.csv", "W101", "to_pin", "PED.Z.1"), "device PED has no connector 'Z'", "'PED.A'"),
    case("no device", cell("wires.csv", "W101", "to_pin", "PEDAL.A.1"), "no device 'PEDAL'", "did you mean 'PED'?"),
    case("no splice", cell("wires.csv", "W101", "to_pin", "S44"), "no splice 'S44'; did you mean 'S4'?"),
    case("a screen's pin", cell("wires.csv", "W501", "screen_joined_to", "BMM.C.77"), "no pin 'BMM.C.77'; did you mean 'BMM.C.7'?"),
    case(
        "a screen's screen", cell("wires.csv", "W503", "screen_joined_to", "screen of SC9"), "no screen 'SC9' round any wire; did you mean"
    ),
    case("half a pin", cell("wires.csv", "W101", "to_pin", "PED.A"), "'PED.A' is no pin; a pin is written device.connector.cavity"),
    case("section", cell("wires.csv", "W101", "section_mm2", "0.6"), "no wire of 0.6 mm2 in wire_types.csv", "0.5, 0.75"),
    case("part", cell("devices.csv", "PED", "part", "AT-PEDD"), "no 'AT-PEDD' in parts; did you mean 'AT-PED'?"),
    case("point", cell("grommets.csv", "G1", "point", "R007"), "no 'R007' in points; did you mean 'R07'?"),
    case("zone", cell("devices.csv", "PED", "zone", "cabins"), "no 'cabins' in zones; did you mean 'cabin'?"),
    case("one of a list", cell("wires.csv", "W101", "via", "R01;R007"), "no 'R007' in points; did you mean 'R07'?"),
    case("loom", cell("wires.csv", "W101", "loom", "FRX"), "no 'FRX' in looms; did you mean 'FR'?"),
    case("load", cell("loads.csv", "OL.horn", "ref", "OL.hoorn"), "is called 'OL.hoorn'; did you mean 'OL.horn'?"),
    case("end of a cable", cell("cables.csv", "C1", "from_connector", "B1.PP"), "device B1 has no connector 'PP'"),
    case("tail", cell("tails.csv", ("PED", "A"), "connector", "Z"), "device PED has no connector 'Z'; there are A"),
    case(
        "stock of a cable", cell("stock.csv", "NEW96", "item", "HV36"), "nothing in the catalogues is called 'HV36'; did you mean 'HV35'?"
    ),
    case("stock of a wire", cell("stock.csv", "NEW1", "item", "0.5 BK-BX B"), "is called '0.5 BK-BX B'; did you mean '0.5 BK-BU"),
    case("stock of a section", cell("stock.csv", "NEW1", "item", "0.6 BK"), "is called '0.6 BK'; did you mean"),
    case("stock of a class", cell("stock.csv", "NEW1", "item", "0.5 PK X"), "is called '0.5 PK X'; did you mean '0.5 PK"),
    case(
        "stock of two classes", cell("stock.csv", "NEW1", "item", "0.5 BN"), "'0.5 BN' may be 0.5 BN B or 0.5 BN C; write which one it is"
    ),
    case("from TOML", swap("boxes.toml", 'space = "SP2"', 'space = "SP22"'), "no 'SP22' in spaces; did you mean 'SP2'?", at="space"),
    case("from a head", swap("conversion.toml", '"BAT"', '"BATT"'), "no 'BATT' in devices; did you mean 'BAT'?", at="supply.battery"),
    case(
        "from deep inside",
        swap("parts/AT-PED.toml", '"T12S"', '"T12X"'),
        "no 'T12X' in terminals; did you mean 'T12U'?",
        at="connectors[1].cavities[1].terminal",
    ),
]

TOML = [
    case("open text", swap("conversion.toml", '"draft"', '"draft'), "is no TOML"),
    case("open bracket", swap("conversion.toml", "[car]", "[car"), "is no TOML"),
    case("a key twice", swap("parts/AT-PED.toml", "width_mm", "length_mm"), "is no TOML"),
    case("text for a number", swap("conversion.toml", "= 2110", '= "2110"'), "'2110' stands where a number belongs", at="car.wheelbase_mm"),
    case("a number for text", swap("conversion.toml", '"C"', "3"), "put it in quotation marks", at="job.revision"),
    case("a day without marks", swap("conversion.toml", '"2026-11-20"', "2026-11-20"), "put it in quotation marks", at="job.date"),
    case("a day of another order", swap("conversion.toml", '"2026-11-20"', '"20.11.2026"'), "write year-month-day", at="job.date"),
    case("half a seat", swap("conversion.toml", "seats = 4", "seats = 4.5"), "stands where a whole number belongs", at="car.seats"),
    case(
        "a table for a number",
        swap("conversion.toml", "seats = 4", "seats = { front = 2 }"),
        "where a whole number belongs",
        at="car.seats",
    ),
    case("infinity", swap("conversion.toml", "= 2110", "= inf"), "no number that can be measured", at="car.wheelbase_mm"),
    case("a number without end", swap("conversion.toml", "seats = 4", f"seats = 0x{'f' * 6000}"), "is too large", at="car.seats"),
    case("one bracket", swap("modules.toml", "[[modules]]", "[modules]"), "write [[modules]] with two brackets", at="modules"),
    case("unknown name", swap("conversion.toml", "looseness", "loosness"), "unknown name; did you mean 'looseness'?", at="shop.loosness"),
    case("unknown table", swap("conversion.toml", "[shop]", "[shops]"), "unknown name; did you mean 'shop'?", at="shops"),
    case("another table", line("spaces.toml", 1, "[[boxes]]"), "this file holds only [[spaces]]", at="boxes"),
    case("unknown inner name", swap("parts/AT-PED.toml", "key = ", "kay = "), "unknown name; did you mean 'key'?", at="connectors[1].kay"),
    case(
        "wrong inner type",
        swap("parts/AT-PED.toml", 'sealed = "yes"', "sealed = true"),
        "True is none of yes, no, in plug",
        at="connectors[1].cavities[1].sealed",
    ),
    case("a corner short", swap("spaces.toml", "[280, -450]", "[280]"), "is missing", at="polygon_mm[2][2]"),
    case(
        "sides that cross",
        swap("spaces.toml", "[280, -450], [300, -430], [300, -35]", "[300, -35], [300, -430], [280, -450]"),
        "the side from corner 1 and the side from corner 4 meet",
        at="polygon_mm",
    ),
    case(
        "a corner twice",
        swap("spaces.toml", "[-215, -35]]", "[-215, -35], [-215, -450]]"),
        "the first corner is given again",
        at="polygon_mm",
    ),
    case(
        "a lid below the floor", swap("spaces.toml", "top_z_mm = 585", "top_z_mm = 262"), "262 is not above the floor at 262", at="top_z_mm"
    ),
    case(
        "no plan", swap("spaces.toml", "polygon_mm = [[1490", "# polygon_mm = [[1490"), "a polygon_mm or a mesh, and here neither is given"
    ),
    case("nested without end", line("conversion.toml", 12, f"x{'.x' * 1100} = 1"), "deeper than anything of a conversion"),
    case("brackets without end", line("conversion.toml", 12, f"x = {'[' * 5000}{']' * 5000}"), "is no TOML that can be read"),
]

PARTS = [
    case("named otherwise", renamed("parts/AT-PED.toml", "parts/AT-PEDAL.toml"), "must hold part 'AT-PEDAL'", "'AT-PED'", at="ref"),
    case("refers upwards", swap("parts/AT-PED.toml", '"AT-PED"', '"../AT-PED"'), "must hold part 'AT-PED'", "'../AT-PED'", at="ref"),
    case(
        "pin that is not there",
        swap("parts/AT-PED.toml", 'pin_a = "A.1"', 'pin_a = "A.11"'),
        "part AT-PED has no pin 'A.11'; did you mean 'A.1'?",
        at="inside[1].pin_a",
    ),
    case(
        "no pin at all",
        swap("parts/AT-PED.toml", 'pin_a = "A.1"', 'pin_a = "A"'),
        "'A' is no pin of a part: write connector.cavity, or ~name",
        at="inside[1].pin_a",
    ),
    case(
        "more cavities than places",
        swap("parts/AT-PED.toml", "rows = 2", "rows = 1"),
        "6 cavities do not fit 1 rows of 3",
        at="connectors[1].rows",
    ),
]

SENSE = [
    case("a run to its own beginning", cell("runs.csv", "U01", "to_point", "R01"), "run U01 begins and ends at R01"),
    case("a splice beside its run", cell("splices.csv", "S1", "from_point", "R54"), "S1 cannot be measured from R54"),
    case("a grommet nowhere", cell("grommets.csv", "G1", "point", ""), "grommet G1 needs either a point or a run"),
    case("a grommet in two places", cell("grommets.csv", "G1", "run", "U01"), "grommet G1 needs either a point or a run", at="point"),
]

ALL = {
    f"{group}: {item.name}": item
    for group, items in {
        "file": FILES, "column": COLUMNS, "cell": CELLS, "twice": TWICE, "nowhere": NOWHERE, "TOML": TOML, "part": PARTS, "sense": SENSE,
    }.items()
    for item in items
}  # fmt: skip
# Where the row that is named is not the one on which the mistake was made, or no row can be told.
ELSEWHERE = {
    "TOML: nested without end": None,
    "TOML: brackets without end": None,
    "file: open quotation mark": None,
    "TOML: no plan": 23,  # where the space begins: what is not there stands on no line
}


@pytest.mark.parametrize("name", ALL)
def test_one_mistake_is_one_fault_at_its_place(folder: Path, name: str) -> None:
    item = ALL[name]
    row = item.mistake(folder)
    fault = the_fault_of(folder)
    assert (fault.file, fault.row, fault.column) == (item.mistake.file, ELSEWHERE.get(name, row), item.column)
    for words in item.says:
        assert words in fault.message


def test_a_fault_is_one_line_that_begins_with_its_place(folder: Path) -> None:
    row = cell("wires.csv", "W101", "colour", "blue")(folder)
    with pytest.raises(InputError) as caught:
        read_folder(folder)
    assert str(caught.value).startswith(f"wires.csv, row {row}, column colour: 'blue' is no colour")
    assert "\n" not in str(caught.value)


# --- what is no fault of the row that shows it --------------------------------------------------------------------------

# Each of these is referred to from many rows elsewhere, none of which is at fault.
REFERRED_TO = {
    "a device that cannot be read": cell("devices.csv", "PED", "x_mm", "470 mm"),
    "a device whose part cannot be read": swap("parts/AT-PED.toml", "mass_kg = 0.55", 'mass_kg = "0.55"'),
    "a device without a name": cell("devices.csv", "PED", "name", ""),
    "a device without a mark": cell("devices.csv", "PED", "ref", ""),
    "a module type with a number for a mark": swap("modules.toml", '"AT-MOD8"', "8"),
    "a point that cannot be read": cell("points.csv", "R07", "kind", "clips"),
    "a run that cannot be read": cell("runs.csv", "U23", "length_taped_mm", "0"),
    "a loom that cannot be read": cell("looms.csv", "FR", "carries", "lv"),
    "a splice that cannot be read": cell("splices.csv", "S1", "at_mm", "-60"),
    "a wire type that cannot be read": cell("wire_types.csv", "0.5", "wall", "very thin"),
    "a load that cannot be read": cell("loads.csv", "OL.clock", "steady_a", "-1"),
    "a space that cannot be read": swap("spaces.toml", "floor_z_mm = 262", "floor_z_mm = true"),
    "a module type that cannot be read": swap("modules.toml", "cells_in_series = 8", "cells_in_series = 0"),
    "a part that is no TOML": swap("parts/AT-PED.toml", "rows = 2", "rows 2"),
    "devices without their key": no_column("devices.csv", "ref"),
    "tails without their key": no_column("tails.csv", "device"),
    "points of a damaged file": swap("points.csv", "R01", "R\0"),
    "spaces of a damaged file": swap("spaces.toml", "[[spaces]]", "[[spaces"),
    "terminals of a damaged file": swap("terminals.csv", "ref", "ref", encoding="utf-16"),
    "a car that cannot be read": swap("conversion.toml", "seats = 4", "seats = 400"),
    "a job that cannot be read": swap("conversion.toml", 'ref = "TERN"', 'ref = "TERN TWO"'),
}


@pytest.mark.parametrize("name", REFERRED_TO)
def test_who_refers_to_a_faulty_row_is_not_at_fault(folder: Path, name: str) -> None:
    row = REFERRED_TO[name](folder)
    assert the_fault_of(folder).row == row


def test_several_mistakes_are_all_reported_in_the_order_of_files_and_rows(folder: Path) -> None:
    """One of each stage of reading: the folder, a table's header, a cell, a record, a reference, the sense of it."""
    mistakes = [
        added("wire.csv"),
        header("zones.csv", "note", "notes"),
        cell("wires.csv", "W102", "section_mm2", "half"),
        cell("wires.csv", "W101", "colour", "blue"),
        swap("parts/AT-PED.toml", '"T12S"', '"T12X"'),
        cell("runs.csv", "U01", "to_point", "R01"),
        swap("conversion.toml", "seats = 4", "seats = 0"),
        cell("devices.csv", "VCU", "zone", ""),  # no mistake: a zone may be left blank
    ]
    rows = [mistake(folder) for mistake in mistakes]
    assert [(fault.file, fault.row, fault.column) for fault in faults_of(folder)] == [
        ("conversion.toml", rows[6], "car.seats"),
        ("parts/AT-PED.toml", rows[4], "connectors[1].cavities[1].terminal"),
        ("runs.csv", rows[5], "to_point"),
        ("wire.csv", None, None),
        ("wires.csv", rows[3], "colour"),
        ("wires.csv", rows[2], "section_mm2"),
        ("zones.csv", 1, "notes"),
    ]


def test_every_faulty_cell_of_a_row_is_named(folder: Path) -> None:
    row = None
    for column, text in (("section_mm2", "0,5"), ("colour", "blue"), ("to_pin", ""), ("meaning", "x" * 300)):
        row = cell("wires.csv", "W101", column, text)(folder)
    assert [(fault.row, fault.column) for fault in faults_of(folder)] == [
        (row, "colour"), (row, "meaning"), (row, "section_mm2"), (row, "to_pin"),
    ]  # fmt: skip


def test_a_misspelt_required_column_is_named_under_both_names(folder: Path) -> None:
    header("wires.csv", "colour", "color")(folder)
    missing, unknown = faults_of(folder)
    assert (missing.column, missing.message) == ("color", "unknown column; did you mean 'colour'?")
    assert (unknown.column, unknown.message) == ("colour", "this column is missing and must be there")


def test_an_empty_part_file_is_said_to_lack_everything(folder: Path) -> None:
    (folder / "parts" / "AT-NEW.toml").touch()
    faults = faults_of(folder)
    assert {fault.file for fault in faults} == {"parts/AT-NEW.toml"}
    assert {"ref", "name", "mass_kg"} <= {fault.column for fault in faults}


def test_a_mark_that_is_a_number_is_told_apart_from_those_that_are_text(folder: Path) -> None:
    """The nearest name is looked for among those that are there, also where one of them is no text."""
    (folder / "parts" / "AT-NEW.toml").write_text("ref = 5\n")
    cell("devices.csv", "PED", "part", "AT-PEDD")(folder)
    told = {(fault.file, fault.column): fault.message for fault in faults_of(folder)}
    assert told["parts/AT-NEW.toml", "ref"] == "5 stands where text belongs; put it in quotation marks"
    assert told["devices.csv", "part"] == "no 'AT-PEDD' in parts; did you mean 'AT-PED'?"


# --- a car that could not stand -----------------------------------------------------------------------------------------


def test_four_scales_that_show_nothing(folder: Path) -> None:
    for wheel in ("front_left_kg = 118", "front_right_kg = 121", "rear_left_kg = 226", "rear_right_kg = 229"):
        swap("conversion.toml", wheel, f"{wheel.split()[0]} = 0")(folder)
    fault = the_fault_of(folder)
    assert (fault.file, fault.column, fault.message) == ("conversion.toml", "car", "the four scales add up to nothing")


@pytest.mark.parametrize("height_mm", [2110, 2500])
def test_an_axle_lifted_as_high_as_the_wheelbase_is_long(folder: Path, height_mm: float) -> None:
    swap("conversion.toml", "height_mm = 560", f"height_mm = {height_mm}")(folder)
    fault = the_fault_of(folder)
    assert (fault.file, fault.column) == ("conversion.toml", "car")
    assert fault.message == "an axle cannot be lifted as high as the wheelbase is long"


def test_a_day_that_is_on_no_calendar(folder: Path) -> None:
    swap("conversion.toml", "2026-11-20", "2026-02-30")(folder)
    fault = the_fault_of(folder)
    assert (fault.file, fault.column, fault.message) == ("conversion.toml", "job", "day is out of range for month")


# --- what is no folder, and what in a folder is no file -----------------------------------------------------------------


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    fault = the_fault_of(tmp_path / "nowhere")
    assert fault.file == str(tmp_path / "nowhere")
    assert fault.message.startswith("is not there")


def test_a_file_where_a_folder_belongs(folder: Path) -> None:
    assert the_fault_of(folder / "wires.csv").message.startswith("is a file, not a folder")


def test_an_empty_folder(tmp_path: Path) -> None:
    fault = the_fault_of(tmp_path)
    assert (fault.file, fault.message) == (str(tmp_path), "holds no conversion: there is no conversion.toml in it")


def test_a_name_that_is_longer_than_a_disk_allows(tmp_path: Path) -> None:
    assert the_fault_of(tmp_path / ("x" * 5000)).message.startswith("cannot be read")


def test_strangers_with_other_endings_are_left_alone(folder: Path) -> None:
    before = read_folder(folder)
    (folder / "photo.jpg").write_bytes(b"\xff\xd8\0")
    (folder / ".wires.csv.swp").write_bytes(b"\0")
    (folder / "parts" / "AT-PED.pdf").write_bytes(b"%PDF")
    (folder / "notes").mkdir()
    assert read_folder(folder) == before


def test_a_name_that_is_no_text_is_shown_all_the_same(folder: Path) -> None:
    try:
        (folder / os.fsdecode(b"wires\xff.csv")).touch()
    except OSError:
        pytest.skip("this disk takes only names that are text")
    fault = the_fault_of(folder)
    assert fault.file.encode() == b"wires?.csv"
    assert "did you mean 'wires.csv'?" in fault.message


def test_a_folder_where_a_table_belongs(folder: Path) -> None:
    (folder / "wires.csv").unlink()
    (folder / "wires.csv").mkdir()
    fault = the_fault_of(folder)
    assert (fault.file, fault.message) == ("wires.csv", "is not a file")


@pytest.mark.parametrize("name", ["wires.csv", "parts/AT-PED.toml", "conversion.toml"])
def test_a_link_that_leads_out_of_the_folder_is_not_followed(folder: Path, name: str) -> None:
    outside = folder.parent / "outside"
    (folder / name).rename(outside)
    (folder / name).symlink_to(outside)
    fault = the_fault_of(folder)
    assert fault.file == name
    assert "leads out of the folder" in fault.message


def test_a_folder_of_parts_that_lies_outside_is_not_followed(folder: Path) -> None:
    (folder / "parts").rename(folder.parent / "outside")
    (folder / "parts").symlink_to(folder.parent / "outside", target_is_directory=True)
    faults = faults_of(folder)
    assert {fault.file for fault in faults} == {f"parts/{path.name}" for path in (TERN / "parts").iterdir()}
    assert all("leads out of the folder" in fault.message for fault in faults)


def test_a_link_inside_the_folder_is_followed(folder: Path) -> None:
    before = read_folder(folder)
    (folder / "wires.csv").rename(folder / "wires, new.txt")
    (folder / "wires.csv").symlink_to("wires, new.txt")
    assert read_folder(folder) == before


def test_a_link_to_itself(folder: Path) -> None:
    (folder / "wires.csv").unlink()
    (folder / "wires.csv").symlink_to("wires.csv")
    fault = the_fault_of(folder)
    assert (fault.file, fault.row) == ("wires.csv", None)
    assert "leads back to itself" in fault.message or "cannot be read" in fault.message


@pytest.mark.parametrize("name", ["wires.csv", "parts/AT-PED.toml"])
def test_a_hundred_megabytes_are_not_even_opened(folder: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    os.truncate(folder / name, 100_000_000)
    opened = []
    read_bytes = Path.read_bytes
    monkeypatch.setattr(Path, "read_bytes", lambda path: opened.append(path.name) or read_bytes(path))
    fault = the_fault_of(folder)
    assert (fault.file, fault.message) == (name, "is 100 MB; no table of a conversion is over 16 MB")
    assert Path(name).name not in opened
    assert opened


def test_rubbish_that_is_small_enough_to_read(folder: Path) -> None:
    (folder / "wires.csv").write_bytes(bytes(range(256)) * 1000)
    assert the_fault_of(folder).file == "wires.csv"


def test_many_faults_of_one_file_are_found_in_short_time(folder: Path) -> None:
    """Each fault looks up its line. A search from the top for each took ten seconds here, one for all takes a tenth."""
    (folder / "boxes.toml").write_text("[[boxes]]\n" * 1000)
    before = time.process_time()
    faults = faults_of(folder)
    assert time.process_time() - before < 4
    assert len(faults) == 9000
    assert {fault.row for fault in faults} == set(range(1, 1001))
