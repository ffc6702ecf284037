"""What can be wrong on the 12 V side: supply, volts, relays, ways back, drains."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, Basis, Finding, sentence
from halfshaft.studies.low_voltage.records import Leak, LowVoltage, Trouble
from halfshaft.studies.low_voltage.relay_rules import relay_findings
from halfshaft.studies.low_voltage.return_rules import return_findings

CATALOGUE = Basis("common practice", "the part's own facts in the catalogue")
# Less than this from the battery is what it gives while its volts and the converter's meet, not an overload.
OVERLOAD_A = 0.05
BATTERY_ALONE_MIN = 30.0
PARKED_DAYS = 14.0
PARKED_MA = 50.0
# What flows besides the listed loads is worth a line from this share of them.
UNLISTED_SHARE = 0.05
MA = 1000.0


def low_voltage_findings(conversion: Conversion, result: LowVoltage | None) -> Iterator[Finding]:
    """All rules of this study."""
    if result is None:
        return
    yield from no_answer(result)
    yield from load_cut(conversion, result)
    yield from supply_overloaded(result)
    yield from battery_short(conversion, result)
    yield from below_working_volts(conversion, result)
    yield from drain(result)
    yield from drain_unlisted(conversion, result)
    yield from fed_back(conversion, result)
    yield from relay_findings(conversion, result)
    yield from return_findings(conversion, result)


def no_answer(result: LowVoltage) -> Iterator[Finding]:
    """The network of a case has no state in which it rests: told once for each load and wire at fault, with all cases in which they are."""
    found: dict[tuple[str, ...], list[tuple[str, Trouble]]] = defaultdict(list)
    for case in result.cases:
        # At a start the same load can fall short of the same wire again: told once, as of the first moment.
        for trouble in {item.about: item for item in reversed(case.troubles)}.values():
            found[trouble.about].append((case.case, trouble))
    for about, told in found.items():
        moments = dict.fromkeys(trouble.moment for _, trouble in told)
        named = {moment: ", ".join(case for case, trouble in told if trouble.moment == moment) for moment in moments}
        cases = "; ".join(f"{refs} ({moment})" for moment, refs in named.items())
        yield Finding(
            rule="low_voltage.collapse",
            level="stop",
            about=(*(case for case, _ in told), *about),
            text=f"The 12 V side has no state in which it rests in the case{'s' if len(told) > 1 else ''} {cases}: {told[0][1].text}",
            basis=Basis("common practice", "Kirchhoff's laws over the wires, fuses and contacts as described"),
        )


def load_cut(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """A load is on in a case in which an open contact keeps it from its feed or its ground."""
    for case in result.cases:
        for cut in case.cut:
            if cut.contacts:
                yield Finding(
                    rule="low_voltage.load-cut",
                    level="fix",
                    about=(case.case, cut.load, *cut.contacts),
                    text=f"{sentence(conversion.load[cut.load].name)} ({cut.load}) is on in the case {case.case}, but {', '.join(cut.contacts)} {'is' if len(cut.contacts) == 1 else 'are'} open then: correct `case_contacts.csv` or `case_loads.csv`, or feed it otherwise.",
                    basis=COMMON_PRACTICE,
                )


def supply_overloaded(result: LowVoltage) -> Iterator[Finding]:
    """The converter cannot carry a case: on the average, so that the battery empties, or with all on at once."""
    for case in result.cases:
        if case.limit_a is None or case.mean is None or case.all is None:
            continue
        is_always = case.mean.battery_a > OVERLOAD_A
        shares = case.mean if is_always else case.all
        if shares.battery_a <= OVERLOAD_A:
            continue
        lasts = (
            f"it lasts {case.lasts or 'an unknown time'}; a larger converter or less running at once" if is_always else "for a while it can"
        )
        yield Finding(
            rule="low_voltage.supply-overloaded",
            level="fix" if is_always else "note",
            about=(case.case,),
            text=f"In the case {case.case} {'the average' if is_always else 'all at once'} is {shares.total_a:.1f} A; the converter gives {case.limit_a:g} A, so the battery adds {shares.battery_a:.1f} A: {lasts}.",
            value=shares.total_a,
            limit=case.limit_a,
            unit="A",
            basis=CATALOGUE,
        )


def battery_short(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """The battery alone carries a case, and not for long."""
    for case in result.cases:
        if case.stands or case.limit_a is not None or case.usable_h is None or case.mean is None:
            continue
        own_min = conversion.case[case.case].minutes
        limit_min = BATTERY_ALONE_MIN if own_min is None else own_min
        if 60 * case.usable_h < limit_min:
            basis = "the case's own minutes" if own_min is not None else "half an hour to a safe place or to a charger"
            yield Finding(
                rule="low_voltage.battery-short",
                level="note",
                about=(case.case,),
                text=f"In the case {case.case} the battery alone gives {case.mean.battery_a:.1f} A on the average and lasts {60 * case.usable_h:.0f} min to the end of its usable share: a larger battery, or less running.",
                value=60 * case.usable_h,
                limit=limit_min,
                unit="min",
                basis=Basis("common practice", basis),
            )


def below_working_volts(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """A load that says from which volts it works has less: in the case in which it has least."""
    worst: dict[str, tuple[float, str, str]] = {}
    for case in result.cases:
        for load in case.loads:
            moments = ((load.all_v, "all on at once"), (load.start_v, f"{case.starting} starting"))
            for volt, words in moments:
                if volt is not None and (load.load not in worst or volt < worst[load.load][0] - 1e-6):
                    worst[load.load] = (volt, case.case, words)
    for ref, (volt, case_ref, words) in sorted(worst.items()):
        element = conversion.element[ref]
        if element.kind == "load" and element.operate_min_v is not None and volt < element.operate_min_v:
            yield Finding(
                rule="low_voltage.below-working-volts",
                level="fix",
                about=(ref, case_ref),
                text=f"{sentence(conversion.load[ref].name)} ({ref}) has {volt:.1f} V in the case {case_ref} ({words}); it works from {element.operate_min_v:g} V: thicker or shorter wires, a stronger battery, or less at once.",
                value=volt,
                limit=element.operate_min_v,
                unit="V",
                basis=CATALOGUE,
            )


def drain(result: LowVoltage) -> Iterator[Finding]:
    """A parked car empties its battery too soon."""
    for case in result.cases:
        if not case.stands or case.mean is None or case.half_h is None:
            continue
        days, drawn_ma = case.half_h / 24, case.mean.battery_a * MA
        is_days = days < PARKED_DAYS
        if is_days or drawn_ma > PARKED_MA:
            largest = sorted((load for load in case.loads if load.mean_a), key=lambda load: (-(load.mean_a or 0.0), load.load))[:3]
            named = ", ".join(f"{load.load} {(load.mean_a or 0.0) * MA:.1f} mA" for load in largest)
            yield Finding(
                rule="low_voltage.drain",
                level="fix",
                about=(case.case, *(load.load for load in largest)),
                text=f"In the case {case.case} {drawn_ma:.1f} mA flow, and half of the battery lasts {days:.0f} days; most takes {named}: switch it off, or put it behind a contact.",
                value=days if is_days else drawn_ma,
                limit=PARKED_DAYS if is_days else PARKED_MA,
                unit="days" if is_days else "mA",
                basis=Basis(
                    "common practice", "two weeks to half charge" if is_days else "50 mA is what workshops let pass in a parked car"
                ),
            )


def drain_unlisted(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """More flows in a parked car than its listed loads take: units that the case leaves out, resistors on live wires."""
    for case in result.cases:
        leaks = [leak for leak in case.leaks if leak.kind != "fed back"]
        if not case.stands or case.mean is None or not leaks:
            continue
        extra_a = case.mean.battery_a - case.asked_mean_a + sum(leak.current_a for leak in leaks if leak.kind == "unlisted")
        if extra_a <= UNLISTED_SHARE * case.asked_mean_a:
            continue
        named = ", ".join(f"{leak.ref} {leak.current_a * MA:.1f} mA at {leak.pin}" for leak in leaks)
        yield Finding(
            rule="low_voltage.drain-unlisted",
            level="note",
            about=(case.case, *(leak.ref for leak in leaks)),
            text=f"In the case {case.case} the listed loads take {case.asked_mean_a * MA:.1f} mA, but {extra_a * MA:.1f} mA more flow on wires that are live then: {named}.",
            value=extra_a * MA,
            limit=UNLISTED_SHARE * case.asked_mean_a * MA,
            unit="mA",
            basis=Basis("common practice", "more than a twentieth of what is listed"),
        )


def fed_back(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """A unit whose feed is open in a case gets volts by another way."""
    cases: dict[str, list[str]] = defaultdict(list)
    worst: dict[str, Leak] = {}
    for case in result.cases:
        for leak in case.leaks:
            if leak.kind == "fed back":
                cases[leak.pin].append(case.case)
                if leak.pin not in worst or leak.volt > worst[leak.pin].volt + 1e-6:
                    worst[leak.pin] = leak
    for pin, leak in sorted(worst.items()):
        yield Finding(
            rule="low_voltage.fed-back",
            level="fix",
            about=(pin, leak.ref),
            text=f"Pin {pin}, which feeds {conversion.load[leak.ref].name}, should be dead in {', '.join(cases[pin])}, but has {leak.volt:.1f} V through resistors, diodes or coils, with {leak.current_a * MA:.1f} mA flowing into it: it is half on. Cut that way with a diode or a contact.",
            value=leak.volt,
            limit=1.0,
            unit="V",
            basis=Basis("common practice", "what is off has no volts"),
        )
