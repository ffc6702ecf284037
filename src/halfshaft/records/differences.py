"""What differs between two conversions, cell by cell, in words for a page. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from halfshaft.files.layout import own_file_fields
from halfshaft.model.base import Record
from halfshaft.model.conversion import Conversion
from halfshaft.records.merge import NOTHING, cell_within, is_rows, rows_by_key, words_of
from halfshaft.records.reads import words_of_key
from halfshaft.records.values import Cell


@dataclass(frozen=True, kw_only=True, slots=True)
class Difference:
    """One cell that differs: what it was and what it is. A row that came or went is one cell, without a field; None stands where it is not."""

    cell: Cell
    was: str | None
    now: str | None


def differences(before: Conversion, after: Conversion) -> tuple[Difference, ...]:
    """Every cell in which two conversions differ, in the order of the model. The order of rows is not looked at."""
    return tuple(item for name in Conversion.model_fields for item in _of(Cell(name, "", ""), getattr(before, name), getattr(after, name)))


def _of(cell: Cell, before: Any, after: Any) -> Iterator[Difference]:
    if before is after or before == after:
        return
    if isinstance(before, Record) and isinstance(after, Record) and not own_file_fields(type(after)):
        for name in type(after).model_fields:
            two = [getattr(record, name, NOTHING) for record in (before, after)]
            yield from _of(cell_within(cell, name, two), *two)
    elif is_rows(cell, before) and is_rows(cell, after):
        was, now = rows_by_key(cell.table, before), rows_by_key(cell.table, after)
        for key in dict.fromkeys([*was, *now]):
            words = words_of_key(key)
            own = Cell(cell.table, f"{cell.key}/{words}" if cell.key else words, "")
            yield from _of(own, was.get(key, NOTHING), now.get(key, NOTHING))
    else:
        yield Difference(cell=cell, was=words_of(before), now=words_of(after))
