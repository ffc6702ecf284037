"""What must always hold of reading and writing: any bytes at all are read or refused, and no conversion is lost on the way."""

from __future__ import annotations

import io
import math
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import annotated_types
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic.fields import FieldInfo

from halfshaft.errors import InputError
from halfshaft.files.cells import read_cell, write_cell, write_number
from halfshaft.files.folder import folder_files, read_folder
from halfshaft.files.layout import record_of, row_tables
from halfshaft.files.workbook import read_workbook, write_workbook
from halfshaft.model.base import Colour, Name, Record, Ref, RefersTo, Text
from halfshaft.model.car import Removed
from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import CavityRef
from halfshaft.model.references import KEYS, bad_references
from halfshaft.standards import colours

TERN = Path(__file__).parents[2] / "examples" / "tern"

# Fixed examples, so that a run today is the run of yesterday; no deadline, as a busy machine is no fault of the code.
FIXED = settings(derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


# --- any valid conversion -------------------------------------------------------------------------------------------------

# Texts that programs like to take for something else.
TRAPS = (
    "=1+1", "+1", "-1", "@x", "_x000D_", "_x005F_x000D_", "_x0041_", "007", "1e5", "1,5", "TRUE", "yes", "nan", "#N/A", "2026-01-01",
    'a"b', "'", "'''", '"""', "a;b", "a,b", "a\\b", "\\n", "\\u0041", "<&>", "]]>", "&amp;", "[x]", "{ a = 1 }", "# x", "a  b", "\u00a0x",
    "\u200b", "\U0001f50b", "e\u0301", "\ud7ff", "\ufdd0", "\u202ex", "x" * 190,
)  # fmt: skip
_REFUSED = "\u2028\u2029\ufeff\ufffe\uffff"
_CHARACTERS = st.characters(exclude_categories=("Cs", "Cc"), exclude_characters=_REFUSED)
_TEXTS = st.sampled_from(TRAPS) | st.text(_CHARACTERS, max_size=12)
_LETTERS = "ABCXYZabc012"
_REFS = st.text(_LETTERS + "_+-", min_size=1, max_size=5).filter(lambda text: text[0] in _LETTERS)
_COLOURS = sorted(code for code in colours() if len(code) == 2)

BY_TYPE: dict[Any, st.SearchStrategy[Any]] = {
    Text: _TEXTS,
    Name: _TEXTS.filter(lambda text: text.strip()),
    Ref: _REFS,
    CavityRef: st.text(_LETTERS, min_size=1, max_size=6),
    Colour: st.sampled_from([*_COLOURS, f"{_COLOURS[0]}-{_COLOURS[1]}", "GNYE"]),
}


def limits_of(metadata: tuple[Any, ...]) -> Iterator[Any]:
    for item in metadata:
        yield from limits_of(tuple(item.metadata)) if isinstance(item, FieldInfo) else (item,)


def numbers(kind: type, metadata: tuple[Any, ...]) -> st.SearchStrategy[Any]:
    """All numbers that the model allows there: of all magnitudes, and often the limits themselves."""
    bounds: dict[str, Any] = {}
    for limit in limits_of(metadata):
        for name, mark in (("min_value", annotated_types.Ge), ("min_value", annotated_types.Gt),
                           ("max_value", annotated_types.Le), ("max_value", annotated_types.Lt)):  # fmt: skip
            if isinstance(limit, mark):
                bounds[name] = getattr(limit, mark.__name__.lower())
                bounds |= {f"exclude_{name[:3]}": True} if mark in (annotated_types.Gt, annotated_types.Lt) else {}
    if kind is int:
        return st.integers(**bounds)
    bounds = {name: value if name.startswith("exclude") else float(value) for name, value in bounds.items()}
    return st.floats(**bounds, allow_nan=False, allow_infinity=False)


def values(annotation: Any, metadata: tuple[Any, ...], names: dict[str, list[str]]) -> st.SearchStrategy[Any]:
    """All values of a type of the model; names of other records are taken from `names`."""
    for mark in limits_of(metadata):
        if isinstance(mark, RefersTo):
            return st.sampled_from(names[mark.table]) if names.get(mark.table) else st.nothing()
    if annotation in BY_TYPE:
        return BY_TYPE[annotation]
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        plain = values(inner[0], (*inner[1:], *metadata), names)
        return BY_TYPE.get(Annotated[inner], plain)
    if origin in (Union, UnionType):
        return st.none() | values(next(item for item in inner if item is not type(None)), metadata, names)
    if origin is Literal:
        return st.sampled_from(inner)
    if origin is tuple:
        least = max([limit.min_length for limit in limits_of(metadata) if isinstance(limit, annotated_types.MinLen)], default=0)
        if inner[-1] is not Ellipsis:
            return st.tuples(*(values(item, (), names) for item in inner))
        return st.lists(values(inner[0], (), names), min_size=least, max_size=least + 2).map(tuple)
    if isinstance(annotation, type) and issubclass(annotation, Record):
        return records(annotation, names)
    if annotation is bool:
        return st.booleans()
    if annotation in (int, float):
        return numbers(annotation, metadata)
    raise AssertionError(f"no values for {annotation}")
