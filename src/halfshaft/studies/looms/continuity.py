"""What a meter should read on a finished loom: every joined group of pins, and everything that must stay open."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.reading import Reading
from halfshaft.standards import constants
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import LaidLoom, LaidWire


@dataclass(frozen=True, slots=True)
class Joined:
    """Pins of one loom that its wires and splices join."""

    pins: tuple[str, ...]
    wires: tuple[str, ...]


def joined_pins(laid: LaidLoom) -> tuple[Joined, ...]:
    """Every joined group, in the order of its first pin."""
    groups = joined_groups((item.wire.from_pin, item.wire.to_pin) for item in laid.wires)
    pins: dict[str, set[str]] = defaultdict(set)
    wires: dict[str, list[str]] = defaultdict(list)
    for item in laid.wires:
        root = groups[item.wire.from_pin]
        pins[root].update(pin for pin in (item.wire.from_pin, item.wire.to_pin) if "." in pin)
        wires[root].append(item.wire.ref)
    found = [Joined(tuple(sorted(names, key=natural)), tuple(wires[root])) for root, names in pins.items() if names]
    return tuple(sorted(found, key=lambda group: [natural(pin) for pin in group.pins]))


def natural(name: str) -> list[tuple[int, str]]:
    """A key that puts pin 2 before pin 10."""
    return [(int(piece), "") if piece.isdigit() else (-1, piece) for piece in re.split(r"(\d+)", name) if piece]


def readings_of(conversion: Conversion, laid: LaidLoom, resistance_ohm: Mapping[str, float]) -> tuple[Reading, ...]:
    """Pin to pin, from the first pin of each joined group to every other one of it.

    Expected: copper at 20 C. It passes up to copper plus, for each connection, 5 mohm or what the catalogue gives its
    terminal, whichever is more: a flat 2 ohm would pass a bad crimp on any short wire.
    """
    allowance_ohm = constants()["connection_allowance_mohm"].value / 1000
    found: list[Reading] = []
    for group in joined_pins(laid):
        first, *others = group.pins
        for pin in others:
            way = _way(laid, first, pin)
            if any(item.wire.ref not in resistance_ohm for item in way):
                continue
            copper = sum(resistance_ohm[item.wire.ref] for item in way)
            # A splice joins two wires of the way, but it is one joint.
            joints = dict.fromkeys(end for item in way for end in (item.wire.from_pin, item.wire.to_pin))
            contacts = sum(max(allowance_ohm, _contact_ohm(conversion, joint)) for joint in joints)
            found.append(
                Reading(
                    between=(first, pin),
                    state="loom on its board, nothing plugged in",
                    quantity="resistance",
                    expected=1000 * copper,
                    low=0.0,
                    high=1000 * (copper + contacts),
                    unit="mΩ",
                    wires=tuple(item.wire.ref for item in way),
                    suspect=_suspect(way),
                )
            )
    return tuple(found)


def _suspect(way: list[LaidWire]) -> str:
    splices = sorted({end.pin for item in way for end in (item.start, item.end) if end.is_splice})
    if splices:
        return f"splice {', '.join(splices)}, then the crimps"
    return "the crimp at either end"


def _contact_ohm(conversion: Conversion, pin: str) -> float:
    terminal = conversion.splice[pin].terminal if pin in conversion.splice else conversion.cavity[pin].terminal
    return conversion.terminal[terminal].contact_resistance_mohm / 1000


def _way(laid: LaidLoom, start: str, end: str) -> list[LaidWire]:
    """The wires from one pin to another of the same group; of two ways the one with fewer wires."""
    at: dict[str, list[LaidWire]] = defaultdict(list)
    for item in laid.wires:
        at[item.wire.from_pin].append(item)
        at[item.wire.to_pin].append(item)
    queue: list[tuple[str, list[LaidWire]]] = [(start, [])]
    seen = {start}
    for node, way in queue:
        if node == end:
            return way
        for item in at[node]:
            other = item.wire.to_pin if item.wire.from_pin == node else item.wire.from_pin
            if other not in seen:
                seen.add(other)
                queue.append((other, [*way, item]))
    raise AssertionError("both pins are of one group")
