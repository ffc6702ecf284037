"""The same conversion as one workbook, there and back without loss. Lists inside a record get a sheet of their own."""

from __future__ import annotations

import datetime
import io
import re
from collections.abc import Iterator
from pathlib import Path as FilePath
from typing import Any
from xml.sax.saxutils import escape

from halfshaft.errors import Fault, InputError, OutputError
from halfshaft.files.archive import ArchiveError, BadCell, safe_copy
from halfshaft.files.cells import CellError, kind_of, read_cell, write_number
from halfshaft.files.layout import (
    HEAD_TABLES,
    MESHES_FOLDER,
    MESSAGES_FOLDER,
    REQUIRED_FILES,
    inner_record,
    nested_fields,
    plain_fields,
    record_of,
    row_tables,
)
from halfshaft.files.mesh_cells import SHAPE_COLUMNS, SHAPE_SHEET, TooLong, mesh_of_cells, of_no_mesh, shape_rows
from halfshaft.files.message_files import LINES_COLUMNS, LINES_SHEET, line_rows, of_no_bus, values_of_lines
from halfshaft.files.message_files import TooLong as TooLongLine
from halfshaft.files.records import Draft, Path, column_of, plain
from halfshaft.files.rows import Cells, Grid, check_columns, grid_of, read_row
from halfshaft.model.base import Record
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import KEYS, nearest

HEAD_SHEET = "conversion"
MAX_WORKBOOK_BYTES = 32_000_000
# In a workbook `_x0041_` is an A, and an underscore that is none of an A's is `_x005F_`.
_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_TWO_ESCAPES = re.compile(r"_x[0-9A-Fa-f]{4}_x[0-9A-Fa-f]{4}_")


def sheets() -> Iterator[tuple[str, tuple[str, ...], type[Record]]]:
    """Every sheet with rows: its name, the path of field names from the table down, and its record type."""

    def down(path: tuple[str, ...], record: type[Record]) -> Iterator[tuple[str, tuple[str, ...], type[Record]]]:
        yield path[-1], path, record
        for field in nested_fields(record):
            yield from down((*path, field), inner_record(record, field))

    for table in row_tables():
        yield from down((table,), record_of(table))


def sheet_name(path: tuple[str, ...]) -> str:
    """`parts`, `parts.connectors`, `parts.connectors.cavities`: under the 31 characters that a sheet's name may have."""
    return ".".join(path)


def parent_columns(path: tuple[str, ...]) -> tuple[str, ...]:
    """The columns that say to which record an inner row belongs: `part`, `part` and `connector` ..."""
    return tuple(f"in_{name}" for name in path[:-1])


def write_workbook(conversion: Conversion) -> bytes:
    """The workbook's bytes; the same for the same conversion."""
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"created": datetime.datetime(2000, 1, 1)})
    head = book.add_format({"bold": True, "bottom": 1})
    text = book.add_format({"num_format": "@"})

    def put(name: str, header: tuple[str, ...], rows: list[list[Any]]) -> None:
        sheet = book.add_worksheet(name)
        sheet.freeze_panes(1, 0)
        widths = [len(word) for word in header]
        sheet.write_row(0, 0, header, head)
        for number, row in enumerate(rows, start=1):
            for column, value in enumerate(row):
                if value is None or value == "":
                    continue
                widths[column] = max(widths[column], min(60, len(str(value))))
                if isinstance(value, (int, float)) and float(f"{value:.16G}") == value:
                    sheet.write_number(number, column, value)
                elif isinstance(value, (int, float)):  # a number in a workbook has sixteen digits; this one has more
                    sheet.write_string(number, column, write_number(value), text)
                else:
                    sheet.write_string(number, column, _unmistaken(value), text)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width + 2)

    put(HEAD_SHEET, ("name", "value"), [[name, value] for name, value in _head_values(conversion)])
    for _, path, record in sheets():
        put(sheet_name(path), (*parent_columns(path), *plain_fields(record)), list(_sheet_rows(conversion, path)))
        try:
            if path == (MESHES_FOLDER,):
                put(SHAPE_SHEET, SHAPE_COLUMNS, shape_rows(conversion.meshes))
            elif path == (MESSAGES_FOLDER,):
                put(LINES_SHEET, LINES_COLUMNS, line_rows(conversion.messages))
        except (TooLong, TooLongLine) as error:
            raise OutputError(str(error)) from None
    book.close()
    return out.getvalue()


def _unmistaken(text: str) -> str:
    """A text that xlsxwriter will not take for something else.

    It takes what begins and ends as a run does for markup, and of two escapes that share an underscore it sees but
    the first. Either is handed over as markup, with every escape in it written out.
    """
    if not (text.startswith("<r>") and text.endswith("</r>")) and not _TWO_ESCAPES.search(text):
        return text
    written_out = escape(_ESCAPE.sub("_x005F_", text)).replace("_x", "_&#120;")
    return f'<r><t xml:space="preserve">{written_out}</t></r>'


def _head_values(conversion: Conversion) -> Iterator[tuple[str, Any]]:
    def down(stem: str, values: dict[str, Any]) -> Iterator[tuple[str, Any]]:
        for name, value in values.items():
            if isinstance(value, dict):
                yield from down(f"{stem}.{name}", value)
            else:
                yield f"{stem}.{name}", _cell(value)

    for table in HEAD_TABLES:
        yield from down(table, plain(getattr(conversion, table)))


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ";".join(_list_item(item) for item in value)
    return value


def _list_item(item: Any) -> str:
    return " ".join(write_number(number) for number in item) if isinstance(item, tuple) else str(item)


def _sheet_rows(conversion: Conversion, path: tuple[str, ...]) -> Iterator[list[Any]]:
    def down(records: tuple[Any, ...], table: str, rest: tuple[str, ...], keys: list[Any]) -> Iterator[list[Any]]:
        for record in records:
            kind: type[Record] = type(record)
            if rest:
                own = getattr(record, KEYS.get(table, ("ref",))[0])
                yield from down(getattr(record, rest[0]), rest[0], rest[1:], [*keys, own])
            else:
                yield [*keys, *(_cell(getattr(record, name)) for name in plain_fields(kind))]

    yield from down(getattr(conversion, path[0]), path[0], path[1:], [])


def read_workbook(path: FilePath) -> Conversion:
    """The conversion in a workbook.

    Raises InputError with every fault, each with sheet, row and column.
    """
    return _WorkbookReader(_grids(FilePath(path))).read()


def _grids(path: FilePath) -> dict[str, list[list[str]]]:
    """All sheets as text, after making sure that unpacking them will not fill the memory."""

    def refuse(message: str) -> InputError:
        return InputError([Fault(file=path.name, message=message)])

    try:
        size = path.stat().st_size
        if size > MAX_WORKBOOK_BYTES:
            raise refuse(f"is {size / 1e6:.0f} MB; no workbook of a conversion is over {MAX_WORKBOOK_BYTES / 1e6:.0f} MB")
        data, bad_cells = safe_copy(path.read_bytes())
    except OSError as error:
        raise refuse(f"cannot be read: {error.strerror}") from None
    except ArchiveError as error:
        raise refuse(str(error)) from None
    import python_calamine

    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        grids = {
            name: [[_text(cell) for cell in row] for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)]
            for name in book.sheet_names
        }
        if not grids:
            raise ValueError("a workbook has at least one sheet")
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # the reader's errors have no class in common, and those of its own making are not even Exceptions
        raise refuse("is no .xlsx workbook that can be read") from None
    if bad_cells:
        raise InputError([_fault_of(cell, grids.get(cell.sheet, [])) for cell in bad_cells])
    return grids


def _fault_of(cell: BadCell, grid: list[list[str]]) -> Fault:
    header = grid[0] if grid else []
    column = header[cell.column - 1] if cell.column <= len(header) else ""
    return Fault(file=f"sheet {cell.sheet}", row=cell.row, column=column or None, message=cell.message)


def _text(cell: Any) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, (int, float)):
        return write_number(cell) if abs(cell) < 1e15 else repr(cell)
    return str(cell)


class _WorkbookReader:
    def __init__(self, grids: dict[str, list[list[str]]]) -> None:
        self.grids = grids
        self.draft = Draft()
        self.head_rows: dict[str, int] = {}
        self.rows: dict[tuple[str, ...], list[tuple[int, dict[str, Any], tuple[str, ...]]]] = {}

    def read(self) -> Conversion:
        known = {HEAD_SHEET, SHAPE_SHEET, LINES_SHEET, *(sheet_name(path) for _, path, _ in sheets())}
        for name in self.grids:
            if name not in known:
                self._fault(name, message=f"no sheet of a conversion is called so{nearest(name, known)}")
        for name in (HEAD_SHEET, *(file.removesuffix(".csv") for file in REQUIRED_FILES if file.endswith(".csv"))):
            if name not in self.grids:
                self._fault(name, message="this sheet is missing and must be there")
                self.draft.lost.add(name)
        if HEAD_SHEET not in self.grids:
            self.draft.lost.update(HEAD_TABLES)
        else:
            self._read_heads()
        for _, path, record in sheets():
            self._read_sheet(path, record)
        refs, buses = (
            {self._own_key(table, values) for _, values, _ in self.rows.get((table,), [])} for table in (MESHES_FOLDER, MESSAGES_FOLDER)
        )
        for table in row_tables():
            self._build_table(table)
        self.draft.faults += of_no_mesh(self.grids.get(SHAPE_SHEET, []), refs)
        self.draft.faults += of_no_bus(self.grids.get(LINES_SHEET, []), buses)
        return self.draft.finish(self._place)

    def _fault(self, sheet: str, *, message: str, row: int | None = None, column: str | None = None) -> None:
        self._add_faults([Fault(file=f"sheet {sheet}", row=row, column=column, message=message)])

    def _add_faults(self, faults: list[Fault]) -> None:
        self.draft.faults += faults
        self.draft.spoilt.update((fault.file, fault.row, fault.column) for fault in faults)

    def _read_heads(self) -> None:
        grid, faults = grid_of(self.grids[HEAD_SHEET], file=f"sheet {HEAD_SHEET}")
        self.draft.faults += faults
        for column in ("name", "value"):
            if column not in grid.columns:
                self._fault(HEAD_SHEET, row=1, column=column, message="this column is missing and must be there")
                self.draft.lost.update(HEAD_TABLES)
        if self.draft.lost >= set(HEAD_TABLES):
            return
        tree: dict[str, Any] = {}
        for row, cells in grid.rows:
            name, text = cells.get("name", ""), cells.get("value", "")
            if not name:
                self._fault(HEAD_SHEET, row=row, column="name", message="is blank and must be given")
                continue
            if name in self.head_rows:
                self._fault(HEAD_SHEET, row=row, column=name, message="stands here a second time; delete one of the two rows")
                continue
            self.head_rows[name] = row
            info = _head_field(name)
            if info is None:
                self._fault(HEAD_SHEET, row=row, column=name, message=f"unknown name{nearest(name, _head_names())}")
                continue
            if not text:
                continue
            try:
                value = read_cell(text, info)
            except CellError as error:
                self._fault(HEAD_SHEET, row=row, column=name, message=str(error))
                continue
            *stems, last = name.split(".")
            branch = tree
            for stem in stems:
                branch = branch.setdefault(stem, {})
            branch[last] = value
        for table in HEAD_TABLES:
            if table in tree:
                self.draft.add_head(table, tree[table], self._place)

    def _read_sheet(self, path: tuple[str, ...], record: type[Record]) -> None:
        name, parents = sheet_name(path), parent_columns(path)
        lines = self.grids.get(name)
        if not lines:
            return
        grid, faults = grid_of(lines, file=f"sheet {name}")
        if not grid.rows and not grid.columns:
            return
        wrong_columns = check_columns(grid, record, extra=parents)
        self.draft.faults += faults + wrong_columns
        self.draft.spoilt.update((grid.file, row, fault.column) for fault in wrong_columns for row, _ in grid.rows)
        if not set(KEYS.get(name, ("ref",))) <= set(grid.columns):
            self.draft.lost.add(path[0])
        for row, cells in grid.rows:
            self._read_sheet_row(path, record, grid, row, cells)

    def _read_sheet_row(self, path: tuple[str, ...], record: type[Record], grid: Grid, row: int, cells: Cells) -> None:
        points = {field: cells.pop(field) for field in plain_fields(record) if _is_polygon(record, field) and cells.get(field)}
        values, faults = read_row(row, cells, record, file=grid.file, decimal_comma=False)
        for field, text in points.items():
            faults = [fault for fault in faults if fault.column != field]
            try:
                values[field] = tuple(tuple(float(number) for number in pair.split()) for pair in text.split(";"))
            except ValueError:
                self._fault(sheet_name(path), row=row, column=field, message=f"{text[:40]!r} is no list of corners: write x y;x y;x y")
        self._add_faults(faults)
        owners = tuple(cells.get(column, "") for column in parent_columns(path))
        values["\0faulty"] = bool(faults)
        self.rows.setdefault(path, []).append((row, values, owners))

    def _build_table(self, table: str) -> None:
        record = record_of(table)
        for row, values, _ in self.rows.get((table,), []):
            faulty = values.pop("\0faulty")
            origin: dict[Path, tuple[str, int]] = {(): (table, row)}
            raw = self._with_inner((table,), record, dict(values), (self._own_key(table, values),), origin, ())

            def place(at: Path, origin: dict[Path, tuple[str, int]] = origin) -> Fault:
                return _nearest_place(origin, at[2:])

            if table in (MESHES_FOLDER, MESSAGES_FOLDER) and not faulty:
                faulty = self._add_shape(row, raw) if table == MESHES_FOLDER else self._add_lines(row, raw)
            built = None if faulty and table in (MESHES_FOLDER, MESSAGES_FOLDER) else self.draft.build(record, raw, place, (table, 0))
            self.draft.add(table, None if faulty else built, raw, origin)
        self._blame_orphans(table)

    def _add_shape(self, row: int, raw: dict[str, Any]) -> bool:
        """Put the surface to a row of the sheet of meshes; whether that failed."""
        more = mesh_of_cells(raw, self.grids.get(SHAPE_SHEET, []), row)
        if isinstance(more, list):
            self.draft.faults += more
            return True
        raw |= more
        return False

    def _add_lines(self, row: int, raw: dict[str, Any]) -> bool:
        """Put the lines of its file to a row of the sheet of messages; whether that failed."""
        more = values_of_lines(raw, self.grids.get(LINES_SHEET, []), row)
        if isinstance(more, Fault):
            self.draft.faults.append(more)
            return True
        raw |= more
        return False

    def _blame_orphans(self, table: str) -> None:
        """Rows of inner sheets that belong to nothing. What hangs on such a row in turn is no second fault."""
        for path in sorted((path for path in self.rows if path[0] == table and len(path) > 1), key=len):
            orphans = [(row, " / ".join(owners)) for row, values, owners in self.rows[path] if "\0faulty" in values]
            if not orphans:
                continue
            self.draft.lost.add(table)
            above = path[:-1]
            if sheet_name(above) not in self.grids:
                self._fault(sheet_name(above), message="this sheet is missing and must be there")
                return
            names = {" / ".join((*owners, self._own_key(above[-1], values))) for _, values, owners in self.rows.get(above, [])}
            column = parent_columns(path)[-1]
            for row, owner in orphans:
                if (f"sheet {sheet_name(path)}", row, column) in self.draft.spoilt:
                    continue
                message = f"no {owner!r} in sheet {sheet_name(above)}, so this row belongs to nothing{nearest(owner, names)}"
                self._fault(sheet_name(path), row=row, column=column, message=message)
            return

    def _with_inner(
        self, path: tuple[str, ...], record: type[Record], values: dict[str, Any], keys: tuple[str, ...],
        origin: dict[Path, tuple[str, int]], at: Path,
    ) -> dict[str, Any]:  # fmt: skip
        """The values of a record with those of the rows that say that they belong to it."""
        for field in nested_fields(record):
            inner_path, inner = (*path, field), inner_record(record, field)
            items: list[dict[str, Any]] = []
            for row, inner_values, owners in self.rows.get(inner_path, []):
                if owners != keys or "\0faulty" not in inner_values:
                    continue
                inner_values.pop("\0faulty")
                here = (*at, field, len(items))
                origin[here] = (sheet_name(inner_path), row)
                own = self._own_key(field, inner_values)
                items.append(self._with_inner(inner_path, inner, dict(inner_values), (*keys, own), origin, here))
            if items:
                values[field] = items
        return values

    @staticmethod
    def _own_key(table: str, values: dict[str, Any]) -> str:
        return str(values.get(KEYS.get(table, ("ref",))[0], ""))

    def _place(self, path: Path) -> Fault:
        table = str(path[0])
        if table in HEAD_TABLES:
            name = column_of(path) or table
            return Fault(file=f"sheet {HEAD_SHEET}", row=self.head_rows.get(name), column=name, message="")
        origins = self.draft.origins.get(table, [])
        if len(path) < 2 or not isinstance(path[1], int) or path[1] >= len(origins):
            return Fault(file=f"sheet {table}", column=column_of(path[1:]), message="")
        return _nearest_place(origins[path[1]], path[2:])


def _nearest_place(origin: dict[Path, tuple[str, int]], inside: Path) -> Fault:
    for length in range(len(inside), -1, -1):
        if inside[:length] in origin:
            sheet, row = origin[inside[:length]]
            return Fault(file=f"sheet {sheet}", row=row, column=column_of(inside[length:]), message="")
    raise AssertionError("every row has a place of its own")


def _is_polygon(record: type[Record], field: str) -> bool:
    return field.startswith("polygon") and kind_of(record.model_fields[field].annotation) == "list"


def _head_field(name: str) -> Any:
    table, *steps = name.split(".")
    if table not in HEAD_TABLES or not steps:
        return None
    record: Any = record_of(table)
    for step in steps[:-1]:
        info = record.model_fields.get(step)
        if info is None:
            return None
        record = next(
            (
                item
                for item in (info.annotation, *getattr(info.annotation, "__args__", ()))
                if isinstance(item, type) and issubclass(item, Record)
            ),
            None,
        )
        if record is None:
            return None
    info = record.model_fields.get(steps[-1])
    return None if info is None or kind_of(info.annotation) == "record" else info


def _head_names() -> list[str]:
    def down(stem: str, record: type[Record]) -> Iterator[str]:
        for name, info in record.model_fields.items():
            inner = next(
                (
                    item
                    for item in (info.annotation, *getattr(info.annotation, "__args__", ()))
                    if isinstance(item, type) and issubclass(item, Record)
                ),
                None,
            )
            if inner is None:
                yield f"{stem}.{name}"
            else:
                yield from down(f"{stem}.{name}", inner)

    return [name for table in HEAD_TABLES for name in down(table, record_of(table))]
