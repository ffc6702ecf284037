"""How current comes back to the battery: ground points, straps, and metal that is no conductor."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.studies.low_voltage.cases import SolvedCase, pins_of
from halfshaft.studies.low_voltage.contacts import Web
from halfshaft.studies.low_voltage.records import GroundSum, Return, StrayCurrent
from halfshaft.studies.network.records import Solution
from halfshaft.studies.wires.circuit import BODY, Branch, Circuit, strap_branch


def ground_sums(conversion: Conversion, wires_at: dict[str, tuple[str, ...]], solved: Sequence[SolvedCase]) -> tuple[GroundSum, ...]:
    """Each ground point in the case in which most amperes pass through it, all on at once."""
    found = []
    for point in conversion.ground_points:
        pins = [pin for pin in wires_at if pin.startswith(f"{point.ref}.")]
        rings = [ref for pin in pins for ref in wires_at[pin]]
        most, one = _met(point.ref, rings, solved)
        answer = one.all if one is not None else None
        currents = answer.current_a if isinstance(answer, Solution) else {}
        limits = [conversion.terminal[conversion.cavity[pin].terminal].current_max_a for pin in pins]
        found.append(
            GroundSum(
                ref=point.ref,
                rings=len(rings),
                rings_max=point.rings_max,
                current_a=most,
                case=one.case.ref if one is not None else "",
                wires={ref: abs(currents.get(ref, 0.0)) for ref in rings},
                limit_a=min(limits, default=None),
            )
        )
    return tuple(found)


def _met(ref: str, rings: Iterable[str], solved: Iterable[SolvedCase]) -> tuple[float, SolvedCase | None]:
    """The most amperes that meet at a ground point in any case, and that case.

    What comes in by wires and body goes out by them, so it is half of what all of them carry.
    """
    best: tuple[float, SolvedCase | None] = (0.0, None)
    for one in solved:
        if isinstance(one.all, Solution):
            currents = one.all.current_a
            met_a = sum(abs(currents.get(name, 0.0)) for name in (ref, *rings)) / 2
            if met_a > best[0] + 1e-9:
                best = (met_a, one)
    return best


def _most(ref: str, solved: Iterable[SolvedCase]) -> tuple[float, SolvedCase | None]:
    """The most amperes through a resistor of the network in any case, and the first case that has as many."""
    best: tuple[float, SolvedCase | None] = (0.0, None)
    for one in solved:
        if isinstance(one.all, Solution):
            current_a = abs(one.all.current_a.get(ref, 0.0))
            if current_a > best[0] + 1e-9:
                best = (current_a, one)
    return best


def strays_of(conversion: Conversion, solved: Sequence[SolvedCase]) -> tuple[StrayCurrent, ...]:
    """What cables, rods and hinges carry that are there but are no conductors."""
    found = []
    for strap in conversion.straps:
        if not strap.is_conductor and strap.removed_with is None:
            most, one = _most(strap.ref, solved)
            found.append(StrayCurrent(strap=strap.ref, current_a=most, case=one.case.ref if one is not None else ""))
    return tuple(found)


def returns_of(conversion: Conversion, web: Web) -> tuple[Return, ...]:
    """The way back of every listed load along the least resistance, all contacts closed."""
    circuit = web.circuit()
    gone = [strap_branch(conversion, strap) for strap in conversion.straps if strap.removed_with is not None]
    once = Circuit((*web.branches, *gone), web.supply) if gone else circuit
    return tuple(_return(conversion, circuit, once, load.ref, {branch.ref for branch in gone}) for load in conversion.loads)


def _return(conversion: Conversion, circuit: Circuit, once: Circuit, load: str, gone: set[str]) -> Return:
    pin = pins_of(conversion, load)[1]
    way = circuit.way(circuit.from_ground, pin)
    before = once.way(once.from_ground, pin) if way is None else None
    return Return(
        load=load,
        way=None if way is None else _named(conversion, circuit, pin, way[::-1]),
        lost_with=tuple(branch.ref for branch in before or () if branch.ref in gone),
    )


# Links inside parts go without saying.
NAMED = frozenset({"wire", "strap", "contact", "fuse"})


def _named(conversion: Conversion, circuit: Circuit, pin: str, way: list[Branch]) -> tuple[str, ...]:
    """What is passed from a pin to the battery's minus: to a ground point, through the body, and on by the battery's own wire."""
    there = tuple(branch.ref for branch in way if branch.kind in NAMED)
    end = _end(pin, way)
    if end == circuit.supply.minus:
        return there
    back = circuit.minus_way()
    points = {point.ref for point in conversion.ground_points}
    met = [node.split(".")[0] for node in (end, _end(circuit.supply.minus, back))]
    one, other = (name if name in points else "" for name in met)
    body = (one,) if one == other else tuple(name for name in (one, BODY, other) if name)
    return (*there, *body, *(branch.ref for branch in reversed(back) if branch.kind in NAMED))


def _end(node: str, way: list[Branch]) -> str:
    """Where a way ends that begins at a node."""
    for branch in way:
        node = branch.other(node)
    return node
