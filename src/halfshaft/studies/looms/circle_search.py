"""A thorough search for the least circle round circles: many layouts moved at once, the better ones kept.

Overlaps cost what a spring would store, and so does what sticks out of the outer circle, whose radius is paid for:
a layout at rest is a packing that no small push makes smaller. Six chains of layouts go on side by side, from patient
to bold. In each round every chain tries eight moves (two circles of unlike size changed over, or one moved into a
gap), all of which are brought to rest together, first softly, then the best of them stiffly. The best of all is made
exact at the end by linear programmes, one after the other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfshaft.studies.looms.circle_layouts import Layout, Sequenced, proven

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Places = NDArray[np.complex128]
    Whole = NDArray[np.intp]

# How much worse a chain lets its layout become by a move, as a share of the radius; less and less towards the end.
BOLDNESS = (0.0, 0.001, 0.003, 0.006, 0.012, 0.024)
CHAINS = len(BOLDNESS)
TRIALS = 8
# Of a chain's trials so many are brought to rest stiffly.
FINISHED = 2
SOFT, STIFF = 60.0, 300.0
SOFT_STEPS, STIFF_STEPS = 45, 60
# Every so many rounds the worst chain goes on from the best layout, or from a new one, by turns.
EXCHANGE = 25
# More rounds than twice this are shared out over legs of so many.
LEG = 120
# Two circles of sizes so many places apart are changed over.
SWAP_REACH = 2
GAP_SAMPLES = 160
# Up to so many circles every pair is looked at; of more, only those less than this apart (radius of the whole: 1).
ALL_PAIRS, NEAR = 16, 0.2
REFRESH = 12
HISTORY = 6
GOLDEN_DEG = 137.50776405


@dataclass(frozen=True, slots=True)
class Rest:
    """A layout at rest: the radius that it promises, its centres, and the radius of the spring round it."""

    radius: float
    places: Places
    wall: float


def searched(radii: Sequence[float], begun: Sequence[Layout], *, rounds: int) -> Layout:
    """The best packing found from the given layouts in so many rounds. Radii stand largest first.

    Many rounds are shared out over legs that begin from nothing; the last one goes on from the best of each.
    """
    import numpy as np

    unit = begun[0].radius
    sizes = np.array(radii) / unit
    chance = Sequenced(12345)
    places = np.array([[centre / unit for centre in layout.centres] for layout in begun[:CHAINS]], dtype=np.complex128)
    chains = _at_rest(sizes, places, np.array([layout.radius / unit for layout in begun[:CHAINS]]), STIFF, 2 * STIFF_STEPS)
    legs = max(rounds // LEG, 1)
    found: list[Rest] = []
    for leg in range(legs):
        if leg:
            chains = found if leg == legs - 1 else [_anew(sizes, chance) for _ in range(CHAINS)]
        found.append(_leg(sizes, chains, chance, rounds // legs))
    best = min(found, key=lambda rest: rest.radius)
    return _exactly(radii, proven(radii, [complex(place) * unit for place in best.places]))


def _leg(sizes: Reals, begun: Sequence[Rest], chance: Sequenced, rounds: int) -> Rest:
    """The best layout that the chains come to, ever less boldly."""
    import numpy as np

    chains = (sorted(begun, key=lambda rest: rest.radius) * CHAINS)[:CHAINS]
    best = chains[0]
    for count in range(1, rounds + 1):
        moved = np.array([_moved(sizes, chains[index % CHAINS], chance) for index in range(CHAINS * TRIALS)])
        walls = np.array([chains[index % CHAINS].wall for index in range(CHAINS * TRIALS)])
        soft = _at_rest(sizes, moved, walls, SOFT, SOFT_STEPS)
        kept = [rest for index in range(CHAINS) for rest in sorted(soft[index::CHAINS], key=lambda rest: rest.radius)[:FINISHED]]
        stiff = _at_rest(sizes, np.array([rest.places for rest in kept]), np.array([rest.wall for rest in kept]), STIFF, STIFF_STEPS)
        for index, boldness in enumerate(BOLDNESS):
            found = min(stiff[FINISHED * index : FINISHED * (index + 1)], key=lambda rest: rest.radius)
            if found.radius < chains[index].radius + boldness * chance.share() * (1 - count / rounds):
                chains[index] = found
        best = min([best, *chains], key=lambda rest: rest.radius)
        if count % EXCHANGE == 0:
            worst = max(range(1, CHAINS), key=lambda index: chains[index].radius)
            chains[worst] = best if count // EXCHANGE % 2 == 0 else _anew(sizes, chance)
    return best


def _moved(sizes: Reals, rest: Rest, chance: Sequenced) -> Places:
    """The layout with two unlike circles changed over, or one or two moved into gaps."""
    places = rest.places.copy()
    kind = chance.below(10)
    if kind < 6 and sizes[0] != sizes[-1]:
        for _ in range(1 if kind < 4 else 2):
            _change_over(sizes, places, chance)
        return places
    for _ in range(1 if kind < 9 else 2):
        circle = chance.below(len(sizes))
        places[circle] = _gap(sizes, places, rest.wall, circle, chance)
    return places


def _change_over(sizes: Reals, places: Places, chance: Sequenced) -> None:
    """Some circle with one of the next larger or smaller sizes."""
    different = sorted({float(size) for size in sizes})
    here = chance.below(len(sizes))
    rank = different.index(float(sizes[here]))
    near = [size for size in different[max(rank - SWAP_REACH, 0) : rank + SWAP_REACH + 1] if size != different[rank]]
    size = near[chance.below(len(near))]
    others = [index for index, other in enumerate(sizes) if other == size]
    there = others[chance.below(len(others))]
    places[here], places[there] = places[there], places[here]


def _gap(sizes: Reals, places: Places, wall: float, circle: int, chance: Sequenced) -> complex:
    """One of the five widest gaps among places spread evenly over the whole, other than where the circle is."""
    import numpy as np

    steps = np.arange(GAP_SAMPLES)
    out = np.sqrt((chance.share() + steps * 0.6180339887498949) % 1.0) * wall
    spots = out * np.exp(2j * np.pi * ((chance.share() + steps * 0.7548776662466927) % 1.0))
    clear = np.abs(spots[:, None] - places) - sizes
    clear[:, circle] = np.inf
    room = np.minimum(clear.min(axis=1), wall - out)
    room[np.abs(spots - places[circle]) < 0.7 * sizes[circle]] = -1.0
    return complex(spots[np.argsort(-room, kind="stable")[chance.below(5)]])


def _anew(sizes: Reals, chance: Sequenced) -> Rest:
    """A layout from nothing: the circles in any order on a spiral as sunflower seeds lie, brought to rest."""
    import numpy as np

    order = list(range(len(sizes)))
    for index in range(len(order) - 1, 0, -1):
        other = chance.below(index + 1)
        order[index], order[other] = order[other], order[index]
    steps = np.arange(len(sizes))
    places = np.empty(len(sizes), dtype=complex)
    places[order] = 0.8 * np.sqrt((steps + 0.5) / len(sizes)) * np.exp(1j * math.radians(GOLDEN_DEG) * steps)
    soft = _at_rest(sizes, places[None, :], np.ones(1), SOFT, 2 * SOFT_STEPS)[0]
    return _at_rest(sizes, soft.places[None, :], np.array([soft.wall]), STIFF, 2 * STIFF_STEPS)[0]


def _at_rest(sizes: Reals, places: Places, walls: Reals, stiffness: float, steps: int) -> list[Rest]:
    """Layouts brought to rest, all at once."""
    springs = _Springs(sizes, len(places), stiffness)
    radius, places, walls = springs.relaxed(places, walls, steps)
    return [Rest(float(radius[index]), places[index], float(walls[index])) for index in range(len(places))]


class _Springs:
    """Layouts of the same circles as one system, for a descent that remembers its last steps (L-BFGS), each with its own pace.

    Variables of a layout: its centres as pairs x, y, then the radius of its outer circle.
    """

    def __init__(self, sizes: Reals, count: int, stiffness: float) -> None:
        import numpy as np

        self._sizes, self._count, self._stiffness = sizes, count, stiffness
        self._first, self._second = np.triu_indices(len(sizes), 1)
        self._least = sizes[self._first] + sizes[self._second]

    def relaxed(self, places: Places, walls: Reals, steps: int) -> tuple[Reals, Places, Reals]:
        """Radius promised, centres and outer radius of each layout after so many steps."""
        import numpy as np

        at = np.concatenate([np.ascontiguousarray(places).view(float), walls[:, None]], axis=1)
        self._look(at)
        value, overlap, slope = self._energy(at)
        pace = np.ones(self._count)
        past: list[tuple[Reals, Reals, Reals]] = []
        for step in range(steps):
            if self._changes and step % REFRESH == REFRESH - 1:
                self._look(at)
                value, overlap, slope = self._energy(at)
            way = _downhill(slope, past)
            longest = np.maximum(np.abs(way).max(axis=1), 1e-12)
            stride = np.minimum(pace, 0.1 / longest)
            there = at - stride[:, None] * way
            next_value, next_overlap, next_slope = self._energy(there)
            better = next_value <= value + 1e-9
            moved, bent = there - at, next_slope - slope
            curved = np.einsum("ij,ij->i", moved, bent)
            good = (curved > 1e-14) & better
            past = [*past[-HISTORY + 1 :], (moved, bent, np.where(good, 1 / np.where(good, curved, 1.0), 0.0))]
            at, slope = np.where(better[:, None], there, at), np.where(better[:, None], next_slope, slope)
            value, overlap = np.where(better, next_value, value), np.where(better, next_overlap, overlap)
            pace = np.where(better, 1.0, stride * 0.3)
        if self._changes:
            self._look(at)
            value, overlap, slope = self._energy(at)
        # At rest a stiffer spring would give up its store once more to the radius: what is left is of second order.
        return value + overlap, np.ascontiguousarray(at[:, :-1]).view(complex), at[:, -1].copy()

    def _look(self, at: Reals) -> None:
        """Which pairs of each layout are near enough to meet before the next look."""
        import numpy as np

        places = np.ascontiguousarray(at[:, :-1]).view(complex)
        self._changes = len(self._sizes) > ALL_PAIRS
        if self._changes:
            apart = np.abs(places[:, self._first] - places[:, self._second])
            layout, pair = np.nonzero(apart < self._least + NEAR)
        else:
            layout, pair = np.divmod(np.arange(self._count * len(self._first)), max(len(self._first), 1))
        self._layout: Whole = layout
        self._here: Whole = layout * len(self._sizes) + self._first[pair]
        self._there: Whole = layout * len(self._sizes) + self._second[pair]
        self._reach: Reals = self._least[pair]

    def _energy(self, at: Reals) -> tuple[Reals, Reals, Reals]:
        """Outer radius and spring energy together, the latter alone, and the slope of their sum."""
        import numpy as np

        places = np.ascontiguousarray(at[:, :-1]).view(complex)
        flat = places.ravel()
        way = flat[self._here] - flat[self._there]
        apart = np.abs(way)
        meet = np.flatnonzero(apart < self._reach)
        apart, here, there = apart[meet], self._here[meet], self._there[meet]
        over = self._reach[meet] - apart
        stored = np.bincount(self._layout[meet], over * over, self._count).astype(float)
        push = way[meet] * (over / (apart + 1e-12))
        force = np.empty(flat.size, dtype=complex)
        force.real = np.bincount(there, push.real, flat.size) - np.bincount(here, push.real, flat.size)
        force.imag = np.bincount(there, push.imag, flat.size) - np.bincount(here, push.imag, flat.size)
        out = np.abs(places)
        past_wall = np.maximum(out + self._sizes - at[:, -1:], 0.0)
        stored += np.einsum("ij,ij->i", past_wall, past_wall)
        pull = force.reshape(places.shape) + past_wall / (out + 1e-12) * places
        slope = np.empty_like(at)
        slope[:, :-1] = (self._stiffness * pull).view(float)
        slope[:, -1] = 1 - self._stiffness * past_wall.sum(axis=1)
        energy = 0.5 * self._stiffness * stored
        return at[:, -1] + energy, energy, slope


def _downhill(slope: Reals, past: Sequence[tuple[Reals, Reals, Reals]]) -> Reals:
    """The step to take away from the slope, bent by what the last steps told (the two loops of L-BFGS), layout by layout."""
    import numpy as np

    steep = np.maximum(np.sqrt(np.einsum("ij,ij->i", slope, slope)), 1e-300)
    way = slope.copy()
    shares = []
    for moved, bent, inverse in reversed(past):
        share = inverse * np.einsum("ij,ij->i", moved, way)
        shares.append(share)
        way -= share[:, None] * bent
    scale = 0.02 / steep
    if past:
        _, bent, inverse = past[-1]
        known = inverse > 0
        scale = np.where(known, 1 / np.where(known, inverse * np.einsum("ij,ij->i", bent, bent), 1.0), scale)
    way *= scale[:, None]
    for (moved, bent, inverse), share in zip(past, reversed(shares), strict=True):
        way += (share - inverse * np.einsum("ij,ij->i", bent, way))[:, None] * moved
    uphill = np.einsum("ij,ij->i", slope, way) <= 0
    return np.where(uphill[:, None], slope * (0.02 / steep)[:, None], way)


def _exactly(radii: Sequence[float], layout: Layout, most: int = 15) -> Layout:
    """The packing at the bottom of the hollow that a layout lies in: distances as they change to first order, within a trust that shrinks."""
    import numpy as np
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    count, sizes, best, trust = len(radii), np.array(radii), layout, 0.02 * layout.radius
    first, second = np.triu_indices(count, 1)
    for _ in range(most):
        places = np.array(best.centres)
        way = places[first] - places[second]
        apart = np.abs(way)
        near = np.flatnonzero(apart < sizes[first] + sizes[second] + 4 * trust)
        towards = way[near] / apart[near]
        outwards = places / np.maximum(np.abs(places), 1e-300)
        pairs, walls, circles = np.arange(len(near)), len(near) + np.arange(count), np.arange(count)
        entries = [
            (-towards.real, pairs, first[near]), (towards.real, pairs, second[near]),
            (-towards.imag, pairs, count + first[near]), (towards.imag, pairs, count + second[near]),
            (outwards.real, walls, circles), (outwards.imag, walls, count + circles), (-np.ones(count), walls, np.full(count, 2 * count)),
        ]  # fmt: skip
        values, rows, columns = (np.concatenate([entry[part] for entry in entries]) for part in range(3))
        limits = np.concatenate([apart[near] - sizes[first[near]] - sizes[second[near]], -np.abs(places) - sizes])
        found = linprog(
            np.append(np.zeros(2 * count), 1.0),
            A_ub=csr_array((values, (rows, columns)), shape=(len(limits), 2 * count + 1)),
            b_ub=limits,
            bounds=[(-trust, trust)] * (2 * count) + [(0, None)],
            method="highs",
        )
        if found.x is None:
            break
        shifted = proven(radii, [complex(place) for place in places + found.x[:count] + 1j * found.x[count : 2 * count]])
        gain = best.radius - shifted.radius
        if gain > 0:
            best = shifted
        if gain < 1e-6 * best.radius:
            trust /= 4
        if trust < 1e-10 * best.radius or 0 < gain < 1e-12 * best.radius:
            break
    return best
