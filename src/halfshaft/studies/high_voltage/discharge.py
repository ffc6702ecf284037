"""How long capacitors stay live once the contactors are open: each unit by itself, and the link as one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.model.electrics import HvInsulation
from halfshaft.standards import hv_limits

MICRO = 1e-6
# Above this, direct volts are high voltage: 60 V, UN R100, paragraph 2.
SAFE_V = hv_limits()["class_a_dc"].value


@dataclass(frozen=True, kw_only=True, slots=True)
class Discharge:
    """One unit, or `the whole link` with all units joined: seconds from full down to 60 V; None where nothing is known that does it."""

    ref: str
    capacitance_f: float
    energy_j: float
    passive_s: float | None
    active_s: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Discharges:
    """Every unit with capacitance, then the link. `wait_s` is the longest of all passive times; None where one is not known."""

    units: tuple[Discharge, ...]
    link: Discharge
    standing_ohm: float | None
    wait_s: float | None


def fall_s(ohm: float, capacitance_f: float, full_v: float) -> float:
    """Seconds in which a resistor takes a capacitor from full down to 60 V: `R C ln(V / 60)`; nothing below that."""
    return ohm * capacitance_f * math.log(max(full_v / SAFE_V, 1.0))


def bleeder_ohm(seconds: float, capacitance_f: float, full_v: float) -> float:
    """The resistance that does it in these seconds; infinite where there is nothing to do or nothing does it."""
    fall = capacitance_f * math.log(max(full_v / SAFE_V, 1.0))
    return seconds / fall if fall else math.inf


def study_discharge(rows: Sequence[HvInsulation], full_v: float) -> Discharges | None:
    """None without capacitance. Units' own times are taken as from resistors, which then act side by side on the whole link.

    An active discharge is taken as a resistor too, and as acting together with all passive ones.
    """
    held = [row for row in rows if row.cx_uf]
    if not held:
        return None
    units = tuple(
        Discharge(
            ref=row.ref,
            capacitance_f=MICRO * row.cx_uf,
            energy_j=0.5 * MICRO * row.cx_uf * full_v**2,
            passive_s=row.passive_discharge_s,
            active_s=row.active_discharge_s,
        )
        for row in held
    )
    total_f = math.fsum(unit.capacitance_f for unit in units)
    passive = _siemens([(unit.passive_s, unit.capacitance_f) for unit in units], full_v)
    active = _siemens([(unit.active_s, unit.capacitance_f) for unit in units], full_v)
    link = Discharge(
        ref="the whole link",
        capacitance_f=total_f,
        energy_j=math.fsum(unit.energy_j for unit in units),
        passive_s=fall_s(1 / passive, total_f, full_v) if passive else None,
        active_s=fall_s(1 / (active + passive), total_f, full_v) if active else None,
    )
    times = [unit.passive_s for unit in (*units, link)]
    return Discharges(
        units=units,
        link=link,
        standing_ohm=1 / passive if passive else None,
        wait_s=None if None in times else max(time for time in times if time is not None),
    )


def _siemens(pairs: Sequence[tuple[float | None, float]], full_v: float) -> float:
    """Conductance of all resistors side by side; one that needs no time at all is left out, as no resistor does that."""
    return math.fsum(1 / bleeder_ohm(seconds, farad, full_v) for seconds, farad in pairs if seconds)
