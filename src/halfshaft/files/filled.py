"""A filled test sheet: which lines there are, and what was found at each. All faults at once, with row, column and remedy."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path as FilePath

from halfshaft.errors import Fault, InputError
from halfshaft.files.cells import CellError, read_number, write_cell
from halfshaft.files.folder import MAX_FILE_BYTES, csv_grid, decoded
from halfshaft.files.rows import Cells
from halfshaft.model.reading import NO, YES, Measured, Reading
from halfshaft.model.references import nearest

COLUMNS = ("no", "loom", "between", "and", "state", "quantity", "expect", "low", "high", "unit", "found", "by")
# Sheets whose lines differ in them have these too; the date is for the people who sign.
MORE_COLUMNS = ("instrument", "basis", "date")
NEEDED = ("no", "loom", "between", "and", "unit", "found")
# What a meter that shows no reading is written down as.
OPEN_WORDS = frozenset(
    {"open", "ol", "o.l", "o.l.", "0l", "inf", "infinity", "∞", ">1m", "> 1m", ">1mω", "> 1 mω", ">1 mω", ">1mohm", "> 1 mohm"}
)
SHOWN_DECIMALS = 3
# More rows than this that fit nothing are another revision's sheet, told once.
MISFITS_TOLD = 5
ANSWERS = {"yes": YES, "y": YES, "no": NO, "n": NO}
# How volts begin: a sign, the true minus of print too, or the word for it.
_SIGNS = {"+": 1.0, "-": -1.0, "\N{MINUS SIGN}": -1.0, "plus": 1.0, "minus": -1.0}

# By loom, every sheet that may be filled for it: one by hand, one by a tester. A line has one number on all of them.
Sheets = Mapping[str, Sequence[Sequence[Reading]]]


def blank_sheet(loom: str, readings: Iterable[Reading]) -> bytes:
    """The lines of one loom as CSV, with `found` and `by` left to fill."""
    lines = tuple(readings)
    has_more = any(item.instrument or item.basis for item in lines)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow((*COLUMNS, *MORE_COLUMNS) if has_more else COLUMNS)
    for item in lines:
        limits = (_shown(item.low), _shown(item.high)) if item.quantity != "seen" else ("", "")
        more = (item.instrument, item.basis, "") if has_more else ()
        writer.writerow([item.number, loom, *item.between, item.state, item.quantity, _expect(item), *limits, item.unit, "", "", *more])
    return out.getvalue().encode()


def _expect(item: Reading) -> str:
    if item.quantity == "seen":
        return "yes"
    return "open" if item.expected is None else _signed(item) + _shown(item.expected)


def _signed(item: Reading) -> str:
    """A plus before volts: their sign is what is looked for."""
    return "+" if item.quantity == "voltage" and (item.expected or 0.0) > 0 else ""


def _shown(value: float | None) -> str:
    return "" if value is None else write_cell(round(value, SHOWN_DECIMALS))


def read_filled(path: FilePath, sheets: Sheets) -> dict[str, list[Measured]]:
    """What was found, by loom, at each line of the sheet that was filled; lines that are missing count as not measured.

    Raises InputError with every fault that was found.
    """
    name = path.name
    try:
        if path.is_dir():
            raise InputError([Fault(file=str(path), message="is a folder; name the filled CSV file")])
        if path.stat().st_size > MAX_FILE_BYTES:
            raise InputError([Fault(file=name, message="is larger than any test sheet")])
        text = decoded(path.read_bytes(), name)
    except OSError as error:
        raise InputError([Fault(file=str(path), message=f"cannot be read: {error.strerror}")]) from None
    if isinstance(text, Fault):
        raise InputError([text])
    try:
        grid, faults = csv_grid(text, name, (*COLUMNS, *MORE_COLUMNS))
    except csv.Error as error:
        raise InputError([Fault(file=name, message=f"is no table of comma separated values: {error}")]) from None
    missing = [column for column in NEEDED if column not in grid.columns]
    faults += [Fault(file=name, row=1, column=column, message="this column is missing and must be there") for column in missing]
    if missing:
        raise InputError(faults)
    found: dict[str, dict[int, Measured]] = {}
    others: list[Fault] = []
    for row, cells in grid.rows:
        try:
            reading = _line(cells, sheets)
            lines = found.setdefault(cells["loom"], {})
            if reading.number in lines:
                raise _CellFault("no", f"line {reading.number} of {cells['loom']} stands twice; keep one")
            value = _found(cells.get("found", ""), reading, decimal_comma=grid.decimal_comma)
            lines[reading.number] = Measured(reading=reading, found=value, by=cells.get("by", ""))
        except _OtherSheet as fault:
            others.append(Fault(file=name, row=row, column=fault.column, message=str(fault)))
        except _CellFault as fault:
            faults.append(Fault(file=name, row=row, column=fault.column, message=str(fault)))
    faults = sorted([*faults, *_others_told(others)], key=lambda fault: fault.row or 0)
    if not grid.rows:
        faults.append(Fault(file=name, message="holds no line"))
    if faults:
        raise InputError(faults)
    return {loom: _whole(sheets[loom], lines) for loom, lines in found.items()}


def _others_told(others: list[Fault]) -> list[Fault]:
    """Rows that the sheet does not have: each, or the first for all where so many tell of a sheet of another revision."""
    if len(others) <= MISFITS_TOLD:
        return others
    return [replace(others[0], message=f"{others[0].message} ({len(others) - 1} more rows do not fit either)")]


def found_value(text: str, reading: Reading) -> float | None:
    """What was typed for one line, as a number of its unit; infinity for no reading, None for nothing. Raises ValueError in a sentence."""
    return _found(text.strip(), reading, decimal_comma="," in text)


class _CellFault(ValueError):
    def __init__(self, column: str, message: str) -> None:
        super().__init__(message)
        self.column = column


class _OtherSheet(_CellFault):
    """A line that this conversion's sheet does not have: told once, for all rows of a sheet of another revision are such."""


def _line(cells: Cells, sheets: Sheets) -> Reading:
    """The line of the conversion that a row is."""
    loom = cells.get("loom", "")
    if loom not in sheets:
        raise _CellFault("loom", f"no loom {loom!r}{nearest(loom, sheets)}")
    try:
        number = int(cells.get("no", ""))
    except ValueError:
        raise _CellFault("no", f"{cells.get('no', '')!r} is no number of a line") from None
    lines = {item.number: item for sheet in sheets[loom] for item in sheet}
    reading = lines.get(number)
    if reading is None:
        raise _OtherSheet("no", f"{loom} has no line {number}; the last is {max(lines, default=0)}. Is the sheet of another revision?")
    for column, right in (("between", reading.between[0]), ("and", reading.between[1]), ("unit", reading.unit)):
        if cells.get(column, "") != right:
            raise _OtherSheet(
                column,
                f"line {number} of {loom} has {right!r} here, not {cells.get(column, '')!r}. Is the sheet of another revision? Make the book again",
            )
    return reading


def _found(text: str, reading: Reading, *, decimal_comma: bool) -> float | None:
    if not text:
        return None
    if reading.quantity == "seen":
        return _answer(text)
    if text.lower() in OPEN_WORDS:
        return math.inf
    if reading.quantity == "insulation" and text.startswith(">"):
        # A tester at the end of its range: more than it can show.
        text = text[1:].strip()
    sign = 1.0
    if reading.quantity == "voltage":
        sign, text = _sign_of(text)
    try:
        value = sign * read_number(text, decimal_comma)
    except CellError as error:
        raise _CellFault("found", f"{error}; or write `open` where the meter shows no reading") from None
    if value < 0 and reading.quantity not in ("diode", "voltage"):
        cure = "write it without its sign" if reading.quantity == "amount" else "zero the meter with its leads together, and read again"
        raise _CellFault("found", f"{text} {reading.unit} is below nought: {cure}")
    return value


def _answer(text: str) -> float:
    if text.lower() not in ANSWERS:
        raise _CellFault("found", f"{text!r} is no answer: write yes or no")
    return ANSWERS[text.lower()]


def _sign_of(text: str) -> tuple[float, str]:
    """The sign that volts are written with, and what follows it. Without one nobody knows whether it was looked at."""
    words = text.lower()
    for mark, sign in _SIGNS.items():
        if words.startswith(mark):
            rest = text[len(mark) :].strip()
            if rest[:1] in _SIGNS:
                raise _CellFault("found", f"{text!r} has two signs: write one, as the meter shows it")
            return sign, rest
    if not words.strip("0., "):
        return 1.0, text
    raise _CellFault(
        "found",
        f"{text!r} has no sign: write +{text} or -{text} as the meter shows it, red lead on the first pin; where a spreadsheet drops the plus, write `plus {text}`",
    )


def _whole(sheets: Sequence[Sequence[Reading]], lines: Mapping[int, Measured]) -> list[Measured]:
    """Every line of the sheet that was filled, known by the most lines in common, and other lines that were there."""
    sheet = max(sheets, key=lambda sheet: (sum(item.number in lines for item in sheet), -len(sheet)))
    numbers = {item.number for item in sheet}
    more = [item for number, item in sorted(lines.items()) if number not in numbers]
    return [*(lines.get(item.number) or Measured(reading=item, found=None) for item in sheet), *more]
