"""How warm wires and cables get, and what another section would do."""

from __future__ import annotations

import math

from halfshaft.book.blocks import Block, Cell, bold, caution, column, heading, number, picture, small, table
from halfshaft.book.frame import DEFER, Pages, count
from halfshaft.drawings.heating_chart import Curve, heating_chart
from halfshaft.model.finding import HV_CAUTION
from halfshaft.studies.cable.choices import Choice, Choices
from halfshaft.studies.cable.rules import MEAN_PERCENT, WORST_PERCENT
from halfshaft.studies.cable.study import CableHeat
from halfshaft.studies.cable.transient import Heat, curve, seconds_to, steady
from halfshaft.study import Study

SIZE = 8.5
HELD = "\u00a0"  # keeps a number and its unit on one line
# Thinner wires stand one by one only in the list `cable-heat`, but for those that have least to spare.
POWER_MM2, WORST = 6.0, 12
LAST_S, FIRST_S, POINTS = 3600.0, 1.0, 32
ACCURACY = (
    f"Computed, not measured. Beside published tables of currents in free air this balance is {MEAN_PERCENT} % off in the mean and {WORST_PERCENT} % at worst, and those "
    "tables differ among themselves by about 20 %. A wire near its limit wants a thermometer. " + DEFER
)


def cables(study: Study, pages: Pages) -> None:
    """High-voltage and power cables one by one, the warmest 12 V wires, and the heating of one cable against time."""
    heats = study.cable_heat
    if not heats:
        return
    high = [heat for heat in heats.values() if heat.is_high_voltage]
    power = [heat for heat in heats.values() if not heat.is_high_voltage and heat.section_mm2 >= POWER_MM2]
    thin = [heat for heat in heats.values() if not heat.is_high_voltage and heat.section_mm2 < POWER_MM2]
    blocks: list[Block] = [caution("NOTICE", f"{ACCURACY} {HV_CAUTION}" if high else ACCURACY)]
    for title, group in (
        ("High-voltage cables", sorted(high, key=lambda item: item.ref.rjust(8))),
        ("12 V power cables", power),
        ("12 V wires with least to spare", thin[:WORST]),
    ):
        if group:
            blocks += [heading(title), _table(group, study.cable_choices)]
    left = len(thin) - WORST
    more = f" {count(left, 'further wire')} with more to spare: list cable-heat." if left > 0 else ""
    blocks += [
        small(
            "Each in the place in which its conductor gets hottest: hottest air of its zone, neighbours that carry more than 30 % of what the bundle leaves them, tube with the air in it. "
            "A: worst case for good. At peak: conductor at the end of its peak, begun warm. One smaller, one larger: conductor, volts lost on its length, mass and price beside the present one; "
            "NO and why where it, or the present one, would not do; brackets: terminals at its ends that do not take it. "
            "A fuse of the pack itself counts for short circuits only: overload of those cables is kept off by the pack's monitor and the units, or by nothing."
            + more
        )
    ]
    blocks += _chart(study, high, pages)
    pages.add("Heating of wires and cables", blocks)


def _table(group: list[CableHeat], choices: dict[str, Choices]) -> Block:
    columns = [
        column("Ref"),
        column("mm²", "auto", "right"),
        column("m", "auto", "right"),
        column("A", "auto", "right"),
        column("Where hottest", 32.0),
        column("°C", "auto", "right"),
        column("At peak", "auto", "right"),
        column("Limit", "auto", "right"),
        column("A at limit", 20.0, "right"),
        column("One smaller", "1fr"),
        column("One larger", "1fr"),
    ]
    rows: list[list[Cell]] = [
        [
            bold(heat.ref),
            f"{heat.section_mm2:g}",
            number(heat.length_m, 1),
            number(heat.current.continuous_a, 1),
            _where(heat),
            _hot(heat.conductor_c, heat.limit_c),
            _hot(heat.pulse_c, heat.limit_c),
            f"{heat.limit_c:g}",
            number(heat.capacity_a) + _against(choices[heat.ref].now),
            _words(choices[heat.ref].smaller),
            _words(choices[heat.ref].larger),
        ]
        for heat in group
    ]
    return table(columns, rows, size=SIZE)


def _where(heat: CableHeat) -> str:
    place = heat.place
    loaded = f", {place.loaded} loaded" if place.loaded > 1 else ""
    return (
        f"{place.run or 'ends'}, {place.zone} {place.around.ambient_c:g}{HELD}°C{loaded}{f', {place.covering}' if place.covering else ''}"
    )


def _hot(value_c: float, limit_c: float) -> Cell:
    words = number(value_c) if math.isfinite(value_c) else "over 1000"
    return words if value_c <= limit_c else bold(words)


def _words(choice: Choice | None) -> Cell:
    if choice is None:
        return "none"
    price = "" if choice.price_eur is None else f", {_signed(choice.price_eur, 2)}{HELD}EUR"
    terminals = f" ({', '.join(choice.terminals)})" if choice.terminals else ""
    return f"{choice.section_mm2:g}: {number(choice.conductor_c)}{HELD}°C, {number(choice.drop_v, 2)}{HELD}V, {_signed(choice.mass_g)}{HELD}g{price}{_against(choice)}{terminals}"


def _against(choice: Choice) -> str:
    return f"; NO: {', '.join(choice.fails)}" if choice.fails else ""


def _signed(value: float, decimals: int = 0) -> str:
    words = number(value, decimals)
    return words if value < 0 or words.startswith("−") else f"+{words}"


def _chart(study: Study, high: list[CableHeat], pages: Pages) -> list[Block]:
    """The high-voltage cable with least to spare at its peak: from its own warmth at what it carries for good."""
    peaks = [heat for heat in high if heat.current.peak_a > heat.current.continuous_a and math.isfinite(heat.conductor_c)]
    if not peaks:
        return []
    heat = min(peaks, key=lambda item: (item.limit_c - item.pulse_c, item.ref))
    place, current = heat.place, heat.current
    start = steady(heat.body, place.around, current.continuous_a / place.factor)
    times = [FIRST_S * (LAST_S / FIRST_S) ** (index / (POINTS - 1)) for index in range(POINTS)]
    curves = []
    for amperes in (current.peak_a, 1.5 * current.peak_a, 2 * current.peak_a):
        moments = curve(heat.body, place.around, start, amperes / place.factor, times)
        curves.append(Curve(f"{number(amperes)} A", tuple((moment.seconds, moment.conductor_c) for moment in moments)))
    file = f"heating-{heat.ref}.svg"
    drawing = heating_chart(
        curves,
        limit_c=heat.limit_c,
        limit_words=f"class {heat.insulation_class} stands {heat.limit_c:g} °C",
        title=f"Cable {heat.ref} heating",
    )
    pages.pictures[file] = drawing
    words = (
        f"Cable {heat.ref}, {heat.section_mm2:g} mm², in {_where(heat)}, warm from {number(current.continuous_a)} A, then at its peak of {number(current.peak_a)} A, "
        f"at one and a half times and at twice that, with its loaded neighbours carrying as much more.{_lasts(heat, start)}"
    )
    return [heading("Heating at peak, high voltage"), picture(file, drawing.width_mm, words)]


def _lasts(heat: CableHeat, start: Heat) -> str:
    """How long the peak may last."""
    seconds = seconds_to(heat.body, heat.place.around, start, heat.current.peak_a / heat.place.factor, heat.limit_c)
    if seconds is None:
        return " It may last for good."
    words = f"{number(seconds)} s" if seconds < 120 else f"{number(seconds / 60, 1)} min"
    return f" At its peak it meets the limit after {words}."
