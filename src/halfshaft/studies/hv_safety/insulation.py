"""Insulation resistance of the whole: what each unit lets through, in each state of the contactors, against what is asked for."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import IsolationCase
from halfshaft.studies.hv_safety.limits import limit_of
from halfshaft.studies.hv_safety.live import joined_units, mains_units
from halfshaft.studies.hv_safety.splitting import Split, splits_of

# UN R100-02, 5.1.3.1 and 5.1.3.2 (standards/hv_limits.csv).
OHM_PER_V: dict[IsolationCase, float] = {
    "d.c. apart from a.c., 100 ohm/V": 100.0,
    "d.c. and a.c. joined, 500 ohm/V": 500.0,
    "d.c. and a.c. joined, a.c. doubly protected, 100 ohm/V": 100.0,
}
# The least that any of the cases asks for: below it no choice of case helps.
LEAST_OHM_PER_V = 100.0
LIMITS: dict[IsolationCase, str] = {
    "d.c. and a.c. joined, 500 ohm/V": "isolation_joined",
    "d.c. and a.c. joined, a.c. doubly protected, 100 ohm/V": "isolation_joined_protected",
}
BATTERY_SIDE, BEHIND, CLOSED = "contactors open, battery side", "contactors open, behind them", "contactors closed"
CHARGING = "the mains side, charge plug out"
MEGA, MILLI = 1e6, 1e-3


@dataclass(frozen=True, kw_only=True, slots=True)
class UnitInsulation:
    """One unit's part: megohm of either pole to the body, and its share of all that leaks in a state."""

    unit: str
    mohm: float
    share_percent: float


@dataclass(frozen=True, kw_only=True, slots=True)
class InsulationState:
    """What is joined in one state, the resistance of either pole to the body, and what is asked for.

    A tester between one pole and the body reads between `both_poles_mohm`, where windings or bleed resistors join the poles,
    and `pole_mohm`, where nothing does.
    """

    name: str
    units: tuple[UnitInsulation, ...]
    without_figure: tuple[str, ...]
    pole_mohm: float
    required_mohm: float

    @property
    def both_poles_mohm(self) -> float:
        """Both poles together against the body."""
        return self.pole_mohm / 2

    @property
    def dominant(self) -> UnitInsulation:
        """The unit through which most leaks."""
        return max(self.units, key=lambda item: item.share_percent)


@dataclass(frozen=True, kw_only=True, slots=True)
class Proof:
    """What the regulation's measurement shows if the pack is as described: volts before and with the known resistor.

    With a meter of just the ohms that the regulation asks for: they lower both readings and leave the result as it is.
    """

    pack_v: float
    meter_ohm: float
    known_ohm: float
    pole_v: float
    pole_with_known_v: float

    @property
    def isolation_mohm(self) -> float:
        """What the two readings come to."""
        found = isolation_ohm(known_ohm=self.known_ohm, pack_v=self.pack_v, before_v=self.pole_v, after_v=self.pole_with_known_v)
        return found / MEGA

    @property
    def most_with_known_v(self) -> float:
        """The second reading just as high as passes after this first one: the known resistor is what is asked for."""
        return 1 / (1 / self.pack_v + 1 / self.pole_v)


@dataclass(frozen=True, kw_only=True, slots=True)
class Insulation:
    """States, what is asked for in ohm per volt (None: nobody has said), the proof by volts, and how a bad unit is found."""

    full_v: float
    ohm_per_v: float | None
    limit_name: str
    states: tuple[InsulationState, ...]
    proof: Proof | None
    splits: tuple[Split, ...]
    without_figure: tuple[str, ...]

    @property
    def closed(self) -> InsulationState | None:
        """The state in which everything is joined."""
        return next((state for state in self.states if state.name == CLOSED), None)

    @property
    def touch_ma(self) -> float | None:
        """Milliamperes d.c. through a hand on one pole, at most: through the insulation of the other, the hand without resistance."""
        return None if self.closed is None else self.full_v / (self.closed.pole_mohm * MEGA) / MILLI


def parallel_mohm(values: Iterable[float]) -> float:
    """Resistances side by side; infinite where there are none.

    >>> parallel_mohm([20.0, 20.0])
    10.0
    """
    conductance = math.fsum(1 / value for value in values)
    return math.inf if conductance == 0 else 1 / conductance


def isolation_ohm(*, known_ohm: float, pack_v: float, before_v: float, after_v: float) -> float:
    """Isolation resistance from volts of the lesser-insulated pole's opposite, UN R100 annex 4B / 5A: Ri = Ro Vb (1/V' - 1/V).

    `before_v`: the higher of the two pole-to-body voltages; `after_v`: the same with the known resistor between that pole and
    the body. The formula holds for any known resistor and any meter, and yields the resistance of the other pole, the lesser.
    Raises ValueError where the volts cannot be right: the known resistor must lower them.
    """
    if not 0 < after_v < before_v <= pack_v:
        raise ValueError("the known resistor lowers the volts between pole and body: measure again")
    return known_ohm * pack_v * (1 / after_v - 1 / before_v)


def pole_volts(*, pack_v: float, plus_ohm: float, minus_ohm: float) -> tuple[float, float]:
    """Volts of plus and of minus to the body, for the insulation of each."""
    return pack_v * plus_ohm / (plus_ohm + minus_ohm), pack_v * minus_ohm / (plus_ohm + minus_ohm)


def study_insulation(conversion: Conversion, full_v: float) -> Insulation | None:
    """Parallel of all that is joined, state by state; None where no unit has a figure."""
    figures = {row.ref: row.insulation_mohm for row in conversion.hv_insulation if row.insulation_mohm is not None}
    if not figures:
        return None
    case = conversion.high_voltage.isolation_case
    ohm_per_v = OHM_PER_V.get(case)
    required_mohm = (ohm_per_v or LEAST_OHM_PER_V) * full_v / MEGA
    joined = [(name, units, required_mohm) for name, units in _joined(conversion)]
    joined.append((CHARGING, _in_order(conversion, mains_units(conversion)), limit_of("isolation_inlet") / MEGA))
    states = tuple(_state(name, units, figures, asked_mohm) for name, units, asked_mohm in joined if figures.keys() & set(units))
    closed = next((state for state in states if state.name == CLOSED), None)
    known = {unit for state in states for unit in state.without_figure}
    return Insulation(
        full_v=full_v,
        ohm_per_v=ohm_per_v,
        limit_name=LIMITS.get(case, "isolation_dc_apart"),
        states=states,
        proof=None if closed is None else _proof(full_v, closed.pole_mohm * MEGA, ohm_per_v or LEAST_OHM_PER_V),
        splits=splits_of(conversion, _sides(conversion)),
        without_figure=tuple(device.ref for device in conversion.devices if device.ref in known),
    )


def _joined(conversion: Conversion) -> list[tuple[str, tuple[str, ...]]]:
    """Units that are joined to the battery's circuit, by state."""
    sides = _sides(conversion)
    closed = _in_order(conversion, frozenset().union(*(units for _, units in sides)))
    found = [(name, _in_order(conversion, units)) for name, units in sides] if len(sides) > 1 else []
    return [*found, (CLOSED, closed)]


def _sides(conversion: Conversion) -> list[tuple[str, frozenset[str]]]:
    """The battery's side and what is behind the contactors. Mains pins that an isolating charger keeps apart are on neither."""
    battery = {box.ref for box in conversion.boxes}
    closed = max(joined_units(conversion, contactors_closed=True), key=lambda units: len(units & battery), default=frozenset())
    groups = [units & closed for units in joined_units(conversion, contactors_closed=False) if units <= closed]
    if len(groups) < 2:
        return [(CLOSED, closed)]
    first = max(groups, key=lambda units: len(units & battery))
    rest = frozenset().union(*(units for units in groups if units is not first))
    return [(BATTERY_SIDE, first), (BEHIND, rest)]


def _in_order(conversion: Conversion, units: frozenset[str]) -> tuple[str, ...]:
    return tuple(device.ref for device in conversion.devices if device.ref in units)


def _state(name: str, units: tuple[str, ...], figures: dict[str, float], required_mohm: float) -> InsulationState:
    known = {unit: figures[unit] for unit in units if unit in figures}
    whole = parallel_mohm(known.values())
    return InsulationState(
        name=name,
        units=tuple(UnitInsulation(unit=unit, mohm=mohm, share_percent=100 * whole / mohm) for unit, mohm in known.items()),
        without_figure=tuple(unit for unit in units if unit not in figures),
        pole_mohm=whole,
        required_mohm=required_mohm,
    )


def _proof(pack_v: float, pole_ohm: float, ohm_per_v: float) -> Proof:
    """Both poles alike; the known resistor is what is asked for, per volt, times the volts."""
    known_ohm = ohm_per_v * pack_v
    meter_ohm = limit_of("meter")
    before, after = parallel_mohm([pole_ohm, meter_ohm]), parallel_mohm([pole_ohm, meter_ohm, known_ohm])
    return Proof(
        pack_v=pack_v,
        meter_ohm=meter_ohm,
        known_ohm=known_ohm,
        pole_v=pole_volts(pack_v=pack_v, plus_ohm=before, minus_ohm=pole_ohm)[0],
        pole_with_known_v=pole_volts(pack_v=pack_v, plus_ohm=after, minus_ohm=pole_ohm)[0],
    )
