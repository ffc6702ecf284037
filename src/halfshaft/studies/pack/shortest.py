"""The order that costs least, exactly: a programme over subsets (Held and Karp), for things that can each stand in some ways."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

# Twelve boxes and the service disconnect. In two ways each they are 13² · 2² · 2¹³ steps at most: seconds, not minutes.
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


def least_order(ways: Sequence[int], costs: Costs) -> tuple[Stand, ...] | None:
    """Every thing once, in the order and ways with the least sum; None where no order is allowed.

    `ways[i]` is in how many ways thing i may stand. Of orders of one cost, to a millionth, the one of lower indexes is taken,
    so that a reprint matches.
    """
    assert len(ways) <= MOST
    stands = [(index, way) for index, count in enumerate(ways) for way in range(count)]
    best: dict[tuple[int, Stand], tuple[float, tuple[Stand, ...]]] = {
        (1 << stand[0], stand): (costs.first(stand), (stand,)) for stand in stands if costs.first(stand) < math.inf
    }
    for _ in range(len(ways) - 1):
        longer: dict[tuple[int, Stand], tuple[float, tuple[Stand, ...]]] = {}
        for (done, at), (cost, order) in best.items():
            for stand in stands:
                if done >> stand[0] & 1:
                    continue
                total = round(cost + costs.between(at, stand, done), 6)
                key = (done | 1 << stand[0], stand)
                known = longer.get(key)
                if total < math.inf and (known is None or total < known[0] or (total == known[0] and (*order, stand) < known[1])):
                    longer[key] = (total, (*order, stand))
        best = longer
    whole = [(round(cost + costs.last(at), 6), order) for (_, at), (cost, order) in best.items() if costs.last(at) < math.inf]
    return min(whole)[1] if whole else None
