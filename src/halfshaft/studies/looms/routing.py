"""Every wire, cable and hose laid over the route network, loom by loom."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Cable, Hose, Loom, Wire
from halfshaft.studies.looms.lengths import CutLength, bundle_diameter_mm, circles_of, cut_length, round_up, take_up_share
from halfshaft.studies.looms.network import Network, Route, RunLength
from halfshaft.studies.looms.splices import SplicePlace

# Cables and hoses are cut to the millimetre, never short of it.
WHOLE_MM = 1.0


@dataclass(frozen=True, slots=True)
class End:
    """Where one end of a wire goes: a connector that hangs at a point by its tail, or a splice on a run."""

    pin: str
    node: str | None
    tail_mm: float
    connector: str | None

    @property
    def is_splice(self) -> bool:
        """Whether this end goes into a splice."""
        return self.connector is None


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidWire:
    """A wire with its way and its cut length; without them where it has no way."""

    wire: Wire
    start: End
    end: End
    route: Route | None
    length: CutLength | None
    outside_diameter_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LoomRun:
    """One run as far as one loom uses it; `circles_mm` are its wires, a pair as one, and `tube_mm` the outside of a tube round them or 0."""

    run: str
    start: str
    end: str
    length_mm: float
    wires: tuple[str, ...]
    circles_mm: tuple[float, ...]
    looseness: float
    tube_mm: float

    @property
    def bundle_mm(self) -> float:
        """Its diameter, looked for when it is first asked for."""
        return bundle_diameter_mm(self.circles_mm, looseness=self.looseness)

    @property
    def over_mm(self) -> float:
        """Its diameter over a tube, where it lies in one."""
        return max(self.bundle_mm, self.tube_mm)


@dataclass(frozen=True, kw_only=True, slots=True)
class LoomTail:
    """One connector of a loom, hanging from its point."""

    connector: str
    point: str
    length_mm: float
    wires: tuple[str, ...]
    circles_mm: tuple[float, ...]
    looseness: float

    @property
    def bundle_mm(self) -> float:
        """Its diameter, looked for when it is first asked for."""
        return bundle_diameter_mm(self.circles_mm, looseness=self.looseness)


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidLoom:
    """A loom as it lies: its wires, the runs they use, the connectors that hang from it."""

    loom: Loom
    wires: tuple[LaidWire, ...]
    runs: tuple[LoomRun, ...]
    tails: tuple[LoomTail, ...]

    @property
    def cut_mm(self) -> float:
        """All its wires together."""
        return math.fsum(wire.length.cut_mm for wire in self.wires if wire.length)


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidCable:
    """A high-voltage or mains cable with its way and cut length."""

    cable: Cable
    route: Route | None
    tails_mm: float
    cut_mm: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidHose:
    """A hose with its way and cut length."""

    hose: Hose
    route: Route | None
    cut_mm: float | None


@dataclass(frozen=True, kw_only=True)
class Routing:
    """Everything that is cut to a length, where it lies, how long each run is, and where each connector hangs."""

    run_lengths: dict[str, RunLength]
    looms: tuple[LaidLoom, ...]
    cables: tuple[LaidCable, ...]
    hoses: tuple[LaidHose, ...]
    points: dict[str, str]
    splices: dict[str, SplicePlace]

    def loom(self, ref: str) -> LaidLoom:
        """One loom by its mark."""
        return next(laid for laid in self.looms if laid.loom.ref == ref)

    @cached_property
    def wires(self) -> dict[str, LaidWire]:
        """All wires by number."""
        return {laid.wire.ref: laid for loom in self.looms for laid in loom.wires}


def lay(conversion: Conversion, network: Network, places: Mapping[str, SplicePlace]) -> Routing:
    """Lay everything. What has no way stays without one; the rules say so."""
    by_loom: dict[str, list[LaidWire]] = defaultdict(list)
    for wire in conversion.wires:
        by_loom[wire.loom].append(lay_wire(conversion, network, wire))
    return Routing(
        run_lengths=network.lengths,
        looms=tuple(_loom(conversion, network, loom, by_loom[loom.ref]) for loom in conversion.looms),
        cables=tuple(_lay_cable(conversion, network, cable) for cable in conversion.cables),
        hoses=tuple(_lay_hose(network, hose) for hose in conversion.hoses),
        points={f"{tail.device}.{tail.connector}": tail.point for tail in conversion.tails},
        splices=dict(places),
    )


def end_of(conversion: Conversion, pin: str) -> End:
    """Where the end of a wire at this pin or splice is found."""
    if "." not in pin:
        return End(pin, pin, 0.0, None)
    device, connector, _ = pin.split(".")
    tail = conversion.tail.get((device, connector))
    if tail is None:
        return End(pin, None, 0.0, f"{device}.{connector}")
    return End(pin, tail.point, tail.tail_mm, f"{device}.{connector}")


def lay_wire(conversion: Conversion, network: Network, wire: Wire) -> LaidWire:
    """One wire's shortest allowed way and its cut length."""
    start, end = end_of(conversion, wire.from_pin), end_of(conversion, wire.to_pin)
    diameter_mm = conversion.wire_type[wire.section_mm2].outside_diameter_mm
    route, length = None, None
    if start.node is not None and end.node is not None:
        route = network.through((start.node, *wire.via, end.node), kind=conversion.loom[wire.loom].carries)
    if route is not None:
        group = conversion.twist_group[wire.twist_group] if wire.twist_group else None
        length = cut_length(
            runs_mm=route.length_mm,
            tail_from_mm=start.tail_mm,
            tail_to_mm=end.tail_mm,
            splice_from=start.is_splice,
            splice_to=end.is_splice,
            take_up=take_up_share(group, wire_diameter_mm=diameter_mm, shop=conversion.shop),
            shop=conversion.shop,
        )
    return LaidWire(wire=wire, start=start, end=end, route=route, length=length, outside_diameter_mm=diameter_mm)


def _loom(conversion: Conversion, network: Network, loom: Loom, wires: list[LaidWire]) -> LaidLoom:
    on_run: dict[str, dict[str, LaidWire]] = defaultdict(dict)
    on_tail: dict[tuple[str, str, float], dict[str, LaidWire]] = defaultdict(dict)
    for laid in wires:
        for step in laid.route.steps if laid.route else ():
            on_run[step.run][laid.wire.ref] = laid
        for end in (laid.start, laid.end):
            if end.connector is not None and end.node is not None:
                on_tail[end.connector, end.node, end.tail_mm][laid.wire.ref] = laid
    runs = []
    for run in conversion.runs:
        if run.ref not in on_run:
            continue
        covering = conversion.covering.get(run.covering or "")
        tube_mm = covering.outside_mm if covering and covering.kind in ("tube", "sleeve") else None
        runs.append(
            LoomRun(
                run=run.ref,
                start=run.from_point,
                end=run.to_point,
                length_mm=network.lengths[run.ref].length_mm,
                wires=tuple(on_run[run.ref]),
                circles_mm=_circles(conversion, on_run[run.ref].values()),
                looseness=conversion.shop.looseness,
                tube_mm=tube_mm or 0.0,
            )
        )
    tails = tuple(
        LoomTail(
            connector=connector,
            point=point,
            length_mm=length_mm,
            wires=tuple(found),
            circles_mm=_circles(conversion, found.values()),
            looseness=conversion.shop.looseness,
        )
        for (connector, point, length_mm), found in sorted(on_tail.items())
    )
    return LaidLoom(loom=loom, wires=tuple(wires), runs=tuple(runs), tails=tails)


def _circles(conversion: Conversion, wires: Iterable[LaidWire]) -> tuple[float, ...]:
    return tuple(circles_of(((laid.outside_diameter_mm, laid.wire.twist_group) for laid in wires), conversion.twist_group))


def _lay_cable(conversion: Conversion, network: Network, cable: Cable) -> LaidCable:
    ends = [
        conversion.tail.get((device, name)) for device, _, name in (c.partition(".") for c in (cable.from_connector, cable.to_connector))
    ]
    if ends[0] is None or ends[1] is None:
        return LaidCable(cable=cable, route=None, tails_mm=0.0, cut_mm=None)
    kind = "HV"
    route = network.through((ends[0].point, *cable.via, ends[1].point), kind=kind)
    tails_mm = ends[0].tail_mm + ends[1].tail_mm
    cut_mm = None if route is None else round_up(route.length_mm + tails_mm + conversion.shop.cable_ends_mm, step_mm=WHOLE_MM)
    return LaidCable(cable=cable, route=route, tails_mm=tails_mm, cut_mm=cut_mm)


def _lay_hose(network: Network, hose: Hose) -> LaidHose:
    if hose.from_point is None or hose.to_point is None:
        return LaidHose(hose=hose, route=None, cut_mm=hose.length_mm)
    route = network.through((hose.from_point, hose.to_point), kind="hose")
    if route is None:
        return LaidHose(hose=hose, route=None, cut_mm=None)
    return LaidHose(hose=hose, route=route, cut_mm=round_up(route.length_mm + hose.tail_from_mm + hose.tail_to_mm, step_mm=WHOLE_MM))
