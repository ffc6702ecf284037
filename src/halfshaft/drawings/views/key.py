"""What the marks of the views mean, and which ref is what."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from halfshaft.drawings.shapes import HV_FILL, INK, Sketch, Style, shortened, text_width_mm
from halfshaft.drawings.views import marks, things
from halfshaft.drawings.views.shown import Shown
from halfshaft.studies.looms.geometry import Place

WORDS_MM, LINE_MM, SAMPLE_MM = 2.5, 4.3, 9.0
# The longest of the marks' words with its sample.
WIDEST_MM = 90.0
# Refs longer than this are written straight before their names.
REF_MM = 13.0
RULE = Style("FRAME", 0.18)


def draw_signs(sketch: Sketch, left: float, top: float, width: float, *, has_height: bool) -> float:
    """Samples of every kind of mark with its words, in rows; returns how far down they reach."""
    x, y = left, top - WORDS_MM
    for words, sample in _signs(has_height):
        wide = SAMPLE_MM + 1.5 + text_width_mm(words, WORDS_MM)
        if x > left and x + wide > left + width:
            x, y = left, y - LINE_MM - 0.7
        sample(sketch, (x, y + WORDS_MM / 2))
        sketch.text((x + SAMPLE_MM + 1.5, y), words, WORDS_MM)
        x += wide + 5.0
    return y - 1.5


def _signs(has_height: bool) -> Iterator[tuple[str, Callable[[Sketch, Place], None]]]:
    yield "centre of gravity now", lambda sketch, at: marks.centre_now(sketch, (at[0] + SAMPLE_MM / 2, at[1]))
    yield (
        "before" if has_height else "before (height not known)",
        lambda sketch, at: marks.centre_before(sketch, (at[0] + SAMPLE_MM / 2, at[1])),
    )
    yield "battery box", _sample(things.BOX)
    yield "module with its number in the string and plus end", _module_sample
    yield "hidden edge of a box", _sample(things.BOX_HIDDEN)
    yield "high-voltage cable", _cable_sample
    yield "high-voltage device", _sample(things.HV_DEVICE)
    yield "service disconnect", _sample(things.DISCONNECT)
    yield "other device", _sample(things.DEVICE)
    yield "space, thick where it is loaded from", _space_sample
    yield "keep clear", _keep_out_sample
    yield "luggage room", _sample(things.LUGGAGE)


def _sample(style: Style) -> Callable[[Sketch, Place], None]:
    return lambda sketch, at: sketch.box(at[0], at[1] - 1.4, at[0] + SAMPLE_MM, at[1] + 1.4, style)


def _module_sample(sketch: Sketch, at: Place) -> None:
    _sample(things.MODULE)(sketch, at)
    x = at[0] + SAMPLE_MM - 1.5
    sketch.line((x - 0.7, at[1]), (x + 0.7, at[1]), things.PLUS)
    sketch.line((x, at[1] - 0.7), (x, at[1] + 0.7), things.PLUS)


def _cable_sample(sketch: Sketch, at: Place) -> None:
    for width, colour in ((1.0, INK), (0.7, HV_FILL)):
        sketch.line(at, (at[0] + SAMPLE_MM, at[1]), Style("HV_CABLE", width, colour))


def _space_sample(sketch: Sketch, at: Place) -> None:
    _sample(things.SPACE)(sketch, at)
    sketch.line((at[0], at[1] + 1.4), (at[0] + SAMPLE_MM, at[1] + 1.4), things.SPACE_MOUTH)


def _keep_out_sample(sketch: Sketch, at: Place) -> None:
    things.hatch(sketch, (at[0], at[1] - 1.4, at[0] + SAMPLE_MM, at[1] + 1.4))
    _sample(things.KEEP_OUT)(sketch, at)


def entries(shown: Shown) -> list[tuple[str, str]]:
    """Every ref of the picture with its name: boxes, devices, spaces, what stays clear, luggage rooms."""
    conversion = shown.conversion
    return [
        *((box.ref, conversion.device[box.ref].name) for box in conversion.boxes),
        *((device.ref, device.name) for device in shown.devices),
        *((space.ref, space.name) for space in conversion.spaces),
        *((keep_out.ref, keep_out.name) for keep_out in conversion.keep_outs),
        *((room.ref, f"{room.name} (luggage)") for room in conversion.luggage_rooms if room.is_in != "donor"),
    ]


def draw_entries(
    sketch: Sketch, rows: Sequence[tuple[str, str]], left: float, bottom: float, right: float, top: float, *, columns: int
) -> None:
    """Refs and names in columns; where they do not all fit, the last line says how many are left."""
    lines = max(int((top - bottom) / LINE_MM), 1)
    if len(rows) > lines * columns:
        kept = lines * columns - 1
        rows = [*rows[:kept], ("", f"and {len(rows) - kept} more: see the lists")]
    columns = min(columns, -(-len(rows) // lines)) or 1
    lines = -(-len(rows) // columns)
    width = (right - left) / columns
    for index, (ref, name) in enumerate(rows):
        x, y = left + (index // lines) * width, top - WORDS_MM - (index % lines) * LINE_MM
        room = width - 3.0
        mark = shortened(ref, WORDS_MM, room / 2, bold=True)
        sketch.text((x, y), mark, WORDS_MM, bold=True)
        start = max(REF_MM, text_width_mm(mark, WORDS_MM, bold=True) + 1.5) if mark else 0.0
        sketch.text((x + start, y), shortened(name, WORDS_MM, room - start), WORDS_MM)
