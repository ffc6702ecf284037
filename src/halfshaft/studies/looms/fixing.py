"""How looms and cables are held in the car, and how they pass its panels."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published
from halfshaft.standards import constants
from halfshaft.studies.basis import shop_basis
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.looms.uses import RunUse, some, uses_of

# Cables up to this section are held closer (loom practice J6).
THIN_MM2 = 16.0


def fixing_findings(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """All rules of this module."""
    uses = uses_of(conversion, routing)
    yield from clip_pitch(conversion, routing, uses)
    yield from thin_cable_pitch(conversion, routing, uses)
    yield from long_tail(conversion, routing)
    yield from no_grommet(conversion, uses)
    yield from open_crossing(conversion, uses)


def _pitch_mm(conversion: Conversion, routing: Routing, run: str) -> float:
    """Between two fixings of a run: both its points hold it, and the clips between them."""
    return routing.run_lengths[run].length_mm / (conversion.run[run].clips_between + 1)


def clip_pitch(conversion: Conversion, routing: Routing, uses: dict[str, RunUse]) -> Iterator[Finding]:
    """A run with a loom or a cable is held too seldom."""
    limit_mm = conversion.shop.clip_pitch_max_mm
    for use in uses.values():
        pitch_mm = _pitch_mm(conversion, routing, use.run)
        if use.is_wired and pitch_mm > limit_mm:
            yield Finding(
                rule="looms.clip-pitch",
                level="fix",
                about=(use.run,),
                text=f"Run {use.run} ({some((*use.looms, *use.high))}) is held every {pitch_mm:.0f} mm; {limit_mm:g} mm is the most: {_clips(conversion, routing, use.run, limit_mm)}.",
                value=pitch_mm,
                limit=limit_mm,
                unit="mm",
                basis=shop_basis(limit_mm, "clip_pitch_max_mm"),
                caution=HV_CAUTION if use.high else "",
            )


def _clips(conversion: Conversion, routing: Routing, run: str, limit_mm: float) -> str:
    """How many clips between its points a run wants."""
    wanted = 0
    while routing.run_lengths[run].length_mm / (wanted + 1) > limit_mm:
        wanted += 1
    return f"put {wanted} clip{'s' if wanted > 1 else ''} between its points"


def thin_cable_pitch(conversion: Conversion, routing: Routing, uses: dict[str, RunUse]) -> Iterator[Finding]:
    """Runs with nothing but thin high-voltage cables are held less often than one source asks."""
    constant = constants()["thin_hv_clip_pitch_max_mm"]
    section_mm2 = {cable.ref: conversion.cable_type[cable.cable_type].section_mm2 for cable in conversion.cables}
    pitches = {
        use.run: pitch
        for use in uses.values()
        if use.high and not use.looms and all(section_mm2.get(ref, THIN_MM2) <= THIN_MM2 for ref in use.high)
        if constant.value < (pitch := _pitch_mm(conversion, routing, use.run)) <= conversion.shop.clip_pitch_max_mm
    }
    if pitches:
        yield Finding(
            rule="looms.clip-pitch",
            level="note",
            about=tuple(pitches),
            text=f"One source holds high-voltage cable of up to {THIN_MM2:g} mm² every {constant.value:g} mm; here it is held less often: {', '.join(f'{run} {pitch:.0f} mm' for run, pitch in pitches.items())}.",
            value=max(pitches.values()),
            limit=constant.value,
            unit="mm",
            basis=published(constant.source),
            caution=HV_CAUTION,
        )


def long_tail(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """A connector hangs further from its route point than the first fixing behind it should be."""
    constant = constants()["first_fixing_max_mm"]
    used = {tail.connector for laid in routing.looms for tail in laid.tails}
    used |= {connector for laid in routing.cables for connector in (laid.cable.from_connector, laid.cable.to_connector)}
    long = {
        f"{tail.device}.{tail.connector}": tail.tail_mm
        for tail in conversion.tails
        if tail.tail_mm > constant.value and f"{tail.device}.{tail.connector}" in used
    }
    if long:
        yield Finding(
            rule="looms.long-tail",
            level="note",
            about=tuple(long),
            text=f"The first fixing behind a connector is best within {constant.value:g} mm; further off: {', '.join(f'{ref} {tail:.0f} mm' for ref, tail in long.items())}.",
            value=max(long.values()),
            limit=constant.value,
            unit="mm",
            basis=published(constant.source),
        )


def no_grommet(conversion: Conversion, uses: dict[str, RunUse]) -> Iterator[Finding]:
    """A route point is a hole in a panel, something passes it, and nothing protects it there."""
    fitted = {grommet.point for grommet in conversion.grommets}
    passing: dict[str, dict[str, None]] = defaultdict(dict)
    for use in uses.values():
        run = conversion.run[use.run]
        for ref in (run.from_point, run.to_point):
            passing[ref].update(dict.fromkeys(use.all))
    for point in conversion.points:
        if point.kind == "grommet" and point.ref not in fitted and point.ref in passing:
            yield Finding(
                rule="looms.no-grommet",
                level="fix",
                about=(point.ref,),
                text=f"{point.ref} ({point.name}) is a hole in a panel for {some(list(passing[point.ref]))}, but no grommet is listed there: give it a line in grommets.csv.",
                basis=Basis("common practice", "what passes a panel wants a grommet, a gland or edging"),
            )


def open_crossing(conversion: Conversion, uses: dict[str, RunUse]) -> Iterator[Finding]:
    """Runs go from one zone into another, and no grommet is listed for them. Whether there is a panel, the zones do not say."""
    guarded = {ref for grommet in conversion.grommets for ref in (grommet.point, grommet.run) if ref}
    guarded |= {point.ref for point in conversion.points if point.kind == "grommet"}
    between: dict[tuple[str, str], list[str]] = defaultdict(list)
    for use in uses.values():
        run = conversion.run[use.run]
        zones = sorted({zone for ref in (run.from_point, run.to_point) if (zone := conversion.point[ref].zone)})
        if len(zones) == 2 and guarded.isdisjoint((use.run, run.from_point, run.to_point)):
            between[zones[0], zones[1]].append(use.run)
    for (one, other), runs in sorted(between.items()):
        yield Finding(
            rule="looms.no-grommet",
            level="note",
            about=tuple(runs),
            text=f"From {one} to {other} {some(runs)} {'pass' if len(runs) > 1 else 'passes'} without a grommet or edging in grommets.csv: list it if a panel parts the two.",
            basis=Basis("common practice", "what passes a panel wants a grommet, a gland or edging"),
        )
