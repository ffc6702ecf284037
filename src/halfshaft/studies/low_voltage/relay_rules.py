"""What can be wrong with relays, switches and coils."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding
from halfshaft.studies.low_voltage.records import LowVoltage

CATALOGUE = Basis("common practice", "the part's own facts in the catalogue")
ROUNDING_A = 1e-6


def relay_findings(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """All rules about contacts and coils."""
    yield from contact_over_rating(result)
    yield from contact_start(result)
    yield from pull_in(result)
    yield from feeds_own_coil(result)
    yield from coil_unsuppressed(conversion, result)


def contact_over_rating(result: LowVoltage) -> Iterator[Finding]:
    """A contact carries more than it is made for."""
    for use in result.contacts:
        if use.rating_a is not None and use.current_a > use.rating_a + ROUNDING_A:
            yield Finding(
                rule="low_voltage.contact-over-rating",
                level="fix",
                about=(use.ref, use.case),
                text=f"Contact {use.ref} carries {use.current_a:.1f} A in the case {use.case}; it is made for {use.rating_a:g} A: a larger one, or a relay that carries the load for it.",
                value=use.current_a,
                limit=use.rating_a,
                unit="A",
                basis=CATALOGUE,
                caution="A contact that carries too much grows hot and may weld: then the load stays on.",
            )


def contact_start(result: LowVoltage) -> Iterator[Finding]:
    """A relay's contact closes on a start that is more than it makes, or than its rating where nothing is said of that."""
    for use in result.contacts:
        limit_a = use.makes_a if use.makes_a is not None else use.rating_a if use.is_relay else None
        is_over_rating = use.rating_a is not None and use.current_a > use.rating_a + ROUNDING_A
        if limit_a is not None and not is_over_rating and use.start_a > limit_a + ROUNDING_A:
            yield Finding(
                rule="low_voltage.contact-start",
                level="note",
                about=(use.ref, *([use.starting] if use.starting else [])),
                text=f"As {use.starting} starts, contact {use.ref} carries {use.start_a:.1f} A; {'it makes' if use.makes_a is not None else 'it is made for'} {limit_a:g} A{'' if use.makes_a is not None else ', and nothing says what it makes'}: it may weld, so ask its maker.",
                value=use.start_a,
                limit=limit_a,
                unit="A",
                basis=CATALOGUE
                if use.makes_a is not None
                else Basis("from memory", "relay makers give starts of lamps and motors a limit of their own, often above the rating"),
            )


def pull_in(result: LowVoltage) -> Iterator[Finding]:
    """A coil has less than it pulls in with."""
    for coil in result.pull_ins:
        if coil.volt is not None and coil.operate_min_v is not None and coil.volt < coil.operate_min_v:
            yield Finding(
                rule="low_voltage.pull-in",
                level="fix",
                about=(coil.coil, coil.case or ""),
                text=f"{coil.coil} has {coil.volt:.1f} V as it pulls in, in the case {coil.case}; it needs {coil.operate_min_v:g} V: thicker wires, a feed nearer to the battery, or less on at that moment.",
                value=coil.volt,
                limit=coil.operate_min_v,
                unit="V",
                basis=CATALOGUE,
            )


def feeds_own_coil(result: LowVoltage) -> Iterator[Finding]:
    """A coil's only feed passes a contact that it must close itself."""
    for coil in result.pull_ins:
        if coil.own_contact is not None:
            yield Finding(
                rule="low_voltage.feeds-own-coil",
                level="stop",
                about=(coil.coil, coil.own_contact),
                text=f"{coil.coil} is fed only through {coil.own_contact}, which it must close itself: it never pulls in. Feed it from before that contact.",
                basis=Basis("common practice", "traced from the battery over everything that conducts"),
            )


def coil_unsuppressed(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """Nothing takes up the volts that a coil makes as it lets go."""
    bare = [coil.coil for coil in result.pull_ins if not coil.suppressed_by]
    if bare:
        yield Finding(
            rule="low_voltage.coil-unsuppressed",
            level="note",
            about=tuple(bare),
            text=f"Nothing takes up the volts that these make as they let go: {', '.join(bare)}. They reach some hundred volts and kill outputs: a resistor or diode across the coil, or say in `suppressed_by` what does it.",
            value=float(len(bare)),
            limit=0.0,
            unit="coils",
            basis=Basis("common practice", "every coil that electronics switch has a resistor or diode across it"),
        )
