"""Rows of text cells to records: shared by the CSV files and the sheets of the workbook."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from halfshaft.errors import Fault
from halfshaft.files.cells import CellError, is_optional, read_cell
from halfshaft.files.faults import model_faults
from halfshaft.files.layout import own_file_fields, plain_fields
from halfshaft.model.base import Record
from halfshaft.model.references import nearest

Cells = dict[str, str]
# What stands beside a table in files of their own: from a row's number and values to further values, or the faults there.
Beside = Callable[[int, dict[str, Any]], dict[str, Any] | list[Fault]]


@dataclass(slots=True)
class Grid:
    """A table as it stands in a file: each row with its number there and its cells by column."""

    file: str
    columns: list[str] = field(default_factory=list)
    rows: list[tuple[int, Cells]] = field(default_factory=list)
    decimal_comma: bool = False


def grid_of(lines: Sequence[Sequence[str]], *, file: str, numbers: Sequence[int] | None = None) -> tuple[Grid, list[Fault]]:
    """Name the cells of a table by its header row; blank rows and blank columns at the edges are passed over.

    `numbers` are those of the rows in their file, where that is not simply one after the other.
    """
    grid, faults = Grid(file), []
    first_row, *row_numbers = numbers or range(1, len(lines) + 1) or (1,)
    header = [cell.strip() for cell in lines[0]] if lines else []
    while header and not header[-1]:
        header.pop()
    seen: set[str] = set()
    for name in header:
        if not name:
            faults.append(Fault(file=file, row=first_row, message="a column without a name stands between others; name it or delete it"))
        elif name in seen:
            faults.append(Fault(file=file, row=first_row, column=name, message="stands twice; delete one of the two columns"))
        seen.add(name)
    grid.columns = header
    for number, line in zip(row_numbers, lines[1:], strict=True):
        cells = [cell.strip() for cell in line]
        if not any(cells):
            continue
        extra = [cell for cell in cells[len(header) :] if cell]
        if extra:
            faults.append(
                Fault(
                    file=file,
                    row=number,
                    message=f"{extra[0][:40]!r} stands to the right of the last named column: is the row shifted? Text that holds the separator wants quotation marks",
                )
            )
        # Where a column stands twice, the first one counts: that is the one that was there before the copy.
        grid.rows.append((number, dict(reversed(list(zip(header, cells, strict=False))))))
    return grid, faults


def check_columns(grid: Grid, record: type[Record], *, extra: Iterable[str] = ()) -> list[Fault]:
    """Columns that nobody knows, with the likely name, and required ones that are not there."""
    names = [*extra, *plain_fields(record)]
    faults = [
        Fault(file=grid.file, row=1, column=name, message=f"unknown column{nearest(name, names)}")
        for name in grid.columns
        if name and name not in names
    ]
    for name in names:
        info = record.model_fields.get(name)
        if name not in grid.columns and (info is None or info.is_required()):
            faults.append(Fault(file=grid.file, row=1, column=name, message="this column is missing and must be there"))
    return faults


@dataclass(slots=True)
class ReadRow:
    """One row: its number, the record if it could be read, and the raw values that could."""

    row: int
    record: Record | None
    raw: dict[str, Any]


def read_row(row: int, cells: Cells, record: type[Record], *, file: str, decimal_comma: bool) -> tuple[dict[str, Any], list[Fault]]:
    """The values of one row, each fault as a sentence; blank cells of optional fields are left to their default."""
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    for name in plain_fields(record):
        text = cells.get(name, "")
        info = record.model_fields[name]
        if not text:
            if info.is_required() and not is_optional(info.annotation):
                if name in cells:
                    faults.append(Fault(file=file, row=row, column=name, message="is blank and must be given"))
            continue
        try:
            values[name] = read_cell(text, info, decimal_comma=decimal_comma)
        except CellError as error:
            faults.append(Fault(file=file, row=row, column=name, message=str(error)))
    return values, faults


def read_rows(grid: Grid, record: type[Record], beside: Beside | None = None) -> tuple[list[ReadRow], list[Fault]]:
    """All rows of a table as records, with every fault in it."""
    faults = check_columns(grid, record)
    missing = {fault.column for fault in faults if "is missing" in fault.message}
    read: list[ReadRow] = []
    for number, cells in grid.rows:
        values, row_faults = read_row(number, cells, record, file=grid.file, decimal_comma=grid.decimal_comma)
        passed_over = missing | set(own_file_fields(record))
        built = _built(record, values, row_faults, grid.file, number, passed_over)
        if beside and not row_faults and not missing:
            more = beside(number, values)
            if isinstance(more, list):
                row_faults += more
            else:
                values |= more
                built = _built(record, values, row_faults, grid.file, number, missing)
        faults.extend(row_faults)
        read.append(ReadRow(number, None if row_faults else built, values))
    return read, faults


def _built(
    record: type[Record], values: dict[str, Any], row_faults: list[Fault], file: str, row: int, passed_over: set[str | None]
) -> Record | None:
    """The record of a row; where there is none, its faults are added, but no second one to a cell and none of what is passed over."""
    try:
        return record.model_validate(values)
    except ValidationError as error:
        already = {fault.column for fault in row_faults} | passed_over
        for loc, sentence in model_faults(error, record):
            column = str(loc[0]) if loc else None
            if column not in already:
                row_faults.append(Fault(file=file, row=row, column=column, message=sentence))
        return None
