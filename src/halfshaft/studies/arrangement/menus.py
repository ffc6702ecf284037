"""What may stand in one space: for each number of modules the lowest and the most compact box that was found, and what is proven.

This module and the ones beside it that it needs are imported only where a search is asked for: they load numpy.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from halfshaft.model.pack import ArrangementSettings
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.candidates import Found, best_boxes
from halfshaft.studies.arrangement.grids import Grid
from halfshaft.studies.arrangement.lattice import Proof
from halfshaft.studies.arrangement.lowest import Counts, Lowest, Prover, lowest_by_counts
from halfshaft.studies.arrangement.nets import Casing, NetBlock, net_blocks, to_search
from halfshaft.studies.arrangement.records import Filling, Menu, Room
from halfshaft.studies.arrangement.stands import (
    STEPS_PER_MM,
    PackedModule,
    Stand,
    Steps,
    Unit,
    X,
    Y,
    Z,
    block_of,
    stands_of,
)

# A box that can be moved further than this along the car is offered at both ends of its way.
MOVES_MM = 20.0


def menu_of(
    space: Space, room: Room, kinds: tuple[PackedModule, ...], settings: ArrangementSettings, plate_mm: float, effort: float
) -> Menu:
    """The menu of one space.

    `plate_mm` is the thickness of a coolant plate; `effort` what may go into proofs, counted without a clock and
    near seconds of one core; 0: grids and bounds by floor and volume only, at once.
    """
    nets = net_blocks(space, room, settings)
    searched = to_search(nets)
    stands = tuple(stand for kind in kinds for stand in stands_of(kind, settings, plate_mm))
    casing = Casing.of(settings)
    best = best_boxes(searched, stands, settings)
    most = max((_total(counts) for counts in best), default=0)
    prover = Prover(searched, stands, floor=casing.floor, layers_max=settings.layers_max, effort=effort)
    bound, denser = prover.most(most) if stands else (0, None)
    known: dict[Counts, int | None] = {counts: lowest.sum_2z for counts, (lowest, _) in best.items()}
    if denser is not None:
        known.update((counts, None) for counts in _beyond(denser, most) if counts not in known)
    proofs = lowest_by_counts(prover, known)
    places = Places(space=space, nets=nets, searched=searched, casing=casing, is_mixed=len(kinds) > 1)
    fillings: list[Filling] = []
    for counts, proof in proofs.items():
        fillings += places.fillings(counts, proof, best.get(counts), sum(count * prover.weights[module] for module, count in counts))
    most = max((filling.count for filling in fillings), default=0)
    refused = "" if fillings else refusal(space, room, nets, stands)
    return Menu(space=space.ref, fillings=tuple(fillings), most=most, most_bound=max(bound, most), refused=refused, grid_mm=room.step_mm)


def _total(counts: Counts) -> int:
    return sum(count for _, count in counts)


def _beyond(denser: Proof, most: int) -> list[Counts]:
    """Counts above `most` that a denser packing shows to be possible: its own modules, fewer of the type that it has most of."""
    tally: dict[str, int] = {}
    for placed in denser.placed:
        module = placed.piece.stand.kind.module
        tally[module] = tally.get(module, 0) + placed.piece.count
    beyond: list[Counts] = []
    while sum(tally.values()) > most:
        beyond.append(tuple(sorted((module, count) for module, count in tally.items() if count)))
        fullest = max(sorted(tally), key=lambda module: tally[module])
        tally[fullest] -= 1
    return beyond


@dataclass(frozen=True, kw_only=True, slots=True)
class Boxed:
    """What stands in one box, from the lowest corner between its walls' insides; that room's size; and how one would say it."""

    units: tuple[Unit, ...]
    inner: Steps
    base: int
    words: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Places:
    """Where boxes may stand in one space, and how they are built. `is_mixed`: of several module types, so that words name them."""

    space: Space
    nets: tuple[NetBlock, ...]
    searched: tuple[NetBlock, ...]
    casing: Casing
    is_mixed: bool

    def fillings(self, counts: Counts, proof: Lowest, grids: tuple[Found, Found] | None, mass: int) -> list[Filling]:
        """The lowest and the most compact box for these counts, each at the places that it is offered at.

        `mass` is that of all its modules, in grams.
        """
        lowest = compact = None
        if grids is not None:
            lowest, compact = (self.boxed(found) for found in grids)
        if proof.place is not None and proof.found is not None:
            lower = self.stacked(proof.units, proof.place)
            known = None if grids is None else grids[0].sum_2z
            lowest = lower if known is None or proof.found < known else lowest
            compact = lower if compact is None or self.volume(lower) < self.volume(compact) else compact
        if lowest is None or compact is None:
            return []
        best = proof.found if proof.found is not None or grids is None else grids[0].sum_2z
        gap_mm = None if best is None or proof.bound is None else max(0, best - proof.bound) / (2 * mass * STEPS_PER_MM)
        if lowest == compact:
            return self.placed(counts, lowest, ("lowest", "most compact"), gap_mm)
        return [*self.placed(counts, lowest, ("lowest",), gap_mm), *self.placed(counts, compact, ("most compact",), None)]

    def boxed(self, found: Found) -> Boxed:
        """A box of grids."""
        words = "; ".join(grid_words(grid, is_mixed=self.is_mixed) for grid in found.layout.grids)
        base = self.searched[found.place].low[Z]
        return Boxed(units=tuple(found.layout.units()), inner=found.layout.inner, base=base, words=words)

    def stacked(self, units: tuple[Unit, ...], net: NetBlock) -> Boxed:
        """A box round what the solver placed."""
        low = [min(unit.at[axis] - unit.stand.wall(axis) for unit in units) for axis in (X, Y)]
        high = [max(unit.at[axis] + unit.size[axis] + unit.stand.wall(axis) for unit in units) for axis in (X, Y)]
        top = max(unit.at[Z] + unit.size[Z] for unit in units)
        moved = tuple(replace(unit, at=(unit.at[X] - low[X], unit.at[Y] - low[Y], unit.at[Z])) for unit in units)
        words = stacked_words(moved, is_mixed=self.is_mixed)
        return Boxed(units=moved, inner=(high[X] - low[X], high[Y] - low[Y], top), base=net.low[Z], words=words)

    def volume(self, boxed: Boxed) -> int:
        """Outside volume."""
        size = self.casing.outside(boxed.inner)
        return size[X] * size[Y] * size[Z]

    def placed(self, counts: Counts, boxed: Boxed, kinds: tuple[str, ...], gap_mm: float | None) -> list[Filling]:
        """A box on its floor, near the middle of the car; foremost and rearmost where it can be moved along the car."""
        size, wall = self.casing.outside(boxed.inner), self.casing.wall
        nets = [net for net in self.nets if net.low[Z] == boxed.base and net.takes(size)]
        ends = [(x, middle_of(net.way(Y, size), size[Y])) for net in nets for x in net.way(X, size)]
        first, last = min(ends), max(ends)
        if last[X] - first[X] <= MOVES_MM * STEPS_PER_MM:
            first = last = between_of(nets[0], size)
        fillings = []
        for x, y in dict.fromkeys((first, last)):
            corner = (x + wall, y + wall, boxed.base + self.casing.floor)
            units = [replace(unit, at=(corner[X] + unit.at[X], corner[Y] + unit.at[Y], corner[Z] + unit.at[Z])) for unit in boxed.units]
            fillings.append(
                Filling(
                    space=self.space.ref,
                    counts=counts,
                    box=block_of((x, y, boxed.base), size),
                    modules=tuple(module for unit in units for module in unit.modules()),
                    plates=tuple(plate for unit in units for plate in unit.plates()),
                    kinds=kinds,
                    gap_mm=gap_mm,
                    how=boxed.words,
                )
            )
        return fillings


def middle_of(way: tuple[int, int], side: int) -> int:
    """The lowest coordinate, of those on a way, that brings the middle of a side nearest to the car's centre plane."""
    return max(way[0], min(way[1], -side // 2))


def between_of(net: NetBlock, size: Steps) -> tuple[int, int]:
    """The place in the middle of the little way that there is along the car, on whole millimetres where it may be."""
    low, high = net.way(X, size)
    middle = (low + high) // 2
    whole = middle // STEPS_PER_MM * STEPS_PER_MM
    return (whole if whole >= low else middle), middle_of(net.way(Y, size), size[Y])


ATTITUDE_WORDS = {"flat": "lying flat", "long edge": "on the long edge", "short end": "on the short end"}
PLATE_WORDS = {"none": "", "under": ", a plate under each", "beside": ", in pairs with a plate between"}


def grid_words(grid: Grid, *, is_mixed: bool = False) -> str:
    """A grid as one would say it."""
    layers = f" in {grid.layers} layers" if grid.layers > 1 else ""
    plate = ", with a plate of its own" if grid.count == 1 and grid.stand.plate_side == "beside" else PLATE_WORDS[grid.stand.plate_side]
    return f"{grid.count} {_stand_words(grid.stand, is_mixed=is_mixed)}, {grid.long} x {grid.rows}{layers}{plate}"


def _stand_words(stand: Stand, *, is_mixed: bool) -> str:
    named = f"{stand.kind.module} " if is_mixed else ""
    return f"{named}{ATTITUDE_WORDS[stand.attitude]}"


def stacked_words(units: tuple[Unit, ...], *, is_mixed: bool = False) -> str:
    """What the solver placed as one would say it; modules of which less than nine tenths rest on others want a rack."""
    tally: dict[str, int] = {}
    for unit in units:
        words = f"{_stand_words(unit.stand, is_mixed=is_mixed)}{PLATE_WORDS[unit.stand.plate_side]}"
        tally[words] = tally.get(words, 0) + unit.count
    listed = "; ".join(f"{count} {words}" for words, count in sorted(tally.items()))
    racked = sum(unit.count for unit in units if rests_on(unit, units) < RESTS_ENOUGH)
    return f"{listed}; placed singly" + (f"; {racked} of them in a rack, not resting on others" if racked else "")


# A module that rests on less of its lower face than this is said to stand in a rack.
RESTS_ENOUGH = 0.9


def rests_on(unit: Unit, units: tuple[Unit, ...]) -> float:
    """Share of a unit's lower face that lies over the floor or over modules one layer gap below."""
    if unit.at[Z] == 0:
        return 1.0
    size = unit.size
    area = 0
    for other in units:
        if other.at[Z] + other.size[Z] + other.stand.layer_gap == unit.at[Z]:
            x, y = (
                min(unit.at[axis] + size[axis], other.at[axis] + other.size[axis]) - max(unit.at[axis], other.at[axis]) for axis in (X, Y)
            )
            area += max(0, x) * max(0, y)
    return area / (size[X] * size[Y])


def refusal(space: Space, room: Room, nets: tuple[NetBlock, ...], stands: tuple[Stand, ...]) -> str:
    """Why not one module fits, in a sentence."""
    if not room.blocks:
        return f"{space.name} has no free room: keep-outs fill it."
    if not stands:
        return "No module type may be used."
    if not nets:
        return f"{space.name} is smaller than the room that is kept round a box, its feet and its walls."
    largest = max(nets, key=lambda net: (net.inner[X] * net.inner[Y] * net.inner[Z], net.low))
    sides = " x ".join(f"{side / STEPS_PER_MM:.0f}" for side in largest.size)
    needs = [(stand.extent(X, 1) + 2 * stand.wall(X), stand.extent(Y, 1) + 2 * stand.wall(Y), stand.tall) for stand in stands]
    lacks = [tuple(max(0, side - there) for side, there in zip(need, largest.inner, strict=True)) for need in needs]
    missing = [
        f"{side / STEPS_PER_MM:.0f} mm in {word}"
        for side, word in zip(min(lacks, key=lambda lack: (sum(lack), lack)), SIDES, strict=True)
        if side
    ]
    return f"No module fits into {space.name}: its largest free block takes a box of {sides} mm; a box for one module lacks {' and '.join(missing)}."


SIDES = ("length", "width", "height")
