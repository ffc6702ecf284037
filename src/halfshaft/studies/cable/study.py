"""How hot each wire and cable gets where it is worst off, and what it could carry there."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Covering
from halfshaft.studies.cable.currents import WireCurrent
from halfshaft.studies.cable.grouping import Loading, grouping_factor, loaded_count
from halfshaft.studies.cable.heat import Around, Balance, Body, body, current_for, temperature_for
from halfshaft.studies.cable.transient import Stretch, adiabatic_end_c, after, steady
from halfshaft.studies.looms.coverings import ambient_of
from halfshaft.studies.looms.network import Route
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.wires.study import resistance_at

# A pulse up to this long is reckoned without any heat leaving the copper (IEC 60949: up to five seconds), a longer one with.
ADIABATIC_UP_TO_S = 5.0
capacity_of = lru_cache(maxsize=4096)(current_for)


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """Where a wire lies: a run, or the zone at its ends (`run` blank); the air there, what covers it, and its loaded company."""

    run: str
    zone: str
    around: Around
    covering: str
    passing: int
    loaded: int

    @property
    def factor(self) -> float:
        """What the bundle leaves of its capacity alone."""
        return grouping_factor(self.loaded)


@dataclass(frozen=True, kw_only=True, slots=True)
class CableHeat:
    """One wire, or one cable with all its cores, in the place in which it gets hottest.

    `capacity_a` is what takes its conductor to the limit there; `pulse_c` the conductor at the end of the peak, begun warm.
    `drop_v` is lost along one conductor at its temperature. `is_high_voltage`: a cable, not a wire of the from-to list.
    """

    ref: str
    is_high_voltage: bool
    body: Body
    insulation_class: str
    limit_c: float
    length_m: float
    current: WireCurrent
    place: Place
    conductor_c: float
    surface_c: float
    capacity_a: float
    pulse_c: float
    drop_v: float

    @property
    def section_mm2(self) -> float:
        """Of one conductor."""
        return self.body.section_mm2


@dataclass(frozen=True, kw_only=True, slots=True)
class _Thing:
    """A wire or cable before it is judged; `zone` is where its ends are if it lies in no run."""

    ref: str
    is_high_voltage: bool
    body: Body
    insulation_class: str
    limit_c: float
    length_m: float
    route: Route
    zone: str | None


def study_cable(conversion: Conversion, routing: Routing, currents: Mapping[str, WireCurrent]) -> dict[str, CableHeat]:
    """By wire and cable that carries a known current and lies where the heat of the zone is known; hottest in its limit first."""
    things = {thing.ref: thing for thing in (*_wires(conversion, routing), *_cables(conversion, routing))}
    places = _places(conversion, things, currents)
    found = [
        heat
        for ref, thing in things.items()
        if ref in currents and currents[ref].continuous_a > 0 and (heat := _worst(thing, currents[ref], places[ref])) is not None
    ]
    return {heat.ref: heat for heat in sorted(found, key=lambda item: (item.limit_c - item.conductor_c, item.ref))}


def pulse_end_c(cable: Body, around: Around, before_a: float, current_a: float, seconds: float) -> float:
    """The conductor at the end of a pulse on top of a steady current: copper alone for short ones, with insulation and air for longer ones."""
    start = steady(cable, around, before_a)
    if seconds <= ADIABATIC_UP_TO_S:
        return adiabatic_end_c(cable.section_mm2, start.conductor_c, current_a**2 * seconds)
    return after(cable, around, start, Stretch(seconds, current_a)).conductor_c


def heat_at(cable: Body, place: Place, current: WireCurrent, *, limit_c: float) -> tuple[Balance, float, float]:
    """Steady state, capacity at the limit, and conductor at the end of the peak, of a cable in a bundle.

    A wire with loaded neighbours is reckoned as if it carried its amperes by the grouping factor, alone.
    """
    before_a = current.continuous_a / place.factor
    balance = temperature_for(cable, place.around, before_a)
    capacity_a = capacity_of(cable, place.around, limit_c).current_a * place.factor
    pulse_c = balance.conductor_c
    if current.peak_a > current.continuous_a and current.peak_s > 0 and math.isfinite(balance.conductor_c):
        pulse_c = pulse_end_c(cable, place.around, before_a, _alone_a(current, place), current.peak_s)
    return balance, capacity_a, pulse_c


def _alone_a(current: WireCurrent, place: Place) -> float:
    """A peak is over before its neighbours' heat comes through, so only what is carried for good counts by the factor."""
    return math.sqrt(current.peak_a**2 + current.continuous_a**2 * (1 / place.factor**2 - 1))


def _wires(conversion: Conversion, routing: Routing) -> Iterator[_Thing]:
    classes = {item.ref: item for item in conversion.insulation_classes}
    for ref, laid in routing.wires.items():
        kind = conversion.wire_type[laid.wire.section_mm2]
        if laid.route is not None and laid.length is not None:
            yield _Thing(
                ref=ref,
                is_high_voltage=False,
                body=body(
                    section_mm2=kind.section_mm2, outside_mm=kind.outside_diameter_mm, resistance_mohm_per_m=kind.resistance_mohm_per_m
                ),
                insulation_class=laid.wire.insulation_class,
                limit_c=classes[laid.wire.insulation_class].temperature_max_c,
                length_m=laid.length.cut_mm / 1000,
                route=laid.route,
                zone=_zone_at(conversion, (laid.start.node, laid.end.node)),
            )


def _cables(conversion: Conversion, routing: Routing) -> Iterator[_Thing]:
    classes = {item.ref: item for item in conversion.insulation_classes}
    for laid in routing.cables:
        kind = conversion.cable_type[laid.cable.cable_type]
        if laid.route is not None and laid.cut_mm is not None:
            points = (routing.points.get(laid.cable.from_connector), routing.points.get(laid.cable.to_connector))
            yield _Thing(
                ref=laid.cable.ref,
                is_high_voltage=True,
                body=body(
                    section_mm2=kind.section_mm2,
                    outside_mm=kind.outside_diameter_mm,
                    resistance_mohm_per_m=kind.resistance_mohm_per_m,
                    cores=kind.cores,
                ),
                insulation_class=kind.insulation_class,
                limit_c=classes[kind.insulation_class].temperature_max_c,
                length_m=laid.cut_mm / 1000,
                route=laid.route,
                zone=_zone_at(conversion, points),
            )


def _zone_at(conversion: Conversion, nodes: Iterable[str | None]) -> str | None:
    """The hotter zone of some route points."""
    names = [conversion.point[node].zone for node in nodes if node in conversion.point]
    return max((name for name in names if name), key=lambda name: conversion.zone[name].ambient_max_c, default=None)


def _places(conversion: Conversion, things: Mapping[str, _Thing], currents: Mapping[str, WireCurrent]) -> Mapping[str, list[Place]]:
    """By wire, every run that it passes and whose heat is known, and its ends' zone."""
    on_run: dict[str, list[_Thing]] = defaultdict(list)
    for thing in things.values():
        for name in dict.fromkeys(step.run for step in thing.route.steps):
            on_run[name].append(thing)
    found: dict[str, list[Place]] = defaultdict(list)
    for ref, passing in on_run.items():
        run = conversion.run[ref]
        ambient_c = ambient_of(conversion, run)
        if ambient_c is None:
            continue
        covering = conversion.covering.get(run.covering or "")
        around = _around(ambient_c, covering)
        loads = [
            Loading(currents[thing.ref].continuous_a, capacity_of(thing.body, around, thing.limit_c).current_a)
            for thing in passing
            if thing.ref in currents and currents[thing.ref].continuous_a > 0
        ]
        place = Place(
            run=ref,
            zone=run.zone or _zone_at(conversion, (run.from_point, run.to_point)) or "",
            around=around,
            covering=covering.ref if covering else "",
            passing=len(passing),
            loaded=max(1, loaded_count(loads)),
        )
        for thing in passing:
            found[thing.ref].append(place)
    for thing in things.values():
        if thing.zone is not None:
            around = Around(ambient_c=conversion.zone[thing.zone].ambient_max_c)
            found[thing.ref].append(Place(run="", zone=thing.zone, around=around, covering="", passing=1, loaded=1))
    return found


def _around(ambient_c: float, covering: Covering | None) -> Around:
    """The air, and a tube with air in it. Tape and heat-shrink lie on the wires: the grouping factor is for wires that lie so."""
    if covering is None or covering.bore_mm is None or covering.outside_mm is None or covering.outside_mm <= covering.bore_mm:
        return Around(ambient_c=ambient_c)
    return Around(ambient_c=ambient_c, tube_bore_mm=covering.bore_mm, tube_outside_mm=covering.outside_mm)


def _worst(thing: _Thing, current: WireCurrent, places: Iterable[Place]) -> CableHeat | None:
    """The place in which its conductor gets hottest; of several alike the first on its way."""
    by_sort = {(place.around, place.loaded): place for place in reversed(list(places))}
    temperatures = {
        key: temperature_for(thing.body, place.around, current.continuous_a / place.factor).conductor_c for key, place in by_sort.items()
    }
    if not temperatures:
        return None
    place = by_sort[max(temperatures, key=lambda key: (temperatures[key], by_sort[key].run))]
    start, capacity_a, pulse_c = heat_at(thing.body, place, current, limit_c=thing.limit_c)
    ohm = thing.body.resistance_mohm_per_m / 1000 * thing.length_m
    return CableHeat(
        ref=thing.ref,
        is_high_voltage=thing.is_high_voltage,
        body=thing.body,
        insulation_class=thing.insulation_class,
        limit_c=thing.limit_c,
        length_m=thing.length_m,
        current=current,
        place=place,
        conductor_c=start.conductor_c,
        surface_c=start.surface_c,
        capacity_a=capacity_a,
        pulse_c=pulse_c,
        drop_v=current.continuous_a * (resistance_at(ohm, start.conductor_c) if math.isfinite(start.conductor_c) else ohm),
    )
