"""How low so many modules can lie in a room at best, and how many it can hold at most: what is proven, and at what effort."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from halfshaft.studies.arrangement.grids import grams
from halfshaft.studies.arrangement.lattice import Lattice, Packing, Piece, Proof, pieces_of
from halfshaft.studies.arrangement.nets import NetBlock
from halfshaft.studies.arrangement.stands import Stand, Unit, X, Y, Z

Counts = tuple[tuple[str, int], ...]
# One question may use this share of the effort that is left, so that the hard ones leave something to the others.
SHARE = 3


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
        self.pieces = pieces_of(stands)
        self.weights = {stand.kind.module: grams(stand) for stand in stands}
        self._packings: dict[tuple[int, int, int], Packing | None] = {}

    def most(self, at_least: int) -> tuple[int, Proof | None]:
        """A count that is proven not to be exceeded; and, where more than `at_least` were placed, the densest packing."""
        bound, best = at_least, None
        for net in self.nets:
            most = self.most_by_area(net)
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
            least = self.lowest_by_area(net, counts)
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
                    if proof.found is not None:
                        known = proof.found + base
                        best = Lowest(bound=0, found=known, place=net, units=proof.units())
            bound = least if bound is None else min(bound, least)
        if known is not None:
            bound = known if bound is None else min(bound, known)
        return replace(best, bound=bound)

    def most_by_area(self, net: NetBlock) -> int:
        """A bound on the count from volume, from area by layers, and from area by height."""
        if not self._fit(net):
            return 0
        length, width, height, area = self._room(net)
        floor = min(self._area(piece) / piece.count for piece in self.pieces)
        bulk = min(self._area(piece) * piece.size[Z] / piece.count for piece in self.pieces)
        flattest = min(piece.size[Z] for piece in self.pieces)
        return min(
            int(length * width * height // bulk),
            int(area * self.layers_max // floor),
            int(area // floor) * (height // flattest),
        )

    def lowest_by_area(self, net: NetBlock, counts: Counts) -> int | None:
        """A bound on the height of so many modules; None where they surely do not fit.

        Modules whose lowest face is at less than the least height of any all cross the level just below that height, so
        that their areas share the floor; and so on upwards.
        """
        count = sum(number for _, number in counts)
        if not self._fit(net) or count > self.most_by_area(net):
            return None
        area = self._room(net)[3]
        flattest = min(piece.size[Z] for piece in self.pieces)
        a_level = int(area // min(self._area(piece) / piece.count for piece in self.pieces))
        least: dict[str, int] = {}
        for piece in self.pieces:
            module = piece.stand.kind.module
            least[module] = min(least.get(module, piece.centre_2z), piece.centre_2z)
        own = sum(self.weights[module] * number * least[module] for module, number in counts)
        # The heaviest lie lowest at best: each weight takes the lowest level that is free.
        heavy = sorted((self.weights[module] for module, number in counts for _ in range(number)), reverse=True)
        lifted = sum(weight * 2 * flattest * (index // a_level) for index, weight in enumerate(heavy))
        return own + lifted + self._base(net, counts)

    def _fit(self, net: NetBlock) -> bool:
        return any(
            piece.size[X] + 2 * piece.wall[X] <= net.inner[X]
            and piece.size[Y] + 2 * piece.wall[Y] <= net.inner[Y]
            and piece.size[Z] - piece.stand.layer_gap <= net.inner[Z]
            for piece in self.pieces
        )

    def _room(self, net: NetBlock) -> tuple[int, int, int, int]:
        """Length, width and height that pieces with their room may share, and the floor's area."""
        length, width = (net.inner[axis] - 2 * min(piece.wall[axis] for piece in self.pieces) for axis in (X, Y))
        return length, width, net.inner[Z] + self.pieces[0].stand.layer_gap, length * width

    @staticmethod
    def _area(piece: Piece) -> int:
        return piece.size[X] * piece.size[Y]

    def _base(self, net: NetBlock, counts: Counts) -> int:
        return 2 * (net.low[Z] + self.floor) * sum(self.weights[module] * number for module, number in counts)

    def _time(self) -> float:
        return self.left / SHARE

    def _asked(self, proof: Proof) -> Proof:
        self.left = max(0.0, self.left - proof.effort)
        return proof

    def _packing(self, net: NetBlock) -> Packing | None:
        """The model of a block; None where it is too large, or the effort is used up."""
        if self.left <= 0.001:
            return None
        if net.inner not in self._packings:
            lattice = Lattice(self.pieces, net.inner, layers_max=self.layers_max)
            self._packings[net.inner] = Packing(lattice) if lattice.is_small else None
        return self._packings[net.inner]


def lowest_by_counts(prover: Prover, known: Mapping[Counts, int | None]) -> dict[Counts, Lowest]:
    """For each choice of counts how low they can lie, in the order of the counts, as far as the effort goes."""
    return {counts: prover.lowest(counts, best) for counts, best in sorted(known.items())}
