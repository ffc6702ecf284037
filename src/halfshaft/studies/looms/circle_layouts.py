"""First layouts of circles in a circle: built up one by one, then pressed together. Quick, and good to some per cent.

Centres are complex numbers round the middle of the outer circle; radii stand largest first. Plain Python throughout:
loading a library of arrays would take longer than laying every bundle of a car.
"""

from __future__ import annotations

import cmath
import itertools
import math
import operator
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

# Two circles may overlap by this share of their sizes before they count as overlapping: the noise of sums.
NOISE = 1e-9
# Places are judged to so many decimals, so that of places alike the first is taken and not the luckiest by rounding.
DECIMALS = 9
# How far below the best known circle the next one is tried, one after the other.
WALL_STEPS = (0.04, 0.02, 0.01)
# More circles than this are tried inside fewer walls.
MANY = 100
# Then in other orders than by size, so many circles in all, each order inside a wall a little smaller than the last best.
ORDERED, ORDERS_MOST = 160, 12
ORDER_STEP = 0.005
# Sizes are mixed up by so much of themselves.
MIXED = 1.5
PRESS_STEPS = (0.01, 0.002, 0.0005)
PRESS_SWEEPS = 14


class Spot(NamedTuple):
    """A free place for the next circle, and how it is judged: the least is taken."""

    judged: float
    place: complex


_JUDGED = operator.attrgetter("judged")


class Sequenced:
    """A fixed sequence of numbers that look like chance (a linear congruence, Knuth's 64 bit constants): the same every time."""

    def __init__(self, start: int) -> None:
        self._state = start

    def below(self, count: int) -> int:
        """A whole number from 0 on, less than `count`."""
        self._state = (self._state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (self._state >> 33) % count

    def share(self) -> float:
        """From 0 on, less than 1."""
        return self.below(2**30) / 2**30


@dataclass(frozen=True, slots=True)
class Layout:
    """Centres, and the radius of the circle round the origin that they prove."""

    radius: float
    centres: tuple[complex, ...]


def proven(radii: Sequence[float], centres: Sequence[complex]) -> Layout:
    """The layout stretched until nothing overlaps, and the circle that then holds all of it.

    So a radius is never less than what its own centres prove, however rough the centres were.
    """
    stretch = 0.0
    for (here, near), (there, far) in itertools.combinations(zip(centres, radii, strict=True), 2):
        between, least = abs(here - there), near + far
        if between * stretch < least:
            if not between:
                return Layout(math.inf, tuple(centres))
            stretch = least / between
    stretched = tuple(stretch * centre for centre in centres)
    return Layout(max(abs(centre) + radius for centre, radius in zip(stretched, radii, strict=True)), stretched)


def first_layouts(radii: Sequence[float]) -> list[Layout]:
    """Several layouts of circles, best first: grown round a middle, and laid inwards from a wall."""
    grown = [proven(radii, centres) for seed in _seeds(radii) if (centres := _grow(radii, seed)) is not None]
    best = min(layout.radius for layout in grown)
    walled = list(_from_the_wall(radii, best))
    best = min([best, *(layout.radius for layout in walled)])
    return sorted([*grown, *walled, *_in_other_orders(radii, best)], key=lambda layout: layout.radius)


def touching(here: complex, here_reach: float, there: complex, there_reach: float) -> tuple[complex, ...]:
    """Both places at the given reaches from two others, where there are such."""
    way = there - here
    apart = abs(way)
    if not abs(here_reach - there_reach) <= apart <= here_reach + there_reach or apart == 0.0:
        return ()
    along = (1.0 + (here_reach * here_reach - there_reach * there_reach) / (apart * apart)) / 2
    aside = math.sqrt(max(here_reach * here_reach / (apart * apart) - along * along, 0.0))
    foot, off = here + along * way, way * complex(0.0, aside)
    return (foot + off, foot - off)


def _seeds(radii: Sequence[float]) -> Iterator[list[complex]]:
    """Where the thickest one to four may stand: one in the middle, or two, three or four round it."""
    first, second = radii[0], radii[1]
    yield [0j, complex(first + second)]
    yield [complex(-second), complex(first)]
    if len(radii) > 2:
        pair = (complex(-second), complex(first))
        third = touching(pair[0], first + radii[2], pair[1], second + radii[2])[0]
        middle = _middle([(pair[0], first), (pair[1], second), (third, radii[2])])
        yield [place - middle for place in (*pair, third)]
    if len(radii) > 3 and radii[3] == first:
        yield [complex(first, first), complex(-first, first), complex(-first, -first), complex(first, -first)]


def _middle(circles: Sequence[tuple[complex, float]]) -> complex:
    """About the middle of the least circle round a few: it steps towards the furthest edge, less and less."""
    middle = sum(place for place, _ in circles) / len(circles)
    for count in range(2, 60):
        middle += (max(circles, key=lambda circle: abs(circle[0] - middle) + circle[1])[0] - middle) / (2 * count)
    return middle


def _grow(radii: Sequence[float], seed: list[complex]) -> list[complex] | None:
    """Each next circle as near to the origin as it goes, touching two that stand."""
    laid = _Laid(list(zip(seed, radii, strict=False)), wall=None)
    return laid.places() if all(laid.add(radius) for radius in radii[len(seed) :]) else None


def _in_other_orders(radii: Sequence[float], best: float) -> Iterator[Layout]:
    """Layouts inwards from the wall in which thick ones need not come first."""
    if radii[0] == radii[-1]:
        return
    chance = Sequenced(7)
    for _ in range(min(ORDERED // len(radii), ORDERS_MOST)):
        order = sorted(range(len(radii)), key=lambda index: -radii[index] * (1 + MIXED * chance.share()))
        laid = _inwards([radii[index] for index in order], best * (1 - ORDER_STEP))
        if laid is not None:
            layout = proven(radii, [place for _, place in sorted(zip(order, laid, strict=True), key=operator.itemgetter(0))])
            best = min(best, layout.radius)
            yield layout


def _inwards(radii: Sequence[float], wall: float) -> list[complex] | None:
    """Each next circle as far out as it goes, touching two that stand or one and the wall; None where not all find a place."""
    laid = _Laid([(complex(wall - radii[0]), radii[0])], wall=wall)
    return laid.places() if all(laid.add(radius) for radius in radii[1:]) else None


class _Laid:
    """Circles that stand, and for each size still asked for the corners where one more finds a place."""

    def __init__(self, placed: list[tuple[complex, float]], *, wall: float | None) -> None:
        self._placed, self._wall = placed, wall
        self._spots: dict[float, tuple[int, list[Spot]]] = {}

    def places(self) -> list[complex]:
        """Centres in the order in which they were laid."""
        return [place for place, _ in self._placed]

    def add(self, radius: float) -> bool:
        """Lay one more; False where it finds no place."""
        spots = self._free_spots(radius)
        if not spots:
            return False
        self._placed.append((min(spots, key=_JUDGED).place, radius))
        return True

    def _free_spots(self, radius: float) -> list[Spot]:
        """Corners for a size, brought up to what stands now since they were last asked for."""
        seen, spots = self._spots.get(radius, (0, []))
        for last in range(seen, len(self._placed)):
            place, other = self._placed[last]
            least = (other + radius) * (1 - NOISE)
            spots = [spot for spot in spots if abs(spot.place - place) >= least]
        for last in range(seen, len(self._placed)):
            spots += self._corners(last, radius)
        self._spots[radius] = (len(self._placed), spots)
        return spots

    def _corners(self, last: int, radius: float) -> list[Spot]:
        """Free places that touch one circle and one laid before it, or the wall."""
        middle, wide = self._placed[last]
        around = wide + radius
        # Only these can one that touches the circle touch or overlap: number, place, and how near its centre may come.
        near = [
            (number, place, other + radius)
            for number, (place, other) in enumerate(self._placed)
            if abs(place - middle) <= around + other + radius and number != last
        ]
        if self._wall is None:
            inner, found = math.inf, []
        else:
            inner = self._wall - radius
            found = [(-1, spot) for spot in touching(0j, inner, middle, around)]
        for other, place, reach in near:
            if other < last:
                found += [(other, spot) for spot in touching(place, reach, middle, around)]
        outmost, sign = inner * (1 + NOISE), 1 if self._wall is None else -1
        spots = []
        for touched, spot in found:
            out = abs(spot)
            if out > outmost:
                continue
            for number, place, reach in near:
                if abs(spot - place) < reach * (1 - NOISE) and number != touched:
                    break
            else:
                spots.append(Spot(sign * round(out, DECIMALS), spot))
        return spots


def _from_the_wall(radii: Sequence[float], best: float) -> Iterator[Layout]:
    """Layouts inside ever smaller walls, begun a little below the best radius known."""
    wall, least = best * (1 - WALL_STEPS[-1] / 2), math.inf
    for step in WALL_STEPS if len(radii) <= MANY else WALL_STEPS[1:2]:
        while (centres := _inwards(radii, wall)) is not None:
            layout = proven(radii, centres)
            yield layout
            if layout.radius >= least:
                break
            least = layout.radius
            wall = least * (1 - step)
        wall = least * (1 - step / 2) if least < math.inf else wall * (1 + step / 2)


def pressed(radii: Sequence[float], layout: Layout) -> Layout:
    """The layout after it has been pressed into ever smaller circles, each overlap pushed apart by half from either side."""
    best = layout
    for step in PRESS_STEPS:
        while True:
            smaller = proven(radii, _relaxed(radii, best, best.radius * (1 - step), enough=step / 10))
            if smaller.radius >= best.radius * (1 - step / 5):
                break
            best = smaller
    return best


def _relaxed(radii: Sequence[float], layout: Layout, wall: float, *, enough: float) -> list[complex]:
    """Centres pushed apart and inside the wall, over and over, until overlaps are small enough or the sweeps are used up."""
    places = list(layout.centres)
    inner = [wall - radius for radius in radii]
    reach = 0.05 * layout.radius
    pairs = [
        (here, there, least)
        for here, there in itertools.combinations(range(len(places)), 2)
        if abs(places[here] - places[there]) < (least := radii[here] + radii[there]) + reach
    ]
    for _ in range(PRESS_SWEEPS):
        worst = 0.0
        for index, limit in enumerate(inner):
            out = abs(places[index])
            if out > limit:
                places[index] *= limit / out
        for here, there, least in pairs:
            way = places[here] - places[there]
            apart = abs(way)
            if apart < least:
                short = least / apart - 1 if apart > least * NOISE else 1.0
                worst = max(worst, short)
                push = way * (short / 2) if apart else cmath.rect(least / 2, here)
                places[here] += push
                places[there] -= push
        if worst < enough:
            break
    return places
