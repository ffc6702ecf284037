"""How pieces are cut from reels, coils and offcuts with least new stock, and how near to the least that is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from halfshaft.studies.looms.columns import solve
from halfshaft.studies.looms.patterns import Kind, Plan, Task, material_bound, quick_plans

CENTS = 100
Aim = Literal["shelf", "length", "price", "missing"]


@dataclass(frozen=True, kw_only=True, slots=True)
class StockKind:
    """A length of stock in whole millimetres: `pieces` of it on the shelf, or as many as are wanted (None) at a price."""

    ref: str
    length_mm: int
    pieces: int | None = None
    price_eur: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Cut:
    """What so many lengths of one kind are each cut into: lengths with their counts, longest first, and what is left of each."""

    stock: StockKind
    times: int
    pieces: tuple[tuple[int, int], ...]
    left_mm: int
    is_kept: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class CuttingPlan:
    """All cuts, those from the shelf first. `missing` are cuts for which the shelf has no stock and none can be bought.

    `found` is what the plan takes, and no plan does with less than `least`: by its aim, mm of the shelf begun (`shelf`), mm
    bought (`length`), EUR spent (`price`), or lengths that are missing.
    """

    cuts: tuple[Cut, ...]
    missing: tuple[Cut, ...]
    too_long: tuple[tuple[int, int], ...]
    aim: Aim
    found: float
    least: float

    @property
    def proven(self) -> bool:
        """Whether no plan can be better."""
        return self.found == self.least

    @property
    def gap_percent(self) -> float:
        """How far the plan may be from the best one, at most, in percent of itself."""
        return 0.0 if self.proven else 100 * (self.found - self.least) / self.found

    @property
    def waste_mm(self) -> int:
        """What is left over in ends too short to keep."""
        return sum(cut.times * cut.left_mm for cut in (*self.cuts, *self.missing) if not cut.is_kept)


def cut_stock(pieces: Mapping[int, int], stock: Sequence[StockKind], *, trim_mm: int, offcut_min_mm: float) -> CuttingPlan:
    """A plan for all pieces (how many of each length in mm).

    Stock of which a number is given lies on the shelf. Where that is enough, the plan begins the least length of it. Where it
    is not, the plan buys the least of the stock that has no number: by price where each such has one, else by length. What lies
    on the shelf then costs nothing, and is used up first, shortest first and each as full as it goes, where the quick plan that
    does so buys no more. What can neither be found nor bought is missing, as lengths of the longest kind. A piece longer than
    all stock is left out.

    Stock is filled as full as it goes, one length after the other, so that what is left is in one piece wherever that costs
    nothing. Of each length `trim_mm` at least is left over, for square ends and errors of measuring; an end of `offcut_min_mm` or
    more is kept. No width is lost to a blade: all this is sheared.

    >>> plan = cut_stock({400: 4, 300: 2}, [StockKind(ref="R", length_mm=1000)], trim_mm=0, offcut_min_mm=150)
    >>> [(cut.times, cut.pieces, cut.left_mm, cut.is_kept) for cut in plan.cuts]
    [(1, ((400, 1), (300, 2)), 0, False), (1, ((400, 2),), 200, True), (1, ((400, 1),), 600, True)]
    """
    longest_first = sorted((length for length, count in pieces.items() if count), reverse=True)
    longest = max(stock, key=lambda kind: kind.length_mm, default=None)
    too_long = tuple((length, pieces[length]) for length in longest_first if longest is None or length > longest.length_mm - trim_mm)
    lengths = longest_first[len(too_long) :]
    if longest is None or not lengths:
        return CuttingPlan(cuts=(), missing=(), too_long=too_long, aim="shelf", found=0, least=0)
    useful = [kind for kind in stock if kind.length_mm - trim_mm >= lengths[-1]]
    problem = _Problem(
        lengths=tuple(lengths),
        counts=tuple(pieces[length] for length in lengths),
        shelf=tuple(sorted((kind for kind in useful if kind.pieces is not None), key=lambda kind: kind.length_mm)),
        new=tuple(kind for kind in useful if kind.pieces is None),
        lacking=longest,
        trim_mm=trim_mm,
    )
    solved = _from_the_shelf(problem) or _with_new_stock(problem)
    cuts = [_cut(problem, kind, taken, times, offcut_min_mm) for kind, taken, times in solved.patterns]
    return CuttingPlan(
        cuts=tuple(cut for at, cut in cuts if at < problem.lack),
        missing=tuple(cut for at, cut in cuts if at == problem.lack),
        too_long=too_long,
        aim=solved.aim,
        found=solved.found,
        least=solved.least,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Problem:
    """Pieces that some stock holds; the kinds are numbered shelf first, then new, then what is lacking."""

    lengths: tuple[int, ...]
    counts: tuple[int, ...]
    shelf: tuple[StockKind, ...]
    new: tuple[StockKind, ...]
    lacking: StockKind
    trim_mm: int

    @property
    def stock(self) -> tuple[StockKind, ...]:
        """All kinds in the order of their numbers."""
        return (*self.shelf, *self.new, self.lacking)

    @property
    def lack(self) -> int:
        """The number of what is lacking."""
        return len(self.shelf) + len(self.new)

    @property
    def needed_mm(self) -> int:
        """All pieces together."""
        return sum(length * count for length, count in zip(self.lengths, self.counts, strict=True))

    def task(self, costs: Sequence[int], limits: Sequence[int | None]) -> Task:
        """The same in the largest unit of length in which all pieces are whole."""
        unit = math.gcd(*self.lengths)
        kinds = (
            Kind((kind.length_mm - self.trim_mm) // unit, limit, cost) for kind, limit, cost in zip(self.stock, limits, costs, strict=True)
        )
        return Task(tuple(length // unit for length in self.lengths), self.counts, tuple(kinds))


@dataclass(frozen=True, kw_only=True, slots=True)
class _Solved:
    patterns: tuple[tuple[int, tuple[int, ...], int], ...]
    aim: Aim
    found: float
    least: float


def _from_the_shelf(problem: _Problem) -> _Solved | None:
    """The least length of the shelf, or None where that is not enough."""
    there_mm = sum(kind.length_mm * (kind.pieces or 0) for kind in problem.shelf)
    if there_mm < problem.needed_mm:
        return None
    costs = [*(kind.length_mm for kind in problem.shelf), *(there_mm + 1 for _ in problem.new), there_mm + 1]
    # New stock is left out by giving it no number: only what is lacking stands in for it here.
    limits = [*(kind.pieces for kind in problem.shelf), *(0 for _ in problem.new), None]
    plan, found, least = _solve(problem.task(costs, limits))
    return None if found > there_mm else _Solved(patterns=plan, aim="shelf", found=found, least=least)


def _with_new_stock(problem: _Problem) -> _Solved:
    """The least new stock. What is lacking costs more than all new stock together could, so that it is the last resort."""
    by_price = all(kind.price_eur is not None for kind in problem.new)
    costs = [max(1, round(CENTS * (kind.price_eur or 0))) if by_price else kind.length_mm for kind in problem.new]
    dearest = 1 + sum(problem.counts) * max(costs, default=0)
    limits = [*(kind.pieces for kind in problem.shelf), *(None for _ in problem.new), None]
    plan, found, least = _solve(problem.task([*(0 for _ in problem.shelf), *costs, dearest], limits))
    if found >= dearest:
        return _Solved(patterns=plan, aim="missing", found=found // dearest, least=least // dearest)
    if by_price:
        return _Solved(patterns=plan, aim="price", found=found / CENTS, least=least / CENTS)
    return _Solved(patterns=plan, aim="length", found=found, least=least)


def _solve(task: Task) -> tuple[tuple[tuple[int, tuple[int, ...], int], ...], int, int]:
    """Patterns with their numbers, what they cost and the least possible; by search only where a quick plan is not the best."""
    best = min(quick_plans(task), key=task.cost)
    least = material_bound(task, task.cost(best))
    if task.cost(best) > least:
        best, least = solve(task, best, least)
    _verify(task, best, least)
    fullest_first = sorted(best.items(), key=lambda item: (item[0][0], -task.used(item[0][1]), [-take for take in item[0][1]]))
    return tuple((kind, taken, times) for (kind, taken), times in fullest_first), task.cost(best), least


def _verify(task: Task, plan: Plan, least: int) -> None:
    """Copper is cut from these numbers, and a search wrote them: look once more."""
    cut = [sum(times * taken[index] for (_, taken), times in plan.items()) for index in range(len(task.counts))]
    assert cut == list(task.counts)
    assert all(task.used(taken) <= task.kinds[kind].length for kind, taken in plan)
    for number, kind in enumerate(task.kinds):
        assert kind.limit is None or sum(times for (own, _), times in plan.items() if own == number) <= kind.limit
    assert least <= task.cost(plan)


def _cut(problem: _Problem, kind: int, taken: tuple[int, ...], times: int, offcut_min_mm: float) -> tuple[int, Cut]:
    stock = problem.stock[kind]
    pieces = tuple((length, count) for length, count in zip(problem.lengths, taken, strict=True) if count)
    left_mm = stock.length_mm - sum(length * count for length, count in pieces)
    return kind, Cut(stock=stock, times=times, pieces=pieces, left_mm=left_mm, is_kept=left_mm >= max(offcut_min_mm, 1))
