"""Which section would do, and what one section smaller or larger would do. The user decides; this shows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Terminal
from halfshaft.standards import constants, fuse_wire_pairs, table, thin_wall_currents
from halfshaft.studies.cable.heat import Body, body
from halfshaft.studies.cable.study import CableHeat, heat_at
from halfshaft.studies.cable.transient import adiabatic_i2t_a2s
from halfshaft.studies.wires.study import Drop, WiresResult, resistance_at

Fail = Literal["too hot", "too hot at its peak", "voltage drop", "fuse", "too thin to handle"]
# How far above its class an insulation stands a short overload; ISO 6722-1's six-hour overload rating, from memory.
OVERLOAD_K = 50.0
ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """One section in the place of the present one.

    `mass_g` and `price_eur` are the difference, the price None where it is unknown; `terminals` are those at its ends that
    do not take it.
    """

    section_mm2: float
    in_catalogue: bool
    conductor_c: float
    pulse_c: float
    capacity_a: float
    drop_v: float
    mass_g: float
    price_eur: float | None
    fails: tuple[Fail, ...]
    terminals: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Choices:
    """The present section, its neighbours, and the least that meets temperature, drop, fuse and handling."""

    ref: str
    now: Choice
    smaller: Choice | None
    larger: Choice | None
    least: Choice | None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Kind:
    """A cable that could be taken."""

    body: Body
    in_catalogue: bool
    mass_g_per_m: float
    price_eur_per_m: float | None


def choices_of(conversion: Conversion, wires: WiresResult, heat: CableHeat) -> Choices:
    """For one wire or cable; sections of the shop's own lists, and of ISO 6722 where those have none."""
    kinds = _kinds(conversion, heat)
    sections = sorted(kinds)
    at = sections.index(heat.section_mm2)

    def choice(section: float) -> Choice:
        return _choice(conversion, wires, heat, kinds[section], kinds[heat.section_mm2])

    least = next((found for section in sections if not (found := choice(section)).fails), None)
    return Choices(
        ref=heat.ref,
        now=choice(heat.section_mm2),
        smaller=choice(sections[at - 1]) if at else None,
        larger=choice(sections[at + 1]) if at + 1 < len(sections) else None,
        least=least,
    )


def _choice(conversion: Conversion, wires: WiresResult, heat: CableHeat, kind: _Kind, now: _Kind) -> Choice:
    start, capacity_a, pulse_c = heat_at(kind.body, heat.place, heat.current, limit_c=heat.limit_c)
    ohm = kind.body.resistance_mohm_per_m / 1000 * heat.length_m
    drop_v = heat.current.continuous_a * (resistance_at(ohm, start.conductor_c) if math.isfinite(start.conductor_c) else ohm)
    priced = kind.price_eur_per_m is not None and now.price_eur_per_m is not None
    fails: list[Fail] = []
    if start.conductor_c > heat.limit_c + ROUNDING:
        fails.append("too hot")
    elif pulse_c > heat.limit_c + ROUNDING:
        fails.append("too hot at its peak")
    if not heat.is_high_voltage and not _drop_allows(conversion, wires, heat, kind.body):
        fails.append("voltage drop")
    if not _fuse_allows(conversion, heat, kind.body, capacity_a):
        fails.append("fuse")
    terminals = _terminals(conversion, heat)
    least_mm2 = constants()["section_mechanical_min_mm2"].value
    if heat.is_high_voltage:
        # Plugs for high voltage are bought for a section; thinner than any of them takes, nobody builds.
        least_mm2 = max([least_mm2, *(terminal.section_min_mm2 for terminal in terminals)])
    if kind.body.section_mm2 < least_mm2:
        fails.append("too thin to handle")
    return Choice(
        section_mm2=kind.body.section_mm2,
        in_catalogue=kind.in_catalogue,
        conductor_c=start.conductor_c,
        pulse_c=pulse_c,
        capacity_a=capacity_a,
        drop_v=drop_v,
        mass_g=(kind.mass_g_per_m - now.mass_g_per_m) * heat.length_m,
        price_eur=((kind.price_eur_per_m or 0.0) - (now.price_eur_per_m or 0.0)) * heat.length_m if priced else None,
        fails=tuple(fails),
        terminals=tuple(t.ref for t in terminals if not t.section_min_mm2 <= kind.body.section_mm2 <= t.section_max_mm2),
    )


def _terminals(conversion: Conversion, heat: CableHeat) -> tuple[Terminal, ...]:
    """The different terminals at its ends, in a splice too."""
    if heat.is_high_voltage:
        pins = [pin for core in conversion.cable_cores if core.cable == heat.ref for pin in (core.from_pin, core.to_pin)]
    else:
        pins = [conversion.wire[heat.ref].from_pin, conversion.wire[heat.ref].to_pin]
    ends = (conversion.cavity.get(pin) or conversion.splice.get(pin) for pin in pins)
    return tuple(conversion.terminal[ref] for ref in dict.fromkeys(end.terminal for end in ends if end))


def _drop_allows(conversion: Conversion, wires: WiresResult, heat: CableHeat, kind: Body) -> bool:
    """Whether every load through this wire stays within the shop's drop, the other wires on its way as they are."""
    ratio = kind.resistance_mohm_per_m / heat.body.resistance_mohm_per_m
    limit_v = conversion.shop.voltage_drop_max_percent / 100 * conversion.supply.voltage_v
    return all(drop.drop_v + (ratio - 1) * _share_v(drop, heat.ref) <= limit_v + ROUNDING for drop in wires.drops if heat.ref in drop.wires)


def _share_v(drop: Drop, wire: str) -> float:
    return drop.volts[drop.wires.index(wire)]


def _fuse_allows(conversion: Conversion, heat: CableHeat, kind: Body, capacity_a: float) -> bool:
    """12 V: the tables of fuses and wires. Beyond them and on high voltage: its capacity in its place, and what the fuse lets through."""
    rating_a = heat.current.fuse_rating_a
    if not rating_a or heat.current.fuse is None:
        return True
    if heat.is_high_voltage:
        let_through = conversion.element[heat.current.fuse].i2t_a2s or 0.0
        stands = adiabatic_i2t_a2s(kind.section_mm2, heat.limit_c, heat.limit_c + OVERLOAD_K) >= let_through
        return stands and (heat.current.short_only or capacity_a >= rating_a)
    pairs, currents = fuse_wire_pairs(), thin_wall_currents()
    listed = next((size for size in sorted(pairs) if size >= rating_a), None)
    if listed is None:
        return capacity_a >= rating_a
    return kind.section_mm2 >= pairs[listed] and currents.get(kind.section_mm2, math.inf) >= rating_a


def _kinds(conversion: Conversion, heat: CableHeat) -> Mapping[float, _Kind]:
    """By section: first what the shop keeps, then the standard's."""
    own = dict(_own_cables(conversion, heat) if heat.is_high_voltage else _own_wires(conversion))
    now = own[heat.section_mm2]
    per_mm2 = constants()["copper_density_g_per_cm3"].value * heat.body.cores
    for section, (outside_mm, resistance) in _standard().items():
        if section not in own:
            made = body(section_mm2=section, outside_mm=outside_mm, resistance_mohm_per_m=resistance, cores=heat.body.cores)
            if heat.is_high_voltage:
                # A cable of this make in another section: the same thickness round its copper.
                wall_mm = heat.body.outside_mm - heat.body.conductor_mm
                made = body(
                    section_mm2=section,
                    outside_mm=made.conductor_mm + wall_mm,
                    resistance_mohm_per_m=resistance,
                    cores=heat.body.cores,
                )
            mass = now.mass_g_per_m + per_mm2 * (section - heat.section_mm2)
            own[section] = _Kind(body=made, in_catalogue=False, mass_g_per_m=max(mass, 0.0), price_eur_per_m=None)
    return own


def _own_wires(conversion: Conversion) -> Iterator[tuple[float, _Kind]]:
    for kind in conversion.wire_types:
        made = body(section_mm2=kind.section_mm2, outside_mm=kind.outside_diameter_mm, resistance_mohm_per_m=kind.resistance_mohm_per_m)
        yield kind.section_mm2, _Kind(body=made, in_catalogue=True, mass_g_per_m=kind.mass_g_per_m, price_eur_per_m=kind.price_eur_per_m)


def _own_cables(conversion: Conversion, heat: CableHeat) -> Iterator[tuple[float, _Kind]]:
    """Cables with as many cores and as good an insulation; of two with one section the one in use, or the first."""
    used = next(conversion.cable_type[cable.cable_type] for cable in conversion.cables if cable.ref == heat.ref)
    alike = [
        k for k in conversion.cable_types if (k.cores, k.screened, k.insulation_class) == (used.cores, used.screened, used.insulation_class)
    ]
    for kind in (*reversed(alike), used):
        made = body(
            section_mm2=kind.section_mm2,
            outside_mm=kind.outside_diameter_mm,
            resistance_mohm_per_m=kind.resistance_mohm_per_m,
            cores=kind.cores,
        )
        yield kind.section_mm2, _Kind(body=made, in_catalogue=True, mass_g_per_m=kind.mass_g_per_m, price_eur_per_m=kind.price_eur_per_m)


def _standard() -> Mapping[float, tuple[float, float]]:
    """Outside diameter and resistance of ISO 6722 wire by section, thin wall where the standard has it."""
    rows = sorted(table("conductors_iso6722"), key=lambda row: row["wall"] == "thin")
    return {float(row["section_mm2"]): (float(row["outside_diameter_max_mm"]), float(row["resistance_20c_max_mohm_per_m"])) for row in rows}
