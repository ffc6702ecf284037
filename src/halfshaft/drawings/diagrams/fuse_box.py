"""The fuse box as a hand meets it, cover off: each fuse and relay in its place, and what each feeds."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.drawings.colours import TONES
from halfshaft.drawings.frame import PAPERS, draw_frame
from halfshaft.drawings.shapes import INK, PAPER, SOFT_TEXT, Drawing, Sketch, Style, shortened, text_width_mm
from halfshaft.drawings.sheet import Title, dots, title_block
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import sentence
from halfshaft.model.parts import Element
from halfshaft.standards import fuse_colours
from halfshaft.studies.wires.study import FuseUse, WiresResult

OUTLINE = Style("PART", 0.7, INK, PAPER)
PLACE = Style("PART", 0.35, INK, PAPER)
EMPTY = Style("PART", 0.18)
RULE = Style("FRAME", 0.25)
THICK = Style("FRAME", 0.5)
# Body colours as they are drawn; the word beside them decides.
_BODY = {
    "black": TONES["BK"], "grey": TONES["GY"], "violet": TONES["VT"], "pink": TONES["PK"], "tan": "#C9A27A", "brown": TONES["BN"], "red": TONES["RD"],
    "blue": TONES["BU"], "yellow": TONES["YE"], "clear": TONES["WH"], "green": TONES["GN"], "blue-green": TONES["TQ"], "orange": TONES["OG"],
    "light green": "#7CC47F", "light blue": "#7FB2E5",
}  # fmt: skip
A5_MM = (210.0, 148.0)
# Below this height of a place there is no room for a relay's pins.
ROOMY_MM = 28.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """A fuse or relay of the box, where it sits, and what hangs on it."""

    element: Element
    row: int
    column: int
    colour: str
    wires: tuple[str, ...]
    feeds: str


def places_of(conversion: Conversion, device: str, wires: WiresResult) -> tuple[Place, ...]:
    """Everything in the box whose place is known, row by row."""
    uses = {use.ref: use for use in wires.fuses}
    found = [
        Place(
            element=element, row=element.row, column=element.column, colour=fuse_colours().get((element.family, element.rating_a or 0.0), ""),
            wires=use.wires if use else (), feeds=_feeds(conversion, use) or element.note,
        )
        for element in conversion.part[conversion.device[device].part].inside
        if element.row and element.column
        for use in (uses.get(f"{device}.{element.ref}"),)
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda place: (place.row, place.column)))


def _feeds(conversion: Conversion, use: FuseUse | None) -> str:
    """What hangs on a fuse, in words where the load has a name."""
    names = [conversion.load[ref].name if ref in conversion.load else ref for ref in use.loads] if use else []
    return ", ".join(dict.fromkeys(names))


def box_sheet(conversion: Conversion, device: str, wires: WiresResult, *, number: str, sheet: str) -> Drawing:
    """An A3 sheet: the picture, below it the table in two columns."""
    paper = PAPERS[0]
    places = places_of(conversion, device, wires)
    left, bottom, right, top = paper.inside
    sketch = Sketch()
    draw_frame(sketch, paper)
    part = conversion.part[conversion.device[device].part]
    wide, high = sorted((part.length_mm, part.width_mm, part.height_mm), reverse=True)[:2]
    scale = min(1.0, (right - left - 30.0) / wide)
    name = conversion.device[device].name
    sketch.text((left + 10.0, top - 10.0), f"{device}  {sentence(name)}, as the hand meets it, cover off", 3.5, bold=True)
    scale_words = "1:1" if scale == 1.0 else "not to scale"
    sketch.text((left + 10.0, top - 15.0), f"{scale_words}; {conversion.device[device].place}; {conversion.device[device].attitude}", 2.5)
    low = top - 20.0 - high * scale
    picture(sketch, places, left + 10.0, low, wide * scale, high * scale)
    _table(sketch, places, left + 10.0, low - 8.0, bottom + 40.0)
    job = conversion.job
    title = Title(
        owner=job.owner, kind="Wiring diagram", status=job.status, scale=scale_words, title=sentence(name), subtitle=job.name, number=number, revision=job.revision,
        date=job.date, sheet=sheet, drawn=job.drawn_by, approved=job.approved_by, by_type=("Drawn state", "every place that is filled"), view="fuse side, cover off",
    )  # fmt: skip
    title_block(sketch, right, bottom, title)
    dots(sketch, right - 180.0 - 24.0, bottom + 4.0, 18.0, f"{number} {job.revision} {sheet}")
    words = (
        "Fuse colours by family and rating (ISO 8820-3 and DIN 72581-3, second hand): read",
        "the figure, never the colour alone. Replace a fuse with its own rating only.",
    )
    for index, line in enumerate(words):
        sketch.text((left + 4.0, bottom + 6.0 - 3.8 * index), line, 2.5)
    return Drawing(paper.width_mm, paper.height_mm, tuple(sketch.shapes), title=f"{sentence(name)}, {number}")


def picture(sketch: Sketch, places: tuple[Place, ...], left: float, bottom: float, width: float, height: float) -> None:
    """The front of the box with each place: rating, ref, and the colour with its word."""
    sketch.box(left, bottom, left + width, bottom + height, OUTLINE)
    rows, columns = max(place.row for place in places), max(place.column for place in places)
    across, down = (width - 4.0) / columns, (height - 4.0) / rows
    for place in places:
        x = left + 2.0 + (place.column - 1) * across
        y = bottom + height - 2.0 - place.row * down
        sketch.box(x + 1.0, y + 1.0, x + across - 1.0, y + down - 1.0, PLACE)
        middle, is_low = x + across / 2, down < ROOMY_MM
        if place.element.kind == "fuse":
            rating = f"{place.element.rating_a:g}" if place.element.rating_a is not None else "–"
            sketch.text((middle, y + down - (7.0 if is_low else 8.5)), rating, 5.0, anchor="middle", bold=True)
            ref_mm = 2.5 if is_low else 3.5
            sketch.text((middle, y + down - (10.8 if is_low else 13.5)), place.element.ref, ref_mm, anchor="middle", bold=True)
            if place.colour:
                bar = y + (5.4 if is_low else 7.5)
                sketch.box(x + 4.0, bar, x + across - 4.0, bar + 2.0, Style("PART", 0.18, INK, _BODY[place.colour]))
                sketch.text((middle, bar - 3.5), place.colour, 2.5, anchor="middle")
        else:
            sketch.text((middle, y + down - 8.5), place.element.ref.split(" ")[0], 5.0, anchor="middle", bold=True)
            if not is_low:
                _relay_pins(sketch, place.element, middle, y + (down - 8.0) / 2)


def _relay_pins(sketch: Sketch, element: Element, x: float, y: float) -> None:
    """Pin pattern of a relay on its socket, numbers by its own pattern."""
    if not element.pattern:
        return
    upper, lower = ("30", "87") if element.pattern == "socket" else ("88", "88a")
    for words, at in ((upper, (0.0, 6.5)), ("86", (-6.0, 1.5)), ("85", (6.0, 1.5)), (lower, (0.0, -4.0))):
        sketch.text((x + at[0], y + at[1] - 1.2), words, 2.5, anchor="middle")
        wide = text_width_mm(words, 2.5) / 2 + 0.8
        sketch.box(x + at[0] - wide, y + at[1] - 2.0, x + at[0] + wide, y + at[1] + 2.2, Style("PART", 0.18))


_COLUMNS = (("Place", 11.0), ("Ref", 10.0), ("A", 9.0), ("Colour", 18.0), ("Feeds", 92.0), ("Wires", 36.0))
_ROW_MM = 5.0


def _table(sketch: Sketch, places: tuple[Place, ...], left: float, top: float, bottom: float) -> None:
    """Place, ref, rating, colour, what it feeds and by which wires; over two columns of the sheet."""
    per_column = max(1, int((top - bottom) // _ROW_MM) - 1)
    for column in range(-(-len(places) // per_column)):
        x = left + column * (sum(width for _, width in _COLUMNS) + 10.0)
        _table_row(sketch, x, top, [name for name, _ in _COLUMNS], bold=True)
        sketch.line((x, top - 1.4), (x + sum(width for _, width in _COLUMNS), top - 1.4), THICK)
        for index, place in enumerate(places[column * per_column : (column + 1) * per_column]):
            y = top - (index + 1) * _ROW_MM
            _table_row(sketch, x, y, _cells(place), bold=False)
            if index % 3 == 2:
                sketch.line((x, y - 1.4), (x + sum(width for _, width in _COLUMNS), y - 1.4), RULE)


def _cells(place: Place) -> list[str]:
    element = place.element
    rating = "" if element.rating_a is None else f"{element.rating_a:g}"
    return [f"{place.row}/{place.column}", element.ref.split(" ")[0], rating, place.colour, place.feeds, " ".join(place.wires)]


def _table_row(sketch: Sketch, left: float, y: float, cells: list[str], *, bold: bool) -> None:
    x = left
    for index, (words, (_, width)) in enumerate(zip(cells, _COLUMNS, strict=True)):
        sketch.text((x, y), shortened(words, 2.5, width - 2.0, bold=bold or index == 1), 2.5, bold=bold or index == 1)
        x += width


def box_card(conversion: Conversion, device: str, wires: WiresResult) -> Drawing:
    """The picture on an A5 of its own, to stick inside the cover."""
    places = places_of(conversion, device, wires)
    sketch = Sketch()
    wide, high = A5_MM
    sketch.box(5.0, 5.0, wide - 5.0, high - 5.0, THICK)
    job = conversion.job
    sketch.text((10.0, high - 13.0), f"{job.name}: {conversion.device[device].name}", 3.5, bold=True)
    sketch.text((wide - 10.0, high - 13.0), f"{job.ref} revision {job.revision}", 2.5, style=SOFT_TEXT, anchor="end")
    picture(sketch, places, 10.0, high - 85.0, wide - 20.0, 68.0)
    lines = [f"{c[1]} {c[2]} A {c[4]}" for place in places if place.element.kind == "fuse" for c in (_cells(place),)]
    per_column = -(-len(lines) // 2)
    for index, line in enumerate(lines):
        column, row = divmod(index, per_column)
        sketch.text((10.0 + column * (wide / 2 - 5.0), high - 92.0 - row * 4.6), shortened(line, 2.5, wide / 2 - 10.0), 2.5)
    sketch.text((10.0, 8.0), "Replace a fuse with its own rating only; one that blows again has a fault behind it.", 2.5, bold=True)
    return Drawing(wide, high, tuple(sketch.shapes), title=f"Fuse card, {conversion.device[device].name}")
