"""Cutting plans by column generation: patterns are made only where they could help, and the bound is exact.

Gilmore and Gomory's method (1961): a linear programme chooses among known patterns; its prices of the pieces tell which
pattern is missing (a knapsack, solved exactly); when none is, the value of the programme bounds every plan from below.
From there to whole numbers: the programme is dived into, fixing patterns and making new ones for what is left; and where
all patterns that a better plan could use are few enough to be listed, a whole-number programme over them settles it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from halfshaft.studies.looms.patterns import Pattern, Plan, Task, doubling, next_cost, quick_plans, trimmed

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# Prices of the pieces are kept as whole numbers of this part of a unit of cost, so that the bound has no rounding in it; where all
# pieces together would be worth more than a whole number of the machine holds, of a larger part.
PRICE_STEPS = 10**9
WORTH_MAX = 2**61
# Effort is counted, not timed, so that the same input always gives the same plan: cells of knapsacks, and cells of linear
# programmes, which take about a hundred times as long each. As measured, this comes to some ten seconds.
CELLS_MAX = 10**9
PROGRAMME_CELL = 100
DIVES_MAX = 12
# A whole-number programme over the patterns made so far is worth its time up to so many cells, and so many nodes.
CHOSEN_MAX = 40_000
NODES_MAX = 200
# Patterns made from one set of prices: the best one, then the best one of the pieces not in it, and so on.
FAMILY = 4
# So many patterns are listed, at most, and so many places looked at for them; then nodes of the programme over all of them.
LISTED_MAX = 4_000
STEPS_MAX = 200_000
LISTED_NODES_MAX = 1_000
# How the whole-number programme says that there is no plan at all.
INFEASIBLE = 2


@dataclass(slots=True)
class Pool:
    """All patterns made so far, in the order in which they were made, and the effort still allowed."""

    task: Task
    patterns: dict[Pattern, None] = field(default_factory=dict)
    cells: int = CELLS_MAX

    def add(self, patterns: Iterable[Pattern]) -> list[Pattern]:
        """Keep what is new, and return it."""
        new = [pattern for pattern in dict.fromkeys(patterns) if pattern not in self.patterns]
        self.patterns.update(dict.fromkeys(new))
        return new

    def fitting(self, task: Task) -> list[Pattern]:
        """Patterns that cut no more of anything than a smaller task wants."""
        return [
            pattern
            for pattern in self.patterns
            if task.kinds[pattern[0]].limit != 0 and all(take <= have for take, have in zip(pattern[1], task.counts, strict=True))
        ]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The linear programme's answer: how often each pattern, in parts; the prices that prove most, and what they prove."""

    patterns: list[Pattern]
    times: list[float]
    proof: Proof


@dataclass(frozen=True, slots=True)
class Proof:
    """Prices of the pieces, charges for one length of each kind, and the bound that follows from both, in exact numbers."""

    prices: tuple[Fraction, ...]
    charges: tuple[Fraction, ...]
    bound: Fraction


def solve(task: Task, best: Plan, bound: int) -> tuple[Plan, int]:
    """A plan at least as good as `best`, and a bound at least as good as `bound`."""
    pool = Pool(task)
    pool.add(best)
    relaxed = relax(pool, task)
    bound = max(bound, next_cost(task, relaxed.proof.bound, task.cost(best)))
    for plan, proven in attempts(pool, relaxed, best, bound):
        bound = max(bound, proven)
        if plan is not None and task.cost(plan) < task.cost(best):
            best = trimmed(task, plan)
        if task.cost(best) <= bound:
            break
    return best, bound


def attempts(pool: Pool, relaxed: Relaxed, best: Plan, bound: int) -> Iterator[tuple[Plan | None, int]]:
    """Ways to whole numbers, the cheap ones first; each with the bound that it proves, if any."""
    task = pool.task
    yield best, bound
    yield dive(pool, relaxed, 0, bound), 0
    listed = all_patterns(task, relaxed.proof, task.cost(best) - 1)
    if listed is not None:
        plan, least = chosen(task, listed, bound, LISTED_NODES_MAX)
        # Any plan that costs less than the one there was is of these patterns.
        yield plan, min(least, task.cost(best))
    for skip in range(1, DIVES_MAX):
        if pool.cells > 0:
            yield dive(pool, relaxed, skip, bound), 0
        if skip == DIVES_MAX // 2 and len(pool.patterns) * len(task.counts) <= CHOSEN_MAX:
            yield chosen(task, list(pool.patterns), bound, NODES_MAX)[0], 0


def relax(pool: Pool, task: Task) -> Relaxed:
    """Solve the linear programme over all patterns there could be of a task, or until the effort is spent."""
    import numpy as np
    from scipy.optimize import linprog
    from scipy.sparse import csc_matrix

    wanted = [index for index, count in enumerate(task.counts) if count]
    limited = [kind for kind, stock in enumerate(task.kinds) if stock.limit is not None]
    pool.add(_plain_patterns(task))
    patterns = pool.fitting(task)
    right = [-task.counts[index] for index in wanted] + [task.kinds[kind].limit for kind in limited]
    best = Proof((Fraction(0),) * len(task.counts), (Fraction(0),) * len(task.kinds), Fraction(0))
    while True:
        rows = [[-pattern[1][index] for index in wanted] + [float(pattern[0] == kind) for kind in limited] for pattern in patterns]
        cost = [task.kinds[kind].cost for kind, _ in patterns]
        found = linprog(cost, A_ub=csc_matrix(np.array(rows).T), b_ub=right, method="highs-ds")
        marginals = [float(value) for value in found.ineqlin.marginals]
        pool.cells -= PROGRAMME_CELL * len(patterns) * len(right)
        all_worth = sum(-value * task.counts[index] for index, value in zip(wanted, marginals, strict=False))
        steps = min(PRICE_STEPS, int(WORTH_MAX / max(1.0, all_worth)))
        prices = [0] * len(task.counts)
        for index, value in zip(wanted, marginals, strict=False):
            prices[index] = max(0, int(-value * steps))
        charges = dict(zip(limited, marginals[len(wanted) :], strict=True))
        made = list(_family(pool, task, prices))
        best = max(best, proof(task, prices, steps, [value for value, _ in made[0]]), key=lambda item: item.bound)
        new = pool.add(
            (kind, taken)
            for family in made
            for kind, (value, taken) in enumerate(family)
            if task.kinds[kind].limit != 0
            and value / steps > task.kinds[kind].cost - charges.get(kind, 0.0) + 1e-7 * (1 + task.kinds[kind].cost)
        )
        if not new or pool.cells < 0:
            return Relaxed(patterns, [float(times) for times in found.x], best)
        patterns += new


def _family(pool: Pool, task: Task, prices: list[int]) -> Iterator[list[tuple[int, tuple[int, ...]]]]:
    """The best patterns at these prices, then the best ones of pieces that are not in those, and so on."""
    prices = list(prices)
    for _ in range(FAMILY):
        pool.cells -= max(kind.length for kind in task.kinds) * sum(price > 0 for price in prices)
        made = best_patterns(task, prices)
        yield made
        for _, taken in made:
            prices = [0 if take else price for take, price in zip(taken, prices, strict=True)]


def _plain_patterns(task: Task) -> Iterator[Pattern]:
    """Each piece by itself, as often as it goes into each kind: with these every task can be done."""
    for kind, stock in enumerate(task.kinds):
        for index, (length, count) in enumerate(zip(task.lengths, task.counts, strict=True)):
            times = min(count, stock.length // length)
            if times and stock.limit != 0:
                yield kind, tuple(times if other == index else 0 for other in range(len(task.counts)))


def best_patterns(task: Task, prices: Sequence[int]) -> list[tuple[int, tuple[int, ...]]]:
    """For each kind what the pieces of its best pattern are worth, and that pattern: one knapsack for all kinds, exact."""
    import numpy as np

    room = max(kind.length for kind in task.kinds)
    worth: npt.NDArray[np.int64] = np.zeros(room + 1, dtype=np.int64)
    layers: list[tuple[int, int, npt.NDArray[np.bool_]]] = []
    for index, (length, count, price) in enumerate(zip(task.lengths, task.counts, prices, strict=True)):
        for share in doubling(min(count, room // length) if price else 0):
            grown = worth.copy()
            np.maximum(grown[share * length :], worth[: room + 1 - share * length] + share * price, out=grown[share * length :])
            layers.append((index, share, grown > worth))
            worth = grown
    return [(int(worth[kind.length]), _taken(task, layers, kind.length)) for kind in task.kinds]


def _taken(task: Task, layers: list[tuple[int, int, npt.NDArray[np.bool_]]], room: int) -> tuple[int, ...]:
    taken = [0] * len(task.lengths)
    for index, share, is_better in reversed(layers):
        if is_better[room]:
            taken[index] += share
            room -= share * task.lengths[index]
    return tuple(taken)


def proof(task: Task, prices: Sequence[int], steps: int, worths: Sequence[int]) -> Proof:
    """What prices of the pieces, in so many steps a unit of cost, prove in exact arithmetic, whatever the linear programme thought of them.

    No pattern of an unlimited kind may be worth more than that kind costs: prices are lowered until it is so
    (Farley 1990). A limited kind whose best pattern is worth more is charged for the difference, once a length.
    """
    share = Fraction(1, steps)
    for kind, worth in zip(task.kinds, worths, strict=True):
        if kind.limit is None and worth:
            share = min(share, Fraction(kind.cost, worth))
    charges = tuple(
        Fraction(0) if kind.limit is None else max(Fraction(0), share * worth - kind.cost)
        for kind, worth in zip(task.kinds, worths, strict=True)
    )
    lowered = tuple(share * price for price in prices)
    value = sum((count * price for count, price in zip(task.counts, lowered, strict=True)), Fraction(0))
    return Proof(lowered, charges, value - sum((kind.limit or 0) * charge for kind, charge in zip(task.kinds, charges, strict=True)))


def dive(pool: Pool, relaxed: Relaxed, skip: int, bound: int) -> Plan | None:
    """Fix what the linear programme is surest of, make new patterns for what is left, and so on to the end.

    `skip` starts with another pattern than the surest, so that each dive ends elsewhere.
    """
    task, plan = pool.task, Counter[Pattern]()
    while any(task.counts):
        rest = min(quick_plans(task), key=task.cost)
        if task.cost(plan) + task.cost(rest) <= bound or pool.cells < 0:
            return plan + rest
        for pattern, times in _surest(relaxed, skip).items():
            times = min(times, task.times(pattern))
            plan[pattern] += times
            task = task.less(pattern, times)
        skip = 0
        if any(task.counts):
            relaxed = relax(pool, task)
            if task.cost(plan) + math.ceil(relaxed.proof.bound) > bound:
                return plan + min(quick_plans(task), key=task.cost)
    return plan


def _surest(relaxed: Relaxed, skip: int) -> Plan:
    """Every pattern as often as it is wholly in the programme's answer; where none is, the one nearest to once."""
    whole = {pattern: math.floor(times + 1e-6) for pattern, times in zip(relaxed.patterns, relaxed.times, strict=True) if times > 1 - 1e-6}
    if whole and not skip:
        return Counter(whole)
    parts = sorted((-round(times % 1, 6), at) for at, times in enumerate(relaxed.times) if 1e-6 < times % 1 < 1 - 1e-6)
    return Counter({relaxed.patterns[parts[skip % len(parts)][1]]: 1} if parts else whole)


def all_patterns(task: Task, proof: Proof, cost: int) -> list[Pattern] | None:
    """Every pattern that a plan of at most this cost could use and that has no room for a further piece; None if too many.

    A plan costs the bound and, for each pattern, what its kind costs with its charge beyond what its pieces are worth: a
    pattern for which that is more than is left to the cost is in no such plan.
    """
    slack = float(cost - proof.bound) + 1e-6
    prices = [float(price) for price in proof.prices]
    steps, found = STEPS_MAX, list[Pattern]()
    # The most that a unit of length can be worth among the pieces from here on.
    rates = [max(price / length for price, length in zip(prices[at:], task.lengths[at:], strict=True)) for at in range(len(prices))]
    for number, kind in enumerate(task.kinds):
        least = kind.cost + float(proof.charges[number]) - slack
        open_places: list[tuple[int, int, float, tuple[int, ...]]] = [(0, kind.length, 0.0, ())]
        while open_places:
            steps -= 1
            if steps < 0 or len(found) > LISTED_MAX:
                return None
            at, room, value, taken = open_places.pop()
            if at == len(prices):
                has_room = any(length <= room and take < have for length, take, have in zip(task.lengths, taken, task.counts, strict=True))
                if value >= least and not has_room and any(taken):
                    found.append((number, taken))
                continue
            if value + room * rates[at] < least:
                continue
            length = task.lengths[at]
            for take in range(min(task.counts[at], room // length) + 1):
                open_places.append((at + 1, room - take * length, value + take * prices[at], (*taken, take)))
    return found


def chosen(task: Task, patterns: list[Pattern], bound: int, nodes: int) -> tuple[Plan | None, int]:
    """The best plan over some patterns, by whole-number programming with a limit of nodes, and the bound that it proves.

    The bound holds for plans of these patterns only; where there is no such plan at all, it is higher than any plan.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csc_matrix

    above_all = 1 + sum(task.counts) * max(kind.cost for kind in task.kinds)
    if not patterns:
        return None, above_all
    cost = np.array([task.kinds[kind].cost for kind, _ in patterns], dtype=float)
    matrix = csc_matrix(np.array([taken for _, taken in patterns], dtype=float).T)
    constraints = [LinearConstraint(matrix, np.array(task.counts), np.inf), LinearConstraint(cost[None, :], bound, np.inf)]
    for kind, stock in enumerate(task.kinds):
        if stock.limit is not None:
            constraints.append(LinearConstraint(np.array([[float(own == kind) for own, _ in patterns]]), 0, stock.limit))
    found = milp(
        cost,
        integrality=np.ones(len(patterns)),
        bounds=Bounds(0, max(task.counts)),
        constraints=constraints,
        options={"node_limit": nodes, "mip_rel_gap": 0},
    )
    if found.x is None:
        return None, above_all if found.status == INFEASIBLE else 0
    plan = Counter({pattern: times for pattern, x in zip(patterns, found.x, strict=True) if (times := round(float(x)))})
    return plan, math.ceil(float(found.mip_dual_bound) - 1e-3)
