"""Heating against time: a cable from a known start under a steady current, pulses, and what it stands without losing any heat."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from halfshaft.standards import constants
from halfshaft.studies.cable.heat import HOTTEST_C, Around, Body, lost_w_per_m, temperature_for


@dataclass(frozen=True, slots=True)
class Heat:
    """A cable at one moment: its conductor and its surface."""

    conductor_c: float
    surface_c: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """Some seconds at one current."""

    seconds: float
    current_a: float


@dataclass(frozen=True, slots=True)
class Moment:
    """Conductor temperature after some seconds."""

    seconds: float
    conductor_c: float


STEPS = 40


def steady(cable: Body, around: Around, current_a: float) -> Heat:
    """Where a cable is after a long time at a current."""
    balance = temperature_for(cable, around, current_a)
    return Heat(min(balance.conductor_c, HOTTEST_C), min(balance.surface_c, HOTTEST_C))


def after(cable: Body, around: Around, start: Heat, stretch: Stretch, *, steps: int = STEPS) -> Heat:
    """The cable at the end of a stretch at one current.

    Two nodes: the conductor with its share of the insulation, and the rest at the surface; that share is Van Wormer's,
    1/(2 ln(D/d)) - 1/((D/d)² - 1), as in IEC 60853. Within a step copper warms linearly and the surface's heat transfer
    stands still, so each step is solved exactly; steps grow with time, as a cooling curve flattens.
    """
    heat = start
    for seconds in _growing(stretch.seconds, steps):
        heat = _step(cable, around, heat, Stretch(seconds, stretch.current_a))
        if heat.conductor_c >= HOTTEST_C:
            return Heat(HOTTEST_C, min(heat.surface_c, HOTTEST_C))
    return heat


def curve(cable: Body, around: Around, start: Heat, current_a: float, times_s: Sequence[float]) -> tuple[Moment, ...]:
    """Conductor temperature at rising times under one current."""
    found, heat, now = [], start, 0.0
    for time_s in times_s:
        heat = after(cable, around, heat, Stretch(time_s - now, current_a), steps=8)
        now = time_s
        found.append(Moment(time_s, heat.conductor_c))
    return tuple(found)


def seconds_to(cable: Body, around: Around, start: Heat, current_a: float, limit_c: float, *, at_most_s: float = 36_000.0) -> float | None:
    """How long a current may last until the conductor meets a limit; None where it does not within ten hours."""
    if start.conductor_c >= limit_c:
        return 0.0
    low_s, low, step_s = 0.0, start, 0.01
    while low_s < at_most_s:
        high = after(cable, around, low, Stretch(step_s, current_a), steps=6)
        if high.conductor_c >= limit_c:
            # Within one short step the curve is as good as straight.
            return low_s + step_s * (limit_c - low.conductor_c) / (high.conductor_c - low.conductor_c)
        low_s, low, step_s = low_s + step_s, high, step_s * 1.1
    return None


def rms_a(profile: Sequence[Stretch]) -> float:
    """The steady current that would heat as much over the whole profile.

    >>> rms_a([Stretch(10, 200), Stretch(30, 0)])
    100.0
    """
    total_s = math.fsum(item.seconds for item in profile)
    return math.sqrt(math.fsum(item.current_a**2 * item.seconds for item in profile) / total_s) if total_s else 0.0


def worst_rms_a(profile: Sequence[Stretch], window_s: float) -> float:
    """The largest RMS current of any stretch of time of one length; of the whole profile where it is shorter than that.

    Its heat is straight between the profile's corners, so the worst window begins or ends at one of them.
    """
    ends = list(itertools.accumulate((item.seconds for item in profile), initial=0.0))
    heats = list(itertools.accumulate((item.current_a**2 * item.seconds for item in profile), initial=0.0))
    if ends[-1] <= window_s:
        return rms_a(profile)

    def heat_until(time_s: float) -> float:
        index = min(next(i for i, end in enumerate(ends[1:]) if time_s <= end or i == len(profile) - 1), len(profile) - 1)
        return heats[index] + profile[index].current_a ** 2 * (min(time_s, ends[-1]) - ends[index])

    starts = [start for end in ends for start in (end, end - window_s) if 0 <= start <= ends[-1] - window_s]
    return math.sqrt(max(heat_until(start + window_s) - heat_until(start) for start in starts) / window_s)


def adiabatic_k(start_c: float, end_c: float) -> float:
    """Amperes for one second that heat one mm² of copper from one temperature to another if no heat leaves it, A s^0.5/mm2.

    Source: IEC 60949, IEC 60364-5-54 annex A.

    >>> round(adiabatic_k(70, 160)), round(adiabatic_k(90, 250))
    (115, 143)
    """
    known = constants()
    zero_c = known["copper_zero_resistance_c"].value
    return known["copper_adiabatic_k"].value * math.sqrt(math.log((end_c - zero_c) / (start_c - zero_c)))


def adiabatic_i2t_a2s(section_mm2: float, start_c: float, end_c: float) -> float:
    """I²t that a section stands: (k S)²; 0 where it is as hot already."""
    return 0.0 if end_c <= start_c else (adiabatic_k(start_c, end_c) * section_mm2) ** 2


def adiabatic_end_c(section_mm2: float, start_c: float, i2t_a2s: float) -> float:
    """Where an I²t takes copper if no heat leaves it: the same formula turned round; no higher than where all stops."""
    known = constants()
    zero_c = known["copper_zero_resistance_c"].value
    exponent = min(i2t_a2s / (known["copper_adiabatic_k"].value * section_mm2) ** 2, 10.0)
    return min(zero_c + (start_c - zero_c) * math.exp(exponent), HOTTEST_C)


def _growing(seconds: float, steps: int) -> Iterator[float]:
    """Steps that add up to a time, each longer than the last."""
    ratio = 1.15
    first = seconds * (ratio - 1) / (ratio**steps - 1)
    for index in range(steps):
        yield first * ratio**index


def _capacities(cable: Body) -> tuple[float, float]:
    """Heat capacities of conductor and surface node, J/(K m)."""
    known = constants()
    ratio = cable.outside_mm / cable.conductor_mm
    share = 1 / (2 * math.log(ratio)) - 1 / (ratio**2 - 1)
    copper = known["copper_heat_capacity"].value * cable.cores * cable.section_mm2 * 1e-6
    insulation = known["insulation_heat_capacity"].value * math.pi / 4 * (cable.outside_mm**2 - cable.conductor_mm**2) * 1e-6
    return copper + share * insulation, (1 - share) * insulation


def _step(cable: Body, around: Around, heat: Heat, stretch: Stretch) -> Heat:
    """One step of the two nodes, exact for a straight law: x' = A x + b, both as rises above the air."""
    inner, outer = _capacities(cable)
    through = 1 / cable.insulation_k_m_per_w
    rise = heat.surface_c - around.ambient_c
    per_kelvin = lost_w_per_m(cable, around, around.ambient_c + max(rise, 0.5)) / max(rise, 0.5)
    base = cable.made_w_per_m(stretch.current_a, around.ambient_c)
    slope = cable.made_w_per_m(stretch.current_a, around.ambient_c + 1) - base
    a, b = (slope - through) / inner, through / inner
    c, d = through / outer, -(through + per_kelvin) / outer
    x, y, push = heat.conductor_c - around.ambient_c, heat.surface_c - around.ambient_c, base / inner
    determinant = a * d - b * c
    if abs(determinant) < 1e-15:
        determinant = 1e-15
    rest_x, rest_y = -d * push / determinant, c * push / determinant
    middle, spread = (a + d) / 2, math.sqrt(((a - d) / 2) ** 2 + b * c)
    fast, slow = math.exp((middle - spread) * stretch.seconds), math.exp(min((middle + spread) * stretch.seconds, 50.0))
    even, odd = (slow + fast) / 2, (slow - fast) / (2 * spread)
    dx, dy = x - rest_x, y - rest_y
    return Heat(
        around.ambient_c + rest_x + (even + odd * (a - middle)) * dx + odd * b * dy,
        around.ambient_c + rest_y + odd * c * dx + (even + odd * (d - middle)) * dy,
    )
