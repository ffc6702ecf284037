"""Pieces put into stock lengths by hand, so to say: quick plans that are often the best one, in whole units of length."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

# What one stock length is cut into: the number of its kind, and how many pieces of each length.
Pattern = tuple[int, tuple[int, ...]]
Plan = Counter[Pattern]

# So many sums of costs are looked at, at most, before only their common divisor is used.
SUMS_MAX = 200_000


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of stock: its length, how many there are (None: as many as wanted), and what one costs to begin."""

    length: int
    limit: int | None
    cost: int


@dataclass(frozen=True, slots=True)
class Task:
    """Lengths to cut, longest first, each once, how many of each, and the stock to cut them from.

    One kind at least that holds the longest piece has no limit and costs something, so that every task can be done.
    """

    lengths: tuple[int, ...]
    counts: tuple[int, ...]
    kinds: tuple[Kind, ...]

    def used(self, counts: Sequence[int]) -> int:
        """Length of so many pieces together."""
        return sum(length * count for length, count in zip(self.lengths, counts, strict=True))

    def cost(self, plan: Plan) -> int:
        """What all stock begun in a plan costs."""
        return sum(self.kinds[kind].cost * times for (kind, _), times in plan.items())

    def times(self, pattern: Pattern) -> int:
        """How often a pattern can be cut before it would cut too much, or its stock is used up."""
        kind, taken = pattern
        times = min(have // take for have, take in zip(self.counts, taken, strict=True) if take)
        limit = self.kinds[kind].limit
        return times if limit is None else min(times, limit)

    def less(self, pattern: Pattern, times: int) -> Task:
        """What is left once a pattern has been cut so often."""
        kind, taken = pattern
        counts = tuple(have - times * take for have, take in zip(self.counts, taken, strict=True))
        kinds = tuple(
            stock if number != kind or stock.limit is None else Kind(stock.length, stock.limit - times, stock.cost)
            for number, stock in enumerate(self.kinds)
        )
        return Task(self.lengths, counts, kinds)


def fullest(lengths: Sequence[int], counts: Sequence[int], room: int) -> tuple[int, ...]:
    """The pieces that fill a room best; of several equal fillings the one with the longest pieces.

    Exact: a bit for every length that can be made up, piece after piece.

    >>> fullest((70, 40, 30), (1, 2, 2), 100)
    (1, 0, 1)
    """
    mask = (1 << (room + 1)) - 1
    layers: list[tuple[int, int, int]] = []
    reach = 1
    for index, (length, count) in enumerate(zip(lengths, counts, strict=True)):
        for share in doubling(min(count, room // length)):
            layers.append((index, share, reach))
            reach = (reach | reach << (length * share)) & mask
    filled = reach.bit_length() - 1
    taken = [0] * len(lengths)
    for index, share, before in reversed(layers):
        if not before >> filled & 1:
            taken[index] += share
            filled -= lengths[index] * share
    return tuple(taken)


def doubling(count: int) -> Iterator[int]:
    """Parts that can be added up to every number from 0 to `count`: 1, 2, 4 ... and the rest."""
    share = 1
    while count:
        share = min(share, count)
        yield share
        count -= share
        share *= 2


def fill_in_order(task: Task, order: Sequence[int]) -> Plan | None:
    """Kind after kind, each length filled as full as it goes; None where stock runs out."""
    plan: Plan = Counter()
    left = list(task.counts)
    for kind in order:
        stock = task.kinds[kind]
        limit = stock.limit
        while any(left) and limit != 0:
            taken = fullest(task.lengths, left, stock.length)
            if not any(taken):
                break
            times = min(have // take for have, take in zip(left, taken, strict=True) if take)
            times = times if limit is None else min(times, limit)
            plan[kind, taken] += times
            left = [have - times * take for have, take in zip(left, taken, strict=True)]
            limit = None if limit is None else limit - times
    return None if any(left) else plan


def first_fit(task: Task, order: Sequence[int]) -> Plan | None:
    """Longest piece first, each into the first length begun that has room, else into the next length of stock in order."""
    begun: list[tuple[int, list[int]]] = []
    rooms: list[int] = []
    limits = {kind: task.kinds[kind].limit for kind in order}
    for index, (length, count) in enumerate(zip(task.lengths, task.counts, strict=True)):
        at = 0
        while count:
            if at == len(begun):
                kind = next((kind for kind in order if limits[kind] != 0 and task.kinds[kind].length >= length), None)
                if kind is None:
                    return None
                limit = limits[kind]
                limits[kind] = None if limit is None else limit - 1
                begun.append((kind, [0] * len(task.lengths)))
                rooms.append(task.kinds[kind].length)
            times = min(count, rooms[at] // length)
            begun[at][1][index] += times
            rooms[at] -= times * length
            count -= times
            at += 1
    return Counter((kind, tuple(taken)) for kind, taken in begun)


def smaller_stock(task: Task, plan: Plan) -> Plan:
    """The same patterns, each on the cheapest kind that still holds it, as far as there is such stock that the plan leaves alone."""
    free = {kind: stock.limit for kind, stock in enumerate(task.kinds)}
    for (kind, _), times in plan.items():
        limit = free[kind]
        free[kind] = None if limit is None else limit - times
    result: Plan = Counter()
    for (own, taken), times in sorted(plan.items(), key=lambda item: (-task.used(item[0][1]), item)):
        left = times
        cheaper = [kind for kind, stock in enumerate(task.kinds) if task.used(taken) <= stock.length and stock.cost < task.kinds[own].cost]
        for kind in sorted(cheaper, key=lambda kind: (task.kinds[kind].cost, task.kinds[kind].length)):
            limit = free[kind]
            moved = left if limit is None else min(left, limit)
            free[kind] = None if limit is None else limit - moved
            if moved:
                result[kind, taken] += moved
            left -= moved
        if left:
            result[own, taken] += left
    return result


def orders(task: Task) -> list[tuple[int, ...]]:
    """In which order kinds are tried: what is limited first, shortest or longest first, then each other kind in turn before the rest."""
    shelf = [kind for kind, stock in enumerate(task.kinds) if stock.limit is not None]
    new = [kind for kind, stock in enumerate(task.kinds) if stock.limit is None]
    new.sort(key=lambda kind: (task.kinds[kind].cost / task.kinds[kind].length, -task.kinds[kind].length))
    firsts = [(*sorted(shelf, key=lambda kind: (sign * task.kinds[kind].length, kind)),) for sign in (1, -1)]
    lasts = [(kind, *(other for other in new if other != kind)) for kind in new] or [()]
    return list(dict.fromkeys((*first, *last) for first in firsts for last in lasts))


def quick_plans(task: Task) -> Iterator[Plan]:
    """Plans that cost no search; the first one uses what is limited first, shortest first."""
    for order in orders(task):
        for way in (fill_in_order, first_fit):
            plan = way(task, order)
            if plan is not None:
                yield smaller_stock(task, plan)


def trimmed(task: Task, plan: Plan) -> Plan:
    """A plan less what it cuts too much of."""
    extra = [-count for count in task.counts]
    for (_, taken), times in plan.items():
        extra = [have + times * take for have, take in zip(extra, taken, strict=True)]
    result: Plan = Counter()
    for kind, taken in sorted(plan.elements(), key=lambda item: (task.used(item[1]), item)):
        cut = tuple(min(have, take) for have, take in zip(extra, taken, strict=True))
        extra = [have - less for have, less in zip(extra, cut, strict=True)]
        kept = tuple(take - less for take, less in zip(taken, cut, strict=True))
        if any(kept):
            result[kind, kept] += 1
    return result


def material_bound(task: Task, known: int) -> int:
    """No plan can cost less: as if stock could be bought by the unit of length, the cheapest first. `known` is what a plan costs."""
    wanted = task.used(task.counts)
    bound = Fraction(0)
    for kind in sorted(task.kinds, key=lambda kind: Fraction(kind.cost, kind.length)):
        length = wanted if kind.limit is None else min(wanted, kind.limit * kind.length)
        bound += Fraction(kind.cost * length, kind.length)
        wanted -= length
    return next_cost(task, bound, known)


def next_cost(task: Task, bound: Fraction, known: int) -> int:
    """The least sum of costs of whole stock lengths that is not below a bound and long enough; `known` is what a plan costs."""
    least, wanted = math.ceil(bound), task.used(task.counts)
    # The greatest length that each sum of costs buys.
    sums = {0: 0}
    for kind in task.kinds:
        most = known // kind.cost if kind.cost else -(-wanted // kind.length)
        for share in doubling(most if kind.limit is None else min(most, kind.limit)):
            for total, length in list(sums.items()):
                grown = total + share * kind.cost
                if grown <= known:
                    sums[grown] = max(sums.get(grown, 0), length + share * kind.length)
            if len(sums) > SUMS_MAX:
                step = math.gcd(*(each.cost for each in task.kinds))
                return min(known, -(-least // step) * step)
    return min(total for total, length in sums.items() if total >= min(least, known) and length >= wanted)
