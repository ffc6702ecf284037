"""Where the high voltage is: units with live pins, the plugs that cables end in, and what is joined to what.

A pin is live by its role: `hv...` is on the battery's side of a charger (motor phases too), `ac_...` on the mains side.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Connector, Element
from halfshaft.studies.groups import joined_groups

DC, PHASE, MAINS = "hv", "hv_ac", "ac_"
EARTH = "protective_earth"
Kind = Literal["pack", "motor phase", "mains"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Plug:
    """A connector of a unit in which cores of high-voltage or mains cables end."""

    device: str
    connector: Connector
    cables: tuple[str, ...]
    kind: Kind

    @property
    def ref(self) -> str:
        """`device.connector`."""
        return f"{self.device}.{self.connector.ref}"


def is_live(role: str) -> bool:
    """Whether a pin of this role carries the pack's or the mains' volts."""
    return role.startswith((DC, MAINS))


def live_plugs(conversion: Conversion) -> tuple[Plug, ...]:
    """Every connector with a live pin on which a cable core ends, by device and connector."""
    cables: dict[tuple[str, str], set[str]] = defaultdict(set)
    for core in conversion.cable_cores:
        for pin in (core.from_pin, core.to_pin):
            cavity = conversion.cavity.get(pin)
            if cavity is not None and is_live(cavity.role):
                device, connector, _ = pin.split(".")
                cables[device, connector].add(core.cable)
    return tuple(
        Plug(device=device, connector=connector, cables=tuple(sorted(cables[device, ref])), kind=_kind(connector))
        for (device, ref) in sorted(cables)
        for connector in [conversion.connector[device, ref]]
    )


def _kind(connector: Connector) -> Kind:
    roles = [cavity.role for cavity in connector.cavities]
    if any(role.startswith(MAINS) for role in roles):
        return "mains"
    return "motor phase" if any(role == PHASE for role in roles) else "pack"


def live_devices(conversion: Conversion) -> tuple[str, ...]:
    """Units that a live cable ends at, in the order of the devices. What stands inside a battery box has bars, and no cable."""
    having = {plug.device for plug in live_plugs(conversion)}
    return tuple(device.ref for device in conversion.devices if device.ref in having)


def live_pins(conversion: Conversion) -> dict[str, list[str]]:
    """Live pins by device, of the units that a live cable ends at."""
    pins: dict[str, list[str]] = {ref: [] for ref in live_devices(conversion)}
    for pin, cavity in conversion.cavity.items():
        device = pin.partition(".")[0]
        if device in pins and is_live(cavity.role):
            pins[device].append(pin)
    return pins


def joined_units(conversion: Conversion, *, contactors_closed: bool) -> tuple[frozenset[str], ...]:
    """Groups of units with one joined high-voltage circuit, in the order of the devices.

    Whatever is inside a unit counts as joined (coils, capacitors and heating wires lead direct current, or leak it), but for
    contacts that rest open and converters that are stated to part their sides. A unit with open contacts can be in two groups.
    """
    groups = _joined_pins(conversion, contactors_closed=contactors_closed)
    return tuple(frozenset(pin.partition(".")[0] for pin in found) for found in groups)


def mains_units(conversion: Conversion) -> frozenset[str]:
    """Units in one circuit with a mains pin, contactors closed: inlet and charger, and all others where the charger does not part them."""
    groups = _joined_pins(conversion, contactors_closed=True)
    mains = [found for found in groups if any(conversion.cavity[pin].role.startswith(MAINS) for pin in found)]
    return frozenset(pin.partition(".")[0] for found in mains for pin in found)


def _joined_pins(conversion: Conversion, *, contactors_closed: bool) -> list[list[str]]:
    pins = live_pins(conversion)
    pairs = [(pin, pin) for found in pins.values() for pin in found]
    pairs += [
        (core.from_pin, core.to_pin)
        for core in conversion.cable_cores
        if core.from_pin in conversion.cavity and core.to_pin in conversion.cavity
    ]
    for device, found in pins.items():
        pairs += list(_inside(conversion, device, found, contactors_closed=contactors_closed))
    group = joined_groups(pairs)
    joined: dict[str, list[str]] = {}
    for found in pins.values():
        for pin in found:
            joined.setdefault(group[pin], []).append(pin)
    return list(joined.values())


def _inside(conversion: Conversion, device: str, pins: list[str], *, contactors_closed: bool) -> Iterator[tuple[str, str]]:
    elements = conversion.part[conversion.device[device].part].inside
    switched = [
        element for element in elements if element.kind == "contact" and element.rest_state == "open" and _is_inner(device, element, pins)
    ]
    if switched:
        for element in elements:
            if element.kind not in ("converter", "coil") and (contactors_closed or element not in switched):
                yield f"{device}.{element.pin_a}", f"{device}.{element.pin_b}"
    else:
        by_side = _sides(conversion, pins)
        for side in by_side.values():
            yield from ((side[0], other) for other in side[1:])
        if len(by_side) == 2 and not parts_sides(elements):
            yield by_side[True][0], by_side[False][0]


def _is_inner(device: str, element: Element, pins: list[str]) -> bool:
    """Whether a contact is on the live side, seen from either of its pins."""
    return f"{device}.{element.pin_a}" in pins or f"{device}.{element.pin_b}" in pins


def _sides(conversion: Conversion, pins: list[str]) -> dict[bool, list[str]]:
    """Pins of the mains side (True) and of the battery's side."""
    sides: dict[bool, list[str]] = {}
    for pin in pins:
        sides.setdefault(conversion.cavity[pin].role.startswith(MAINS), []).append(pin)
    return sides


def parts_sides(elements: tuple[Element, ...]) -> bool:
    """Whether every converter of a unit is stated to keep its two sides apart."""
    converters = [element for element in elements if element.kind == "converter"]
    return bool(converters) and all(element.isolated == "yes" for element in converters)


def chargers(conversion: Conversion) -> tuple[str, ...]:
    """Units with pins on both sides, mains and battery."""
    return tuple(device for device, pins in live_pins(conversion).items() if len(_sides(conversion, pins)) == 2)


def pieces(conversion: Conversion) -> dict[str, str]:
    """By plug, the unit it belongs to with the contactors open; the lesser pieces of a unit with open contacts are named by their plugs."""
    by_plug: dict[str, str] = {}
    for device, found in live_pins(conversion).items():
        inner = joined_groups([(pin, pin) for pin in found] + list(_inside(conversion, device, found, contactors_closed=False)))
        # Plus and minus of one plug belong together, whatever is inside.
        whole = joined_groups((f"{pin.rpartition('.')[0]} plug", inner[pin]) for pin in found)
        groups: dict[str, list[str]] = {}
        for pin in found:
            plug = pin.rpartition(".")[0]
            members = groups.setdefault(whole[inner[pin]], [])
            if plug not in members:
                members.append(plug)
        largest = max(groups.values(), key=len)
        for members in groups.values():
            name = device if members is largest else " ".join(members)
            by_plug.update(dict.fromkeys(members, name))
    return by_plug


def joints(conversion: Conversion, units: frozenset[str], piece_of: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Cables with both ends at these units, as the plugs at their ends, by cable."""
    found = {
        (core.cable, core.from_pin.rpartition(".")[0], core.to_pin.rpartition(".")[0])
        for core in conversion.cable_cores
        if is_live(_role(conversion, core.from_pin)) and is_live(_role(conversion, core.to_pin))
    }
    return tuple((one, other) for _, one, other in sorted(found) if {piece_of.get(one), piece_of.get(other)} <= units)


def _role(conversion: Conversion, pin: str) -> str:
    cavity = conversion.cavity.get(pin)
    return "" if cavity is None else cavity.role
