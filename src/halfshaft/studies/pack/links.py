"""What conducts between the studs of modules and the plugs of boxes: bars, cores of cables, and what is closed inside devices."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.pack.bars import Bar

LinkKind = Literal["busbars", "cables", "fuses and contacts"]
# With the car switched on every contact in the way of the pack's current is closed.
CONDUCTING = ("link", "fuse", "contact")


@dataclass(frozen=True, kw_only=True, slots=True)
class Link:
    """One thing that conducts between two studs or pins; `resistance_ohm` is 0 where nobody has said it."""

    ref: str
    kind: LinkKind
    one: str
    other: str
    resistance_ohm: float


@dataclass(frozen=True, slots=True)
class Web:
    """All links, and for each stud or pin those that touch it."""

    links: tuple[Link, ...]
    at: Mapping[str, tuple[Link, ...]]

    def way(self, start: str, ends: Iterable[str]) -> tuple[Link, ...] | None:
        """The way with the fewest links from a stud to one of the ends; of several the one whose links were described first."""
        wanted = set(ends)
        before: dict[str, tuple[str, Link] | None] = {start: None}
        queue = deque([start])
        while queue:
            node = queue.popleft()
            if node in wanted:
                return tuple(_back(before, node))[::-1]
            for link in self.at.get(node, ()):
                other = link.other if link.one == node else link.one
                if other not in before:
                    before[other] = (node, link)
                    queue.append(other)
        return None


def _back(before: Mapping[str, tuple[str, Link] | None], node: str) -> Iterator[Link]:
    while (step := before[node]) is not None:
        node, link = step
        yield link


def web_of(conversion: Conversion, routing: Routing, bars: Iterable[Bar]) -> Web:
    """Everything that conducts, at 20 C. A bar whose length is not known and a cable that has no way are there, without resistance."""
    links = (*map(_bar, bars), *_cores(conversion, routing), *_inside(conversion))
    at: dict[str, list[Link]] = defaultdict(list)
    for link in links:
        at[link.one].append(link)
        at[link.other].append(link)
    return Web(links, {node: tuple(found) for node, found in at.items()})


def _bar(bar: Bar) -> Link:
    return Link(ref=bar.ref, kind="busbars", one=bar.start, other=bar.end, resistance_ohm=bar.resistance_ohm or 0.0)


def _cores(conversion: Conversion, routing: Routing) -> Iterator[Link]:
    cut_mm = {laid.cable.ref: laid.cut_mm or 0.0 for laid in routing.cables}
    kinds = {cable.ref: conversion.cable_type[cable.cable_type] for cable in conversion.cables}
    for core in conversion.cable_cores:
        resistance_ohm = kinds[core.cable].resistance_mohm_per_m / 1000 * cut_mm[core.cable] / 1000
        yield Link(ref=core.cable, kind="cables", one=core.from_pin, other=core.to_pin, resistance_ohm=resistance_ohm)


def _inside(conversion: Conversion) -> Iterator[Link]:
    for device in conversion.devices:
        for element in conversion.part[device.part].inside:
            if element.kind in CONDUCTING:
                one, other = (f"{device.ref}.{pin}" for pin in (element.pin_a, element.pin_b))
                yield Link(
                    ref=f"{device.ref}.{element.ref}",
                    kind="fuses and contacts",
                    one=one,
                    other=other,
                    resistance_ohm=element.resistance_ohm or 0.0,
                )
