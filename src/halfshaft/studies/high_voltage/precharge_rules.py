"""What can be wrong with the pre-charge."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Finding
from halfshaft.studies.high_voltage.contacts import bridged_contact
from halfshaft.studies.high_voltage.precharge import Precharge
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.high_voltage.words import CIRCUIT, DATA_SHEET, ORDER, PULSE, seconds

TELLS = {
    "main_plus": "contact",
    "main_minus": "contact",
    "precharge_contact": "contact",
    "precharge_resistor": "resistor",
}


def precharge_findings(conversion: Conversion, high: HighVoltage) -> Iterator[Finding]:
    """All rules of the pre-charge."""
    yield from not_as_named(conversion)
    yield from none_there(conversion, high)
    found = high.precharge
    if found is None:
        return
    yield from goes_round_nothing(conversion)
    yield from too_slow(found)
    yield from held_down(found)
    yield from pulse(conversion, found)
    yield from tries(conversion, found)
    yield from shorted(found)
    yield from surge(conversion, high, found)


def not_as_named(conversion: Conversion) -> Iterator[Finding]:
    """Something named under `[high_voltage]` is another kind of thing, or a resistor without ohms."""
    for field, kind in TELLS.items():
        name = getattr(conversion.high_voltage, field)
        if name is None:
            continue
        element = conversion.element[name]
        is_without_ohms = kind == "resistor" and element.kind == kind and not element.resistance_ohm
        if element.kind != kind or is_without_ohms:
            what = "has no resistance_ohm" if is_without_ohms else f"is a {element.kind}, not a {kind}"
            yield Finding(
                rule="high_voltage.not-as-named",
                level="fix",
                about=(name, field),
                text=f"`{field}` names {name}, which {what}: pre-charge and contactors cannot be worked out. Name the {kind}, or correct the part.",
                basis=ORDER,
                caution=HV_CAUTION,
            )


def none_there(conversion: Conversion, high: HighVoltage) -> Iterator[Finding]:
    """A main contact closes on empty capacitors."""
    settings = conversion.high_voltage
    main = settings.main_plus or settings.main_minus
    if main is None or high.discharge is None or high.unlimited_a is None:
        return
    if settings.precharge_contact is not None and settings.precharge_resistor is not None:
        return
    limit_a = conversion.element[main].breaking_a
    if limit_a is not None and high.unlimited_a > limit_a:
        yield Finding(
            rule="high_voltage.no-precharge",
            level="stop",
            about=(main,),
            text=f"Nothing fills the {1e6 * high.discharge.link.capacitance_f:.0f} µF of the units before {main} closes: up to {high.unlimited_a:.0f} A weld a contact that makes {limit_a:g} A. Fit contact and resistor of a pre-charge, and name them under `[high_voltage]`.",
            value=high.unlimited_a,
            limit=limit_a,
            unit="A",
            basis=DATA_SHEET,
            caution=HV_CAUTION,
        )


def goes_round_nothing(conversion: Conversion) -> Iterator[Finding]:
    """Contact and resistor do not lead round a main contact."""
    settings = conversion.high_voltage
    if (settings.main_plus or settings.main_minus) is not None and bridged_contact(conversion, settings) is None:
        yield Finding(
            rule="high_voltage.precharge-elsewhere",
            level="stop",
            about=(settings.precharge_contact or "", settings.precharge_resistor or ""),
            text=f"{settings.precharge_contact} and {settings.precharge_resistor} in series do not lead round a main contact: the link stays empty, and the main contact closes on it.",
            basis=ORDER,
            caution=HV_CAUTION,
        )


def too_slow(found: Precharge) -> Iterator[Finding]:
    """The link is not full when the pre-charge is given up."""
    if found.closes_after_s > found.time_out_s:
        yield Finding(
            rule="high_voltage.precharge-too-slow",
            level="stop",
            about=(found.resistor,),
            text=f"With {found.resistor_ohm:g} Ω on {1e6 * found.capacitance_f:.0f} µF the link has {100 * found.close_share:g} % after {seconds(found.closes_after_s)}; the pre-charge is given up after {seconds(found.time_out_s)}, so the car never starts. {found.resistor_max_ohm:.0f} Ω at most, or a longer time-out.",
            value=found.closes_after_s,
            limit=found.time_out_s,
            unit="s",
            basis=CIRCUIT,
            caution=HV_CAUTION,
        )


def held_down(found: Precharge) -> Iterator[Finding]:
    """The discharge resistors of the units keep the link from ever getting there in time."""
    if found.standing_ohm is None or found.least_load_ohm is None or found.standing_ohm >= found.least_load_ohm:
        return
    final_v = found.emf_v * found.standing_ohm / (found.standing_ohm + found.resistor_ohm)
    yield Finding(
        rule="high_voltage.precharge-held-down",
        level="stop",
        about=(found.resistor,),
        text=f"The units' own discharge is as {found.standing_ohm:.0f} Ω across the link: through {found.resistor_ohm:g} Ω it comes to {final_v:.0f} V at most, and not to {100 * found.close_share:g} % within {seconds(found.time_out_s)}. At least {found.least_load_ohm:.0f} Ω may stand there: check passive_discharge_s, or use fewer ohms.",
        value=found.standing_ohm,
        limit=found.least_load_ohm,
        unit="Ω",
        basis=CIRCUIT,
        caution=HV_CAUTION,
    )


def pulse(conversion: Conversion, found: Precharge) -> Iterator[Finding]:
    """One try is more than the resistor takes in one pulse."""
    limit_j = conversion.element[found.resistor].pulse_j
    if limit_j is not None and found.heat_whole_j > limit_j:
        yield Finding(
            rule="high_voltage.precharge-pulse",
            level="fix",
            about=(found.resistor,),
            text=f"Filling {1e6 * found.capacitance_f:.0f} µF to {found.emf_v:.0f} V leaves {found.heat_whole_j:.0f} J in {found.resistor}, which takes {limit_j:g} J in one pulse. Other ohms do not change that: it wants a resistor with a greater pulse rating.",
            value=found.heat_whole_j,
            limit=limit_j,
            unit="J",
            basis=PULSE,
            caution=HV_CAUTION,
        )


def tries(conversion: Conversion, found: Precharge) -> Iterator[Finding]:
    """Several tries in a row are more than one pulse, or more than it takes for good."""
    resistor = conversion.element[found.resistor]
    if resistor.pulse_j is not None and found.heat_whole_j <= resistor.pulse_j < found.tries_heat_j:
        may = math.floor(resistor.pulse_j / found.heat_whole_j)
        yield Finding(
            rule="high_voltage.precharge-tries",
            level="fix",
            about=(found.resistor,),
            text=f"{found.tries} tries in a row leave {found.tries_heat_j:.0f} J in {found.resistor}, which has no time to cool between them and takes {resistor.pulse_j:g} J in one pulse: allow {may}, or ask its maker how it bears several pulses.",
            value=found.tries_heat_j,
            limit=resistor.pulse_j,
            unit="J",
            basis=PULSE,
            caution=HV_CAUTION,
        )
    if resistor.power_w is not None and found.mean_w > resistor.power_w:
        yield Finding(
            rule="high_voltage.precharge-mean",
            level="fix",
            about=(found.resistor,),
            text=f"{found.tries} tries and their rest, again and again, are {found.mean_w:.1f} W on the average in {found.resistor}, which takes {resistor.power_w:g} W for good: rest longer.",
            value=found.mean_w,
            limit=resistor.power_w,
            unit="W",
            basis=DATA_SHEET,
            caution=HV_CAUTION,
        )


def shorted(found: Precharge) -> Iterator[Finding]:
    """On a shorted link the resistor is overloaded before the pre-charge is given up."""
    bears_s, healthy_v = found.shorted_bears_s, found.healthy_v
    if bears_s is None or healthy_v is None or bears_s >= found.time_out_s:
        return
    yield Finding(
        rule="high_voltage.precharge-shorted",
        level="note",
        about=(found.resistor,),
        text=f"On a shorted link {found.resistor} takes {found.shorted_w:.0f} W and has all it bears in one pulse after {seconds(bears_s)}; it is given up after {seconds(found.time_out_s)}. Let the controller give up sooner where the link does not rise: a healthy one is at {healthy_v:.0f} V by then.",
        value=found.time_out_s,
        limit=bears_s,
        unit="s",
        basis=PULSE,
        caution=HV_CAUTION,
    )


def surge(conversion: Conversion, high: HighVoltage, found: Precharge) -> Iterator[Finding]:
    """What is left when the main contact closes, or what the pre-charge contact makes, is more than the contact makes."""
    for duty in high.contacts:
        if duty.makes_a is None or duty.breaking_a is None or duty.makes_a <= duty.breaking_a:
            continue
        if duty.ref == found.contact:
            cure = f"{found.resistor_min_ohm:.0f} Ω or more" if found.resistor_min_ohm else "more ohms"
            text = f"{duty.ref} makes {duty.makes_a:.1f} A at first; it is made for {duty.breaking_a:g} A. {cure} in {found.resistor} would do."
        else:
            share = 1 - duty.breaking_a / found.unlimited_a
            text = f"When {duty.ref} closes at {100 * found.close_share:g} %, {found.step_v:.1f} V are left, which drive up to {duty.makes_a:.0f} A through it; it makes {duty.breaking_a:g} A, and may weld. Close at {100 * share:.1f} % or more."
        yield Finding(
            rule="high_voltage.make-current",
            level="fix",
            about=(duty.ref,),
            text=text,
            value=duty.makes_a,
            limit=duty.breaking_a,
            unit="A",
            basis=DATA_SHEET,
            caution=HV_CAUTION,
        )
