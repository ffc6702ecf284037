"""Filling the capacitors of all units through a resistor before the main contactor closes.

Formulas: RC circuit theory; a chip maker's reference design for pre-charge (2024); a sensor maker's and a resistor
maker's calculators (see docs/high-voltage.md).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import HighVoltageSettings

MICRO = 1e-6
# Steps of halving: enough for any two numbers of the machine.
HALVINGS = 200


def link_v(emf_v: float, tau_s: float, seconds: float) -> float:
    """Volts of a capacitor filled through a resistor, from empty: `V (1 - exp(-t/tau))`."""
    return -emf_v * math.expm1(-seconds / tau_s)


def time_to_s(share: float, tau_s: float) -> float:
    """Seconds until the capacitor has this share of the source's volts: `-ln(1 - q) tau`.

    >>> round(time_to_s(0.95, 1.0), 3)
    2.996
    """
    return -math.log1p(-share) * tau_s


def heat_j(emf_v: float, capacitance_f: float, tau_s: float, seconds: float) -> float:
    """Joules in the resistor up to a time: `1/2 C V² (1 - exp(-2t/tau))`, the integral of its power."""
    return -0.5 * capacitance_f * emf_v**2 * math.expm1(-2 * seconds / tau_s)


def time_with_load_s(share: float, capacitance_f: float, resistor_ohm: float, load_ohm: float) -> float:
    """Seconds to this share with something across the capacitor; infinite where it never gets there (Thévenin)."""
    reach = load_ohm / (load_ohm + resistor_ohm)
    return math.inf if share >= reach else time_to_s(share / reach, capacitance_f * resistor_ohm * reach)


def least_load_ohm(share: float, capacitance_f: float, resistor_ohm: float, within_s: float) -> float | None:
    """The least resistance across the capacitor with which it still reaches this share in time; None where not even alone."""
    if time_to_s(share, capacitance_f * resistor_ohm) >= within_s:
        return None
    # It never gets there with this one; with a great enough one it does.
    low = share * resistor_ohm / (1 - share)
    high = 2 * low
    while time_with_load_s(share, capacitance_f, resistor_ohm, high) > within_s:
        high *= 2
        if math.isinf(high):
            return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if time_with_load_s(share, capacitance_f, resistor_ohm, middle) > within_s:
            low = middle
        else:
            high = middle
    return high


@dataclass(frozen=True, kw_only=True, slots=True)
class Precharge:
    """One try, at the full pack.

    `closes_after_s` is when the link has the share of the pack's volts at which the main contactor closes; `step_v` and
    `surge_a` are what is left then, with nothing but the resistance of the way in its path, and `unlimited_a` what would
    flow with no pre-charge at all: upper bounds, as cables have some inductance too. `shorted_bears_s` is how long the
    resistor bears a link that is shorted, and `healthy_v` what a healthy link has by then. `most_load_w` is what may be drawn
    from the link at those volts; `with_standing_s` counts the discharge resistors, and is None where it never closes with them.
    """

    resistor: str
    contact: str
    emf_v: float
    resistor_ohm: float
    capacitance_f: float
    close_share: float
    time_out_s: float
    closes_after_s: float
    first_a: float
    first_w: float
    heat_to_close_j: float
    heat_whole_j: float
    step_v: float
    surge_a: float
    unlimited_a: float
    shorted_w: float
    shorted_bears_s: float | None
    healthy_v: float | None
    least_load_ohm: float | None
    most_load_w: float
    standing_ohm: float | None
    with_standing_s: float | None
    tries: int
    tries_heat_j: float
    mean_w: float
    resistor_min_ohm: float | None
    resistor_max_ohm: float

    @property
    def tau_s(self) -> float:
        """Time constant."""
        return self.resistor_ohm * self.capacitance_f


def study_precharge(
    conversion: Conversion, settings: HighVoltageSettings, *, full_v: float, loop_ohm: float, standing_ohm: float | None
) -> Precharge | None:
    """None where contact or resistor is not named or is something else, the resistor has no ohms, or no unit has capacitance.

    `loop_ohm` is the least resistance of pack and way, `standing_ohm` that of all discharge resistors side by side, where there are any.
    """
    capacitance_f = MICRO * math.fsum(row.cx_uf for row in conversion.hv_insulation)
    if settings.precharge_contact is None or settings.precharge_resistor is None or not capacitance_f:
        return None
    contact, resistor = conversion.element[settings.precharge_contact], conversion.element[settings.precharge_resistor]
    ohm = resistor.resistance_ohm
    if contact.kind != "contact" or resistor.kind != "resistor" or not ohm:
        return None
    share, time_out_s, tries = settings.precharge_close_at_percent / 100, settings.precharge_time_out_s, settings.precharge_tries
    tau_s = ohm * capacitance_f
    closes_after_s = time_to_s(share, tau_s)
    whole_j = 0.5 * capacitance_f * full_v**2
    shorted_w = full_v**2 / ohm
    bears_s = None if resistor.pulse_j is None else resistor.pulse_j / shorted_w
    load_ohm = least_load_ohm(share, capacitance_f, ohm, time_out_s)
    standing_s = closes_after_s if standing_ohm is None else time_with_load_s(share, capacitance_f, ohm, standing_ohm)
    step_v = (1 - share) * full_v
    return Precharge(
        resistor=settings.precharge_resistor,
        contact=settings.precharge_contact,
        emf_v=full_v,
        resistor_ohm=ohm,
        capacitance_f=capacitance_f,
        close_share=share,
        time_out_s=time_out_s,
        closes_after_s=closes_after_s,
        first_a=full_v / ohm,
        first_w=shorted_w,
        heat_to_close_j=heat_j(full_v, capacitance_f, tau_s, closes_after_s),
        heat_whole_j=whole_j,
        step_v=step_v,
        surge_a=step_v / loop_ohm,
        unlimited_a=full_v / loop_ohm,
        shorted_w=shorted_w,
        shorted_bears_s=bears_s,
        healthy_v=None if bears_s is None else link_v(full_v, tau_s, bears_s),
        least_load_ohm=load_ohm,
        most_load_w=0.0 if load_ohm is None else (share * full_v) ** 2 / load_ohm,
        standing_ohm=standing_ohm,
        with_standing_s=standing_s if math.isfinite(standing_s) else None,
        tries=tries,
        tries_heat_j=tries * whole_j,
        mean_w=tries * whole_j / (tries * time_out_s + 60 * settings.precharge_rest_min),
        resistor_min_ohm=None if not contact.breaking_a else full_v / contact.breaking_a,
        resistor_max_ohm=time_out_s / (time_to_s(share, 1.0) * capacitance_f),
    )
