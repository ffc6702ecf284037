"""Each connector from both sides, with its table."""

from __future__ import annotations

from halfshaft.book.blocks import (
    Block,
    Cell,
    bold,
    caution,
    colour,
    column,
    para,
    soft,
    table,
)
from halfshaft.book.frame import HV_WARNING, Pages
from halfshaft.drawings.board_notes import filling_of
from halfshaft.drawings.faces import both_faces, scale_for
from halfshaft.studies.looms.continuity import natural
from halfshaft.study import Study


def connectors(study: Study, pages: Pages) -> None:
    """Each connector from both sides, with its table."""
    cabled = {end for cable in study.conversion.cables for end in (cable.from_connector, cable.to_connector)}
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
        is_hv = ref in cabled
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
                purpose = f"{cable.meaning}; {cavity.name}"
                rows.append([bold(cavity.ref), wire_ref, f"core {core.core}", section, _where(study, other), purpose, cavity.terminal])
        for screen in study.wires.screens_at.get(pin, ()):
            rows.append([bold(cavity.ref), soft("screen"), "", "", "", f"drain of screen {screen}, sleeved", cavity.terminal])
        if not refs and pin not in study.wires.screens_at:
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
