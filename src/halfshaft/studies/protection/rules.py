"""What can be wrong with how fuses protect."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published, sentence
from halfshaft.standards import constants
from halfshaft.studies.cable.choices import OVERLOAD_K
from halfshaft.studies.cable.heat import body
from halfshaft.studies.cable.rules import SURE
from halfshaft.studies.cable.study import ADIABATIC_UP_TO_S
from halfshaft.studies.protection.bands import Band, Staircase
from halfshaft.studies.protection.bearing import Bearing, overload_for_hours_k
from halfshaft.studies.protection.records import FuseGuard, Protection, Series, WireGuard
from halfshaft.studies.protection.words import seconds as seconds_words
from halfshaft.studies.wires.current_rules import FIRE_CAUTION, ROUNDING

OVERLOAD = Basis("from memory", "ISO 6722-1: 240 h at 25 K above the class, 6 h at 50 K; heat balance of docs/cables.md")
SHORT = published("IEC 60949, IEC 60364-5-54 annex A: I2t against k2 S2, begun at the insulation's class")
BLADES = ("mini blade", "regular blade", "maxi blade")


def protection_findings(conversion: Conversion, found: Protection, said_too_big: frozenset[tuple[str, ...]]) -> Iterator[Finding]:
    """All rules of this study. `said_too_big`: wires with fuses of which the tables say already that the wire is too thin."""
    bands = {fuse.ref: fuse.band for fuse in found.fuses}
    for wire in found.wires:
        band = bands.get(wire.fuse)
        if band is None:
            continue
        if (wire.ref, wire.fuse) not in said_too_big:
            yield from wire_short(conversion, wire, band)
            yield from wire_overload(conversion, wire, band)
    for fuse in found.fuses:
        yield from opens_late(fuse)
        yield from start_opens(conversion, fuse)
        yield from hot_air(conversion, fuse)
        yield from breaking(fuse)
        yield from on_high_voltage(fuse)
    yield from not_selective(found)
    yield from in_ground(found)


def wire_short(conversion: Conversion, wire: WireGuard, band: Band) -> Iterator[Finding]:
    """A short circuit is over too late for the wire's copper."""
    lasts = [(current_a, seconds) for current_a, seconds in band.lasts(wire.most_a) if seconds <= ADIABATIC_UP_TO_S]
    slowest_a = band.opens_within_a(ADIABATIC_UP_TO_S)
    lasts += [(slowest_a, band.latest_s(slowest_a))] if slowest_a <= wire.most_a else []
    if not lasts:
        return

    def bears(bearing: Bearing) -> bool:
        return all(seconds <= bearing.short_s(current_a) * (1 + ROUNDING) for current_a, seconds in lasts)

    current_a, seconds = max(lasts, key=lambda item: item[0] ** 2 * item[1])
    bears_s = wire.bearing.short_s(current_a)
    if bears(wire.bearing):
        return
    yield Finding(
        rule="protection.wire-short",
        level="stop",
        about=(wire.ref, wire.fuse),
        text=f"{sentence(_name(wire))} bears {current_a:.0f} A for {seconds_words(bears_s)}; {wire.fuse} of {wire.rating_a:g} A may take {seconds_words(seconds)} to open{_enough(conversion, wire, bears)}.",
        value=current_a**2 * seconds,
        limit=current_a**2 * bears_s,
        unit="A²s",
        basis=SHORT,
        caution=_caution(wire),
    )


def wire_overload(conversion: Conversion, wire: WireGuard, band: Band) -> Iterator[Finding]:
    """A fuse carries more, for good or for minutes, than the wire bears where it is worst off.

    Said only where no error of the heat balance explains it. A cartridge for high voltage is there for short circuits: of it
    the rating alone counts.
    """
    stands = [(band.held_a, math.inf, overload_for_hours_k())]
    if not wire.is_high_voltage:
        stands.append((band.opens_from_a, math.inf, OVERLOAD_K))
        stands += [(a, s, OVERLOAD_K) for a, s in band.lasts(wire.most_a) if s > ADIABATIC_UP_TO_S]

    def bears(bearing: Bearing) -> bool:
        return all(
            a / SURE <= bearing.for_good_a(over_k) + ROUNDING or s <= bearing.overload_s(a / SURE) < math.inf for a, s, over_k in stands
        )

    if wire.short_only or bears(wire.bearing):
        return
    bearing = wire.bearing
    current_a, seconds, over_k = max(stands, key=lambda item: bearing.reaches_c(item[0], item[1]) - item[2])
    reaches_c = bearing.reaches_c(current_a, seconds)
    hot = f"{reaches_c:.0f} °C" if reaches_c < 500 else "more than 500 °C"
    how_long = "for good" if math.isinf(seconds) else f"for {seconds_words(seconds)}"
    yield Finding(
        rule="protection.wire-overload",
        level="fix",
        about=(wire.ref, wire.fuse),
        text=f"{wire.fuse} of {wire.rating_a:g} A may carry {current_a:.0f} A {how_long}; that takes {_name(wire)} to {hot} where it is worst off, and its insulation stands {bearing.limit_c + over_k:g} °C for so long{_enough(conversion, wire, bears)}.",
        value=reaches_c,
        limit=bearing.limit_c + over_k,
        unit="°C",
        basis=OVERLOAD,
        caution=_caution(wire),
    )


def opens_late(fuse: FuseGuard) -> Iterator[Finding]:
    """The smallest short behind a fuse is so small that it takes its time, or never opens."""
    within = constants()["short_clears_within_s"]
    if fuse.band is None or fuse.opens is None or fuse.opens.latest_s <= within.value:
        return
    needed_a = fuse.band.opens_within_a(within.value)
    latest = "need never open" if math.isinf(fuse.opens.latest_s) else f"may take {seconds_words(fuse.opens.latest_s)}"
    where = "inside" if fuse.least_at in fuse.loads else "at the far end of"
    yield Finding(
        rule="protection.opens-late",
        level="fix",
        about=(fuse.ref, fuse.least_at),
        text=f"A short {where} {fuse.least_at} drives {fuse.opens.current_a:.0f} A through {fuse.ref} of {fuse.rating_a:g} A, which then {latest}; within {within.value:g} s it opens from {needed_a:.0f} A. Take thicker or shorter wires there, or a smaller fuse.",
        value=fuse.opens.current_a,
        limit=needed_a,
        unit="A",
        basis=Basis("from memory", within.source),
        caution=HV_CAUTION if fuse.is_high_voltage else FIRE_CAUTION,
    )


def start_opens(conversion: Conversion, fuse: FuseGuard) -> Iterator[Finding]:
    """A load takes more as it starts, for longer, than the fuse is sure to hold."""
    if fuse.band is None:
        return
    for start in fuse.starts:
        if start.seconds > start.earliest_s:
            yield Finding(
                rule="protection.start-opens",
                level="note",
                about=(fuse.ref, start.load),
                text=f"As {conversion.load[start.load].name} starts, {fuse.ref} of {fuse.rating_a:g} A carries {start.current_a:.0f} A for {seconds_words(start.seconds)}; it is sure to hold that for {seconds_words(start.earliest_s)} only. {_sure_to_hold(fuse)}",
                value=start.seconds,
                limit=start.earliest_s,
                unit="s",
                basis=fuse.band.basis,
            )


def _sure_to_hold(fuse: FuseGuard) -> str:
    if isinstance(fuse.band, Staircase):
        return "Most fuses hold it longer: write its maker's points into fuse_points.csv, or take a larger one with the wire for it."
    return "Take a slower or larger one with the wire for it."


def hot_air(conversion: Conversion, fuse: FuseGuard) -> Iterator[Finding]:
    """Hot air takes a share of the rating, and what is left is too little for what the fuse carries for good."""
    current_a, share = fuse.hot_a, conversion.shop.fuse_load_share_max
    limit_a = share * fuse.factor * fuse.rating_a
    # Beyond its share without any heat wires.fuse-too-small speaks.
    if (
        not fuse.rating_a
        or fuse.ambient_c is None
        or not limit_a + ROUNDING < current_a
        or (not fuse.is_high_voltage and current_a > share * fuse.rating_a + ROUNDING)
    ):
        return
    basis = (
        published(f"{constants()['cartridge_hottest_c'].source}; shop setting: {100 * share:.0f} %")
        if fuse.is_high_voltage
        else Basis("from memory", f"{constants()['fuse_per_kelvin'].source}; shop setting: {100 * share:.0f} %")
    )
    yield Finding(
        rule="protection.hot-air",
        level="note",
        about=(fuse.ref,),
        text=f"In air of {fuse.ambient_c:g} °C {fuse.ref} of {fuse.rating_a:g} A is worth {fuse.factor * fuse.rating_a:.1f} A, of which {100 * share:.0f} % are {limit_a:.1f} A; it carries {current_a:.1f} A ({fuse.case}), and may age and open with nothing wrong. Take the next rating if its wires bear that, or a cooler place.",
        value=current_a,
        limit=limit_a,
        unit="A",
        basis=basis,
        caution=HV_CAUTION if fuse.is_high_voltage else "",
    )


def breaking(fuse: FuseGuard) -> Iterator[Finding]:
    """A short right behind a fuse is more than it can break. Of high voltage high_voltage.fuse-breaking speaks."""
    blade = constants()["fuse_breaking_a"]
    is_blade = fuse.family in BLADES
    limit_a = fuse.breaking_a if fuse.breaking_a is not None else blade.value if is_blade else None
    if fuse.is_high_voltage or limit_a is None or fuse.most_a is None or fuse.most_a <= limit_a:
        return
    yield Finding(
        rule="protection.breaking",
        level="stop",
        about=(fuse.ref,),
        text=f"A short right behind {fuse.ref} drives up to {fuse.most_a:.0f} A through it, and it breaks {limit_a:g} A: it may burn on. Put a fuse that breaks more ahead of it or in its place.",
        value=fuse.most_a,
        limit=limit_a,
        unit="A",
        basis=published("the fuse's data sheet, in parts/*.toml" if fuse.breaking_a is not None else blade.source),
        caution=FIRE_CAUTION,
    )


def on_high_voltage(fuse: FuseGuard) -> Iterator[Finding]:
    """A blade fuse, or one without a rating, on the high-voltage side."""
    if not fuse.is_high_voltage:
        return
    if fuse.family in (*BLADES, "strip"):
        yield Finding(
            rule="protection.blade-on-high-voltage",
            level="stop",
            about=(fuse.ref,),
            text=f"{fuse.ref} is a {fuse.family} fuse on the high-voltage side: it is made for 32 V or 58 V and burns on there. Take a cartridge for the pack's full volts.",
            basis=published("ISO 8820-3, scope: 32 V or 58 V"),
            caution=HV_CAUTION,
        )
    if not fuse.rating_a:
        yield Finding(
            rule="protection.fuse-unrated",
            level="stop",
            about=(fuse.ref,),
            text=f"High-voltage fuse {fuse.ref} has no rating in the catalogue, so nothing behind it is judged.",
            basis=Basis("common practice", "a fuse is known by its amperes"),
            caution=HV_CAUTION,
        )


def not_selective(found: Protection) -> Iterator[Finding]:
    """A fuse that may open before the one behind it, at a short behind both."""
    behind: dict[str, list[Series]] = {}
    for item in found.series:
        if item.not_from_a is not None:
            behind.setdefault(item.before, []).append(item)
    for before, pairs in behind.items():
        words = ", ".join(f"{item.after} (from {item.not_from_a:.0f} A)" for item in pairs)
        yield Finding(
            rule="protection.not-selective",
            level="note",
            about=(before, *(item.after for item in pairs)),
            text=f"At a short behind {words} the fuse ahead, {before}, may open as well, or instead, and all else that hangs on it stops.",
            value=float(len(pairs)),
            limit=0.0,
            unit="fuses",
            basis=Basis(
                "from memory", "earliest opening of the one against the latest of the other, by fuse_times.csv and fuse_points.csv"
            ),
        )


def in_ground(found: Protection) -> Iterator[Finding]:
    """A fuse on the way back to the battery."""
    for fuse, loads in found.in_ground:
        yield Finding(
            rule="protection.fuse-in-ground",
            level="fix",
            about=(fuse, *loads),
            text=f"{fuse} stands in the way back of {', '.join(loads)}: when it opens, they are live to the body and find other ways back. Fuse the plus side only.",
            basis=Basis("common practice", "fuses stand in the plus side, near the source"),
        )


def _enough(conversion: Conversion, wire: WireGuard, bears: Callable[[Bearing], bool]) -> str:
    """The next section of the shop's list that would do."""
    if wire.is_high_voltage:
        return ""
    for kind in sorted(conversion.wire_types, key=lambda item: item.section_mm2):
        made = body(section_mm2=kind.section_mm2, outside_mm=kind.outside_diameter_mm, resistance_mohm_per_m=kind.resistance_mohm_per_m)
        if kind.section_mm2 > wire.section_mm2 and bears(wire.bearing.thicker(made)):
            return f"; {kind.section_mm2:g} mm² would bear it, or take a smaller or faster fuse"
    return "; take a smaller or faster fuse"


def _name(wire: WireGuard) -> str:
    return f"{'cable' if wire.is_high_voltage else 'wire'} {wire.ref} of {wire.section_mm2:g} mm²"


def _caution(wire: WireGuard) -> str:
    return HV_CAUTION if wire.is_high_voltage else FIRE_CAUTION
