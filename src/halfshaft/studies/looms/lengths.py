"""How long a wire is cut, with every part of the sum kept."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.model.conversion import Shop
from halfshaft.model.wires import TwistGroup
from halfshaft.standards import circle_packings


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


def bundle_diameter_mm(outside_diameters_mm: list[float], *, looseness: float) -> float:
    """Outside diameter of a bundle: looseness x root of the sum of squares (common practice).

    Never less than the two thickest side by side, nor than its thickest few take packed as tightly as is known
    (best known packings of equal circles in a circle): of few wires the rule of thumb is less than geometry allows.
    One wire alone is as thick as it is.

    >>> bundle_diameter_mm([1.6, 1.6], looseness=1.2)
    3.2
    """
    if len(outside_diameters_mm) == 1:
        return outside_diameters_mm[0]
    loose_mm = looseness * math.sqrt(math.fsum(diameter * diameter for diameter in outside_diameters_mm))
    thickest_first = sorted(outside_diameters_mm, reverse=True)
    # Each of the n thickest is at least as thick as the n-th.
    tightest_mm = max(ratio * thickest_first[count - 1] for count, ratio in circle_packings().items() if count <= len(thickest_first))
    return max(loose_mm, thickest_first[0] + thickest_first[1], tightest_mm)
