"""The test sheets of the looms and of the bus, with boxes to write in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from halfshaft.book.blocks import BOX, Block, Cell, bold, caution, column, heading, number, para, small, table
from halfshaft.book.frame import DEFER, Pages
from halfshaft.model.reading import ALL_OTHERS, Reading
from halfshaft.studies.looms.benches import Bench
from halfshaft.studies.looms.bus import ALL_PLUGGED_IN
from halfshaft.studies.looms.routing import LaidLoom
from halfshaft.study import Study

VOLTAGE_CAUTION = (
    "This sheet is for an ohmmeter on a loom that nothing feeds. Tests with a voltage (insulation, withstand) only with controllers, "
    "suppressors and lamps unplugged, by people trained for them; high-voltage looms and cables by qualified people only. " + DEFER
)
SIZE = 8.5


def tests(study: Study, pages: Pages) -> None:
    """Every loom's sheet, then the bus when everything is plugged in."""
    blocks: list[Block] = [
        caution("CAUTION", VOLTAGE_CAUTION),
        para("Every loom, line by line: ohms from pin to pin, then what must be open, then what is plugged in. Write what the meter shows, or “open” where it shows no reading. The same lines to fill on a screen are in the folder tests; “halfshaft test” reads them back and names the likely fault."),
        small("Expect: copper at 20 °C by length and section. It passes up to that plus, for each connection, 5 mΩ or what the catalogue gives its terminal, whichever is more (published: a gearbox maker's service manual). Use a meter that reads milliohms with four leads, or write down what the leads alone read and take it off."),
        small("Open: 1 MΩ or more on the ohms range (common practice). With a test plug that joins all other pins a group takes one reading. Without one, measure each cavity against its neighbours in the plug first, since strands and bent terminals touch there, then against one pin of each other group."),
    ]  # fmt: skip
    for loom in study.routing.looms:
        blocks += _loom(loom, study.benches[loom.loom.ref], study.readings[loom.loom.ref], study.unreached[loom.loom.ref])
    blocks += _bus(study)
    pages.add("Test sheet, pin to pin", blocks)


def _loom(loom: LaidLoom, bench: Bench, readings: Sequence[Reading], unreached: Sequence[str]) -> list[Block]:
    blocks: list[Block] = [heading(f"{loom.loom.name} ({loom.loom.ref})")]
    for state, lines in groupby(readings, key=lambda item: item.state):
        kept = list(lines)
        blocks.append(para(_state_words(state, bench)))
        blocks += _milliohms(item for item in kept if item.unit == "mΩ")
        blocks += _open_groups(bench, [item for item in kept if item.between[1] == ALL_OTHERS])
        blocks += _parts(item for item in kept if item.unit != "mΩ" and item.between[1] != ALL_OTHERS)
    return [*blocks, *_notes(bench, unreached), {"kind": "sign"}]


def _state_words(state: str, bench: Bench) -> str:
    if state == bench.bare:
        return f"{state[:1].upper()}{state[1:]}."
    return (
        f"{state[:1].upper()}{state[1:]}, nothing powered. Pins at these plugs are reached from behind, with a thin probe beside the wire."
    )


def _notes(bench: Bench, unreached: Sequence[str]) -> list[Block]:
    notes: list[Block] = []
    if unreached:
        notes.append(
            small(
                f"No reading here reaches {', '.join(unreached)}: a contact that is open at rest lies before it. Look at it, or test it in the car."
            )
        )
    if bench.no_rest_state:
        notes.append(small(f"Taken as open at rest, as the catalogue does not say: {', '.join(bench.no_rest_state)}."))
    if bench.screens:
        notes.append(
            small(
                "A screen is tested for touching a core. Whether it conducts from end to end is felt at its free end, where no cavity is."
            )
        )
    return notes


def _milliohms(readings: Iterable[Reading]) -> list[Block]:
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
    rows: list[list[Cell]] = [
        [
            str(item.number),
            bold(item.between[0]),
            bold(item.between[1]),
            ", ".join(item.wires),
            number(item.expected or 0.0, 1),
            number(item.high or 0.0, 1),
            item.suspect,
            BOX,
            BOX,
        ]
        for item in readings
    ]
    return [table(columns, rows, size=SIZE, group=0)] if rows else []


def _open_groups(bench: Bench, readings: Sequence[Reading]) -> list[Block]:
    """One line a group; and one a plug for its cavities that hold nothing."""
    free = set(bench.open_cavities)
    pins = {group.pins[0]: group.pins[1:] for group in bench.groups}
    columns = [
        column("No", "auto", "right"),
        column("One lead on", 24.0),
        column("joined with", 50.0),
        column("Wires", "1fr"),
        column("Open to all others", 30.0),
        column("If not, Ω", 16.0),
        column("By", 12.0),
    ]
    rows: list[list[Cell]] = [
        [str(item.number), bold(item.between[0]), ", ".join(pins[item.between[0]]), ", ".join(item.wires), BOX, BOX, BOX]
        for item in readings
        if item.between[0] not in free
    ]
    plug_columns = [
        column("No", "auto", "right"),
        column("Plug", 24.0),
        column("Cavities with no wire of this loom: empty, and open to every pin", "1fr"),
        column("Open", 30.0),
        column("If not, which", 28.0),
    ]
    empty = [item for item in readings if item.between[0] in free]
    plug_rows: list[list[Cell]] = []
    for plug, found in groupby(empty, key=lambda item: item.between[0].rpartition(".")[0]):
        lines = list(found)
        numbers = f"{lines[0].number}" if len(lines) == 1 else f"{lines[0].number}–{lines[-1].number}"
        plug_rows.append([numbers, bold(plug), ", ".join(item.between[0].rpartition(".")[2] for item in lines), BOX, BOX])
    blocks = [table(columns, rows, size=SIZE, group=0)] if rows else []
    return [*blocks, table(plug_columns, plug_rows, size=SIZE, group=0)] if plug_rows else blocks


def _parts(readings: Iterable[Reading]) -> list[Block]:
    """Readings across parts: ohms with both limits, diodes each way, contacts that are open."""
    columns = [
        column("No", "auto", "right"),
        column("Between", 24.0),
        column("and", 24.0),
        column("Expect", "auto", "right"),
        column("Passes", "auto", "right"),
        column("If not, look at", "1fr"),
        column("Found", 16.0),
        column("By", 12.0),
    ]
    lines = list(readings)
    rows: list[list[Cell]] = [
        [str(item.number), bold(item.between[0]), bold(item.between[1]), _expect(item), _passes(item), item.suspect, BOX, BOX]
        for item in lines
    ]
    notes = []
    if any(item.quantity == "resistance" for item in lines):
        notes.append("Coils ±10 %, resistors ±5 % (common practice); where the data sheet says otherwise, that counts.")
    if any(item.quantity == "diode" for item in lines):
        notes.append("Diodes: red lead on the first pin, diode range; 0.2 to 0.9 V one way and no reading the other (common practice).")
    return [table(columns, rows, size=SIZE, group=0), *([small(" ".join(notes))] if notes else [])] if rows else []


def _expect(item: Reading) -> str:
    return "open" if item.expected is None else f"{number(item.expected, 1)} {item.unit}"


def _passes(item: Reading) -> str:
    if item.quantity == "open":
        return "over 1 MΩ"
    if item.high is None:
        return f"over {number(item.low, 1)} {item.unit}"
    return f"{number(item.low, 1)} to {number(item.high, 1)}"


def _bus(study: Study) -> list[Block]:
    """Readings between H and L of the whole car."""
    if not study.bus_readings or study.bus_bench is None:
        return []
    resistors = [branch for branch in study.bus_bench.states[ALL_PLUGGED_IN].values() if branch.kind == "resistor"]
    contacts = [branch.ref for branch in study.bus_bench.states[ALL_PLUGGED_IN].values() if branch.kind == "open contact"]
    words = ", ".join(f"{branch.ref} {branch.ohm:g} Ω" for branch in resistors)
    idle = f" Not in while these are open: {', '.join(contacts)}." if contacts else ""
    columns = [
        column("No", "auto", "right"),
        column("Plug pulled", 24.0),
        column("H", "1fr"),
        column("L", "1fr"),
        column("Expect", "auto", "right"),
        column("Passes", "auto", "right"),
        column("Found", 20.0),
        column("By", 16.0),
    ]
    rows: list[list[Cell]] = [
        [
            str(item.number),
            "none" if item.state == ALL_PLUGGED_IN else bold(item.between[0].rpartition(".")[0]),
            item.between[0],
            item.between[1],
            _expect(item),
            _passes(item),
            BOX,
            BOX,
        ]
        for item in study.bus_readings
    ]
    return [
        heading("Bus, when everything is plugged in"),
        para("In the car, 12 V battery's minus off, all units plugged in. First with no plug pulled, from behind; then pull one plug after the other, read on the side of its wires, and plug it in again."),
        table(columns, rows, size=SIZE, group=0),
        small(f"From the parts' own resistors: {words}.{idle} Two of 120 Ω read 60, one reads 120, three read 40, none reads open (circuit theory). Near nought: H and L touch."),
        {"kind": "sign"},
    ]  # fmt: skip
