"""How warm the air round a thing is in one case."""

from __future__ import annotations

from collections.abc import Iterable

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Case

# Copper tables hold at this temperature; it is taken where neither case nor zone says anything.
TABLE_C = 20.0


def air_c(conversion: Conversion, case: Case, zones: Iterable[str]) -> float:
    """The hottest air of some zones, in C.

    A zone is given by its hottest air. It is as much warmer than the outside in every case with the contactors closed, as it
    is then warmer than the hottest outside of any case: machines that run warm it alike. A car that stands is as warm as the
    air outside.
    """
    hottest_c = [conversion.zone[name].ambient_max_c for name in zones if name in conversion.zone]
    if case.ambient_c is None:
        return max(hottest_c, default=TABLE_C)
    outside_c = [known.ambient_c for known in conversion.cases if known.ambient_c is not None]
    rise_k = max((most_c - max(outside_c) for most_c in hottest_c), default=0.0)
    return case.ambient_c if case.contactors == "open" else case.ambient_c + max(rise_k, 0.0)
