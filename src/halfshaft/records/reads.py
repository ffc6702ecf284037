"""Does a conversion read? What is kept must come back from its files, so what was made by hand is looked at before it is kept."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from halfshaft.errors import Fault, InputError
from halfshaft.files.faults import model_faults
from halfshaft.files.layout import HEAD_TABLES, file_of
from halfshaft.files.records import column_of
from halfshaft.model.base import Record
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import bad_references, key_of


def changed_tables(before: Conversion, after: Conversion) -> tuple[str, ...]:
    """The tables, and heads, in which two conversions differ."""
    return tuple(name for name in Conversion.model_fields if not _same(getattr(before, name), getattr(after, name)))


def _same(before: Any, after: Any) -> bool:
    return before is after or bool(before == after)


def as_read(conversion: Conversion, like: Conversion | None = None) -> Conversion:
    """The conversion as it will be read from its files. `like` is one that is known to read: what it shares with it is not looked at again.

    Raises InputError with everything that would not read.
    """
    faults: list[Fault] = []
    tables: dict[str, Any] = {name: getattr(conversion, name) for name in Conversion.model_fields}
    for name in Conversion.model_fields if like is None else changed_tables(like, conversion):
        value = tables[name]
        if isinstance(value, tuple):
            sound = {id(row) for row in getattr(like, name, ())}
            tables[name] = tuple(row if id(row) in sound else _looked_at(name, row, faults) for row in value)
        else:
            tables[name] = _looked_at(name, value, faults)
    if faults:
        raise InputError(faults)
    read = Conversion(**tables)
    faults = [_fault(read, bad.path, bad.message) for bad in bad_references(read)]
    if faults:
        raise InputError(faults)
    return read


def _looked_at(table: str, record: Record, faults: list[Fault]) -> Record:
    try:
        return type(record).model_validate(record.model_dump())
    except ValidationError as error:
        faults += [
            Fault(file=file_of(table), column=column_of(loc), message=f"{name_of(table, record)}: {sentence}")
            for loc, sentence in model_faults(error, type(record))
        ]
        return record


def name_of(table: str, record: Record) -> str:
    """What a row is called in a sentence; a head by its table."""
    return table if table in HEAD_TABLES else words_of_key(key_of(table, record))


def words_of_key(key: Any) -> str:
    """The key of a row as text: `W103`, or `night/PUMP1.motor`."""
    return "/".join(map(str, key)) if isinstance(key, tuple) else str(key)


def _fault(conversion: Conversion, path: tuple[str | int, ...], message: str) -> Fault:
    table, *inside = path
    value = getattr(conversion, str(table))
    if isinstance(value, tuple) and inside and isinstance(inside[0], int):
        row = words_of_key(key_of(str(table), value[inside[0]]))
        return Fault(file=file_of(str(table)), column=column_of(tuple(inside[1:])), message=f"{row}: {message}")
    return Fault(file=file_of(str(table)), column=column_of(tuple(inside)), message=message)
