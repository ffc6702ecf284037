"""Every kind of crimp that the looms need, how often, and what it must withstand."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.standards import crimp_pulls
from halfshaft.studies.wires.study import WiresResult


@dataclass(frozen=True, kw_only=True, slots=True)
class Crimp:
    """One terminal on one section: how many of them, what is stripped, and the least pull, None beyond the table."""

    terminal: str
    section_mm2: float
    count: int
    strip_mm: float
    pull_min_n: float | None


def pull_min_n(section_mm2: float) -> float | None:
    """Least pull that a crimp on this section must withstand, in newton, or None outside the table.

    Published for American gauges (standards/crimp_pull.csv); between two of them in proportion to the copper, rounded up.

    >>> pull_min_n(0.518), pull_min_n(0.75), pull_min_n(0.05)
    (58, 82, None)
    """
    for (thin, low), (thick, high) in itertools.pairwise(crimp_pulls()):
        if thin <= section_mm2 <= thick:
            return math.ceil(low + (high - low) * (section_mm2 - thin) / (thick - thin) - 1e-9)
    return None


def crimps_of(conversion: Conversion, wires: WiresResult) -> tuple[Crimp, ...]:
    """Every pair of terminal and section among the wire ends, by terminal and section. Ends in splices count one each."""
    counts = Counter((end.terminal.ref, conversion.wire[end.wire].section_mm2) for end in wires.ends)
    return tuple(
        Crimp(
            terminal=terminal,
            section_mm2=section,
            count=count,
            strip_mm=conversion.terminal[terminal].strip_mm,
            pull_min_n=pull_min_n(section),
        )
        for (terminal, section), count in sorted(counts.items())
    )
