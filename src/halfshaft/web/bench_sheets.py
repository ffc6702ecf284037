"""What the bench works through, line by line: the wires of a loom in laying order, or the lines of a test sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from pydantic import BaseModel

from halfshaft.book.sections.commissioning import STOP, figure
from halfshaft.book.sections.laying import STAGES
from halfshaft.drawings.bench import bench_board
from halfshaft.drawings.board_notes import filling_of
from halfshaft.drawings.colours import tones
from halfshaft.drawings.faces import wire_side
from halfshaft.drawings.labels import Label, labels_of
from halfshaft.model.finding import HV_CAUTION
from halfshaft.model.reading import ALL_OTHERS, Reading
from halfshaft.pens.svg import svg
from halfshaft.records.values import NotThere, Work
from halfshaft.records.values import Step as Kept
from halfshaft.studies.commissioning.records import SHEET
from halfshaft.studies.commissioning.words import expected_words, passes_words
from halfshaft.studies.looms.bus import BUS
from halfshaft.studies.looms.on_board import lines_of
from halfshaft.studies.looms.routing import LaidLoom, LaidWire
from halfshaft.study import Study
from halfshaft.web.shelf import Held

# What a stop line of the electrics is called among the items of their sheet.
STAGE = "stage "


class End(BaseModel):
    """A test point or the end of a wire. `connector` and `cavity` are blank for what is no cavity: a splice, a stud's place, a case."""

    pin: str
    connector: str = ""
    cavity: str = ""
    words: str = ""


class Face(BaseModel):
    """The face of a connector from the wire side; the middle and breadth of each cavity, in the picture's units."""

    svg: str
    cells: dict[str, tuple[float, float, float]]


class Item(BaseModel):
    """One line of the work: a wire to lay, a reading to take, or a stop before the next stage."""

    item: str
    kind: str
    title: str
    ends: list[End] = []
    words: list[tuple[str, str]] = []
    # Of a wire.
    colour: str = ""
    tones: list[str] = []
    section: str = ""
    cut: str = ""
    # Of a reading.
    quantity: str = ""
    unit: str = ""
    expect: str = ""
    passes: str = ""
    low: float = 0.0
    high: float | None = None
    # Optional lines are measured only where another of their part fails.
    is_optional: bool = False
    part: str = ""


class Said(BaseModel):
    """What was said last of an item: `state` is done (of a reading: it passes) or problem, `found` what the meter showed."""

    id: str
    state: str
    found: str
    note: str
    by: str
    at: datetime


class WorkSheet(BaseModel):
    """All that the bench needs for one loom or sheet, so that it goes on without a connection."""

    conversion: str
    revision: str
    sheet: str
    name: str
    work: Work
    caution: str
    board: str
    faces: dict[str, Face]
    items: list[Item]
    said: dict[str, Said]


class Bench(BaseModel):
    """A sheet in the list of what can be worked through: how many lines it has, and how far it is."""

    sheet: str
    name: str
    work: Work
    revision: str
    of: int
    done: int
    problems: int


def owners(study: Study) -> tuple[Study, ...]:
    """The car's own looms, and those inside its battery boxes."""
    return (study, study.sensing) if study.sensing else (study,)


def owner_of(study: Study, loom: str) -> tuple[Study, LaidLoom]:
    """The study that a loom is in, and the loom. Raises NotThere."""
    for owner in owners(study):
        for laid in owner.routing.looms:
            if laid.loom.ref == loom:
                return owner, laid
    raise NotThere(f"there is no loom {loom} in this revision")


def laying_items(study: Study, loom: str) -> list[str]:
    """The refs of a loom's wires that can be laid."""
    _, laid = owner_of(study, loom)
    return [wire.wire.ref for wire in laid.wires if wire.length is not None]


def readings_of(study: Study, sheet: str) -> tuple[Reading, ...]:
    """The lines of a sheet to be filled by hand: of a loom, of the cells in a box, of the bus, of the electrics. Raises NotThere."""
    found = next((owner.readings[sheet] for owner in owners(study) if sheet in owner.benches), ())
    if sheet in study.probe_sheets:
        found = study.probe_sheets[sheet].readings
    elif sheet in (BUS, SHEET):
        found = study.bus_readings if sheet == BUS else study.commissioning.readings
    if not found:
        raise NotThere(f"there is no test sheet {sheet} in this revision")
    return found


def testing_items(study: Study, sheet: str) -> list[str]:
    """The items of a test sheet: the numbers of its lines, and the stops of the electrics."""
    numbers = [str(reading.number) for reading in readings_of(study, sheet)]
    return [*numbers, *(STAGE + stage.key for stage in study.commissioning.stages)] if sheet == SHEET else numbers


def titles(study: Study) -> Iterator[tuple[str, str, Work, int]]:
    """Everything that can be worked through, in the order of work: mark, name, kind of work, how many lines."""
    for owner in owners(study):
        for laid in owner.routing.looms:
            loom, name = laid.loom.ref, laid.loom.name
            yield loom, name, "lay", len(laying_items(study, loom))
            yield loom, name, "test", len(owner.readings[loom])
    for sheet in study.probe_sheets:
        yield sheet, _sheet_name(study, sheet), "test", len(readings_of(study, sheet))
    for sheet, lines in ((BUS, study.bus_readings), (SHEET, study.commissioning.readings)):
        yield sheet, _sheet_name(study, sheet), "test", sum(not item.is_optional for item in lines)


def _sheet_name(study: Study, sheet: str) -> str:
    if sheet in study.probe_sheets:
        return f"Cell volts, {sheet.removeprefix('sense-')}"
    if sheet in (BUS, SHEET):
        return {BUS: "Bus, everything plugged in", SHEET: "Commissioning of the electrics"}[sheet]
    return owner_of(study, sheet)[1].loom.name


def laying_sheet(held: Held, loom: str, *, conversion: str, revision: str, said: Mapping[str, Said]) -> WorkSheet:
    """The wires of a loom in laying order; waits until the boards are laid and the diagrams drawn."""
    held.boards()
    sheets = held.diagrams().references.wires
    owner, laid = owner_of(held.study, loom)
    labels: dict[str, list[Label]] = {}
    for label in labels_of(owner.conversion, owner.routing, sheets):
        labels.setdefault(label.wire, []).append(label)
    wires = {wire.wire.ref: wire for wire in laid.wires}
    items = [
        _wire(owner, wires[line.wire], labels[line.wire], stage=line.stage, pegs=line.pegs, closes=line.closes)
        for line in owner.run_out[loom]
    ]  # fmt: skip
    return WorkSheet(
        conversion=conversion, revision=revision, sheet=loom, name=laid.loom.name, work="lay", caution="", board=_board(owner, laid),
        faces=_faces(held.study, items), items=items, said=dict(said),
    )  # fmt: skip


def _board(owner: Study, laid: LaidLoom) -> str:
    board = owner.boards.get(laid.loom.ref)
    if board is None:
        return ""
    ways = {wire: [span.line for span in spans] for wire, spans in lines_of(laid, board).items()}
    ends = {wire.wire.ref: [end.connector for end in (wire.start, wire.end) if end.connector] for wire in laid.wires}
    return svg(bench_board(board, ways, ends))


def _wire(
    owner: Study, laid: LaidWire, labels: Sequence[Label], *, stage: str, pegs: Sequence[int], closes: Sequence[str]
) -> Item:  # fmt: skip
    wire = laid.wire
    assert laid.length is not None
    base, tracer = tones(wire.colour)
    others = [
        other.ref for other in owner.conversion.wires
        if other.ref != wire.ref and ((wire.twist_group and other.twist_group == wire.twist_group) or (wire.screen and other.screen == wire.screen))
    ]  # fmt: skip
    words = [
        ("Pegs", " → ".join(map(str, pegs))),
        ("Label both ends", "; ".join(filter(None, (f"{wire.ref} {wire.colour} {wire.section_mm2:g}", labels[0].diagram, wire.meaning)))),
        ("Together with", ", ".join(others)),
        ("Closes", ", ".join(closes) or "nothing yet"),
        ("Part", STAGES[stage]),
    ]
    return Item(
        item=wire.ref, kind="wire", title=wire.ref, ends=[_end(owner, wire.from_pin), _end(owner, wire.to_pin)],
        words=[(head, text) for head, text in words if text], colour=wire.colour, tones=[base, *([tracer] if tracer else [])],
        section=f"{wire.section_mm2:g} mm²", cut=f"{laid.length.cut_mm:.0f} mm",
    )  # fmt: skip


def _end(owner: Study, pin: str) -> End:
    conversion = owner.conversion
    connector, _, cavity = pin.rpartition(".")
    device, _, name = connector.partition(".")
    if (device, name) in conversion.connector and pin in conversion.cavity:
        return End(pin=pin, connector=connector, cavity=cavity, words=conversion.device[device].name)
    if pin in conversion.splice:
        wires = [wire.ref for wire in conversion.wires if pin in (wire.from_pin, wire.to_pin)]
        return End(pin=pin, words=f"splice: joins {', '.join(wires)}")
    return End(pin=pin)


def testing_sheet(held: Held, sheet: str, *, conversion: str, revision: str, said: Mapping[str, Said]) -> WorkSheet:
    """The lines of a test sheet in their order, with the stops of the electrics between them."""
    study = held.study
    readings = {reading.number: reading for reading in readings_of(study, sheet)}
    items = list(_electrics(study)) if sheet == SHEET else [_reading(study, sheet, reading) for reading in readings.values()]
    is_live = sheet == SHEET or sheet in study.probe_sheets
    return WorkSheet(
        conversion=conversion, revision=revision, sheet=sheet, name=_sheet_name(study, sheet), work="test", caution=HV_CAUTION if is_live else "",
        board="", faces=_faces(study, items), items=items, said=dict(said),
    )  # fmt: skip


def _electrics(study: Study) -> Iterator[Item]:
    """Each stage begins with its stop: what must be true before, and that every line before passes."""
    for number, stage in enumerate(study.commissioning.stages, start=1):
        words = [("Before", stage.before)] if number == 1 else [("Stop", STOP.strip()), ("Before", stage.before)]
        yield Item(item=STAGE + stage.key, kind="stage", title=f"Stage {number}: {stage.title}", words=words)
        for part in stage.parts:
            for step in study.commissioning.of(part.key):
                yield _reading(study, SHEET, step.reading, part.key, extra=[("Instrument", part.instrument), ("Note", part.note)])


def _reading(study: Study, sheet: str, reading: Reading, part: str = "", extra: Sequence[tuple[str, str]] = ()) -> Item:
    one, other = reading.between
    owner = next((owner for owner in owners(study) if sheet in owner.readings), study)
    if other == ALL_OTHERS:
        joined = next((group.pins[1:] for group in owner.benches[sheet].groups if group.pins[0] == one), ())
        words = f"joined together, but for {', '.join(joined)}" if joined else "joined together, or one after the other"
        ends = [_end(owner, one), End(pin=ALL_OTHERS, words=words)]
    else:
        ends = [_end(owner, one), _end(owner, other)]
    told = [("State", reading.state), *extra, ("Wires", ", ".join(reading.wires)), ("If not, look at", reading.suspect)]
    told += [("Only", "where a line above fails")] if reading.is_optional else []
    basis = [("Basis", "; ".join(dict.fromkeys(reading.basis.split("; "))))] if reading.basis else []
    return Item(
        item=str(reading.number), kind="reading", title=f"Line {reading.number}", ends=ends,
        words=[(head, text) for head, text in [*told, *basis] if text], quantity=reading.quantity, unit=reading.unit,
        expect=expected_words(reading, figure), passes=_passes(reading), low=reading.low, high=reading.high, is_optional=reading.is_optional, part=part,
    )  # fmt: skip


def _passes(reading: Reading) -> str:
    words = passes_words(reading, figure)
    return words if reading.quantity == "seen" or reading.high is None else f"{words} {reading.unit}"


def _faces(study: Study, items: Sequence[Item]) -> dict[str, Face]:
    """The face of every connector that an item names; a stud has none."""
    cabled = {end for cable in study.conversion.cables for end in (cable.from_connector, cable.to_connector)}
    found: dict[str, Face] = {}
    for ref in sorted({end.connector for item in items for end in item.ends if end.connector}):
        device, _, name = ref.partition(".")
        owner = next(owner for owner in owners(study) if (device, name) in owner.conversion.connector)
        connector = owner.conversion.connector[device, name]
        if connector.kind == "stud":
            continue
        face = wire_side(connector, filling_of(owner.conversion, ref, owner.wires), is_hv=ref in cabled)
        found[ref] = Face(svg=svg(face.drawing), cells={cell: _rounded(place) for cell, place in face.cells.items()})
    return found


def _rounded(place: tuple[float, float, float]) -> tuple[float, float, float]:
    x, y, breadth = place
    return round(x, 2), round(y, 2), round(breadth, 2)


def said_of(step: Kept) -> Said:
    """What the records say of an item. What a meter showed stands in the first line of the note of a test, the words below."""
    found, _, note = step.note.partition("\n") if step.work == "test" else ("", "", step.note)
    return Said(id=step.id, state=step.state, found=found, note=note, by=step.by, at=step.at)


def note_of(work: Work, found: str, note: str) -> str:
    """How the records keep both."""
    return f"{found}\n{note}" if work == "test" else note
