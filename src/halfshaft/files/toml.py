"""Canonical TOML: one way to write a record, and a finder of the line on which a value stands."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from halfshaft.files.cells import write_number

Path = tuple[str | int, ...]
DEEPEST = 20
_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.\"-]+)\s*\]\]?")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+)\s*=")


def write_toml(tables: Mapping[str, Any]) -> str:
    """A document of named tables (mappings) and lists of tables. Innermost lists of tables stand one line an item."""
    blocks: list[str] = []
    for name, value in tables.items():
        if isinstance(value, Mapping):
            blocks.append(_table(f"[{name}]", name, value))
        else:
            blocks.extend(_table(f"[[{name}]]", name, item) for item in value)
    return "\n".join(blocks)


def _table(header: str, name: str, value: Mapping[str, Any]) -> str:
    lines, below = [header], []
    for key, item in value.items():
        if isinstance(item, Mapping):
            below.append(_table(f"[{name}.{key}]", f"{name}.{key}", item))
        elif _is_tables(item) and any(_has_tables(inner) for inner in item):
            below.extend(_table(f"[[{name}.{key}]]", f"{name}.{key}", inner) for inner in item)
        elif _is_tables(item):
            lines.append(f"{key} = [")
            lines.extend(f"    {_inline(inner)}," for inner in item)
            lines.append("]")
        else:
            lines.append(f"{key} = {_value(item)}")
    return "\n".join([*lines, ""]) + "".join("\n" + block for block in below)


def _is_tables(value: Any) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str) and bool(value) and isinstance(value[0], Mapping)


def _has_tables(value: Mapping[str, Any]) -> bool:
    return any(_is_tables(item) or isinstance(item, Mapping) for item in value.values())


def _inline(value: Mapping[str, Any]) -> str:
    return "{ " + ", ".join(f"{key} = {_value(item)}" for key, item in value.items()) + " }"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, (int, float)):
        return write_number(value)
    return "[" + ", ".join(_value(item) for item in value) + "]"


def is_deep(values: Mapping[str, Any]) -> bool:
    """Whether tables or lists stand in one another deeper than anything of a conversion does."""
    level: list[Any] = [values]
    for _ in range(DEEPEST):
        level = [inner for item in level for inner in _inside(item)]
    return bool(level)


def _inside(value: Any) -> Iterable[Any]:
    if isinstance(value, Mapping):
        return value.values()
    return value if isinstance(value, list) else ()


def line_of(text: str, path: Path) -> int | None:
    """The line (from 1) on which the value at `path` stands, or the nearest line above it that can be told.

    TOML parsers keep no places; this reads headers and keys only, which is enough to lead a person to the line.
    """
    places = _places(text)
    for length in range(len(path), 0, -1):
        if path[:length] in places:
            number, is_open = places[path[:length]]
            item = path[length] if length < len(path) else None
            return number + 1 + item if is_open and isinstance(item, int) else number
    return None


@lru_cache(maxsize=16)
def _places(text: str) -> dict[Path, tuple[int, bool]]:
    """On which line each table and key begins, and whether what it holds then stands one item a line below."""
    counts: dict[str, int] = {}
    places: dict[Path, tuple[int, bool]] = {}
    current: Path = ()
    for number, line in enumerate(text.split("\n"), start=1):
        header = _HEADER.match(line)
        key = _KEY.match(line)
        if header:
            current = _position(header[2].replace('"', ""), header[1] == "[[", counts)
            for length in range(1, len(current) + 1):
                places.setdefault(current[:length], (number, False))
        elif key:
            places.setdefault((*current, key[1]), (number, line.rstrip().endswith("[")))
    return places


def _position(name: str, is_list: bool, counts: dict[str, int]) -> Path:
    """Where a header leads: its dotted name with the running number of each list on the way."""
    if is_list:
        counts[name] = counts.get(name, -1) + 1
        for other in [key for key in counts if key.startswith(name + ".")]:
            del counts[other]
    position: list[str | int] = []
    stem = ""
    for piece in name.split("."):
        stem = f"{stem}.{piece}" if stem else piece
        position.append(piece)
        if stem in counts:
            position.append(counts[stem])
    return tuple(position)
