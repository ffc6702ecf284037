"""The edits of two descriptions by row, and which of them a line tells of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from halfshaft.model.base import Record
from halfshaft.studies.changes.records import Edit

Kind = TypeVar("Kind", bound=Record)


class Edits:
    """Edits that can be asked for by table and key."""

    def __init__(self, edits: Iterable[Edit]) -> None:
        self.all = tuple(edits)
        self._by_row: dict[tuple[str, str], list[Edit]] = defaultdict(list)
        for edit in self.all:
            self._by_row[edit.table, edit.key].append(edit)

    def of(self, table: str, key: str, *fields: str) -> tuple[Edit, ...]:
        """Those of one row; with fields named, only of these, and of the whole row where it came or went."""
        return tuple(edit for edit in self._by_row.get((table, key), ()) if not fields or not edit.field or edit.field in fields)

    def keys(self, table: str) -> tuple[str, ...]:
        """Rows of a table that were edited."""
        return tuple(dict.fromkeys(edit.key for edit in self.all if edit.table == table and edit.key))


def pairs(was: Mapping[str, Kind], now: Mapping[str, Kind]) -> Iterator[tuple[str, Kind | None, Kind | None]]:
    """Every mark with the record that it had and the one that it has."""
    for ref in dict.fromkeys([*was, *now]):
        yield ref, was.get(ref), now.get(ref)


def count_words(number: int, one: str) -> str:
    """`1 peg`, `2 pegs`."""
    return f"{number} {one}{'' if number == 1 else 's'}"
