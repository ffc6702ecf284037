"""What is found as plain values for another program, and as a table for a screen."""

from __future__ import annotations

import dataclasses
import math
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

from pydantic import BaseModel


def plain(value: Any) -> Any:
    """Records as mappings, tuples as lists, all the way down; what has no end is nothing, as JSON has no word for it."""
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json")
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def table(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Rows under a header; columns of numbers to the right."""
    lines = [list(header), *([_cell(item) for item in row] for row in rows)]
    numeric = [all(_is_number(line[column]) for line in lines[1:] if line[column]) for column in range(len(header))]
    widths = [max(len(line[column]) for line in lines) for column in range(len(header))]
    shown = []
    for index, line in enumerate(lines):
        cells = [cell.rjust(width) if right else cell.ljust(width) for cell, width, right in zip(line, widths, numeric, strict=True)]
        shown.append("  ".join(cells).rstrip())
        if index == 0:
            shown.append("  ".join("-" * width for width in widths))
    return "\n".join(shown)


# What a terminal shows without turning lines over.
SCREEN_CHARACTERS = 100


def entries(items: Iterable[tuple[str, Sequence[tuple[str, str]]]]) -> str:
    """Headings, each with its labelled words under it, turned over to the width of a screen; labels without words are left out."""
    shown = []
    for head, lines in items:
        shown.append(head)
        for label, words in lines:
            start = f"  {label}: "
            shown += textwrap.wrap(
                words,
                SCREEN_CHARACTERS,
                initial_indent=start,
                subsequent_indent=" " * 6,
                break_long_words=False,
                break_on_hyphens=False,
            )
    return "\n".join(shown)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:.1f}" if isinstance(value, float) else str(value)


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True
