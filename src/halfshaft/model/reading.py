"""What a meter should read on a right car, written down before anybody measures."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """Two test points, the state of the car, and the value with its sign that passes."""

    between: tuple[str, str]
    state: str
    quantity: str
    expected: float
    low: float
    high: float
    unit: str
    wires: tuple[str, ...]
    suspect: str
