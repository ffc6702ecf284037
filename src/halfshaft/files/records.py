"""A conversion to plain values and back: what the folder and the workbook share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from halfshaft.errors import Fault, InputError
from halfshaft.files.faults import model_faults
from halfshaft.files.layout import HEAD_TABLES, nested_fields, record_of, row_tables
from halfshaft.model.base import Record
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import KEYS, bad_references

Path = tuple[str | int, ...]
Place = Callable[[Path], Fault]


def plain(record: Record) -> dict[str, Any]:
    """A record as plain values in the order of the model, leaving out what is blank.

    A setting that stands at its default is written all the same: the shop sees it, and a later default changes nothing.
    """
    values: dict[str, Any] = {}
    for name in type(record).model_fields:
        value = getattr(record, name)
        if isinstance(value, Record):
            values[name] = plain(value)
        elif name in nested_fields(type(record)):
            if value:
                values[name] = [plain(item) for item in value]
        elif value not in (None, "", ()):
            values[name] = value
    return values


def frozen(value: Any) -> Any:
    """Lists as tuples all the way down, as frozen records hold them."""
    if isinstance(value, list):
        return tuple(frozen(item) for item in value)
    if isinstance(value, dict):
        return {key: frozen(item) for key, item in value.items()}
    return value


@dataclass(slots=True)
class Draft:
    """Records as they come in, with the way back from each to its place in a file.

    `unread` holds, by table, the keys of rows that could not be read, and `lost` the tables of which that is true.
    `spoilt` holds file, row and column of cells that could not be read.
    """

    heads: dict[str, Record] = field(default_factory=dict)
    rows: dict[str, list[Record]] = field(default_factory=dict)
    origins: dict[str, list[Any]] = field(default_factory=dict)
    unread: dict[str, set[Any]] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)
    spoilt: set[tuple[str, int | None, str | None]] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)

    def add(self, table: str, record: Record | None, raw: Mapping[str, Any], origin: Any) -> None:
        """Take a record in; of one that could not be read, remember what it would have been called."""
        if record is not None:
            self.rows.setdefault(table, []).append(record)
            self.origins.setdefault(table, []).append(origin)
            return
        key = tuple(raw.get(name) for name in KEYS.get(table, ("ref",)))
        if len(key) == 1 and isinstance(key[0], float if table == "wire_types" else str):
            self.unread.setdefault(table, set()).add(key[0])
        else:
            self.lost.add(table)  # without its name, any name that leads nowhere may be the one meant

    def add_head(self, table: str, values: Any, place: Place) -> None:
        """Take in a table that is a single record."""
        record = self.build(record_of(table), values, place, (table,))
        if record is None:
            self.lost.add(table)
        else:
            self.heads[table] = record

    def build(self, record: type[Record], values: Any, place: Place, path: Path) -> Record | None:
        """The record of these values, or None and every fault in them.

        Where a cell is spoilt already, what the model makes of it is no second fault; nor is what it makes of the whole row.
        """
        try:
            return record.model_validate(frozen(values))
        except ValidationError as error:
            for loc, sentence in model_faults(error, record):
                fault = place((*path, *loc))
                if not self._is_spoilt(fault):
                    self.faults.append(Fault(file=fault.file, row=fault.row, column=fault.column, message=sentence))
            return None

    def _is_spoilt(self, fault: Fault) -> bool:
        if fault.column is None:
            return any((fault.file, fault.row) == (file, row) for file, row, _ in self.spoilt)
        return (fault.file, fault.row, fault.column) in self.spoilt

    def finish(self, place: Place) -> Conversion:
        """The conversion, once every name in it leads somewhere.

        Raises InputError with all faults, in the order of files and rows.
        """
        parts: dict[str, Any] = {**self.heads, **{table: tuple(self.rows.get(table, ())) for table in row_tables()}}
        shell = Conversion.model_construct(**parts)
        for bad in bad_references(shell, self.unread, self.lost):
            fault = place(bad.path)
            self.faults.append(Fault(file=fault.file, row=fault.row, column=fault.column, message=bad.message))
        for name in ("job", "car"):
            if name not in self.heads and name not in self.lost:
                fault = place((name,))
                self.faults.append(Fault(file=fault.file, row=fault.row, column=name, message="is missing and must be given"))
        if self.faults:
            unique = sorted(set(self.faults), key=lambda f: (f.file, f.row or 0, f.column or "", f.message))
            raise InputError(unique)
        return Conversion(**parts)


def column_of(path: Path) -> str | None:
    """The dotted name that a person looks for: `connectors[2].cavities[3].terminal`, or just `colour`."""
    words = ""
    for step in path:
        words += f"[{step + 1}]" if isinstance(step, int) else ("." if words else "") + step
    return words or None


__all__ = ["HEAD_TABLES", "Draft", "Path", "Place", "column_of", "frozen", "plain", "record_of"]
