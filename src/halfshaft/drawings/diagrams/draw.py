"""A sheet of the wiring diagrams as shapes."""

from __future__ import annotations

import itertools
import math

from halfshaft.drawings.colours import tones
from halfshaft.drawings.diagrams.columns import BESIDE_MM, NAME_MM, Column
from halfshaft.drawings.diagrams.layout import MARK_MM, NAME_LENGTH_MM, SYMBOL_MM, WORDS_MM, Box, Layout, Wire
from halfshaft.drawings.diagrams.sheets import CrossReferences, Sheet
from halfshaft.drawings.diagrams.symbols import body_ground, draw_symbol, hv_sign, pin_in_socket
from halfshaft.drawings.frame import draw_frame
from halfshaft.drawings.shapes import (
    HV,
    HV_TINT,
    INK,
    PAPER,
    Drawing,
    Sketch,
    Style,
    Text,
    Track,
    moved,
    shortened,
    text_width_mm,
)
from halfshaft.drawings.sheet import Title, dots, title_block
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION
from halfshaft.studies.diagrams.units import SUPPLY_BARS, Symbol
from halfshaft.studies.looms.geometry import Path

PART = Style("PART", 0.35, INK, PAPER)
PART_IN_PART = Style("PART", 0.35, INK, PAPER, (12.0, 3.0))
HV_PART = Style("PART", 0.35, INK, HV_TINT)
HV_PART_IN_PART = Style("PART", 0.35, INK, HV_TINT, (12.0, 3.0))
LINK = Style("LINK", 0.25)
JOINT = Style("LINK", 0.1, INK, INK)
SPLICE = Style("SPLICE", 0.1, INK, INK)
SPLICE_RULE = Style("SPLICE", 0.5)
BAR = Style("BAR", 0.7)
MARK = Style("MARK", 0.35)
SCREEN = Style("MARK", 0.25)
CAVITY_TEXT, REF_TEXT, WIRE_TEXT = Style("PIN_REF", 0.25), Style("PART_REF", 0.25), Style("WIRE_REF", 0.25)
# What a unit of a sheet is in the conversion; a flag stands for a wire that goes on.
THINGS = {"part": "device", "ground": "device", "splice": "splice", "flag": "wire"}
DEVICE_HEAD_MM, PAIRED_MM = 6.0, 12.5


def diagram_drawing(conversion: Conversion, sheet: Sheet, others: CrossReferences, *, number: str, of: int) -> Drawing:
    """One whole sheet."""
    inner = Sketch()
    _bars(inner, sheet.layout)
    for wire in sheet.layout.wires:
        with inner.about(_thing(wire)):
            _wire(inner, wire)
    for box in sheet.layout.boxes:
        with inner.about(f"{THINGS[box.unit.kind]}:{box.unit.ref}"):
            _box(inner, conversion, sheet, box, others)
    for wire in sheet.layout.wires:
        with inner.about(_thing(wire)):
            _words(inner, wire)
    _pairs(inner, sheet.layout)
    sketch = Sketch()
    draw_frame(sketch, sheet.paper)
    sketch.shapes.extend(moved(shape, sheet.left_mm, sheet.bottom_mm) for shape in inner.shapes)
    _block(sketch, conversion, sheet, number, of)
    return Drawing(sheet.paper.width_mm, sheet.paper.height_mm, tuple(sketch.shapes), title=f"{sheet.name}, wiring diagram {number}")


def _thing(wire: Wire) -> str:
    return f"{'cable' if wire.line.is_hv else 'wire'}:{wire.line.ref}"


def _block(sketch: Sketch, conversion: Conversion, sheet: Sheet, number: str, of: int) -> None:
    job, (left, bottom, right, _) = conversion.job, sheet.paper.inside
    title = Title(
        owner=job.owner, kind="Wiring diagram", status=job.status, scale="none", title=sheet.name, subtitle=job.name, number=number, revision=job.revision,
        date=job.date, sheet=f"{sheet.number} / {of}", drawn=job.drawn_by, approved=job.approved_by, by_type=("Drawn state", "at rest, key off"), view="circuit diagram",
    )  # fmt: skip
    title_block(sketch, right, bottom, title)
    dots(sketch, right - 180.0 - 24.0, bottom + 4.0, 18.0, f"{number} {job.revision} {sheet.number}/{of}")
    words = ["Wire: number, colour (base-tracer, IEC 60757), mm². Where it is drawn says nothing of where it is in the car."]
    if sheet.is_hv:
        hv_sign(sketch, left + 4.0, bottom + 12.0, 15.0)
        words.append(f"{HV_CAUTION} Local rules and qualified people decide.")
    for index, line in enumerate(words):
        sketch.text(
            (left + 4.0, bottom + 2.2 + 3.8 * (len(words) - 1 - index)), shortened(line, 2.5, right - left - 218.0), 2.5, bold=index > 0
        )


def _bars(sketch: Sketch, layout: Layout) -> None:
    """Supply bars from the first line that comes from them to the last, with number and meaning before them."""
    fed = {
        bar: [box.left + column.x_mm for box in layout.boxes for column in box.width.columns if column.slot and column.slot.bar == bar]
        for bar in layout.bars
    }
    start = layout.bars_from
    for bar, y in layout.bars.items():
        sketch.line((start, y), (max(*fed[bar], start + 40.0) + 5.0, y), BAR)
        sketch.text((start - 3.0, y - 1.2), SUPPLY_BARS[bar], 2.5, anchor="end")
        sketch.text((start - 5.0 - text_width_mm(SUPPLY_BARS[bar], 2.5), y - 1.7), bar, 3.5, anchor="end", bold=True)


def _wire(sketch: Sketch, wire: Wire) -> None:
    """A wire between two edges of ink, with its tracer along the middle. A high-voltage cable is thicker, and orange."""
    path = Path.through(wire.corners)
    width = 1.5 if wire.line.is_hv else 0.9
    base, tracer = (HV, None) if wire.line.is_hv else tones(wire.line.colour)
    sketch.shapes.append(Track(path, Style("WIRE", width + 0.3, INK)))
    sketch.shapes.append(Track(path, Style("WIRE_COLOUR", width, base)))
    if tracer:
        sketch.shapes.append(Track(path, Style("WIRE_COLOUR", 0.4, tracer, None, (10.0, 5.0))))


def _words(sketch: Sketch, wire: Wire) -> None:
    for place in wire.words_at:
        sketch.shapes.append(Text(place, wire.line.words, WORDS_MM, WIRE_TEXT, angle_deg=90.0, bold=wire.line.is_hv))


def _pairs(sketch: Sketch, layout: Layout) -> None:
    """Between the two wires of a pair, one wave; round them, where they are screened, a dashed oval."""
    groups: dict[str, list[Wire]] = {}
    for wire in layout.wires:
        if wire.line.pair or wire.line.screen:
            groups.setdefault(wire.line.pair or wire.line.screen, []).append(wire)
    for name, wires in groups.items():
        places = sorted(wire.words_at[0] for wire in wires)
        if len(wires) != 2 or places[0][1] != places[1][1] or places[1][0] - places[0][0] > PAIRED_MM:
            # Not side by side: each says for itself which pair it belongs to.
            for wire in wires:
                x, y = wire.words_at[0]
                sketch.text((x, y + text_width_mm(wire.line.words, WORDS_MM) + 1.5), name, 2.5, angle_deg=90.0)
            continue
        (x1, _), (x2, _) = places
        at = max(place[1] + text_width_mm(wire.line.words, WORDS_MM) for wire in wires for place in wire.words_at[:1]) + MARK_MM / 2
        _wave(sketch, x1 + 1.4, x2 + 1.4, at)
        if wires[0].line.screen:
            _oval(sketch, (x1 + x2) / 2 + 1.4, at, (x2 - x1) / 2 + 2.5, 2.5)
        sketch.text((x2 + 2.8 + (2.0 if wires[0].line.screen else 0.0), at - 1.2), name, 2.5)


def _wave(sketch: Sketch, left: float, right: float, y: float) -> None:
    count = 16
    places = [(left + (right - left) * i / count, y + 1.6 * math.sin(2 * math.pi * i / count)) for i in range(count + 1)]
    for one, other in itertools.pairwise(places):
        sketch.line(one, other, MARK)


def _oval(sketch: Sketch, x: float, y: float, half_across: float, half_up: float) -> None:
    count = 24
    places = [
        (x + half_across * math.cos(2 * math.pi * i / count), y + half_up * math.sin(2 * math.pi * i / count)) for i in range(count + 1)
    ]
    for one, other in list(itertools.pairwise(places))[::2]:
        sketch.line(one, other, SCREEN)


def _box(sketch: Sketch, conversion: Conversion, sheet: Sheet, box: Box, others: CrossReferences) -> None:
    if box.unit.kind == "ground":
        _ground(sketch, box)
    elif box.unit.kind == "flag":
        _upright_flag(sketch, box, others)
    elif box.unit.kind == "splice":
        _splice(sketch, sheet, box, others)
    else:
        _part(sketch, conversion, sheet, box, others)


def _ground(sketch: Sketch, box: Box) -> None:
    """Wires come down to one bar, and one sign stands below it with ref and place."""
    xs = [box.left + column.x_mm for column in box.width.columns]
    y = box.top - 1.5
    for column in box.width.columns:
        x = box.left + column.x_mm
        sketch.line((x, box.top), (x, y), LINK)
        _cavity(sketch, x, box.top, column.upper[0] if column.upper else "", up=True)
    if len(xs) > 1:
        sketch.line((min(xs), y), (max(xs), y), LINK)
    middle = xs[0]
    body_ground(sketch, middle, y)
    sketch.text((middle + 5.5, y - 4.4), box.unit.ref, 3.5, style=REF_TEXT, bold=True)
    sketch.text((middle - 3.75, y - 9.0), shortened(box.unit.place, 2.5, box.right - middle + 8.0), 2.5)


def _splice(sketch: Sketch, sheet: Sheet, box: Box, others: CrossReferences) -> None:
    """A rule that all its wires meet with T-joints, a disc where the first one comes in."""
    y = (box.top + box.bottom) / 2
    xs = [box.left + column.x_mm for column in box.width.columns]
    if len(xs) > 1:
        sketch.line((min(xs), y), (max(xs), y), SPLICE_RULE)
    for column in box.width.columns:
        x = box.left + column.x_mm
        for end, edge in ((column.upper, box.top), (column.lower, box.bottom)):
            if end is not None:
                sketch.line((x, edge), (x, y), SPLICE_RULE)
                if x != xs[0]:
                    sketch.circle((x, y), 0.625, SPLICE)
    sketch.circle((xs[0], y), 1.5, SPLICE)
    sketch.text((xs[0] - 2.5, y - 1.2), box.unit.ref, 2.5, style=REF_TEXT, anchor="end", bold=True)
    for index, wire in enumerate(box.unit.elsewhere):
        where = others.wires.get(wire)
        if where:
            _flag(sketch, xs[-1] + 2.5, y - 4.0 * index, f"{wire} {where[0]}/{where[1]}")


def _flag(sketch: Sketch, x: float, y: float, words: str) -> None:
    """Goes on at: a pointed flag 5 high."""
    long = text_width_mm(words, 2.5) + 3.0
    sketch.polygon(
        ((x, y - 2.0), (x + long, y - 2.0), (x + long + 2.0, y), (x + long, y + 2.0), (x, y + 2.0)), Style("MARK", 0.25, INK, PAPER)
    )
    sketch.text((x + 1.5, y - 1.25), words, 2.5)


def _upright_flag(sketch: Sketch, box: Box, others: CrossReferences) -> None:
    """Where a wire goes on: a flag that hangs down from the wire's end."""
    x, top = box.left + box.width.columns[0].x_mm, box.top
    where = others.wires.get(box.unit.ref)
    words = f"{where[0]}/{where[1]}" if where else "no sheet"
    low = top - text_width_mm(words, 2.5) - 3.0
    sketch.polygon(((x - 2.0, top), (x + 2.0, top), (x + 2.0, low), (x, low - 2.0), (x - 2.0, low)), Style("MARK", 0.25, INK, PAPER))
    sketch.text((x + 1.25, low + 1.5), words, 2.5, angle_deg=90.0)


def _part(sketch: Sketch, conversion: Conversion, sheet: Sheet, box: Box, others: CrossReferences) -> None:
    hv = any(conversion.cavity[end[0]].role.startswith(("hv", "ac_")) for end in _ends(box))
    styles = (HV_PART, HV_PART_IN_PART) if hv else (PART, PART_IN_PART)
    sketch.box(box.left, box.bottom, box.right, box.top, styles[not box.unit.whole])
    _slots(sketch, sheet, box)
    for column in box.width.columns:
        x = box.left + column.x_mm
        for end, edge, up in ((column.upper, box.top, True), (column.lower, box.bottom, False)):
            if end is None:
                continue
            pin_in_socket(sketch, x, edge, up=up)
            _cavity(sketch, x, edge, end[0], up=up)
            if column.slot is None:
                _pin_name(sketch, conversion, x, edge, end[0], up=up)
    _title(sketch, conversion, sheet, box, others)


def _ends(box: Box) -> list[tuple[str, str]]:
    return [end for column in box.width.columns for end in (column.upper, column.lower) if end is not None]


def _cavity(sketch: Sketch, x: float, edge: float, pin: str, *, up: bool) -> None:
    """Connector and cavity, outside the outline at the right of the wire."""
    words = pin.partition(".")[2]
    sketch.text((x + BESIDE_MM, edge + 1.2 if up else edge - 3.8), words, 2.5, style=CAVITY_TEXT)


def _pin_name(sketch: Sketch, conversion: Conversion, x: float, edge: float, pin: str, *, up: bool) -> None:
    """What the pin does, inside the outline, reading upwards."""
    words = shortened(conversion.cavity[pin].name, WORDS_MM, NAME_LENGTH_MM)
    length = text_width_mm(words, WORDS_MM)
    sketch.text((x + 1.2, edge - 1.5 - length if up else edge + 1.5), words, WORDS_MM, angle_deg=90.0)


def _slots(sketch: Sketch, sheet: Sheet, box: Box) -> None:
    """Lines through the part with their symbols; those that meet inside are joined level."""
    joints: dict[str, list[tuple[float, float]]] = {}
    for column in box.width.columns:
        slot = column.slot
        if slot is None:
            continue
        x = box.left + column.x_mm
        top = _top_of(sheet, box, column)
        end = box.bottom if column.lower else box.bottom + 5.0
        symbols = _heights(box, column, top)
        at = top
        for symbol, start in symbols:
            if start < at:
                sketch.line((x, at), (x, start), LINK)
            draw_symbol(sketch, symbol, x, start)
            at = start - SYMBOL_MM
        if end < at:
            sketch.line((x, at), (x, end), LINK)
        if slot.bar:
            sketch.circle((x, sheet.layout.bars[slot.bar]), 0.625, JOINT)
        if slot.to_bar:
            sketch.text((x, box.bottom + 1.5), f"to bar {slot.to_bar}", 2.5, anchor="middle")
        if slot.joint:
            joints.setdefault(slot.joint, []).append((x, _joint_y(box)))
    for places in joints.values():
        if len(places) > 1:
            xs = [x for x, _ in places]
            sketch.line((min(xs), places[0][1]), (max(xs), places[0][1]), LINK)
            for x, y in sorted(places)[: -1 if len(places) > 1 else None]:
                sketch.circle((x, y), 0.625, JOINT)


def _joint_y(box: Box) -> float:
    """Between the row of fuses and the row of relays."""
    return box.top - DEVICE_HEAD_MM - SYMBOL_MM - 2.5


def _top_of(sheet: Sheet, box: Box, column: Column) -> float:
    slot = column.slot
    assert slot is not None
    if slot.bar:
        return sheet.layout.bars[slot.bar]
    return _joint_y(box) if slot.joint else box.top


def _heights(box: Box, column: Column, top: float) -> list[tuple[Symbol, float]]:
    """Where each symbol of a slot begins: fuses in one row, what follows in the next; alone it stands in the middle."""
    slot = column.slot
    assert slot is not None
    if box.unit.feeds:
        rows = {True: box.top - DEVICE_HEAD_MM, False: _joint_y(box) - 2.5}
        return [(symbol, rows[symbol.kind == "fuse"]) for symbol in slot.symbols]
    total = SYMBOL_MM * len(slot.symbols)
    start = (box.top + box.bottom + total) / 2
    return [(symbol, start - SYMBOL_MM * index) for index, symbol in enumerate(slot.symbols)]


def _title(sketch: Sketch, conversion: Conversion, sheet: Sheet, box: Box, others: CrossReferences) -> None:
    """Ref and name where no line passes: beside the slots, or between the pins' names."""
    also = others.others(box.unit.ref, sheet.ref)
    notes = _notes(conversion, box)
    if box.unit.slots:
        left = box.left + 2.0 if box.unit.feeds else box.right - NAME_MM
        lines = [
            *_wrapped(box.unit.name, NAME_MM - 3.0, 3),
            *notes,
            *([f"also {also[0]}" + (" …" if len(also) > 1 else "")] if also else []),
        ]
        top = box.top - 5.5 if box.unit.feeds or box.top - box.bottom > 24 else (box.top + box.bottom) / 2 + 1.9 * len(lines)
        sketch.text((left, top), box.unit.ref, 3.5, style=REF_TEXT, bold=True)
        for index, line in enumerate(lines):
            sketch.text((left, top - 4.4 - 3.75 * index), shortened(line, 2.5, NAME_MM - 2.5), 2.5)
        return
    uppers = [end for end in box.unit.pins if sheet.layout.sides[end] == "upper"]
    names = max((min(text_width_mm(conversion.cavity[end[0]].name, WORDS_MM), NAME_LENGTH_MM) + 3.0 for end in uppers), default=0.0)
    top = box.top - names - 5.2
    room = box.right - box.left - 4.0
    ref_mm = text_width_mm(box.unit.ref, 3.5, bold=True)
    sketch.text((box.left + 2.0, top), box.unit.ref, 3.5, style=REF_TEXT, bold=True)
    sketch.text((box.left + 4.0 + ref_mm, top), shortened(box.unit.name, 2.5, room - ref_mm - 2.0), 2.5)
    words = "; ".join([*notes, *(["also " + ", ".join(also)] if also else [])])
    if words:
        sketch.text((box.left + 2.0, top - 3.75), shortened(words, 2.5, room), 2.5)


def _notes(conversion: Conversion, box: Box) -> list[str]:
    """What lies inside between pins that stand free: links, and resistors such as a bus terminator."""
    shown = {end[0].partition(".")[2] for end in box.unit.pins}
    inside = conversion.part[conversion.device[box.unit.ref].part].inside
    joined = [f"{e.pin_a}–{e.pin_b}" for e in inside if e.kind == "link" and {e.pin_a, e.pin_b} <= shown]
    across = [
        f"{e.pin_a}–{e.pin_b} {e.resistance_ohm:g} Ω"
        for e in inside
        if e.kind == "resistor" and {e.pin_a, e.pin_b} <= shown and e.resistance_ohm is not None
    ]
    notes = ["joined inside: " + ", ".join(joined)] if joined else []
    return [*notes, *(["inside: " + ", ".join(across)] if across else [])]


def _wrapped(words: str, width_mm: float, most: int) -> list[str]:
    """Words over some lines."""
    lines: list[str] = []
    for word in words.split(" "):
        if lines and text_width_mm(f"{lines[-1]} {word}", 2.5) <= width_mm:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines if len(lines) <= most else [*lines[: most - 1], shortened(" ".join(lines[most - 1 :]), 2.5, width_mm)]
