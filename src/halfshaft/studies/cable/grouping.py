"""How many wires of a bundle are loaded, and what that leaves of what each would carry alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from halfshaft.standards import constants, table


@dataclass(frozen=True, slots=True)
class Loading:
    """A wire in a bundle: what it carries, and what it would carry alone in the same place."""

    current_a: float
    capacity_a: float


@cache
def _printed() -> tuple[tuple[float, float], ...]:
    return tuple((float(row["loaded"]), float(row["factor"])) for row in table("grouping"))


def grouping_factor(loaded: int) -> float:
    """Share of its capacity alone that each of so many loaded wires keeps; between printed rows on a straight line.

    Past the last row it falls with the root of the number, as a round bundle's surface grows with it and its heat with the number.

    >>> grouping_factor(1), grouping_factor(3)
    (1.0, 0.7)
    """
    rows = _printed()
    for (few, more), (many, less) in itertools.pairwise(rows):
        if loaded <= many:
            return more + (less - more) * (max(loaded, few) - few) / (many - few)
    last, factor = rows[-1]
    return factor * math.sqrt(last / loaded)


def loaded_count(wires: Sequence[Loading]) -> int:
    """Wires of a bundle that count as loaded: those that carry more than the stated share of what the bundle leaves them.

    With fewer counted each keeps more, so fewer may count: done until nothing changes, from all of them down.
    """
    share = constants()["loaded_from_share"].value
    counted = len(wires)
    while True:
        factor = grouping_factor(counted)
        found = sum(wire.current_a > share * factor * wire.capacity_a for wire in wires)
        if found >= counted:
            return counted
        counted = found
