"""From what is wrong with a value to a sentence in a workshop's words."""

from __future__ import annotations

import math
import re
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from halfshaft.files.cells import write_number
from halfshaft.model.base import Record
from halfshaft.model.references import nearest
from halfshaft.standards import colours

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


# What each kind of fault is called in a workshop; names in braces are what was found and the limits that pydantic reports.
_SENTENCES = {
    "missing": "is missing and must be given",
    "greater_than": "{shown} is too small; it must be more than {gt}",
    "greater_than_equal": "{shown} is too small; it must be at least {ge}",
    "less_than": "{shown} is too large; it must be less than {lt}",
    "less_than_equal": "{shown} is too large; it must be at most {le}",
    "finite_number": "{shown} is no number that can be measured",
    "float_type": "{shown} stands where a number belongs",
    "int_type": "{shown} stands where a whole number belongs",
    "int_from_float": "{shown} stands where a whole number belongs",
    "bool_type": "{shown} stands where true or false belongs",
    "string_type": "{shown} stands where text belongs; put it in quotation marks",
    "string_too_short": "is blank and must be given",
    "string_too_long": "is too long; at most {max_length} characters",
    "too_short": "needs at least {min_length} of them",
    "model_type": "{shown} stands where a table with named values belongs",
    "model_attributes_type": "{shown} stands where a table with named values belongs",
    "dict_type": "{shown} stands where a table with named values belongs",
    "tuple_type": "{shown} stands where a list in square brackets belongs",
    "value_error": "{error}",
}


def _sentence(detail: ErrorDetails, record: type[Record]) -> str:
    kind, found = detail["type"], detail["input"]
    limits: dict[str, Any] = detail.get("ctx", {})
    if kind == "extra_forbidden":
        return _unknown(tuple(detail["loc"]), record)
    if kind == "literal_error":
        return _none_of(found, str(limits.get("expected", "")))
    if kind == "string_pattern_mismatch":
        return f"{_shown(found)} {_pattern(str(limits.get('pattern', '')), str(found))}"
    sentence = _SENTENCES.get(kind, "{shown}: {message}")
    words = {name: _plain(value) for name, value in limits.items()}
    return sentence.format(shown=_shown(found), message=detail["msg"], **words)


def _unknown(loc: Loc, record: type[Record]) -> str:
    """A name that is not known where it stands: perhaps it belongs to the record further up."""
    name = str(loc[-1])
    if len(loc) > 1 and name in record.model_fields:
        return f"belongs to the whole, not to this part of it: put it above the first [[{loc[0]}]]"
    return f"unknown name{nearest(name, _names(record, loc))}"


def _none_of(found: Any, expected: str) -> str:
    words = [word for word in re.findall("'([^']*)'", expected) if word] or expected.replace(" or ", ", ").split(", ")
    hint = (
        "; write `;` between several" if isinstance(found, str) and "," in found else nearest(str(found), words) if len(words) > 1 else ""
    )
    return f"{_shown(found)} is none of {('; ' if any(',' in word for word in words) else ', ').join(words)}{hint if hint.startswith(('; did', '; write')) else ''}"


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


# What a pattern of the model asks for, told by a piece of it that no other pattern has.
_PATTERNS = (
    ("GNYE", "is no colour: write letters of IEC 60757, base-tracer, such as BU-WH"),
    (r"\d{4}", "is no date; write year-month-day, such as 2026-11-20"),
    ("~", "is no pin of a part: write connector.cavity, or ~name for a node inside"),
    ("{1,6}", "is no cavity number: up to six letters and figures"),
    ("A-Za-z0-9", "is no mark: it begins with a letter or figure, then letters, figures, `-`, `_` and `+` only, no spaces"),
)


def _pattern(pattern: str, found: str) -> str:
    for piece, words in _PATTERNS:
        if piece in pattern:
            code = next((code for code, word in colours().items() if word == found.lower()), None) if piece == "GNYE" else None
            return f"{words}; {found.lower()} is {code}" if code else words
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
