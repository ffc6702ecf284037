"""What a meter should read on a right car, written down before anybody measures, and what it did read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

# `amount` is any number of the unit that stands beside it; `seen` what an eye or ear answers: yes is 1, no is 0.
Quantity = Literal["resistance", "open", "diode", "voltage", "insulation", "amount", "seen"]
YES, NO = 1.0, 0.0

# The second test point of a line that holds one group of pins against every other pin of the loom, joined together.
ALL_OTHERS = "all others"


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """Two test points, the state of the loom, and what passes.

    `expected` is None where the meter must show no reading at all; `high` is None where nothing is too high. `instrument` and
    `basis` are filled on sheets whose lines differ in them. A line that `is_optional` is measured only where another fails.
    """

    number: int
    between: tuple[str, str]
    state: str
    quantity: Quantity
    expected: float | None
    low: float
    high: float | None
    unit: str
    wires: tuple[str, ...]
    suspect: str
    instrument: str = ""
    basis: str = ""
    is_optional: bool = False

    def passes(self, found: float) -> bool:
        """Whether this value, in the reading's unit, is within its limits; infinity is a meter that shows no reading."""
        return self.low <= found <= (math.inf if self.high is None else self.high)


@dataclass(frozen=True, kw_only=True, slots=True)
class Measured:
    """What was found at one line; `found` in its unit, infinity for no reading, None where nobody has measured yet."""

    reading: Reading
    found: float | None
    by: str = ""
