"""The modules of each string in their order, as they stand in their boxes."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.boxes import ModulePlace, ModuleType
from halfshaft.model.conversion import Conversion
from halfshaft.studies.module_places import Spot, minus_stud, plus_stud

# Which voltage of a cell, by its name in the description.
CellVolts = Literal["cell_full_v", "cell_nominal_v", "cell_empty_v", "cell_stop_v"]


@dataclass(frozen=True, kw_only=True, slots=True)
class InString:
    """One module where it stands: its box, its place and its type."""

    box: str
    place: ModulePlace
    kind: ModuleType

    @property
    def ref(self) -> str:
        """The module's mark."""
        return self.place.ref

    @property
    def plus(self) -> str:
        """Name of its plus stud."""
        return f"{self.place.ref}.P"

    @property
    def minus(self) -> str:
        """Name of its minus stud."""
        return f"{self.place.ref}.N"

    @property
    def full_v(self) -> float:
        """Volts when full."""
        return self.volts("cell_full_v")

    def volts(self, cell_v: CellVolts) -> float:
        """Cells one after another times a voltage of one cell."""
        cell: float = getattr(self.kind, cell_v)
        return self.kind.cells_in_series * cell


Row = tuple[InString, ...]


def rows_of(conversion: Conversion) -> dict[int, Row]:
    """By the number of the string, its modules from plus to minus. Of a number used twice the one described first comes first."""
    kinds = {kind.part: kind for kind in conversion.modules}
    members: dict[int, list[InString]] = defaultdict(list)
    for box in conversion.boxes:
        for place in box.modules:
            members[place.string].append(InString(box=box.ref, place=place, kind=kinds[place.module]))
    return {number: tuple(sorted(found, key=lambda item: item.place.order_in_string)) for number, found in sorted(members.items())}


def runs_of(row: Row) -> tuple[Row, ...]:
    """Modules that follow each other in one box."""
    return tuple(tuple(group) for _, group in itertools.groupby(row, key=lambda item: item.box))


def studs_of(rows: Mapping[int, Row]) -> dict[str, Spot]:
    """Where the studs of modules are, as far as is known, by name."""
    spots = {
        name: spot
        for row in rows.values()
        for item in row
        for name, spot in ((item.plus, plus_stud(item.place, item.kind)), (item.minus, minus_stud(item.place, item.kind)))
    }
    return {name: spot for name, spot in spots.items() if spot is not None}
