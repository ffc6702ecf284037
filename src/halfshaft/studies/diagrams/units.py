"""What stands on one sheet of the wiring diagrams: parts with their pins and symbols, splices, grounds, and wires between them.

A line through a part from its upper to its lower edge is a slot: a fuse, a relay's contact, a load, a link. A fuse board's
slots begin at a supply bar. All other pins stand free at the part's edge, on whichever side their wire comes in.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Element

SUPPLY_BARS = {"30": "battery +, always", "15": "battery +, key on", "58": "side lamps"}
_BAR_ROLES = {"supply_30": "30", "supply_15": "15"}
# A node inside a part at which so many elements meet is a bar, not a way.
_BAR_ELEMENTS = 3
_CHAINED = frozenset({"fuse", "contact", "coil", "link"})

Side = Literal["upper", "lower"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """A wire, or one core of a cable, as it is drawn: from pin to pin, with its text."""

    ref: str
    core: int | None
    start: str
    end: str
    colour: str
    section_mm2: float
    is_hv: bool
    pair: str | None = None
    screen: str = ""

    @property
    def words(self) -> str:
        """Its text on the sheet: ref, letters, section."""
        core = "" if self.core is None else f".{self.core}"
        return f"{'HV ' if self.is_hv else ''}{self.ref}{core} {self.colour} {self.section_mm2:g}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Symbol:
    """An element inside a part, with the numbers of its upper and lower terminals where they have any."""

    ref: str
    kind: str
    value: str
    upper: str = ""
    lower: str = ""
    rest_state: str = "open"


@dataclass(frozen=True, kw_only=True, slots=True)
class Slot:
    """A line through a part.

    `bar` is the supply that its top comes from, `joint` the inner node where it meets others, `to_bar` a supply that it makes.
    """

    upper: str | None
    lower: str | None
    symbols: tuple[Symbol, ...]
    bar: str | None = None
    joint: str | None = None
    to_bar: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Unit:
    """One thing on the sheet. `pins` are the ends of wires that stand free; a slot's pins are not among them.

    An end is a pin and the wire that comes to it, since several wires may come to one pin.
    """

    ref: str
    kind: Literal["part", "splice", "ground", "flag"]
    name: str
    place: str
    slots: tuple[Slot, ...]
    pins: tuple[tuple[str, str], ...]
    whole: bool
    elsewhere: tuple[str, ...] = ()

    @property
    def feeds(self) -> bool:
        """Whether a supply bar comes to it."""
        return any(slot.bar for slot in self.slots)


def lines_of_system(conversion: Conversion, system: str | None) -> tuple[Line, ...]:
    """Wires and cable cores of one system, in the order of the from-to list."""
    wires = [
        Line(ref=w.ref, core=None, start=w.from_pin, end=w.to_pin, colour=w.colour, section_mm2=w.section_mm2, is_hv=False, pair=w.twist_group, screen=w.screen)
        for w in conversion.wires
        if w.system == system
    ]  # fmt: skip
    cores = defaultdict(list)
    for core in conversion.cable_cores:
        cores[core.cable].append(core)
    for cable in conversion.cables:
        if cable.system != system:
            continue
        kind = conversion.cable_type[cable.cable_type]
        for core in cores[cable.ref]:
            number = core.core if kind.cores > 1 else None
            wires.append(
                Line(
                    ref=cable.ref, core=number, start=core.from_pin, end=core.to_pin, colour="OG", section_mm2=kind.section_mm2, is_hv=True
                )
            )
    return tuple(wires)


def units_of(conversion: Conversion, lines: Iterable[Line]) -> tuple[Unit, ...]:
    """Every device, splice and ground point that these wires end at."""
    lines = tuple(lines)
    ends: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for line in lines:
        for pin in (line.start, line.end):
            ends[pin.split(".")[0]].append((pin, _end_name(line)))
    grounds = {point.ref: point for point in conversion.ground_points}
    units = []
    for ref, found in ends.items():
        if ref in conversion.splice:
            units.append(_splice(conversion, ref, found, lines))
        elif ref in grounds:
            units.append(Unit(ref=ref, kind="ground", name="body", place=grounds[ref].place, slots=(), pins=tuple(found), whole=True))
        else:
            units.append(_part(conversion, ref, found))
    return tuple(units)


def fuse_boxes(conversion: Conversion) -> tuple[str, ...]:
    """Devices in use with fuses whose places on the box are known."""
    return tuple(
        device.ref
        for device in conversion.devices
        if lines_of_box(conversion, device.ref)
        and any(element.kind == "fuse" and element.row and element.column for element in conversion.part[device.part].inside)
    )


def lines_of_box(conversion: Conversion, device: str) -> tuple[Line, ...]:
    """Every wire of a fuse box; its other end is the wire's own name, which stands for where it goes on."""
    found = []
    for wire in conversion.wires:
        ends = [wire.from_pin, wire.to_pin]
        here = [pin.split(".")[0] == device for pin in ends]
        if any(here) and not all(here):
            start = ends[here.index(True)]
            found.append(
                Line(ref=wire.ref, core=None, start=start, end=wire.ref, colour=wire.colour, section_mm2=wire.section_mm2, is_hv=False)
            )
    return tuple(found)


def units_of_box(conversion: Conversion, device: str, lines: tuple[Line, ...]) -> tuple[Unit, ...]:
    """A fuse box with everything in it, and a flag for each wire that leaves it."""
    box = _part(conversion, device, [end_of_line(line, line.start) for line in lines])
    inside = conversion.part[conversion.device[device].part].inside
    slots = (*box.slots, *_bar_makers(conversion, device, inside))
    flags = [
        Unit(ref=line.ref, kind="flag", name="", place="", slots=(), pins=(end_of_line(line, line.end),), whole=True) for line in lines
    ]
    return (replace(box, slots=slots), *flags)


def _bar_makers(conversion: Conversion, device: str, inside: tuple[Element, ...]) -> list[Slot]:
    """Lines from one supply bar to another, such as the relay that makes 15 from 30."""
    at = _by_node(inside)
    found = []
    for node in sorted(at):
        made = node[1:]
        if not node.startswith("~") or made not in SUPPLY_BARS:
            continue
        for contact in (element for element in at[node] if element.kind == "contact"):
            start = contact.pin_a if contact.pin_b == node else contact.pin_b
            chain = _chain_up(conversion, device, start, at, but=contact)
            if chain is not None:
                symbols = tuple(symbol_of(element) for element in (*reversed(chain[0]), contact))
                found.append(Slot(upper=None, lower=None, symbols=symbols, bar=chain[1], to_bar=made))
    return found


def _end_name(line: Line) -> str:
    return line.ref if line.core is None else f"{line.ref}.{line.core}"


def end_of_line(line: Line, pin: str) -> tuple[str, str]:
    """The name of one end of a line: its pin, and the line."""
    return pin, _end_name(line)


def _splice(conversion: Conversion, ref: str, found: list[tuple[str, str]], lines: tuple[Line, ...]) -> Unit:
    here = {line.ref for line in lines}
    others = tuple(wire.ref for wire in conversion.wires if ref in (wire.from_pin, wire.to_pin) and wire.ref not in here)
    return Unit(
        ref=ref,
        kind="splice",
        name=conversion.splice[ref].meaning,
        place="",
        slots=(),
        pins=tuple(found),
        whole=not others,
        elsewhere=others,
    )


def _part(conversion: Conversion, ref: str, found: list[tuple[str, str]]) -> Unit:
    device = conversion.device[ref]
    part = conversion.part[device.part]
    shown = [pin.partition(".")[2] for pin, _ in found]
    single = {pin for pin in shown if shown.count(pin) == 1}
    slots = _fed_slots(conversion, ref, part.inside, single) if "fuse" in part.kind else []
    taken = {pin for slot in slots for pin in (slot.upper, slot.lower) if pin}
    through = {pin for pin in shown if conversion.cavity[f"{ref}.{pin}"].role == "through"}
    slots += _through_slots(part.inside, single - taken, through)
    taken = {pin for slot in slots for pin in (slot.upper, slot.lower) if pin}
    in_use = {f"{connector.ref}.{cavity.ref}" for connector in part.connectors for cavity in connector.cavities} & _used(conversion, ref)
    return Unit(
        ref=ref,
        kind="part",
        name=device.name,
        place=device.place,
        slots=tuple(slots),
        pins=tuple(end for end in found if end[0].partition(".")[2] not in taken),
        whole=in_use == set(shown),
    )


def _used(conversion: Conversion, device: str) -> set[str]:
    """Pins of a device that any wire or core ends at."""
    ends = [pin for wire in conversion.wires for pin in (wire.from_pin, wire.to_pin)]
    ends += [pin for core in conversion.cable_cores for pin in (core.from_pin, core.to_pin)]
    return {pin.partition(".")[2] for pin in ends if pin.startswith(f"{device}.")}


def _fed_slots(conversion: Conversion, device: str, inside: tuple[Element, ...], shown: set[str]) -> list[Slot]:
    """Lines of a fuse board from a supply bar down to a pin that is shown."""
    at = _by_node(inside)
    slots: list[Slot] = []
    drawn: set[str] = set()
    for pin in sorted(shown):
        if _bar_of(conversion, device, pin, at) is not None:
            continue
        chain = _chain_up(conversion, device, pin, at)
        if chain is None:
            continue
        elements, nodes = chain[0], chain[2]
        bar: str | None = chain[1]
        if not any(element.kind == "fuse" for element in elements):
            continue
        joint = None
        for index, element in enumerate(elements):
            if element.ref in drawn:
                # What lies above is drawn already: the line ends at the node where it meets the other.
                joint, bar, elements = nodes[index], None, elements[:index]
                break
        drawn.update(element.ref for element in elements)
        if joint is None:
            joint = next((node for node in nodes[1:-1] if len(at[node]) >= _BAR_ELEMENTS), None)
        slots.append(Slot(upper=None, lower=pin, symbols=tuple(symbol_of(element) for element in reversed(elements)), bar=bar, joint=joint))
    return slots


def _by_node(inside: Iterable[Element]) -> dict[str, list[Element]]:
    at: dict[str, list[Element]] = defaultdict(list)
    for element in inside:
        at[element.pin_a].append(element)
        at[element.pin_b].append(element)
    return at


def _bar_of(conversion: Conversion, device: str, node: str, at: Mapping[str, list[Element]]) -> str | None:
    """The supply bar that a node inside a part is, or None."""
    if node.startswith("~"):
        return node[1:] if node[1:] in SUPPLY_BARS else None
    role = conversion.cavity[f"{device}.{node}"].role
    return _BAR_ROLES.get(role) if len(at.get(node, ())) >= _BAR_ELEMENTS else None


def _chain_up(
    conversion: Conversion, device: str, pin: str, at: Mapping[str, list[Element]], but: Element | None = None
) -> tuple[list[Element], str, list[str]] | None:
    """The elements from a pin up to a supply bar with the nodes between them, or None where no single way leads there."""
    elements: list[Element] = []
    nodes = [pin]
    while True:
        ways = [e for e in at.get(nodes[-1], ()) if e.kind in _CHAINED and e not in elements and e is not but]
        if len(ways) > 1:
            # At a node where several meet, the one fuse is what feeds it.
            ways = [e for e in ways if e.kind == "fuse"]
        if len(ways) != 1:
            return None
        elements.append(ways[0])
        nodes.append(ways[0].pin_b if ways[0].pin_a == nodes[-1] else ways[0].pin_a)
        bar = _bar_of(conversion, device, nodes[-1], at)
        if bar is not None:
            return elements, bar, nodes
        if not nodes[-1].startswith("~"):
            return None


@dataclass(frozen=True, slots=True)
class _Way:
    """Elements one after another between two pins of a part."""

    start: str
    end: str
    elements: tuple[Element, ...]


def _through_slots(inside: tuple[Element, ...], shown: set[str], through: set[str]) -> list[Slot]:
    """Elements, one after another, between two pins that are shown, where neither pin has another such way.

    A mere link is a line through the part only in an inline connector (`through`); elsewhere its pins stand free.
    """
    # A resistor beside a coil or across a bus lies between lines that are drawn; it asks for none of its own.
    at = _by_node(element for element in inside if element.kind != "resistor")
    ways = [way for pin in sorted(shown) for element in at.get(pin, ()) if (way := _way(at, shown, pin, element)) is not None]
    busy: dict[str, int] = defaultdict(int)
    for way in ways:
        busy[way.start] += 1
    return [
        Slot(upper=way.start, lower=way.end, symbols=tuple(symbol_of(e) for e in way.elements if e.kind != "link"))
        for way in ways
        if busy[way.start] == busy[way.end] == 1
        and _plus_first(way)
        and (way.start in through or any(e.kind != "link" for e in way.elements))
    ]


def _way(at: Mapping[str, list[Element]], shown: set[str], pin: str, first: Element) -> _Way | None:
    """The way that begins at a pin with an element, over inner nodes where just two elements meet, to another shown pin."""
    elements, node = [first], first.pin_b if first.pin_a == pin else first.pin_a
    while node.startswith("~") and len(at[node]) == 2:
        element = next(e for e in at[node] if e is not elements[-1])
        if element in elements:
            return None
        elements.append(element)
        node = element.pin_b if element.pin_a == node else element.pin_a
    return _Way(pin, node, tuple(elements)) if node in shown and node != pin else None


def _plus_first(way: _Way) -> bool:
    """Each way is found from both its ends; it is drawn from the plus side of its source or load, else from its first pin_a."""
    deciding = next((e for e in way.elements if e.kind in ("source", "load", "coil", "diode")), way.elements[0])
    nodes = [way.start]
    for element in way.elements:
        nodes.append(element.pin_b if element.pin_a == nodes[-1] else element.pin_a)
        if element is deciding:
            return nodes[-2] == element.pin_a
    raise AssertionError("the deciding element is one of the way's own")


def symbol_of(element: Element) -> Symbol:
    """How an element is drawn: kind, value, and a relay's terminal numbers by its own pattern."""
    value = ""
    if element.kind == "fuse" and element.rating_a is not None:
        value = f"{element.rating_a:g} A"
    elif element.kind in ("resistor", "coil") and element.resistance_ohm is not None:
        value = f"{element.resistance_ohm:g} Ω"
    upper, lower = terminal_numbers(element)
    return Symbol(ref=element.ref, kind=element.kind, value=value, upper=upper, lower=lower, rest_state=element.rest_state or "open")


def terminal_numbers(element: Element) -> tuple[str, str]:
    """Upper and lower terminal of a relay's coil or contact as DIN 72552 numbers them, or as a socket of today does.

    In DIN 72552 a contact's input is 87 (break, change-over) or 88 (make) and its outputs 87a, 88a; on a relay socket of today 30 is the
    common contact and 87 the output that a pulled-in relay makes. So the number alone says nothing: the part gives the pattern.
    """
    if element.kind == "coil" and element.pattern:
        return "86", "85"
    if element.kind != "contact" or not element.pattern:
        return "", ""
    if element.pattern == "socket":
        return ("30", "87a") if element.rest_state == "closed" else ("30", "87")
    return ("87", "87a") if element.rest_state == "closed" else ("88", "88a")
