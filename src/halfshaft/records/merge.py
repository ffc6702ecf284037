"""Two people changed the same conversion: both sets of changes put together, cell by cell. Pure.

A cell is a field of a row, and a row is known by its key. What only one of them changed is as they made it. What both changed to the same is
that. What both changed to different things is a clash, and wants a choice. Where one took a row away that the other changed, the whole
row is one cell; so it is where a row stands in a file of its own (a mesh, the messages of a bus).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from halfshaft.errors import InputError
from halfshaft.files.cells import write_cell
from halfshaft.files.layout import own_file_fields
from halfshaft.model.base import Record
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import bad_references, key_of
from halfshaft.records.reads import as_read, words_of_key
from halfshaft.records.values import Cell, Choice, Clash

ORDER = "order of rows"


class _Nothing:
    """Stands where there is no such row or field. There is one of it."""

    def __repr__(self) -> str:
        return "NOTHING"


NOTHING = _Nothing()


@dataclass(frozen=True, kw_only=True, slots=True)
class Merged:
    """Both in one, or what stands in the way: cells that want a choice, and what would not read."""

    conversion: Conversion | None
    clashes: tuple[Clash, ...] = ()
    faults: tuple[str, ...] = ()


def merge(base: Conversion, theirs: Conversion, mine: Conversion, choices: Mapping[Cell, Choice] | None = None) -> Merged:
    """Put the changes from `base` to `mine` on top of `theirs`. All three read; what comes out does too.

    `choices` say whose a cell shall be, or a whole row (a cell with no field).
    """
    merger = _Merger(choices or {})
    values = {
        name: merger.value(Cell(name, "", ""), getattr(base, name), getattr(theirs, name), getattr(mine, name))
        for name in Conversion.model_fields
    }
    if merger.clashes:
        return Merged(conversion=None, clashes=tuple(merger.clashes), faults=tuple(merger.faults))
    both = theirs.model_copy(update=values)
    try:
        return Merged(conversion=as_read(both, theirs))
    except InputError as error:
        clashes = _rows_at_fault(both, (base, theirs, mine))
        return Merged(conversion=None, clashes=clashes, faults=tuple(map(str, error.faults)))


@dataclass(slots=True)
class _Merger:
    choices: Mapping[Cell, Choice]
    clashes: list[Clash] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def value(self, cell: Cell, base: Any, theirs: Any, mine: Any) -> Any:
        """One value out of three. `cell` is its own; of a table or a nested record, the one that those within begin with."""
        if cell in self.choices and cell.field != ORDER:
            return theirs if self.choices[cell] == "theirs" else mine
        are_records = isinstance(theirs, Record) and isinstance(mine, Record) and not own_file_fields(type(theirs))
        are_rows = is_rows(cell, theirs) and is_rows(cell, mine)
        # A choice may bring back what only one of them took away, so where there is one inside, every row is looked at.
        if not ((are_records or are_rows) and self._is_chosen_within(cell)):
            if mine in (base, theirs):
                return theirs
            if theirs == base:
                return mine
        if are_records:
            return self._record(cell, base, theirs, mine)
        if are_rows:
            return self._rows(cell, base if is_rows(cell, base) else (), theirs, mine)
        return self._clash(cell, base, theirs, mine)

    def _is_chosen_within(self, cell: Cell) -> bool:
        return any(f"{chosen.table}.".startswith(f"{cell.table}.") for chosen in self.choices)

    def _record(self, cell: Cell, base: Any, theirs: Record, mine: Record) -> Any:
        fields = {}
        before = len(self.clashes)
        for name in type(theirs).model_fields:
            three = [getattr(record, name, NOTHING) for record in (base, theirs, mine)]
            fields[name] = self.value(cell_within(cell, name, three), *three)
        if len(self.clashes) > before:
            return theirs
        try:
            return type(theirs)(**fields)
        except ValidationError as error:
            # Each alone is sound, both together are not: a place of which one took the x away and the other changed the y.
            self.faults += [f"{cell.key or cell.table}: {detail['msg']}" for detail in error.errors(include_url=False)]
            return self._clash(Cell(cell.table, cell.key, ""), base, theirs, mine)

    def _rows(self, cell: Cell, base: Sequence[Record], theirs: Sequence[Record], mine: Sequence[Record]) -> tuple[Any, ...]:
        was, here, there = (rows_by_key(cell.table, rows) for rows in (base, theirs, mine))
        merged = {}
        for key in dict.fromkeys([*was, *here, *there]):
            own = Cell(cell.table, f"{cell.key}/{words_of_key(key)}" if cell.key else words_of_key(key), "")
            row = self.value(own, was.get(key, NOTHING), here.get(key, NOTHING), there.get(key, NOTHING))
            if row is not NOTHING:
                merged[key] = row
        order = self._order(cell, list(was), list(here), list(there))
        return tuple(merged[key] for key in order if key in merged)

    def _order(self, cell: Cell, was: list[Any], here: list[Any], there: list[Any]) -> list[Any]:
        """The rows of both: in the order of whoever changed it, and each new one of the other behind the row that it stood behind."""
        lead, other = here, there
        if _is_moved(was, there):
            lead, other = there, here
            if _is_moved(was, here) and [key for key in here if key in there] != [key for key in there if key in here]:
                own = Cell(cell.table, cell.key, ORDER)
                if own not in self.choices:
                    self.clashes.append(Clash(cell=own, base=_listed(was), theirs=_listed(here), mine=_listed(there)))
                elif self.choices[own] == "theirs":
                    lead, other = here, there
        order = list(lead)
        known, new = set(lead), set(lead).difference(other)
        for number, key in enumerate(other):
            if key in known:
                continue
            behind = next((order.index(above) for above in reversed(other[:number]) if above in known), -1)
            place = behind + 1
            while place < len(order) and order[place] in new:
                place += 1
            order.insert(place, key)
            known.add(key)
        return order

    def _clash(self, cell: Cell, base: Any, theirs: Any, mine: Any) -> Any:
        self.clashes.append(Clash(cell=cell, base=words_of(base), theirs=words_of(theirs), mine=words_of(mine)))
        return theirs


def cell_within(cell: Cell, name: str, values: Sequence[Any]) -> Cell:
    """The cell of a field in a row; of a record or of rows inside it, that of a table of its own."""
    if any(isinstance(value, Record) or (isinstance(value, tuple) and value and isinstance(value[0], Record)) for value in values):
        return Cell(f"{cell.table}.{name}", cell.key, "")
    return Cell(cell.table, cell.key, name)


def is_rows(cell: Cell, value: Any) -> bool:
    """Whether this is a table whose rows can be told apart."""
    if not isinstance(value, tuple) or not all(isinstance(row, Record) for row in value):
        return False
    return not cell.field and len(rows_by_key(cell.table, value)) == len(value)


def rows_by_key(table: str, rows: Sequence[Record]) -> dict[Any, Record]:
    """The rows of a table by what each is known by."""
    return {key_of(table, row): row for row in rows}


def _is_moved(before: list[Any], after: list[Any]) -> bool:
    stay, there = set(after), set(before)
    return [key for key in before if key in stay] != [key for key in after if key in there]


def _listed(keys: Sequence[Any]) -> str:
    return ", ".join(map(words_of_key, keys))


def words_of(value: Any) -> str | None:
    """A value for a page; a whole row by its name where it has one, else by what its first fields say."""
    if value is NOTHING or value in (None, "", ()):
        return None
    if isinstance(value, Record):
        kind = type(value)
        said = [(name, words_of(getattr(value, name))) for name in kind.model_fields if name not in own_file_fields(kind)]
        return "; ".join(f"{name} {words}" for name, words in said if words is not None)
    if isinstance(value, tuple) and isinstance(value[0], Record):
        return " | ".join(filter(None, map(words_of, value)))
    return write_cell(value)


def _rows_at_fault(both: Conversion, three: tuple[Conversion, Conversion, Conversion]) -> tuple[Clash, ...]:
    """Rows of which the two together would not read: those where the fault stands, and those that it names and one of the two took away."""
    clashes: dict[Cell, Clash] = {}
    base, theirs, mine = three
    for bad in bad_references(both):
        table = str(bad.path[0])
        rows = getattr(both, table)
        at = bad.path[1] if len(bad.path) > 1 else None
        named = {str(_at(both, bad.path)), *str(_at(both, bad.path)).split(".")}
        if isinstance(rows, tuple) and isinstance(at, int):
            _offer(clashes, table, key_of(table, rows[at]), three)
        for other in Conversion.model_fields:
            before = getattr(base, other)
            if not isinstance(before, tuple):
                continue
            left = [{key_of(other, row) for row in getattr(side, other)} for side in (theirs, mine)]
            for key in (key_of(other, row) for row in before):
                if words_of_key(key) in named and any(key not in keys for keys in left):
                    _offer(clashes, other, key, three)
    return tuple(clashes.values())


def _offer(clashes: dict[Cell, Clash], table: str, key: Any, three: tuple[Conversion, ...]) -> None:
    base, theirs, mine = (rows_by_key(table, getattr(side, table)).get(key, NOTHING) for side in three)
    if theirs != mine:
        cell = Cell(table, words_of_key(key), "")
        clashes.setdefault(cell, Clash(cell=cell, base=words_of(base), theirs=words_of(theirs), mine=words_of(mine)))


def _at(conversion: Conversion, path: Sequence[str | int]) -> Any:
    value: Any = conversion
    for step in path:
        value = value[step] if isinstance(step, int) else getattr(value, step, None)
        if value is None:
            break
    return value
