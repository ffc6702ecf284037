"""The best arrangements over the menus: exact, with no choice left out.

All choices of at most one filling a space are gone through (`halves`), and what a hard limit refuses is dropped. Among
choices that use the same spaces and as many modules, three goals are the same (boxes, cable, energy), so only four
are compared; the best of each such group are then compared with each other in all seven. Whoever is worse than another one within
its group is worse over all too, so nothing is lost on the way, and no choice is dropped before it is complete: how
far the split is from its target can turn from worse to better with any box that is added.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from halfshaft.errors import HalfshaftError
from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.best import Whole, best_of
from halfshaft.studies.arrangement.context import Context, area_of
from halfshaft.studies.arrangement.halves import Key, Options, Reals, Sums, half_of, meetings, met, picks_of
from halfshaft.studies.arrangement.pricing import (
    GOALS,
    MASS,
    SPLIT_OFF,
    SUMMED,
    THERE,
    Counts,
    Miss,
    Refusals,
    against_counts,
    fronts_of,
    in_steps,
    limits_of,
    price_of,
    row_of,
    scores_of,
    steps_of,
    summed_prices,
)
from halfshaft.studies.arrangement.records import Arrangement, Filling, Front, Menu, Price
from halfshaft.studies.arrangement.words import best_at, nearest_words

# Rows of sums looked at in one go, rows compared in one go, and the most that are gone through at all.
ROWS_AT_ONCE = 250_000
COMPARED_AT_ONCE = 1_000_000
LOOKED_AT_MOST = 600_000_000


@dataclass(frozen=True, slots=True)
class Choice:
    """One filling or none per space, with its sums and its summed goals."""

    fillings: tuple[Filling, ...]
    row: Reals
    summed: Reals


def front_of(menus: Sequence[Menu], context: Context, settings: ArrangementSettings) -> Front:
    """All best arrangements, sorted by height of the centre of gravity, then by the other goals.

    Raises HalfshaftError where there are more choices than can be gone through.
    """
    menus = tuple(sorted(menus, key=lambda menu: menu.space))
    search = _Search.over(menus, context, settings)
    choices = search.best()
    arrangements = _numbered([arrangement_of(choice, context, settings) for choice in choices], context)
    present = present_of(context, settings)
    if present is not None:
        same = [item.number for item in arrangements if steps_of(item.price, context) == steps_of(present.price, context)]
        present = replace(present, number=same[0] if same else 0)
    return Front(
        menus=menus,
        arrangements=arrangements,
        target_front_percent=context.target_front_percent,
        looked_at=search.looked_at,
        refused=tuple(search.refusals.counts.items()),
        nearest=nearest_words(menus, arrangements, context, settings, search.refusals),
        present=present,
    )


class _Search:
    """One run over all choices. It gathers what was refused as it goes."""

    def __init__(self, menus: Sequence[Menu], types: tuple[str, ...], context: Context, settings: ArrangementSettings) -> None:
        self.menus, self.types, self.context, self.settings = menus, types, context, settings
        self.refusals = Refusals()
        self.looked_at = 0
        self.limits = limits_of(context)
        self.steps = np.array([getattr(context.steps, goal) for goal in SUMMED])

    @classmethod
    def over(cls, menus: Sequence[Menu], context: Context, settings: ArrangementSettings) -> _Search:
        """A search over the module types that the menus hold."""
        types = sorted({module for menu in menus for filling in menu.fillings for module, _ in filling.counts})
        return cls(menus, tuple(types), context, settings)

    def options(self) -> list[Options]:
        """What may be picked in each space."""
        found = []
        for number, menu in enumerate(self.menus):
            rows = [row_of(filling, self.context, self.settings) for filling in menu.fillings]
            counts = tuple(tuple(dict(filling.counts).get(module, 0) for module in self.types) for filling in menu.fillings)
            found.append(Options(1 << number, counts, np.array(rows, dtype=float).reshape(len(rows), THERE + 1)))
        return found

    def best(self) -> list[Choice]:
        """The best choices over all."""
        options = self.options()
        boxes_max = self.settings.boxes_max or len(options)
        most = max((sum(counts) for counts in _most_by_type(options)), default=0)
        high = self.settings.modules_max or max(most, self.context.fitted)
        middle = len(options) // 2
        first, second = (
            half_of(part, width=THERE + 1, types=len(self.types), modules_max=high, boxes_max=boxes_max)
            for part in (options[:middle], options[middle:])
        )
        plan: list[tuple[Key, list[tuple[Sums, Sums]]]] = []
        for key, pairs in meetings(first, second, boxes_max).items():
            sums = [(first[one], second[other]) for one, other in pairs]
            count = sum(len(one.rows) * len(other.rows) for one, other in sums)
            reason = against_counts(self.counts(key), self.settings, self.context)
            if reason:
                self.refusals.add(reason, count)
            elif reason is not None:
                plan.append((key, sums))
                self.looked_at += count
        if self.looked_at > LOOKED_AT_MOST:
            raise HalfshaftError(
                f"{self.looked_at} arrangements are too many to look at every one, and fewer would prove nothing: "
                "fix modules_min and modules_max, give boxes_max, or mark fewer spaces for batteries"
            )
        found = [choice for key, sums in plan for choice in self.best_of_key(key, sums)]
        return self.best_over_all(found)

    def counts(self, key: Key) -> Counts:
        """Modules of each type that there are of."""
        return tuple((module, count) for module, count in zip(self.types, key[0], strict=True) if count)

    def best_of_key(self, key: Key, sums: list[tuple[Sums, Sums]]) -> list[Choice]:
        """The best choices among those that use the same spaces and as many modules."""
        kept: list[tuple[int, Whole, Reals, Reals]] = []
        waiting = 0
        for number, (one, other) in enumerate(sums):
            for rows, start in met(one, other, at_once=ROWS_AT_ONCE):
                good = self.within_limits(rows, partial(self.fillings, one, other, start))
                if len(good):
                    some = rows[good]
                    kept.append((number, good + start, some, summed_prices(some, self.context)))
                    waiting += len(good)
                if waiting > COMPARED_AT_ONCE:
                    kept = self.thinned(kept)
                    waiting = sum(len(item[1]) for item in kept)
        return [
            Choice(self.fillings(*sums[number], 0, int(index)), row, summed)
            for number, indices, rows, prices in self.thinned(kept)
            for index, row, summed in zip(indices, rows, prices, strict=True)
        ]

    def thinned(self, kept: list[tuple[int, Whole, Reals, Reals]]) -> list[tuple[int, Whole, Reals, Reals]]:
        """Only the best of what has gathered."""
        if not kept:
            return []
        prices = np.concatenate([item[3] for item in kept])
        rows = np.concatenate([item[2] for item in kept])
        best = best_of(in_steps(prices, self.steps), scores_of(prices, rows, self.steps))
        thinned = []
        offset = 0
        for number, indices, some, values in kept:
            mine = best[(best >= offset) & (best < offset + len(indices))] - offset
            offset += len(indices)
            if len(mine):
                thinned.append((number, indices[mine], some[mine], values[mine]))
        return thinned

    def within_limits(self, rows: Reals, fillings: Callable[[int], tuple[Filling, ...]]) -> Whole:
        """Rows that keep every axle limit and the gross weight; of the others, the count, and what comes nearest to limits and target."""
        over = np.stack([limit.loads(rows, self.context) - limit.most_kg for limit in self.limits], axis=1)
        is_over = over > 1e-9
        bad = is_over.any(axis=1)
        if bad.any():
            which = is_over.argmax(axis=1)
            for number, limit in enumerate(self.limits):
                self.refusals.add(limit.name, int((bad & (which == number)).sum()))
            for column, values in (("limits", over.max(axis=1)), ("target", summed_prices(rows, self.context)[:, SPLIT_OFF])):
                index = int(np.argmin(np.where(bad, values, np.inf)))
                worst = int(over[index].argmax())
                miss = Miss(float(values[index]), self.limits[worst].name, float(over[index, worst]), partial(fillings, index))
                self.refusals.note(column, miss)
        return np.flatnonzero(~bad)

    def fillings(self, one: Sums, other: Sums, start: int, number: int) -> tuple[Filling, ...]:
        """The fillings of one choice, by its number from a first one on among those of two sums."""
        picks = picks_of(one, other, np.array([start + number]))[0]
        return tuple(menu.fillings[pick] for menu, pick in zip(self.menus, picks, strict=True) if pick >= 0)

    def best_over_all(self, found: list[Choice]) -> list[Choice]:
        """The best of all groups' best, in all goals."""
        if not found:
            return []
        prices = [price_for(choice, self.context) for choice in found]
        points = np.array([steps_of(price, self.context) for price in prices], dtype=np.int64)
        score = scores_of(np.stack([choice.summed for choice in found]), np.stack([choice.row for choice in found]), self.steps)
        return [found[index] for index in best_of(points, score)]


def _most_by_type(options: Sequence[Options]) -> list[tuple[int, ...]]:
    return [tuple(max((sum(counts) for counts in option.counts), default=0) for option in options)]


def price_for(choice: Choice, context: Context) -> Price:
    """The price of a choice."""
    return price_of(choice.summed, frozenset(filling.space for filling in choice.fillings), counts_of(choice.fillings), context)


def counts_of(fillings: Sequence[Filling]) -> Counts:
    """Modules of each type in some fillings."""
    tally: dict[str, int] = {}
    for filling in fillings:
        for module, count in filling.counts:
            tally[module] = tally.get(module, 0) + count
    return tuple(sorted(tally.items()))


def choice_of(fillings: Sequence[Filling], context: Context, settings: ArrangementSettings) -> Choice:
    """Some fillings, weighed."""
    row = np.array([row_of(filling, context, settings) for filling in fillings], dtype=float).sum(axis=0)
    return Choice(tuple(fillings), row, summed_prices(row[None, :], context)[0])


def arrangement_of(choice: Choice, context: Context, settings: ArrangementSettings) -> Arrangement:
    """A choice with everything that is said of it, not yet numbered."""
    used = frozenset(filling.space for filling in choice.fillings)
    chain, base = context.chains[used], context.base
    front_kg = base.front_kg + float(fronts_of(choice.row[None, :], context)[0])
    total_kg = base.total_kg + float(choice.row[MASS])
    by_space = {filling.space: filling for filling in choice.fillings}
    string_v = [context.full_v(by_space[space].counts) / context.strings for space in chain.spaces]
    parted = chain.before_disconnect or 0
    hours = settings.box_hours * len(used)
    area_m2 = sum(area_of(filling.box) for filling in choice.fillings)
    return Arrangement(
        number=0,
        fillings=choice.fillings,
        price=price_for(choice, context),
        total_kg=total_kg,
        front_kg=front_kg,
        rear_kg=total_kg - front_kg,
        front_percent=100 * front_kg / total_kg,
        best_at=(),
        battery_kg=float(choice.row[MASS]),
        order=chain.spaces,
        before_disconnect=chain.before_disconnect,
        live_v=max(sum(string_v[:parted]), sum(string_v[parted:])),
        cost_eur=settings.box_eur * len(used) + settings.box_eur_per_m2 * area_m2 + hours * context.labour_eur_per_hour,
        hours=hours,
    )


def _numbered(arrangements: Sequence[Arrangement], context: Context) -> tuple[Arrangement, ...]:
    """In order, counted from 1, each with what it is best at."""
    ordered = sorted(arrangements, key=lambda item: (steps_of(item.price, context), item.counts, item.fillings[0].box))
    titles = best_at([steps_of(item.price, context) for item in ordered], GOALS)
    return tuple(replace(item, number=index + 1, best_at=titles.get(index, ())) for index, item in enumerate(ordered))


def present_of(context: Context, settings: ArrangementSettings) -> Arrangement | None:
    """The arrangement that is described now, priced as those of the front are."""
    if not context.present or len({filling.space for filling in context.present}) < len(context.present):
        return None
    return arrangement_of(choice_of(context.present, context, settings), context, settings)
