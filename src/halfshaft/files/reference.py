"""The reference of the files, written from the model itself, so that it cannot say anything else."""

from __future__ import annotations

from typing import Any

from pydantic.fields import FieldInfo

from halfshaft.files.cells import kind_of, write_cell
from halfshaft.files.layout import (
    HEAD_FILE,
    HEAD_TABLES,
    MESSAGES_FOLDER,
    PARTS_FOLDER,
    TOML_TABLES,
    csv_tables,
    file_of,
    inner_record,
    nested_fields,
    plain_fields,
    record_of,
)
from halfshaft.files.start import choices, record_in
from halfshaft.model.base import DeviceConnector, DeviceElement, LoadElement, PinOrSplice, Record, RefersTo
from halfshaft.model.references import KEYS, mark_of

_KINDS = {"float": "number", "int": "whole number", "bool": "yes or no", "str": "text", "list": "list"}


def reference() -> str:
    """The whole page as Markdown."""
    lines = [
        "# The files of a conversion",
        "",
        "Written from the model by `make docs`; do not edit. A conversion is a folder: TOML for what is nested, CSV for what is long.",
        "Numbers end in their unit. In a CSV, a list is written with `;` between its items; columns may stand in any order.",
        "A column without *required* may be left out or left blank.",
        "",
    ]
    lines += [f"## {HEAD_FILE}", ""]
    for table in HEAD_TABLES:
        lines += _head(table, record_of(table))
    for table in TOML_TABLES:
        lines += [
            f"## {file_of(table)}",
            "",
            f"`[[{table}]]` {_sentence(record_of(table))}",
            "",
            *_fields(record_of(table)),
            *_nested(record_of(table)),
        ]
    for table in csv_tables():
        keys = ", ".join(f"`{key}`" for key in KEYS.get(table, ("ref",)))
        lines += [
            f"## {file_of(table)}",
            "",
            f"{_sentence(record_of(table))} No two rows have the same {keys}.",
            "",
            *_fields(record_of(table)),
        ]
    record = record_of(PARTS_FOLDER)
    lines += [
        f"## {PARTS_FOLDER}/*.toml",
        "",
        f"{_sentence(record)} One file a part, named after its `ref`.",
        "",
        *_fields(record),
        *_nested(record),
        f"## {MESSAGES_FOLDER}/*.dbc",
        "",
        f"{_sentence(record_of(MESSAGES_FOLDER))} Any program for CAN messages writes such files; [CAN buses](buses.md) says what is read out of it.",
    ]
    return "\n".join(lines).rstrip() + "\n"


def _sentence(record: type[Record]) -> str:
    return " ".join((record.__doc__ or "").split())


def _head(stem: str, record: type[Record]) -> list[str]:
    lines = [f"### [{stem}]", "", _sentence(record), "", *_fields(record)]
    for name, info in record.model_fields.items():
        inner = record_in(info.annotation)
        if inner is not None:
            lines += _head(f"{stem}.{name}", inner)
    return lines


def _nested(record: type[Record]) -> list[str]:
    lines: list[str] = []
    for name in nested_fields(record):
        inner = inner_record(record, name)
        lines += [f"### {name}", "", f"A list inside each. {_sentence(inner)}", "", *_fields(inner), *_nested(inner)]
    return lines


def _fields(record: type[Record]) -> list[str]:
    rows = [
        f"| `{name}` | {_kind(info)} | {info.description or ''} | {_rules(record, name, info)} |"
        for name, info in record.model_fields.items()
        if name in plain_fields(record) and record_in(info.annotation) is None
    ]
    return ["| name | kind | what it is | rules |", "| --- | --- | --- | --- |", *rows, ""]


def _kind(info: FieldInfo) -> str:
    return _KINDS[kind_of(info.annotation)]


def _rules(record: type[Record], name: str, info: FieldInfo) -> str:
    rules = ["required"] if info.is_required() else []
    default = None if info.is_required() else info.get_default(call_default_factory=True)
    if default not in (None, "", ()):
        rules.append(f"{write_cell(default)} where blank")
    mark = mark_of(record, name)
    if isinstance(mark, RefersTo):
        rules.append(f"one of {file_of(mark.table)}")
    elif isinstance(mark, PinOrSplice):
        rules.append("a pin `device.connector.cavity` or a splice")
    elif isinstance(mark, DeviceConnector):
        rules.append("`device.connector`")
    elif isinstance(mark, (LoadElement, DeviceElement)):
        rules.append("`device.element`")
    rules += _limits(info)
    words = [word for word in choices(info.annotation) if word]
    if words:
        rules.append("one of " + ", ".join(f"`{word}`" for word in words))
    return "; ".join(rules)


def _limits(info: FieldInfo) -> list[str]:
    found: dict[str, Any] = {}
    pending: list[Any] = [*info.metadata]
    while pending:
        item = pending.pop()
        pending.extend(getattr(item, "metadata", ()))
        for word in ("gt", "ge", "lt", "le"):
            value = getattr(item, word, None)
            if value is not None:
                found[word] = value
    shown = {"gt": "over", "ge": "at least", "lt": "under", "le": "at most"}
    # Bounds that only keep out nonsense are not worth a reader's time.
    return [f"{shown[word]} {value:g}" for word, value in sorted(found.items()) if abs(value) < 1000]
