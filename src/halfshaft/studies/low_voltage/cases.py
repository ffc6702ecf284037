"""One case solved: with each load for its share of the time, all at once, and as the one that adds most starts."""

from __future__ import annotations

from functools import cached_property

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Case
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.low_voltage.contacts import Switching, Web, switching, way_of
from halfshaft.studies.low_voltage.demands import Demands, Moment
from halfshaft.studies.low_voltage.drains import leaks_of
from halfshaft.studies.low_voltage.network import battery_of, case_network, contacts_ohm, converter_limit_a, with_loads
from halfshaft.studies.low_voltage.records import Carried, CaseResult, CutLoad, LoadVolts, Shares, Trouble
from halfshaft.studies.network.records import DcNetwork, Failure, Resistor, Solution
from halfshaft.studies.network.solver import solve
from halfshaft.studies.wires.circuit import node_of
from halfshaft.studies.wires.study import WiresResult


class SolvedCase:
    """One case with its network; each moment is solved when it is first asked for."""

    def __init__(
        self, conversion: Conversion, routing: Routing, wires: WiresResult, web: Web, case: Case, *, also: str | None = None
    ) -> None:
        self._facts = (conversion, routing, wires, web, case)
        self.conversion = conversion
        self.web = web
        self.case = case
        self.switched = switching(conversion, web, case, also)
        self.demands = Demands(conversion, case, self.switched.on)
        self.network = case_network(conversion, routing, wires, case, self.switched)
        nodes = {node for item in self.network.resistors for node in (item.start, item.end)}
        self.ways = {
            ref: way for ref in self.switched.on if (way := self._way(ref)) is not None and nodes.issuperset(pins_of(conversion, ref))
        }

    def _way(self, ref: str) -> frozenset[str] | None:
        supply, ground = way_of(self.conversion, self.switched.circuit, ref)
        return None if supply is None or ground is None else frozenset(branch.ref for branch in (*supply, *ground))

    @property
    def fed(self) -> tuple[str, ...]:
        """The loads that are on and have a feed and a ground."""
        return tuple(self.ways)

    @property
    def starting(self) -> str | None:
        """The load that starts on top of all others: of those that are fed the one whose start adds most."""
        return self.demands.largest_start(self.fed)

    @cached_property
    def mean(self) -> Solution | Failure:
        """Each load for its share of the time."""
        return self.solved("mean")

    @cached_property
    def all(self) -> Solution | Failure:
        """All that the case has on at once."""
        return self.solved("all")

    @cached_property
    def start(self) -> Solution | Failure | None:
        """All at once, one of them just starting; None where no start takes more."""
        return None if self.starting is None else self.solved("all", starting=self.starting)

    def solved(self, moment: Moment, starting: str | None = None) -> Solution | Failure:
        """The network at one moment, with a load that starts just then."""
        loads = [self.demands.load(ref, "start" if ref == starting else moment) for ref in self.fed if self.demands.peak_a(ref) > 0]
        return solve(with_loads(self.network, loads))

    def with_also(self, ref: str) -> SolvedCase:
        """The case with one more load on."""
        conversion, routing, wires, web, case = self._facts
        return SolvedCase(conversion, routing, wires, web, case, also=ref)

    def volts(self, answer: Solution | Failure | None, ref: str) -> float | None:
        """Plus to minus at the pins of a load or coil."""
        return answer.between(*pins_of(self.conversion, ref)) if isinstance(answer, Solution) and ref in self.ways else None

    @property
    def battery_v(self) -> float:
        """Volts at the battery's posts with all on; none where there is no answer."""
        shares = _shares(self.conversion, _answer(self.all))
        return 0.0 if shares is None else shares.battery_v


def pins_of(conversion: Conversion, ref: str) -> tuple[str, str]:
    """Plus and minus of a load or coil."""
    device, element = ref.partition(".")[0], conversion.element[ref]
    return node_of(device, element.pin_a), node_of(device, element.pin_b)


def _cut(conversion: Conversion, web: Web, switched: Switching, ref: str) -> CutLoad:
    """A load that nothing feeds, with the open contacts of the way that it would have."""
    supply, ground = way_of(conversion, web.circuit(), ref)
    if supply is None or ground is None:
        return CutLoad(load=ref, contacts=())
    contacts = [branch.ref for branch in (*supply, *ground) if branch.kind == "contact" and branch.ref not in switched.closed]
    return CutLoad(load=ref, contacts=tuple(contacts))


def result_of(solved: SolvedCase) -> CaseResult:
    """All that is told of one case."""
    conversion, case, demands = solved.conversion, solved.case, solved.demands
    feeds = conversion.supply.converter is not None and case.converter in ("", "on")
    mean, everything = _answer(solved.mean), _answer(solved.all)
    shares = {name: _shares(conversion, answer) for name, answer in (("mean", mean), ("all", everything), ("start", _answer(solved.start)))}
    half_h, usable_h = _hours(conversion, shares["mean"])
    return CaseResult(
        case=case.ref,
        asked_mean_a=demands.asked_mean_a,
        asked_all_a=demands.asked_all_a,
        limit_a=converter_limit_a(conversion, case) if feeds else None,
        mean=shares["mean"],
        all=shares["all"],
        start=shares["start"],
        starting=solved.starting if solved.start is not None else None,
        converter_w=_converter_w(conversion, mean) if feeds else None,
        half_h=half_h,
        usable_h=usable_h,
        stands=_stands(conversion, demands) and not feeds,
        closed=tuple(sorted(solved.switched.closed)),
        driven=solved.switched.driven,
        loads=tuple(_load_volts(solved, ref) for ref in solved.switched.on),
        carried=_carried(conversion, solved.network, mean, everything),
        cut=tuple(_cut(conversion, solved.web, solved.switched, ref) for ref in solved.switched.on if ref not in solved.ways),
        leaks=leaks_of(conversion, demands, solved.switched.circuit, solved.network, solved.mean),
        troubles=_troubles(solved),
    )


def _answer(found: Solution | Failure | None) -> Solution | None:
    return found if isinstance(found, Solution) else None


def _troubles(solved: SolvedCase) -> tuple[Trouble, ...]:
    """Moments without an answer, once for each thing at fault: what fails on the average fails with all on, too."""
    words = {"mean": "on the average", "all": "all on at once", "start": f"{solved.starting} starting"}
    found: dict[tuple[str, ...], Trouble] = {}
    for name, answer in (("mean", solved.mean), ("all", solved.all), ("start", solved.start)):
        if isinstance(answer, Failure) and answer.about not in found:
            found[answer.about] = Trouble(moment=words[name], kind=answer.kind, about=answer.about, text=answer.text)
    return tuple(found.values())


def _shares(conversion: Conversion, answer: Solution | None) -> Shares | None:
    battery = battery_of(conversion)
    if answer is None or battery is None or battery not in answer.current_a:
        return None
    device, element = battery.partition(".")[0], conversion.element[battery]
    return Shares(
        converter_a=answer.current_a.get(conversion.supply.converter or "", 0.0),
        battery_a=answer.current_a[battery],
        battery_v=answer.between(node_of(device, element.pin_a), node_of(device, element.pin_b)),
    )


# Less than this is the rounding of a solution, not a current.
LEAST_A = 1e-6


def _hours(conversion: Conversion, shares: Shares | None) -> tuple[float | None, float | None]:
    """How long the battery lasts by its mean share: to half of its capacity, and to the end of what is usable of it."""
    battery = battery_of(conversion)
    capacity_ah = conversion.element[battery].capacity_ah if battery is not None else None
    if shares is None or capacity_ah is None or conversion.supply.converter is None or shares.battery_a < LEAST_A:
        return None, None
    return 0.5 * capacity_ah / shares.battery_a, conversion.supply.battery_usable_share * capacity_ah / shares.battery_a


def _converter_w(conversion: Conversion, answer: Solution | None) -> float | None:
    """Watts that the converter takes from the pack: volts times amperes at its output, by its efficiency."""
    ref = conversion.supply.converter
    if answer is None or ref is None or ref not in answer.current_a:
        return None
    device, source = ref.partition(".")[0], conversion.element[ref]
    inside = conversion.part[conversion.device[device].part].inside
    efficiency = next((item.efficiency for item in inside if item.kind == "converter" and item.pin_b == source.pin_a), None)
    out_w = answer.current_a[ref] * answer.between(node_of(device, source.pin_a), node_of(device, source.pin_b))
    return None if efficiency is None else out_w / efficiency


def _stands(conversion: Conversion, demands: Demands) -> bool:
    """Whether everything in the case that can sleep does, and something does: the car is parked."""
    can_sleep = [ref for ref in demands.on if conversion.load[ref].sleep_ma > 0]
    return bool(can_sleep) and all(demands.sleeps(ref) for ref in can_sleep)


def _load_volts(solved: SolvedCase, ref: str) -> LoadVolts:
    def amperes(answer: Solution | Failure) -> float | None:
        return answer.current_a.get(ref, 0.0) if ref in solved.ways and isinstance(answer, Solution) else None

    return LoadVolts(
        load=ref,
        duty=solved.switched.on[ref],
        steady_a=solved.demands.steady_a(ref),
        mean_a=amperes(solved.mean),
        all_a=amperes(solved.all),
        mean_v=solved.volts(solved.mean, ref),
        all_v=solved.volts(solved.all, ref),
        start_v=solved.volts(solved.start, ref),
    )


def _carried(conversion: Conversion, network: DcNetwork, mean: Solution | None, everything: Solution | None) -> tuple[Carried, ...]:
    """Everything that carries a current in the case."""
    if mean is None or everything is None:
        return ()
    switches = [
        Resistor(ref=item.ref, start=item.anode, end=item.cathode, ohm=item.ohm)
        for item in network.diodes
        if conversion.element[item.ref].kind == "contact"
    ]
    found = []
    for item in (*network.resistors, *switches):
        mean_a, all_a = mean.current_a[item.ref], everything.current_a[item.ref]
        if max(abs(mean_a), abs(all_a)) > LEAST_A:
            found.append(_carried_by(conversion, item, mean_a, all_a))
    return tuple(found)


def _carried_by(conversion: Conversion, item: Resistor, mean_a: float, all_a: float) -> Carried:
    ends_ohm = contacts_ohm(conversion, (item.start, item.end)) if item.ref in conversion.wire else 0.0
    return Carried(
        ref=item.ref,
        kind=_kind(conversion, item.ref),
        ohm=item.ohm,
        mean_a=mean_a,
        all_a=all_a,
        drop_v=all_a * item.ohm,
        loss_w=all_a**2 * item.ohm,
        contacts_w=all_a**2 * ends_ohm,
    )


def _kind(conversion: Conversion, ref: str) -> str:
    if ref in conversion.element:
        return conversion.element[ref].kind
    if ref in conversion.wire:
        return "wire"
    return "strap" if ref in {strap.ref for strap in conversion.straps} else "ground"
