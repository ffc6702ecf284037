"""Changes of a conversion that several studies need: conversion in, conversion out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from halfshaft.errors import HalfshaftError
from halfshaft.model.base import Record
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import bad_references, key_of

# Rows that mean nothing without what they name: they go with it. Elsewhere the name is blanked.
GOES_WITH_WHAT_IT_NAMES = (
    "tails", "cables", "cable_cores", "wires", "hoses", "busbars", "joints", "board_ways", "loads", "case_loads", "ground_points", "hv_units",
    "enclosures", "enclosure_items", "case_contacts", "case_units", "hv_insulation", "fuse_points", "bonds", "bus_nodes", "messages",
)  # fmt: skip


def without_loose_ends(conversion: Conversion) -> tuple[Conversion, dict[str, tuple[Any, ...]]]:
    """A conversion without what names something that is no longer there; and the keys of the rows that went, by table.

    Raises HalfshaftError where a name can neither be blanked nor its row go.
    """
    gone: dict[str, list[Any]] = {}
    while bad := bad_references(conversion):
        rows: dict[str, set[int]] = {}
        blank: dict[tuple[str, int | None], set[str]] = {}
        for item in bad:
            table, place = str(item.path[0]), item.path[1]
            if table in GOES_WITH_WHAT_IT_NAMES and isinstance(place, int):
                rows.setdefault(table, set()).add(place)
            else:
                index = place if isinstance(place, int) else None
                blank.setdefault((table, index), set()).add(str(item.path[2] if index is not None else place))
        for (table, index), fields in blank.items():
            conversion = _blanked(conversion, table, index, fields)
        for table, indices in rows.items():
            records = getattr(conversion, table)
            gone.setdefault(table, []).extend(key_of(table, records[index]) for index in sorted(indices))
            kept = tuple(record for index, record in enumerate(records) if index not in indices)
            conversion = conversion.model_copy(update={table: kept})
    return conversion, {table: tuple(keys) for table, keys in gone.items()}


def _blanked(conversion: Conversion, table: str, index: int | None, fields: Iterable[str]) -> Conversion:
    value = getattr(conversion, table)
    record: Record = value if index is None else value[index]
    update = {}
    for name in fields:
        default = type(record).model_fields[name].get_default()
        if getattr(record, name) == default or type(record).model_fields[name].is_required():
            raise HalfshaftError(f"{table}: {name} names something that goes, and cannot be left blank; change it first")
        update[name] = default
    record = record.model_copy(update=update)
    if index is None:
        return conversion.model_copy(update={table: record})
    return conversion.model_copy(update={table: (*value[:index], record, *value[index + 1 :])})


def next_ref(known: Iterable[str], like: str) -> str:
    """A mark that is not taken yet, counted on from the highest of those that begin with the same letters.

    >>> next_ref(["B1", "B3", "BAT"], "B1")
    'B4'
    >>> next_ref(["M08", "M09"], "M01")
    'M10'
    """
    stem = like.rstrip("0123456789")
    digits = len(like) - len(stem)
    taken = set(known)
    numbers = [int(ref[len(stem) :]) for ref in taken if ref.startswith(stem) and ref[len(stem) :].isdigit()]
    return f"{stem}{max(numbers, default=0) + 1:0{digits}d}"
