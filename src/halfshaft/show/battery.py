"""The pack, its sense looms, and where things may go, for a screen."""

from __future__ import annotations

from halfshaft.model.enclosures import EnclosureItem
from halfshaft.model.finding import BATTERY_PLACE_CAUTION
from halfshaft.show.tables import table
from halfshaft.studies.arrangement.space_facts import COUNTS, LITRES
from halfshaft.studies.enclosure import moved_to
from halfshaft.studies.pack.reach import Reach
from halfshaft.study import Study


def pack(study: Study) -> str:
    """Strings, volts, power, bars and joints."""
    found = study.pack
    if found is None:
        return "no modules are in a box"
    kinds = ", ".join(f"{name} {value:.1f}" for name, value in found.resistance_mohm.items())
    facts = (
        f"{len(found.strings)} x {' / '.join(str(len(string.modules)) for string in found.strings)} modules; {found.full_v:.1f} V full, {found.nominal_v:.1f} nominal, "
        f"{found.empty_v:.1f} empty, {found.stop_v:.1f} stop; {found.energy_kwh:.2f} kWh, {found.usable_kwh:.2f} used\n{found.total_mohm:.1f} mohm at 25 C: {kinds}"
    )  # fmt: skip
    windows = table(
        ("unit", "from V", "to V", "damaged above", "met first", "in the state", "V left"),
        [
            (w.unit.ref, w.unit.operate_min_v, w.unit.operate_max_v, w.unit.withstand_max_v, w.first.limit, w.first.state, w.first.margin_v)
            for w in found.windows
        ],
    )
    power = table(
        ("charge %", "cells", "V", "mohm", "continuous A", "V left", "peak A", "V left", "usable kW", "limited by"),
        [
            (
                w.charge_percent, "0 C" if w.cold else "25 C", w.open_v, w.resistance_mohm, *((w.continuous.current_a, w.continuous.volts) if w.continuous else ("", "")),
                *((w.peak.current_a, w.peak.volts) if w.peak else ("", "")), w.usable_kw, w.limit,
            )
            for w in found.workings
        ],
    )  # fmt: skip
    orders = [
        f"string {o.string}: {' '.join(o.now)}, {o.now_mm / 1000:.2f} m of cable; least {o.best_mm / 1000:.2f} m as {' '.join(o.best)}"
        for o in study.box_orders
    ]
    orders += [
        f"{o.box}: {' '.join(o.now)}, {o.now_mm:.0f} mm from stud to stud; least {o.best_mm:.0f} mm as {' '.join(item.ref for item in o.best)}"
        for o in study.module_orders
    ]
    bars = table(
        ("bar", "box", "from", "to", "mm", "length mm", "wants mm", "A/mm2", "W", "W peak", ""),
        [
            (
                b.bar.ref, b.bar.box, b.bar.start, b.bar.end, f"{b.bar.wide_mm:g} x {b.bar.thick_mm:g}", b.bar.length_mm, b.bar.needed_mm, b.density_a_per_mm2, b.continuous_w, b.peak_w,
                "proposed" if b.bar.is_proposed else "",
            )
            for b in study.loaded_bars
        ],
    )  # fmt: skip
    reach = {item.joint: item for item in study.reaches}
    joints = table(
        ("joint", "stud", "bolt", "N m", "micro-ohms", "W peak", "tool", "in the way"),
        [
            (
                j.joint.ref,
                j.joint.stud,
                j.joint.bolt,
                j.joint.torque_nm,
                j.joint.allowed_uohm,
                j.peak_w,
                *_reach_cells(reach.get(j.joint.ref)),
            )
            for j in study.loaded_joints
        ],
    )
    return "\n\n".join(part for part in (facts, windows, power, "\n".join(orders), bars, joints) if part)


def _reach_cells(reach: Reach | None) -> tuple[str, str]:
    return ("", "") if reach is None else (reach.tool, " ".join(reach.in_the_way))


def sensing(study: Study) -> str:
    """Sense wires with their volts."""
    volts = {item.pin: item for item in study.tap_volts}
    rows = []
    for laid in study.sensing.routing.wires.values() if study.sensing else ():
        wire, tap = laid.wire, volts.get(laid.wire.to_pin)
        told = (tap.to_module_minus_v, tap.to_pack_minus_v) if tap else (None, None)
        shown = ("" if value is None else f"{value:+.2f}" for value in told)
        rows.append((wire.loom, wire.ref, wire.from_pin, wire.to_pin, wire.colour, laid.length.cut_mm if laid.length else "no way", *shown))
    return table(("loom", "wire", "from", "to", "colour", "cut mm", "V to module -", "V to pack -"), rows)


def enclosures(study: Study) -> str:
    """Devices where they are described and where a search puts them."""
    if not study.enclosures:
        return "No enclosure is described: enclosures.csv has no row."
    parts = []
    for enclosure in study.conversion.enclosures:
        found = study.enclosures[enclosure.ref]
        items = [item for item in study.conversion.enclosure_items if item.enclosure == enclosure.ref]
        places = {place.item.ref: moved_to(place) for place in found.places}
        rows = [
            (
                item.ref,
                *(_place_words(at) for at in (item, places.get(item.ref))),
                f"{item.size_across_mm:g} x {item.size_deep_mm:g} x {item.size_up_mm:g}",
            )
            for item in items
        ]
        header = ("device", "described at", "also fits at", "size as it stands, mm")
        parts += [
            found.sentence(enclosure),
            "Places are across, deep and up from the left front lower inner corner, mm.",
            "",
            table(header, rows),
            "",
        ]
    return "\n".join(parts)


def spaces(study: Study) -> str:
    """What is free of each space and how many modules it takes."""
    facts = study.space_facts
    if not facts:
        return "No space is described: spaces.toml holds none."
    rows = [
        (
            fact.ref, fact.name, fact.loaded_from, f"{fact.floor_z_mm:g}", f"{fact.top_z_mm:g}", fact.usable_l,
            " x ".join(f"{side:.0f}" for side in fact.largest.size) if fact.largest else "none",
            "exact" if fact.step_mm is None else f"{fact.step_mm:g} mm", fact.most_words,
        )
        for fact in facts
    ]  # fmt: skip
    header = ("space", "name", "loaded from", "floor mm", "lid mm", "usable l", "largest free block mm", "cut to", "modules at most")
    refused = [f"{fact.ref}: {fact.refused}" for fact in facts if fact.refused]
    return "\n\n".join(part for part in (table(header, rows), "\n".join(refused), f"{LITRES}\n{COUNTS}\n{BATTERY_PLACE_CAUTION}") if part)


def _place_words(item: EnclosureItem | None) -> str:
    if item is None or item.across_mm is None or item.deep_mm is None or item.up_mm is None:
        return "-"
    return f"{item.across_mm:g}, {item.deep_mm:g}, {item.up_mm:g}"
