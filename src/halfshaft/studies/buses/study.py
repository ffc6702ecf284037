"""Each CAN bus of a conversion: the line it lies in, its ends, the ohms to read, and its load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import Bus
from halfshaft.studies.buses.lines import Length, Line, Station, Stub, lengths_of, line_of, pieces_of, unit_of
from halfshaft.studies.buses.load import BusLoad, load_of
from halfshaft.studies.buses.ohms import Meaning, PlugOhms, Terminator, meanings_of, plug_ohms, terminators_of
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.benches import Bench
from halfshaft.studies.looms.bus import BusPair, bus_pairs
from halfshaft.studies.looms.routing import Routing


@dataclass(frozen=True, kw_only=True, slots=True)
class BusResult:
    """One bus as it is wired; `pieces` are its units by what is joined, the largest first, and the line is that of the first.

    `order` are stations of the trunk, splices of H and L under both names. `trunk_mm` and stubs are the longer of H and
    L. `same_way` is whether H and L pass the units in one order, `is_crossed` whether wires join H to L somewhere. `wires` are those of trunk and stubs, `unlaid` its wires whose length is not known.
    """

    ref: str
    bit_rate_kbit_per_s: float
    nodes: tuple[str, ...]
    pieces: tuple[tuple[str, ...], ...]
    not_listed: tuple[str, ...]
    order: tuple[Station, ...]
    stubs: tuple[Stub, ...]
    trunk_mm: float
    same_way: bool
    is_crossed: bool
    ways: tuple[tuple[str, ...], tuple[str, ...]]
    closing: tuple[str, ...]
    wires: tuple[str, ...]
    unlaid: tuple[str, ...]
    terminators: tuple[Terminator, ...]
    ohms: tuple[PlugOhms, ...]
    meanings: tuple[Meaning, ...]
    load: BusLoad | None

    @property
    def fitted(self) -> tuple[Terminator, ...]:
        """Terminators that are in."""
        return tuple(item for item in self.terminators if item.is_in)

    @property
    def ends(self) -> tuple[str, ...]:
        """Units at the two ends of the trunk beyond which nothing lies."""
        outer = [self.order[0].name, self.order[-1].name] if len(self.order) > 1 else []
        return tuple(name for name in outer if not any(stub.at == name for stub in self.stubs))


def study_buses(conversion: Conversion, routing: Routing, bench: Bench | None) -> dict[str, BusResult]:
    """All buses by their mark."""
    if not conversion.buses:
        return {}
    pairs = bus_pairs(conversion)
    lengths = lengths_of(conversion, routing)
    by_bus = _pieces(conversion, lengths, pairs)
    return {bus.ref: _study(conversion, routing, bench, bus, by_bus[bus.ref], lengths) for bus in conversion.buses}


def _pieces(conversion: Conversion, lengths: Sequence[Length], pairs: Sequence[BusPair]) -> dict[str, list[list[BusPair]]]:
    """Joined pairs by the bus that most of their units are listed on, the largest piece first.

    A unit may be on two buses with a pair each, so pieces are told by all of their units together.
    """
    of_high = {pair.high: pair for pair in pairs}
    nodes = {bus.ref: {node.device for node in conversion.bus_nodes if node.bus == bus.ref} for bus in conversion.buses}
    found: dict[str, list[list[BusPair]]] = {bus.ref: [] for bus in conversion.buses}
    for pins in pieces_of(lengths, of_high):
        units = {unit_of(pin) for pin in pins}
        bus = max(nodes, key=lambda ref: len(nodes[ref] & units))
        if nodes[bus] & units:
            found[bus].append([of_high[pin] for pin in pins])
    return {bus: sorted(pieces, key=lambda piece: -len(piece)) for bus, pieces in found.items()}


def _study(
    conversion: Conversion, routing: Routing, bench: Bench | None, bus: Bus, pieces: Sequence[Sequence[BusPair]], lengths: Sequence[Length]
) -> BusResult:
    nodes = tuple(node.device for node in conversion.bus_nodes if node.bus == bus.ref)
    pairs = list(pieces[0]) if pieces else []
    places = {node: place for place, node in enumerate(nodes)}
    terminators = terminators_of(conversion, pairs)
    fitted = [item for item in terminators if item.is_in]
    low_of = {pair.high: pair.low for pair in pairs}
    high = line_of(lengths, pairs[0].high, [item.pin for item in fitted]) if pairs else _NOTHING
    low = line_of(lengths, pairs[0].low, [low_of[item.pin] for item in fitted]) if pairs else _NOTHING
    # The bus begins at that end which the shop listed first.
    high = _turned(high) if high.stations and _place(high.stations[0], places) > _place(high.stations[-1], places) else high
    low = _turned(low) if _units(low) == _units(high)[::-1] else low
    same_way = _units(high) == _units(low) and [stub.units for stub in high.stubs] == [stub.units for stub in low.stubs]
    wires = {*high.wires, *low.wires, *(wire for line in (high, low) for stub in line.stubs for wire in stub.wires)}
    units = [list(dict.fromkeys(unit_of(pair.high) for pair in piece)) for piece in pieces]
    messages = next((item for item in conversion.messages if item.bus == bus.ref), None)
    return BusResult(
        ref=bus.ref,
        bit_rate_kbit_per_s=bus.bit_rate_kbit_per_s,
        nodes=nodes,
        pieces=tuple(map(tuple, units)),
        not_listed=tuple(sorted({unit for piece in units for unit in piece} - set(nodes))),
        order=_both(high.stations, low.stations) if same_way else high.stations,
        stubs=_longer(high.stubs, low.stubs) if same_way else high.stubs,
        trunk_mm=max(high.trunk_mm, low.trunk_mm),
        same_way=same_way,
        is_crossed=_is_crossed(lengths, [pair for piece in pieces for pair in piece]),
        ways=(_units(high), _units(low)),
        closing=tuple(sorted({*high.closing, *low.closing})),
        wires=tuple(sorted(wires)),
        unlaid=tuple(sorted(wire for wire in wires if routing.wires[wire].length is None)),
        terminators=terminators,
        ohms=plug_ohms(bench, _along(pairs, high)) if bench and pairs else (),
        meanings=meanings_of(terminators, bus.pair_impedance_ohm) if pairs else (),
        load=load_of(messages, bus.bit_rate_kbit_per_s) if messages else None,
    )


def _is_crossed(lengths: Sequence[Length], pairs: Sequence[BusPair]) -> bool:
    root = joined_groups((item.one, item.other) for item in lengths)
    return not {root.get(pair.high) for pair in pairs}.isdisjoint(root.get(pair.low) for pair in pairs)


_NOTHING = Line(stations=(), stubs=(), trunk_mm=0.0, wires=(), closing=())


def _place(station: Station, places: Mapping[str, int]) -> int:
    return places.get(station.name, len(places))


def _along(pairs: Sequence[BusPair], line: Line) -> list[BusPair]:
    """Plugs in the order of the trunk, those of a stub where it branches off."""
    at = {station.name: station.at_mm for station in line.stations}
    at |= {unit: stub.at_mm for stub in line.stubs for unit in stub.units}
    return sorted(pairs, key=lambda pair: at[unit_of(pair.high)])


def _units(line: Line) -> tuple[str, ...]:
    return tuple(station.name for station in line.stations if station.is_unit)


def _turned(line: Line) -> Line:
    """The same line from its other end."""
    stations = tuple(
        Station(name=item.name, is_unit=item.is_unit, at_mm=line.trunk_mm - item.at_mm) for item in reversed(line.stations)
    )  # fmt: skip
    stubs = tuple(
        Stub(at=item.at, at_mm=line.trunk_mm - item.at_mm, units=item.units, wires=item.wires, length_mm=item.length_mm)
        for item in reversed(line.stubs)
    )
    return Line(stations=stations, stubs=stubs, trunk_mm=line.trunk_mm, wires=line.wires[::-1], closing=line.closing)


def _both(high: Sequence[Station], low: Sequence[Station]) -> tuple[Station, ...]:
    """Stations of H and L as one, where they are as many."""
    if len(high) != len(low):
        return tuple(high)
    return tuple(
        Station(name=_name(one.name, other.name), is_unit=one.is_unit, at_mm=max(one.at_mm, other.at_mm))
        for one, other in zip(high, low, strict=True)
    )


def _longer(high: Sequence[Stub], low: Sequence[Stub]) -> tuple[Stub, ...]:
    return tuple(
        Stub(
            at=_name(one.at, other.at),
            at_mm=max(one.at_mm, other.at_mm),
            units=one.units,
            wires=tuple(sorted({*one.wires, *other.wires})),
            length_mm=max(one.length_mm, other.length_mm),
        )
        for one, other in zip(high, low, strict=True)
    )


def _name(one: str, other: str) -> str:
    return one if one == other else f"{one}/{other}"


def names_of_senders(conversion: Conversion, bus: str) -> Mapping[str, tuple[str, ...]]:
    """Units of a bus by the name under which they send."""
    found: dict[str, list[str]] = {}
    for node in conversion.bus_nodes:
        if node.bus == bus and node.sends_as:
            found.setdefault(node.sends_as, []).append(node.device)
    return {name: tuple(units) for name, units in found.items()}
