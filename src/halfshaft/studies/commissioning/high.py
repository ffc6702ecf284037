"""High voltage: what is read with the contactors closed for the first time, and as they open again."""

from __future__ import annotations

from halfshaft.model.conversion import Conversion
from halfshaft.studies.commissioning.limits import (
    BATTERY,
    CAPACITOR,
    CAPACITOR_SHARE,
    CATALOGUE,
    CIRCUIT,
    CONTACT,
    CONTACT_TIMES,
    CONVERTER,
    CONVERTER_V,
    PACK_BAND,
    RESISTOR_SHARE,
)
from halfshaft.studies.commissioning.precharge import HV_METER
from halfshaft.studies.commissioning.records import Line, Part, Sense, volts_line
from halfshaft.studies.high_voltage.cases import CaseDraw, Draw
from halfshaft.studies.high_voltage.discharge import SAFE_V
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.hv_safety.insulation import CLOSED, Insulation
from halfshaft.studies.hv_safety.limits import basis_of
from halfshaft.studies.low_voltage.records import LowVoltage
from halfshaft.studies.pack.study import Pack

CLOSED_STATE = "contactors closed"
MILLI = 1e-3


def link_part(pack: Pack) -> Part:
    """The pack's volts behind the closed contactors, with their sign."""
    line = volts_line(
        ("link plus", "link minus"),
        f"{CLOSED_STATE}, nothing draws",
        pack.nominal_v,
        low=pack.empty_v,
        high=pack.full_v,
        suspect="a main contact that does not close, or cables exchanged behind it",
    )
    return Part(
        key="link",
        title="Link, contactors closed",
        instrument=HV_METER,
        basis=(PACK_BAND,),
        wrong="{}",
        lines=(line,),
        note="The same volts as the pack had with the contactors open.",
    )


def closed_part(conversion: Conversion, high: HighVoltage) -> Part | None:
    """Drop over each main contact at a current that stands still: that of a charging case, else of the first case there is."""
    case = _standing(high.cases)
    draw = None if case is None else case.steady["nominal"]
    lines = []
    for duty in high.contacts:
        ohm = conversion.element[duty.ref].resistance_ohm
        if not isinstance(draw, Draw) or case is None or not ohm or duty.role == "pre-charge":
            continue
        expected = abs(draw.current_a) * ohm / MILLI
        lines.append(
            Line(
                between=(f"{duty.ref}, one side", "its other side"),
                state=f"case “{case.case}”, {abs(draw.current_a):.1f} A",
                quantity="amount",
                unit="mV",
                expected=expected,
                low=0.0,
                high=max(CONTACT_TIMES * expected, expected + 1.0),
                senses=(Sense(ref=duty.ref, kind="contact"),),
                suspect=f"{duty.ref}: contact burnt, or a loose bolt",
            )
        )
    if not lines:
        return None
    return Part(
        key="contactors",
        title="Drop over each closed contact",
        instrument=HV_METER + "; millivolts",
        basis=(CATALOGUE, CIRCUIT, CONTACT),
        wrong="{} has a burnt contact, or a loose bolt.",
        lines=tuple(lines),
        note="Covers on: only by the controller's log, or at test points that the maker gives. Without them, with the service disconnect out and the coil fed, a micro-ohm meter from plug to plug, in proportion to its amperes. Write the value without a sign.",
    )


def _standing(cases: tuple[CaseDraw, ...]) -> CaseDraw | None:
    known = [case for case in cases if isinstance(case.steady["nominal"], Draw)]
    return next((case for case in known if case.power_kw < 0), known[0] if known else None)


def discharge_part(high: HighVoltage) -> Part | None:
    """Seconds until the whole link is below 60 V, by resistors alone and by the active way."""
    found = high.discharge
    if found is None:
        return None
    more = 1 + CAPACITOR_SHARE + RESISTOR_SHARE
    lines = [
        Line(
            between=("contactors open", f"link below {SAFE_V:g} V, {words}"),
            state="after the first drive or charge, nothing draws",
            quantity="amount",
            unit="s",
            expected=seconds,
            low=0.0,
            high=seconds * more,
            senses=(Sense(ref=f"{words} discharge", kind="resistor"),),
            suspect=suspect,
        )
        for words, seconds, suspect in (
            ("active", found.link.active_s, "the unit that discharges itself; until it does, wait for the passive way"),
            ("passive", found.link.passive_s, "discharge resistors of " + ", ".join(unit.ref for unit in found.units)),
        )
        if seconds is not None
    ]
    if not lines:
        return None
    return Part(
        key="discharge",
        title=f"Until the link is below {SAFE_V:g} V",
        instrument="stop watch, and " + HV_METER,
        basis=(CIRCUIT, CAPACITOR, basis_of("class_a_dc")),
        wrong="{} does not work, or is too weak.",
        lines=tuple(lines),
        note="Expected from the full pack; from less it is sooner. The passive time with the active discharge switched off.",
    )


def monitor_part(insulation: Insulation) -> Part | None:
    """What an insulation monitor shows with the contactors closed."""
    state = next((state for state in insulation.states if state.name == CLOSED), None)
    if state is None:
        return None
    line = Line(
        between=("insulation monitor", "its reading"),
        state=f"{CLOSED_STATE}, nothing plugged in",
        quantity="insulation",
        unit="MΩ",
        expected=max(state.both_poles_mohm, state.required_mohm),
        low=state.required_mohm,
        high=None,
        senses=tuple(Sense(ref=item.unit, kind="unit") for item in state.units),
        suspect=f"the dead test of insulation again, {state.dominant.unit} first",
    )
    words = f"{insulation.ohm_per_v:g} ohm/V" if insulation.ohm_per_v is not None else "100 ohm/V, as nobody has said which"
    basis = basis_of("isolation_joined" if insulation.ohm_per_v == 500.0 else "isolation_dc_apart")
    return Part(
        key="monitor",
        title="Insulation, contactors closed",
        instrument="the car's insulation monitor, else the two volt readings of UN R100",
        basis=(basis, basis_of("isolation_formula")),
        wrong="{}: insulation low; which of them, the dead test tells.",
        lines=(line,),
        note=f"Expected: both poles side by side, by the data sheets. Passes: {words} at the full pack.",
    )


def supply_part(conversion: Conversion, low: LowVoltage, battery_pins: tuple[str, str]) -> Part | None:
    """The converter's volts at the 12 V battery, in the first case in which it feeds."""
    result = next((item for item in low.cases if item.limit_a is not None and item.all is not None), None)
    source = conversion.supply.converter
    if result is None or result.all is None or source is None:
        return None
    top_v = conversion.element[source].voltage_v or conversion.supply.voltage_v
    expected = result.all.battery_v
    line = volts_line(
        battery_pins,
        f"{CLOSED_STATE}, case “{result.case}”",
        expected,
        low=expected - CONVERTER_V,
        high=max(top_v, expected) + CONVERTER_V,
        suspect=f"{source}: its enable, its fuses on both sides",
        senses=(Sense(ref=source, kind="converter"),),
    )
    return Part(
        key="converter",
        title="12 V from the converter",
        instrument="voltmeter, red lead on the first",
        basis=(CIRCUIT, CONVERTER, BATTERY),
        wrong="{} does not feed: its enable, or a fuse on either side.",
        lines=(line,),
    )
