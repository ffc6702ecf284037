"""What can be wrong with sections, voltage drops and fuses."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding, published, sentence
from halfshaft.standards import fuse_colours, fuse_wire_pairs, table, thin_wall_currents
from halfshaft.studies.wires.study import Drop, FuseUse, WiresResult, WireUse

FIRE_CAUTION = "A wire that its fuse does not protect can burn a car; qualified people and local rules decide."
# What a whole number of tenths cannot tell apart from the limit is on the limit.
ROUNDING = 1e-9


def current_findings(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """All rules about what the wires carry."""
    yield from section_too_small(conversion, result)
    yield from voltage_drop(conversion, result)
    yield from unfused(conversion, result)
    yield from fuse_too_big(conversion, result)
    yield from fuse_unrated(conversion, result)
    yield from fuse_too_small(conversion, result)


def section_too_small(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A wire carries more than wire of its section is sold for; of sections that the table lacks, only the names."""
    currents = thin_wall_currents()
    source = table("thin_wall_currents")[0]["source"]
    unjudged = []
    for use in result.uses.values():
        section = conversion.wire[use.wire].section_mm2
        if section not in currents and use.current_a:
            unjudged.append(use.wire)
        if section in currents and use.current_a > currents[section] + ROUNDING:
            enough = next((size for size in sorted(currents) if currents[size] >= use.current_a), None)
            cure = f"; {enough:g} mm² would carry it" if enough else ""
            yield Finding(
                rule="wires.section-too-small",
                level="stop",
                about=(use.wire,),
                text=f"Wire {use.wire} of {section:g} mm² carries {use.current_a:.1f} A in the case {use.case}; that section carries {currents[section]:g} A{cure}.",
                value=use.current_a,
                limit=currents[section],
                unit="A",
                basis=published(source),
                caution=FIRE_CAUTION,
            )
    if unjudged:
        yield Finding(
            rule="wires.section-beyond-table",
            level="note",
            about=tuple(unjudged),
            text=f"The table of currents has no such section, so these are held against their fuse only: {', '.join(unjudged)}.",
            value=float(len(unjudged)),
            limit=0.0,
            unit="wires",
            basis=published(source),
        )


def voltage_drop(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """Too much voltage is lost in the supply and ground wires of a load."""
    limit = conversion.shop.voltage_drop_max_percent
    for drop in result.drops:
        if drop.drop_percent > limit + ROUNDING:
            yield Finding(
                rule="wires.voltage-drop",
                level="fix",
                about=(drop.load, *drop.wires),
                text=f"{sentence(conversion.load[drop.load].name)} loses {drop.drop_v:.2f} V in {', '.join(drop.wires)} ({drop.length_m:.1f} m, case {drop.case}): {drop.drop_percent:.1f} % of {conversion.supply.voltage_v:g} V, {drop.hot_drop_percent:.1f} % when hot{_cure(conversion, drop)}.",
                value=drop.drop_percent,
                limit=limit,
                unit="% of supply",
                basis=Basis("common practice", f"shop setting; copper alone at {conversion.shop.drop_temperature_c:g} C, behind the fuse"),
            )


def _cure(conversion: Conversion, drop: Drop) -> str:
    """The next thicker section for the thinnest of the wires, each with its own current, and the drop that it would leave."""
    sections = [conversion.wire[ref].section_mm2 for ref in drop.wires]
    thicker = sorted(size for size in conversion.wire_type if size > min(sections))
    if not thicker:
        return ""
    now, then = conversion.wire_type[min(sections)], conversion.wire_type[thicker[0]]
    ratio = then.resistance_mohm_per_m / now.resistance_mohm_per_m
    left_v = sum(volt * (ratio if section == min(sections) else 1.0) for volt, section in zip(drop.volts, sections, strict=True))
    percent = 100 * left_v / conversion.supply.voltage_v
    return f"; {then.section_mm2:g} mm² would leave about {percent:.1f} %, if its terminals and seals take it"


def unfused(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A wire is joined to the battery's plus with no fuse between."""
    for use in result.uses.values():
        if use.is_fed and use.fuse is None:
            yield Finding(
                rule="wires.unfused",
                level="stop",
                about=(use.wire,),
                text=f"Wire {use.wire} is joined to the battery's plus with no fuse before it.",
                basis=Basis("common practice", "every wire but the starter cable is fused at its source"),
                caution=FIRE_CAUTION,
            )


def fuse_too_big(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A wire would burn before the fuse that guards it opens.

    Two tables judge: what thin-wall wire is sold for, and a vehicle maker's fuses and wires. Failing both stops the
    work, failing one wants putting right; a section that the first table lacks is judged by the second alone.
    """
    pairs, currents = fuse_wire_pairs(), thin_wall_currents()
    for use in result.uses.values():
        rating_a = use.fuse_rating_a
        if use.fuse is None or not rating_a:
            continue
        section = conversion.wire[use.wire].section_mm2
        listed = next((size for size in sorted(pairs) if size >= rating_a), None)
        if listed is None:
            yield _beyond_table(use, section, max(pairs))
            continue
        by_maker = section >= pairs[listed]
        by_current = currents[section] >= rating_a if section in currents else None
        if by_maker and by_current is not False:
            continue
        enough = _enough_mm2(rating_a) or pairs[listed]
        yield Finding(
            rule="wires.fuse-too-big",
            level="fix" if by_maker or by_current else "stop",
            about=(use.wire, use.fuse),
            text=f"Wire {use.wire} of {section:g} mm² is guarded by {use.fuse} of {rating_a:g} A; behind that fuse belongs at least {enough:g} mm².",
            value=section,
            limit=enough,
            unit="mm²",
            basis=published(f"{table('fuse_wire_pairs')[0]['source']}; {table('thin_wall_currents')[0]['source']}"),
            caution=FIRE_CAUTION,
        )


def _beyond_table(use: WireUse, section: float, last_a: float) -> Finding:
    return Finding(
        rule="wires.fuse-beyond-table",
        level="fix",
        about=(use.wire, use.fuse or ""),
        text=f"Wire {use.wire} of {section:g} mm² is guarded by {use.fuse} of {use.fuse_rating_a:g} A; the table of fuses and wires ends at {last_a:g} A, so nothing is said about this pair: have it judged.",
        value=use.fuse_rating_a,
        limit=last_a,
        unit="A",
        basis=published(table("fuse_wire_pairs")[0]["source"]),
        caution=FIRE_CAUTION,
    )


def fuse_unrated(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A fuse has no rating, so nothing behind it can be judged."""
    for fuse in result.fuses:
        if not fuse.rating_a:
            yield Finding(
                rule="wires.fuse-unrated",
                level="stop",
                about=(fuse.ref, *fuse.wires),
                text=f"Fuse {fuse.ref} has no rating in the catalogue, or one of 0 A, so neither its wires nor its loads are judged.",
                basis=Basis("common practice", "a fuse is known by its amperes"),
                caution=FIRE_CAUTION,
            )


def fuse_too_small(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A fuse carries more for good than its share of the rating."""
    share = conversion.shop.fuse_load_share_max
    for fuse in result.fuses:
        limit = share * fuse.rating_a
        if fuse.rating_a and fuse.current_a > limit + ROUNDING:
            yield Finding(
                rule="wires.fuse-too-small",
                level="fix",
                about=(fuse.ref, *fuse.loads),
                text=f"Fuse {fuse.ref} of {fuse.rating_a:g} A carries {fuse.current_a:.1f} A in the case {fuse.case}: {100 * fuse.current_a / fuse.rating_a:.0f} % of its rating{_larger_fuse(conversion, fuse)}.",
                value=fuse.current_a,
                limit=limit,
                unit="A",
                basis=Basis("common practice", f"shop setting: {100 * share:.0f} % of the rating for good"),
            )


def _larger_fuse(conversion: Conversion, fuse: FuseUse) -> str:
    """The next rating of the same family that carries the current, and the wires that are too thin for it."""
    family = conversion.element[fuse.ref].family
    needed_a = fuse.current_a / conversion.shop.fuse_load_share_max - ROUNDING
    rating_a = min((rating for kind, rating in fuse_colours() if kind == family and rating >= needed_a), default=None)
    if rating_a is None:
        return ""
    enough = _enough_mm2(rating_a)
    if enough is None:
        return f"; a {family} of {rating_a:g} A would carry it, but the tables of wires end before that rating"
    thin = [ref for ref in fuse.wires if conversion.wire[ref].section_mm2 < enough]
    wires = f"with {', '.join(thin)} of at least {enough:g} mm²" if thin else "and its wires are thick enough"
    return f"; a {family} of {rating_a:g} A would carry it, {wires}"


def _enough_mm2(rating_a: float) -> float | None:
    """The least section that both tables allow behind a fuse."""
    pairs, currents = fuse_wire_pairs(), thin_wall_currents()
    listed = next((size for size in sorted(pairs) if size >= rating_a), None)
    if listed is None:
        return None
    return min((size for size in currents if currents[size] >= rating_a and size >= pairs[listed]), default=pairs[listed])
