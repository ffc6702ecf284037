"""One cell of a table, from text to value and back. Says in a sentence what is wrong with it."""

from __future__ import annotations

import math
import re
import types
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

YES, NO = "yes", "no"
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?")


class CellError(ValueError):
    """The sentence that says why a cell cannot be read."""


def _kind_of(annotation: Any) -> str:
    origin = get_origin(annotation)
    if origin is Annotated:
        return _kind_of(get_args(annotation)[0])
    if origin in (Union, types.UnionType):
        return _kind_of(next(item for item in get_args(annotation) if item is not type(None)))
    if origin is Literal:
        return "str"
    if origin is tuple:
        return "list"
    names: dict[Any, str] = {bool: "bool", int: "int", float: "float", str: "str"}
    return names.get(annotation, "record")


# `float`, `int`, `bool`, `str`, `list` or `record`: how a field of this type stands in a cell.
kind_of: Callable[[Any], str] = cache(_kind_of)


def is_optional(annotation: Any) -> bool:
    """Whether None is one of the values of a field of this type."""
    return type(None) in get_args(annotation)


def read_cell(text: str, info: FieldInfo, *, decimal_comma: bool = False) -> Any:
    """The value of a cell that is not blank.

    Raises CellError with a sentence. A list is split at `;`. Ranges and patterns are left to the model.
    """
    kind = kind_of(info.annotation)
    if kind == "float":
        return read_number(text, decimal_comma)
    if kind == "int":
        value = read_number(text, decimal_comma)
        if value != int(value):
            raise CellError(f"{text!r} is no whole number")
        return int(value)
    if kind == "bool":
        if text.lower() in (YES, NO):
            return text.lower() == YES
        raise CellError(f"{text!r} stands where `yes` or `no` belongs")
    if kind == "list":
        return tuple(item.strip() for item in text.split(";") if item.strip())
    return text


def read_number(text: str, decimal_comma: bool) -> float:
    """The number in a cell. Raises CellError with a sentence."""
    plain = text.replace("\u2212", "-").replace("\u00a0", "").strip()
    if "," in plain:
        if not decimal_comma:
            raise CellError(f"{text!r} is no number: write a decimal point, or separate the columns with `;`")
        if "." in plain or plain.count(",") > 1:
            raise CellError(f"{text!r} is no number: leave out the sign between thousands")
        plain = plain.replace(",", ".")
    if not _NUMBER.fullmatch(plain):
        if plain.lower() in ("nan", "inf", "-inf", "+inf", "infinity", "-infinity"):
            raise CellError(f"{text!r} is no number that can be measured")
        unit = re.fullmatch(r"([+-]?[\d.]+)\s*([A-Za-z%\u00b2\u00b0\u03a9]+)", plain)
        if unit:
            raise CellError(f"{text!r} holds a unit: leave out {unit[2]!r}, the unit stands in the column's name")
        raise CellError(f"{text!r} stands where a number belongs")
    value = float(plain)
    if not math.isfinite(value):
        raise CellError(f"{text!r} is no number that can be measured")
    return value + 0.0


def write_cell(value: Any) -> str:
    """The text of a value, the same for the same value always."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, (int, float)):
        return write_number(value)
    if isinstance(value, tuple):
        return ";".join(str(item) for item in value)
    return str(value)


def write_number(value: float) -> str:
    """The shortest decimal that reads back as the same number, without exponent."""
    if isinstance(value, int) or value == int(value):
        return str(int(value))
    return format(Decimal(repr(value)), "f")
