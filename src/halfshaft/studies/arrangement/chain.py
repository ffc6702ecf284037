"""In which order the pack's cable passes the boxes, so that least high-voltage cable is used.

The pack's plus, the boxes one after another, the pack's minus; the service disconnect sits in one of the gaps. All
orders are looked at, by the dynamic programme of Held and Karp (J. SIAM 10, 1962): the best way through a set of boxes
that ends at one of them is made of the best ways through that set without it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.studies.device_blocks import block_round
from halfshaft.studies.looms.network import Network

HV_ROLES = ("hv_plus", "hv_minus")


@dataclass(frozen=True, kw_only=True, slots=True)
class Spot:
    """A plug of the pack's cable: the route point that it is reached from, and the length from there."""

    point: str
    tail_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Stop:
    """What the cable passes: it comes in at one plug and goes on from the other."""

    ref: str
    comes_in: Spot
    goes_on: Spot


@dataclass(frozen=True, kw_only=True, slots=True)
class Chain:
    """The order of boxes, by their spaces, with least cable.

    The service disconnect comes after `before_disconnect` boxes; None where there is none, or no box.
    """

    spaces: tuple[str, ...]
    before_disconnect: int | None
    cable_mm: float


@dataclass(slots=True)
class Cabling:
    """What is needed to measure a chain: ends of the pack, stops by space, the disconnect, and ways along the runs."""

    network: Network
    places: dict[str, tuple[float, float, float]]
    plus: Spot | None
    minus: Spot | None
    disconnect: Stop | None
    stops: dict[str, Stop]
    ends_mm: float

    def link_mm(self, start: Spot | None, end: Spot | None) -> float:
        """One cable: tails, what both ends take, and the shortest way over runs that may carry HV; straight where there is none."""
        if start is None or end is None:
            return 0.0
        way_mm = self.network.distances_mm(start.point, kind="HV").get(end.point)
        if way_mm is None:
            way_mm = math.dist(self.places[start.point], self.places[end.point])
        return way_mm + start.tail_mm + end.tail_mm + self.ends_mm

    def gap_mm(self, start: Spot | None, end: Spot | None, *, through_disconnect: bool) -> float:
        """From one box to the next, or through the service disconnect on the way."""
        if not through_disconnect or self.disconnect is None:
            return self.link_mm(start, end)
        return self.link_mm(start, self.disconnect.comes_in) + self.link_mm(self.disconnect.goes_on, end)


def hv_connectors(conversion: Conversion, device: str) -> tuple[str | None, str | None]:
    """The connectors of a device with its plus and its minus of the pack, by the roles of their cavities."""
    found: list[str | None] = [None, None]
    for (ref, name), connector in conversion.connector.items():
        for index, role in enumerate(HV_ROLES):
            if ref == device and found[index] is None and {cavity.role for cavity in connector.cavities} == {role}:
                found[index] = name
    return found[0], found[1]


def cabling_of(conversion: Conversion, network: Network, spaces: Sequence[Space]) -> Cabling:
    """Ends and stops of the pack's cable: a box of today keeps its plugs, another one is reached from the nearest point with HV."""
    places = {point.ref: (point.x_mm, point.y_mm, point.z_mm) for point in conversion.points}
    boxes = {box.space: box.ref for box in reversed(conversion.boxes)}
    pack = conversion.pack
    return Cabling(
        network=network,
        places=places,
        plus=_spot(conversion, pack.plus_at),
        minus=_spot(conversion, pack.minus_at),
        disconnect=_disconnect(conversion),
        stops={space.ref: _stop(conversion, space, boxes.get(space.ref)) for space in spaces},
        ends_mm=conversion.shop.cable_ends_mm,
    )


def _spot(conversion: Conversion, connector: str | None) -> Spot | None:
    if connector is None:
        return None
    device, _, name = connector.partition(".")
    tail = conversion.tail.get((device, name))
    return None if tail is None else Spot(point=tail.point, tail_mm=tail.tail_mm)


def disconnect_connectors(conversion: Conversion) -> tuple[str, str] | None:
    """The service disconnect's connectors: the one that the string comes in at, and the one that it goes on from.

    As its cables are today: what hangs at a box's minus comes in. Else in the order in which its part lists them.
    """
    device = conversion.pack.service_disconnect
    if device is None:
        return None
    names = [f"{ref}.{name}" for (ref, name), item in conversion.connector.items() if ref == device and _is_hv(item.cavities)]
    if len(names) < 2:
        return None
    minuses = {f"{box.ref}.{hv_connectors(conversion, box.ref)[1]}" for box in conversion.boxes}
    for cable in conversion.cables:
        ends = (cable.from_connector, cable.to_connector)
        for end, other in (ends, ends[::-1]):
            if end in minuses and other in names:
                return other, next(name for name in names if name != other)
    return names[0], names[1]


def _is_hv(cavities: Sequence[object]) -> bool:
    return any(str(getattr(cavity, "role", "")).startswith("hv") for cavity in cavities)


def _disconnect(conversion: Conversion) -> Stop | None:
    names = disconnect_connectors(conversion)
    if names is None:
        return None
    comes_in, goes_on = (_spot(conversion, name) for name in names)
    if comes_in is None or goes_on is None:
        return None
    return Stop(ref=conversion.pack.service_disconnect or "", comes_in=comes_in, goes_on=goes_on)


def _stop(conversion: Conversion, space: Space, box: str | None) -> Stop:
    if box is not None:
        spots = [_spot(conversion, f"{box}.{name}") for name in hv_connectors(conversion, box) if name]
        if len(spots) == 2 and spots[0] is not None and spots[1] is not None:
            return Stop(ref=space.ref, comes_in=spots[0], goes_on=spots[1])
    spot = nearest_spot(conversion, block_round(conversion, space).centre)
    return Stop(ref=space.ref, comes_in=spot, goes_on=spot)


def nearest_spot(conversion: Conversion, place: tuple[float, float, float]) -> Spot:
    """The route point that HV passes nearest to a place, and the straight way from there; the place itself where HV passes no point."""
    carrying = {end for run in conversion.runs if "HV" in run.may_carry for end in (run.from_point, run.to_point)}
    ways = [(math.dist((point.x_mm, point.y_mm, point.z_mm), place), point.ref) for point in conversion.points if point.ref in carrying]
    if not ways:
        return Spot(point="", tail_mm=0.0)
    tail_mm, point = min(ways)
    return Spot(point=point, tail_mm=tail_mm)


def chains_of(cabling: Cabling, spaces: Sequence[str]) -> dict[frozenset[str], Chain]:
    """The chain with least cable for every set of these spaces. Of two with one length the order that sorts first.

    With two boxes or more the service disconnect goes between two of them, where it parts the pack.
    """
    chains = {frozenset[str](): Chain(spaces=(), before_disconnect=None, cable_mm=0.0)}
    # Best way so far through a set, by the box it ends at and whether the disconnect is passed: length, order, place of the disconnect.
    ways: dict[tuple[frozenset[str], str, bool], tuple[float, tuple[str, ...], int]] = {}
    for space in spaces:
        stop = cabling.stops[space]
        ways[frozenset((space,)), space, False] = (cabling.link_mm(cabling.plus, stop.comes_in), (space,), 0)
        chains[frozenset((space,))] = _alone(cabling, space)
    while ways:
        longer: dict[tuple[frozenset[str], str, bool], tuple[float, tuple[str, ...], int]] = {}
        for (used, last, is_parted), (length_mm, order, place) in ways.items():
            for space in spaces:
                if space in used:
                    continue
                for parts in (False, True) if cabling.disconnect is not None and not is_parted else (False,):
                    gap_mm = cabling.gap_mm(cabling.stops[last].goes_on, cabling.stops[space].comes_in, through_disconnect=parts)
                    key = (used | {space}, space, is_parted or parts)
                    way = (length_mm + gap_mm, (*order, space), len(order) if parts else place)
                    if key not in longer or way < longer[key]:
                        longer[key] = way
        ways = longer
        best: dict[frozenset[str], tuple[float, tuple[str, ...], int]] = {}
        for (used, last, is_parted), (length_mm, order, place) in ways.items():
            if is_parted == (cabling.disconnect is not None):
                whole = (length_mm + cabling.link_mm(cabling.stops[last].goes_on, cabling.minus), order, place)
                best[used] = min(best.get(used, whole), whole)
        for used, (length_mm, order, place) in best.items():
            chains[used] = Chain(spaces=order, before_disconnect=place if cabling.disconnect else None, cable_mm=length_mm)
    return chains


def _alone(cabling: Cabling, space: str) -> Chain:
    """One box: the disconnect can only be on its plus or on its minus side."""
    stop = cabling.stops[space]
    ways = []
    for before in (0, 1):
        plus_mm = cabling.gap_mm(cabling.plus, stop.comes_in, through_disconnect=before == 0)
        minus_mm = cabling.gap_mm(stop.goes_on, cabling.minus, through_disconnect=before == 1)
        ways.append((plus_mm + minus_mm, before))
    length_mm, before = min(ways)
    return Chain(spaces=(space,), before_disconnect=before if cabling.disconnect else None, cable_mm=length_mm)
