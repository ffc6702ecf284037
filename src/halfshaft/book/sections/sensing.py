"""Cell sensing: the wires inside each battery box, the volts at every tap, and the sheet that is filled before a plug is put on."""

from __future__ import annotations

from halfshaft.book.blocks import BOX, Block, Cell, bold, caution, colour, column, heading, number, para, small, table
from halfshaft.book.frame import DEFER, HV_WARNING, Pages
from halfshaft.model.reading import Reading
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.studies.sensing.looms import loom_of
from halfshaft.studies.sensing.sheets import ProbedModule, ProbeSheet
from halfshaft.study import Study

PROBE_CAUTION = (
    "Inside a closed string every tap is live, up to the volts of the whole battery against another box. For qualified people only, with "
    "gloves, probes and meter made for these volts, the service disconnect out and the box's high-voltage plugs off. One probe at a time, nothing else "
    "bare. A sense board takes one module's volts the right way round: a reversed or exchanged plug destroys it, and may set it on fire. "
    + DEFER
)
SIZE = 8.5


def cell_sensing(study: Study, pages: Pages) -> None:
    """Wires, volts and probe sheets, box by box."""
    inside = study.sensing
    if inside is None:
        return
    metres = sum(loom.cut_mm for loom in inside.routing.looms) / 1000
    blocks: list[Block] = [
        caution("WARNING", HV_WARNING),
        para(f"{len(inside.routing.wires)} wires, {number(metres, 1)} m, from every module to the sense board in its box. They follow from where the modules stand: move one, and its wires are cut anew. Their boards, labels and test sheets are with those of the other looms."),
        small("Way: straight along a trunk half-way between modules and lid, with branches at right angles to each plug (common practice). Plugs of a board are taken to hang half its length from its middle, plugs of modules 30 mm behind themselves. Colours run in the order of IEC 60757 from tap 0 up, neighbours never alike; never orange."),
    ]  # fmt: skip
    for box in study.conversion.boxes:
        loom = next((laid for laid in inside.routing.looms if laid.loom.ref == loom_of(study.conversion, box.ref)), None)
        if loom is not None:
            blocks += _wires(study, loom)
    pages.add("Cell sensing", blocks, hv=True)
    if study.probe_sheets:
        pages.add("Cell taps, volts before plugging", _probing(study), hv=True)


def _wires(study: Study, loom: LaidLoom) -> list[Block]:
    volts = {item.pin: item for item in study.tap_volts}
    columns = [
        column("Wire"),
        column("Colour"),
        column("mm²", "auto", "right"),
        column("Class"),
        column("From"),
        column("To"),
        column("Cut, mm", "auto", "right"),
        column("V to module minus", 22.0, "right"),
        column("V to pack minus", 22.0, "right"),
        column("Meaning", "1fr"),
    ]
    rows: list[list[Cell]] = []
    ends: list[int] = []
    for laid in loom.wires:
        wire, tap = laid.wire, volts.get(laid.wire.to_pin)
        if rows and rows[-1][4] != wire.from_pin and _device(str(rows[-1][4])) != _device(wire.from_pin):
            ends.append(len(rows))
        rows.append(
            [
                bold(wire.ref),
                colour(wire.colour),
                f"{wire.section_mm2:g}",
                wire.insulation_class,
                wire.from_pin,
                wire.to_pin,
                bold("no way" if laid.length is None else number(laid.length.cut_mm)),
                signed(tap.to_module_minus_v) if tap else "",
                signed(tap.to_pack_minus_v) if tap else "",
                wire.meaning,
            ]
        )
    return [heading(f"{loom.loom.name} ({loom.loom.ref}): {number(loom.cut_mm / 1000, 1)} m"), table(columns, rows, size=SIZE, group=ends)]


def _device(pin: str) -> str:
    return pin.partition(".")[0]


def signed(volts: float | None) -> str:
    """Volts with their sign, but nought without one."""
    if volts is None:
        return "not known"
    words = number(volts, 2)
    return f"+{words}" if volts > 0 and float(f"{volts:.2f}") else words


def _probing(study: Study) -> list[Block]:
    blocks: list[Block] = [
        caution("WARNING", PROBE_CAUTION),
        para("Fill this sheet before any plug is put on its sense board: bars bolted, plugs in the hand. Red lead on the first pin, black on the second, and write the sign as the meter shows it: a value without a sign counts as not read. From the lowest module up: nought to the module below, then cell by cell, then the sum to the minus pole of the box."),
        small("Passes: one cell between its stop and its full volts (catalogue of the module); nought within 0.1 V (common practice). All cells of a pack should be close to each other. The same lines to fill on a screen are in the folder tests; “halfshaft test” reads them back, and names which taps are reversed and which module or plug it comes from. A spreadsheet may drop a plus: write “plus 3.65” there."),
    ]  # fmt: skip
    for number_of, sheet in enumerate(study.probe_sheets.values()):
        blocks += [{"kind": "break"}] if number_of else []
        blocks.append(heading(f"Box {sheet.box} ({sheet.name}): {len(sheet.modules)} modules, {len(sheet.readings)} lines"))
        for module in sheet.modules:
            blocks += _plug(sheet, module)
        blocks.append({"kind": "sign"})
    return blocks


def _plug(sheet: ProbeSheet, module: ProbedModule) -> list[Block]:
    """The lines of one module, two side by side so that a plug stays together on its page."""
    lines = [item for item in sheet.readings if sheet.owners[item.number] == module.ref]
    half = -(-len(lines) // 2)
    columns = [
        item
        for _ in range(2)
        for item in (
            column("No", "auto", "right"),
            column("Red", "1fr"),
            column("Black", "1fr"),
            column("Expect, V", "auto", "right"),
            column("Passes", "auto"),
            column("Found, ±", 16.0),
        )
    ]
    rows: list[list[Cell]] = []
    for index in range(half):
        row = _cells(lines[index])
        rows.append([*row, *(_cells(lines[index + half]) if index + half < len(lines) else [""] * len(row))])
    plug = module.pins[0].rpartition(".")[0]
    looks = f", plus end to the {module.plus_looks}" if module.plus_looks in ("front", "rear", "left", "right") else ""
    return [heading(f"{module.ref} at plug {plug}{looks}"), table(columns, rows, size=SIZE, group=0)]


def _cells(item: Reading) -> list[Cell]:
    assert item.high is not None
    return [
        str(item.number),
        bold(item.between[0]),
        item.between[1],
        signed(item.expected),
        f"{number(item.low, 1)} to {number(item.high, 1)}",
        BOX,
    ]
