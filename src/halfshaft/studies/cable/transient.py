"""Heating against time: a cable from a known start under a steady current, pulses, and what it stands without losing any heat."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.standards import constants
from halfshaft.studies.cable.heat import HOTTEST_C, Around, Body, lost_w_per_m, temperature_for


@dataclass(frozen=True, slots=True)
class Heat:
    """A cable at one moment: its conductor, and the middles of the shells into which its insulation is cut, from inside, °C."""

    conductor_c: float
    shells_c: tuple[float, ...]

    @property
    def surface_c(self) -> float:
        """Its outermost shell, which is as good as its surface."""
        return self.shells_c[-1]


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


SHELLS = 6
# The first step is this share of the whole, each further one longer by the ratio, none so long that copper alone would warm by more than a few kelvin.
FIRST_SHARE, RATIO, MOST_K = 1e-3, 1.15, 10.0


def at_rest(temperature_c: float) -> Heat:
    """A cable as warm all through as what surrounds it."""
    return Heat(temperature_c, (temperature_c,) * SHELLS)


def steady(cable: Body, around: Around, current_a: float) -> Heat:
    """Where a cable is after a long time at a current."""
    balance = temperature_for(cable, around, current_a)
    if not math.isfinite(balance.conductor_c):
        return at_rest(HOTTEST_C)
    passed, shells = 0.0, []
    for ohm in _resistances(cable)[:-1]:
        passed += ohm
        shells.append(balance.conductor_c - balance.heat_w_per_m * passed)
    return Heat(balance.conductor_c, tuple(shells))


def after(cable: Body, around: Around, start: Heat, stretch: Stretch) -> Heat:
    """The cable at the end of a stretch at one current.

    The conductor is one node, its insulation is cut into shells of equal width, as heat needs a minute or so to pass it. Within
    a step copper warms linearly and the surface gives as much away for each kelvin as at its beginning. Steps are
    taken by Alexander's implicit rule of second order (1977), which no step is too long for.
    """
    heat, left_s, step_s = start, stretch.seconds, FIRST_SHARE * stretch.seconds
    while left_s > 0:
        made = cable.made_w_per_m(stretch.current_a, heat.conductor_c)
        step_s = min(step_s * RATIO, left_s, MOST_K * _copper_j_per_k(cable) / made if made else math.inf)
        heat = _step(cable, around, heat, Stretch(step_s, stretch.current_a))
        left_s -= step_s
        if heat.conductor_c >= HOTTEST_C:
            return at_rest(HOTTEST_C)
    return heat


def curve(cable: Body, around: Around, start: Heat, current_a: float, times_s: Sequence[float]) -> tuple[Moment, ...]:
    """Conductor temperature at rising times under one current."""
    found, heat, now = [], start, 0.0
    for time_s in times_s:
        heat = after(cable, around, heat, Stretch(time_s - now, current_a))
        now = time_s
        found.append(Moment(time_s, heat.conductor_c))
    return tuple(found)


def seconds_to(cable: Body, around: Around, start: Heat, current_a: float, limit_c: float, *, at_most_s: float = 36_000.0) -> float | None:
    """How long a current may last until the conductor meets a limit; None where it does not within ten hours."""
    if start.conductor_c >= limit_c:
        return 0.0
    low_s, low, step_s = 0.0, start, 0.01
    while low_s < at_most_s:
        high = after(cable, around, low, Stretch(step_s, current_a))
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


def _copper_j_per_k(cable: Body) -> float:
    return constants()["copper_heat_capacity"].value * cable.cores * cable.section_mm2 * 1e-6


def _radii(cable: Body) -> list[float]:
    """Millimetres, from the conductor's surface to the outer one, shell by shell."""
    inner, outer = cable.conductor_mm / 2, cable.outside_mm / 2
    return [inner + (outer - inner) * index / SHELLS for index in range(SHELLS + 1)]


def _resistances(cable: Body) -> list[float]:
    """Thermal resistance from the conductor to the middle of the first shell, on from middle to middle, and out to the surface, K m/W."""
    radii = _radii(cable)
    middles = [math.sqrt(one * other) for one, other in itertools.pairwise(radii)]
    stops = [radii[0], *middles, radii[-1]]
    return [cable.thermal_resistivity_k_m_per_w * math.log(other / one) / (2 * math.pi) for one, other in itertools.pairwise(stops)]


def _capacities(cable: Body) -> list[float]:
    """Heat capacity of the conductor and of each shell, J/(K m)."""
    per_mm2 = constants()["insulation_heat_capacity"].value * math.pi * 1e-6
    return [_copper_j_per_k(cable), *(per_mm2 * (other**2 - one**2) for one, other in itertools.pairwise(_radii(cable)))]


def _step(cable: Body, around: Around, heat: Heat, stretch: Stretch) -> Heat:
    """One step of dT/dt = A T + b with A of three diagonals; T as rises above the air."""
    *between, out = (1 / ohm for ohm in _resistances(cable))
    capacities = _capacities(cable)
    rises = [value - around.ambient_c for value in (heat.conductor_c, *heat.shells_c)]
    to_air = _to_air_w_per_mk(cable, around, max(rises[-1], 0.5), out)
    base = cable.made_w_per_m(stretch.current_a, around.ambient_c)
    slope = cable.made_w_per_m(stretch.current_a, around.ambient_c + 1) - base

    def rate(state: Sequence[float]) -> list[float]:
        flows = [conduct * (one - other) for conduct, (one, other) in zip(between, itertools.pairwise(state), strict=True)]
        into = [base + slope * state[0], *flows]
        out_of = [*flows, to_air * state[-1]]
        return [(gain - loss) / capacity for gain, loss, capacity in zip(into, out_of, capacities, strict=True)]

    gamma = 1 - math.sqrt(0.5)
    reach = gamma * stretch.seconds
    sides = [0.0, *between]
    others = [*between, to_air]
    diagonal = [1 + reach * (side + other) / capacity for side, other, capacity in zip(sides, others, capacities, strict=True)]
    diagonal[0] -= reach * slope / capacities[0]
    below = [-reach * conduct / capacity for conduct, capacity in zip(between, capacities[1:], strict=True)]
    above = [-reach * conduct / capacity for conduct, capacity in zip(between, capacities, strict=False)]
    first = _solved(below, diagonal, above, rate(rises))
    middle = [value + (1 - gamma) * stretch.seconds * change for value, change in zip(rises, first, strict=True)]
    second = _solved(below, diagonal, above, rate(middle))
    ends = [
        around.ambient_c + value + stretch.seconds * ((1 - gamma) * one + gamma * other)
        for value, one, other in zip(rises, first, second, strict=True)
    ]
    return Heat(ends[0], tuple(ends[1:]))


def _to_air_w_per_mk(cable: Body, around: Around, shell_k: float, out: float) -> float:
    """From the middle of the outermost shell to the air for a kelvin, by its rise; of no rise at all half a kelvin says as much."""
    surface_k, whole = shell_k, 0.0
    for _ in range(3):  # the surface is a little cooler than that shell: each round is ten times nearer
        lost = lost_w_per_m(cable, around, around.ambient_c + surface_k) / surface_k
        whole = 1 / (1 / out + 1 / lost)
        surface_k = shell_k * whole / lost
    return whole


def _solved(below: Sequence[float], diagonal: Sequence[float], above: Sequence[float], right: Sequence[float]) -> list[float]:
    """Linear equations of three diagonals, by elimination."""
    pivots, values = [diagonal[0]], [right[0]]
    for index, lower in enumerate(below):
        factor = lower / pivots[-1]
        pivots.append(diagonal[index + 1] - factor * above[index])
        values.append(right[index + 1] - factor * values[-1])
    solution = [values[-1] / pivots[-1]]
    for index in range(len(below) - 1, -1, -1):
        solution.append((values[index] - above[index] * solution[-1]) / pivots[index])
    return solution[::-1]
