"""How the chain hangs together: from the pack's ends through contacts, fuses and cables to each unit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.pack import HvUnit
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.pack.links import Link, Web, web_of
from halfshaft.studies.pack.strings import pins_of
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.pack.working import carriers


@dataclass(frozen=True, kw_only=True, slots=True)
class Way:
    """One unit: everything in its way from the pack's plus and to the pack's minus, nearest to the pack first.

    `plus_at` and `minus_at` are the pins at which the two ways begin, `plus_poles` and `minus_poles` the unit's own pins.
    """

    unit: HvUnit
    name: str
    plus: tuple[Link, ...]
    minus: tuple[Link, ...]
    plus_at: str
    minus_at: str
    plus_poles: tuple[str, ...]
    minus_poles: tuple[str, ...]

    @property
    def links(self) -> tuple[Link, ...]:
        """Out and back."""
        return (*self.plus, *self.minus)


@dataclass(frozen=True, kw_only=True, slots=True)
class Chain:
    """The ways to all units that the pack feeds, in the order of hv_units.csv; `shared` are links that all of them pass.

    `links` are all that conduct between the pack's ends and anything, ways side by side and dead ends among them.
    """

    ways: tuple[Way, ...]
    shared: tuple[Link, ...]
    links: tuple[Link, ...]

    def way_ohm(self, way: Way) -> float:
        """Resistance from the pack's ends to the unit and back."""
        return ohms(way.links)


def ohms(links: Iterable[Link]) -> float:
    """Sum of resistances in series."""
    return math.fsum(link.resistance_ohm for link in links)


def chain_of(conversion: Conversion, routing: Routing, pack: Pack) -> Chain:
    """Every unit of hv_units.csv that conductors and closed contacts join to both ends of the pack. Cables count at 20 C."""
    plus_at, minus_at = conversion.pack.plus_at, conversion.pack.minus_at
    if plus_at is None or minus_at is None:
        return Chain(ways=(), shared=(), links=())
    web = web_of(conversion, routing, pack.bars)
    through = {unit.ref for unit in carriers(conversion.pack, conversion.hv_units)}
    ways = tuple(
        way
        for unit in conversion.hv_units
        if unit.ref not in through and (way := _way(conversion, web, unit, plus_at=plus_at, minus_at=minus_at)) is not None
    )
    first = ways[0].links if ways else ()
    shared = tuple(link for link in first if all(link.ref in {other.ref for other in way.links} for way in ways)) if len(ways) > 1 else ()
    groups = joined_groups((link.one, link.other) for link in web.links)
    own = {groups.get(pin, pin) for way in ways for pin in (way.plus_at, way.minus_at)}
    return Chain(ways=ways, shared=shared, links=tuple(link for link in web.links if groups[link.one] in own))


def _way(conversion: Conversion, web: Web, unit: HvUnit, *, plus_at: str, minus_at: str) -> Way | None:
    plus_poles, minus_poles = (_poles(conversion, unit.ref, role) for role in ("hv_plus", "hv_minus"))
    plus = _between(conversion, web, plus_at, plus_poles)
    minus = _between(conversion, web, minus_at, minus_poles)
    if plus is None or minus is None:
        return None
    return Way(
        unit=unit,
        name=conversion.device[unit.ref].name,
        plus=plus[1],
        minus=minus[1],
        plus_at=plus[0],
        minus_at=minus[0],
        plus_poles=plus_poles,
        minus_poles=minus_poles,
    )


def _between(conversion: Conversion, web: Web, end: str, poles: tuple[str, ...]) -> tuple[str, tuple[Link, ...]] | None:
    """The pin at one end of the pack from which there is a way to a pole, and that way."""
    found = ((pin, web.way(pin, poles)) for pin in pins_of(conversion, end)) if poles else iter(())
    return next(((pin, links) for pin, links in found if links is not None), None)


def _poles(conversion: Conversion, device: str, role: str) -> tuple[str, ...]:
    part = conversion.part[conversion.device[device].part]
    return tuple(
        f"{device}.{connector.ref}.{cavity.ref}" for connector in part.connectors for cavity in connector.cavities if cavity.role == role
    )


def elements_in(conversion: Conversion, links: Iterable[Link], kind: str) -> Iterator[str]:
    """Marks `device.element` of the fuses or contacts among links, in their order."""
    for link in links:
        element = conversion.element.get(link.ref) if link.kind == "fuses and contacts" else None
        if element is not None and element.kind == kind:
            yield link.ref
