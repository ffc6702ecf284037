"""From what is wrong with a value to a sentence in a workshop's words."""

from __future__ import annotations

import math
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from halfshaft.files.cells import write_number
from halfshaft.model.base import Record
from halfshaft.model.references import nearest

Loc = tuple[str | int, ...]


def model_faults(error: ValidationError, record: type[Record]) -> list[tuple[Loc, str]]:
    """Every fault of one record: where inside it, and a sentence."""
    details = error.errors(include_url=False)
    # A list with a faulty item counts the others only, and may then call itself too short as well: that is no second fault.
    faulty = {detail["loc"][:length] for detail in details for length in range(len(detail["loc"]))}
    return [
        (tuple(detail["loc"]), _sentence(detail, record))
        for detail in details
        if not (detail["type"] == "too_short" and detail["loc"] in faulty)
    ]


def _sentence(detail: ErrorDetails, record: type[Record]) -> str:
    kind, found = detail["type"], detail["input"]
    limits: dict[str, Any] = detail.get("ctx", {})
    if kind == "missing":
        return "is missing and must be given"
    if kind == "extra_forbidden":
        return f"unknown name{nearest(str(detail['loc'][-1]), _names(record, tuple(detail['loc'])))}"
    if kind == "value_error":
        return str(limits["error"])
    shown = _shown(found)
    if kind in ("greater_than", "greater_than_equal"):
        word = "more than" if kind == "greater_than" else "at least"
        return f"{shown} is too small; it must be {word} {_plain(limits.get('gt', limits.get('ge')))}"
    if kind in ("less_than", "less_than_equal"):
        word = "less than" if kind == "less_than" else "at most"
        return f"{shown} is too large; it must be {word} {_plain(limits.get('lt', limits.get('le')))}"
    if kind == "literal_error":
        return f"{shown} is none of {str(limits.get('expected', '')).replace(' or ', ', ')}"
    if kind == "finite_number":
        return f"{shown} is no number that can be measured"
    if kind in ("float_type", "int_type", "int_from_float"):
        return f"{shown} stands where a {'whole ' if kind.startswith('int') else ''}number belongs"
    if kind == "bool_type":
        return f"{shown} stands where true or false belongs"
    if kind == "string_type":
        return f"{shown} stands where text belongs; put it in quotation marks"
    if kind == "string_too_short":
        return "is blank and must be given"
    if kind == "string_too_long":
        return f"is too long; at most {limits.get('max_length')} characters"
    if kind == "string_pattern_mismatch":
        return f"{shown} {_pattern(str(limits.get('pattern', '')))}"
    if kind == "too_short":
        return f"needs at least {limits.get('min_length')} of them"
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return f"{shown} stands where a table with named values belongs"
    if kind == "tuple_type":
        return f"{shown} stands where a list in square brackets belongs"
    return f"{shown}: {detail['msg']}"


def _names(record: type[Record], loc: Loc) -> tuple[str, ...]:
    """Names that would have been known at this place."""
    current: Any = record
    for step in loc[:-1]:
        if isinstance(step, str) and isinstance(current, type) and issubclass(current, Record):
            current = _inner(current, step)
    return tuple(current.model_fields) if isinstance(current, type) and issubclass(current, Record) else ()


def _inner(record: type[Record], field: str) -> Any:
    pending: list[Any] = [record.model_fields[field].annotation] if field in record.model_fields else []
    while pending:
        annotation = pending.pop()
        if isinstance(annotation, type) and issubclass(annotation, Record):
            return annotation
        pending.extend(getattr(annotation, "__args__", ()))
    return None


def _pattern(pattern: str) -> str:
    if "GNYE" in pattern:
        return "is no colour: write letters of IEC 60757, base-tracer, such as BU-WH"
    if r"\d{4}" in pattern:
        return "is no date; write year-month-day, such as 2026-11-20"
    if "~" in pattern:
        return "is no pin of a part: write connector.cavity, or ~name for a node inside"
    if "{1,6}" in pattern:
        return "is no cavity number: up to six letters and figures"
    if "A-Za-z0-9" in pattern:
        return "is no mark: letters, figures, `-`, `_` and `+` only, no spaces"
    return "holds characters that cannot be printed on one line"


def _shown(value: Any) -> str:
    text = repr(value) if isinstance(value, str) else _plain(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _plain(value: Any) -> str:
    if isinstance(value, float) and math.isfinite(value):
        return write_number(value)
    try:
        return str(value)
    except ValueError:  # Python does not write out a whole number of thousands of digits
        return "a number of thousands of digits"
