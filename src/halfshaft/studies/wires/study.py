"""Currents, drops, fuses and wire ends of the 12 V side."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import CaseLoad
from halfshaft.model.parts import Cavity, Seal, Terminal
from halfshaft.standards import constants
from halfshaft.studies.looms.routing import LaidWire, Routing
from halfshaft.studies.wires.circuit import Branch, Circuit, branches_of, supply_of


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadPath:
    """The way of one load's current: wires and fuses from the battery to it, wires from it to ground."""

    load: str
    supply: tuple[Branch, ...] | None
    ground: tuple[Branch, ...] | None

    @property
    def supply_behind_fuse(self) -> tuple[Branch, ...]:
        """What lies between the last fuse outside the load's own device and the load."""
        supply, own = self.supply or (), f"{self.load.partition('.')[0]}."
        fuses = (index for index, branch in enumerate(supply) if branch.kind == "fuse" and not branch.ref.startswith(own))
        return supply[max(fuses, default=-1) + 1 :]

    @property
    def behind_fuse(self) -> tuple[Branch, ...]:
        """That, and what lies between the load and ground."""
        return (*self.supply_behind_fuse, *(self.ground or ()))


@dataclass(frozen=True, kw_only=True, slots=True)
class Drop:
    """Voltage lost in the wires of one load behind its fuse, in the case in which it is worst; `volts` wire by wire."""

    load: str
    case: str
    wires: tuple[str, ...]
    length_m: float
    drop_v: float
    drop_percent: float
    hot_drop_percent: float
    volts: tuple[float, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class FuseUse:
    """A fuse, what hangs on it, and the most that it carries at once in any case."""

    ref: str
    rating_a: float
    wires: tuple[str, ...]
    loads: tuple[str, ...]
    current_a: float
    case: str


@dataclass(frozen=True, kw_only=True, slots=True)
class WireUse:
    """The most that a wire carries at once, in which case, and the fuse that guards it."""

    wire: str
    current_a: float
    case: str
    fuse: str | None
    fuse_rating_a: float | None
    is_fed: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class WireEnd:
    """What is crimped on one end of a wire: terminal, seal, strip. `seal` is None where none is wanted or none fits."""

    wire: str
    pin: str
    terminal: Terminal
    wants_seal: bool
    seal: Seal | None


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenCavity:
    """A way of a connector in use that holds no wire; `plug` closes it where it is sealed and the catalogue has one."""

    pin: str
    cavity: Cavity
    plug: Seal | None


@dataclass(frozen=True, kw_only=True, slots=True)
class WiresResult:
    """Everything that this study found out."""

    resistance_ohm: dict[str, float]
    paths: tuple[LoadPath, ...]
    uses: dict[str, WireUse]
    drops: tuple[Drop, ...]
    fuses: tuple[FuseUse, ...]
    ends: tuple[WireEnd, ...]
    open_cavities: tuple[OpenCavity, ...]
    wires_at: dict[str, tuple[str, ...]]
    screens_at: dict[str, tuple[str, ...]]
    minus: str | None
    minus_is_grounded: bool
    fed_loads: tuple[str, ...]


def resistance_at(ohm_at_20c: float, temperature_c: float) -> float:
    """Resistance of copper at a temperature: R20 (1 + 0.00393 (T - 20)). Source: IEC 60028."""
    return ohm_at_20c * (1 + constants()["copper_temperature_coefficient"].value * (temperature_c - 20.0))


def wire_resistance_ohm(conversion: Conversion, laid: LaidWire) -> float:
    """Resistance of a wire at 20 C from its cut length."""
    assert laid.length is not None
    return conversion.wire_type[laid.wire.section_mm2].resistance_mohm_per_m / 1000 * laid.length.cut_mm / 1000


def study_wires(conversion: Conversion, routing: Routing) -> WiresResult:
    """The whole study. Without a named battery there are no currents, fuses or drops, but wire ends all the same."""
    resistance = {ref: wire_resistance_ohm(conversion, laid) for ref, laid in routing.wires.items() if laid.length}
    supply = supply_of(conversion)
    wires_at = _wires_at(conversion)
    screens_at = _screens_at(conversion)
    paths: tuple[LoadPath, ...] = ()
    uses: dict[str, WireUse] = {}
    drops: tuple[Drop, ...] = ()
    fuses: tuple[FuseUse, ...] = ()
    fed_loads: tuple[str, ...] = ()
    minus_is_grounded = False
    if supply is not None:
        circuit = Circuit(branches_of(conversion, resistance), supply)
        paths = tuple(_load_path(conversion, circuit, load.ref) for load in conversion.loads)
        currents = _currents(conversion, circuit, paths)
        uses = _uses(conversion, circuit, paths, currents)
        drops = _drops(conversion, routing, resistance, paths, currents)
        fuses = _fuses(conversion, circuit, paths, currents, uses)
        minus_is_grounded = bool(circuit.minus_way())
        fed_loads = tuple(
            ref
            for ref, element in conversion.element.items()
            if element.kind == "load" and f"{ref.partition('.')[0]}.{element.pin_a}" in circuit.from_plus
        )
    return WiresResult(
        resistance_ohm=resistance,
        paths=paths,
        uses=uses,
        drops=drops,
        fuses=fuses,
        ends=_ends(conversion, routing),
        open_cavities=_open_cavities(conversion, wires_at, screens_at),
        wires_at=wires_at,
        screens_at=screens_at,
        minus=None if supply is None else supply.minus,
        minus_is_grounded=minus_is_grounded,
        fed_loads=fed_loads,
    )


def _load_path(conversion: Conversion, circuit: Circuit, load: str) -> LoadPath:
    device, _, _ = load.partition(".")
    element = conversion.element[load]
    return _path(circuit, load, f"{device}.{element.pin_a}", f"{device}.{element.pin_b}")


def _path(circuit: Circuit, load: str, plus: str, minus: str) -> LoadPath:
    supply, ground = circuit.way(circuit.from_plus, plus), circuit.way(circuit.from_ground, minus)
    return LoadPath(
        load=load,
        supply=None if supply is None else tuple(supply),
        ground=None if ground is None else tuple(reversed(ground)),
    )


Currents = dict[str, dict[str, float]]


def _currents(conversion: Conversion, circuit: Circuit, paths: tuple[LoadPath, ...]) -> Currents:
    """Amperes in each branch by case, if all that the case names ran at once (starting peaks left out).

    A load that no case has on is looked at alone. Another source, such as a converter, sends its full rating through
    its own wires. Whatever comes back through the body goes on to the battery's minus.
    """
    by_load = {path.load: path for path in paths}
    back = circuit.minus_way()
    currents: Currents = defaultdict(lambda: defaultdict(float))

    def add(path: LoadPath, case: str, current_a: float) -> None:
        returned = back if path.ground is not None else ()
        for branch in dict.fromkeys((*(path.supply or ()), *(path.ground or ()), *returned)):
            currents[branch.ref][case] += current_a

    order = {case.ref: index for index, case in enumerate(conversion.cases)}
    rows = [row for row in conversion.case_loads if row.duty > 0 and row.load in by_load]
    for row in sorted(rows, key=lambda row: order[row.case]):
        add(by_load[row.load], row.case, steady_a(conversion, row))
    in_a_case = {row.load for row in rows}
    for load in conversion.loads:
        if load.ref not in in_a_case:
            add(by_load[load.ref], f"{load.ref} alone", load.steady_a)
    for ref, path, rating_a in _other_sources(conversion, circuit):
        for branch in (*(path.supply or ()), *(path.ground or ())):
            currents[branch.ref][f"{ref} at its limit"] += rating_a
    return currents


def steady_a(conversion: Conversion, row: CaseLoad) -> float:
    """Amperes of a load while it is on in a case: its own figure, where the case says none."""
    return conversion.load[row.load].steady_a if row.steady_a is None else row.steady_a


def _other_sources(conversion: Conversion, circuit: Circuit) -> list[tuple[str, LoadPath, float]]:
    """Sources besides the battery that feed the same plus, with their wires and the most that they give."""
    found = []
    for ref, element in conversion.element.items():
        device = ref.partition(".")[0]
        plus = f"{device}.{element.pin_a}"
        if element.kind == "source" and element.rating_a and plus in circuit.from_plus and plus != circuit.supply.plus:
            found.append((ref, _path(circuit, ref, plus, f"{device}.{element.pin_b}"), element.rating_a))
    return found


def _worst(by_case: Mapping[str, float]) -> tuple[float, str]:
    """The most amperes and the first case, in the order in which the shop lists them, that has as many."""
    case = max(by_case, key=lambda name: round(by_case[name], 9), default="")
    return by_case.get(case, 0.0), case


def _uses(conversion: Conversion, circuit: Circuit, paths: tuple[LoadPath, ...], currents: Currents) -> dict[str, WireUse]:
    returns = _return_fuses(circuit, paths)
    wires = {branch.ref: branch for branch in circuit.branches if branch.kind == "wire"}
    uses = {}
    for ref, branch in wires.items():
        fuse = circuit.feeding_fuse(branch) or returns.get(ref)
        current_a, case = _worst(currents.get(ref, {}))
        uses[ref] = WireUse(
            wire=ref,
            current_a=current_a,
            case=case,
            fuse=None if fuse is None else fuse.ref,
            fuse_rating_a=None if fuse is None else fuse.rating_a,
            is_fed=circuit.is_fed(branch),
        )
    return uses


def _return_fuses(circuit: Circuit, paths: tuple[LoadPath, ...]) -> dict[str, Branch]:
    """By wire on a way back to ground, the largest fuse of the loads that come back through it.

    A way back through a switching contact of less than the fuse's rating is left out: the contact limits it.
    """
    found: dict[str, Branch] = {}
    for path in paths:
        fuses = [branch for branch in path.supply or () if branch.kind == "fuse"]
        ground = path.ground or ()
        if not fuses or limits_way(ground, fuses[-1]):
            continue
        for branch in ground:
            known = found.get(branch.ref)
            if known is None or (fuses[-1].rating_a or 0.0) > (known.rating_a or 0.0):
                found[branch.ref] = fuses[-1]
    return found


def limits_way(way: tuple[Branch, ...], fuse: Branch) -> bool:
    """Whether a switching contact of less than a fuse's rating stands in a way back: it limits what comes."""
    rating_a = fuse.rating_a or 0.0
    return any(branch.kind == "contact" and branch.rating_a is not None and branch.rating_a < rating_a for branch in way)


def _drops(
    conversion: Conversion, routing: Routing, resistance: Mapping[str, float], paths: tuple[LoadPath, ...], currents: Currents
) -> tuple[Drop, ...]:
    hottest = {ref: _hottest_c(conversion, routing, ref) for ref in resistance}
    steady: dict[str, list[str]] = defaultdict(list)
    for row in conversion.case_loads:
        if row.duty > 0 and row.case not in steady[row.load]:
            steady[row.load].append(row.case)
    for load in conversion.loads:
        steady.setdefault(load.ref, [f"{load.ref} alone"])
    drops = []
    for path in paths:
        wires = [branch.ref for branch in path.behind_fuse if branch.kind == "wire" and branch.ref in resistance]
        candidates = [(case, math.fsum(resistance[ref] * currents[ref][case] for ref in wires)) for case in steady[path.load]]
        if path.supply is None or path.ground is None or not candidates or not wires:
            continue
        case, at_20c = max(candidates, key=lambda item: round(item[1], 9))
        volt = conversion.supply.voltage_v
        drop_v = resistance_at(at_20c, conversion.shop.drop_temperature_c)
        hot_v = math.fsum(resistance_at(resistance[ref], hottest[ref]) * currents[ref][case] for ref in wires)
        drops.append(
            Drop(
                load=path.load,
                case=case,
                wires=tuple(wires),
                length_m=math.fsum(laid.length.cut_mm for ref in wires if (laid := routing.wires[ref]).length) / 1000,
                drop_v=drop_v,
                drop_percent=100 * drop_v / volt,
                hot_drop_percent=100 * hot_v / volt,
                volts=tuple(resistance_at(resistance[ref] * currents[ref][case], conversion.shop.drop_temperature_c) for ref in wires),
            )
        )
    return tuple(drops)


def _hottest_c(conversion: Conversion, routing: Routing, ref: str) -> float:
    """The hottest zone that a wire passes; 20 C where no zone is given."""
    return max((conversion.zone[name].ambient_max_c for name in zones_passed(conversion, routing.wires[ref])), default=20.0)


def zones_passed(conversion: Conversion, laid: LaidWire) -> tuple[str, ...]:
    """The zones that a wire passes or ends in, by name."""
    names = {conversion.run[step.run].zone for step in laid.route.steps} if laid.route else set()
    for end in (laid.start, laid.end):
        if end.node in conversion.point:
            names.add(conversion.point[end.node].zone)
    return tuple(sorted(name for name in names if name))


def _fuses(
    conversion: Conversion, circuit: Circuit, paths: tuple[LoadPath, ...], currents: Currents, uses: Mapping[str, WireUse]
) -> tuple[FuseUse, ...]:
    guarded: dict[str, list[str]] = defaultdict(list)
    for use in uses.values():
        if use.fuse is not None:
            guarded[use.fuse].append(use.wire)
    loads: dict[str, list[str]] = defaultdict(list)
    for path in paths:
        fuses = [branch.ref for branch in path.supply or () if branch.kind == "fuse"]
        if fuses:
            loads[fuses[-1]].append(path.load)
    found = []
    branches = {branch.ref: branch for at in circuit.at.values() for branch in at if branch.kind == "fuse"}
    for ref, branch in sorted(branches.items()):
        if branch.start in circuit.from_plus or branch.end in circuit.from_plus:
            current_a, case = _worst(currents.get(ref, {}))
            found.append(
                FuseUse(
                    ref=ref,
                    rating_a=branch.rating_a or 0.0,
                    wires=tuple(guarded[ref]),
                    loads=tuple(loads[ref]),
                    current_a=current_a,
                    case=case,
                )
            )
    return tuple(found)


def _wires_at(conversion: Conversion) -> dict[str, tuple[str, ...]]:
    """What ends at each pin: wires of the from-to list and cores of cables."""
    found: dict[str, list[str]] = defaultdict(list)
    for wire in conversion.wires:
        for pin in (wire.from_pin, wire.to_pin):
            found[pin].append(wire.ref)
    for core in conversion.cable_cores:
        for pin in (core.from_pin, core.to_pin):
            found[pin].append(f"{core.cable}/{core.core}")
    return {pin: tuple(refs) for pin, refs in found.items()}


def _screens_at(conversion: Conversion) -> dict[str, tuple[str, ...]]:
    """Screens whose drain ends at each pin."""
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for wire in conversion.wires:
        if wire.screen and wire.screen_joined_to in conversion.cavity:
            found[wire.screen_joined_to][wire.screen] = None
    return {pin: tuple(screens) for pin, screens in found.items()}


def _ends(conversion: Conversion, routing: Routing) -> tuple[WireEnd, ...]:
    ends = []
    for laid in routing.wires.values():
        for end in (laid.start, laid.end):
            if end.is_splice:
                terminal = conversion.terminal[conversion.splice[end.pin].terminal]
                ends.append(WireEnd(wire=laid.wire.ref, pin=end.pin, terminal=terminal, wants_seal=False, seal=None))
                continue
            cavity = conversion.cavity[end.pin]
            wants = cavity.sealed == "yes"
            ends.append(
                WireEnd(
                    wire=laid.wire.ref,
                    pin=end.pin,
                    terminal=conversion.terminal[cavity.terminal],
                    wants_seal=wants,
                    seal=seal_for(conversion, cavity.terminal, laid.outside_diameter_mm) if wants else None,
                )
            )
    return tuple(ends)


def seal_for(conversion: Conversion, terminal: str, diameter_mm: float) -> Seal | None:
    """The seal of a terminal family that takes an insulation diameter: the seal decides the wire, not the contact."""
    for seal in conversion.seals:
        if seal.terminal == terminal and seal.insulation_min_mm is not None and seal.insulation_max_mm is not None:
            if seal.insulation_min_mm <= diameter_mm <= seal.insulation_max_mm:
                return seal
    return None


def plug_for(conversion: Conversion, terminal: str) -> Seal | None:
    """The blanking plug of a terminal family."""
    return next((seal for seal in conversion.seals if seal.terminal == terminal and seal.insulation_min_mm is None), None)


def _open_cavities(
    conversion: Conversion, wires_at: Mapping[str, tuple[str, ...]], screens_at: Mapping[str, tuple[str, ...]]
) -> tuple[OpenCavity, ...]:
    in_use = {pin.rpartition(".")[0] for pin in wires_at if "." in pin}
    taken = wires_at.keys() | screens_at.keys()
    found = []
    for pin, cavity in conversion.cavity.items():
        if pin not in taken and pin.rpartition(".")[0] in in_use and cavity.sealed != "in plug":
            plug = plug_for(conversion, cavity.terminal) if cavity.sealed == "yes" else None
            found.append(OpenCavity(pin=pin, cavity=cavity, plug=plug))
    return tuple(found)
