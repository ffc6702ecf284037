"""The bars in the boxes: how long each has to be, and those that nobody has described yet."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.standards import constants
from halfshaft.studies.module_places import Spot
from halfshaft.studies.pack.rows import Row, runs_of, studs_of

# Common practice: a bar reaches half its width beyond the middle of each hole, and 5.5 mm more for a round end.
BEYOND_HOLES_MM = 11.0
# For bars that nobody has described yet (common practice: flat copper from the shelf).
WIDE_MM, THICK_MM = 20.0, 3.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Bar:
    """One bar. `is_proposed`: nobody has described it; its length is None where it ends at a plug, whose place is not described."""

    ref: str
    box: str
    start: str
    end: str
    wide_mm: float
    thick_mm: float
    length_mm: float | None
    apart_mm: float | None
    is_proposed: bool

    @property
    def section_mm2(self) -> float:
        """Copper across it."""
        return self.wide_mm * self.thick_mm

    @property
    def resistance_ohm(self) -> float | None:
        """Of its whole length at 20 C."""
        return None if self.length_mm is None else bar_resistance_ohm(length_mm=self.length_mm, section_mm2=self.section_mm2)

    @property
    def needed_mm(self) -> float | None:
        """Its developed length from end to end, if it ran straight; None where its studs are not both known."""
        return None if self.apart_mm is None else needed_length_mm(apart_mm=self.apart_mm, wide_mm=self.wide_mm)


def needed_length_mm(*, apart_mm: float, wide_mm: float) -> float:
    """Developed length of a bar between two holes: over both ends together its width and 11 mm more.

    >>> needed_length_mm(apart_mm=184, wide_mm=20)
    215.0
    """
    return apart_mm + wide_mm + BEYOND_HOLES_MM


def bar_resistance_ohm(*, length_mm: float, section_mm2: float) -> float:
    """Of a copper bar at 20 C: resistivity times length over section.

    >>> round(bar_resistance_ohm(length_mm=1000, section_mm2=60) * 1e6, 1)
    287.3
    """
    return constants()["copper_resistivity_ohm_mm2_per_m"].value * length_mm / 1000 / section_mm2


def bars_of(conversion: Conversion, rows: Mapping[int, Row]) -> tuple[Bar, ...]:
    """Bars as described; for a box without any those that it wants."""
    studs = studs_of(rows)
    described = tuple(
        Bar(
            ref=bar.ref,
            box=bar.box,
            start=bar.from_stud,
            end=bar.to_stud,
            wide_mm=bar.wide_mm,
            thick_mm=bar.thick_mm,
            length_mm=bar.length_mm,
            apart_mm=_apart_mm(studs, bar.from_stud, bar.to_stud),
            is_proposed=False,
        )
        for bar in conversion.busbars
    )
    with_bars = {bar.box for bar in described}
    runs = [run for row in rows.values() for run in runs_of(row) if run[0].box not in with_bars]
    return (*described, *_proposed(conversion, studs, runs))


def _proposed(conversion: Conversion, studs: Mapping[str, Spot], runs: Sequence[Row]) -> Iterator[Bar]:
    """From the box's plus plug over the modules to its minus plug; not to the plugs of a box that is entered twice."""
    taken = {bar.ref for bar in conversion.busbars}
    marks = (mark for number in itertools.count(1) if (mark := f"BB{number:02d}") not in taken)
    times = Counter(run[0].box for run in runs)
    for run in runs:
        box = run[0].box
        ends = [stud for item in run for stud in (item.plus, item.minus)]
        if times[box] == 1:
            ends = [*_pins_with_role(conversion, box, "hv_plus"), *ends, *_pins_with_role(conversion, box, "hv_minus")]
        pairs = list(itertools.pairwise(ends))
        for start, end in (pair for pair in pairs if pair[0].rpartition(".")[0] != pair[1].rpartition(".")[0]):
            apart_mm = _apart_mm(studs, start, end)
            yield Bar(
                ref=next(marks),
                box=box,
                start=start,
                end=end,
                wide_mm=WIDE_MM,
                thick_mm=THICK_MM,
                length_mm=None if apart_mm is None else math.ceil(needed_length_mm(apart_mm=apart_mm, wide_mm=WIDE_MM)),
                apart_mm=apart_mm,
                is_proposed=True,
            )


def _pins_with_role(conversion: Conversion, device: str, role: str) -> list[str]:
    """The one pin of a box with this role; none where there are several, as nobody knows which."""
    pins = [pin for pin, cavity in conversion.cavity.items() if pin.startswith(f"{device}.") and cavity.role == role]
    return pins if len(pins) == 1 else []


def _apart_mm(studs: Mapping[str, Spot], one: str, other: str) -> float | None:
    return math.dist(studs[one], studs[other]) if one in studs and other in studs else None
