"""The bus when everything is plugged in: what an ohmmeter reads between H and L, all plugged in and at each plug pulled."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.reading import Reading
from halfshaft.studies.looms.benches import Bench, Branch, elements_of, half_joints, roots, wire_branch
from halfshaft.studies.looms.continuity import Joined, natural
from halfshaft.studies.looms.readings import bridge_readings

# The name under which the bus has its test sheet, beside the looms.
BUS = "bus"
HIGH, LOW = "can_h", "can_l"
ALL_PLUGGED_IN = "everything plugged in, power off"


@dataclass(frozen=True, kw_only=True, slots=True)
class BusPair:
    """H and L side by side in one plug."""

    connector: str
    high: str
    low: str


def bus_pairs(conversion: Conversion) -> tuple[BusPair, ...]:
    """Every H and L of a plug that a wire ends at, in the order of their cavities."""
    wired = {pin for wire in conversion.wires for pin in (wire.from_pin, wire.to_pin)}
    found = []
    for (device, name), connector in sorted(conversion.connector.items(), key=lambda item: natural(".".join(item[0]))):
        pins = {role: [f"{device}.{name}.{cavity.ref}" for cavity in connector.cavities if cavity.role == role] for role in (HIGH, LOW)}
        found += [
            BusPair(connector=f"{device}.{name}", high=high, low=low)
            for high, low in zip(pins[HIGH], pins[LOW], strict=False)
            if high in wired and low in wired
        ]
    return tuple(found)


def bus_bench(conversion: Conversion, resistance_ohm: Mapping[str, float]) -> Bench | None:
    """The wires of the bus with everything plugged in, and with one plug pulled after the other; None without terminators."""
    pairs = bus_pairs(conversion)
    half = half_joints(conversion, conversion.wires)
    wires = [wire_branch(wire, half, resistance_ohm) for wire in conversion.wires]
    elements = [branch for device in conversion.devices for branch in elements_of(conversion, device.ref, half)]
    joined = roots([*wires, *(branch for branch in elements if branch.kind == "link")])
    lines = {joined.get(pin, pin) for pair in pairs for pin in (pair.high, pair.low)}
    kept = {branch.ref: branch for branch in [*wires, *elements] if branch.kind in ("wire", "link") and joined[branch.start] in lines}
    kept.update({branch.ref: branch for branch in _terminators(elements, joined, lines)})
    if not any(branch.kind == "resistor" for branch in kept.values()):
        return None
    units = [Branch(ref=f"{pair.connector} plug", kind="unit", start=pair.high, end=pair.low) for pair in pairs]
    kept.update({unit.ref: unit for unit in units})
    states = {ALL_PLUGGED_IN: kept}
    for pair in pairs:
        states[pulled(pair.connector)] = {
            ref: branch for ref, branch in kept.items() if branch.kind == "wire" or not _is_in(branch, pair.connector)
        }
    groups: dict[str, list[str]] = defaultdict(list)
    for pair in pairs:
        for pin in (pair.high, pair.low):
            groups[joined.get(pin, pin)].append(pin)
    return Bench(
        name=BUS,
        states=states,
        groups=tuple(Joined(tuple(pins), ()) for pins in groups.values()),
        lead_ohm=half,
        unmeasured=frozenset(branch.ref for branch in kept.values() if branch.kind == "wire" and branch.ref not in resistance_ohm),
    )


def bus_readings(conversion: Conversion, bench: Bench) -> tuple[Reading, ...]:
    """Once with everything plugged in, at a stub if there is one; then at each plug pulled, on its wires' side."""
    pairs = bus_pairs(conversion)
    through = {
        node
        for branch in bench.states[ALL_PLUGGED_IN].values()
        if branch.kind in ("link", "resistor")
        for node in (branch.start, branch.end)
    }
    stub = next((pair for pair in pairs if pair.high not in through), pairs[0])
    places = [(ALL_PLUGGED_IN, stub), *((pulled(pair.connector), pair) for pair in pairs)]
    return bridge_readings(bench, [(state, pair.high, pair.low) for state, pair in places])


def pulled(connector: str) -> str:
    """The words of the state in which one plug is pulled and read on the side of its wires."""
    return f"plug {connector} pulled, all others in, power off"


def _terminators(elements: Iterable[Branch], joined: Mapping[str, str], lines: set[str]) -> list[Branch]:
    """What lies between H and L: resistors, and the contacts that put one in. What leads nowhere is left out."""

    def on_line(node: str) -> bool:
        return joined.get(node, node) in lines

    kept = [
        branch
        for branch in elements
        if branch.kind in ("resistor", "open contact", "closed contact")
        and all(on_line(end) or "~" in end for end in (branch.start, branch.end))
    ]
    while True:
        count = Counter(end for branch in kept for end in (branch.start, branch.end) if not on_line(end))
        ending = [branch for branch in kept if 1 in (count.get(branch.start), count.get(branch.end))]
        if not ending:
            return kept
        kept = [branch for branch in kept if branch not in ending]


def _is_in(branch: Branch, connector: str) -> bool:
    return any(node.startswith(f"{connector}.") for node in (branch.start, branch.end))
