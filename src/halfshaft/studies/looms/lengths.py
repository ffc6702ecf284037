"""How long a wire is cut, with every part of the sum kept, and how thick a bundle of wires is."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from halfshaft.model.conversion import Shop
from halfshaft.model.wires import TwistGroup
from halfshaft.studies.looms.circles import least_circle


@dataclass(frozen=True, kw_only=True, slots=True)
class CutLength:
    """The parts of a cut length in millimetres, and the length to cut."""

    runs_mm: float
    tail_from_mm: float
    tail_to_mm: float
    end_from_mm: float
    end_to_mm: float
    take_up_mm: float
    cut_mm: float

    @property
    def sum_mm(self) -> float:
        """Before rounding up to the step."""
        return math.fsum((self.runs_mm, self.tail_from_mm, self.tail_to_mm, self.end_from_mm, self.end_to_mm, self.take_up_mm))


def take_up_share(group: TwistGroup | None, *, wire_diameter_mm: float, shop: Shop) -> float:
    """How much longer a twisted wire is than its pair, as a share: sqrt(1 + (pi d / lay)^2) - 1 (geometry of a helix).

    The shop's own percentage wins where one is given. No twist, no take-up.

    >>> pair = TwistGroup(ref="T1", kind="CAN pair", lay_mm=33.3, twist_to_connector_mm=40)
    >>> round(100 * take_up_share(pair, wire_diameter_mm=1.6, shop=Shop()), 2)
    1.13
    """
    if group is None:
        return 0.0
    if shop.take_up_percent is not None:
        return shop.take_up_percent / 100
    return math.hypot(1.0, math.pi * wire_diameter_mm / group.lay_mm) - 1.0


def round_up(length_mm: float, *, step_mm: float) -> float:
    """To the next step, never down. What differs from a step by less than a thousandth of a millimetre is on it."""
    return math.ceil(length_mm / step_mm - 1e-3 / step_mm) * step_mm


def cut_length(
    *,
    runs_mm: float,
    tail_from_mm: float,
    tail_to_mm: float,
    splice_from: bool,
    splice_to: bool,
    take_up: float,
    shop: Shop,
) -> CutLength:
    """Sum of runs, tails and what each end takes, longer by the take-up, rounded up to the shop's step.

    The take-up lies on runs and tails only: the ends are straight. Slack goes in before rounding, because the
    cutter steps and a loop lost to rounding cannot be put back once the wire is on the board.
    """
    at_pin_mm = shop.slack_each_end_mm + shop.termination_each_end_mm
    ends = [shop.splice_overlap_mm if splice else at_pin_mm for splice in (splice_from, splice_to)]
    laid_mm = runs_mm + tail_from_mm + tail_to_mm
    parts = CutLength(
        runs_mm=runs_mm,
        tail_from_mm=tail_from_mm,
        tail_to_mm=tail_to_mm,
        end_from_mm=ends[0],
        end_to_mm=ends[1],
        take_up_mm=laid_mm * take_up,
        cut_mm=0.0,
    )
    step_mm = shop.length_step_to_1000_mm if parts.sum_mm <= 1000 else shop.length_step_over_1000_mm
    return CutLength(
        runs_mm=runs_mm,
        tail_from_mm=tail_from_mm,
        tail_to_mm=tail_to_mm,
        end_from_mm=ends[0],
        end_to_mm=ends[1],
        take_up_mm=parts.take_up_mm,
        cut_mm=round_up(parts.sum_mm, step_mm=step_mm),
    )


def circles_of(wires: Iterable[tuple[float, str | None]], groups: Mapping[str, TwistGroup]) -> list[float]:
    """Diameters that lie side by side in a bundle, from each wire's own and the pair that it is twisted in.

    A pair turns, so it takes the circle round both wires, or what `outside_diameter_mm` says of it with its screen.
    A wire whose fellow goes another way counts for itself.
    """
    circles: list[float] = []
    twisted: dict[str, list[float]] = defaultdict(list)
    for diameter_mm, group in wires:
        if group is None:
            circles.append(diameter_mm)
        else:
            twisted[group].append(diameter_mm)
    for ref, diameters_mm in twisted.items():
        given_mm = groups[ref].outside_diameter_mm
        together = len(diameters_mm) > 1
        circles.append(given_mm if together and given_mm is not None else least_circle(diameters_mm).diameter_mm)
    return circles


def bundle_diameter_mm(outside_diameters_mm: Sequence[float], *, looseness: float) -> float:
    """Outside diameter of a bundle: looseness x least circle round all of it, whose search proves no best one.

    Looseness (common practice) stands for wires that cross over and do not stay where they would lie closest. That
    takes three: one alone is as thick as it is, and two bound together touch all along.

    >>> bundle_diameter_mm([1.6, 1.6], looseness=1.1)
    3.2
    >>> round(bundle_diameter_mm([1.6] * 7, looseness=1.1), 3)
    5.28
    """
    least_mm = least_circle(outside_diameters_mm).diameter_mm
    return least_mm if len(outside_diameters_mm) < 3 else looseness * least_mm


def bundle_at_most_mm(outside_diameters_mm: Sequence[float], *, looseness: float) -> float:
    """What a bundle is not thicker than, without any search: circles with half of a circle's area between them always fit into it.

    Published: S. P. Fekete, P. Keldenich, C. Scheffer, Packing disks into disks with optimal worst-case density (2019).
    """
    return looseness * math.sqrt(2 * math.fsum(diameter_mm * diameter_mm for diameter_mm in outside_diameters_mm))
