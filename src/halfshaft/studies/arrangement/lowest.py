"""How low so many modules can lie in a room at best, and how many it can hold at most: what is proven, and at what effort."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from halfshaft.studies.arrangement.bounds import AreaBound
from halfshaft.studies.arrangement.grids import grams
from halfshaft.studies.arrangement.lattice import Lattice, Packing, Proof, pieces_of
from halfshaft.studies.arrangement.nets import NetBlock
from halfshaft.studies.arrangement.stands import Stand, Steps, Unit, Z

Counts = tuple[tuple[str, int], ...]
# One question may use this share of the effort that is left, so that the hard ones leave something to the others.
SHARE = 3
# What a question costs besides the solver's own count, in the same measure: making the model and presolving it.
AREA_COST = 0.02
BLOCKS_FOR_A_SECOND = 6_000


@dataclass(frozen=True, kw_only=True, slots=True)
class Lowest:
    """Mass times twice the sum of heights: `bound` is proven not to be undercut (None: so many do not fit, proven).

    `found` is what the solver found with its units at `place`; None where it found nothing better than what was known.

    Heights count from the ground; units from the lowest corner between the walls' insides of a box at the block's corner.
    """

    bound: int | None
    found: int | None
    place: NetBlock | None
    units: tuple[Unit, ...]


class Prover:
    """Asks the solver about the blocks of one room, within an effort (deterministic time, near seconds of one core)."""

    def __init__(self, nets: tuple[NetBlock, ...], stands: tuple[Stand, ...], *, floor: int, layers_max: int, effort: float) -> None:
        self.nets = nets
        self.floor = floor
        self.layers_max = layers_max
        self.left = effort
        # Questions by area are quick, and better than nothing where the effort is used up: they may overdraw it by half.
        self.overdraft = -effort / 2
        self.pieces = pieces_of(stands)
        self.weights = {stand.kind.module: grams(stand) for stand in stands}
        self._area_bounds: dict[Steps, AreaBound] = {}
        self._packings: dict[Steps, Packing | None] = {}

    def most(self, at_least: int) -> tuple[int, Proof | None]:
        """A count that is proven not to be exceeded; and, where more than `at_least` were placed, the densest packing."""
        bound, best = at_least, None
        for net in self.nets:
            most = self._area_bound(net).most_by_volume()
            if most > bound and self.left > self.overdraft:
                self.left -= AREA_COST
                most = min(most, self._area_bound(net).most())
            packing = self._packing(net) if most > bound else None
            if packing is not None:
                proof = self._asked(packing.most(time=self._time()))
                most = most if proof.bound is None else min(most, proof.bound)
                if proof.found is not None and proof.found > at_least:
                    at_least, best = proof.found, proof
            bound = max(bound, most)
        return bound, best

    def lowest(self, counts: Counts, known: int | None) -> Lowest:
        """The least height of so many modules; `known` is the best that is known already, to be beaten."""
        bound: int | None = None
        best = Lowest(bound=None, found=None, place=None, units=())
        for net in self.nets:
            least = self._least_without_places(net, counts, known)
            if least is None:
                continue
            if known is None or least < known:
                packing = self._packing(net)
                if packing is not None:
                    base = self._base(net, counts)
                    goal = None if known is None else known - base
                    proof = self._asked(packing.lowest(dict(counts), weights=self.weights, below=goal, time=self._time()))
                    if proof.is_impossible and goal is None:
                        continue
                    if proof.bound is not None:
                        least = max(least, proof.bound + base)
                    units = proof.units()
                    # The solver counts what stands over one point; a stair of modules may still be a layer too many.
                    if proof.found is not None and max(unit.layer for unit in units) <= self.layers_max:
                        known = proof.found + base
                        best = Lowest(bound=None, found=known, place=net, units=units)
            bound = least if bound is None else min(bound, least)
        if known is not None:
            bound = known if bound is None else min(bound, known)
        return replace(best, bound=bound)

    def _area_bound(self, net: NetBlock) -> AreaBound:
        if net.inner not in self._area_bounds:
            self._area_bounds[net.inner] = AreaBound(self.pieces, net.inner, layers_max=self.layers_max)
        return self._area_bounds[net.inner]

    def _least_without_places(self, net: NetBlock, counts: Counts, known: int | None) -> int | None:
        """A bound from the floor alone and, where that does not settle it and there is effort, by area at every height."""
        bound = self._area_bound(net)
        least = bound.on_the_floor(dict(counts), self.weights)
        if least is not None and self.left > self.overdraft and (known is None or least + self._base(net, counts) < known):
            self.left -= AREA_COST
            least = bound.lowest(dict(counts), self.weights)
        return None if least is None else least + self._base(net, counts)

    def _base(self, net: NetBlock, counts: Counts) -> int:
        return 2 * (net.low[Z] + self.floor) * sum(self.weights[module] * number for module, number in counts)

    def _time(self) -> float:
        return max(0.01, self.left / SHARE)

    def _asked(self, proof: Proof) -> Proof:
        self.left -= proof.effort
        return proof

    def _packing(self, net: NetBlock) -> Packing | None:
        """The model of a block; None where it is too large, or the effort is used up."""
        if self.left <= 0:
            return None
        if net.inner not in self._packings:
            lattice = Lattice(self.pieces, net.inner, layers_max=self.layers_max)
            self._packings[net.inner] = Packing(lattice) if lattice.is_small else None
        packing = self._packings[net.inner]
        if packing is not None:
            self.left -= len(packing.placed) / BLOCKS_FOR_A_SECOND
        return packing


def lowest_by_counts(prover: Prover, known: Mapping[Counts, int | None]) -> dict[Counts, Lowest]:
    """For each choice of counts how low they can lie, in the order of the counts, as far as the effort goes."""
    return {counts: prover.lowest(counts, best) for counts, best in sorted(known.items())}
