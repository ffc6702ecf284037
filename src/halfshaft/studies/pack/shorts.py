"""Does what is joined short a module, or set modules against each other? Found by going round every loop of modules and links."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.studies.groups import joined_groups
from halfshaft.studies.pack.links import Web
from halfshaft.studies.pack.rows import InString, Row

# Volts that are left over on the way round a loop of batteries are not rounding.
LEAST_V = 0.01


@dataclass(frozen=True, kw_only=True, slots=True)
class Short:
    """A loop without anything to limit the current: the module that closes it, the volts left over, the bars at its studs."""

    module: str
    volts: float
    bars: tuple[str, ...]


def shorts_of(rows: Mapping[int, Row], web: Web) -> tuple[Short, ...]:
    """Kirchhoff's voltage law: round any loop the volts must cancel. Every contact is taken as closed, as when driving."""
    modules = [item for row in rows.values() for item in row]
    studs = [(stud, stud) for item in modules for stud in (item.plus, item.minus)]
    group = joined_groups([*studs, *((link.one, link.other) for link in web.links)])
    level_v = _levels(modules, group)
    return tuple(
        Short(module=item.ref, volts=left_v, bars=_bars(web, {group[item.plus], group[item.minus]}, group))
        for item in modules
        if (left_v := abs(level_v[group[item.plus]] - level_v[group[item.minus]] - item.full_v)) > LEAST_V
    )


def _levels(modules: list[InString], group: Mapping[str, str]) -> dict[str, float]:
    """Volts of every joined group, found by stepping over modules from one group of each part that hangs together."""
    steps: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for item in modules:
        plus, minus = group[item.plus], group[item.minus]
        steps[minus].append((plus, item.full_v))
        steps[plus].append((minus, -item.full_v))
    level_v: dict[str, float] = {}
    for start in steps:
        if start in level_v:
            continue
        level_v[start] = 0.0
        queue = deque([start])
        while queue:
            at = queue.popleft()
            for other, volts in steps[at]:
                if other not in level_v:
                    level_v[other] = level_v[at] + volts
                    queue.append(other)
    return level_v


def _bars(web: Web, groups: set[str], group: Mapping[str, str]) -> tuple[str, ...]:
    found: Iterator[str] = (link.ref for link in web.links if link.kind == "busbars" and group[link.one] in groups)
    return tuple(dict.fromkeys(found))
