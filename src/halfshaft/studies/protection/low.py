"""The 12 V side: each fuse with what hangs on it, and each wire with what it must bear until its fuse opens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.studies.cable.study import CableHeat
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.protection.ambient import ambient_of, factor_of
from halfshaft.studies.protection.bands import Band
from halfshaft.studies.protection.bearing import bearing_alone, bearing_of
from halfshaft.studies.protection.faults import Fault, Faults
from halfshaft.studies.protection.records import FuseGuard, Opening, Start, WireGuard
from halfshaft.studies.wires.circuit import node_of
from halfshaft.studies.wires.study import FuseUse, LoadPath, WiresResult, WireUse

Bands = Mapping[str, Band | None]


def opening(band: Band | None, current_a: float | None) -> Opening | None:
    """When a fuse opens at a current; None where either is not known."""
    if band is None or not current_a:
        return None
    return Opening(current_a=current_a, earliest_s=band.earliest_s(current_a), latest_s=band.latest_s(current_a))


def wire_guards(
    conversion: Conversion, routing: Routing, wires: WiresResult, heats: Mapping[str, CableHeat], faults: Faults, bands: Bands
) -> Iterator[WireGuard]:
    """Every wire that a rated fuse guards and that a fault current reaches."""
    for ref, use in wires.uses.items():
        rating_a = use.fuse_rating_a
        if use.fuse is None or not rating_a:
            continue
        ends = _ends(conversion, use, faults) or _loops(wires, use, faults)
        if ends is None:
            continue
        most, least = ends
        heat = heats.get(ref)
        fused_a = least.share.get(use.fuse, 1.0) * least.current_a
        yield WireGuard(
            ref=ref,
            is_high_voltage=False,
            is_return=not use.is_fed,
            short_only=False,
            section_mm2=conversion.wire[ref].section_mm2,
            fuse=use.fuse,
            rating_a=rating_a,
            most_a=most.current_a,
            least_a=least.current_a,
            opens=opening(bands.get(use.fuse), fused_a),
            bearing=bearing_alone(conversion, routing.wires[ref]) if heat is None else bearing_of(conversion, heat),
        )


def _ends(conversion: Conversion, use: WireUse, faults: Faults) -> tuple[Fault, Fault] | None:
    """To the body at the end nearer to the battery, and at the other."""
    wire = conversion.wire[use.wire]
    pins = [pin for pin in (wire.from_pin, wire.to_pin) if pin in faults.least and pin in faults.most]
    if not use.is_fed or len(pins) < 2:
        return None
    near, far = sorted(pins, key=lambda pin: -faults.least[pin].current_a)
    return faults.most[near], faults.least[far]


def _loops(wires: WiresResult, use: WireUse, faults: Faults) -> tuple[Fault, Fault] | None:
    """On a way back: inside the loads behind its fuse that come back through it."""
    loads = [path.load for path in wires.paths if _comes_back(path, use) and path.load in faults.inside_least]
    if not loads:
        return None
    most = max((faults.inside_most[load] for load in loads), key=lambda fault: fault.current_a)
    return most, min((faults.inside_least[load] for load in loads), key=lambda fault: fault.current_a)


def _comes_back(path: LoadPath, use: WireUse) -> bool:
    return use.wire in [branch.ref for branch in path.ground or ()] and use.fuse in [branch.ref for branch in path.supply or ()]


def fuse_guard(
    conversion: Conversion, wires: WiresResult, use: FuseUse, faults: Faults | None, guards: Sequence[WireGuard], band: Band | None
) -> FuseGuard:
    """One fuse of the 12 V side."""
    element, ambient_c = conversion.element[use.ref], ambient_of(conversion, use.ref)
    least = _least(wires, use, faults, guards)
    own = sorted((conversion.wire[ref].section_mm2, ref) for ref in use.wires)
    return FuseGuard(
        ref=use.ref,
        is_high_voltage=False,
        rating_a=use.rating_a,
        family=element.family,
        ambient_c=ambient_c,
        factor=factor_of(ambient_c),
        current_a=use.current_a,
        hot_a=_hot_a(conversion, use),
        case=use.case,
        loads=use.loads,
        wires=use.wires,
        thinnest=own[0][1] if own else None,
        breaking_a=element.breaking_a,
        most_a=None if faults is None else _behind(conversion, use.ref, faults),
        least_a=None if least is None else least[0],
        least_at="" if least is None else least[1],
        opens=None if least is None else opening(band, least[0]),
        starts=tuple(_starts(conversion, wires, use, band)),
        band=band,
    )


def _hot_a(conversion: Conversion, use: FuseUse) -> float:
    """What it carries while the air is hot: a converter at its limit gives less then."""
    supply = conversion.supply
    if supply.converter is not None and supply.converter_hot_max_a is not None and use.case.startswith(f"{supply.converter} "):
        return min(use.current_a, supply.converter_hot_max_a)
    return use.current_a


def _behind(conversion: Conversion, ref: str, faults: Faults) -> float | None:
    """Amperes of a fault on the side of a fuse that is further from the battery."""
    element, device = conversion.element[ref], ref.partition(".")[0]
    sides = [faults.most[node] for pin in (element.pin_a, element.pin_b) if (node := node_of(device, pin)) in faults.most]
    return min((fault.current_a for fault in sides), default=None)


def _least(wires: WiresResult, use: FuseUse, faults: Faults | None, guards: Sequence[WireGuard]) -> tuple[float, str] | None:
    """The smallest fault current that the fuse has to end: at the far end of a wire, or inside a load."""
    found = [(guard.opens.current_a, guard.ref) for guard in guards if guard.fuse == use.ref and not guard.is_return and guard.opens]
    if faults is not None:
        found += [(faults.inside_least[load].current_a, load) for load in use.loads if load in faults.inside_least]
    return min(found, default=None)


def _starts(conversion: Conversion, wires: WiresResult, use: FuseUse, band: Band | None) -> Iterator[Start]:
    """Each load behind the fuse that takes more as it starts, on top of all that the fuse carries at its worst."""
    for path in wires.paths:
        load = conversion.load[path.load]
        if use.ref in [branch.ref for branch in path.supply or ()] and load.peak_a > load.steady_a and load.peak_s > 0:
            current_a = use.current_a + load.peak_a - load.steady_a
            earliest_s = band.earliest_s(current_a) if band else float("inf")
            yield Start(load=path.load, current_a=current_a, seconds=load.peak_s, earliest_s=earliest_s)
