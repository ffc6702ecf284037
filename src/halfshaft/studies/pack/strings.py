"""The strings: which module follows which, in which boxes, and what joins each to the next."""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from halfshaft.model.boxes import ModulePlace, ModuleType
from halfshaft.model.conversion import Conversion
from halfshaft.studies.pack.links import Link, Web


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
        return self.kind.cells_in_series * self.kind.cell_full_v


@dataclass(frozen=True, kw_only=True, slots=True)
class Join:
    """What joins two ends of a string: from stud to stud, or to a plug at the ends of the string. None: nothing does."""

    start: str
    end: str
    links: tuple[Link, ...] | None

    @property
    def is_whole(self) -> bool:
        """Whether there is a way."""
        return self.links is not None


@dataclass(frozen=True, kw_only=True, slots=True)
class String:
    """Modules one after another from plus to minus. `joins` has one more: from the pack's plus, between modules, to its minus."""

    number: int
    modules: tuple[InString, ...]
    joins: tuple[Join, ...]

    @property
    def runs(self) -> tuple[tuple[InString, ...], ...]:
        """Modules that follow each other in one box."""
        return tuple(tuple(group) for _, group in itertools.groupby(self.modules, key=lambda item: item.box))

    @property
    def boxes(self) -> tuple[str, ...]:
        """The box of each run, so that a box entered twice stands twice."""
        return tuple(run[0].box for run in self.runs)

    def volts(self, cell_v: str) -> float:
        """Sum over its modules of cells in series times a voltage of one cell: `cell_full_v`, `cell_nominal_v` ..."""
        return math.fsum(item.kind.cells_in_series * getattr(item.kind, cell_v) for item in self.modules)


def strings_of(conversion: Conversion, web: Web) -> tuple[String, ...]:
    """Every string with its joins. A module of a number used twice follows the other in the order of description."""
    kinds = {kind.part: kind for kind in conversion.modules}
    members: dict[int, list[InString]] = defaultdict(list)
    for box in conversion.boxes:
        for place in box.modules:
            members[place.string].append(InString(box=box.ref, place=place, kind=kinds[place.module]))
    return tuple(
        _string(conversion, web, number, tuple(sorted(found, key=lambda item: item.place.order_in_string)))
        for number, found in sorted(members.items())
    )


def _string(conversion: Conversion, web: Web, number: int, modules: tuple[InString, ...]) -> String:
    settings = conversion.pack
    joins = [
        Join(start=first.minus, end=second.plus, links=web.way(first.minus, [second.plus])) for first, second in itertools.pairwise(modules)
    ]
    for connector, stud, at in ((settings.plus_at, modules[0].plus, 0), (settings.minus_at, modules[-1].minus, len(joins) + 1)):
        if connector is not None:
            links = web.way(stud, pins_of(conversion, connector))
            joins.insert(at, Join(start=connector, end=stud, links=None if links is None else links[::-1]))
        else:
            joins.insert(at, Join(start="", end=stud, links=None))
    return String(number=number, modules=modules, joins=tuple(joins))


def pins_of(conversion: Conversion, connector: str) -> list[str]:
    """The pins of a connector written `device.connector`."""
    device, _, name = connector.partition(".")
    return [f"{connector}.{cavity.ref}" for cavity in conversion.connector[device, name].cavities]


def carried_share(strings: Iterable[String]) -> dict[str, float]:
    """By link: which share of the pack's current it carries, if equal strings share it equally."""
    strings = tuple(strings)
    passes = Counter(ref for string in strings for ref in {link.ref for join in string.joins for link in join.links or ()})
    return {ref: times / len(strings) for ref, times in passes.items()}
