"""Every fuse with what hangs on it, every wire and cable with what it must bear until its fuse opens, and fuses in series."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.studies.cable.study import CableHeat
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.protection.bands import Band, CurveBand, band_of
from halfshaft.studies.protection.faults import study_faults
from halfshaft.studies.protection.high import high_cables, high_fuses
from halfshaft.studies.protection.low import fuse_guard, wire_guards
from halfshaft.studies.protection.records import FuseGuard, Protection, Series
from halfshaft.studies.wires.circuit import Circuit, branches_of, supply_of
from halfshaft.studies.wires.study import WiresResult

# Just below and just above a step.
NEAR = 1e-9


def study_protection(
    conversion: Conversion,
    routing: Routing,
    wires: WiresResult,
    heats: Mapping[str, CableHeat],
    pack: Pack | None,
    high: HighVoltage | None,
) -> Protection:
    """Fuses of the 12 V side, then of high voltage."""
    supply = supply_of(conversion)
    circuit = None if supply is None else Circuit(branches_of(conversion, wires.resistance_ohm), supply)
    faults = None if circuit is None else study_faults(conversion, wires, circuit)
    bands = {fuse.ref: band_of(conversion, fuse.ref) for fuse in wires.fuses}
    guards = () if faults is None else tuple(wire_guards(conversion, routing, wires, heats, faults, bands))
    fuses = tuple(fuse_guard(conversion, wires, fuse, faults, guards, bands[fuse.ref]) for fuse in wires.fuses)
    cables = () if pack is None or high is None else tuple(high_cables(conversion, pack, high, heats))
    high_ones = () if pack is None or high is None else tuple(high_fuses(conversion, pack, high, cables))
    return Protection(
        fuses=(*fuses, *high_ones),
        wires=(*guards, *cables),
        series=tuple(_series(wires, {fuse.ref: fuse for fuse in fuses})),
        in_ground=() if circuit is None else tuple(_in_ground(wires, circuit)),
    )


def _series(wires: WiresResult, fuses: Mapping[str, FuseGuard]) -> Iterator[Series]:
    """Each two fuses on the way to a load whose times are known, the one ahead first."""
    pairs: dict[tuple[str, str], None] = {}
    for path in wires.paths:
        on_way = [branch.ref for branch in path.supply or () if branch.kind == "fuse"]
        pairs.update(dict.fromkeys(itertools.combinations(on_way, 2)))
    for before, after in sorted(pairs):
        one, other = fuses.get(before), fuses.get(after)
        if one is not None and other is not None and one.band is not None and other.band is not None and other.most_a is not None:
            yield Series(
                before=before, after=after, most_a=other.most_a, not_from_a=not_selective_from_a(one.band, other.band, other.most_a)
            )


def not_selective_from_a(before: Band, after: Band, most_a: float) -> float | None:
    """The least fault current behind both at which the fuse ahead may open before the other has; None where there is none.

    The other loads that the fuse ahead carries are left out: a short takes their volts.
    """
    steps = sorted(
        {current_a * side for band in (before, after) for current_a in steps_of(band) for side in (1 - NEAR, 1 + NEAR)} | {most_a}
    )
    tried = [current_a for current_a in steps if after.opens_from_a <= current_a <= most_a]
    return next((current_a for current_a in tried if before.earliest_s(current_a) <= after.latest_s(current_a)), None)


def steps_of(band: Band) -> Sequence[float]:
    """Currents at which its earliest or its latest opening bends or jumps."""
    if isinstance(band, CurveBand):
        return [current_a / (1 + side) for current_a, _ in band.curve.points for side in (band.tolerance, -band.tolerance)]
    return [limit.current_a for limit in band.limits]


def _in_ground(wires: WiresResult, circuit: Circuit) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Fuses on the way back to the battery, with the loads that come back through them; every load through those at its minus."""
    found: dict[str, dict[str, None]] = {}
    minus = circuit.minus_way()
    for path in wires.paths:
        for branch in (*(path.ground or ()), *(minus if path.ground is not None else ())):
            if branch.kind == "fuse":
                found.setdefault(branch.ref, {})[path.load] = None
    return ((fuse, tuple(loads)) for fuse, loads in sorted(found.items()))
