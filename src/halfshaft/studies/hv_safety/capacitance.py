"""What the capacitors of the high-voltage side hold and let through: joules to the body, joules between the poles, body current."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.hv_safety.live import chargers, parts_sides

NANO, MICRO, MILLI = 1e-9, 1e-6, 1e-3
# Below this a pole may be touched (voltage class A), so that only what is above it counts in the regulation's formula.
TOUCH_V = 60.0
# Volts to earth and hertz of single-phase mains: IEC 60038, and North America, where either line has 120 V.
MAINS = ((230.0, 50.0), (120.0, 60.0))


@dataclass(frozen=True, kw_only=True, slots=True)
class PoleEnergy:
    """Capacitance from one pole to the body, all units joined, and the joules that a hand can meet there at full volts."""

    pole: str
    cy_nf: float
    energy_j: float
    above_60v_j: float


@dataclass(frozen=True, kw_only=True, slots=True)
class BodyCurrent:
    """Milliamperes through capacitors to the earthed body while charging through one charger, on one mains."""

    charger: str
    is_isolated: bool
    cy_nf: float
    mains_v: float
    mains_hz: float
    current_ma: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Capacitances:
    """All of it, contactors closed and the pack full."""

    full_v: float
    poles: tuple[PoleEnergy, ...]
    cx_uf: float
    x_energy_j: float
    body_currents: tuple[BodyCurrent, ...]


def energy_j(capacitance_f: float, volts: float) -> float:
    """What a capacitor holds, 1/2 C V²."""
    return 0.5 * capacitance_f * volts**2


def energy_above_j(capacitance_f: float, volts: float) -> float:
    """The regulation's form: 1/2 C (V² - 60²), what it gives until 60 V are left."""
    return energy_j(capacitance_f, volts) - energy_j(capacitance_f, min(volts, TOUCH_V))


def earth_current_ma(*, capacitance_nf: float, mains_v: float, mains_hz: float) -> float:
    """Current through a capacitor from line to earth, 2 pi f C U, milliampere."""
    return 2 * math.pi * mains_hz * capacitance_nf * NANO * mains_v / MILLI


def largest_nf(*, current_ma: float, mains_v: float, mains_hz: float) -> float:
    """The capacitance to earth through which just this current flows, nanofarad."""
    return current_ma * MILLI / (2 * math.pi * mains_hz * mains_v) / NANO


def study_capacitances(conversion: Conversion, full_v: float) -> Capacitances | None:
    """Sums over hv_insulation.csv; None where that has no row.

    A charger that parts its sides lets through what its own capacitors do: they are counted whole, as its row does not say
    which are on the mains side. One that is not stated to do so joins the mains to every capacitor of the car.
    """
    rows = conversion.hv_insulation
    if not rows:
        return None
    plus_nf, minus_nf = math.fsum(row.cy_plus_nf for row in rows), math.fsum(row.cy_minus_nf for row in rows)
    own_nf = {row.ref: row.cy_plus_nf + row.cy_minus_nf for row in rows}
    cx_uf = math.fsum(row.cx_uf for row in rows)
    currents = []
    for charger in chargers(conversion):
        is_isolated = parts_sides(conversion.part[conversion.device[charger].part].inside)
        cy_nf = own_nf.get(charger, 0.0) if is_isolated else plus_nf + minus_nf
        for mains_v, mains_hz in MAINS:
            currents.append(
                BodyCurrent(
                    charger=charger,
                    is_isolated=is_isolated,
                    cy_nf=cy_nf,
                    mains_v=mains_v,
                    mains_hz=mains_hz,
                    current_ma=earth_current_ma(capacitance_nf=cy_nf, mains_v=mains_v, mains_hz=mains_hz),
                )
            )
    return Capacitances(
        full_v=full_v,
        poles=tuple(
            PoleEnergy(pole=pole, cy_nf=cy_nf, energy_j=energy_j(cy_nf * NANO, full_v), above_60v_j=energy_above_j(cy_nf * NANO, full_v))
            for pole, cy_nf in (("plus", plus_nf), ("minus", minus_nf))
        ),
        cx_uf=cx_uf,
        x_energy_j=energy_j(cx_uf * MICRO, full_v),
        body_currents=tuple(currents),
    )
