"""What hot air leaves of a fuse's rating."""

from __future__ import annotations

import math

from halfshaft.model.conversion import Conversion
from halfshaft.standards import constants

# Blade and strip fuses are rated in air of 23 C, cartridges for high voltage at 25 C.
RATED_AT_C, CARTRIDGE_AT_C = 23.0, 25.0


def ambient_of(conversion: Conversion, fuse: str) -> float | None:
    """The hottest air of the zone in which the fuse's device stands."""
    zone = conversion.device[fuse.partition(".")[0]].zone
    return None if zone is None else conversion.zone[zone].ambient_max_c


def factor_of(ambient_c: float | None) -> float:
    """Of a blade or strip fuse: so much less for each kelvin; never more than its rating."""
    if ambient_c is None or ambient_c <= RATED_AT_C:
        return 1.0
    return max(0.0, 1 - constants()["fuse_per_kelvin"].value * (ambient_c - RATED_AT_C))


def cartridge_factor_of(ambient_c: float | None) -> float:
    """Of a cartridge for high voltage: sqrt((130 - t) / (130 - 25)). Source: a fuse maker's application guide, factor A1.

    >>> round(cartridge_factor_of(60), 3), round(cartridge_factor_of(85), 3)
    (0.816, 0.655)
    """
    if ambient_c is None or ambient_c <= CARTRIDGE_AT_C:
        return 1.0
    hottest_c = constants()["cartridge_hottest_c"].value
    return math.sqrt(max(0.0, (hottest_c - ambient_c) / (hottest_c - CARTRIDGE_AT_C)))
