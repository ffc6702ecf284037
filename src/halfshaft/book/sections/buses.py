"""The CAN buses: their line, the ohms to read on them, and what is said on them."""

from __future__ import annotations

from halfshaft.book.blocks import Block, Cell, bold, column, facts, heading, number, picture, small, table
from halfshaft.book.frame import Pages, count
from halfshaft.drawings.bus_line import bus_line
from halfshaft.studies.buses.load import BusLoad
from halfshaft.studies.buses.ohms import PlugOhms
from halfshaft.studies.buses.study import BusResult
from halfshaft.studies.looms.benches import TOLERANCE
from halfshaft.study import Study

SIZE = 8.5
HELD = "\u00a0"  # keeps a number and its unit on one line


def buses(study: Study, pages: Pages) -> None:
    """Bus by bus: the line from end to end, then ohms, then messages."""
    blocks: list[Block] = []
    for bus in study.buses.values():
        if bus.pieces or bus.load:
            blocks += [heading(f"Bus {bus.ref}"), facts(*_facts(bus))]
            blocks += _line(study, bus, pages) + _ohms(bus) + (_messages(bus.load) if bus.load else [])
    if blocks:
        pages.add("CAN buses", blocks)


def _facts(bus: BusResult) -> list[tuple[str, str]]:
    rows = [("Bit rate", f"{bus.bit_rate_kbit_per_s:g}{HELD}kbit/s")]
    if bus.pieces:
        ends = [f"{item.unit} {item.ohm:.0f}{HELD}Ω{f' by {item.contact}' if item.contact else ', built in'}" for item in bus.fitted]
        idle = [f"{item.unit} {item.ohm:.0f}{HELD}Ω ({item.contact})" for item in bus.terminators if not item.is_in]
        stubs = (
            f"; {count(len(bus.stubs), 'stub')}, {' and '.join(f'{stub.length_mm / 1000:.2f}{HELD}m' for stub in bus.stubs)}"
            if bus.stubs
            else ""
        )
        rows += [
            ("Length", f"{bus.trunk_mm / 1000:.2f}{HELD}m from end to end{stubs}"),
            ("Terminators", "; not in use: ".join((", ".join(ends) or "none is known", *([", ".join(idle)] if idle else [])))),
        ]
    if bus.load:
        rows.append(
            (
                "Load",
                f"{number(bus.load.load_percent, 1)}{HELD}% with the most that stuffing adds, {number(bus.load.least_percent, 1)}{HELD}% without it; {count(len(bus.load.messages), 'message')}",
            )
        )
    return rows


def _line(study: Study, bus: BusResult, pages: Pages) -> list[Block]:
    if not bus.order:
        return []
    drawing, file = bus_line(bus), f"bus-{bus.ref}.svg"
    pages.pictures[file] = drawing
    units = [f"{station.name} {study.conversion.device[station.name].name}" for station in bus.order if station.is_unit]
    stubs = [
        f"{' and '.join(f'{unit} {study.conversion.device[unit].name}' for unit in stub.units) or 'an open end'}, {stub.length_mm / 1000:.2f}{HELD}m"
        for stub in bus.stubs
    ]
    on_stubs = f"; on a stub: {'; '.join(stubs)}" if stubs else ""
    words = f"Not to scale. Between units: cut length of the wires, so a little more than the way they lie. In their order: {', '.join(units)}{on_stubs}."
    return [picture(file, drawing.width_mm, words)]


def _ohms(bus: BusResult) -> list[Block]:
    if not bus.ohms:
        return []
    rows: list[list[Cell]] = [
        [
            bold(f"{item.plug} pulled" if item.plug else "all plugged in"),
            " and ".join(_ohm(value) for value in item.there),
            _elsewhere(item),
        ]
        for item in bus.ohms
    ]
    meanings: list[list[Cell]] = [[bold(_ohm(item.ohm)), item.words] for item in bus.meanings]
    return [
        heading(f"Bus {bus.ref}, ohms between H and L"),
        small(
            f"12 V off, and units asleep for some minutes: a bus that is awake shows nonsense. Computed with the copper of the wires; terminators are taken for parts of ± 5 %{_within(bus)}. At a pulled plug: on the side of its wires, each of its pairs. The sheet to fill is “bus”."
        ),
        table([column("State"), column("At that plug, Ω", 40.0), column("Elsewhere, Ω", "1fr")], rows, size=SIZE),
        small("Everything plugged in, and the meter shows:"),
        table([column("Ω", 18.0, "right"), column("What it says", "1fr")], meanings, size=SIZE, group=0),
    ]


def _within(bus: BusResult) -> str:
    """What is still right with everything plugged in."""
    ohm = bus.ohms[0].elsewhere[0][0] if bus.ohms[0].elsewhere else None
    share = TOLERANCE["resistor"]
    return "" if ohm is None else f", so {number(ohm * (1 - share))} to {number(ohm * (1 + share))} with everything plugged in is right"


def _elsewhere(item: PlugOhms) -> str:
    """Readings at the other plugs, all in one where they are alike."""
    if len(item.elsewhere) == 1:
        return f"{_ohm(item.elsewhere[0][0], 0)} at {'all others' if item.plug else 'every plug'}"
    return "; ".join(f"{_ohm(value, 0)} at {', '.join(plugs)}" for value, plugs in item.elsewhere)


def _ohm(value: float | None, decimals: int = 1) -> str:
    return "open" if value is None else number(value, decimals)


def _messages(load: BusLoad) -> list[Block]:
    rows: list[list[Cell]] = [
        [
            bold(f"{item.frame_id:0{8 if item.is_extended else 3}X}"),
            item.name,
            ", ".join(item.senders) or "not said",
            str(item.length_bytes),
            f"{item.cycle_ms:g}" if item.cycle_ms else "not said",
            str(item.bits),
            number(item.load_percent, 2) if item.cycle_ms else "",
            number(item.response_ms, 2) if item.response_ms is not None else "not bounded" if item.cycle_ms else "",
        ]
        for item in load.messages
    ]
    columns = [
        column("Id, hex"),
        column("Message", "1fr"),
        column("Sent by", 26.0),
        column("Bytes", "auto", "right"),
        column("Every, ms", "auto", "right"),
        column("Bits at most", "auto", "right"),
        column("% of the bus", "auto", "right"),
        column("Sent at latest, ms", "auto", "right"),
    ]
    return [
        heading("Messages, in the order of their turn"),
        table(columns, rows, size=SIZE),
        small(
            "Bits: frame, gap and the most bits that stuffing may add. Sent at latest: after it is ready, when all units send at once and a long message of a later turn has just begun; no unit queues out of turn (published: Davis, Burns, Bril and Lukkien, Real-Time Systems 35, 2007). What is sent again after an error is not in it."
        ),
    ]
