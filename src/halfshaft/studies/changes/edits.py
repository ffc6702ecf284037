"""Every field in which two conversions differ. What is not found here is not different."""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from typing import Any, get_args

from halfshaft.model.base import Record
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import KEYS, key_of
from halfshaft.studies.changes.records import Edit, Value

Fields = dict[str, Any]
Rows = dict[str, dict[str, Fields]]
# What may be carried from one box to another is known by its own mark, and the box is one of its fields.
CARRIED = {"boxes.modules": "box", "boxes.plates": "box"}
ORDER = "order of rows"


def edits_between(before: Conversion, after: Conversion) -> tuple[Edit, ...]:
    """All of them, table by table in the order of the model."""
    # Most tables are the same, and to see that takes no time at all.
    differ = [name for name in type(before).model_fields if getattr(before, name) != getattr(after, name)]
    was, now = rows_of(before, differ), rows_of(after, differ)
    return tuple(
        edit for table in dict.fromkeys([*was, *now]) for edit in _table(table, was.get(table, {}), now.get(table, {}), (was, now))
    )


def rows_of(conversion: Conversion, tables: Sequence[str]) -> Rows:
    """Every record of some tables as a row of plain fields, by table and key; what is nested is a table of its own."""
    rows: Rows = {}
    for name in tables:
        value = getattr(conversion, name)
        for record in value if isinstance(value, tuple) else (value,):
            _put(rows, name, _words(key_of(name, record)) if isinstance(value, tuple) else "", record)
    return rows


def _put(rows: Rows, table: str, key: str, record: Record) -> None:
    fields: Fields = {}
    at = rows.setdefault(table, {})
    copies = 1
    unique = key
    # A key that stands twice is a fault of the folder, but nothing may be lost over it.
    while unique in at:
        copies += 1
        unique = f"{key}#{copies}"
    at[unique] = fields
    for name in type(record).model_fields:
        value = getattr(record, name)
        inner = f"{table}.{name}"
        if isinstance(value, Record):
            _put(rows, inner, unique, value)
        elif _holds_records(type(record), name):
            for child in value or ():
                mark = _words(key_of(inner, child))
                _put(rows, inner, mark if inner in CARRIED else f"{unique}.{mark}", child)
                if inner in CARRIED:
                    next(reversed(rows[inner].values()))[CARRIED[inner]] = unique
        else:
            fields[name] = value


def _holds_records(record: type[Record], field: str) -> bool:
    return any(isinstance(inner, type) and issubclass(inner, Record) for inner in get_args(record.model_fields[field].annotation))


def _table(table: str, was: dict[str, Fields], now: dict[str, Fields], rows: tuple[Rows, Rows]) -> Iterator[Edit]:
    for key in dict.fromkeys([*was, *now]):
        if key not in now:
            yield from _whole(table, key, was[key], rows, gone=True)
        elif key not in was:
            yield from _whole(table, key, now[key], rows, gone=False)
        else:
            old, new = was[key], now[key]
            yield from (
                Edit(table, key, name, _value(old.get(name)), _value(new.get(name)))
                for name in dict.fromkeys([*old, *new])
                if old.get(name) != new.get(name)
            )
    stay = [key for key in was if key in now]
    moved = [key for key in now if key in was]
    if stay != moved:
        yield Edit(table, "", ORDER, ", ".join(stay), ", ".join(moved))


def _whole(table: str, key: str, fields: Fields, rows: tuple[Rows, Rows], *, gone: bool) -> Iterator[Edit]:
    """A row that came or went; what is nested in it came or went with it, and is not said again."""
    parent, _, _ = table.rpartition(".")
    if parent and table not in CARRIED:
        above = key if key in {**rows[0].get(parent, {}), **rows[1].get(parent, {})} else key.rpartition(".")[0]
        if any(above not in side.get(parent, {}) for side in rows):
            return
    words = _summary(table, fields)
    yield Edit(table, key, "", words if gone else None, None if gone else words)


def _summary(table: str, fields: Fields) -> str:
    """A row in a few words: its name where it has one, else its first fields."""
    for name in ("name", "meaning"):
        if fields.get(name):
            return str(fields[name])
    own = KEYS.get(table, ("ref",))
    shown = [f"{name} {_value(value)}" for name, value in fields.items() if value not in (None, "", ()) and name not in own]
    return ", ".join(shown[:4]) or "listed"


def _value(value: Any) -> Value:
    """A field for a cell: numbers stay numbers, the rest in words."""
    if isinstance(value, str) and "\n" in value:  # a whole file: what it says stands in rows of its own
        return f"{value.count(chr(10)):,} lines, sum {zlib.crc32(value.encode()):08x}"
    if value is None or isinstance(value, str):
        return value or None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return value
    return "; ".join(_words(item) for item in value) or None


def _words(value: Any) -> str:
    return "/".join(map(_words, value)) if isinstance(value, tuple) else str(value)
