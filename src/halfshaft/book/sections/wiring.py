"""What is cut to a length: wires, splices and pairs, cables, hoses."""

from __future__ import annotations

from halfshaft.book.blocks import (
    Block,
    Cell,
    bold,
    caution,
    colour,
    column,
    heading,
    number,
    para,
    small,
    table,
)
from halfshaft.book.frame import HV_WARNING, Pages
from halfshaft.study import Study


def from_to(study: Study, pages: Pages) -> None:
    """The wires, loom by loom."""
    blocks: list[Block] = [
        para(
            "Every wire from pin to pin. A pin is device.connector.cavity; S and a number is a splice. Colours: base-tracer, letters of IEC 60757."
        )
    ]
    columns = [
        column("Wire"),
        column("From"),
        column("To"),
        column("Colour"),
        column("mm²", "auto", "right"),
        column("Class"),
        column("Meaning", "1fr"),
        column("Pair"),
    ]
    for loom in study.routing.looms:
        rows: list[list[Cell]] = [
            [
                bold(wire.ref),
                wire.from_pin,
                wire.to_pin,
                colour(wire.colour),
                f"{wire.section_mm2:g}",
                wire.insulation_class,
                wire.meaning,
                wire.twist_group or "",
            ]
            for wire in (laid.wire for laid in loom.wires)
        ]
        blocks += [heading(f"{loom.loom.name} ({loom.loom.ref})"), table(columns, rows, size=8.5)]
    pages.add("From-to list", blocks)


def cut_list(study: Study, pages: Pages) -> None:
    """Cut lengths with their parts, and what goes on each end."""
    ends = {(end.wire, end.pin): end for end in study.wires.ends}
    shop = study.conversion.shop
    blocks: list[Block] = [
        para("Cut = runs + tails + ends + take-up, rounded up. Strip and terminals in the order from, to; a seal goes on before the terminal."),
        small(f"Ends: {shop.slack_each_end_mm:g} mm slack and {shop.termination_each_end_mm:g} mm strip and crimp at a pin, {shop.splice_overlap_mm:g} mm at a splice. Rounded up to {shop.length_step_to_1000_mm:g} mm, over 1 m to {shop.length_step_over_1000_mm:g} mm. Settings of this shop (common practice). The nominal length is a minimum: +25/−0 to 0.3 m, +50/−0 to 1.5 m, +100/−0 to 3 m (published: IPC/WHMA-A-620B table 11-1)."),
    ]  # fmt: skip
    columns = [
        column("Wire"), column("Colour"), column("mm²", "auto", "right"), column("Class"), column("Cut, mm", "auto", "right"), column("Runs", "auto", "right"), column("Tails", "auto", "right"),
        column("Ends", "auto", "right"), column("Take-up", "auto", "right"), column("Strip", "auto", "right"), column("Terminal, seal from", "1fr"), column("Terminal, seal to", "1fr"),
    ]  # fmt: skip
    for loom in study.routing.looms:
        rows: list[list[Cell]] = []
        for laid in loom.wires:
            wire, length = laid.wire, laid.length
            pair = [ends[wire.ref, pin] for pin in (wire.from_pin, wire.to_pin)]
            crimps = [f"{end.terminal.ref}{', ' + end.seal.ref if end.seal else ''}" for end in pair]
            strips = " / ".join(f"{end.terminal.strip_mm:g}" for end in pair)
            sums = (
                ["", "", "", ""]
                if length is None
                else [
                    number(length.runs_mm),
                    number(length.tail_from_mm + length.tail_to_mm),
                    number(length.end_from_mm + length.end_to_mm),
                    number(length.take_up_mm),
                ]
            )
            rows.append(
                [
                    bold(wire.ref),
                    colour(wire.colour),
                    f"{wire.section_mm2:g}",
                    wire.insulation_class,
                    bold("no way" if length is None else number(length.cut_mm)),
                    *sums,
                    strips,
                    *crimps,
                ]
            )
        blocks += [heading(f"{loom.loom.name} ({loom.loom.ref}): {number(loom.cut_mm / 1000, 1)} m"), table(columns, rows, size=8.5)]
    pages.add("Cut list", [*blocks, *splices_pairs(study)])


def splices_pairs(study: Study) -> list[Block]:
    """Where splices lie, and how pairs are twisted."""
    conversion = study.conversion
    ends = {pin: refs for pin, refs in study.wires.wires_at.items() if pin in conversion.splice}
    blocks: list[Block] = []
    if ends:
        rows: list[list[Cell]] = [
            [
                bold(splice.ref), splice.loom, *_place_of(study, splice.ref), splice.terminal, splice.sleeve or "",
                ", ".join(ends.get(splice.ref, ())), splice.meaning,
            ]
            for splice in conversion.splices
        ]  # fmt: skip
        columns = [
            column("Splice"),
            column("Loom"),
            column("Run"),
            column("From"),
            column("mm", "auto", "right"),
            column("Place"),
            column("Crimp"),
            column("Sleeve"),
            column("Wires", 46.0),
            column("Meaning", "1fr"),
        ]
        blocks += [
            heading("Splices"),
            table(columns, rows, size=8.5),
            small("Measured along the run from the point named. Chosen: where its wires take least copper, by this program."),
        ]
    if conversion.twist_groups:
        rows = [
            [
                bold(group.ref),
                ", ".join(wire.ref for wire in conversion.wires if wire.twist_group == group.ref),
                number(group.lay_mm),
                number(1000 / group.lay_mm, 1),
                number(group.twist_to_connector_mm),
                group.kind,
            ]
            for group in conversion.twist_groups
        ]
        columns = [
            column("Pair"),
            column("Wires"),
            column("One full turn, mm", "auto", "right"),
            column("Turns a metre", "auto", "right"),
            column("Untwisted at most, mm", "auto", "right"),
            column("Kind", "1fr"),
        ]
        blocks += [heading("Twisted pairs"), table(columns, rows, size=8.5)]
    return blocks


def _place_of(study: Study, splice: str) -> tuple[str, str, str, str]:
    """Run, end and millimetres of a splice, and whether they were given or chosen."""
    place = study.splice_places.get(splice)
    if place is None:
        return "no place", "", "", ""
    return place.run, place.from_point, number(place.at_mm), "chosen" if place.chosen else "given"


def cables_and_hoses(study: Study, pages: Pages) -> None:
    """High-voltage cables and hoses."""
    blocks: list[Block] = []
    if study.conversion.cables:
        columns = [
            column("Cable"),
            column("From"),
            column("To"),
            column("Type"),
            column("Cut, mm", "auto", "right"),
            column("Twist, °", "auto", "right"),
            column("Ends", 44.0),
            column("Meaning", "1fr"),
        ]
        rows: list[list[Cell]] = [
            [
                bold(laid.cable.ref), laid.cable.from_connector, laid.cable.to_connector, laid.cable.cable_type,
                bold("no way" if laid.cut_mm is None else number(laid.cut_mm)), number(laid.cable.twist_angle_deg),
                f"{laid.cable.from_end} / {laid.cable.to_end}", laid.cable.meaning,
            ]
            for laid in study.routing.cables
        ]  # fmt: skip
        blocks += [
            caution("WARNING", HV_WARNING),
            heading("High-voltage cables"),
            table(columns, rows, size=8.5),
            small(f"Cut = runs + tails + {study.conversion.shop.cable_ends_mm:g} mm for both ends (setting of this shop, common practice). Twist: angle between both ends, looking along the cable; mark it before crimping, a crimped cable cannot be turned."),
        ]  # fmt: skip
    if study.conversion.hoses:
        columns = [
            column("Hose"),
            column("From"),
            column("To"),
            column("Bore, mm", "auto", "right"),
            column("Cut, mm", "auto", "right"),
            column("Meaning", "1fr"),
        ]
        rows = [
            [
                bold(laid.hose.ref),
                laid.hose.from_part,
                laid.hose.to_part,
                f"{laid.hose.bore_mm:g}",
                bold("no way" if laid.cut_mm is None else number(laid.cut_mm)),
                laid.hose.meaning,
            ]
            for laid in study.routing.hoses
        ]
        blocks += [heading("Coolant hoses"), table(columns, rows, size=8.5)]
    if blocks:
        pages.add("Cables and hoses", blocks, hv=bool(study.conversion.cables))
