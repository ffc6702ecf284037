"""Which pins the wires and splices of one loom join."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass

from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import LaidLoom


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
