"""The high-voltage chain on one picture: the string at the left, contactors and pre-charge in the middle, the units at the right.

Both poles are drawn, each cable as a line with its mark, section and length. What one device holds is not framed: its mark
stands in front of each name.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from halfshaft.drawings.diagrams.symbols import HIGH_MM, LEAD, OUTLINE, draw_shape
from halfshaft.drawings.shapes import INK, SOFT_TEXT, Drawing, Sketch, Style, shortened
from halfshaft.model.conversion import Conversion
from halfshaft.studies.diagrams.units import Symbol
from halfshaft.studies.high_voltage.chain import Way
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.pack.links import Link
from halfshaft.studies.pack.strings import String
from halfshaft.studies.pack.study import Pack

WIDTH_MM = 170.0
STRING_X, MAIN_X, PRECHARGE_X, PLUS_X, MINUS_X, FUSE_X, UNIT_X = 9.0, 58.0, 78.0, 104.0, 108.0, 130.0, 145.0
TOP_MM, BOTTOM_MM, CABLE_MM, GAP_MM, ROW_MM, LEAST_HIGH_MM = 8.0, 12.0, 7.0, 1.5, 19.0, 84.0
WORD_MM, SMALL_MM, LINE_MM = 2.2, 1.8, 3.3
UNIT_HIGH_MM, POLE_MM = 15.0, 3.5
RAIL = Style("CHAIN", 0.7)
DOT = Style("CHAIN", 0.1, INK, INK)


@dataclass(frozen=True, slots=True)
class Step:
    """One thing on the way down the string: a symbol, or a cable where `kind` is `cable`; two lines of words beside it; the thing that it is."""

    kind: str
    name: str
    words: str
    about: str

    @property
    def high_mm(self) -> float:
        """Room that it takes along the string."""
        return CABLE_MM if self.kind == "cable" else HIGH_MM + GAP_MM


def one_line(conversion: Conversion, routing: Routing, pack: Pack, high: HighVoltage) -> Drawing:
    """The picture; as high as the longer of string and units makes it."""
    cables = _cable_words(conversion, routing)
    steps = list(_steps(conversion, pack.strings[0], cables))
    ways = high.chain.ways
    tall_mm = max(sum(step.high_mm for step in steps), ROW_MM * len(ways), LEAST_HIGH_MM)
    bottom, top = BOTTOM_MM, BOTTOM_MM + tall_mm
    sketch = Sketch()
    _string(sketch, steps, bottom, top)
    _switches(sketch, conversion, bottom, top)
    _units(sketch, conversion, ways, cables, bottom, top)
    others = len(pack.strings) - 1
    beside = f"; {others} more {'string' if others == 1 else 'strings'} beside it" if others else ""
    note = f"String {pack.strings[0].number}{beside}. Pack {pack.full_v:.1f} V full, {pack.nominal_v:.1f} V nominal, {pack.empty_v:.1f} V empty. Everything drawn at rest, without power."
    sketch.text((0.0, 1.5), shortened(note, SMALL_MM, WIDTH_MM), SMALL_MM, style=SOFT_TEXT)
    return Drawing(WIDTH_MM, top + TOP_MM, tuple(sketch.shapes), title="High-voltage chain")


def _cable_words(conversion: Conversion, routing: Routing) -> dict[str, tuple[str, str]]:
    """By cable: its cores and section, and its length."""
    laid_mm = {laid.cable.ref: laid.cut_mm for laid in routing.cables}
    found = {}
    for cable in conversion.cables:
        kind, long_mm = conversion.cable_type[cable.cable_type], laid_mm.get(cable.ref)
        cores = f"{kind.cores} × " if kind.cores > 1 else ""
        found[cable.ref] = (f"{cores}{kind.section_mm2:g} mm²", "no way" if long_mm is None else f"{long_mm / 1000:.2f} m")
    return found


def _steps(conversion: Conversion, string: String, cables: Mapping[str, tuple[str, str]]) -> Iterator[Step]:
    """From the pack's plus to its minus; modules that follow each other in one box are one battery, bars are left out."""
    joined = [[link for link in join.links or () if link.kind != "busbars"] for join in string.joins]
    run: list[int] = []
    for number, links in enumerate(joined):
        if run and (links or number == len(joined) - 1 or string.modules[number].box != string.modules[run[-1]].box):
            yield _battery(string, run)
            run = []
        for link in links:
            yield _step(conversion, link, cables)
        if number < len(string.modules):
            run.append(number)


def _battery(string: String, run: Sequence[int]) -> Step:
    items = [string.modules[number] for number in run]
    span = items[0].ref if len(items) == 1 else f"{items[0].ref} to {items[-1].ref}"
    return Step("source", f"{items[0].box}: {span}", f"{sum(item.full_v for item in items):.1f} V full", f"device:{items[0].box}")


def _step(conversion: Conversion, link: Link, cables: Mapping[str, tuple[str, str]]) -> Step:
    if link.kind == "cables":
        return Step("cable", link.ref, ", ".join(cables[link.ref]), f"cable:{link.ref}")
    element = conversion.element[link.ref]
    rating = "" if element.rating_a is None else f"{element.rating_a:g} A"
    rest = ", closed at rest" if element.kind == "contact" and element.rest_state == "closed" else ""
    return Step(element.kind, link.ref.replace(".", " "), rating + rest, _device(link.ref))


def _device(name: str) -> str:
    """The device that something sits in, as a thing to choose."""
    return f"device:{name.partition('.')[0]}"


def _string(sketch: Sketch, steps: Sequence[Step], bottom: float, top: float) -> None:
    """The string from the upper rail down to the lower one; room that is left over becomes line at its end."""
    y = top
    for step in steps:
        with sketch.about(step.about):
            _string_step(sketch, step, y)
        y -= step.high_mm
    if y > bottom:
        sketch.line((STRING_X, y), (STRING_X, bottom), RAIL)


def _string_step(sketch: Sketch, step: Step, y: float) -> None:
    """One thing of the string, from `y` down."""
    if step.kind == "cable":
        sketch.line((STRING_X, y), (STRING_X, y - step.high_mm), RAIL)
        sketch.text((STRING_X + 2.2, y - step.high_mm / 2 - WORD_MM / 2), step.name, WORD_MM, bold=True)
        sketch.text((STRING_X + 12.0, y - step.high_mm / 2 - WORD_MM / 2), shortened(step.words, SMALL_MM, 30.0), SMALL_MM)
    else:
        # A closed contact is drawn as its own kind is: the pole moves away from its stop.
        draw_shape(sketch, Symbol(ref=step.name, kind=step.kind, value="", rest_state=_rest(step)), STRING_X, y)
        sketch.line((STRING_X, y - HIGH_MM), (STRING_X, y - step.high_mm), LEAD)
        room_mm = MAIN_X - 4.0 - STRING_X - 6.0
        sketch.text((STRING_X + 6.0, y - 6.0), shortened(step.name, WORD_MM, room_mm, bold=True), WORD_MM, bold=True)
        sketch.text((STRING_X + 6.0, y - 6.0 - LINE_MM), shortened(step.words, SMALL_MM, room_mm), SMALL_MM)


def _rest(step: Step) -> str:
    return "closed" if step.words.endswith("closed at rest") else "open"


def _switches(sketch: Sketch, conversion: Conversion, bottom: float, top: float) -> None:
    """Both main contacts and the pre-charge between the pack's rails and the bars that feed the units."""
    settings = conversion.high_voltage
    upper, lower = top - 2 * HIGH_MM, bottom + HIGH_MM
    sketch.line((STRING_X, top), (MAIN_X, top), RAIL)
    sketch.text((STRING_X + 2.0, top + 1.5), f"+  {_end(conversion.pack.plus_at)}", WORD_MM, bold=True)
    _switch(sketch, conversion, settings.main_plus, MAIN_X, top)
    sketch.line((MAIN_X, top - HIGH_MM), (MAIN_X, upper), RAIL)
    sketch.line((MAIN_X, upper), (PLUS_X, upper), RAIL)
    if settings.precharge_contact is not None and settings.precharge_resistor is not None:
        sketch.line((MAIN_X, top), (PRECHARGE_X, top), LEAD)
        _dot(sketch, MAIN_X, top)
        _switch(sketch, conversion, settings.precharge_contact, PRECHARGE_X, top)
        _switch(sketch, conversion, settings.precharge_resistor, PRECHARGE_X, top - HIGH_MM)
        _dot(sketch, PRECHARGE_X, upper)
    sketch.line((MINUS_X, lower), (MAIN_X, lower), RAIL)
    _switch(sketch, conversion, settings.main_minus, MAIN_X, lower)
    sketch.line((MAIN_X, bottom), (STRING_X, bottom), RAIL)
    sketch.text((STRING_X + 2.0, bottom - 1.5 - WORD_MM), f"−  {_end(conversion.pack.minus_at)}", WORD_MM, bold=True)


def _end(connector: str | None) -> str:
    return "" if connector is None else connector


def _switch(sketch: Sketch, conversion: Conversion, name: str | None, x: float, top: float) -> None:
    """A contact or resistor with its words at its right; a plain line where none is named."""
    if name is None:
        sketch.line((x, top), (x, top - HIGH_MM), RAIL)
        return
    with sketch.about(_device(name)):
        _named_switch(sketch, conversion, name, x, top)


def _named_switch(sketch: Sketch, conversion: Conversion, name: str, x: float, top: float) -> None:
    element = conversion.element[name]
    draw_shape(sketch, Symbol(ref=name, kind=element.kind, value="", rest_state=element.rest_state or "open"), x, top)
    value = f"{element.resistance_ohm:g} Ω" if element.kind == "resistor" and element.resistance_ohm else ""
    if element.kind == "contact" and element.rating_a is not None:
        value = f"{element.rating_a:g} A"
    room_mm = PRECHARGE_X - MAIN_X - 5.5 if x == MAIN_X else PLUS_X - PRECHARGE_X - 4.0
    device, _, inner = name.partition(".")
    for index, words in enumerate((device, inner, value)):
        at = (x + 2.6, top - 4.0 - index * (SMALL_MM + 1.2))
        sketch.text(at, shortened(words, SMALL_MM, room_mm, bold=index == 0), SMALL_MM, bold=index == 0)


def _dot(sketch: Sketch, x: float, y: float) -> None:
    sketch.circle((x, y), 0.7, DOT)


def _units(
    sketch: Sketch, conversion: Conversion, ways: Sequence[Way], cables: Mapping[str, tuple[str, str]], bottom: float, top: float
) -> None:
    """A row for each unit between the two bars."""
    if not ways:
        return
    step = (top - bottom) / len(ways)
    places = [top - (index + 0.5) * step for index in range(len(ways))]
    upper, lower = top - 2 * HIGH_MM, bottom + HIGH_MM
    plus = [y + POLE_MM for y in places]
    minus = [y - POLE_MM for y in places]
    sketch.line((PLUS_X, max(*plus, upper)), (PLUS_X, min(*plus, upper)), RAIL)
    sketch.line((MINUS_X, max(*minus, lower)), (MINUS_X, min(*minus, lower)), RAIL)
    _dot(sketch, PLUS_X, upper)
    for way, y in zip(ways, places, strict=True):
        with sketch.about(_device(way.unit.ref)):
            _unit(sketch, conversion, way, cables, y)


def _unit(sketch: Sketch, conversion: Conversion, way: Way, cables: Mapping[str, tuple[str, str]], y: float) -> None:
    unit, up, down = way.unit, y + POLE_MM, y - POLE_MM
    _dot(sketch, PLUS_X, up)
    _dot(sketch, MINUS_X, down)
    sketch.line((PLUS_X, up), (UNIT_X, up), LEAD)
    sketch.line((MINUS_X, down), (UNIT_X, down), LEAD)
    fuses = [link.ref for link in way.links if link.kind == "fuses and contacts" and conversion.element[link.ref].kind == "fuse"]
    if fuses:
        sketch.box(FUSE_X, up - 1.25, FUSE_X + 7.5, up + 1.25, OUTLINE)
        sketch.line((FUSE_X, up), (FUSE_X + 7.5, up), LEAD)
        rating = conversion.element[fuses[0]].rating_a
        words = fuses[0].partition(".")[2] + ("" if rating is None else f", {rating:g} A")
        sketch.text((MINUS_X + 1.5, y - SMALL_MM / 2), shortened(words, SMALL_MM, UNIT_X - MINUS_X - 3.0), SMALL_MM)
    marks = list(dict.fromkeys(link.ref for link in way.links if link.kind == "cables"))
    if marks:
        words = "; ".join(f"{mark} {' '.join(cables[mark]) if index == 0 else cables[mark][1]}" for index, mark in enumerate(marks))
        with sketch.about(f"cable:{marks[0]}"):
            sketch.text((MINUS_X + 1.5, up + 2.4), shortened(words, SMALL_MM, UNIT_X - MINUS_X - 3.0), SMALL_MM)
    sketch.box(UNIT_X, y - UNIT_HIGH_MM / 2, WIDTH_MM - 0.5, y + UNIT_HIGH_MM / 2, OUTLINE)
    room_mm = WIDTH_MM - UNIT_X - 4.0
    sketch.text((UNIT_X + 2.0, y + 3.4), shortened(unit.ref, WORD_MM, room_mm, bold=True), WORD_MM, bold=True)
    sketch.text((UNIT_X + 2.0, y - 0.2), shortened(way.name, SMALL_MM, room_mm), SMALL_MM)
    for index, words in enumerate(
        (f"{unit.current_continuous_a:g} A, peak {unit.current_peak_a:g}", f"{unit.operate_min_v:g} to {unit.operate_max_v:g} V")
    ):
        sketch.text((UNIT_X + 2.0, y - 3.2 - 3.0 * index), shortened(words, SMALL_MM, room_mm), SMALL_MM)
