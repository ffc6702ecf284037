"""What can be wrong with a bus: how it is wired and ended."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding, published
from halfshaft.standards import Constant, bus_limits, constants
from halfshaft.studies.basis import basis_of
from halfshaft.studies.buses.lines import Stub
from halfshaft.studies.buses.message_rules import message_findings
from halfshaft.studies.buses.ohms import WANTED, listed
from halfshaft.studies.buses.study import BusResult

TWO_ENDS = published("ISO 11898-2: one line, ended by a resistor at each of its two ends")
PAIR = published("ISO 11898-2: a twisted pair, H and L side by side from unit to unit")
LISTED = Basis("common practice", "the bus as its wires have it and as bus_nodes.csv lists it should be one")


def bus_findings(conversion: Conversion, buses: Mapping[str, BusResult]) -> Iterator[Finding]:
    """All rules of this study."""
    for bus in buses.values():
        yield from bit_rate(bus)
        yield from message_findings(conversion, bus)
        if not bus.pieces or bus.is_crossed:  # nothing of it is wired yet, or wires.roles-joined says what is wrong with it
            continue
        yield from not_joined(bus)
        yield from not_listed(conversion, bus)
        yield from lines_differ(bus)
        yield from ring(bus)
        yield from terminators(bus)
        yield from terminator_place(bus)
        yield from terminator_value(bus)
        yield from lengths(bus)
        yield from not_twisted(conversion, bus)


def bit_rate(bus: BusResult) -> Iterator[Finding]:
    """A bit rate that high-speed CAN does not have."""
    most = constants()["bus_bit_rate_max_kbit_per_s"]
    if bus.bit_rate_kbit_per_s > most.value:
        yield Finding(
            rule="bus.bit-rate",
            level="fix",
            about=(bus.ref,),
            text=f"Bus {bus.ref} runs at {bus.bit_rate_kbit_per_s:g} kbit/s; CAN goes up to {most.value:g} kbit/s: write kilobits, or the rate of its slow phase.",
            value=bus.bit_rate_kbit_per_s,
            limit=most.value,
            unit="kbit/s",
            basis=basis_of(most),
        )


def not_joined(bus: BusResult) -> Iterator[Finding]:
    """Units of the bus that no wire joins to the others."""
    main, *others = bus.pieces
    wired = {unit for piece in bus.pieces for unit in piece}
    for piece in (*others, *((node,) for node in bus.nodes if node not in wired)):
        names = [unit for unit in piece if unit not in main]
        if names:
            yield Finding(
                rule="bus.not-joined",
                level="stop",
                about=(bus.ref, *names),
                text=f"{listed(names)} {_is(names)} on bus {bus.ref}, but no wire of it leads from there to {', '.join(main[:3]) + ' and others' if len(main) > 3 else listed(main)}: lead H and L on, from a pin of role can_h and one of can_l.",
                value=len(names),
                limit=0,
                unit="units",
                basis=LISTED,
            )


def not_listed(conversion: Conversion, bus: BusResult) -> Iterator[Finding]:
    """Units that are wired to the bus and not listed; plugs with a resistor, and those that only lead on, are no units."""
    for unit in bus.not_listed:
        inside = conversion.part[conversion.device[unit].part].inside
        if inside and all(element.kind in ("link", "resistor") for element in inside):
            continue
        yield Finding(
            rule="bus.unit-not-listed",
            level="note",
            about=(bus.ref, unit),
            text=f"{unit} is wired to bus {bus.ref}, but bus_nodes.csv does not list it: add a row, or part it from the bus.",
            basis=LISTED,
        )


def lines_differ(bus: BusResult) -> Iterator[Finding]:
    """H and L do not pass the units in the same order."""
    if not bus.same_way:
        high, low = (", ".join(way) for way in bus.ways)
        way = f"H by {high}, L by {low}" if high != low else "their stubs leave them at different places"
        yield Finding(
            rule="bus.lines-differ",
            level="stop",
            about=(bus.ref,),
            text=f"H and L of bus {bus.ref} do not run side by side: {way}. Lead both along one way, and join both at the same places.",
            basis=PAIR,
        )


def ring(bus: BusResult) -> Iterator[Finding]:
    """A wire closes a ring."""
    if bus.closing:
        yield Finding(
            rule="bus.ring",
            level="fix",
            about=(bus.ref, *bus.closing),
            text=f"Bus {bus.ref} is closed to a ring by {listed(bus.closing)}; it wants two ends: take that way out, or terminate where it is opened.",
            basis=TWO_ENDS,
        )


def terminators(bus: BusResult) -> Iterator[Finding]:
    """More or fewer than two."""
    fitted = [item.unit for item in bus.fitted]
    if len(fitted) == WANTED:
        return
    idle = [f"{item.unit} has one that is not in ({item.contact})" for item in bus.terminators if not item.is_in]
    spare = f"; {', '.join(idle)}" if idle else ""
    if len(fitted) > WANTED:
        cure = f"take all out but those at the ends{spare}"
    else:
        cure = f"fit one of 120 Ω at each end, or say in the parts which units have one inside{spare}"
    where = f" ({', '.join(fitted)})" if fitted else ""
    yield Finding(
        rule="bus.terminators",
        level="fix" if fitted else "note",
        about=(bus.ref,),
        text=f"Bus {bus.ref} has {_count(len(fitted), 'terminator')} that {'is' if len(fitted) == 1 else 'are'} in{where}; it wants two: {cure}.",
        value=len(fitted),
        limit=WANTED,
        unit="terminators",
        basis=TWO_ENDS,
    )


def terminator_place(bus: BusResult) -> Iterator[Finding]:
    """A terminator that does not stand at an end of the line."""
    careful = constants()["bus_stub_careful_m"].value
    ends = {station.name for station in (bus.order[0], bus.order[-1])}
    for item in bus.fitted if len(bus.fitted) >= WANTED else ():
        beyond = [stub for stub in bus.stubs if stub.at == item.unit]
        if item.unit in bus.ends:
            continue
        if item.unit in ends:
            far_m = max(stub.length_mm for stub in beyond) / 1000
            units = [unit for stub in beyond for unit in stub.units]
            words = f"the line goes on from there for {far_m:.2f} m{f' to {listed(units)}' if units else ''}"
        else:
            at = next((station.at_mm for station in bus.order if station.name == item.unit), None)
            far_m = min(at, bus.trunk_mm - at) / 1000 if at is not None else 0.0
            words = f"it is {far_m:.2f} m from the nearer end" if at is not None else "it is on a stub"
        yield Finding(
            rule="bus.terminator-place",
            level="fix" if len(bus.fitted) > WANTED or far_m > careful else "note",
            about=(bus.ref, item.unit),
            text=f"The terminator of bus {bus.ref} in {item.unit} is not at an end: {words}. Terminate at the last unit, or lead the line so that {item.unit} is the last.",
            value=far_m,
            limit=0.0,
            unit="m",
            basis=TWO_ENDS,
        )


def terminator_value(bus: BusResult) -> Iterator[Finding]:
    """A terminator of the wrong resistance; one of 60 ohm in place of two of 120 is a known mistake."""
    least, most = (constants()[name] for name in ("bus_terminator_min_ohm", "bus_terminator_max_ohm"))
    for item in bus.terminators:
        if not least.value <= item.ohm <= most.value:
            limit = least if item.ohm < least.value else most
            yield Finding(
                rule="bus.terminator-value",
                level="fix" if item.is_in else "note",
                about=(bus.ref, item.unit),
                text=f"The terminator of bus {bus.ref} in {item.unit} has {item.ohm:g} Ω, where {least.value:g} to {most.value:g} Ω end a line: fit 120 Ω, one at each end.",
                value=item.ohm,
                limit=limit.value,
                unit="Ω",
                basis=basis_of(limit),
            )


def lengths(bus: BusResult) -> Iterator[Finding]:
    """Trunk and stubs longer than the bit rate allows."""
    limits = limits_at(bus.bit_rate_kbit_per_s)
    if not limits:
        return
    trunk_m, trunk = bus.trunk_mm / 1000, limits["trunk"]
    rate = f"at {bus.bit_rate_kbit_per_s:g} kbit/s"
    if trunk_m > trunk.value:
        yield Finding(
            rule="bus.trunk-length",
            level="fix",
            about=(bus.ref, bus.order[0].name, bus.order[-1].name),
            text=f"Bus {bus.ref} is {trunk_m:.1f} m from end to end; {rate} it may be {trunk.value:g} m: a slower bit rate, or two buses.",
            value=trunk_m,
            limit=trunk.value,
            unit="m",
            basis=basis_of(trunk),
        )
    for stub in bus.stubs:
        yield from stub_length(bus, stub, limits["stub"])
    together_m, together = sum(stub.length_mm for stub in bus.stubs) / 1000, limits["stubs together"]
    if together_m > together.value:
        yield Finding(
            rule="bus.stubs-together",
            level="fix",
            about=(bus.ref,),
            text=f"The {_count(len(bus.stubs), 'stub')} of bus {bus.ref} {'is' if len(bus.stubs) == 1 else 'are'} {together_m:.1f} m together; {rate} it may be {together.value:g} m: lead the line through some of the units.",
            value=together_m,
            limit=together.value,
            unit="m",
            basis=basis_of(together),
        )


def stub_length(bus: BusResult, stub: Stub, most: Constant) -> Iterator[Finding]:
    """One stub: over makers' tables to put right, over what fast edges ask for to be known."""
    careful = constants()["bus_stub_careful_m"]
    stub_m, names = stub.length_mm / 1000, listed(stub.units or stub.wires)
    over = stub_m > most.value
    limit = most if over else careful
    rate = f"at {bus.bit_rate_kbit_per_s:g} kbit/s"
    said = f"{rate} one may be {most.value:g} m: lead the line through {names}"
    if not over:
        said = f"makers' tables allow {most.value:g} m {rate}, but fast edges come back from a stub over {careful.value:g} m: keep it shorter if the bus shows errors"
    if stub_m > limit.value:
        yield Finding(
            rule="bus.stub-length",
            level="fix" if over else "note",
            about=(bus.ref, *stub.wires),
            text=f"The stub of bus {bus.ref} to {names} is {stub_m:.2f} m; {said}.",
            value=stub_m,
            limit=limit.value,
            unit="m",
            basis=basis_of(limit),
        )


def limits_at(bit_rate_kbit_per_s: float) -> dict[str, Constant]:
    """Greatest lengths at a bit rate: those of the next one in the table that is no slower; none above the fastest."""
    rates = sorted(rate for rate in bus_limits() if rate >= bit_rate_kbit_per_s)
    return bus_limits()[rates[0]] if rates else {}


def not_twisted(conversion: Conversion, bus: BusResult) -> Iterator[Finding]:
    """Wires of the bus that are in no twisted pair."""
    loose = [wire for wire in bus.wires if conversion.wire[wire].twist_group is None]
    if len(loose) > 1:  # one alone leaves its pair with one wire, and looms.twist-of-one says so
        yield Finding(
            rule="bus.not-twisted",
            level="fix",
            about=(bus.ref, *loose),
            text=f"{listed(loose)} of bus {bus.ref} {_is(loose)} in no twisted pair: twist H and L of one stretch together, and say so in twist_groups.csv.",
            value=len(loose),
            limit=0,
            unit="wires",
            basis=PAIR,
        )


def _is(names: list[str]) -> str:
    return "is" if len(names) == 1 else "are"


def _count(number: int, noun: str) -> str:
    return f"{number or 'no'} {noun}{'' if number == 1 else 's'}"
