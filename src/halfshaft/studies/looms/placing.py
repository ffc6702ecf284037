"""Where a splice whose place is left open goes: where its wires take least copper.

The copper of a splice is the sum, over the wires that end in it, of length along the runs times section, longer by the take-up where a wire is
twisted. Tails, strip and rounding are the same wherever it lies. Along a run the way to each other end is the
shorter of two, one over each end of the run; so the sum bends downwards or is straight, and is least at an end of what is allowed. So
only those ends are looked at, and nothing between them can be better.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Run, Splice
from halfshaft.studies.looms.lengths import take_up_share
from halfshaft.studies.looms.network import Network, pieces_of_run
from halfshaft.studies.looms.splices import SplicePlace, given_places

# Less copper than this is no gain: mm of a wire of 1 mm2.
GAIN = 1e-6
ROUNDS_MAX = 100


@dataclass(frozen=True, slots=True)
class Pull:
    """One wire of a splice: where it goes on from it, and what a millimetre of it costs."""

    node: str
    weight: float


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on a run, whether it is nearer to something than allowed, and what its wires take there: those that cannot reach it, and the copper of the others."""

    run: Run
    at_mm: float
    length_mm: float
    cramped: bool
    lost: int
    copper: float

    @property
    def cost(self) -> tuple[bool, int, int]:
        """Less is better: a place that is allowed, then one that all wires reach, then least copper."""
        return self.cramped, self.lost, round(self.copper / GAIN)

    @property
    def rank(self) -> tuple[tuple[bool, int, int], str, str, float]:
        """By cost; of equals the one whose names sort first."""
        place = self.as_place("")
        return self.cost, self.run.ref, place.from_point, place.at_mm

    def as_place(self, splice: str) -> SplicePlace:
        """Measured from the nearer end of the run."""
        first = self.at_mm <= self.length_mm - self.at_mm
        return SplicePlace(
            splice=splice,
            run=self.run.ref,
            from_point=self.run.from_point if first else self.run.to_point,
            at_mm=self.at_mm if first else self.length_mm - self.at_mm,
            chosen=True,
        )


def place_splices(conversion: Conversion) -> dict[str, SplicePlace]:
    """The place of every splice that has wires, given or chosen.

    One open splice lands at the best place that is allowed. Of several that are joined by wires each in turn, by its mark, goes where it
    is best for the others as they lie, until none moves: each move saves copper, so it ends, but a better set may exist.
    """
    places = given_places(conversion)
    waiting = sorted((splice for splice in conversion.splices if splice.ref not in places), key=lambda splice: splice.ref)
    for _ in range(ROUNDS_MAX if waiting else 0):
        before = dict(places)
        for splice in waiting:
            others = {ref: place for ref, place in places.items() if ref != splice.ref}
            best = best_spot(conversion, splice, others)
            if best is None:
                continue
            known = places.get(splice.ref)
            if known is None or best.cost < _spot_of(conversion, splice, others, known).cost:
                places[splice.ref] = best.as_place(splice.ref)
        if places == before:
            break
    return {splice.ref: places[splice.ref] for splice in conversion.splices if splice.ref in places}


def best_spot(conversion: Conversion, splice: Splice, others: Mapping[str, SplicePlace]) -> Spot | None:
    """The allowed place with least copper, the other splices lying where they do; None for a splice that no wire holds anywhere.

    Where no place keeps the distances, the middle of the run on which it takes least.
    """
    network = Network.of(conversion, others)
    pulls = pulls_of(conversion, splice, others)
    if not pulls:
        return None
    runs = _open_runs(conversion, splice)
    allowed = [
        (run, at_mm)
        for run in runs
        for start_mm, end_mm in allowed_mm(conversion, network, splice, others, run)
        for at_mm in (start_mm, end_mm)
    ]
    middles = [(run, network.lengths[run.ref].length_mm / 2) for run in runs]
    weigh = _Scale(conversion, network, splice, others, pulls)
    spots = [weigh.spot(run, at_mm, cramped=not allowed) for run, at_mm in allowed or middles]
    return min(spots, key=lambda spot: spot.rank, default=None)


def pulls_of(conversion: Conversion, splice: Splice, others: Mapping[str, SplicePlace]) -> list[Pull]:
    """What holds a splice: for each wire the next place that it passes. Wires to splices that lie nowhere yet are left out."""
    found = []
    for wire in conversion.wires:
        for mine, far, via in ((wire.from_pin, wire.to_pin, wire.via), (wire.to_pin, wire.from_pin, wire.via[::-1])):
            if mine != splice.ref or far == splice.ref:
                continue
            device, connector = ([*far.split("."), "", ""])[:2]
            tail = conversion.tail.get((device, connector))
            node = via[0] if via else far if far in others else tail.point if tail else None
            if node is not None:
                group = conversion.twist_group[wire.twist_group] if wire.twist_group else None
                diameter_mm = conversion.wire_type[wire.section_mm2].outside_diameter_mm
                twisted = take_up_share(group, wire_diameter_mm=diameter_mm, shop=conversion.shop)
                found.append(Pull(node, wire.section_mm2 * (1.0 + twisted)))
    return found


def _open_runs(conversion: Conversion, splice: Splice) -> list[Run]:
    """The run that the splice names, or every run that its loom may use, but those with a grommet on them or beside something that moves."""
    if splice.run is not None:
        return [conversion.run[splice.run]]
    barred = {grommet.run for grommet in conversion.grommets} | {item.run for item in conversion.nearby if item.kind == "moving part"}
    carries = conversion.loom[splice.loom].carries
    return [run for run in conversion.runs if carries in run.may_carry and run.ref not in barred]


def allowed_mm(
    conversion: Conversion, network: Network, splice: Splice, others: Mapping[str, SplicePlace], run: Run
) -> Iterator[tuple[float, float]]:
    """The pieces of a run, from its first point, that keep the shop's distances from its points and from the loom's other splices.

    `splice_apart_mm` from both points, for a clip too wants room; and from every other splice of the loom that or `splice_stagger_mm`,
    whichever is more, for in one bundle the wires of one pass the other.
    """
    shop, length_mm = conversion.shop, network.lengths[run.ref].length_mm
    carries = conversion.loom[splice.loom].carries
    gap_mm = max(shop.splice_apart_mm, shop.splice_stagger_mm)
    start_mm, end_mm = shop.splice_apart_mm, length_mm - shop.splice_apart_mm
    taken = []
    for other in others.values():
        if conversion.splice[other.splice].loom != splice.loom:
            continue
        if other.run == run.ref:
            taken.append(other.from_start_mm(run, length_mm))
        else:
            away = network.distances_mm(other.splice, kind=carries)
            start_mm = max(start_mm, gap_mm - away.get(run.from_point, math.inf))
            end_mm = min(end_mm, length_mm - gap_mm + away.get(run.to_point, math.inf))
    for at_mm in sorted(taken):
        if start_mm <= min(at_mm - gap_mm, end_mm):
            yield start_mm, min(at_mm - gap_mm, end_mm)
        start_mm = max(start_mm, at_mm + gap_mm)
    if start_mm <= end_mm:
        yield start_mm, end_mm


class _Scale:
    """Weighs the copper of one splice anywhere on the network."""

    def __init__(
        self, conversion: Conversion, network: Network, splice: Splice, others: Mapping[str, SplicePlace], pulls: list[Pull]
    ) -> None:
        carries = conversion.loom[splice.loom].carries
        self._network = network
        self._others = others
        self._pulls = [(network.distances_mm(pull.node, kind=carries), pull.weight) for pull in pulls]

    def spot(self, run: Run, at_mm: float, *, cramped: bool) -> Spot:
        """The copper with the splice so far from the first point of a run."""
        length_mm = self._network.lengths[run.ref].length_mm
        begun_mm = 0.0
        for piece in pieces_of_run(self._others, run, length_mm):
            if at_mm <= begun_mm + piece.length_mm or piece.end == run.to_point:
                break
            begun_mm += piece.length_mm
        ways = [
            (
                weight,
                min(away.get(piece.start, math.inf) + at_mm - begun_mm, away.get(piece.end, math.inf) + begun_mm + piece.length_mm - at_mm),
            )
            for away, weight in self._pulls
        ]
        copper = math.fsum(weight * way_mm for weight, way_mm in ways if way_mm < math.inf)
        return Spot(run, at_mm, length_mm, cramped, sum(way_mm == math.inf for _, way_mm in ways), copper)


def _spot_of(conversion: Conversion, splice: Splice, others: Mapping[str, SplicePlace], place: SplicePlace) -> Spot:
    """What a splice takes where it lies."""
    network, run = Network.of(conversion, others), conversion.run[place.run]
    at_mm = place.from_start_mm(run, network.lengths[run.ref].length_mm)
    pieces = allowed_mm(conversion, network, splice, others, run)
    cramped = not any(start_mm - GAIN <= at_mm <= end_mm + GAIN for start_mm, end_mm in pieces)
    return _Scale(conversion, network, splice, others, pulls_of(conversion, splice, others)).spot(run, at_mm, cramped=cramped)
