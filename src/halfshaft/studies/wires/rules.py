"""What can be wrong with ways, pins and wire ends."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, HV_CAUTION, Basis, BasisKind, Finding, published, sentence
from halfshaft.standards import resistances
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.wires.current_rules import FIRE_CAUTION, ROUNDING, current_findings
from halfshaft.studies.wires.study import WiresResult


def wire_findings(conversion: Conversion, routing: Routing, result: WiresResult) -> Iterator[Finding]:
    """All rules of this study."""
    yield from no_supply(conversion)
    yield from no_battery_ground(conversion, result)
    yield from load_without_way(conversion, result)
    yield from load_not_listed(conversion, result)
    yield from load_in_no_case(conversion)
    yield from roles_joined(conversion)
    yield from current_findings(conversion, result)
    yield from pin_used_twice(conversion, result)
    yield from terminal_section(conversion, result)
    yield from terminal_current(conversion, result)
    yield from no_seal(conversion, routing, result)
    yield from open_cavities(conversion, result)
    yield from ground_point_full(conversion, result)
    yield from drain_seal(conversion, result)
    yield from orange(conversion)
    yield from green_and_yellow(conversion)
    yield from resistance_below_table(conversion)
    yield from old_wire_unanswered(conversion)


def no_supply(conversion: Conversion) -> Iterator[Finding]:
    """Loads are listed, but no battery is named, so no current can be traced."""
    battery = conversion.device.get(conversion.supply.battery or "")
    has_cells = battery is not None and any(element.kind == "source" for element in conversion.part[battery.part].inside)
    if conversion.loads and not has_cells:
        yield Finding(
            rule="wires.no-supply",
            level="fix",
            about=("supply",),
            text="No 12 V battery with a source inside is named under [supply], so currents, fuses and drops are not computed.",
            basis=COMMON_PRACTICE,
        )


def no_battery_ground(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """The battery's minus is joined to no ground point, so nothing can return to it."""
    if result.minus is not None and not result.minus_is_grounded:
        yield Finding(
            rule="wires.no-battery-ground",
            level="stop",
            about=(result.minus,),
            text=f"The battery's minus ({result.minus}) is joined to no ground point: nothing comes back to it.",
            basis=Basis("common practice", "12 V minus is the body, and the battery is joined to it"),
        )


JUDGED = Basis("common practice", "every load is looked at in the case in which it draws most")


def load_not_listed(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """Something that the battery feeds is not in loads.csv, so nothing judges its wires and fuse."""
    unlisted = [ref for ref in result.fed_loads if ref not in conversion.load]
    if unlisted:
        yield Finding(
            rule="wires.load-not-listed",
            level="fix",
            about=tuple(unlisted),
            text=f"Not in loads.csv, so that nobody judges their wires and fuses: {', '.join(unlisted)}.",
            value=float(len(unlisted)),
            limit=0.0,
            unit="loads",
            basis=JUDGED,
        )


def load_in_no_case(conversion: Conversion) -> Iterator[Finding]:
    """A load is listed, but no case has it on."""
    in_a_case = {row.load for row in conversion.case_loads if row.duty > 0}
    idle = [load.ref for load in conversion.loads if load.ref not in in_a_case]
    if idle:
        yield Finding(
            rule="wires.load-in-no-case",
            level="note",
            about=tuple(idle),
            text=f"On in no case, so that each is judged as if it ran alone: {', '.join(idle)}.",
            value=float(len(idle)),
            limit=0.0,
            unit="loads",
            basis=JUDGED,
        )


# Kinds of pin that no wire may join; a kind is matched by how its name begins.
NEVER_JOINED = (
    ("can_h", "can_l"),
    ("supply_", "ground"),
    ("supply_", "sensor_ground"),
    ("hv_", "supply_"),
    ("hv_", "ground"),
    ("hv_", "can_"),
)


def roles_joined(conversion: Conversion) -> Iterator[Finding]:
    """Wires and splices join two kinds of pin that must never meet: CAN H and CAN L, supply and ground, high voltage and 12 V."""
    pins: dict[str, list[str]] = defaultdict(list)
    for pin, group in joined_groups((wire.from_pin, wire.to_pin) for wire in conversion.wires).items():
        if pin in conversion.cavity:
            pins[group].append(pin)
    for joined in pins.values():
        roles = {pin: conversion.cavity[pin].role for pin in joined}
        for one, other in NEVER_JOINED:
            first = sorted(pin for pin, role in roles.items() if role.startswith(one))
            second = sorted(pin for pin, role in roles.items() if role.startswith(other))
            if first and second:
                yield Finding(
                    rule="wires.roles-joined",
                    level="stop",
                    about=(first[0], second[0]),
                    text=f"Wires join pin {first[0]} ({roles[first[0]]}) to pin {second[0]} ({roles[second[0]]}), which must never meet.",
                    basis=Basis("common practice", "kinds of pin in the catalogue"),
                    caution=HV_CAUTION if one == "hv_" else FIRE_CAUTION if one == "supply_" else "",
                )


def load_without_way(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A load has no way from the battery, or none back to ground. One between inner nodes is its part's own business."""
    for path in result.paths:
        element = conversion.element[path.load]
        device = path.load.partition(".")[0]
        for rule, way, pin, words in (
            ("wires.load-unfed", path.supply, element.pin_a, "has no way from the battery: follow it from pin"),
            ("wires.no-ground", path.ground, element.pin_b, "has no way back to ground: follow it from pin"),
        ):
            if way is None and not pin.startswith("~") and not _made_inside(conversion, device, pin):
                yield Finding(
                    rule=rule,
                    level="fix",
                    about=(path.load, f"{device}.{pin}"),
                    text=f"{sentence(conversion.load[path.load].name)} ({path.load}) {words} {device}.{pin}.",
                    basis=Basis("common practice", "every load has a fused feed and a return"),
                )


def _made_inside(conversion: Conversion, device: str, pin: str) -> bool:
    """Whether a source or converter inside the device makes this pin itself."""
    part = conversion.part[conversion.device[device].part]
    return any(element.kind in ("source", "converter") and pin in (element.pin_a, element.pin_b) for element in part.inside)


def pin_used_twice(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """More wires, drains of screens among them, end in one cavity than its terminal takes."""
    for pin in sorted(result.wires_at.keys() | result.screens_at.keys()):
        refs = (*result.wires_at.get(pin, ()), *result.screens_at.get(pin, ()))
        cavity = conversion.cavity.get(pin)
        if cavity is not None and len(refs) > cavity.wires_max:
            yield Finding(
                rule="wires.pin-used-twice",
                level="stop",
                about=(pin, *refs),
                text=f"Pin {pin} takes {cavity.wires_max} wire{'s' if cavity.wires_max > 1 else ''}, but {', '.join(refs)} end there.",
                value=float(len(refs)),
                limit=float(cavity.wires_max),
                unit="wires",
                basis=Basis("common practice", "the part's own facts in the catalogue"),
            )


def terminal_section(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A terminal does not take the wire's section."""
    for end in result.ends:
        section = conversion.wire[end.wire].section_mm2
        low, high = end.terminal.section_min_mm2, end.terminal.section_max_mm2
        if not low <= section <= high:
            yield Finding(
                rule="wires.terminal-section",
                level="stop",
                about=(end.wire, end.pin),
                text=f"Wire {end.wire} of {section:g} mm² does not go into terminal {end.terminal.ref} at {end.pin}, which takes {low:g} to {high:g} mm².",
                value=section,
                limit=high if section > high else low,
                unit="mm²",
                basis=Basis("common practice", "the terminal's own facts in the catalogue"),
            )


def terminal_current(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A terminal carries more than it may."""
    for end in result.ends:
        use = result.uses.get(end.wire)
        if use is not None and use.current_a > end.terminal.current_max_a + ROUNDING:
            yield Finding(
                rule="wires.terminal-current",
                level="stop",
                about=(end.wire, end.pin),
                text=f"Terminal {end.terminal.ref} at {end.pin} carries {use.current_a:.1f} A of wire {end.wire} in the case {use.case}; it may carry {end.terminal.current_max_a:g} A.",
                value=use.current_a,
                limit=end.terminal.current_max_a,
                unit="A",
                basis=Basis("common practice", "the terminal's own facts in the catalogue"),
                caution=FIRE_CAUTION,
            )


def no_seal(conversion: Conversion, routing: Routing, result: WiresResult) -> Iterator[Finding]:
    """No seal in the catalogue fits the wire's insulation."""
    for end in result.ends:
        if end.wants_seal and end.seal is None:
            diameter_mm = routing.wires[end.wire].outside_diameter_mm
            yield Finding(
                rule="wires.no-seal",
                level="fix",
                about=(end.wire, end.pin),
                text=f"No seal of terminal {end.terminal.ref} takes the insulation of wire {end.wire}, {diameter_mm:g} mm, at {end.pin}.",
                value=diameter_mm,
                unit="mm",
                basis=published("a connector maker's assembly sheet: the seal decides the wire, not the contact"),
            )


def open_cavities(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """Sealed ways without a wire: each wants a blanking plug."""
    by_connector: dict[str, list[str]] = defaultdict(list)
    missing: dict[str, set[str]] = defaultdict(set)
    for item in result.open_cavities:
        if item.cavity.sealed != "yes":
            continue
        connector, _, cavity = item.pin.rpartition(".")
        by_connector[connector].append(cavity)
        if item.plug is None:
            missing[item.cavity.terminal].add(connector)
    basis = published("two connector makers: every empty cavity of a sealed connector gets a plug")
    if by_connector:
        total = sum(len(cavities) for cavities in by_connector.values())
        where = "; ".join(f"{connector} {', '.join(cavities)}" for connector, cavities in sorted(by_connector.items()))
        yield Finding(
            rule="wires.open-cavity",
            level="note",
            about=tuple(sorted(by_connector)),
            text=f"{total} sealed way{'s stay' if total > 1 else ' stays'} without a wire and want{'' if total > 1 else 's'} a blanking plug{' each' if total > 1 else ''} (counted in the parts list): {where}.",
            value=float(total),
            limit=0.0,
            unit="ways",
            basis=basis,
        )
    for terminal, connectors in sorted(missing.items()):
        yield Finding(
            rule="wires.no-blanking-plug",
            level="fix",
            about=(terminal, *sorted(connectors)),
            text=f"The catalogue has no blanking plug for terminal {terminal}: add a seal without an insulation range.",
            basis=basis,
        )


def ground_point_full(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """More rings on one ground stud than it takes."""
    for point in conversion.ground_points:
        ends = (*result.wires_at.items(), *result.screens_at.items())
        wires = [ref for pin, refs in ends if pin.startswith(f"{point.ref}.") for ref in refs]
        if len(wires) > point.rings_max:
            yield Finding(
                rule="wires.ground-point-full",
                level="fix",
                about=(point.ref, *wires),
                text=f"Ground point {point.ref} ({point.place}) holds {len(wires)} rings; it takes {point.rings_max}.",
                value=float(len(wires)),
                limit=float(point.rings_max),
                unit="rings",
                basis=published("a bus builder's specification: four ring terminals on one ground stud at most"),
            )


def drain_seal(conversion: Conversion, result: WiresResult) -> Iterator[Finding]:
    """A screen's drain ends in a sealed cavity, and what seals it there is not in the lists: nobody knows how thick it is in its sleeve."""
    for pin, screens in sorted(result.screens_at.items()):
        cavity = conversion.cavity[pin]
        if cavity.sealed == "yes":
            seals = [seal.ref for seal in conversion.seals if seal.terminal == cavity.terminal and seal.insulation_min_mm is not None]
            joined = " Join them in one sleeve first: a seal takes one wire." if len(screens) > 1 else ""
            yield Finding(
                rule="wires.drain-seal",
                level="note",
                about=(pin, *screens),
                text=f"Pin {pin} is sealed, and the drain{'s' if len(screens) > 1 else ''} of {', '.join(screens)} end{'' if len(screens) > 1 else 's'} there: add a sleeve and a seal ({' or '.join(seals) or 'none in the catalogue'}), which the parts list does not count.{joined}",
                basis=published("a connector maker's assembly sheet: the seal decides the wire, not the contact"),
            )


def orange(conversion: Conversion) -> Iterator[Finding]:
    """A 12 V wire has the colour that is kept for high voltage."""
    for wire in conversion.wires:
        if "OG" in wire.colour.split("-") and conversion.loom[wire.loom].carries != "HV":
            yield Finding(
                rule="wires.orange",
                level="fix",
                about=(wire.ref,),
                text=f"Wire {wire.ref} is {wire.colour}: orange is kept for high voltage, so that nobody takes one for the other.",
                basis=published("UN R100 5.1.1.5.3: orange outer covering of high-voltage cables"),
                caution=HV_CAUTION,
            )


def green_and_yellow(conversion: Conversion) -> Iterator[Finding]:
    """A wire is green and yellow without being the protective earth's GNYE."""
    for wire in conversion.wires:
        if sorted(wire.colour.split("-")) == ["GN", "YE"]:
            yield Finding(
                rule="wires.green-and-yellow",
                level="note",
                about=(wire.ref,),
                text=f"Wire {wire.ref} is {wire.colour}: green and yellow together are kept for protective earth (GNYE); take another pair.",
                basis=published("IEC 60757: green and yellow are joined in no other pair than GNYE"),
            )


def resistance_below_table(conversion: Conversion) -> Iterator[Finding]:
    """The catalogue gives a wire less resistance than the standard allows it at most: fine, if it was measured."""
    for kind in conversion.wire_types:
        found = resistances().get((kind.section_mm2, kind.wall))
        if found is None:
            continue
        limit, basis, source = found
        if kind.resistance_mohm_per_m < 0.9 * limit or kind.resistance_mohm_per_m > limit + ROUNDING:
            word = "far less than" if kind.resistance_mohm_per_m < limit else "more than"
            confirmed: BasisKind = "published" if basis == "published" else "from memory"
            yield Finding(
                rule="wires.resistance-off-table",
                level="note",
                about=(f"{kind.section_mm2:g} mm2",),
                text=f"Wire of {kind.section_mm2:g} mm² is listed with {kind.resistance_mohm_per_m:g} mohm/m, {word} the {limit:g} that the standard allows at most.",
                value=kind.resistance_mohm_per_m,
                limit=limit,
                unit="mohm/m",
                basis=Basis(confirmed, source),
            )


def old_wire_unanswered(conversion: Conversion) -> Iterator[Finding]:
    """A wire of the donor ended at something removed, and nobody has said what becomes of it."""
    for wire in conversion.old_wires:
        if not wire.answer:
            yield Finding(
                rule="wires.old-wire-unanswered",
                level="fix",
                about=(wire.ref, *([wire.pin] if wire.pin else [])),
                text=f"Old wire {wire.ref} ({wire.old_wire}) ended at the {wire.ended_at}, which is gone: keep it, cap it, feed it or imitate what drove it.",
                basis=Basis("common practice", "every wire that ended at the engine needs an answer"),
            )
