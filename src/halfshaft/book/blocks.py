"""The pieces a page of the book is made of, as plain data for the typesetter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from halfshaft.drawings.colours import tones

Block = dict[str, Any]
Cell = str | dict[str, Any]


def para(text: str, *, leads: bool = False) -> Block:
    """A paragraph; one that `leads` stays on the page of what follows it."""
    return {"kind": "para", "text": text, "leads": leads}


def small(text: str, *, leads: bool = False) -> Block:
    """A note under a table: basis, how to read it; or above one, which it then `leads`."""
    return {"kind": "small", "text": text, "leads": leads}


def heading(text: str) -> Block:
    """A heading inside a section."""
    return {"kind": "heading", "text": text}


def caution(word: str, text: str) -> Block:
    """A caution panel; the word is WARNING, CAUTION or NOTICE (ANSI Z535)."""
    return {"kind": "caution", "word": word, "text": text}


def facts(*rows: tuple[str, str]) -> Block:
    """Names and what they are."""
    return {"kind": "facts", "rows": [list(row) for row in rows]}


def picture(file: str, width_mm: float, text: str) -> Block:
    """A drawing with its sentence."""
    return {"kind": "picture", "file": file, "width_mm": width_mm, "text": text}


def column(head: str, width: str | float = "auto", align: str = "left") -> dict[str, Any]:
    """A column: width `auto`, a share such as `1fr`, or millimetres."""
    return {"head": head, "width": width, "align": align}


def table(columns: Sequence[dict[str, Any]], rows: Sequence[Sequence[Cell]], *, size: float = 9, group: int | Sequence[int] = 3) -> Block:
    """A table whose header repeats; a hairline after every `group` rows, or after just those rows, counted from one."""
    after = list(range(group, len(rows), group)) if isinstance(group, int) and group else [] if isinstance(group, int) else list(group)
    return {"kind": "table", "columns": list(columns), "rows": [list(row) for row in rows], "size": size, "lines_after": after}


def colour(letters: str) -> Cell:
    """A swatch with its letters: never one without the other."""
    return {"swatch": list(tones(letters)), "text": letters}


def bold(text: str) -> Cell:
    """A cell in semibold."""
    return {"bold": text}


def soft(text: str) -> Cell:
    """A cell in soft ink."""
    return {"soft": text}


BOX: Cell = {"box": True}


def number(value: float, decimals: int = 0) -> str:
    """A number for a column: a true minus, no minus nought, a thin space from five figures."""
    words = f"{value:.{decimals}f}"
    if float(words) == 0:
        words = words.replace("-", "")
    whole, _, part = words.partition(".")
    sign = "−" if whole.startswith("-") else ""
    digits = whole.lstrip("-")
    if len(digits) > 4:
        digits = "\u2009".join(_threes(digits))
    return sign + digits + ("." + part if part else "")


def _threes(digits: str) -> list[str]:
    first = len(digits) % 3
    return ([digits[:first]] if first else []) + [digits[i : i + 3] for i in range(first, len(digits), 3)]
