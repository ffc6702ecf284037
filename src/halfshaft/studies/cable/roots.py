"""Where a rising function meets a value."""

from __future__ import annotations

from collections.abc import Callable


def meets(function: Callable[[float], float], value: float, low: float, high: float, *, within: float = 1e-7) -> float | None:
    """The argument between `low` and `high` at which a rising function has a value; None where it stays below. Illinois method."""
    below, above = function(low) - value, function(high) - value
    if below >= 0:
        return low
    if above < 0:
        return None
    side = 0
    for _ in range(200):
        middle = (low * above - high * below) / (above - below)
        found = function(middle) - value
        if abs(found) <= within * max(abs(value), 1e-9) or high - low <= within * 1e-3:
            return middle
        if found > 0:
            high, above = middle, found
            below = below / 2 if side == 1 else below
            side = 1
        else:
            low, below = middle, found
            above = above / 2 if side == -1 else above
            side = -1
    return (low + high) / 2
