"""What can be wrong with the bars: what they join, how long they are, what lies bare beside what."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published
from halfshaft.studies.pack.apart import INSULATION, near_studs
from halfshaft.studies.pack.bars import Bar
from halfshaft.studies.pack.study import Pack

TOLERANCE_MM, MOST_OVER_MM = 1.0, 15.0
DESCRIBED_ORDER = Basis("common practice", "minus of each module to plus of the next, by the modules' numbers in the string")
SHORT_CAUTION = "A shorted module burns and throws metal: nothing is fitted until the description is right. " + HV_CAUTION

# String, place in it from 0, and pole of a stud.
Place = tuple[int, int, str]


def bar_findings(conversion: Conversion, pack: Pack | None) -> Iterator[Finding]:
    """All rules of this study."""
    if pack is None:
        return
    places = {
        f"{item.ref}.{pole}": (string.number, index, pole)
        for string in pack.strings
        for index, item in enumerate(string.modules)
        for pole in "PN"
    }
    last = {string.number: len(string.modules) - 1 for string in pack.strings}
    yield from shorted(pack)
    for bar in pack.bars:
        if not bar.is_proposed:
            yield from joins_wrongly(bar, places, last)
            yield from wrong_length(bar)
    if conversion.busbars:
        yield from join_missing(pack)
    yield from too_close(pack)


def shorted(pack: Pack) -> Iterator[Finding]:
    """Bars, cables and closed contacts make a loop in which the volts of modules do not cancel."""
    for short in pack.shorts:
        through = f" Look at {', '.join(short.bars)}." if short.bars else ""
        yield Finding(
            rule="pack.bar-short-circuit",
            level="stop",
            about=(short.module, *short.bars),
            text=f"What is joined to {short.module} closes a loop in which {short.volts:.1f} V drive current through copper alone.{through}",
            value=short.volts,
            limit=0.0,
            unit="V",
            basis=published("Kirchhoff's voltage law: round any loop the volts cancel, or current flows"),
            caution=SHORT_CAUTION,
        )


def joins_wrongly(bar: Bar, places: dict[str, Place], last: dict[int, int]) -> Iterator[Finding]:
    """A bar between two modules joins like poles, or modules that do not follow each other."""
    one, other = places.get(bar.start), places.get(bar.end)
    if one is None or other is None or one[:2] == other[:2]:
        return
    if one[2] == other[2]:
        ends = [place[1] == (0 if place[2] == "P" else last[place[0]]) for place in (one, other)]
        if one[0] != other[0] and all(ends):
            return  # Strings side by side are joined at their ends, plus to plus and minus to minus.
        yield Finding(
            rule="pack.bar-wrong-poles",
            level="stop",
            about=(bar.ref,),
            text=f"Bar {bar.ref} joins {bar.start} to {bar.end}: two {'plus' if one[2] == 'P' else 'minus'} poles. The modules would work against each other.",
            basis=DESCRIBED_ORDER,
            caution=SHORT_CAUTION,
        )
        return
    minus, plus = (one, other) if one[2] == "N" else (other, one)
    if (minus[0], minus[1] + 1) != plus[:2]:
        yield Finding(
            rule="pack.bar-not-next",
            level="fix",
            about=(bar.ref,),
            text=f"Bar {bar.ref} joins {bar.start} to {bar.end}, which do not follow each other in a string. Correct the bar, or the modules' numbers.",
            basis=DESCRIBED_ORDER,
            caution=SHORT_CAUTION,
        )


def wrong_length(bar: Bar) -> Iterator[Finding]:
    """A bar between two studs does not reach, ends too near its holes, or is longer than it needs to be."""
    if bar.apart_mm is None or bar.needed_mm is None or bar.length_mm is None:
        return
    basis = Basis(
        "common practice",
        f"distance of the studs, and {bar.needed_mm - bar.apart_mm:g} mm over both ends for a bar {bar.wide_mm:g} mm wide",
    )
    if bar.length_mm < bar.needed_mm - TOLERANCE_MM:
        is_short = bar.length_mm < bar.apart_mm
        words = "does not reach" if is_short else "ends too near its holes"
        yield Finding(
            rule="pack.bar-too-short",
            level="stop" if is_short else "fix",
            about=(bar.ref,),
            text=f"Bar {bar.ref} is {bar.length_mm:g} mm long and {words}: {bar.start} and {bar.end} are {bar.apart_mm:.0f} mm apart, so it wants {bar.needed_mm:.0f} mm.",
            value=bar.length_mm,
            limit=bar.needed_mm,
            unit="mm",
            basis=basis,
            caution=HV_CAUTION,
        )
    elif bar.length_mm > bar.needed_mm + MOST_OVER_MM:
        yield Finding(
            rule="pack.bar-too-long",
            level="note",
            about=(bar.ref,),
            text=f"Bar {bar.ref} is {bar.length_mm:g} mm long; straight from {bar.start} to {bar.end} it would be {bar.needed_mm:.0f} mm. If it goes round something, its note may say so.",
            value=bar.length_mm,
            limit=bar.needed_mm + MOST_OVER_MM,
            unit="mm",
            basis=basis,
            caution=HV_CAUTION,
        )


def join_missing(pack: Pack) -> Iterator[Finding]:
    """Nothing described leads from a module to the next, or from an end of the string to the pack's plug."""
    for string in pack.strings:
        for join in string.joins:
            if join.start and join.links is None:
                yield Finding(
                    rule="pack.join-missing",
                    level="fix",
                    about=(join.start, join.end),
                    text=f"No bar or cable leads from {join.start} to {join.end}: string {string.number} is open there.",
                    basis=DESCRIBED_ORDER,
                    caution=HV_CAUTION,
                )


def too_close(pack: Pack) -> Iterator[Finding]:
    """Bare copper of different potential in one box stands closer than it may."""
    for near in near_studs(pack):
        if near.is_proposed:
            words = f"{near.one}, which is only proposed, would come straight within {near.gap_mm:.1f} mm of {near.stud}"
            remedy = " Lead it round, or insulate it, and describe it in busbars.csv."
        else:
            words, remedy = f"{near.one} comes within {near.gap_mm:.1f} mm of {near.stud}", ""
        yield Finding(
            rule="pack.studs-close",
            level="fix" if near.is_proposed else "stop",
            about=(near.one, near.stud),
            text=f"In {near.box} {words}, with up to {near.volts:.1f} V between them; bare, {near.least_mm:g} mm are wanted.{remedy}",
            value=near.gap_mm,
            limit=near.least_mm,
            unit="mm",
            basis=INSULATION,
            caution=HV_CAUTION,
        )
