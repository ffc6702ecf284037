"""The commissioning sheet of a whole car: dead tests, then 12 V, then pre-charge, then high voltage, each behind a stop."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.model.reading import Reading
from halfshaft.studies.commissioning.high import closed_part, discharge_part, link_part, monitor_part, supply_part
from halfshaft.studies.commissioning.insulation import insulation_part
from halfshaft.studies.commissioning.limits import CATALOGUE
from halfshaft.studies.commissioning.loop import OHMMETER, cable_part, loop_part, opening_part
from halfshaft.studies.commissioning.metal import bonding_part, fuse_part, ground_part
from halfshaft.studies.commissioning.precharge import box_part, pack_part, precharge_part, resistor_part, settings_part
from halfshaft.studies.commissioning.records import Commissioning, Line, Part, Stage, StageKey, Step
from halfshaft.studies.commissioning.twelve import TwelveVolts, key_on_case, outputs_part, parked_case, parked_part, volts_part
from halfshaft.studies.fault_finder.stops import LiveCircuit
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.hv_safety.study import HvSafety
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.low_voltage.cases import SolvedCase
from halfshaft.studies.low_voltage.contacts import Web
from halfshaft.studies.low_voltage.network import battery_of
from halfshaft.studies.low_voltage.records import LowVoltage
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.wires.circuit import Circuit, branches_of, supply_of
from halfshaft.studies.wires.study import WiresResult

BUS_PART = "bus"
TITLES: tuple[tuple[StageKey, str, str], ...] = (
    ("dead", "Dead tests", "Service disconnect out and locked, waited, proven dead; 12 V battery's minus off."),
    ("12 V", "12 V", "Service disconnect still out and locked, so that nothing behind the contactors can become live."),
    (
        "pre-charge",
        "Polarity, pre-charge",
        "The resistor first, dead; then each box by itself; then all covers on, the service disconnect in, nobody near an open unit.",
    ),
    ("high voltage", "High voltage", "All covers on, nobody in reach of live parts, a second person with the disconnect at hand."),
)


def study_commissioning(
    conversion: Conversion,
    routing: Routing,
    wires: WiresResult,
    *,
    pack: Pack | None,
    low: LowVoltage | None,
    high: HighVoltage | None,
    safety: HvSafety | None,
    bus: Sequence[Reading],
) -> Commissioning:
    """Every line that the description of the car is enough for; what has none is left out, or told in `unsaid`."""
    twelve = _twelve(conversion, routing, wires, low) if low is not None else None
    volts = volts_part(conversion, twelve) if twelve is not None else None
    parts: dict[StageKey, list[Part | None]] = {
        "dead": _dead(conversion, routing, wires, pack, safety, bus),
        "12 V": [],
        "pre-charge": [],
        "high voltage": [],
    }
    if twelve is not None:
        parts["12 V"] = [parked_part(conversion, twelve), volts[0] if volts else None, outputs_part(conversion, twelve)]
    if high is not None and pack is not None and high.precharge is not None:
        parts["pre-charge"] = [resistor_part(high.precharge), settings_part(conversion, high.precharge)]
    if high is not None and pack is not None:
        parts["pre-charge"] += [box_part(conversion, pack), pack_part(conversion, pack)]
        parts["pre-charge"].append(precharge_part(high.precharge, pack) if high.precharge is not None else None)
        parts["high voltage"] = _high(conversion, pack, high, safety, low, twelve)
    stages = tuple(
        Stage(key=key, title=title, before=before, parts=tuple(part for part in parts[key] if part is not None and part.lines))
        for key, title, before in TITLES
    )
    kept = tuple(stage for stage in stages if stage.parts)
    return Commissioning(stages=kept, steps=tuple(_numbered(kept)), unsaid=volts[1] if volts else ())


def _twelve(conversion: Conversion, routing: Routing, wires: WiresResult, low: LowVoltage) -> TwelveVolts | None:
    supply, battery = supply_of(conversion), battery_of(conversion)
    if supply is None or battery is None:
        return None
    case = key_on_case(conversion, low)
    web = Web(conversion, supply, wires.resistance_ohm)
    circuit = Circuit(web.branches, supply)
    return TwelveVolts(
        parked=parked_case(low),
        key_on=case,
        solved=SolvedCase(conversion, routing, wires, web, case) if case is not None else None,
        live=LiveCircuit(conversion, circuit),
        battery_pins=("plus post of the 12 V battery", "its minus post"),
        battery=battery,
        minus_way=tuple(branch.ref for branch in circuit.minus_way()),
    )


def _dead(
    conversion: Conversion, routing: Routing, wires: WiresResult, pack: Pack | None, safety: HvSafety | None, bus: Sequence[Reading]
) -> list[Part | None]:
    supply = supply_of(conversion)
    minus_way = tuple(Circuit(branches_of(conversion, wires.resistance_ohm), supply).minus_way()) if supply is not None else ()
    live = frozenset(pack.links) if pack is not None else frozenset()
    found: list[Part | None] = [
        bonding_part(conversion, safety.bonding) if safety is not None else None,
        ground_part(conversion, minus_way),
        cable_part(conversion, _cable_ohm(conversion, routing)) if safety is not None else None,
    ]
    if safety is not None and safety.interlock is not None and safety.interlock.gap is None:
        found += [loop_part(safety.interlock), opening_part(safety.interlock)]
    found += [fuse_part(conversion, live), _bus(bus)]
    if safety is not None and safety.insulation is not None:
        found.append(insulation_part(conversion, safety.insulation))
    return found


def _cable_ohm(conversion: Conversion, routing: Routing) -> Mapping[str, float]:
    return {
        laid.cable.ref: conversion.cable_type[laid.cable.cable_type].resistance_mohm_per_m / 1000 * (laid.cut_mm or 0.0) / 1000
        for laid in routing.cables
    }


def _bus(readings: Sequence[Reading]) -> Part:
    """The lines of the bus's own sheet once more: they are read with the whole car plugged in."""
    return Part(
        key=BUS_PART,
        title="Bus, between H and L",
        instrument=OHMMETER,
        basis=(CATALOGUE,),
        wrong="{}",
        lines=tuple(
            Line(
                between=item.between,
                state=item.state,
                quantity=item.quantity,
                unit=item.unit,
                expected=item.expected,
                low=item.low,
                high=item.high,
                suspect=item.suspect,
            )
            for item in readings
        ),
        note="The same lines as on the bus's own sheet.",
    )


def _high(
    conversion: Conversion,
    pack: Pack,
    high: HighVoltage,
    safety: HvSafety | None,
    low: LowVoltage | None,
    twelve: TwelveVolts | None,
) -> list[Part | None]:
    insulation = safety.insulation if safety is not None else None
    return [
        link_part(pack),
        closed_part(conversion, high),
        monitor_part(insulation) if insulation is not None else None,
        supply_part(conversion, low, twelve.battery_pins) if low is not None and twelve is not None else None,
        discharge_part(high),
    ]


def _numbered(stages: Iterable[Stage]) -> list[Step]:
    steps: list[Step] = []
    for stage in stages:
        for part in stage.parts:
            basis = "; ".join(map(str, part.basis))
            for line in part.lines:
                reading = Reading(
                    number=len(steps) + 1,
                    between=line.between,
                    state=line.state,
                    quantity=line.quantity,
                    expected=_rounded(line.expected),
                    low=_rounded(line.low) or 0.0,
                    high=_rounded(line.high),
                    unit=line.unit,
                    wires=(),
                    suspect=line.suspect,
                    instrument=part.instrument,
                    basis=basis,
                    is_optional=line.is_optional,
                )
                steps.append(Step(reading=reading, part=part.key, stage=stage.key, senses=line.senses))
    return steps


# Of a reading in its unit: what is beyond is noise of the computing.
DECIMALS = 6


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, DECIMALS)
