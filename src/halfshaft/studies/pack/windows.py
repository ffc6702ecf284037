"""The volts of the pack against those between which each unit works."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.pack import HvUnit
from halfshaft.studies.pack.working import LOW_PERCENT, Working

Limit = Literal["works from", "works up to", "is damaged above"]
SAG = f"peak at {LOW_PERCENT} %"


@dataclass(frozen=True, kw_only=True, slots=True)
class InWindow:
    """One state of the pack at one unit. `margin_v` is how far it is from the nearest limit, negative beyond it."""

    state: str
    volts: float
    limit: Limit
    limit_v: float
    margin_v: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Window:
    """One unit in every state of the pack; `first` is the state that comes nearest to a limit, or furthest beyond one."""

    unit: HvUnit
    states: tuple[InWindow, ...]

    @property
    def first(self) -> InWindow:
        """The limit that is met first."""
        return min(self.states, key=lambda item: item.margin_v)


def windows(units: Sequence[HvUnit], *, full_v: float, nominal_v: float, empty_v: float, workings: Sequence[Working]) -> tuple[Window, ...]:
    """Every unit in every state; the last state, at peak power, is there where the pack can give it."""
    states = {"full": full_v, "nominal": nominal_v, "empty": empty_v}
    low = next(item for item in workings if item.charge_percent == LOW_PERCENT and not item.cold)
    if low.peak is not None:
        states[SAG] = low.peak.volts
    return tuple(Window(unit=unit, states=tuple(in_window(unit, state, volts) for state, volts in states.items())) for unit in units)


def in_window(unit: HvUnit, state: str, volts: float) -> InWindow:
    """The limit of the unit that these volts are nearest to; one that they are beyond comes before all others."""
    limits: list[tuple[float, Limit, float]] = [
        (volts - unit.operate_min_v, "works from", unit.operate_min_v),
        (unit.operate_max_v - volts, "works up to", unit.operate_max_v),
    ]
    if volts > unit.withstand_max_v:
        limits = [(unit.withstand_max_v - volts, "is damaged above", unit.withstand_max_v)]
    margin_v, limit, limit_v = min(limits)
    return InWindow(state=state, volts=volts, limit=limit, limit_v=limit_v, margin_v=margin_v)
