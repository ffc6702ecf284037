"""The order that costs least, exactly: a programme over subsets (Held and Karp), for things that can each stand in some ways."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

# Twelve boxes and the service disconnect. In two ways each they are some 13² · 2² · 2¹³ steps: seconds, not minutes.
MOST = 13

# Index of a thing, and the way in which it stands.
Stand = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Costs:
    """What an order costs: its first thing, each step, its last thing.

    `between` is also given the things up to and with its first one, as bits, so that a step may cost what lies ahead of it.
    Infinite: not allowed.
    """

    first: Callable[[Stand], float]
    between: Callable[[Stand, Stand, int], float]
    last: Callable[[Stand], float]

    def of(self, order: Sequence[Stand]) -> float:
        """The sum for an order that is given."""
        parts, ahead = [self.first(order[0])], 0
        for one, other in pairwise(order):
            ahead |= 1 << one[0]
            parts.append(self.between(one, other, ahead))
        return math.fsum([*parts, self.last(order[-1])])


def least_order(ways: Sequence[int], costs: Costs) -> tuple[Stand, ...]:
    """Every thing once, in the order and ways with the least sum. `ways[i]` is in how many ways thing i may stand.

    Of orders of one cost the one of lower indexes is taken, so that a reprint matches.
    """
    assert len(ways) <= MOST
    best: dict[tuple[int, Stand], tuple[float, tuple[Stand, ...]]] = {
        (1 << index, (index, way)): (costs.first((index, way)), ((index, way),)) for index, count in enumerate(ways) for way in range(count)
    }
    for _ in range(len(ways) - 1):
        longer: dict[tuple[int, Stand], tuple[float, tuple[Stand, ...]]] = {}
        for (done, at), (cost, order) in best.items():
            for stand in ((index, way) for index, count in enumerate(ways) if not done >> index & 1 for way in range(count)):
                # To a millionth, so that sums taken in another order are still equal.
                offer = (round(cost + costs.between(at, stand, done), 6), (*order, stand))
                key = (done | 1 << stand[0], stand)
                if key not in longer or offer < longer[key]:
                    longer[key] = offer
        best = longer
    return min((round(cost + costs.last(at), 6), order) for (_, at), (cost, order) in best.items())[1]
