"""What lies in each run, grommet and splice of a loom, and the smallest covering of the catalogue that would do."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Covering
from halfshaft.model.wires import Grommet, Run, Splice
from halfshaft.standards import constants
from halfshaft.studies.looms.circles import least_circle
from halfshaft.studies.looms.lengths import bundle_diameter_mm, circles_of
from halfshaft.studies.looms.network import Route
from halfshaft.studies.looms.routing import End, LaidWire, Routing

TUBES, HEAT_SHRINK = ("tube", "sleeve"), ("heat-shrink",)


@dataclass(frozen=True, kw_only=True, slots=True)
class CoveredRun:
    """All that lies in a run that looms use, whatever its loom; `tubes` are those of the catalogue that stand its heat, least bore first."""

    run: Run
    looms: tuple[str, ...]
    passing: tuple[str, ...]
    circles_mm: tuple[float, ...]
    looseness: float
    ambient_c: float | None
    named: Covering | None
    tubes: tuple[Covering, ...]

    @property
    def bundle_mm(self) -> float:
        """Everything in the run as one bundle, looked for when it is first asked for."""
        return bundle_diameter_mm(self.circles_mm, looseness=self.looseness)

    @property
    def fill_percent(self) -> float | None:
        """By area, where the named covering has a bore."""
        return fill_percent(self.bundle_mm, self.named.bore_mm) if self.named and self.named.bore_mm else None

    @property
    def smallest(self) -> Covering | None:
        """The tube or sleeve of least bore that would do."""
        fits = (tube for tube in self.tubes if tube.bore_mm and fill_percent(self.bundle_mm, tube.bore_mm) <= fill_limit_percent(tube))
        return next(fits, None)


@dataclass(frozen=True, kw_only=True, slots=True)
class CoveredSplice:
    """A splice with its heat-shrink. `joint_mm`: the wires of its thicker side, as close together as they go."""

    splice: Splice
    joint_mm: float
    ambient_c: float | None
    named: Covering | None
    smallest: Covering | None


@dataclass(frozen=True, kw_only=True, slots=True)
class FilledGrommet:
    """A grommet with all that passes it. `thickest_mm`: the thickest thing of all; `least_bore_mm` stays within the fill."""

    grommet: Grommet
    passing: tuple[str, ...]
    side_by_side: int
    thickest_mm: float
    bundle_mm: float
    fill_percent: float
    least_bore_mm: float

    @property
    def is_shared(self) -> bool:
        """Whether more passes than it has holes: only then its fill is judged, for a gland is meant to be full."""
        return self.side_by_side > self.grommet.holes


@dataclass(frozen=True, kw_only=True, slots=True)
class Coverings:
    """Runs, splices and grommets in use, in the order of the conversion's tables."""

    runs: tuple[CoveredRun, ...]
    splices: tuple[CoveredSplice, ...]
    grommets: tuple[FilledGrommet, ...]


@dataclass(slots=True)
class _Passing:
    """What passes one place, while it is gathered: wires with their pair, and everything else by its own diameter."""

    wires: dict[str, tuple[float, str | None]] = field(default_factory=dict)
    others: dict[str, float] = field(default_factory=dict)
    looms: set[str] = field(default_factory=set)

    def circles_mm(self, conversion: Conversion) -> tuple[float, ...]:
        """What lies side by side; a pair counts once."""
        return (*circles_of(self.wires.values(), conversion.twist_group), *self.others.values())


def study_coverings(conversion: Conversion, routing: Routing) -> Coverings:
    """Everything that is covered, or passes a hole."""
    in_run, at_point = _gathered(conversion, routing)
    return Coverings(
        runs=tuple(_run(conversion, run, in_run[run.ref]) for run in conversion.runs if run.ref in in_run and in_run[run.ref].looms),
        splices=tuple(_splices(conversion, routing)),
        grommets=tuple(
            _grommet(conversion, grommet, found)
            for grommet in conversion.grommets
            if (found := at_point.get(grommet.point) if grommet.point else in_run.get(grommet.run or "")) is not None
        ),
    )


def fill_percent(bundle_mm: float, bore_mm: float) -> float:
    """By area."""
    return 100 * (bundle_mm / bore_mm) ** 2


def fill_limit_percent(covering: Covering) -> float:
    """Of its own line in the catalogue; of corrugated tube where that gives none."""
    return constants()["tube_fill_percent"].value if covering.fill_max_percent is None else covering.fill_max_percent


def is_cool_enough(covering: Covering, ambient_c: float | None) -> bool:
    """Whether it may be used where it is so hot; what is not known is not judged."""
    return ambient_c is None or covering.temperature_max_c is None or covering.temperature_max_c >= ambient_c


def _gathered(conversion: Conversion, routing: Routing) -> tuple[Mapping[str, _Passing], Mapping[str, _Passing]]:
    """What lies in each run and passes each point, gathered in one go over all routes."""
    in_run: dict[str, _Passing] = defaultdict(_Passing)
    at_point: dict[str, _Passing] = defaultdict(_Passing)
    for ref, laid in routing.wires.items():
        for place in _places(laid.route, in_run, at_point):
            place.wires[ref] = (laid.outside_diameter_mm, laid.wire.twist_group)
            place.looms.add(laid.wire.loom)
    for cable in routing.cables:
        for place in _places(cable.route, in_run, at_point):
            place.others[cable.cable.ref] = conversion.cable_type[cable.cable.cable_type].outside_diameter_mm
    for hose in routing.hoses:
        for place in _places(hose.route, in_run, at_point):
            place.others[hose.hose.ref] = hose.hose.outside_mm
    return in_run, at_point


def _places(route: Route | None, in_run: Mapping[str, _Passing], at_point: Mapping[str, _Passing]) -> list[_Passing]:
    return [] if route is None else [*(in_run[step.run] for step in route.steps), *(at_point[node] for node in route.nodes)]


def _run(conversion: Conversion, run: Run, found: _Passing) -> CoveredRun:
    ambient_c = ambient_of(conversion, run)
    return CoveredRun(
        run=run,
        looms=tuple(loom.ref for loom in conversion.looms if loom.ref in found.looms),
        passing=(*found.wires, *found.others),
        circles_mm=found.circles_mm(conversion),
        looseness=conversion.shop.looseness,
        ambient_c=ambient_c,
        named=conversion.covering.get(run.covering or ""),
        tubes=_by_bore(conversion, TUBES, ambient_c),
    )


def ambient_of(conversion: Conversion, run: Run) -> float | None:
    """How hot it is where a run lies: its own zone, or the hotter one of its two points; None where no zone is given."""
    ends = (conversion.point[run.from_point].zone, conversion.point[run.to_point].zone)
    return max((conversion.zone[name].ambient_max_c for name in ([run.zone] if run.zone else ends) if name), default=None)


def _by_bore(conversion: Conversion, kinds: Sequence[str], ambient_c: float | None) -> tuple[Covering, ...]:
    """Coverings of some kinds that stand the heat, least bore first; of two with one bore the one named first in the catalogue."""
    fits = [item for item in conversion.coverings if item.kind in kinds and item.bore_mm is not None and is_cool_enough(item, ambient_c)]
    return tuple(sorted(fits, key=lambda item: item.bore_mm or 0.0))


def _splices(conversion: Conversion, routing: Routing) -> Iterable[CoveredSplice]:
    sides: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for laid in routing.wires.values():
        for end, way in _ways_from_splices(laid):
            sides[end.pin][way].append(laid.outside_diameter_mm)
    for splice in conversion.splices:
        if splice.ref not in sides:
            continue
        place = routing.splices.get(splice.ref)
        joint_mm = max(least_circle(wires).diameter_mm for wires in sides[splice.ref].values())
        ambient_c = ambient_of(conversion, conversion.run[place.run]) if place else None
        yield CoveredSplice(
            splice=splice,
            joint_mm=joint_mm,
            ambient_c=ambient_c,
            named=conversion.covering.get(splice.sleeve or ""),
            smallest=next((item for item in _by_bore(conversion, HEAT_SHRINK, ambient_c) if goes_over(item, joint_mm)), None),
        )


def goes_over(covering: Covering, joint_mm: float) -> bool:
    """Whether its bore as supplied is larger than the joint."""
    return covering.bore_mm is not None and covering.bore_mm > joint_mm


def _ways_from_splices(laid: LaidWire) -> list[tuple[End, str]]:
    """Splices at a wire's ends, each with the neighbour towards which the wire leaves it."""
    if laid.route is None or not laid.route.steps:
        return []
    ends = ((laid.start, laid.route.steps[0].end), (laid.end, laid.route.steps[-1].start))
    return [(end, way) for end, way in ends if end.is_splice]


def _grommet(conversion: Conversion, grommet: Grommet, found: _Passing) -> FilledGrommet:
    circles_mm = found.circles_mm(conversion)
    bundle_mm = bundle_diameter_mm(circles_mm, looseness=conversion.shop.looseness)
    return FilledGrommet(
        grommet=grommet,
        passing=(*found.wires, *found.others),
        side_by_side=len(circles_mm),
        thickest_mm=max(circles_mm),
        bundle_mm=bundle_mm,
        fill_percent=fill_percent(bundle_mm, grommet.bore_mm) / grommet.holes,
        least_bore_mm=bundle_mm / math.sqrt(conversion.shop.grommet_fill_max_percent / 100 * grommet.holes),
    )
