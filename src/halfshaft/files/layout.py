"""Which part of a conversion stands in which file."""

from __future__ import annotations

from functools import cache
from typing import Any, get_args, get_origin

from halfshaft.files.cells import kind_of
from halfshaft.model.base import OwnFile, Record
from halfshaft.model.conversion import Conversion

HEAD_FILE = "conversion.toml"
# Single records, as against tables with many rows.
HEAD_TABLES = tuple(name for name, info in Conversion.model_fields.items() if get_origin(info.annotation) is not tuple)
PARTS_FOLDER = "parts"
MESHES_FOLDER = "meshes"
MESSAGES_FOLDER = "messages"

# What is nested is TOML, what is long is CSV. `parts` is a folder with one TOML file a part, `messages` one with a file a bus.
TOML_TABLES = ("spaces", "modules", "boxes")
# A folder without one of these is more likely damaged than small; `new --blank` writes them with their headers.
REQUIRED_FILES = (HEAD_FILE, "devices.csv", "tails.csv", "points.csv", "runs.csv", "looms.csv", "wires.csv")


@cache
def record_of(table: str) -> type[Record]:
    """The record type of one row of a table."""
    annotation = Conversion.model_fields[table].annotation
    inner = get_args(annotation)
    record: Any = inner[0] if inner else annotation
    assert isinstance(record, type)
    assert issubclass(record, Record)
    return record


@cache
def row_tables() -> tuple[str, ...]:
    """All tables with many rows, in the order of the model."""
    return tuple(name for name in Conversion.model_fields if name not in HEAD_TABLES)


@cache
def csv_tables() -> tuple[str, ...]:
    """The tables that are CSV files."""
    return tuple(name for name in row_tables() if name not in (*TOML_TABLES, PARTS_FOLDER, MESSAGES_FOLDER))


def file_of(table: str) -> str:
    """The file of a table, as a path inside the folder."""
    if table in HEAD_TABLES:
        return HEAD_FILE
    if table in (PARTS_FOLDER, MESSAGES_FOLDER):
        return f"{table}/"
    return f"{table}.toml" if table in TOML_TABLES else f"{table}.csv"


def tables_of(file: str) -> tuple[str, ...]:
    """The tables that a file holds, or belongs to."""
    folder, slash, _ = file.partition("/")
    return HEAD_TABLES if file == HEAD_FILE else (folder if slash else file.rpartition(".")[0],)


@cache
def nested_fields(record: type[Record]) -> tuple[str, ...]:
    """Fields of a record that hold further records."""
    return tuple(
        name
        for name, info in record.model_fields.items()
        if kind_of(info.annotation) == "list" and _holds_records(info.annotation) and name not in own_file_fields(record)
    )


def inner_record(record: type[Record], field: str) -> type[Record]:
    """The record type that a nested field holds."""
    inner: type[Record] = get_args(record.model_fields[field].annotation)[0]
    return inner


@cache
def plain_fields(record: type[Record]) -> tuple[str, ...]:
    """Fields of a record that fit one cell."""
    return tuple(name for name in record.model_fields if name not in (*nested_fields(record), *own_file_fields(record)))


@cache
def own_file_fields(record: type[Record]) -> tuple[str, ...]:
    """Fields of a record that stand in a file of their own."""
    return tuple(name for name, info in record.model_fields.items() if any(isinstance(mark, OwnFile) for mark in info.metadata))


def _holds_records(annotation: Any) -> bool:
    inner = get_args(annotation)
    return bool(inner) and isinstance(inner[0], type) and issubclass(inner[0], Record)
