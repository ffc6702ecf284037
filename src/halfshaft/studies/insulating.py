"""How far apart live parts must be, in air and along an insulator: basic insulation, IEC 60664-1, overvoltage category II.

Keyed by the volts between the parts; direct volts count like the r.m.s. volts of the tables. Always the next row up, none
interpolated but the factor of altitude. None where the tables end: nothing is made up beyond them.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Literal

from halfshaft.standards import table

MaterialGroup = Literal["I", "II", "IIIa", "IIIb"]


def least_clearance_mm(volts: float, *, pollution: int, altitude_m: float = 2000.0) -> float | None:
    """Least distance in air between parts with these volts, at a pollution degree, up to an altitude.

    >>> least_clearance_mm(436.8, pollution=2)
    3.0
    """
    impulse_v = _row("rated impulse voltage", volts)
    factor = altitude_factor(altitude_m)
    if impulse_v is None or factor is None:
        return None
    clearance_mm = _row("clearance", impulse_v, str(pollution))
    return None if clearance_mm is None else clearance_mm * factor


def least_creepage_mm(volts: float, *, pollution: int, group: MaterialGroup) -> float | None:
    """Least distance along an insulator of this material group; never less than the clearance up to 2000 m.

    >>> least_creepage_mm(436.8, pollution=2, group="IIIa")
    5.0
    """
    column = "all" if pollution == 1 else group.rstrip("ab")
    creepage_mm = _row("creepage", volts, str(pollution), column)
    clearance_mm = least_clearance_mm(volts, pollution=pollution)
    return None if creepage_mm is None or clearance_mm is None else max(creepage_mm, clearance_mm)


def altitude_factor(altitude_m: float) -> float | None:
    """By how much thin air widens a clearance, straight between the rows of table A.2."""
    rows = _rows("altitude factor")
    if altitude_m <= rows[0][0]:
        return rows[0][1]
    for (low_m, low), (high_m, high) in pairwise(rows):
        if altitude_m <= high_m:
            return low + (high - low) * (altitude_m - low_m) / (high_m - low_m)
    return None


@cache
def _rows(name: str, pollution: str = "", group: str = "") -> tuple[tuple[float, float], ...]:
    found = (
        row
        for row in table("insulation_iec60664")
        if (row["table"], row["pollution_degree"], row["material_group"]) == (name, pollution, group)
    )
    return tuple(sorted((float(row["up_to"]), float(row["value"])) for row in found))


def _row(name: str, key: float, pollution: str = "", group: str = "") -> float | None:
    return next((value for up_to, value in _rows(name, pollution, group) if key <= up_to), None)
