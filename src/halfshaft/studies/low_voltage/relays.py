"""Relays and switches: what their contacts carry, whether their coils pull in, and what takes up a coil's peak."""

from __future__ import annotations

from collections.abc import Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.studies.low_voltage.cases import SolvedCase
from halfshaft.studies.low_voltage.contacts import Web, way_of
from halfshaft.studies.low_voltage.records import ContactUse, PullIn
from halfshaft.studies.network.records import Solution
from halfshaft.studies.wires.circuit import Branch, distances, node_of


def contact_uses(conversion: Conversion, web: Web, solved: Sequence[SolvedCase]) -> tuple[ContactUse, ...]:
    """Every contact that carries a current in some case, in the order of the catalogue."""
    found = []
    for ref, element in conversion.element.items():
        if element.kind != "contact":
            continue
        most: tuple[float, str] = (0.0, "")
        start: tuple[float, str | None] = (0.0, None)
        for one in solved:
            if not isinstance(one.all, Solution) or ref not in one.all.current_a:
                continue
            current_a = abs(one.all.current_a[ref])
            most = max(most, (current_a, one.case.ref), key=lambda item: round(item[0], 6))
            behind = _adds_most(one, ref)
            if behind is not None:
                start = max(start, (current_a + one.demands.start_adds_a(behind), behind), key=lambda item: round(item[0], 6))
        if most[1]:
            coil = web.coil_of.get(ref)
            found.append(
                ContactUse(
                    ref=ref,
                    moved_by=coil or element.moved_by,
                    is_relay=coil is not None,
                    rating_a=element.rating_a,
                    makes_a=element.breaking_a,
                    current_a=most[0],
                    case=most[1],
                    start_a=max(start[0], most[0]),
                    starting=start[1],
                )
            )
    return tuple(found)


def _adds_most(one: SolvedCase, contact: str) -> str | None:
    """Of the loads that hang on a contact in a case, the one whose start adds most."""
    behind = [ref for ref in one.fed if one.demands.start_adds_a(ref) > 0 and contact in one.ways[ref]]
    return max(behind, key=lambda ref: (one.demands.start_adds_a(ref), ref), default=None)


def pull_ins(conversion: Conversion, web: Web, solved: Sequence[SolvedCase]) -> tuple[PullIn, ...]:
    """Every coil that the battery can feed, or could if it did not feed itself."""
    full = web.circuit()
    found = []
    for ref, element in conversion.element.items():
        if element.kind != "coil":
            continue
        own = _own_contact(conversion, web, ref)
        if _pin(conversion, ref) not in full.from_plus and own is None:
            continue
        volt, case = _least_volts(ref, solved) if own is None and ref in conversion.load else (None, None)
        ohm = element.resistance_ohm
        found.append(
            PullIn(
                coil=ref,
                current_a=volt / ohm if volt is not None and ohm else None,
                volt=volt,
                case=case,
                operate_min_v=element.operate_min_v,
                suppressed_by=suppressed_by(conversion, ref),
                contacts=tuple(contact for contact, coil in web.coil_of.items() if coil == ref),
                own_contact=own,
            )
        )
    return tuple(found)


def _pin(conversion: Conversion, ref: str) -> str:
    return node_of(ref.partition(".")[0], conversion.element[ref].pin_a)


def _least_volts(ref: str, solved: Sequence[SolvedCase]) -> tuple[float | None, str | None]:
    """The volts at a coil as it pulls in, all else of the case on, in the case in which they are least.

    A coil that no case has on is switched on in the case in which the battery has least volts and the coil has a way. A coil
    with an economiser takes its full current as it pulls in, which is solved for in the case in which it has least while held.
    """
    on = [(volt, one) for one in solved if ref in one.fed and (volt := one.volts(one.all, ref)) is not None]
    if on:
        volt, one = min(on, key=lambda item: (round(item[0], 6), item[1].case.ref))
        return (one.volts(one.solved("all", starting=ref), ref) if one.demands.is_economised(ref) else volt), one.case.ref
    by_volts = sorted(solved, key=lambda one: (round(one.battery_v, 6), one.case.ref))
    for one in by_volts:
        switched_on = one.with_also(ref)
        if ref in switched_on.fed:
            return switched_on.volts(switched_on.solved("all", starting=ref), ref), one.case.ref
    return None, None


def _own_contact(conversion: Conversion, web: Web, coil: str) -> str | None:
    """A make contact of the coil's own without which nothing feeds it, so that it can never pull in."""
    own = [ref for ref, moved_by in web.coil_of.items() if moved_by == coil and conversion.element[ref].rest_state != "closed"]
    there, back = way_of(conversion, web.circuit(), coil)
    on_way = [ref for ref in own if ref in {branch.ref for branch in (*(there or ()), *(back or ()))}]
    if there is None or back is None or not on_way or _feeds_without(conversion, web, coil, frozenset(own)):
        return None
    return on_way[0]


def _feeds_without(conversion: Conversion, web: Web, coil: str, own: frozenset[str]) -> bool:
    """Whether a coil has a feed and a ground while its own contacts are open, each other contact passed as current passes it usually.

    Backwards through one, as from a second feed of the stop lamps through the brake switch, is no feed: it is there by chance.
    """
    full, without = web.circuit(), web.circuit(own)
    there, back = way_of(conversion, without, coil)
    if there is None or back is None:
        return False
    trees = ((there, full.from_plus, without.from_plus), (back, full.from_ground, without.from_ground))
    return not any(_is_turned(way, distances(usual), distances(now)) for way, usual, now in trees)


def _is_turned(way: list[Branch], usual: dict[str, float], now: dict[str, float]) -> bool:
    contacts = [branch for branch in way if branch.kind == "contact"]
    return any((usual[branch.start] < usual[branch.end]) != (now[branch.start] < now[branch.end]) for branch in contacts)


def suppressed_by(conversion: Conversion, coil: str) -> str:
    """What takes up the volts that a coil makes as it lets go: a resistor or diode across it, or what the catalogue says."""
    device, element = coil.partition(".")[0], conversion.element[coil]
    ends = {element.pin_a, element.pin_b}
    for item in conversion.part[conversion.device[device].part].inside:
        if item.kind in ("resistor", "diode") and {item.pin_a, item.pin_b} == ends:
            return f"{item.resistance_ohm:g} ohm" if item.kind == "resistor" and item.resistance_ohm else item.kind
    return element.suppressed_by
