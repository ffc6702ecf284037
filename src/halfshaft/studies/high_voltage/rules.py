"""What can be wrong with the high-voltage chain."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published
from halfshaft.standards import constants
from halfshaft.studies.high_voltage.chain import elements_in
from halfshaft.studies.high_voltage.contacts import SOON_S
from halfshaft.studies.high_voltage.discharge import SAFE_V
from halfshaft.studies.high_voltage.precharge_rules import precharge_findings
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.high_voltage.words import CIRCUIT, DATA_SHEET, NO_GAP, UNIT_SHEET, seconds
from halfshaft.studies.network.records import Failure
from halfshaft.studies.pack.study import Pack

MODULE_SHEET = published("the module's data sheet, in modules.toml")
# Strings within this differ by rounding.
SAME_V = 0.01


def high_voltage_findings(conversion: Conversion, pack: Pack | None, high: HighVoltage | None) -> Iterator[Finding]:
    """All rules of this study; nothing while the strings themselves are wrong, as their resistance is then another."""
    if pack is None or high is None or not is_whole(pack):
        return
    yield from precharge_findings(conversion, high)
    yield from discharges(high)
    yield from contacts(high)
    yield from gap(high)
    yield from fuses(conversion, pack, high)
    yield from cases(pack, high)


def is_whole(pack: Pack) -> bool:
    """Whether every string is led from end to end, enters each box once, and has the same volts: else pack.* speaks first."""
    full_v = [string.volts("cell_full_v") for string in pack.strings]
    return max(full_v) - min(full_v) <= SAME_V and all(
        all(join.links is not None for join in string.joins if join.start) and len(set(string.boxes)) == len(string.boxes)
        for string in pack.strings
    )


def discharges(high: HighVoltage) -> Iterator[Finding]:
    """A unit stays live for longer than is usual, or nobody says how long."""
    if high.discharge is None:
        return
    for item in (*high.discharge.units, high.discharge.link):
        for how, found_s in (("passive", item.passive_s), ("active", item.active_s)):
            usual = constants()[f"{how}_discharge_s"]
            if found_s is not None and found_s > usual.value:
                by = "by itself" if how == "passive" else "by its active discharge"
                yield Finding(
                    rule="high_voltage.discharge-slow",
                    level="note",
                    about=(item.ref, how),
                    text=f"{item.ref[:1].upper() + item.ref[1:]} is below {SAFE_V:g} V {seconds(found_s)} after the contactors open, {by}; {usual.value:g} s is usual. Write the wait on its cover and into the work order.",
                    value=found_s,
                    limit=usual.value,
                    unit="s",
                    basis=Basis("published" if usual.basis == "published" else "from memory", usual.source),
                    caution=HV_CAUTION,
                )
    for item in high.discharge.units:
        if item.passive_s is None:
            yield Finding(
                rule="high_voltage.discharge-unknown",
                level="note",
                about=(item.ref,),
                text=f"{item.ref} holds {1e6 * item.capacitance_f:g} µF and nobody says in which time it discharges: unplugged, it may stay live. Ask its maker for passive_discharge_s.",
                basis=Basis("common practice", "a wait is printed on every unit that holds a charge"),
                caution=HV_CAUTION,
            )


def contacts(high: HighVoltage) -> Iterator[Finding]:
    """A contact at more volts or amperes than it is made for."""
    for duty in high.contacts:
        if duty.voltage_max_v is not None and high.full_v > duty.voltage_max_v:
            yield Finding(
                rule="high_voltage.contact-voltage",
                level="stop",
                about=(duty.ref,),
                text=f"{duty.ref} is made for {duty.voltage_max_v:g} V d.c.; the full pack has {high.full_v:.1f} V, at which it may not put out its arc.",
                value=high.full_v,
                limit=duty.voltage_max_v,
                unit="V",
                basis=DATA_SHEET,
                caution=HV_CAUTION,
            )
        if duty.rating_a is not None and duty.carries_a is not None and duty.carries_a > duty.rating_a:
            yield Finding(
                rule="high_voltage.contact-carries",
                level="fix",
                about=(duty.ref,),
                text=f"{duty.ref} carries {duty.carries_a:.0f} A at the pack's continuous power; it is made for {duty.rating_a:g} A.",
                value=duty.carries_a,
                limit=duty.rating_a,
                unit="A",
                basis=DATA_SHEET,
                caution=HV_CAUTION,
            )
        # The contact of the pre-charge breaks no more than it makes, of which precharge_rules speaks.
        is_main = duty.role != "pre-charge"
        if is_main and duty.breaking_a is not None and duty.breaks_a is not None and duty.breaks_a > duty.breaking_a:
            yield Finding(
                rule="high_voltage.break-current",
                level="fix",
                about=(duty.ref,),
                text=f"Opened at full power {duty.ref} breaks {duty.breaks_a:.0f} A; it is made for {duty.breaking_a:g} A. A larger contactor, or less power.",
                value=duty.breaks_a,
                limit=duty.breaking_a,
                unit="A",
                basis=DATA_SHEET,
                caution=HV_CAUTION,
            )


def gap(high: HighVoltage) -> Iterator[Finding]:
    """There are currents that the contactors cannot break and for which the fuse takes its time."""
    found = [duty for duty in high.contacts if duty.is_gap and duty.breaks_a is not None]
    if not found:
        return
    worst = min(found, key=lambda duty: (duty.breaking_a or 0.0, duty.ref))
    yield Finding(
        rule="high_voltage.nobody-breaks",
        level="note",
        about=(*(duty.ref for duty in found), worst.fuse or ""),
        text=f"From {worst.breaking_a:g} A to {worst.fuse_a:.0f} A nobody breaks the current within {SOON_S:g} s: {worst.ref} is made for less, and {worst.fuse} takes longer. Let the controller hold the contactors closed there until the fuse has opened, or take a contactor that breaks more.",
        value=worst.fuse_a,
        limit=worst.breaking_a,
        unit="A",
        basis=NO_GAP,
        caution=HV_CAUTION,
    )


def fuses(conversion: Conversion, pack: Pack, high: HighVoltage) -> Iterator[Finding]:
    """A fuse that cannot put out the arc of the pack: too many volts, or more amperes than it breaks."""
    links = (*pack.links.values(), *(link for way in high.chain.ways for link in way.links))
    for ref in dict.fromkeys(elements_in(conversion, links, "fuse")):
        element = conversion.element[ref]
        if element.voltage_max_v is not None and high.full_v > element.voltage_max_v:
            yield Finding(
                rule="high_voltage.fuse-voltage",
                level="stop",
                about=(ref,),
                text=f"{ref} is made for {element.voltage_max_v:g} V d.c.; the full pack has {high.full_v:.1f} V, at which it may burn on instead of opening.",
                value=high.full_v,
                limit=element.voltage_max_v,
                unit="V",
                basis=DATA_SHEET,
                caution=HV_CAUTION,
            )
        most = [(fuse.most_a, short.at) for short in high.shorts for fuse in short.fuses if fuse.ref == ref]
        if element.breaking_a is not None and most and max(most)[0] > element.breaking_a:
            most_a, at = max(most)
            yield Finding(
                rule="high_voltage.fuse-breaking",
                level="stop",
                about=(ref,),
                text=f"A short at {at} drives up to {most_a:.0f} A through {ref}, which breaks {element.breaking_a:g} A: it may burst. Take a fuse that breaks more.",
                value=most_a,
                limit=element.breaking_a,
                unit="A",
                basis=DATA_SHEET,
                caution=HV_CAUTION,
            )


def cases(pack: Pack, high: HighVoltage) -> Iterator[Finding]:
    """A load case asks for more than the pack gives, a unit takes, or the modules take in charging."""
    least_charge_a = math.fsum(min(item.kind.charge_continuous_a for item in string.modules) for string in pack.strings)
    units = {way.unit.ref: way.unit for way in high.chain.ways}
    for case in high.cases:
        for what, power_kw, draws in (("", case.power_kw, case.steady), ("at its peak ", case.peak_kw, case.peak)):
            beyond = next(((state, draw) for state, draw in draws.items() if isinstance(draw, Failure)), None)
            if beyond is not None:
                state, failure = beyond
                yield Finding(
                    rule="high_voltage.case-beyond",
                    level="stop",
                    about=(case.case, state, *(ref.partition(" from ")[0] for ref in failure.about)),
                    text=f"Case {case.case} {what}asks for {power_kw:.1f} kW; {state}, the pack cannot give that. {failure.text}",
                    value=power_kw,
                    unit="kW",
                    basis=CIRCUIT,
                    caution=HV_CAUTION,
                )
                break
        nominal = case.steady["nominal"]
        if isinstance(nominal, Failure):
            continue
        for unit in nominal.units:
            limit_a = units[unit.ref].current_continuous_a
            if abs(unit.current_a) > limit_a:
                yield Finding(
                    rule="high_voltage.case-unit-current",
                    level="fix",
                    about=(case.case, unit.ref),
                    text=f"In case {case.case} {unit.ref} has {abs(unit.current_a):.1f} A at the pack's nominal volts; it takes {limit_a:g} A for good.",
                    value=abs(unit.current_a),
                    limit=limit_a,
                    unit="A",
                    basis=UNIT_SHEET,
                    caution=HV_CAUTION,
                )
        if -nominal.current_a > least_charge_a:
            yield Finding(
                rule="high_voltage.case-charge-current",
                level="stop",
                about=(case.case,),
                text=f"In case {case.case} {-nominal.current_a:.0f} A go into the pack at its nominal volts; its modules take {least_charge_a:g} A for good.",
                value=-nominal.current_a,
                limit=least_charge_a,
                unit="A",
                basis=MODULE_SHEET,
                caution=HV_CAUTION,
            )
