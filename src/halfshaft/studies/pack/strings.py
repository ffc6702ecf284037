"""The strings: which module follows which, and what joins each to the next and to the pack's ends."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.pack.links import Link, Web
from halfshaft.studies.pack.rows import CellVolts, Row, runs_of


@dataclass(frozen=True, kw_only=True, slots=True)
class Join:
    """What joins two ends of a string: from stud to stud, or to a plug at the ends of the string. None: nothing does."""

    start: str
    end: str
    links: tuple[Link, ...] | None


@dataclass(frozen=True, kw_only=True, slots=True)
class String:
    """Modules one after another from plus to minus. `joins` has one more: from the pack's plus, between modules, to its minus."""

    number: int
    modules: Row
    joins: tuple[Join, ...]

    @property
    def runs(self) -> tuple[Row, ...]:
        """Modules that follow each other in one box."""
        return runs_of(self.modules)

    @property
    def boxes(self) -> tuple[str, ...]:
        """The box of each run, so that a box entered twice stands twice."""
        return tuple(run[0].box for run in self.runs)

    def volts(self, cell_v: CellVolts) -> float:
        """Sum over its modules at a voltage of one cell."""
        return math.fsum(item.volts(cell_v) for item in self.modules)


def strings_of(conversion: Conversion, rows: Mapping[int, Row], web: Web) -> tuple[String, ...]:
    """Every string with its joins."""
    return tuple(_string(conversion, web, number, row) for number, row in rows.items())


def _string(conversion: Conversion, web: Web, number: int, modules: Row) -> String:
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


def links_of(strings: Iterable[String]) -> dict[str, Link]:
    """Everything that joins the modules of strings to each other and to the pack's ends, by its mark, each once."""
    return {link.ref: link for string in strings for join in string.joins for link in join.links or ()}


def carried_share(strings: Iterable[String]) -> dict[str, float]:
    """By link: which share of the pack's current it carries, if equal strings share it equally."""
    strings = tuple(strings)
    passes = Counter(ref for string in strings for ref in dict.fromkeys(link.ref for join in string.joins for link in join.links or ()))
    return {ref: times / len(strings) for ref, times in passes.items()}


def share_at(links: Iterable[Link], share: Mapping[str, float]) -> dict[str, float]:
    """By stud or pin: the largest share of the pack's current that a link which ends there carries."""
    found: dict[str, float] = {}
    for link in links:
        for node in (link.one, link.other):
            found[node] = max(found.get(node, 0.0), share[link.ref])
    return found
