"""What the units draw in each load case: amperes and volts of the pack, and at each unit.

The chain is a star: what all units share, then a branch for each. So both parts are the one source behind one resistance of
studies/pack/circuit.py, used in turns until the volts between them stand still.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Case
from halfshaft.studies.high_voltage.chain import Chain
from halfshaft.studies.pack.circuit import current_a
from halfshaft.studies.pack.study import Pack

STATES = ("full", "nominal", "empty")
# The volts stand still when a turn moves them by less than this share; near the most that the pack can give that takes many turns.
STILL, TURNS = 1e-12, 2000


@dataclass(frozen=True, kw_only=True, slots=True)
class UnitDraw:
    """One unit at work; amperes and kilowatts below zero go into the pack. `loss_w` is what is lost in its own branch."""

    ref: str
    power_kw: float
    current_a: float
    volts: float
    loss_w: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Draw:
    """The chain at work at one charge: amperes of the pack, volts at its ends, loss in pack and chain together."""

    current_a: float
    pack_v: float
    loss_w: float
    units: tuple[UnitDraw, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseDraw:
    """One load case: by the pack's state, for good and at its peak; None: the pack cannot give it."""

    case: str
    power_kw: float
    peak_kw: float
    steady: dict[str, Draw | None]
    peak: dict[str, Draw | None]


def converter_w(conversion: Conversion, case: Case, output_w: Mapping[str, float] | None = None) -> dict[str, float]:
    """By the DC-DC converter: watts that it takes from the pack, its 12 V output by its efficiency.

    `output_w` by case comes from the study of the 12 V side; without it every load that is on counts with its share of time
    at the supply's volts. Nothing where the converter, or its efficiency, is not described, or does not run.
    """
    source = conversion.supply.converter
    if source is None or case.converter not in ("", "on"):
        return {}
    device = source.partition(".")[0]
    inside = conversion.part[conversion.device[device].part].inside
    efficiency = next((item.efficiency for item in inside if item.kind == "converter" and item.efficiency), None)
    if efficiency is None:
        return {}
    watts = output_w[case.ref] if output_w is not None else _loads_w(conversion, case)
    return {device: watts / efficiency} if watts else {}


def _loads_w(conversion: Conversion, case: Case) -> float:
    amperes = (
        row.duty * (conversion.load[row.load].steady_a if row.steady_a is None else row.steady_a)
        for row in conversion.case_loads
        if row.case == case.ref
    )
    return conversion.supply.voltage_v * math.fsum(amperes)


def study_cases(conversion: Conversion, pack: Pack, chain: Chain, output_w: Mapping[str, float] | None = None) -> tuple[CaseDraw, ...]:
    """Every case in which case_units.csv names a unit and the contactors are closed, in the order of cases.csv."""
    return tuple(_cases(conversion, pack, chain, output_w))


def _cases(conversion: Conversion, pack: Pack, chain: Chain, output_w: Mapping[str, float] | None) -> Iterator[CaseDraw]:
    known = {way.unit.ref for way in chain.ways}
    emf_v = {"full": pack.full_v, "nominal": pack.nominal_v, "empty": pack.empty_v}
    for case in conversion.cases:
        rows = [row for row in conversion.case_units if row.case == case.ref and row.unit in known]
        if not rows or case.contactors == "open":
            continue
        converter = {ref: watts for ref, watts in converter_w(conversion, case, output_w).items() if ref in known}
        steady_w = {**converter, **{row.unit: 1000 * row.power_kw for row in rows}}
        peak_w = {**converter, **{row.unit: 1000 * (row.power_kw if row.peak_kw is None else row.peak_kw) for row in rows}}
        yield CaseDraw(
            case=case.ref,
            power_kw=math.fsum(steady_w.values()) / 1000,
            peak_kw=math.fsum(peak_w.values()) / 1000,
            steady={state: draw(chain, emf_v[state], pack.total_mohm / 1000, steady_w) for state in STATES},
            peak={state: draw(chain, emf_v[state], pack.total_mohm / 1000, peak_w) for state in STATES},
        )


def draw(chain: Chain, emf_v: float, pack_ohm: float, power_w: Mapping[str, float]) -> Draw | None:
    """The chain with a set power at each unit; None where there is no such state, or it is nearer to the edge than can be told."""
    ways = [way for way in chain.ways if way.unit.ref in power_w]
    own_ohm = {way.unit.ref: chain.own_ohm(way) for way in ways}
    before_ohm = pack_ohm + chain.shared_ohm
    link_v = emf_v
    for _ in range(TURNS):
        amperes = {ref: current_a(link_v, ohm, power_w[ref]) for ref, ohm in own_ohm.items()}
        found = {ref: value for ref, value in amperes.items() if value is not None}
        if len(found) < len(amperes):
            return None
        total_a = math.fsum(found.values())
        before_v, link_v = link_v, emf_v - total_a * before_ohm
        if link_v <= 0:
            return None
        if abs(link_v - before_v) <= STILL * emf_v:
            units = tuple(
                UnitDraw(
                    ref=ref,
                    power_kw=power_w[ref] / 1000,
                    current_a=found[ref],
                    volts=link_v - found[ref] * ohm,
                    loss_w=found[ref] ** 2 * ohm,
                )
                for ref, ohm in own_ohm.items()
            )
            loss_w = total_a**2 * before_ohm + math.fsum(unit.loss_w for unit in units)
            return Draw(current_a=total_a, pack_v=emf_v - total_a * pack_ohm, loss_w=loss_w, units=units)
    return None
