"""Every rule has a small change to the demo that raises it, and just it.

The demo is read once. A case names the rule, changes a row or two, and says what the finding must then hold. Expected
figures are worked out from the demo's tables, beside each case, and not read off the program.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.car import LoadState
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Finding
from halfshaft.model.references import key_of
from halfshaft.model.wires import Splice
from halfshaft.study import Study

REPO = Path(__file__).parents[2]
STUDIES = REPO / "src" / "halfshaft" / "studies"
Change = Callable[[Conversion], Conversion]


def changed(conversion: Conversion, **fields: Any) -> Conversion:
    """A new conversion with some fields others.

    Not by `model_copy`: that would carry the tables by mark, kept by `cached_property`, over from the old one.
    """
    return Conversion(**{name: fields.get(name, getattr(conversion, name)) for name in Conversion.model_fields})


def row(table: str, key: Any, **fields: Any) -> Change:
    """One row of a table, or of the head, with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        rows = [
            record.model_copy(update=fields) if key_of(table, record) == key else record for record in getattr(conversion, table)
        ]
        assert rows != list(getattr(conversion, table)), f"{key} of {table} was so already"
        return changed(conversion, **{table: tuple(rows)})

    return change


def without(table: str, *keys: Any) -> Change:
    """A table less some rows."""

    def change(conversion: Conversion) -> Conversion:
        rows = tuple(record for record in getattr(conversion, table) if key_of(table, record) not in keys)
        assert len(rows) == len(getattr(conversion, table)) - len(keys)
        return changed(conversion, **{table: rows})

    return change


def more(table: str, *records: Any) -> Change:
    """A table with rows added."""
    return lambda conversion: changed(conversion, **{table: (*getattr(conversion, table), *records)})


def car(**fields: Any) -> Change:
    """The donor car, or its plate (`limits`), with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        own = {name: value for name, value in fields.items() if name in type(conversion.car).model_fields}
        plate = {name: value for name, value in fields.items() if name not in own}
        return changed(conversion, car=conversion.car.model_copy(update={"limits": conversion.car.limits.model_copy(update=plate), **own}))

    return change


def inside(part: str, element: str, **fields: Any) -> Change:
    """A part with one of its inner elements changed, or taken out where no field is given."""

    def change(conversion: Conversion) -> Conversion:
        elements = [item.model_copy(update=fields) if item.ref == element else item for item in conversion.part[part].inside]
        kept = tuple(item for item in elements if fields or item.ref != element)
        return row("parts", part, inside=kept)(conversion)

    return change
