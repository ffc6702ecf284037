"""What each section of the build book says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from halfshaft.book.blocks import (
    BOX,
    Block,
    Cell,
    bold,
    caution,
    colour,
    column,
    facts,
    heading,
    number,
    para,
    picture,
    small,
    soft,
    table,
)
from halfshaft.drawings.board_notes import filling_of
from halfshaft.drawings.car_view import side_view
from halfshaft.drawings.faces import both_faces, scale_for
from halfshaft.drawings.shapes import Drawing
from halfshaft.model.finding import Finding
from halfshaft.model.wires import Grommet
from halfshaft.studies.looms.continuity import natural
from halfshaft.studies.mass import Stand
from halfshaft.studies.parts_list import PartLine
from halfshaft.study import Study

DEFER = "Local rules and qualified people decide."
HV_WARNING = (
    "High voltage. Contact can kill or burn. Work on the high-voltage side only with the service disconnect out and locked, "
    "and prove it dead on both poles first. " + DEFER
)
BATTERY_WARNING = (
    "Battery modules are live at all times, heavy, and burn if crushed or shorted. Lift them with two people or a hoist, "
    "cover open poles, keep metal tools and rings away. " + DEFER
)
LIFT_WARNING = (
    "A car or a motor that falls kills. Use stands on firm ground and a hoist rated for the load; nothing here replaces them. " + DEFER
)
APPROVAL_NOTICE = (
    "Road approval, axle loads, brakes and structure are judged by the authority of the place where the car is registered. "
    "This book is a description, not a permission. " + DEFER
)


@dataclass(slots=True)
class Pages:
    """Sections being gathered, with the pictures that they name."""

    sections: list[dict[str, Any]] = field(default_factory=list)
    pictures: dict[str, Drawing] = field(default_factory=dict)

    def add(self, title: str, blocks: list[Block], *, hv: bool = False) -> None:
        """A section; it starts a page."""
        self.sections.append({"title": title, "hv": hv, "blocks": blocks})


def pages_of(study: Study, drawings: Mapping[str, Drawing]) -> Pages:
    """The whole book after its front page; `drawings` are the boards by loom."""
    pages = Pages()
    for section in (findings, mass, from_to, cut_list, cables_and_hoses, connectors, tests, fuses, parts, holes):
        section(study, pages)
    boards(study, pages, drawings)
    return pages


def board_number(study: Study, loom: str) -> str:
    """The number of a board's drawing: conversion, LB for loom board, loom."""
    return f"{study.conversion.job.ref}-LB-{loom}"


def cover(study: Study) -> list[Block]:
    """The job, the key figures and the cautions."""
    job, result = study.conversion.job, study.mass
    counts = {level: sum(finding.level == level for finding in study.findings) for level in ("stop", "fix", "note")}
    wires = study.routing.wires
    has_hv = bool(study.conversion.cables or study.conversion.boxes)
    rows: list[tuple[str, ...]] = [
        ("Mass, ready to drive", f"{number(result.finished.total_kg, 1)} kg (donor as weighed {number(result.donor.total_kg, 1)} kg)", ""),
        ("Front / rear axle", f"{number(result.finished.front_kg, 1)} / {number(result.finished.rear_kg, 1)} kg, {number(result.finished.front_percent, 1)} % on the front"),
        ("Centre of gravity", _centre_words(result.finished)),
        ("Looms", f"{len(study.routing.looms)} with {_count(len(wires), 'wire')}, {number(sum(loom.cut_mm for loom in study.routing.looms) / 1000, 1)} m to cut; {_count(len(study.boards), 'board')}"),
        ("Findings", f"{counts['stop']} that stop, {counts['fix']} to put right, {counts['note']} to know", ""),
    ]  # fmt: skip
    if study.conversion.boxes:
        modules = sum(len(box.modules) for box in study.conversion.boxes)
        rows.insert(
            3,
            (
                "Battery",
                f"{_count(modules, 'module')} in {_count(len(study.conversion.boxes), 'box', 'boxes')}, {number(_energy_kwh(study), 1)} kWh",
            ),
        )
    blocks = [para(job.task), facts(*rows)]
    blocks += [caution("WARNING", HV_WARNING), caution("WARNING", BATTERY_WARNING)] if has_hv else []
    return [*blocks, caution("WARNING", LIFT_WARNING), caution("NOTICE", APPROVAL_NOTICE)]


def _energy_kwh(study: Study) -> float:
    kinds = {kind.part: kind.energy_kwh for kind in study.conversion.modules}
    return sum(kinds[module.module] for box in study.conversion.boxes for module in box.modules)


def _count(number_of: int, one: str, several: str = "") -> str:
    return f"{number_of} {one if number_of == 1 else several or one + 's'}"


def _centre_words(stand: Stand) -> str:
    height = "height not known" if stand.z_mm is None else f"{number(stand.z_mm)} mm high"
    aside = number(abs(stand.y_mm))
    side = "right" if stand.y_mm > 0 else "left"
    across = "on the centre plane" if aside == "0" else f"{aside} mm to the {side}"
    return f"{number(stand.x_mm)} mm behind the front axle, {across}, {height}"


def findings(study: Study, pages: Pages) -> None:
    """Every finding with value, limit and basis."""
    words = {"stop": "Stop", "fix": "Put right", "note": "Know"}
    rows: list[list[Cell]] = []
    for index, finding in enumerate(study.findings, start=1):
        rows.append(
            [
                {"level": finding.level, "text": f"{index}"},
                words[finding.level],
                finding.text,
                _value(finding.value, finding),
                _value(finding.limit, finding),
                finding.unit,
                str(finding.basis),
            ]
        )
    columns = [
        column("No", 11.0),
        column("What to do", 14.0),
        column("Finding", "1fr"),
        column("Found", "auto", "right"),
        column("Limit", "auto", "right"),
        column("Unit", 13.0),
        column("Basis", 38.0),
    ]
    blocks: list[Block] = [
        para(
            "What the program found when it compared the design with its limits. A filled octagon stops the work, a half-filled lozenge wants putting right, an open circle is worth knowing."
        )
    ]
    blocks.append(table(columns, rows, size=8.5, group=1) if rows else para("Nothing was found."))
    cautions = list(dict.fromkeys(finding.caution for finding in study.findings if finding.caution and finding.level != "note"))
    blocks += [caution("WARNING", text) for text in cautions]
    pages.add("Findings", blocks)


def _value(value: float | None, finding: Finding) -> str:
    if value is None:
        return ""
    whole = finding.unit in ("wires", "ways", "pieces", "sheets", "rings") or value == round(value)
    return number(value, 0 if whole else 2 if abs(value) < 10 else 1)


def mass(study: Study, pages: Pages) -> None:
    """Side view, corner and axle loads, load states, the ledger."""
    result, car = study.mass, study.conversion.car
    view = side_view(study.conversion, result)
    pages.pictures["side.svg"] = view
    rows = [
        _stand_row("donor, as weighed", result.donor),
        _stand_row("bare, after taking out", result.bare),
        _stand_row("finished, nobody in it", result.finished),
        *(_stand_row(f"finished, {stand.name}", stand) for stand in result.loaded),
    ]
    limits: list[Cell] = [
        soft("limit"),
        soft(number(car.limits.gross_kg)),
        soft(number(car.limits.front_axle_kg)),
        soft(number(car.limits.rear_axle_kg)),
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
    ]
    columns = [
        column("State", "1fr"),
        *(column(head, "auto", "right") for head in ("Total, kg", "Front", "Rear", "F, %", "FL", "FR", "RL", "RR", "CG x, mm", "y", "z")),
    ]
    blocks = [
        picture("side.svg", view.width_mm, "The car from the left, drawn to its own scale, not 1:1."),
        heading("How it stands"),
        table(columns, [*rows, limits], size=8.5, group=0),
        small(f"State on the scales: {car.weighed.state}. Frame: x rearwards from the front axle line, y to the right, z up from the ground. Each thing loads axles and wheels by its place (statics; stiff body, level car). Limits: type plate of this car."),
        *_height_blocks(study),
        heading("What comes out"),
        _ledger(study, "removed"),
        heading("What goes in"),
        _groups(study),
        heading("What goes in, item by item"),
        _ledger(study, "fitted"),
        caution("NOTICE", APPROVAL_NOTICE),
    ]  # fmt: skip
    pages.add("Mass and axle loads", blocks)


def _stand_row(name: str, stand: Stand) -> list[Cell]:
    return [
        bold(name), bold(number(stand.total_kg, 1)), bold(number(stand.front_kg, 1)), bold(number(stand.rear_kg, 1)), number(stand.front_percent, 1),
        number(stand.front_left_kg, 1), number(stand.front_right_kg, 1), number(stand.rear_left_kg, 1), number(stand.rear_right_kg, 1),
        number(stand.x_mm), number(stand.y_mm), "" if stand.z_mm is None else number(stand.z_mm),
    ]  # fmt: skip


def _height_blocks(study: Study) -> list[Block]:
    height, car = study.mass.height, study.conversion.car
    if height is None:
        return [small("The height of the centre of gravity is not known, so none is computed.")]
    if height.step_mm is None:
        return [small(f"Height of the donor's centre of gravity {number(height.height_mm)} mm: {height.known}.")]
    raised, weighed = car.raised, car.weighed
    assert raised is not None
    level = weighed.front_kg if raised.axle == "rear" else weighed.rear_kg
    return [
        small(
            f"Height of the donor's centre of gravity from {height.known}: h = r + L (F′ − F) / (W tan θ), sin θ = H / L "
            f"= {car.tyre_static_radius_mm:g} + {car.wheelbase_mm:g} × ({raised.other_axle_kg:g} − {level:g}) / ({weighed.total_kg:g} × tan θ) "
            f"= {number(height.height_mm)} mm. One scale step of {weighed.scale_step_kg:g} kg moves it by {number(height.step_mm, 1)} mm. "
            "Published: ISO 10392, axle-lift method; suspension locked, brakes off, fluids full."
        )
    ]


def _ledger(study: Study, which: str) -> Block:
    entries = study.mass.removed if which == "removed" else study.mass.fitted
    entries = tuple(entry for entry in entries if entry.group not in ("wires", "tape, tube and duct")) if which == "fitted" else entries
    rows: list[list[Cell]] = [
        [bold(entry.ref), entry.name, number(entry.mass_kg, 2), number(entry.x_mm), number(entry.y_mm), number(entry.z_mm)]
        for entry in entries
    ]
    columns = [
        column("Ref"),
        column("What", "1fr"),
        column("Mass, kg", "auto", "right"),
        column("x, mm", "auto", "right"),
        column("y", "auto", "right"),
        column("z", "auto", "right"),
    ]
    return table(columns, rows, size=8.5)


def _groups(study: Study) -> Block:
    masses: dict[str, float] = defaultdict(float)
    moments: dict[str, float] = defaultdict(float)
    counts: dict[str, int] = defaultdict(int)
    for entry in study.mass.fitted:
        masses[entry.group] += entry.mass_kg
        moments[entry.group] += entry.mass_kg * entry.x_mm
        counts[entry.group] += 1
    rows: list[list[Cell]] = [
        [bold(group), str(counts[group]), number(total, 1), number(moments[group] / total if total else 0.0)]
        for group, total in masses.items()
    ]
    rows.append([bold("all together"), "", bold(number(sum(masses.values()), 1)), ""])
    return table(
        [
            column("Group", 60.0),
            column("Items", "auto", "right"),
            column("Mass, kg", "auto", "right"),
            column("Centre x, mm", "auto", "right"),
        ],
        rows,
    )


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
        column("Wire"), column("Colour"), column("mm²", "auto", "right"), column("Cut, mm", "auto", "right"), column("Runs", "auto", "right"), column("Tails", "auto", "right"),
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
                    bold("no way" if length is None else number(length.cut_mm)),
                    *sums,
                    strips,
                    *crimps,
                ]
            )
        blocks += [heading(f"{loom.loom.name} ({loom.loom.ref}): {number(loom.cut_mm / 1000, 1)} m"), table(columns, rows, size=8.5)]
    pages.add("Cut list", [*blocks, *splices_pairs(study)])


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


def connectors(study: Study, pages: Pages) -> None:
    """Each connector from both sides, with its table."""
    used = sorted({pin.rpartition(".")[0] for pin in study.wires.wires_at if "." in pin}, key=natural)
    blocks: list[Block] = [
        para(
            "Each connector from both sides: left as the wires go in, right as it meets its partner. Numbers are those moulded on the plug. A crossed disc is a blanking plug; an empty way that wants none is left blank."
        )
    ]
    hv_blocks: list[Block] = []
    for ref in used:
        device, _, name = ref.partition(".")
        connector = study.conversion.connector[device, name]
        is_hv = any(cavity.role.startswith(("hv", "ac", "phase")) for cavity in connector.cavities)
        file = None
        width = 0.0
        if connector.kind != "stud":
            file = f"face-{ref}.svg"
            drawing = both_faces(connector, filling_of(study.conversion, ref, study.wires), is_hv=is_hv)
            pages.pictures[file] = drawing
            width = min(drawing.width_mm, 170.0)
        ways = len(connector.cavities)
        scale = f", {ways} way{'s' if ways > 1 else ''}, drawn {scale_for(connector):g}:1" if file else ", stud"
        block = {
            "kind": "connector",
            "ref": ref,
            "name": f"{study.conversion.device[device].name}{scale}{', HV' if is_hv else ''}",
            "file": file,
            "width_mm": width,
            "table": _connector_table(study, ref),
        }
        (hv_blocks if is_hv else blocks).append(block)
    pages.add("Connectors", blocks)
    if hv_blocks:
        pages.add("High-voltage connectors", [caution("WARNING", HV_WARNING), *hv_blocks], hv=True)


def _connector_table(study: Study, ref: str) -> Block:
    conversion = study.conversion
    device, _, name = ref.partition(".")
    ends = {(end.pin, end.wire): end for end in study.wires.ends}
    cores = {f"{core.cable}/{core.core}": core for core in conversion.cable_cores}
    plugs = {item.pin: item.plug for item in study.wires.open_cavities if item.plug is not None}
    rows: list[list[Cell]] = []
    for cavity in conversion.connector[device, name].cavities:
        pin = f"{ref}.{cavity.ref}"
        refs = study.wires.wires_at.get(pin, ())
        for wire_ref in refs:
            if wire_ref in conversion.wire:
                wire = conversion.wire[wire_ref]
                end = ends[pin, wire_ref]
                other = wire.to_pin if wire.from_pin == pin else wire.from_pin
                seal = f", {end.seal.ref}" if end.seal else ""
                rows.append(
                    [
                        bold(cavity.ref),
                        wire_ref,
                        colour(wire.colour),
                        f"{wire.section_mm2:g}",
                        _where(study, other),
                        wire.meaning,
                        f"{end.terminal.ref}{seal}",
                    ]
                )
            else:
                core = cores[wire_ref]
                other = core.to_pin if core.from_pin == pin else core.from_pin
                cable = next(item for item in conversion.cables if item.ref == core.cable)
                section = f"{conversion.cable_type[cable.cable_type].section_mm2:g}"
                rows.append([bold(cavity.ref), wire_ref, colour("OG"), section, _where(study, other), cable.meaning, cavity.terminal])
        if not refs:
            plug = plugs.get(pin)
            rows.append(
                [bold(cavity.ref), soft("blanking plug" if plug else "empty"), "", "", "", soft(cavity.name), plug.ref if plug else ""]
            )
    columns = [
        column("Cavity", 11.0),
        column("Wire", 20.0),
        column("Colour", 23.0),
        column("mm²", 10.0, "right"),
        column("Goes to", 43.0),
        column("Purpose", "1fr"),
        column("Terminal, seal", 21.0),
    ]
    return table(columns, rows, size=8.5)


def _where(study: Study, pin: str) -> str:
    device = study.conversion.device.get(pin.partition(".")[0])
    return f"{pin} {device.name}" if device else f"{pin} {study.conversion.splice[pin].meaning}"


def tests(study: Study, pages: Pages) -> None:
    """Pin to pin, with boxes to write in."""
    blocks: list[Block] = [
        para("Each loom on its board, nothing plugged in. Ohms from pin to pin first, then each group of pins against all others: that must be open."),
        small("Expect: copper at 20 °C by length and section. It passes up to that plus, for each connection, 5 mΩ or what the catalogue gives its terminal, whichever is more (published: a gearbox maker's service manual). Use a meter that reads milliohms with four leads, or write down what the leads alone read and take it off."),
    ]  # fmt: skip
    columns = [
        column("No", "auto", "right"),
        column("Between", 24.0),
        column("and", 24.0),
        column("Wires", "1fr"),
        column("Expect, mΩ", "auto", "right"),
        column("Passes to", "auto", "right"),
        column("If not, look at", 34.0),
        column("Found", 16.0),
        column("By", 12.0),
    ]
    for loom in study.routing.looms:
        readings = study.readings[loom.loom.ref]
        rows: list[list[Cell]] = [
            [
                str(index),
                bold(reading.between[0]),
                bold(reading.between[1]),
                ", ".join(reading.wires),
                number(reading.expected, 1),
                number(reading.high, 1),
                reading.suspect,
                BOX,
                BOX,
            ]
            for index, reading in enumerate(readings, start=1)
        ]
        groups = len(study.nets[loom.loom.ref])
        opens = (
            ""
            if groups < 2
            else f"Open: each of the {groups} groups of pins against all the others together: no reading under 1 MΩ (common practice). Found by ______________"
        )
        blocks += [
            heading(f"{loom.loom.name} ({loom.loom.ref})"),
            table(columns, rows, size=8.5, group=0),
            *([small(opens)] if opens else []),
            {"kind": "sign"},
        ]
    pages.add("Test sheet, pin to pin", blocks)


def fuses(study: Study, pages: Pages) -> None:
    """Fuses with what they guard, and the voltage lost on the way to each load."""
    result, conversion = study.wires, study.conversion
    if not result.fuses:
        return
    rows: list[list[Cell]] = [
        [
            bold(fuse.ref), f"{fuse.rating_a:g}", number(fuse.current_a, 1), f"{number(100 * fuse.current_a / fuse.rating_a)} %" if fuse.rating_a else "",
            fuse.case, ", ".join(fuse.wires), ", ".join(conversion.load[load].name for load in fuse.loads),
        ]
        for fuse in sorted(result.fuses, key=lambda item: natural(item.ref))
    ]  # fmt: skip
    columns = [
        column("Fuse"),
        column("A", "auto", "right"),
        column("Carries, A", "auto", "right"),
        column("Share", "auto", "right"),
        column("In the case", 24.0),
        column("Wires behind it", 44.0),
        column("Loads", "1fr"),
    ]
    limit = conversion.shop.voltage_drop_max_percent
    drops: list[list[Cell]] = [
        [
            bold(drop.load),
            ", ".join(drop.wires),
            number(drop.length_m, 1),
            drop.case,
            number(drop.drop_v, 2),
            number(drop.drop_percent, 1),
            number(drop.hot_drop_percent, 1),
            f"{limit:g}",
        ]
        for drop in sorted(result.drops, key=lambda item: -item.drop_percent)
    ]
    drop_columns = [
        column("Load", 36.0),
        column("Wires behind the fuse", "1fr"),
        column("m", "auto", "right"),
        column("Worst case", 24.0),
        column("V", "auto", "right"),
        column("%", "auto", "right"),
        column("% hot", "auto", "right"),
        column("Limit", "auto", "right"),
    ]
    blocks = [
        table(columns, rows, size=8.5),
        small(f"Carries: all loads that the case names at once, steady, starting peaks left out. Limit {100 * conversion.shop.fuse_load_share_max:.0f} % of the rating (setting of this shop, common practice)."),
        heading("Voltage lost on the way"),
        table(drop_columns, drops, size=8.5),
        small(f"Copper of supply and ground wires behind the fuse, of {conversion.supply.voltage_v:g} V, at {conversion.shop.drop_temperature_c:g} °C; hot: each wire at the hottest zone that it passes, with 0.00393 per kelvin (published: IEC 60028)."),
    ]  # fmt: skip
    pages.add("Fuses and voltage drop", blocks)


def parts(study: Study, pages: Pages) -> None:
    """What has to be bought."""
    blocks: list[Block] = []
    groups = list(dict.fromkeys(line.group for line in study.parts_list))
    total = 0.0
    for group in groups:
        lines = [line for line in study.parts_list if line.group == group]
        total += sum(line.price_eur or 0.0 for line in lines)
        rows: list[list[Cell]] = [
            [
                bold(line.code),
                line.name,
                number(line.quantity, 1 if line.unit else 0),
                line.unit,
                number(line.spare) if line.spare else "",
                "" if line.price_eur is None else number(line.price_eur, 2),
                line.used_for,
            ]
            for line in lines
        ]
        columns = [
            column("Code", 27.0),
            column("What", "1fr"),
            column("Quantity", "auto", "right"),
            column("", 6.0),
            column("of it spare", "auto", "right"),
            column("EUR", "auto", "right"),
            column("For", 42.0),
        ]
        blocks += [heading(f"{group.capitalize()}: {_money(lines)}"), table(columns, rows, size=8.5)]
    blocks.append(
        small(
            f"All together {number(total, 2)} EUR where a price is given. Wire and tube without waste; spare {study.conversion.shop.spare_terminals_percent:g} % of terminals, seals and plugs, rounded up (common practice)."
        )
    )
    pages.add("Parts list", blocks)


def _money(lines: list[PartLine]) -> str:
    """What a group costs, and how many of its lines have no price."""
    unknown = sum(line.price_eur is None for line in lines)
    if unknown == len(lines):
        return "no prices given"
    missing = f", {unknown} without a price" if unknown else ""
    return f"{number(sum(line.price_eur or 0.0 for line in lines), 2)} EUR{missing}"


def splices_pairs(study: Study) -> list[Block]:
    """Where splices lie, and how pairs are twisted."""
    conversion = study.conversion
    ends = {pin: refs for pin, refs in study.wires.wires_at.items() if pin in conversion.splice}
    blocks: list[Block] = []
    if ends:
        rows: list[list[Cell]] = [
            [
                bold(splice.ref), splice.loom, splice.run, splice.from_point, number(splice.at_mm), splice.terminal, splice.sleeve or "",
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
            column("Crimp"),
            column("Sleeve"),
            column("Wires", 46.0),
            column("Meaning", "1fr"),
        ]
        blocks += [heading("Splices"), table(columns, rows, size=8.5), small("Measured along the run from the point named.")]
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


def holes(study: Study, pages: Pages) -> None:
    """Every hole to drill, and what became of every old wire."""
    conversion = study.conversion
    blocks: list[Block] = []
    if conversion.grommets:
        rows: list[list[Cell]] = [
            [
                bold(item.ref),
                item.panel,
                _hole_place(study, item),
                f"{item.hole_mm:g}",
                f"{item.bore_mm:g}",
                str(item.holes),
                item.passes,
                BOX,
            ]
            for item in conversion.grommets
        ]
        columns = [
            column("Ref"),
            column("Panel", 40.0),
            column("Place, mm", 34.0),
            column("Hole, mm", "auto", "right"),
            column("Bore", "auto", "right"),
            column("Holes", "auto", "right"),
            column("Passes", "1fr"),
            column("By", 14.0),
        ]
        blocks += [
            heading("Holes and grommets"),
            table(columns, rows, size=8.5, group=0),
            small("Place of the route point: x rearwards, y to the right, z up. A hole can decide registration: ask before drilling."),
        ]
    if conversion.old_wires:
        rows = [
            [
                bold(wire.ref),
                wire.old_wire,
                wire.ended_at,
                bold(wire.answer) if wire.answer else bold("OPEN"),
                wire.how or wire.note,
                wire.pin,
            ]
            for wire in conversion.old_wires
        ]
        columns = [
            column("Ref"),
            column("Old wire", 44.0),
            column("Ended at", 26.0),
            column("Answer", 18.0),
            column("How", "1fr"),
            column("Pin"),
        ]
        blocks += [heading("Old wires that ended at what is gone"), table(columns, rows, size=8.5, group=1)]
    if blocks:
        pages.add("Holes and old wires", [*blocks, caution("NOTICE", APPROVAL_NOTICE)])


def _hole_place(study: Study, item: Grommet) -> str:
    conversion = study.conversion
    if item.point is not None:
        point = conversion.point[item.point]
        return f"{item.point}: {number(point.x_mm)} / {number(point.y_mm)} / {number(point.z_mm)}"
    return f"on run {item.run}"


def boards(study: Study, pages: Pages, drawings: Mapping[str, Drawing]) -> None:
    """Each board small, how to print it, and where its pegs are drilled."""
    if not study.boards:
        return
    blocks: list[Block] = [
        para("The boards themselves are files of their own, at full size: one sheet for a plotter, and the same cut into A4 and A3. Print at 100 %, no fitting to the page."),
        para("Measure both bars of the first sheet. If 100 mm came out as something else, make the book again with the options --bar-x and --bar-y followed by what you found, and print again. Sheets on which nothing of the loom lies are left out; the small map on each sheet shows which there are. Join the sheets by the crosses with the same name, check the long bars of the board with a steel rule, and only then drill."),
        caution("NOTICE", "Paper grows with damp, by 0.1 to 0.2 % (from memory, to be confirmed): read the bars along both edges on the day on which you drill."),
    ]  # fmt: skip
    for ref, board in study.boards.items():
        loom = study.conversion.loom[ref]
        pages.pictures[f"board-{ref}.svg"] = drawings[ref]
        blocks += [
            {"kind": "break"},
            heading(f"{loom.name} ({ref}), sheet {number(board.size_mm[0])} × {number(board.size_mm[1])} mm"),
            picture(
                f"board-{ref}.svg",
                170.0,
                f"Board {board_number(study, ref)}, not to scale here; laid by {board.method}, which finds a way that fits but proves no best one.",
            ),
            heading("Pegs to drill, mm from the lower left corner of the board"),
            _peg_table(board.pegs),
        ]
    pages.add("Loom boards", blocks)


def _peg_table(pegs: tuple[Any, ...]) -> Block:
    per_row = 4
    lines = -(-len(pegs) // per_row)
    rows: list[list[Cell]] = []
    for line in range(lines):
        row: list[Cell] = []
        for part in range(per_row):
            index = part * lines + line
            row += (
                [bold(str(pegs[index].number)), number(pegs[index].at[0], 1), number(pegs[index].at[1], 1)]
                if index < len(pegs)
                else ["", "", ""]
            )
        rows.append(row)
    columns = [
        item for _ in range(per_row) for item in (column("Peg", "1fr", "right"), column("x", "1fr", "right"), column("y", "1fr", "right"))
    ]
    return table(columns, rows, size=8.5)
