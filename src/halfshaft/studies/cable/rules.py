"""What can be wrong with how warm wires and cables get."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published
from halfshaft.standards import constants, thin_wall_currents
from halfshaft.studies.cable.choices import Choices
from halfshaft.studies.cable.currents import WireCurrent
from halfshaft.studies.cable.study import CableHeat
from halfshaft.studies.looms.coverings import ambient_of
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.wires.current_rules import FIRE_CAUTION, ROUNDING

BALANCE = published(
    "heat balance in docs/cables.md (Churchill and Chu 1975; IEC 60287-2-1); insulation as the shop's insulation_classes.csv"
)
OWN_CLASS = Basis("common practice", "an insulation is not used above what the shop's insulation_classes.csv gives for it")
# How far the balance is off published currents, in the mean and at worst (docs/cables.md, measured in tests/outside).
MEAN_PERCENT, WORST_PERCENT = 8, 15
# More than what takes the conductor to its limit by as much as that: no error of the balance explains it.
SURE = 1 + WORST_PERCENT / 100
# Thicker than this at less than this is a decimal point or a unit, not a choice; places where thick copper is meant are left out.
THICK_MM2, IDLE_A_PER_MM2 = 10.0, 0.05
MEANT_THICK = ("supply", "ground", "hv", "stud", "protective", "battery", "bar", "minus", "plus")


def cable_findings(
    conversion: Conversion,
    routing: Routing,
    heats: Mapping[str, CableHeat],
    currents: Mapping[str, WireCurrent],
    choices: Callable[[CableHeat], Choices],
) -> Iterator[Finding]:
    """All rules of this study; `choices` is asked only where something is wrong."""
    yield from too_hot(heats, choices)
    yield from pulse_too_hot(heats, choices)
    yield from terminal_current(conversion, currents)
    yield from insulation_too_cool(conversion, routing)
    yield from section_too_thin(conversion)
    yield from section_far_too_large(conversion, currents)


def too_hot(heats: Mapping[str, CableHeat], choices: Callable[[CableHeat], Choices]) -> Iterator[Finding]:
    """A conductor gets hotter for good than its insulation stands.

    It stops the work where no error of the balance explains it; below that it is to be known, and measured. What
    wires.section-too-small stops already is left to it, and air that is too hot alone to cable.insulation-too-cool.
    """
    for heat in heats.values():
        limit_a = thin_wall_currents().get(heat.section_mm2, math.inf)
        is_said = not heat.is_high_voltage and heat.current.continuous_a > limit_a
        is_sure = heat.current.continuous_a > SURE * heat.capacity_a
        doubt = "" if is_sure else f" The sum is up to {WORST_PERCENT} % off, so measure it, or take a thicker wire."
        if heat.conductor_c > heat.limit_c + ROUNDING and heat.limit_c > heat.place.around.ambient_c and not is_said:
            yield Finding(
                rule="cable.too-hot",
                level="stop" if is_sure else "note",
                about=_about(heat),
                text=f"{_name(heat)} reaches {_degrees(heat.conductor_c)} at {heat.current.continuous_a:.1f} A ({heat.current.case}) {_where(heat)}; its insulation {heat.insulation_class} stands {heat.limit_c:g} °C, which is {heat.capacity_a:.0f} A there{_cure(choices(heat))}.{doubt}",
                value=heat.conductor_c,
                limit=heat.limit_c,
                unit="°C",
                basis=BALANCE,
                caution=_caution(heat),
            )


def pulse_too_hot(heats: Mapping[str, CableHeat], choices: Callable[[CableHeat], Choices]) -> Iterator[Finding]:
    """A conductor is cool enough for good, and not at the end of a peak."""
    for heat in heats.values():
        if heat.conductor_c <= heat.limit_c < heat.pulse_c:
            yield Finding(
                rule="cable.pulse-too-hot",
                level="fix",
                about=_about(heat),
                text=f"{_name(heat)} reaches {_degrees(heat.pulse_c)} at the end of {heat.current.peak_s:g} s with {heat.current.peak_a:.0f} A, begun at {heat.conductor_c:.0f} °C {_where(heat)}; its insulation {heat.insulation_class} stands {heat.limit_c:g} °C{_cure(choices(heat))}.",
                value=heat.pulse_c,
                limit=heat.limit_c,
                unit="°C",
                basis=BALANCE,
                caution=_caution(heat),
            )


def terminal_current(conversion: Conversion, currents: Mapping[str, WireCurrent]) -> Iterator[Finding]:
    """The terminal of a high-voltage core carries more for good than it may."""
    for core in conversion.cable_cores:
        current = currents.get(core.cable)
        for pin in (core.from_pin, core.to_pin):
            cavity = conversion.cavity.get(pin)
            if current is None or cavity is None:
                continue
            terminal = conversion.terminal[cavity.terminal]
            if current.continuous_a > terminal.current_max_a:
                yield Finding(
                    rule="cable.terminal-current",
                    level="stop",
                    about=(core.cable, pin),
                    text=f"Terminal {terminal.ref} at {pin} carries {current.continuous_a:.1f} A of cable {core.cable} ({current.case}); it may carry {terminal.current_max_a:g} A.",
                    value=current.continuous_a,
                    limit=terminal.current_max_a,
                    unit="A",
                    basis=Basis("common practice", "the terminal's own facts in the catalogue"),
                    caution=HV_CAUTION,
                )


def insulation_too_cool(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """A wire lies where the air alone is as hot as its insulation stands, so it may carry nothing there."""
    classes = {item.ref: item for item in conversion.insulation_classes}
    laid = [(ref, item.wire.insulation_class, item.route) for ref, item in routing.wires.items()]
    laid += [(item.cable.ref, conversion.cable_type[item.cable.cable_type].insulation_class, item.route) for item in routing.cables]
    cables = {item.cable.ref for item in routing.cables}
    for ref, mark, route in laid:
        limit_c = classes[mark].temperature_max_c
        there = [(ambient_of(conversion, conversion.run[step.run]), step.run) for step in (route.steps if route else ())]
        ambient_c, run = max(((ambient, run) for ambient, run in there if ambient is not None), default=(-math.inf, ""))
        if ambient_c >= limit_c:
            good = sorted(
                (item for item in conversion.insulation_classes if item.temperature_max_c > ambient_c), key=lambda i: i.temperature_max_c
            )
            cure = f"; class {good[0].ref} ({good[0].temperature_max_c:g} °C) would do" if good else "; no class in the catalogue would do"
            yield Finding(
                rule="cable.insulation-too-cool",
                level="stop",
                about=(ref, run),
                text=f"{'Cable' if ref in cables else 'Wire'} {ref} lies in run {run} where it gets {ambient_c:g} °C, and its insulation {mark} stands {limit_c:g} °C with no current at all{cure}.",
                value=ambient_c,
                limit=limit_c,
                unit="°C",
                basis=OWN_CLASS,
                caution=HV_CAUTION if ref in cables else FIRE_CAUTION,
            )


def section_too_thin(conversion: Conversion) -> Iterator[Finding]:
    """A wire is too thin to be handled, whatever it carries."""
    least = constants()["section_mechanical_min_mm2"]
    for wire in conversion.wires:
        if wire.section_mm2 < least.value:
            yield Finding(
                rule="cable.section-too-thin",
                level="fix",
                about=(wire.ref,),
                text=f"Wire {wire.ref} of {wire.section_mm2:g} mm² is thinner than {least.value:g} mm²: it breaks in crimping and handling.",
                value=wire.section_mm2,
                limit=least.value,
                unit="mm²",
                basis=Basis("common practice", least.source),
            )


def section_far_too_large(conversion: Conversion, currents: Mapping[str, WireCurrent]) -> Iterator[Finding]:
    """A wire that carries next to nothing between two signal pins is as thick as a battery cable: a unit or decimal point is amiss."""
    for wire in conversion.wires:
        current_a = currents[wire.ref].continuous_a if wire.ref in currents else 0.0
        roles = [conversion.cavity[pin].role for pin in (wire.from_pin, wire.to_pin) if pin in conversion.cavity]
        if wire.section_mm2 < THICK_MM2 or current_a >= IDLE_A_PER_MM2 * wire.section_mm2 or not roles:
            continue
        if any(role.startswith(MEANT_THICK) for role in roles):
            continue
        yield Finding(
            rule="cable.section-far-too-large",
            level="fix",
            about=(wire.ref,),
            text=f"Wire {wire.ref} ({wire.meaning}) is {wire.section_mm2:g} mm² thick and carries {current_a:.2g} A between pins of kind {' and '.join(dict.fromkeys(roles))}: look for a mixed-up unit or a lost decimal point.",
            value=wire.section_mm2,
            limit=THICK_MM2,
            unit="mm²",
            basis=Basis("common practice", "wires this thick are for supply, ground and high voltage"),
        )


def _about(heat: CableHeat) -> tuple[str, ...]:
    return (heat.ref, heat.place.run) if heat.place.run else (heat.ref,)


def _name(heat: CableHeat) -> str:
    return f"{'Cable' if heat.is_high_voltage else 'Wire'} {heat.ref} of {heat.section_mm2:g} mm²"


def _where(heat: CableHeat) -> str:
    place = heat.place
    run = (
        f"in run {place.run} ({place.zone}, {place.around.ambient_c:g} °C"
        if place.run
        else f"at its ends ({place.zone}, {place.around.ambient_c:g} °C"
    )
    return (
        f"{run}{f', in {place.covering}' if place.covering else ''}, {f'{place.loaded} loaded together' if place.loaded > 1 else 'alone'})"
    )


def _degrees(value_c: float) -> str:
    return f"{value_c:.0f} °C" if value_c < 500 else "more than 500 °C"


def _cure(choices: Choices) -> str:
    least = choices.least or choices.larger
    if least is None or least.section_mm2 <= choices.now.section_mm2 or "too hot" in least.fails:
        return ""
    return f"; {least.section_mm2:g} mm² would stay at {max(least.conductor_c, least.pulse_c):.0f} °C"


def _caution(heat: CableHeat) -> str:
    return HV_CAUTION if heat.is_high_voltage else FIRE_CAUTION
