"""Every list of the book as rows for a spreadsheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.drawings.labels import Label
from halfshaft.pens.xlsx import Value
from halfshaft.standards import fuse_colours
from halfshaft.studies.changes.records import ACTS, Changes
from halfshaft.studies.looms.bus import BUS
from halfshaft.studies.looms.spare import LONGER_MM
from halfshaft.studies.pack.heat import TEST_A
from halfshaft.studies.protection.records import Opening
from halfshaft.study import Study


@dataclass(frozen=True, slots=True)
class Listing:
    """One list: file name without its ending, title, header, rows."""

    name: str
    title: str
    header: tuple[str, ...]
    rows: Sequence[Sequence[Value]]


def lists_of(study: Study) -> list[Listing]:
    """All of them."""
    return [
        _findings(study),
        _mass(study),
        _from_to(study),
        _cut(study),
        _cables(study),
        _busbars(study),
        _joints(study),
        _hoses(study),
        _batch_cut(study),
        _cutting_plan(study),
        _loom_costs(study),
        _tests(study),
        *_commissioning(study),
        _fuses(study),
        _drops(study),
        _cable_heat(study),
        _parts(study),
        _pegs(study),
        _run_out(study),
        _runs(study),
        _spare(study),
        *_sensing(study),
    ]


def _findings(study: Study) -> Listing:
    rows = [(f.level, f.rule, ", ".join(f.about), f.text, f.value, f.limit, f.unit, str(f.basis), f.caution) for f in study.findings]
    return Listing("findings", "Findings", ("level", "rule", "about", "finding", "found", "limit", "unit", "basis", "caution"), rows)


def _mass(study: Study) -> Listing:
    rows = [(-entry.mass_kg, entry.group, entry.ref, entry.name, entry.x_mm, entry.y_mm, entry.z_mm) for entry in study.mass.removed]
    rows += [(entry.mass_kg, entry.group, entry.ref, entry.name, entry.x_mm, entry.y_mm, entry.z_mm) for entry in study.mass.fitted]
    return Listing("mass", "Mass ledger", ("mass, kg", "group", "ref", "what", "x, mm", "y, mm", "z, mm"), rows)


def _from_to(study: Study) -> Listing:
    rows = [
        (loom.loom.ref, w.ref, w.from_pin, w.to_pin, w.colour, w.section_mm2, w.insulation_class, w.meaning, w.twist_group or "", w.screen)
        for loom in study.routing.looms
        for w in (laid.wire for laid in loom.wires)
    ]
    header = ("loom", "wire", "from", "to", "colour", "section, mm2", "class", "meaning", "pair", "screen")
    return Listing("from-to", "From-to list", header, rows)


def _cut(study: Study) -> Listing:
    ends = {(end.wire, end.pin): end for end in study.wires.ends}
    rows: list[Sequence[Value]] = []
    for loom in study.routing.looms:
        for laid in loom.wires:
            wire, length = laid.wire, laid.length
            first, last = ends[wire.ref, wire.from_pin], ends[wire.ref, wire.to_pin]
            lengths = (None,) * 6 if length is None else (
                length.cut_mm, length.runs_mm, length.tail_from_mm + length.tail_to_mm, length.end_from_mm + length.end_to_mm, length.take_up_mm, length.sum_mm,
            )  # fmt: skip
            rows.append(
                (
                    loom.loom.ref, wire.ref, wire.colour, wire.section_mm2, wire.insulation_class, *lengths, first.terminal.ref, first.seal.ref if first.seal else "", first.terminal.strip_mm,
                    last.terminal.ref, last.seal.ref if last.seal else "", last.terminal.strip_mm, " ".join(step.run for step in laid.route.steps) if laid.route else "",
                )
            )  # fmt: skip
    header = (
        "loom", "wire", "colour", "section, mm2", "class", "cut, mm", "runs, mm", "tails, mm", "ends, mm", "take-up, mm", "sum before rounding, mm", "terminal from", "seal from",
        "strip from, mm", "terminal to", "seal to", "strip to, mm", "runs on the way",
    )  # fmt: skip
    return Listing("cut-list", "Cut list", header, rows)


def _cables(study: Study) -> Listing:
    rows = [
        (
            laid.cable.ref,
            laid.cable.meaning,
            laid.cable.cable_type,
            laid.cable.from_connector,
            laid.cable.to_connector,
            laid.cut_mm,
            laid.cable.twist_angle_deg,
            laid.cable.from_end,
            laid.cable.to_end,
        )
        for laid in study.routing.cables
    ]
    return Listing(
        "cables", "High-voltage cables", ("cable", "meaning", "type", "from", "to", "cut, mm", "twist, deg", "end from", "end to"), rows
    )


def _busbars(study: Study) -> Listing:
    rows = [
        (
            item.bar.ref, item.bar.box, item.bar.start, item.bar.end, item.bar.wide_mm, item.bar.thick_mm, item.bar.length_mm, item.bar.apart_mm, item.bar.needed_mm,
            "proposed" if item.bar.is_proposed else "", item.resistance_uohm, item.continuous_a, item.density_a_per_mm2, item.continuous_w, item.peak_w,
        )
        for item in study.loaded_bars
    ]  # fmt: skip
    header = (
        "bar", "box", "from", "to", "wide, mm", "thick, mm", "length, mm", "studs apart, mm", "wants, mm", "which is", "micro-ohms", "A for good", "A/mm2",
        "W for good", "W at peak",
    )  # fmt: skip
    return Listing("busbars", "Bars of the pack", header, rows)


def _joints(study: Study) -> Listing:
    reach = {item.joint: item for item in study.reaches}
    rows = [
        (
            item.joint.ref, item.joint.box or "", item.joint.stud, ", ".join(item.joint.busbars), item.joint.bolt, item.joint.torque_nm, ", ".join(item.joint.stack),
            item.joint.allowed_uohm, item.continuous_w, item.peak_w, item.test_mv, reach[item.joint.ref].tool if item.joint.ref in reach else "",
            ", ".join(reach[item.joint.ref].in_the_way) if item.joint.ref in reach else "", item.joint.reached_from, None, None, None,
        )
        for item in study.loaded_joints
    ]  # fmt: skip
    header = (
        "joint", "box", "stud", "bars", "bolt", "N m", "from below", "micro-ohms, most", "W for good", "W at peak", f"mV at {TEST_A:g} A, most", "tool", "in the way",
        "reached from", "done up", "mark", "by",
    )  # fmt: skip
    return Listing("joints", "Bolted joints of the pack", header, rows)


def _hoses(study: Study) -> Listing:
    rows = [
        (laid.hose.ref, laid.hose.meaning, laid.hose.from_part, laid.hose.to_part, laid.hose.bore_mm, laid.cut_mm)
        for laid in study.routing.hoses
    ]
    return Listing("hoses", "Coolant hoses", ("hose", "meaning", "from", "to", "bore, mm", "cut, mm"), rows)


def _batch_cut(study: Study) -> Listing:
    rows = [
        (
            line.section_mm2, line.insulation_class, line.colour, line.cut_mm, line.count, line.wire, line.loom, line.start.strip_mm, line.start.terminal, line.start.seal,
            line.end.strip_mm, line.end.terminal, line.end.seal, line.start.label, line.end.label,
        )
        for line in study.batch.lines
    ]  # fmt: skip
    header = (
        "section, mm2", "class", "colour", "cut, mm", "pieces", "wire", "loom", "strip from, mm", "terminal from", "seal from", "strip to, mm", "terminal to", "seal to",
        "label from", "label to",
    )  # fmt: skip
    return Listing("batch-cut-list", f"Batch cut list, kits: {study.batch.kits}", header, rows)


def _cutting_plan(study: Study) -> Listing:
    """One row for every length of piece in every pattern; materials without stock listed have their lengths only."""
    rows: list[Sequence[Value]] = []
    for item in study.batch.materials:
        code, plan = item.need.material.full_code, item.plan
        if plan is None:
            rows += [(code, "no stock listed", None, None, None, length, times, None, "", None) for length, times in item.need.pieces]
            continue
        for number, cut in enumerate((*plan.cuts, *plan.missing), start=1):
            stock = cut.stock.ref if number <= len(plan.cuts) else "missing"
            end = "keep" if cut.is_kept else "waste"
            rows += [
                (code, stock, number, cut.times, cut.stock.length_mm, length, each, cut.left_mm, end, plan.gap_percent)
                for length, each in cut.pieces
            ]
        rows += [(code, "longer than all stock", None, None, None, length, times, None, "", None) for length, times in plan.too_long]
    header = (
        "what", "stock", "pattern", "lengths so cut", "of, mm", "piece, mm", "pieces of each length", "left of each, mm", "which is", "above the least at most, %",
    )  # fmt: skip
    return Listing("cutting-plan", "Cutting from reels, coils and lengths", header, rows)


def _loom_costs(study: Study) -> Listing:
    rows = [
        (
            cost.loom, cost.name, cost.wires, cost.wire_m, cost.wire_kg, cost.covering_kg, cost.mass_kg, cost.terminals, cost.seals, cost.plugs, cost.wire_eur,
            cost.covering_eur, cost.fittings_eur, cost.price_eur, len(cost.unpriced), ", ".join(cost.unpriced),
        )
        for cost in study.loom_costs
    ]  # fmt: skip
    header = (
        "loom", "name", "wires", "wire, m", "wire, kg", "covering, kg", "together, kg", "terminals", "seals", "plugs", "wire, EUR", "covering, EUR",
        "terminals, seals and plugs, EUR", "together, EUR", "lines without a price", "which",
    )  # fmt: skip
    return Listing("loom-costs", "Weight and cost of each loom, one kit", header, rows)


def _tests(study: Study) -> Listing:
    lines = [(loom, reading) for loom, readings in study.readings.items() for reading in readings]
    lines += [(BUS, reading) for reading in study.bus_readings]
    rows = [
        (
            loom, item.number, *item.between, item.state, item.quantity, ", ".join(item.wires), item.expected, item.low, item.high,
            item.unit, item.suspect, None, None,
        )
        for loom, item in lines
    ]  # fmt: skip
    header = (
        "loom",
        "no",
        "between",
        "and",
        "state",
        "quantity",
        "wires",
        "expect",
        "from",
        "to",
        "unit",
        "if not, look at",
        "found",
        "by",
    )
    return Listing("test-sheet", "Test sheet", header, rows)


def _commissioning(study: Study) -> list[Listing]:
    """The commissioning sheet, with room to write."""
    stage = {stage.key: stage.title for stage in study.commissioning.stages}
    rows = [
        (
            step.reading.number, stage[step.stage], step.part, *step.reading.between, step.reading.state, step.reading.instrument, step.reading.expected, step.reading.low,
            step.reading.high, step.reading.unit, step.reading.basis, step.reading.suspect, None, None, None,
        )
        for step in study.commissioning.steps
    ]  # fmt: skip
    header = (
        "no", "stage", "part", "from", "to", "state", "instrument", "expect", "low", "high", "unit", "basis", "if not, look at", "found", "by", "date",
    )  # fmt: skip
    return [Listing("commissioning", "Commissioning of the electrics", header, rows)] if rows else []


def _fuses(study: Study) -> Listing:
    rows = [
        (
            fuse.ref, fuse.rating_a, fuse.family, fuse_colours().get((fuse.family, fuse.rating_a), ""), fuse.current_a, fuse.case, ", ".join(fuse.wires),
            ", ".join(fuse.loads), fuse.thinnest, fuse.most_a, fuse.least_a, fuse.least_at, *_opens(fuse.opens),
        )
        for fuse in study.protection.fuses
    ]  # fmt: skip
    header = (
        "fuse", "rating, A", "body", "colour", "carries, A", "in the case", "wires behind it", "loads", "thinnest wire", "short behind it, A",
        "least short, A", "at", "opens then after, s, earliest", "latest",
    )  # fmt: skip
    return Listing("fuses", "Fuses", header, rows)


def _opens(opening: Opening | None) -> tuple[float | None, float | str | None]:
    if opening is None:
        return None, None
    return opening.earliest_s, opening.latest_s if math.isfinite(opening.latest_s) else "never"


def _drops(study: Study) -> Listing:
    rows = [
        (drop.load, ", ".join(drop.wires), drop.length_m, drop.case, drop.drop_v, drop.drop_percent, drop.hot_drop_percent)
        for drop in study.wires.drops
    ]
    return Listing(
        "voltage-drop",
        "Voltage drop",
        ("load", "wires behind the fuse", "length, m", "worst case", "drop, V", "drop, %", "drop when hot, %"),
        rows,
    )


def _cable_heat(study: Study) -> Listing:
    rows: list[Sequence[Value]] = []
    for heat in study.cable_heat.values():
        choices, place, current = study.cable_choices[heat.ref], heat.place, heat.current
        others: list[Value] = []
        for choice in (choices.smaller, choices.larger, choices.least):
            others += (
                [None] * 6
                if choice is None
                else [
                    choice.section_mm2,
                    choice.conductor_c,
                    choice.drop_v,
                    choice.mass_g,
                    choice.price_eur,
                    ", ".join((*choice.fails, *choice.terminals)),
                ]
            )
        rows.append(
            (
                heat.ref, heat.section_mm2, heat.length_m, heat.insulation_class, current.continuous_a, current.case, current.peak_a, current.peak_s, current.fuse or "",
                current.fuse_rating_a, place.run, place.zone, place.around.ambient_c, place.covering, place.loaded, place.passing, heat.conductor_c, heat.surface_c, heat.pulse_c,
                heat.limit_c, heat.capacity_a, heat.drop_v, *others,
            )
        )  # fmt: skip
    named = [
        f"{which}{what}"
        for which in ("smaller", "larger", "least that would do")
        for what in (", mm2", ", conductor C", ", V", ", g more", ", EUR more", ", what is against it, and terminals that do not take it")
    ]
    header = (
        "ref", "section, mm2", "length, m", "class", "A for good", "in the case", "A at peak", "for s", "fuse", "rating, A", "hottest in run", "zone", "air, C", "covering",
        "loaded together", "in the run", "conductor, C", "surface, C", "conductor after the peak, C", "limit, C", "A at the limit", "V lost", *named,
    )  # fmt: skip
    return Listing("cable-heat", "Heating of wires and cables", header, rows)


def _parts(study: Study) -> Listing:
    rows = [
        (line.group, line.code, line.name, line.quantity, line.unit, line.spare, line.price_eur, line.used_for) for line in study.parts_list
    ]
    return Listing("parts", "Parts list", ("group", "code", "what", "quantity", "unit", "of it spare", "price, EUR", "for"), rows)


def _pegs(study: Study) -> Listing:
    rows = [(ref, peg.number, peg.at[0], peg.at[1]) for ref, board in study.boards.items() for peg in board.pegs]
    return Listing("pegs", "Pegs to drill", ("board", "peg", "x, mm", "y, mm"), rows)


def _run_out(study: Study) -> Listing:
    rows = [
        (loom, index, line.wire, line.stage, " ".join(map(str, line.pegs)), ", ".join(line.closes))
        for loom, lines in study.run_out.items()
        for index, line in enumerate(lines, start=1)
    ]
    return Listing("laying", "Order in which the wires are laid", ("loom", "no", "wire", "stage", "past pegs", "then complete"), rows)


def _runs(study: Study) -> Listing:
    covered = {item.run.ref: item for item in study.coverings.runs}
    rows = [
        (
            loom.loom.ref,
            run.run,
            run.start,
            run.end,
            run.length_mm,
            study.routing.run_lengths[run.run].straight_mm,
            study.routing.run_lengths[run.run].taped_mm,
            len(run.wires),
            run.bundle_mm,
            covered[run.run].run.covering or "",
            covered[run.run].bundle_mm,
            covered[run.run].fill_percent,
            smallest.ref if (smallest := covered[run.run].smallest) else "",
        )
        for loom in study.routing.looms
        for run in loom.runs
    ]
    header = (
        "loom", "run", "from", "to", "length, mm", "straight, mm", "taped, mm", "wires", "bundle, mm", "covering", "all in the run, mm", "fill, %",
        "smallest tube that would do",
    )  # fmt: skip
    return Listing("runs", "Runs and bundles", header, rows)


def _spare(study: Study) -> Listing:
    rows = [
        (
            item.loom, item.run, wire.wire, wire.spare_mm, wire.slack_mm, wire.spare_if_longer_mm, wire.may_grow_mm,
            "too short" if wire.is_too_short else "less slack than wanted" if wire.is_short_of_slack else "",
        )
        for item in study.spare
        for wire in item.wires
    ]  # fmt: skip
    longer = f"to spare if the run is {LONGER_MM:g} mm longer, mm"
    header = ("loom", "run", "wire", "to spare, mm", "slack wanted, mm", longer, "run may grow, mm", "then")
    return Listing("spare", "If a run is longer than measured", header, rows)


def change_list(changes: Changes) -> Listing:
    """Every line of a change of mind, in the order of work."""
    rows = [
        (
            ACTS[line.act], line.kind, line.ref, line.quantity, line.was, line.now, line.unit, line.do, line.why, ", ".join(line.about), line.minutes or None,
            line.price_eur, line.caution, None,
        )
        for line in changes.lines
    ]  # fmt: skip
    header = ("step", "what", "ref", "of it", "was", "is", "unit", "to do", "why", "see also", "minutes", "EUR", "caution", "done by")
    return Listing("changes", f"What changed since {changes.before}", header, rows)


def _sensing(study: Study) -> list[Listing]:
    """Wires inside the battery boxes, and what stands at each tap; nothing where none are led."""
    if study.sensing is None:
        return []
    volts = {item.pin: item for item in study.tap_volts}
    rows: list[Sequence[Value]] = []
    for loom in study.sensing.routing.looms:
        for laid in loom.wires:
            wire, tap = laid.wire, volts.get(laid.wire.to_pin)
            rows.append(
                (
                    loom.loom.ref, wire.ref, wire.meaning, wire.from_pin, wire.to_pin, wire.colour, wire.section_mm2, wire.insulation_class,
                    laid.length.cut_mm if laid.length else None, tap.to_module_minus_v if tap else None, tap.to_pack_minus_v if tap else None,
                )
            )  # fmt: skip
    header = (
        "loom", "wire", "meaning", "from", "to", "colour", "section, mm2", "class", "cut, mm", "expect to module minus, V", "expect to pack minus, V",
    )  # fmt: skip
    lines = [
        (sheet.name, item.number, *item.between, item.expected, item.low, item.high, item.state, None, None)
        for sheet in study.probe_sheets.values()
        for item in sheet.readings
    ]
    columns = ("sheet", "no", "red", "black", "expect, V", "from", "to", "state", "found", "by")
    return [
        Listing("sense-wires", "Cell sense wires", header, rows),
        Listing("sense-volts", "Cell taps, volts before plugging", columns, lines),
    ]


def label_list(labels: list[Label]) -> Listing:
    """The labels as rows, for a label printer."""
    rows = [
        (item.loom, item.wire, item.colour, item.section, item.here, item.there, item.meaning, item.place, item.board, item.diagram)
        for item in labels
    ]
    return Listing(
        "labels", "Wire labels", ("loom", "wire", "colour", "section_mm2", "here", "there", "meaning", "place", "board", "diagram"), rows
    )
