"""What one study found, as plain values for another program or as words for a screen."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from pydantic import BaseModel

from halfshaft.model.enclosures import EnclosureItem
from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.reading import Measured, Reading
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import ACTS, Changes, Figure
from halfshaft.studies.changes.words import asked, money_words, summary, summary_rows, value_words
from halfshaft.studies.enclosure import moved_to
from halfshaft.studies.looms.bus import BUS
from halfshaft.studies.looms.faults import Diagnosis
from halfshaft.studies.mount_rules import MOUNT_CAUTION
from halfshaft.studies.pack.reach import Reach
from halfshaft.study import Study


def as_plain(study: Study, name: str) -> Any:
    """Everything that a study found, as mappings, lists, words and numbers."""
    return _plain(_RESULTS[name](study))


_RESULTS: dict[str, Callable[[Study], Any]] = {
    "mass": lambda study: study.mass,
    "handling": lambda study: study.handling,
    "mounts": lambda study: study.mounts,
    "spaces": lambda study: study.rooms,
    "looms": lambda study: study.routing,
    "wires": lambda study: study.wires,
    "pack": lambda study: {
        "pack": study.pack,
        "box_orders": study.box_orders,
        "module_orders": study.module_orders,
        "bars": study.loaded_bars,
        "joints": study.loaded_joints,
        "reaches": study.reaches,
    },
    "boards": lambda study: study.boards,
    "parts": lambda study: study.parts_list,
    "batch": lambda study: {"batch": study.batch, "loom_costs": study.loom_costs},
    "tests": lambda study: {**study.readings, **({BUS: study.bus_readings} if study.bus_readings else {})},
    "sensing": lambda study: {
        "looms": study.sensing.routing.looms if study.sensing else (),
        "tap_volts": study.tap_volts,
        "sheets": {name: sheet.readings for name, sheet in study.probe_sheets.items()},
    },
    "enclosures": lambda study: study.enclosures,
    "findings": lambda study: study.findings,
}


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json")
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return value


def as_words(study: Study, name: str) -> str:
    """A table for a screen."""
    return _WORDS[name](study)


def _table(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    lines = [list(header), *([_cell(item) for item in row] for row in rows)]
    numeric = [all(_is_number(line[column]) for line in lines[1:] if line[column]) for column in range(len(header))]
    widths = [max(len(line[column]) for line in lines) for column in range(len(header))]
    shown = []
    for index, line in enumerate(lines):
        cells = [cell.rjust(width) if right else cell.ljust(width) for cell, width, right in zip(line, widths, numeric, strict=True)]
        shown.append("  ".join(cells).rstrip())
        if index == 0:
            shown.append("  ".join("-" * width for width in widths))
    return "\n".join(shown)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:.1f}" if isinstance(value, float) else str(value)


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True


def _mass(study: Study) -> str:
    result = study.mass
    rows = [
        (
            stand.name,
            stand.total_kg,
            stand.front_kg,
            stand.rear_kg,
            stand.front_percent,
            stand.front_left_kg,
            stand.front_right_kg,
            stand.rear_left_kg,
            stand.rear_right_kg,
            stand.x_mm,
            stand.y_mm,
            stand.z_mm,
        )
        for stand in (result.donor, result.bare, result.finished, *result.loaded)
    ]
    return _table(("state", "kg", "front", "rear", "front %", "FL", "FR", "RL", "RR", "x mm", "y mm", "z mm"), rows)


def _handling(study: Study) -> str:
    result = study.handling
    states = [
        (
            manner.stand.name,
            manner.left_kg,
            manner.right_kg,
            manner.left_percent,
            manner.cross_percent,
            _digits(manner.stability_factor, 3),
            *((shift.shifted_kg, shift.loaded_percent) if (shift := manner.braking) else (None, None)),
            *((shift.shifted_kg, shift.relieved_kg) if (shift := manner.cornering) else (None, None)),
        )
        for manner in (*result.donors, result.finished)
    ]
    shop = study.conversion.shop
    header = (
        "state", "left", "right", "left %", "cross %", "T/2h",
        f"to front at {shop.braking_g:g} g", "front %", f"to outside at {shop.cornering_g:g} g", "kg left inside",
    )  # fmt: skip
    rides = _table(
        ("axle", "against", "kg before", "kg after", "N/mm a wheel", "lower mm", "N/mm that restores"),
        [(r.axle, r.against, r.before_kg, r.after_kg, r.rate_n_per_mm, r.lower_mm, r.restoring_n_per_mm) for r in result.rides],
    )
    if not result.rides:
        rides = "no wheel rate is given, so nothing is said of ride height"
    yaw = result.yaw
    band = f"; the donor is estimated, so both may be out by {yaw.band_kg_m2:.0f}" if yaw.is_estimated else ""
    turning = f"yaw inertia, kg m2: donor {yaw.donor_kg_m2:.0f}, finished {yaw.finished_kg_m2:.0f}, change {yaw.change_kg_m2:+.0f}{band}"
    return f"{_table(header, states)}\n\n{rides}\n\n{turning}"


def _digits(value: float | None, decimals: int) -> str | None:
    return None if value is None else f"{value:.{decimals}f}"


def _mounts(study: Study) -> str:
    boxes = _table(
        ("box", "kg", "x mm", "y mm", "z mm", "feet", "bolts"),
        [
            (box.box, box.mass_kg, box.x_mm, box.y_mm, box.z_mm, len(box.bolts), ", ".join(sorted({bolt.bolt for bolt in box.bolts})))
            for box in study.mounts
        ],
    )
    loads = _table(
        ("box", "case", "g", "foot", "shear kN", "tension kN", "as plain pull kN", "proof kN"),
        [
            (
                box.box,
                case.case,
                f"{case.acceleration_g:g}",
                load.mount,
                _digits(load.shear_n / 1000, 2),
                _digits(load.tension_n / 1000, 2),
                _digits(load.combined_n / 1000, 2),
                bolt.proof_n / 1000 if bolt.proof_n else None,
            )
            for box in study.mounts
            for case in box.cases
            for bolt, load in zip(box.bolts, case.mounts, strict=False)
        ],
    )
    return f"{boxes}\n\n{loads}\n\n{MOUNT_CAUTION}"


def _looms(study: Study) -> str:
    rows = [
        (
            loom.loom.ref,
            laid.wire.ref,
            laid.wire.from_pin,
            laid.wire.to_pin,
            laid.wire.colour,
            f"{laid.wire.section_mm2:g}",
            laid.length.cut_mm if laid.length else None,
            " ".join(step.run for step in laid.route.steps) if laid.route else "no way",
        )
        for loom in study.routing.looms
        for laid in loom.wires
    ]
    return _table(("loom", "wire", "from", "to", "colour", "mm2", "cut mm", "runs"), rows)


def _wires(study: Study) -> str:
    fuses = _table(
        ("fuse", "A", "carries A", "case", "wires"),
        [(f.ref, f"{f.rating_a:g}", f.current_a, f.case, " ".join(f.wires)) for f in study.wires.fuses],
    )
    drops = _table(
        ("load", "V", "%", "% hot", "case", "wires"),
        [(d.load, f"{d.drop_v:.2f}", d.drop_percent, d.hot_drop_percent, d.case, " ".join(d.wires)) for d in study.wires.drops],
    )
    return f"{fuses}\n\n{drops}"


def _spaces(study: Study) -> str:
    rows = []
    for space in study.conversion.spaces:
        room = study.rooms[space.ref]
        largest = room.blocks[0] if room.blocks else None
        rows.append((
            space.ref, space.name, "yes" if space.for_batteries else "no", room.usable_l, len(room.blocks),
            "exact" if room.step_mm is None else f"grid of {room.step_mm:g} mm",
            " x ".join(f"{side:.0f}" for side in largest.size) if largest else "none", largest.volume_l if largest else None,
            f"x {largest.x_min:.0f}, y {largest.y_min:.0f}, z {largest.z_min:.0f}" if largest else "",
        ))  # fmt: skip
    header = ("space", "name", "batteries", "usable l", "free blocks", "found", "largest, x by y by z mm", "l", "its least corner")
    return _table(header, rows)


def _pack(study: Study) -> str:
    found = study.pack
    if found is None:
        return "no modules are in a box"
    kinds = ", ".join(f"{name} {value:.1f}" for name, value in found.resistance_mohm.items())
    facts = (
        f"{len(found.strings)} x {' / '.join(str(len(string.modules)) for string in found.strings)} modules; {found.full_v:.1f} V full, {found.nominal_v:.1f} nominal, "
        f"{found.empty_v:.1f} empty, {found.stop_v:.1f} stop; {found.energy_kwh:.2f} kWh, {found.usable_kwh:.2f} used\n{found.total_mohm:.1f} mohm at 25 C: {kinds}"
    )  # fmt: skip
    windows = _table(
        ("unit", "from V", "to V", "damaged above", "met first", "in the state", "V left"),
        [
            (w.unit.ref, w.unit.operate_min_v, w.unit.operate_max_v, w.unit.withstand_max_v, w.first.limit, w.first.state, w.first.margin_v)
            for w in found.windows
        ],
    )
    power = _table(
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
    bars = _table(
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
    joints = _table(
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


def _boards(study: Study) -> str:
    rows = [
        (
            ref,
            f"{board.size_mm[0]:.0f} x {board.size_mm[1]:.0f}",
            "yes" if board.fits else "no",
            len(board.holders),
            len(board.blocked),
            len(board.out_of_reach),
            len(board.pegs),
            board.method,
        )
        for ref, board in study.boards.items()
    ]
    return _table(("board", "sheet mm", "fits", "holders", "blocked", "out of reach", "pegs", "laid by"), rows)


def _parts(study: Study) -> str:
    rows = [
        (line.group, line.code, line.name, f"{line.quantity:g}" if not line.unit else f"{line.quantity:.1f}", line.unit, line.price_eur)
        for line in study.parts_list
    ]
    return _table(("group", "code", "what", "quantity", "", "EUR"), rows)


def _batch(study: Study) -> str:
    lines = _table(
        ("mm2", "class", "colour", "cut mm", "pieces", "wire", "loom", "strip", "terminal", "seal", "strip", "terminal", "seal", "label"),
        [
            (
                f"{line.section_mm2:g}", line.insulation_class, line.colour, line.cut_mm, line.count, line.wire, line.loom, line.start.strip_mm, line.start.terminal,
                line.start.seal, line.end.strip_mm, line.end.terminal, line.end.seal, line.start.label,
            )
            for line in study.batch.lines
        ],
    )  # fmt: skip
    cuts = [(item, cut) for item in study.batch.materials if item.plan for cut in (*item.plan.cuts, *item.plan.missing)]
    plans = _table(
        ("what", "take", "of m", "stock", "cut each into", "left mm", "", "above least %"),
        [
            (
                item.need.material.full_code,
                cut.times,
                f"{cut.stock.length_mm / 1000:g}",
                cut.stock.ref if item.plan and cut in item.plan.cuts else "MISSING",
                ", ".join(f"{times} x {length}" for length, times in cut.pieces),
                cut.left_mm,
                "keep" if cut.is_kept else "",
                item.plan.gap_percent if item.plan else None,
            )
            for item, cut in cuts
        ],
    )
    costs = _table(
        ("loom", "wires", "wire m", "kg", "terminals", "seals", "plugs", "EUR", "no price"),
        [
            (
                cost.loom, cost.wires, cost.wire_m, f"{cost.mass_kg:.3f}", cost.terminals, cost.seals, cost.plugs, f"{cost.price_eur:.2f}", len(cost.unpriced),
            )
            for cost in study.loom_costs
        ],
    )  # fmt: skip
    return f"kits: {study.batch.kits}\n\n{lines}\n\n{plans}\n\n{costs}"


def _tests(study: Study) -> str:
    lines = [(loom, reading) for loom, readings in study.readings.items() for reading in readings]
    lines += [(BUS, reading) for reading in study.bus_readings]
    rows = [
        (loom, item.number, *item.between, item.quantity, _expected(item), _limits(item), " ".join(item.wires), item.state)
        for loom, item in lines
    ]
    return _table(("loom", "no", "between", "and", "quantity", "expect", "passes", "wires", "state"), rows)


def _sensing(study: Study) -> str:
    volts = {item.pin: item for item in study.tap_volts}
    rows = []
    for laid in study.sensing.routing.wires.values() if study.sensing else ():
        wire, tap = laid.wire, volts.get(laid.wire.to_pin)
        told = (tap.to_module_minus_v, tap.to_pack_minus_v) if tap else (None, None)
        shown = ("" if value is None else f"{value:+.2f}" for value in told)
        rows.append((wire.loom, wire.ref, wire.from_pin, wire.to_pin, wire.colour, laid.length.cut_mm if laid.length else "no way", *shown))
    return _table(("loom", "wire", "from", "to", "colour", "cut mm", "V to module -", "V to pack -"), rows)


def _expected(reading: Reading) -> str:
    return "open" if reading.expected is None else f"{reading.expected:.1f} {reading.unit}"


def _limits(reading: Reading) -> str:
    if reading.high is None:
        return "1 MΩ and over" if reading.quantity == "open" else f"{reading.low:.1f} {reading.unit} and over"
    return f"{reading.low:.1f} to {reading.high:.1f} {reading.unit}"


def diagnosis_words(diagnosis: Diagnosis) -> str:
    """What a filled sheet says: counts, the lines that fail, and what is likely wrong and where to look."""
    failed, left = diagnosis.failed, diagnosis.not_measured
    lines = [f"{diagnosis.loom}: {len(diagnosis.passed)} lines pass, {len(failed)} fail, {len(left)} not measured"]
    lines += [f"  fails {_line_words(item)}" for item in failed]
    if left:
        lines.append(f"  not measured, so not passed: {_number_words([item.number for item in left])}")
    if len(diagnosis.explanations) > 1:
        lines.append("  likely one of these; the readings cannot tell them apart, colours and labels may:")
    elif diagnosis.explanations:
        lines.append("  likely:")
    for explanation in diagnosis.explanations:
        for index, suspect in enumerate(explanation.suspects):
            lines += [f"    {'and ' if index else '- '}{suspect.text}", f"      look at: {suspect.look}"]
    if diagnosis.unexplained and not diagnosis.explanations:
        lines.append("  No fault that is tried here explains this. Measure these lines again.")
    elif diagnosis.unexplained:
        lines.append(f"  not explained by this: {_number_words([item.reading.number for item in diagnosis.unexplained])}")
    if diagnosis.unexpected:
        lines.append(f"  speak against it, as they pass: {_number_words([item.reading.number for item in diagnosis.unexpected])}")
    if failed:
        lines.append("  Put it right, then measure the whole loom again: one fault can hide another.")
    if any(item.reading.quantity == "voltage" for item in failed):
        lines += ["  Put no sense plug on its board before every line passes: a reversed one destroys the board.", f"  {HV_CAUTION}"]
    return "\n".join(lines)


def _line_words(item: Measured) -> str:
    assert item.found is not None
    reading = item.reading
    sign = "+" if reading.quantity == "voltage" else ""
    found = "open" if math.isinf(item.found) else f"{item.found:{sign}g} {reading.unit}"
    return f"{reading.number}: {reading.between[0]} to {reading.between[1]}, {reading.state}: {found}; passes {_limits(reading)}"


def _number_words(numbers: Sequence[int]) -> str:
    """`lines 3, 5 to 9`."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][-1] + 1:
            spans[-1] = [spans[-1][0], number]
        else:
            spans.append([number, number])
    words = [f"{first}" if first == last else f"{first} to {last}" for first, last in spans]
    return f"line {words[0]}" if len(numbers) == 1 else f"lines {', '.join(words)}"


def changes_plain(changes: Changes) -> Any:
    """A change of mind as mappings, lists, words and numbers."""
    sums = {
        "is_built_otherwise": changes.is_built_otherwise,
        "hours": changes.hours,
        "buy_eur": changes.buy_eur,
        "back_eur": changes.back_eur,
    }
    return {"summary": summary(changes), **sums, **_plain(changes)}


def changes_words(changes: Changes) -> str:
    """A change of mind for a screen: what it does to the car, then every step of the work with what was and what is."""
    parts = [
        f"as it was:      {changes.before}\nas it is to be: {changes.after}",
        *(f"Note: {note}" for note in changes.notes),
        summary(changes),
    ]
    if steps := summary_rows(changes):
        width = max(len(name) for name, _ in steps)
        parts.append("\n".join(f"{name.ljust(width)}  {counts}" for name, counts in steps))
    if changes.figures:
        header = ("what it does to the car", "was", "is", "by", "unit")
        parts.append(_table(header, [_figure_row(figure) for figure in changes.figures]))
    for act, words in ACTS.items():
        rows = [
            (line.kind, line.ref, _short(line.quantity), _short(value_words(line.was, line.unit)), _short(value_words(line.now, line.unit)), asked(line))
            for line in changes.of(act)
        ]  # fmt: skip
        if rows:
            parts.append(f"{words.upper()}\n" + _table(("what", "ref", "of it", "was", "is", "to do, and why"), rows))
    parts += [f"Caution: {caution}" for caution in changes.cautions]
    if changes.hours or changes.buy_eur or changes.back_eur:
        parts.append(f"{money_words(changes)}\nHours: {allowances.BASIS}.")
    return "\n\n".join(parts)


def _figure_row(figure: Figure) -> tuple[str, ...]:
    numbers = ["" if value is None else f"{value + 0.0:.{figure.decimals}f}" for value in (figure.was, figure.now)]
    by = "" if figure.was is None or figure.now is None else f"{figure.now - figure.was:+.{figure.decimals}f}"
    return figure.name, *numbers, by, figure.unit


def _short(words: str, most: int = 44) -> str:
    """Cut for a column; everything stands in the JSON and in the paper."""
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def _enclosures(study: Study) -> str:
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
            _table(header, rows),
            "",
        ]
    return "\n".join(parts)


def _place_words(item: EnclosureItem | None) -> str:
    if item is None or item.across_mm is None or item.deep_mm is None or item.up_mm is None:
        return "-"
    return f"{item.across_mm:g}, {item.deep_mm:g}, {item.up_mm:g}"


def _findings(study: Study) -> str:
    rows = [(f.level, f.rule, f.value, f.limit, f.unit, f.text) for f in study.findings]
    return _table(("level", "rule", "found", "limit", "unit", "finding"), rows)


_WORDS: dict[str, Callable[[Study], str]] = {
    "mass": _mass,
    "handling": _handling,
    "mounts": _mounts,
    "spaces": _spaces,
    "looms": _looms,
    "wires": _wires,
    "pack": _pack,
    "boards": _boards,
    "parts": _parts,
    "batch": _batch,
    "tests": _tests,
    "sensing": _sensing,
    "enclosures": _enclosures,
    "findings": _findings,
}
