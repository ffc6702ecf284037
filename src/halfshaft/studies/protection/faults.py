"""Short-circuit currents of the 12 V side: at the ends of every wire to the body, and inside every load."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.standards import constants
from halfshaft.studies.low_voltage.network import battery_of, body_resistors, contacts_ohm
from halfshaft.studies.network.records import DcNetwork, Resistor, Source
from halfshaft.studies.network.thevenin import SeenFrom, seen_from
from halfshaft.studies.wires.circuit import BODY, Branch, Circuit, node_of
from halfshaft.studies.wires.study import LoadPath, WiresResult, limits_way, resistance_at


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """Amperes of a fault without resistance of its own, and the share of them that each fuse carries."""

    current_a: float
    share: Mapping[str, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Faults:
    """`most`: copper at 20 C, no terminals, battery just charged, the converter at its limit beside it. `least`: copper as hot as
    its insulation stands, terminals, battery at rest, alone. To the body by node, inside a load by its mark."""

    most: Mapping[str, Fault]
    least: Mapping[str, Fault]
    inside_most: Mapping[str, Fault]
    inside_least: Mapping[str, Fault]


def study_faults(conversion: Conversion, wires: WiresResult, circuit: Circuit) -> Faults | None:
    """None without a battery whose resistance is known, or where its minus is not joined to the body."""
    battery = battery_of(conversion)
    if battery is None or not conversion.element[battery].resistance_ohm or not wires.minus_is_grounded:
        return None
    element = conversion.element[battery]
    resting_v = element.voltage_v if element.voltage_v is not None else constants()["battery_resting_v"].value
    charged_v = max(resting_v, conversion.supply.voltage_v)
    helps_a = 0.0 if conversion.supply.converter is None else conversion.element[conversion.supply.converter].rating_a or 0.0
    nodes = _nodes(conversion, wires)
    most_to_body, most_inside = _faults(conversion, wires, circuit, nodes, volt=charged_v, hot=False, helps_a=helps_a)
    to_body, inside = _faults(conversion, wires, circuit, nodes, volt=resting_v, hot=True, helps_a=0.0)
    return Faults(most=most_to_body, least=to_body, inside_most=most_inside, inside_least=inside)


def _nodes(conversion: Conversion, wires: WiresResult) -> list[str]:
    ends = [pin for wire in conversion.wires for pin in (wire.from_pin, wire.to_pin)]
    inner = [node_of(ref.partition(".")[0], pin) for ref, item in conversion.element.items() for pin in (item.pin_a, item.pin_b)]
    return [*ends, *inner]


def _faults(
    conversion: Conversion,
    wires: WiresResult,
    circuit: Circuit,
    nodes: Iterable[str],
    *,
    volt: float,
    hot: bool,
    helps_a: float,
) -> tuple[dict[str, Fault], dict[str, Fault]]:
    battery = battery_of(conversion)
    assert battery is not None
    source = Source(
        ref=battery, plus=circuit.supply.plus, minus=circuit.supply.minus, volt=volt, ohm=conversion.element[battery].resistance_ohm or 0.0
    )  # fmt: skip
    resistors = tuple(_resistors(conversion, circuit, hot=hot))
    fuses = frozenset(branch.ref for branch in circuit.branches if branch.kind == "fuse")
    seen = seen_from(DcNetwork(ground=BODY, resistors=resistors, sources=(source,)), nodes, fuses)
    ohm = {resistor.ref: resistor.ohm for resistor in resistors}
    ground = circuit.ground_net
    to_body = {
        node: Fault(current_a=one.fault_a + helps_a, share=one.share)
        for node, one in seen.items()
        if node not in ground and one.volt > 0.5 * volt
    }
    inside = {path.load: fault for path in wires.paths if (fault := _inside(conversion, path, seen, ohm, helps_a)) is not None}
    return to_body, inside


def _inside(conversion: Conversion, path: LoadPath, seen: Mapping[str, SeenFrom], ohm: Mapping[str, float], helps_a: float) -> Fault | None:
    """Plus to minus inside a load: its way to the battery, and its own way back to the body.

    None where a switching output of less than the fuse's rating stands in the way back: it limits what comes.
    """
    element = conversion.element[path.load]
    one = seen.get(node_of(path.load.partition(".")[0], element.pin_a))
    fuses = [branch for branch in path.supply or () if branch.kind == "fuse"]
    if one is None or path.supply is None or path.ground is None or (fuses and limits_way(path.ground, fuses[-1])):
        return None
    # Its way back ends at a stud, half of what lies between two studs away from the middle of the body.
    back_ohm = sum(ohm.get(branch.ref, branch.resistance_ohm) for branch in path.ground) + conversion.supply.body_mohm / 2000
    return Fault(current_a=one.volt / (one.ohm + back_ohm) + helps_a, share=one.share)


def _resistors(conversion: Conversion, circuit: Circuit, *, hot: bool) -> Iterator[Resistor]:
    """Every contact counts as closed but those that would join the fed side to ground, and so do all fuses."""
    ground = circuit.ground_net
    for branch in circuit.branches:
        if branch.kind != "contact" or (branch.start in ground) == (branch.end in ground):
            yield Resistor(ref=branch.ref, start=branch.start, end=branch.end, ohm=_ohm(conversion, branch, hot=hot))
    yield from body_resistors(conversion)


def _ohm(conversion: Conversion, branch: Branch, *, hot: bool) -> float:
    if branch.kind != "wire" or not hot:
        return branch.resistance_ohm
    wire = conversion.wire[branch.ref]
    hottest_c = next(item.temperature_max_c for item in conversion.insulation_classes if item.ref == wire.insulation_class)
    return resistance_at(branch.resistance_ohm, hottest_c) + contacts_ohm(conversion, (wire.from_pin, wire.to_pin))
