"""What the units draw in each load case: amperes and volts of the pack, at each unit, and in everything on the way.

The pack is one source behind its resistance, each unit a load of set power; what conducts between them is solved as any
other direct-current network (studies/network).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.high_voltage.chain import Chain, Way
from halfshaft.studies.network.records import DcNetwork, Failure, Load, Resistor, Solution, Source
from halfshaft.studies.network.solver import solve
from halfshaft.studies.pack.links import Link
from halfshaft.studies.pack.study import Pack

STATES = ("full", "nominal", "empty")
# The source. No device, cable or bar is called that: their marks have no spaces.
PACK = "the pack"
# Less than this is the rounding of a solution, not a current.
LEAST_A = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True)
class UnitDraw:
    """One unit at work; amperes and kilowatts below zero go into the pack."""

    ref: str
    power_kw: float
    current_a: float
    volts: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LinkDraw:
    """A cable, bar, fuse or contact at work: amperes of the core that carries most, without sign, and the loss of all its cores."""

    ref: str
    current_a: float
    loss_w: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Draw:
    """The chain at work at one charge: amperes of the pack, volts at its ends, loss in pack and chain together."""

    current_a: float
    pack_v: float
    loss_w: float
    units: tuple[UnitDraw, ...]
    links: tuple[LinkDraw, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class LinkMost:
    """A cable, bar, fuse or contact in the case, and at the pack's state, in which it carries most."""

    case: str
    state: str
    current_a: float
    loss_w: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseDraw:
    """One load case: by the pack's state, for good and at its peak; a failure names the unit that the pack cannot feed."""

    case: str
    power_kw: float
    peak_kw: float
    steady: dict[str, Draw | Failure]
    peak: dict[str, Draw | Failure]


def study_cases(conversion: Conversion, pack: Pack, chain: Chain, converter_w: Mapping[str, float]) -> tuple[CaseDraw, ...]:
    """Every case with closed contactors in which case_units.csv names a unit or the DC-DC converter runs, in the order of cases.csv.

    `converter_w` by case is what the converter takes from the pack, from the study of the 12 V side.
    """
    return tuple(_cases(conversion, pack, chain, converter_w))


def _cases(conversion: Conversion, pack: Pack, chain: Chain, converter_w: Mapping[str, float]) -> Iterator[CaseDraw]:
    known = {way.unit.ref for way in chain.ways}
    converter = (conversion.supply.converter or "").partition(".")[0]
    for case in conversion.cases:
        rows = [row for row in conversion.case_units if row.case == case.ref and row.unit in known]
        watts = converter_w.get(case.ref, 0.0)
        own_w = {converter: watts} if watts and converter in known else {}
        if case.contactors == "open" or not (rows or own_w):
            continue
        steady_w = {**own_w, **{row.unit: 1000 * row.power_kw for row in rows}}
        peak_w = {**own_w, **{row.unit: 1000 * (row.power_kw if row.peak_kw is None else row.peak_kw) for row in rows}}
        steady = _draws(pack, chain, steady_w)
        yield CaseDraw(
            case=case.ref,
            power_kw=math.fsum(steady_w.values()) / 1000,
            peak_kw=math.fsum(peak_w.values()) / 1000,
            steady=steady,
            peak=steady if peak_w == steady_w else _draws(pack, chain, peak_w),
        )


def most_by_link(draws: Iterable[tuple[str, dict[str, Draw | Failure]]]) -> dict[str, LinkMost]:
    """Everything that carries a current in some case; of cases in which it carries the same, the first."""
    found: dict[str, LinkMost] = {}
    for case, by_state in draws:
        for state, draw in by_state.items():
            for link in draw.links if isinstance(draw, Draw) else ():
                if link.ref not in found or link.current_a > found[link.ref].current_a + LEAST_A:
                    found[link.ref] = LinkMost(case=case, state=state, current_a=link.current_a, loss_w=link.loss_w)
    return found


def _draws(pack: Pack, chain: Chain, power_w: Mapping[str, float]) -> dict[str, Draw | Failure]:
    emf_v = {"full": pack.full_v, "nominal": pack.nominal_v, "empty": pack.empty_v}
    return {state: draw(chain, emf_v[state], pack.total_mohm / 1000, power_w) for state in STATES}


def draw(chain: Chain, emf_v: float, pack_ohm: float, power_w: Mapping[str, float]) -> Draw | Failure:
    """The chain with a set power at each unit, or why there is no such state."""
    ways = [way for way in chain.ways if way.unit.ref in power_w]
    found = solve(chain_network(chain, ways, emf_v=emf_v, pack_ohm=pack_ohm, power_w=power_w))
    if isinstance(found, Failure):
        return found
    total_a = found.current_a[PACK]
    links = _link_draws(chain, found)
    return Draw(
        current_a=total_a,
        pack_v=emf_v - total_a * pack_ohm,
        loss_w=total_a**2 * pack_ohm + math.fsum(link.loss_w for link in links),
        units=tuple(
            UnitDraw(
                ref=way.unit.ref,
                power_kw=power_w[way.unit.ref] / 1000,
                current_a=found.current_a[way.unit.ref],
                volts=found.between(way.plus_poles[0], way.minus_poles[0]),
            )
            for way in ways
        ),
        links=links,
    )


def chain_network(chain: Chain, ways: list[Way], *, emf_v: float, pack_ohm: float, power_w: Mapping[str, float]) -> DcNetwork:
    """Pack, all that conducts, and units at work; the pins at either end of the pack are one, and so are the poles of a unit."""
    plus_pins, minus_pins = (tuple(dict.fromkeys(pins)) for pins in ((way.plus_at for way in ways), (way.minus_at for way in ways)))
    poles = [pins for way in ways for pins in (way.plus_poles, way.minus_poles)]
    joined = [(pins[0], other) for pins in (plus_pins, minus_pins, *poles) for other in pins[1:]]
    return DcNetwork(
        ground=minus_pins[0],
        resistors=(
            *(Resistor(ref=mark, start=link.one, end=link.other, ohm=link.resistance_ohm) for mark, link in _marked(chain.links)),
            *(Resistor(ref=f"{one} = {other}", start=one, end=other, ohm=0.0) for one, other in joined),
        ),
        sources=(Source(ref=PACK, plus=plus_pins[0], minus=minus_pins[0], volt=emf_v, ohm=pack_ohm),),
        loads=tuple(
            Load(ref=way.unit.ref, plus=way.plus_poles[0], minus=way.minus_poles[0], kind="constant power", value=power_w[way.unit.ref])
            for way in ways
        ),
    )


def _marked(links: tuple[Link, ...]) -> Iterator[tuple[str, Link]]:
    """Each link with a mark of its own: cores of one cable have one mark between them."""
    times = Counter(link.ref for link in links)
    for link in links:
        yield (link.ref if times[link.ref] == 1 else f"{link.ref} from {link.one}"), link


def _link_draws(chain: Chain, found: Solution) -> tuple[LinkDraw, ...]:
    """All that carry a current, in the order of the chain's links."""
    most_a: dict[str, float] = {}
    loss_w: dict[str, float] = {}
    for mark, link in _marked(chain.links):
        current_a = abs(found.current_a[mark])
        if current_a > LEAST_A:
            most_a[link.ref] = max(most_a.get(link.ref, 0.0), current_a)
            loss_w[link.ref] = loss_w.get(link.ref, 0.0) + current_a**2 * link.resistance_ohm
    return tuple(LinkDraw(ref=ref, current_a=most_a[ref], loss_w=loss_w[ref]) for ref in most_a)
