"""The 12 V side of one case as a network: wires, links, fuses, closed contacts, resistors, body, battery and converter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Case
from halfshaft.model.parts import Element
from halfshaft.standards import constants
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.low_voltage.air import air_c
from halfshaft.studies.low_voltage.contacts import Switching
from halfshaft.studies.low_voltage.demands import Demands
from halfshaft.studies.network.records import DcNetwork, Diode, Load, Resistor, Source
from halfshaft.studies.wires.circuit import BODY, hub_of, node_of, strap_branch
from halfshaft.studies.wires.study import WiresResult, resistance_at, zones_passed

CONDUCTS = frozenset({"link", "fuse"})


def case_network(conversion: Conversion, routing: Routing, wires: WiresResult, case: Case, switched: Switching) -> DcNetwork:
    """Everything but the loads that is joined to ground in this case."""
    asleep = _sleeping_pins(conversion, Demands(conversion, case, switched.on), switched)
    resistors = [
        *_wires(conversion, routing, wires, case),
        *_inside(conversion, switched, asleep),
        *_straps(conversion),
        *body_resistors(conversion),
    ]
    ground = BODY if wires.minus_is_grounded else switched.circuit.supply.minus
    diodes = [diode for item in _elements(conversion) if (diode := _diode(*item, switched)) is not None]
    return joined_to_ground(DcNetwork(ground=ground, resistors=tuple(resistors), sources=_sources(conversion, case), diodes=tuple(diodes)))


def with_loads(network: DcNetwork, loads: Iterable[Load]) -> DcNetwork:
    """The network of a case with some loads on."""
    return replace(network, loads=tuple(loads))


def joined_to_ground(network: DcNetwork) -> DcNetwork:
    """The network without what nothing joins to its ground, such as the high-voltage side."""
    groups = joined_groups(
        [
            *((item.start, item.end) for item in network.resistors),
            *((item.plus, item.minus) for item in network.sources),
            *((item.anode, item.cathode) for item in network.diodes),
        ]
    )
    own = groups.get(network.ground)
    return replace(
        network,
        resistors=tuple(item for item in network.resistors if groups[item.start] == own),
        sources=tuple(item for item in network.sources if groups[item.plus] == own),
        diodes=tuple(item for item in network.diodes if groups[item.anode] == own),
    )


def contacts_ohm(conversion: Conversion, ends: Iterable[str]) -> float:
    """What the terminals on a wire's ends add: one connection each, as the catalogue gives it."""
    return sum(conversion.terminal[_terminal(conversion, pin)].contact_resistance_mohm for pin in ends) / 1000


def _terminal(conversion: Conversion, pin: str) -> str:
    return conversion.splice[pin].terminal if pin in conversion.splice else conversion.cavity[pin].terminal


def copper_ohm(conversion: Conversion, routing: Routing, wires: WiresResult, case: Case, ref: str) -> float:
    """A wire's copper at the hottest air that it passes in this case, its own heating left out."""
    return resistance_at(wires.resistance_ohm.get(ref, 0.0), air_c(conversion, case, zones_passed(conversion, routing.wires[ref])))


def _wires(conversion: Conversion, routing: Routing, wires: WiresResult, case: Case) -> list[Resistor]:
    return [
        Resistor(
            ref=wire.ref,
            start=wire.from_pin,
            end=wire.to_pin,
            ohm=copper_ohm(conversion, routing, wires, case, wire.ref) + contacts_ohm(conversion, (wire.from_pin, wire.to_pin)),
        )
        for wire in conversion.wires
    ]


def _diode(ref: str, element: Element, start: str, end: str, switched: Switching) -> Diode | None:
    """A diode, or an electronic switch that is closed and blocks the other way; such a switch loses only what its resistance takes."""
    if element.kind == "diode":
        return Diode(ref=ref, anode=start, cathode=end)
    if element.passes and ref in switched.closed:
        return Diode(ref=ref, anode=start, cathode=end, forward_v=0.0, ohm=element.resistance_ohm or 0.0)
    return None


def _elements(conversion: Conversion) -> list[tuple[str, Element, str, str]]:
    """What is inside each device, with the names of its two nodes."""
    found = []
    for ref, element in conversion.element.items():
        device = ref.partition(".")[0]
        found.append((ref, element, node_of(device, element.pin_a), node_of(device, element.pin_b)))
    return found


def _inside(conversion: Conversion, switched: Switching, asleep: frozenset[str]) -> list[Resistor]:
    """Links, fuses, closed contacts; resistors of units that are awake; coils that no row of loads.csv speaks for."""
    supply_pins = {pin for ref, element, pin, _ in _elements(conversion) if element.kind == "load" and ref in conversion.load}
    found = []
    for ref, element, start, end in _elements(conversion):
        is_way = element.kind in CONDUCTS or (ref in switched.closed and not element.passes)
        is_awake = element.kind == "resistor" and (not asleep & {start, end} or supply_pins >= {start, end})
        is_coil = element.kind == "coil" and element.resistance_ohm and ref not in conversion.load
        if is_way or ((is_awake or is_coil) and element.resistance_ohm is not None):
            found.append(Resistor(ref=ref, start=start, end=end, ohm=element.resistance_ohm or 0.0))
    return found


def _sleeping_pins(conversion: Conversion, demands: Demands, switched: Switching) -> frozenset[str]:
    """Supply pins of units that are fed and sleep or are off.

    What a unit takes is measured at its plug, with its own pull-ups and loops in it. Asleep it takes what loads.csv says and
    no more, so resistors from such a pin to its other pins carry nothing; those to another supply pin stay.
    """
    awake: set[str] = set()
    asleep: set[str] = set()
    for ref in conversion.load:
        element = conversion.element[ref]
        pin = node_of(ref.partition(".")[0], element.pin_a)
        if element.kind == "load" and pin in switched.circuit.from_plus:
            (awake if ref in switched.on and not demands.sleeps(ref) else asleep).add(pin)
    return frozenset(asleep - awake)


def _straps(conversion: Conversion) -> list[Resistor]:
    there = [strap_branch(conversion, strap) for strap in conversion.straps if strap.removed_with is None]
    return [Resistor(ref=branch.ref, start=branch.start, end=branch.end, ohm=branch.resistance_ohm) for branch in there]


def body_resistors(conversion: Conversion) -> list[Resistor]:
    """Each ground point joined to the middle of the body by half of what lies between two of them."""
    ohm = conversion.supply.body_mohm / 2000
    found = []
    for point in conversion.ground_points:
        hub = hub_of(conversion, point.ref)
        found.append(Resistor(ref=point.ref, start=hub, end=BODY, ohm=ohm))
        part = conversion.part[conversion.device[point.ref].part]
        linked = {node_of(point.ref, pin) for element in part.inside for pin in (element.pin_a, element.pin_b)}
        pins = [f"{point.ref}.{connector.ref}.{cavity.ref}" for connector in part.connectors for cavity in connector.cavities]
        rings = [pin for pin in pins if pin != hub and pin not in linked]
        found += [Resistor(ref=f"{pin} on its stud", start=pin, end=hub, ohm=0.0) for pin in rings]
    return found


def _sources(conversion: Conversion, case: Case) -> tuple[Source, ...]:
    battery = battery_of(conversion)
    converter = conversion.supply.converter
    found = [] if battery is None else [_battery(conversion, battery)]
    if converter is not None and case.converter in ("", "on"):
        element = conversion.element[converter]
        volt = element.voltage_v if element.voltage_v is not None else conversion.supply.voltage_v
        limit_a = converter_limit_a(conversion, case)
        found.append(
            _source(converter, element, volt=volt, current_max_a=limit_a, one_way=True)
        )  # fmt: skip
    return tuple(found)


def battery_of(conversion: Conversion) -> str | None:
    """The source inside the 12 V battery."""
    device = conversion.device.get(conversion.supply.battery or "")
    if device is None:
        return None
    return next((f"{device.ref}.{item.ref}" for item in conversion.part[device.part].inside if item.kind == "source"), None)


def _battery(conversion: Conversion, ref: str) -> Source:
    """A full battery takes nothing to speak of at the converter's volts, so it only gives: charging it is not counted.

    Where no converter is named the battery stands for whatever feeds the car, at the volts of [supply].
    """
    element = conversion.element[ref]
    resting_v = element.voltage_v if element.voltage_v is not None else constants()["battery_resting_v"].value
    volt = conversion.supply.voltage_v if conversion.supply.converter is None else resting_v
    return _source(ref, element, volt=volt, current_max_a=None, one_way=True)


def _source(ref: str, element: Element, *, volt: float, current_max_a: float | None, one_way: bool) -> Source:
    device = ref.partition(".")[0]
    return Source(
        ref=ref,
        plus=node_of(device, element.pin_a),
        minus=node_of(device, element.pin_b),
        volt=volt,
        ohm=element.resistance_ohm or 0.0,
        current_max_a=current_max_a,
        one_way=one_way,
    )


def converter_limit_a(conversion: Conversion, case: Case) -> float | None:
    """The most that the DC-DC converter gives in a case: less where the air round it is hot."""
    supply = conversion.supply
    if supply.converter is None:
        return None
    device = conversion.device[supply.converter.partition(".")[0]]
    rating_a = conversion.element[supply.converter].rating_a
    if supply.converter_hot_max_a is None or supply.converter_hot_above_c is None:
        return rating_a
    is_hot = air_c(conversion, case, [device.zone] if device.zone else []) >= supply.converter_hot_above_c
    return min(supply.converter_hot_max_a, rating_a or supply.converter_hot_max_a) if is_hot else rating_a
