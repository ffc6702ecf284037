"""Tables as grids of text: driven by the columns of the model, with what was typed and what is wrong with it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from halfshaft.errors import Fault
from halfshaft.files.cells import kind_of, write_cell
from halfshaft.files.layout import csv_tables, file_of, plain_fields, record_of, tables_of
from halfshaft.files.remedies import remedy
from halfshaft.files.start import choices
from halfshaft.model.base import DeviceConnector, DeviceElement, LoadElement, PinOrSplice, RefersTo
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import KEYS, key_of, mark_of
from halfshaft.records.reads import words_of_key

# What a heading says for the unit in which a name ends.
UNITS = {
    "mm2": "mm²", "mm": "mm", "kg": "kg", "a": "A", "v": "V", "w": "W", "ohm": "Ω", "mohm": "mΩ", "ma": "mA", "ah": "Ah", "c": "°C", "s": "s",
    "deg": "°", "pf": "pF", "nf": "nF", "eur": "EUR", "j": "J", "kw": "kW", "m": "m", "h": "h", "nm": "N m", "l": "l", "i2t": "A²s",
}  # fmt: skip
# Tables whose surfaces stand in files of their own cannot be typed.
TABLES = tuple(name for name in csv_tables() if name != "meshes")
MAX_ROWS = 20_000
MAX_CELL = 2_000


class ColumnOut(BaseModel):
    """A column: its name in the file, its heading, what belongs in it, and the values that there are to choose from."""

    name: str
    title: str
    words: str
    kind: str
    is_key: bool
    is_required: bool
    options: list[str]


class FaultOut(BaseModel):
    """What is wrong with a cell, a row or a file; `row` counts from 0 within the table, `remedy` is the nearest right text."""

    table: str
    row: int | None
    column: str | None
    message: str
    remedy: str


class GridOut(BaseModel):
    """A table as text: its columns, its rows in their order, and what is wrong with it as it was typed. `base` is the revision below it."""

    table: str
    base: str
    title: str
    file: str
    columns: list[ColumnOut]
    rows: list[list[str]]
    faults: list[FaultOut]
    is_typed: bool


def title_of(table: str) -> str:
    """What a table is called on a page."""
    words = table.replace("_", " ").capitalize()
    return words.replace("Hv ", "HV ")


def grid_of(table: str, conversion: Conversion, texts: dict[str, str] | None = None, faults: Iterable[Fault] = (), *, base: str) -> GridOut:
    """A table of a conversion, or as it stands in what was typed."""
    names = plain_fields(record_of(table))
    typed = (texts or {}).get(file_of(table))
    rows = (
        rows_of_text(typed, names)
        if typed is not None
        else [[write_cell(getattr(row, name)) for name in names] for row in getattr(conversion, table)]
    )
    return GridOut(
        table=table, base=base, title=title_of(table), file=file_of(table), columns=[_column(table, name, conversion) for name in names], rows=rows,
        faults=[item for item in faults_out(faults, texts or {}) if item.table == table], is_typed=typed is not None,
    )  # fmt: skip


def text_of_rows(table: str, rows: Sequence[Sequence[str]]) -> str:
    """The file that holds these rows as they were typed. A row stays one line, so that its number is its place."""
    names = plain_fields(record_of(table))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    writer.writerows([" ".join(cell.split()) for cell in [*row, *[""] * len(names)][: len(names)]] for row in rows)
    return out.getvalue()


def rows_of_text(text: str, names: Sequence[str]) -> list[list[str]]:
    """The rows in a file as they were typed, each cell under the column that its heading names."""
    lines = list(csv.reader(io.StringIO(text)))
    places = {name.strip(): place for place, name in enumerate(lines[0])} if lines else {}
    return [[line[places[name]] if places.get(name, len(line)) < len(line) else "" for name in names] for line in lines[1:]]


def faults_out(faults: Iterable[Fault], texts: dict[str, str]) -> list[FaultOut]:
    """Faults by table and row, with what to write instead."""
    return [_fault_out(fault, texts) for fault in faults]


def _fault_out(fault: Fault, texts: dict[str, str]) -> FaultOut:
    table = tables_of(fault.file)[0]
    is_csv = fault.file.endswith(".csv") and table in csv_tables()
    row = fault.row - 2 if is_csv and fault.row is not None and fault.row >= 2 else None
    column = fault.column.partition("[")[0] if fault.column else None
    typed = ""
    if is_csv and row is not None and column and fault.file in texts:
        cells = rows_of_text(texts[fault.file], [column])
        typed = cells[row][0] if row < len(cells) else ""
    return FaultOut(table=table, row=row, column=column, message=fault.message, remedy=remedy(fault.message, typed) if typed else "")


def _column(table: str, name: str, conversion: Conversion) -> ColumnOut:
    record = record_of(table)
    info = record.model_fields[name]
    mark = mark_of(record, name)
    options = list(choices(info.annotation)) or _options(mark, conversion)
    if name == "section_mm2" and table == "wires":
        options = [write_cell(row.section_mm2) for row in conversion.wire_types]
    return ColumnOut(
        name=name, title=heading(name), words=info.description or "", kind="colour" if _is_colour(info) else kind_of(info.annotation),
        is_key=name in KEYS.get(table, ("ref",)), is_required=info.is_required(), options=[word for word in options if word],
    )  # fmt: skip


def _options(mark: Any, conversion: Conversion) -> list[str]:
    if isinstance(mark, RefersTo):
        return [words_of_key(key_of(mark.table, row)) for row in getattr(conversion, mark.table)]
    if isinstance(mark, PinOrSplice):
        return [*conversion.cavity, *(splice.ref for splice in conversion.splices)]
    if isinstance(mark, DeviceConnector):
        return [f"{device}.{connector}" for device, connector in conversion.connector]
    if isinstance(mark, (LoadElement, DeviceElement)):
        return list(conversion.element)
    return []


def _is_colour(info: FieldInfo) -> bool:
    marks = [*info.metadata, *(mark for inner in get_args(info.annotation) for mark in getattr(inner, "__metadata__", ()))]
    return any("GNYE" in str(getattr(mark, "pattern", "")) for mark in marks)


@cache
def heading(name: str) -> str:
    """The words over a column.

    >>> heading("section_mm2"), heading("from_pin"), heading("ref")
    ('Section, mm²', 'From pin', 'Ref')
    """
    words, _, unit = name.rpartition("_")
    if words and unit in UNITS:
        return f"{words.replace('_', ' ').capitalize()}, {UNITS[unit]}"
    return name.replace("_", " ").capitalize()
