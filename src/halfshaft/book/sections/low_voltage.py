"""The 12 V side in every case: who feeds it, volts, relays, grounds, ways back."""

from __future__ import annotations

from halfshaft.book.blocks import Block, Cell, bold, column, heading, number, para, picture, small, table
from halfshaft.book.frame import DEFER, Pages
from halfshaft.drawings.supply_bars import supply_bars
from halfshaft.studies.looms.continuity import natural
from halfshaft.studies.low_voltage.records import LoadVolts, LowVoltage
from halfshaft.study import Study

PICTURE = "supply-bars"


def low_voltage(study: Study, pages: Pages) -> None:
    """Nothing where no battery or no case is described."""
    result = study.low_voltage
    if result is None or not result.cases:
        return
    drawing = supply_bars(result)
    pages.pictures[PICTURE] = drawing
    pages.add(
        "12 V side: cases and supply",
        [
            _supply(study, result),
            small("Asked: what loads.csv and case_loads.csv add up to, each load for its share of the time / all at once. Solved: what flows at the volts that there are; a resistive load takes less at fewer volts, one of constant power more. Left: what the converter has over on the average; charging an empty battery is not counted. Lasts: parked, days to half of its capacity; else minutes or hours to the end of its usable share. The battery counts as full."),
            picture(PICTURE, drawing.width_mm, "Amperes by case; dashed: the most that the converter gives in that case (less where it is hot). Bottom bar: the load whose start adds most starts while all else runs."),
            *_notes(study, result),
        ],
    )  # fmt: skip
    pages.add("12 V side: volts", [_volts(study, result), small("Plus to minus at the load's own pins, all that the case has on at once, in the case in which that is least; last, with the largest start of a case on top, likewise. Wires at their cut length and at the air of their zones, each terminal, splice, fuse, contact and ground as the catalogue gives it; a wire's own heating is left out. " + DEFER), *_losses(study, result)])  # fmt: skip
    if relays := _relays(result):
        pages.add("12 V side: relays and switches", relays)
    pages.add("12 V side: ground points and ways back", [*_grounds(study, result), *_returns(study, result)])


def _supply(study: Study, result: LowVoltage) -> Block:
    off = "none" if study.conversion.supply.converter is None else "off"
    rows: list[list[Cell]] = [
        [
            bold(case.case),
            f"{_amperes(case.asked_mean_a)} / {_amperes(case.asked_all_a)}",
            "" if case.mean is None else _amperes(case.mean.total_a),
            "" if case.all is None else _amperes(case.all.total_a),
            off if case.limit_a is None else f"{case.limit_a:g}",
            "" if case.margin_a is None else number(case.margin_a, 1),
            "" if case.all is None else number(case.all.battery_v, 2),
            "" if case.start is None else f"{number(case.start.battery_v, 2)}, {case.starting}",
            case.lasts,
        ]
        for case in result.cases
    ]
    columns = [
        column("Case"), column("Asked, A", "auto", "right"), column("Mean, A", "auto", "right"), column("All, A", "auto", "right"),
        column("Converter, A", "auto", "right"), column("Left, A", "auto", "right"), column("Posts, V", "auto", "right"),
        column("with a start, V", "1fr"), column("Battery lasts", "auto", "right"),
    ]  # fmt: skip
    return table(columns, rows, size=8.5)


def _amperes(value: float) -> str:
    return number(value, 1) if value >= 1 else number(value, 2) if value >= 0.1 else number(value, 3)


def _notes(study: Study, result: LowVoltage) -> list[Block]:
    """Cases without an answer, and what flows in a parked car besides its listed loads."""
    words = [f"{case.case}: {trouble.text}" for case in result.cases for trouble in case.troubles]
    for case in result.cases:
        leaks = [leak for leak in case.leaks if case.stands and leak.kind != "fed back"]
        if leaks:
            named = ", ".join(f"{leak.ref} {number(1000 * leak.current_a, 1)} mA" for leak in leaks)
            words.append(f"In the case {case.case} these draw besides the listed loads: {named}.")
    return [para(text) for text in words]


def _volts(study: Study, result: LowVoltage) -> Block:
    conversion = study.conversion
    refs = list(dict.fromkeys(load.load for case in result.cases for load in case.loads))
    rows: list[list[Cell]] = []
    for ref in sorted(refs, key=natural):
        found = [(case.case, load) for case in result.cases if (load := case.by_load.get(ref)) is not None]
        least = min(((load.all_v, case) for case, load in found if load.all_v is not None), default=None)
        start = min(((load.start_v, case) for case, load in found if load.start_v is not None), default=None)
        works = conversion.element[ref].operate_min_v
        rows.append(
            [
                bold(ref), conversion.load[ref].name, _amperes(max(load.steady_a for _, load in found)), _mean(found),
                *(("not fed", "") if least is None else (number(least[0], 2), least[1])), "" if start is None else number(start[0], 2),
                "" if start is None else start[1], "" if works is None else f"{works:g}",
            ]
        )  # fmt: skip
    columns = [
        column("Load", 36.0), column("", "1fr"), column("A", "auto", "right"), column("Mean, A", "auto", "right"), column("V", "auto", "right"),
        column("In the case", 22.0), column("V, start", "auto", "right"), column("In the case", 22.0), column("Works from", "auto", "right"),
    ]  # fmt: skip
    return table(columns, rows, size=8)


LOSSES = 12


def _losses(study: Study, result: LowVoltage) -> list[Block]:
    """Where the volts go: what takes most of them, in the case in which it does."""
    wires = study.conversion.wire
    rows: list[list[Cell]] = [
        [
            bold(item.ref), wires[item.ref].meaning if item.ref in wires else item.kind,
            f"{wires[item.ref].section_mm2:g}" if item.ref in wires else "", number(abs(item.all_a), 1), number(abs(item.drop_v), 2), number(item.loss_w, 1),
            number(item.contacts_w, 1) if item.ref in wires else "", case,
        ]
        for case, item in result.most_lost[:LOSSES]
    ]  # fmt: skip
    columns = [
        column("In", "auto"), column("", "1fr"), column("mm²", "auto", "right"), column("A", "auto", "right"), column("V", "auto", "right"), column("W", "auto", "right"),
        column("of it terminals, W", "auto", "right"), column("In the case", 26.0),
    ]  # fmt: skip
    note = "All that the case has on at once. The twelve that take most volts; halfshaft show FOLDER low_voltage --json has all of them."
    return [heading("Where most volts are lost"), table(columns, rows, size=8.5), small(note)] if rows else []


def _mean(found: list[tuple[str, LoadVolts]]) -> str:
    means = [load.mean_a for _, load in found if load.mean_a is not None]
    return _amperes(max(means)) if means else ""


def _relays(result: LowVoltage) -> list[Block]:
    uses = {use.ref: use for use in result.contacts}
    rows: list[list[Cell]] = []
    for coil in result.pull_ins:
        moved = [uses[ref] for ref in coil.contacts if ref in uses]
        rows.append(
            [
                bold(coil.coil), "" if coil.current_a is None else number(coil.current_a, 2), "" if coil.volt is None else f"{number(coil.volt, 1)}, {coil.case}",
                "" if coil.operate_min_v is None else f"{coil.operate_min_v:g}", coil.suppressed_by or "nothing",
                ", ".join(coil.contacts), ", ".join(f"{use.rating_a:g}" for use in moved if use.rating_a is not None),
                ", ".join(f"{number(use.current_a, 1)} / {number(use.start_a, 1)}" for use in moved),
            ]
        )  # fmt: skip
    columns = [
        column("Coil", "auto"), column("A", "auto", "right"), column("V as it pulls in", "auto"), column("Needs V", "auto", "right"), column("Suppressed by", "auto"),
        column("Moves", "1fr"), column("Made for, A", "auto", "right"), column("Carries / start, A", "auto", "right"),
    ]  # fmt: skip
    switches: list[list[Cell]] = [
        [bold(use.ref), use.moved_by, "" if use.rating_a is None else f"{use.rating_a:g}", number(use.current_a, 2), use.case, number(use.start_a, 2), use.starting or ""]
        for use in result.contacts
        if not use.is_relay
    ]  # fmt: skip
    heads = [
        column("Switch or output", "1fr"), column("Moved by"), column("Rating, A", "auto", "right"), column("Carries, A", "auto", "right"), column("In the case"),
        column("At a start, A", "auto", "right"), column("of"),
    ]  # fmt: skip
    relays = [
        heading("Relays"),
        table(columns, rows, size=8.5),
        small(
            "V as it pulls in: with all else of the case on, in the case in which that is least; a coil that no case has on is switched on in the case in which the battery has least. A coil with an economiser takes its full current then. Moved contacts of the high-voltage side are not judged here."
        ),
    ]
    others = [heading("Switches and outputs"), table(heads, switches, size=8.5)]
    return [*(relays if rows else ()), *(others if switches else ())]


def _grounds(study: Study, result: LowVoltage) -> list[Block]:
    places = {point.ref: point.place for point in study.conversion.ground_points}
    rows: list[list[Cell]] = [
        [
            bold(ground.ref), places[ground.ref], f"{ground.rings} of {ground.rings_max}", number(ground.current_a, 1), ground.case,
            ", ".join(f"{wire} {number(current, 1)}" for wire, current in ground.wires.items()),
        ]
        for ground in result.grounds
    ]  # fmt: skip
    columns = [
        column("Ground point"), column("Place", "1fr"), column("Rings"), column("A", "auto", "right"), column("In the case"), column("Of these", 62.0),
    ]  # fmt: skip
    return [heading("Ground points"), table(columns, rows, size=8.5)] if rows else []


def _returns(study: Study, result: LowVoltage) -> list[Block]:
    """By ground point, then by the wires that lead there; loads that come back by the same wires stand together."""
    points = {point.ref for point in study.conversion.ground_points}
    by_way: dict[str, dict[str, list[str]]] = {}
    for item in result.returns:
        lost = f"none; it left with {', '.join(item.lost_with)}" if item.lost_with else "none"
        way = item.way or ()
        at = next((index for index, ref in enumerate(way) if ref in points), 0)
        wires = by_way.setdefault(" – ".join(way[at:]) or lost, {})
        wires.setdefault(" – ".join(way[:at]), []).append(item.load)
    rows: list[list[Cell]] = []
    ends = []
    for way_words, wires in sorted(by_way.items(), key=lambda row: natural(row[0])):
        for count, (own, loads) in enumerate(wires.items()):
            rows.append(["" if count else bold(way_words), own, "; ".join(loads)])
        ends.append(len(rows))
    columns = [column("Comes back by", 44.0), column("Led there by", 60.0), column("Loads", "1fr")]
    return [
        heading("Ways back to the battery"),
        table(columns, rows, size=8.5, group=ends[:-1]),
        small("Wires, straps and ground points along the least resistance, to the battery's minus."),
    ]
