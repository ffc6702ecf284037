"""Bare copper of different potential in one box: how many volts are between two studs, how far apart they are, how far they must be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.finding import published
from halfshaft.studies.insulating import least_clearance_mm, least_creepage_mm
from halfshaft.studies.module_places import Spot
from halfshaft.studies.pack.bars import WIDE_MM, Bar
from halfshaft.studies.pack.rows import CellVolts
from halfshaft.studies.pack.strings import String
from halfshaft.studies.pack.study import Pack

INSULATION = published("IEC 60664-1:2007 tables F.1, F.2, F.4: overvoltage category II, pollution degree 2, material group III")


@dataclass(frozen=True, kw_only=True, slots=True)
class Near:
    """A bar, or a stud by itself, and another stud of the same box: volts between them when full, and the free gap, 0 where they meet.

    `is_proposed`: the bar is one that nobody has described yet.
    """

    one: str
    stud: str
    box: str
    volts: float
    gap_mm: float
    least_mm: float
    is_proposed: bool


def potentials_v(string: String, cell_v: CellVolts = "cell_full_v") -> dict[str, float]:
    """Volts of each stud above the string's minus end, full or at other volts of a cell, if it is joined in its order."""
    found: dict[str, float] = {}
    above_v = 0.0
    for item in reversed(string.modules):
        found[item.minus] = above_v
        above_v += item.volts(cell_v)
        found[item.plus] = above_v
    return found


def near_studs(pack: Pack) -> tuple[Near, ...]:
    """Pairs in one box that are closer than they must be; each bar against the studs that it does not end at, each stud against others."""
    potential = {stud: volts for string in pack.strings for stud, volts in potentials_v(string).items()}
    box_of = {stud: item.box for string in pack.strings for item in string.modules for stud in (item.plus, item.minus)}
    studs = pack.studs
    half = {stud: _half_mm(pack.bars, stud) for stud in studs}
    known = sorted(studs)
    proposed = {bar.ref for bar in pack.bars if bar.is_proposed}
    found: list[Near] = []
    for one, line in _pieces(pack.bars, studs):
        for stud in known:
            ends, name = one
            if stud in ends or box_of[stud] != box_of[ends[0]] or (len(ends) == 1 and stud < ends[0]):
                continue
            volts = max(abs(potential[end] - potential[stud]) for end in ends)
            least_mm = least_gap_mm(volts)
            gap_mm = distance_mm(studs[stud], *line) - half[ends[0]] - half[stud]
            if least_mm is not None and volts > 0 and gap_mm < least_mm:
                found.append(
                    Near(
                        one=name,
                        stud=stud,
                        box=box_of[stud],
                        volts=volts,
                        gap_mm=max(gap_mm, 0.0),
                        least_mm=least_mm,
                        is_proposed=name in proposed,
                    )
                )
    return tuple(found)


def _half_mm(bars: tuple[Bar, ...], stud: str) -> float:
    """Half of the widest bar that ends at a stud; of a common one where none is described."""
    return max((bar.wide_mm for bar in bars if stud in (bar.start, bar.end)), default=WIDE_MM) / 2


def _pieces(bars: tuple[Bar, ...], studs: Mapping[str, Spot]) -> Iterator[tuple[tuple[tuple[str, ...], str], tuple[Spot, Spot]]]:
    """Straight lines of bare copper: bars from stud to stud, and studs by themselves."""
    for bar in bars:
        if bar.start in studs and bar.end in studs:
            yield ((bar.start, bar.end), bar.ref), (studs[bar.start], studs[bar.end])
    for stud in sorted(studs):
        yield ((stud,), stud), (studs[stud], studs[stud])


def distance_mm(spot: Spot, start: Spot, end: Spot) -> float:
    """From a spot to the straight line between two others.

    >>> distance_mm((5, 3, 0), (0, 0, 0), (10, 0, 0))
    3.0
    """
    along = [b - a for a, b in zip(start, end, strict=True)]
    square = math.fsum(step * step for step in along)
    share = math.fsum(step * (at - a) for step, at, a in zip(along, spot, start, strict=True)) / square if square else 0.0
    share = min(max(share, 0.0), 1.0)
    return math.dist(spot, [a + share * step for a, step in zip(start, along, strict=True)])


def least_gap_mm(volts: float) -> float | None:
    """The greater of clearance and creepage distance for these volts; None above the tables.

    IEC 60664-1: overvoltage category II, pollution degree 2, material group III, up to 2000 m; basic insulation between
    parts of one battery, so keyed by the volts between them. The next row up, not interpolated.
    """
    clearance_mm = least_clearance_mm(volts, pollution=2)
    creepage_mm = least_creepage_mm(volts, pollution=2, group="IIIa")
    return None if clearance_mm is None or creepage_mm is None else max(clearance_mm, creepage_mm)
