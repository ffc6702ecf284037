"""Resistances side by side."""

from __future__ import annotations

import math
from collections.abc import Iterable


def parallel(values: Iterable[float]) -> float:
    """Resistances side by side, in whatever unit they come; infinite where there are none.

    >>> parallel([20.0, 20.0])
    10.0
    """
    conductance = math.fsum(1 / value for value in values)
    return 1 / conductance if conductance else math.inf
