"""Who feeds the 12 V side in each case: bars of amperes, the converter's share filled, the battery's open, and the converter's limit."""

from __future__ import annotations

from halfshaft.drawings.front_picture import AXIS, GRID, LABEL_MM, Scale
from halfshaft.drawings.shapes import INK, PAPER, SOFT, Drawing, Sketch, Style, shortened, text_width_mm
from halfshaft.studies.low_voltage.records import CaseResult, LowVoltage, Shares

WIDTH_MM = 170.0
LEFT, RIGHT = 52.0, 156.0
BAR_MM, BAR_STEP_MM, CASE_GAP_MM = 3.2, 4.0, 3.5
KEY_MM, AXIS_MM, TOP_MM = 7.0, 9.0, 3.0
CONVERTER = Style("SUPPLY", 0.25, INK, SOFT)
BATTERY = Style("SUPPLY", 0.35, INK, PAPER)
LIMIT = Style("LIMIT", 0.7, INK, None, (4.0, 1.5))
SMALL_MM = 2.0


def supply_bars(result: LowVoltage) -> Drawing:
    """The picture: a case a block, in it a bar for the average, for all at once, and for the largest start on top."""
    sketch = Sketch()
    blocks = [(case, bars) for case in result.cases if (bars := _bars_of(case))]
    height = KEY_MM + AXIS_MM + TOP_MM + sum(len(bars) * BAR_STEP_MM + CASE_GAP_MM for _, bars in blocks)
    totals = [shares.total_a for _, bars in blocks for _, shares in bars]
    across = Scale.over([0.0, *totals, *(case.limit_a for case, _ in blocks if case.limit_a)], LEFT, RIGHT, steps=8)
    across = Scale(0.0, across.high, across.step, LEFT, RIGHT)
    bottom, top = KEY_MM + AXIS_MM, height - TOP_MM
    for value in across.ticks():
        sketch.line((across.at(value), bottom), (across.at(value), top), GRID)
        sketch.text((across.at(value), bottom - 4.0), across.words(value), LABEL_MM, anchor="middle")
    sketch.text((WIDTH_MM, bottom - 4.0), "A", LABEL_MM, anchor="end")
    y = top
    for case, bars in blocks:
        y -= CASE_GAP_MM / 2
        start = y
        words = shortened(case.case, LABEL_MM, LEFT - 24.0, bold=True)
        sketch.text((0.0, y - BAR_MM / 2 - LABEL_MM / 2), words, LABEL_MM, bold=True)
        for name, shares in bars:
            y -= BAR_STEP_MM
            _bar(sketch, across, y + (BAR_STEP_MM - BAR_MM) / 2, name, shares)
        if case.limit_a is not None:
            sketch.line((across.at(case.limit_a), start + 0.6), (across.at(case.limit_a), y - 0.6), LIMIT)
        y -= CASE_GAP_MM / 2
    sketch.line((LEFT, bottom), (LEFT, top), AXIS)
    _key(sketch)
    return Drawing(WIDTH_MM, height, tuple(sketch.shapes), title="Who feeds the 12 V side")


def _bars_of(case: CaseResult) -> list[tuple[str, Shares]]:
    named = (("average", case.mean), ("all at once", case.all), ("and a start", case.start))
    return [(name, shares) for name, shares in named if shares is not None]


def _bar(sketch: Sketch, across: Scale, y: float, name: str, shares: Shares) -> None:
    sketch.text((LEFT - 1.5, y + (BAR_MM - SMALL_MM) / 2), name, SMALL_MM, anchor="end")
    joint, end = across.at(shares.converter_a), across.at(shares.total_a)
    if shares.converter_a > 0:
        sketch.box(LEFT, y, joint, y + BAR_MM, CONVERTER)
    if end - joint > 0.05:
        sketch.box(joint, y, end, y + BAR_MM, BATTERY)
    words = f"{shares.total_a:.1f}" if shares.total_a >= 1 else f"{shares.total_a:.3f}"
    # On paper of its own, so that neither grid nor limit runs through a figure.
    x, width = end + 1.2, text_width_mm(words, SMALL_MM)
    sketch.box(x - 0.4, y + 0.2, x + width + 0.4, y + BAR_MM - 0.2, Style("SUPPLY", 0.0, None, PAPER))
    sketch.text((x, y + (BAR_MM - SMALL_MM) / 2), words, SMALL_MM)


def _key(sketch: Sketch) -> None:
    x = 0.0
    for style, words in ((CONVERTER, "DC-DC converter"), (BATTERY, "12 V battery")):
        sketch.box(x, 1.0, x + 6.0, 1.0 + BAR_MM, style)
        sketch.text((x + 7.5, 1.3), words, LABEL_MM)
        x += 12.5 + text_width_mm(words, LABEL_MM)
    sketch.line((x + 3.0, 0.6), (x + 3.0, 4.6), LIMIT)
    sketch.text((x + 5.0, 1.3), "most that the converter gives", LABEL_MM)
