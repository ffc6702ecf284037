"""What a new conversion starts from: the demo car, or empty tables with a word about each column."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from halfshaft.files.cells import kind_of, write_number
from halfshaft.files.layout import (
    HEAD_FILE,
    HEAD_TABLES,
    PARTS_FOLDER,
    TOML_TABLES,
    csv_tables,
    file_of,
    inner_record,
    nested_fields,
    plain_fields,
    record_of,
)
from halfshaft.model.base import Record, RefersTo
from halfshaft.model.references import mark_of

DEMO = "tern"
PACKAGE = Path(__file__).parent.parent


def start_files(*, blank: bool) -> dict[str, bytes]:
    """The files of a new conversion by their path in its folder."""
    return _blank_files() if blank else _demo_files()


def demo_folder() -> Path:
    """Where the demo conversions are: inside the installed package, or in the project's own folder."""
    installed = PACKAGE / "examples"
    return installed if installed.is_dir() else PACKAGE.parent.parent / "examples"


def _demo_files() -> dict[str, bytes]:
    root = demo_folder() / DEMO
    return {str(path.relative_to(root)): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}


def _blank_files() -> dict[str, bytes]:
    files = {HEAD_FILE: _blank_head()}
    for table in TOML_TABLES:
        files[file_of(table)] = _commented(f"[[{table}]]", record_of(table))
    for table in csv_tables():
        files[file_of(table)] = (",".join(plain_fields(record_of(table))) + "\n").encode()
    files[file_of("cases")] += _FIRST_CASES.encode()
    files[f"{PARTS_FOLDER}/example.toml.txt"] = _commented(
        "", record_of(PARTS_FOLDER), first='A part is a file of its own, named after its label code: AB-12.toml holds ref = "AB-12".'
    )
    files["COLUMNS.txt"] = _columns()
    return dict(sorted(files.items()))


# What a blank conversion starts with, so that it can be read at once; every line wants replacing.
_FIRST: dict[str, Any] = {
    "job.ref": "CAR",
    "job.name": "Name of the car",
    "job.owner": "Name of the shop",
    "job.revision": "A",
    "job.date": "2000-01-01",
    "car.wheelbase_mm": 2400,
    "car.track_front_mm": 1300,
    "car.track_rear_mm": 1300,
    "car.tyre_static_radius_mm": 280,
    "car.front_edge_x_mm": -700,
    "car.rear_edge_x_mm": 3100,
    "car.overall_width_mm": 1600,
    "car.overall_height_mm": 1350,
    "car.ground_clearance_mm": 150,
    "car.seats": 4,
    "car.weighed.front_left_kg": 200,
    "car.weighed.front_right_kg": 200,
    "car.weighed.rear_left_kg": 200,
    "car.weighed.rear_right_kg": 200,
    "car.weighed.state": "full of petrol, nobody in it",
    "car.limits.front_axle_kg": 600,
    "car.limits.rear_axle_kg": 600,
    "car.limits.gross_kg": 1200,
}

# States in which a car's supply is worth a look: a set to start from, to change and to shorten. Temperatures are common practice.
_FIRST_CASES = """\
parked,15,"locked, nothing plugged in",off,open,
key on,15,"key on, not ready to drive",off,open,
day drive,18,"dry, town and road",on,closed,
night and rain,8,"dipped beam, wipers, blower",on,closed,
hot,35,"hill, fan running",on,closed,
cold,-5,"night, heater on, blower full",on,closed,
AC charging,18,"key off, plugged in",on,closed,
DC charging,18,"key off, at a fast charger",on,closed,
limp,5,"DC-DC converter failed, battery alone, what can be shed is shed",failed,closed,
"""


def _blank_head() -> bytes:
    lines = ["# One conversion. Replace every value. Lines that begin with # are not read: take away the # of those that you use.", ""]
    for table in HEAD_TABLES:
        lines += _head_lines(table, record_of(table))
    return ("\n".join(lines).rstrip() + "\n").encode()


def _head_lines(stem: str, record: type[Record]) -> list[str]:
    own: list[str] = [f"[{stem}]"]
    below: list[str] = []
    for name, info in record.model_fields.items():
        inner = record_in(info.annotation)
        key = f"{stem}.{name}"
        if inner is not None:
            # An optional block stays a comment until somebody has its figures.
            below += _head_lines(key, inner) if info.is_required() else ["# " + line for line in _sample_lines(f"[{key}]", inner)] + [""]
            continue
        default = _FIRST.get(key, info.get_default(call_default_factory=True) if not info.is_required() else None)
        own.append(f"# {_words_on(record, name)}")
        own.append(f"{name} = {_toml(default)}" if default not in (None, "", ()) else f"# {name} = {_sample(name, info.annotation)}")
    return [*own, "", *below]


def record_in(annotation: Any) -> type[Record] | None:
    """The record type that a field holds one of, or None."""
    for item in (annotation, *getattr(annotation, "__args__", ())):
        if isinstance(item, type) and issubclass(item, Record):
            return item
    return None


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else write_number(value)


# Samples that say more than their kind does.
_SHAPES = {"polygon_mm": "[[0, 0], [100, 0], [100, 100]]"}


def _sample(name: str, annotation: Any) -> str:
    words = choices(annotation)
    if words:
        return _toml(words[0])
    return _SHAPES.get(name) or {"float": "0", "int": "1", "bool": "false", "list": "[]", "record": "{}"}.get(kind_of(annotation), '""')


def _commented(header: str, record: type[Record], *, first: str = "") -> bytes:
    lines = [f"# {first}"] if first else []
    lines += ["# Take away the # before each line that you use, and repeat the block for each further one.", ""]
    lines += [f"# {line}".rstrip() for line in _sample_lines(header, record)]
    return ("\n".join(lines) + "\n").encode()


def _sample_lines(header: str, record: type[Record]) -> list[str]:
    lines = [header] if header else []
    for name in plain_fields(record):
        info = record.model_fields[name]
        need = "" if info.is_required() else " (may be left out)"
        lines.append(f"{name} = {_sample(name, info.annotation)}  # {_words_on(record, name)}{need}")
    stem = header.strip("[]")
    # What follows [[a.header]] belongs to it, so the lists of one line each come first.
    for name in sorted(nested_fields(record), key=lambda name: bool(nested_fields(inner_record(record, name)))):
        inner = inner_record(record, name)
        if nested_fields(inner):
            lines += ["", *_sample_lines(f"[[{stem + '.' if stem else ''}{name}]]", inner)]
        else:
            lines += _sample_list(name, record.model_fields[name].description or "", inner)
    return lines


def _sample_list(name: str, description: str, inner: type[Record]) -> list[str]:
    """A list with one line, in which stands every required name, under a word about each name."""
    fields = inner.model_fields
    need = {field: "" if fields[field].is_required() else " (may be left out)" for field in plain_fields(inner)}
    words = [f"#     {field}: {_words_on(inner, field)}{need[field]}" for field in need]
    sample = ", ".join(f"{field} = {_sample(field, fields[field].annotation)}" for field in need if not need[field])
    # The words stand above: inside the list they would shift the rows that a fault is told by.
    return [f"# {name}: {description}", *words, f"{name} = [", f"    {{ {sample} }},", "]"]


def choices(annotation: Any) -> tuple[str, ...]:
    """The words of which a field must be one; none where it is free."""
    return tuple(_choices(annotation))


def _choices(annotation: Any) -> Iterator[str]:
    if get_origin(annotation) is Literal:
        yield from (str(word) for word in get_args(annotation))
        return
    for inner in get_args(annotation):
        if not isinstance(inner, str):
            yield from _choices(inner)


def _words_on(record: type[Record], name: str) -> str:
    """What a field is, which words it may be, and the table in which it must be found."""
    info = record.model_fields[name]
    text = info.description or ""
    words = [word for word in choices(info.annotation) if word]
    if not all(word in text for word in words):
        text += f" [{', '.join(words)}]"
    mark = mark_of(record, name)
    if isinstance(mark, RefersTo):
        text += f" [one of {file_of(mark.table)}]"
    return text


def _columns() -> bytes:
    """What each column of each table means, to read beside the tables: a CSV has no room for comments."""
    lines = ["What each column means. A table may keep only its header line. Required columns are marked *.", ""]
    lines += ["In [ ] stand the words of which one must be chosen, or the file that must hold the name.", ""]
    for table in csv_tables():
        record = record_of(table)
        lines.append(f"{file_of(table)}: {(record.__doc__ or '').splitlines()[0]}")
        for name in plain_fields(record):
            info = record.model_fields[name]
            mark = "*" if info.is_required() else " "
            lines += textwrap.wrap(_words_on(record, name), 100, initial_indent=f"  {mark} {name}: ", subsequent_indent="      ")
        lines.append("")
    return "\n".join(lines).encode()
