"""The pack at work: amperes, volts and what it can give, by charge and by whether its cells are warm or cold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from halfshaft.model.pack import HvUnit, PackSettings
from halfshaft.studies.pack.circuit import current_a, max_power_w

CHARGES_PERCENT = (100, 50, 20, 0)
# Full power is still asked for at this charge (common practice); below it the inverter is told to take less.
LOW_PERCENT = 20


@dataclass(frozen=True, kw_only=True, slots=True)
class Draw:
    """The pack giving a set power: amperes in all and in each string, and the volts that are left."""

    power_kw: float
    current_a: float
    string_a: float
    volts: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Working:
    """The pack at one charge. `usable_kw` is the most it gives within all limits, and `limit` the one that is met first."""

    charge_percent: int
    cold: bool
    open_v: float
    resistance_mohm: float
    continuous: Draw | None
    peak: Draw | None
    max_kw: float
    usable_kw: float
    limit: str


def open_volts(charge_percent: float, *, full_v: float, empty_v: float) -> float:
    """Volts of the pack at rest, taken as falling in a straight line from full to empty (an assumption: a cell's maker has the curve)."""
    return empty_v + (full_v - empty_v) * charge_percent / 100


def workings(
    *,
    strings: int,
    full_v: float,
    empty_v: float,
    warm_ohm: float,
    cold_ohm: float | None,
    settings: PackSettings,
    module_peak_a: float,
    units: Sequence[HvUnit],
) -> tuple[Working, ...]:
    """Warm, then cold where the cold resistance of every module is known; each from full to empty."""
    found = []
    for cold, ohm in ((False, warm_ohm), (True, cold_ohm)):
        for charge in CHARGES_PERCENT if ohm is not None else ():
            assert ohm is not None
            emf_v = open_volts(charge, full_v=full_v, empty_v=empty_v)
            usable_kw, limit = min(_limits(emf_v, ohm, strings * module_peak_a, settings, units))
            found.append(
                Working(
                    charge_percent=charge,
                    cold=cold,
                    open_v=emf_v,
                    resistance_mohm=1000 * ohm,
                    continuous=draw(emf_v, ohm, settings.power_continuous_kw, strings),
                    peak=draw(emf_v, ohm, settings.power_peak_kw, strings),
                    max_kw=max_power_w(emf_v, ohm) / 1000,
                    usable_kw=usable_kw,
                    limit=limit,
                )
            )
    return tuple(found)


def draw(emf_v: float, resistance_ohm: float, power_kw: float | None, strings: int) -> Draw | None:
    """The pack at a set power; None where none is set or it cannot give it."""
    amperes = None if power_kw is None else current_a(emf_v, resistance_ohm, 1000 * power_kw)
    if power_kw is None or amperes is None:
        return None
    return Draw(power_kw=power_kw, current_a=amperes, string_a=amperes / strings, volts=emf_v - amperes * resistance_ohm)


def _limits(emf_v: float, ohm: float, modules_a: float, settings: PackSettings, units: Sequence[HvUnit]) -> Iterator[tuple[float, str]]:
    """Kilowatts at which each limit is met, with its words."""
    half_v = emf_v / 2

    def at_current(amperes: float) -> float:
        # Past half the open volts more current gives less power.
        volts = max(emf_v - amperes * ohm, half_v)
        return volts * min(amperes, (emf_v - volts) / ohm if ohm else math.inf) / 1000

    yield max_power_w(emf_v, ohm) / 1000, "its own resistance"
    yield at_current(modules_a), "peak current of the modules"
    for unit in carriers(settings, units):
        yield at_current(unit.current_peak_a), f"peak current of {unit.ref}"
    for unit in units:
        if 0 < unit.operate_min_v < emf_v and ohm:
            volts = max(unit.operate_min_v, half_v)
            yield volts * (emf_v - volts) / ohm / 1000, f"least volts of {unit.ref}"
        elif unit.operate_min_v >= emf_v:
            yield 0.0, f"least volts of {unit.ref}"


def carriers(settings: PackSettings, units: Sequence[HvUnit]) -> tuple[HvUnit, ...]:
    """Units that all of the pack's current passes: those at which its plus and minus end."""
    ends = {connector.partition(".")[0] for connector in (settings.plus_at, settings.minus_at) if connector is not None}
    return tuple(unit for unit in units if unit.ref in ends)
