"""The state in which a direct-current network rests, or why there is none.

Sparse nodal analysis (system.py). Loads of set current or power are met by Newton's method from the side of the high volts: with
one source and no negative load it comes down to the higher of two answers step by step and never past it (the sum of currents
is a concave function of the volts). Where that ends in loads below the volts from which they work, though they would have
enough if they took nothing, the loads are turned up from nothing little by little; if that fails, too, the volts collapse.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from halfshaft.studies.groups import joined_groups
from halfshaft.studies.network.records import DcNetwork, Failure, Solution

if TYPE_CHECKING:
    from halfshaft.studies.network.system import State, System

TURNS = 60
# After so many turns Newton's steps are halved, in case they swing to and fro between two sides of a bend.
FULL_STEPS = 25
# Where an answer counts as found: amperes by which the loads' lines miss their curves, and volts of the last step, both relative.
CLOSE_A = 1e-10
CLOSE_V = 1e-8
# Kirchhoff's current law must hold at every node to so much of the largest current, and to what the last digits of the volts drive
# through the least resistance: a microohm at 400 V cannot be told nearer than 1e-7 A.
MOST_RESIDUAL = 1e-7
LAST_DIGITS = 1e-15
# How finely the loads are turned up before their volts are said to collapse.
LEAST_STEP = 1 / 512
# Loads that share a way to one source are past what it can give below half of the volts that they have without load.
WIDE_FOOT = 0.3


@dataclass(frozen=True, slots=True)
class _Rest:
    state: State
    scale: Any
    turns: int


def solve(network: DcNetwork) -> Solution | Failure:
    """The state in which the network rests, with the higher volts where there are two, or why there is none.

    There is no ground where nothing has the node called ground, or where there are sources and none is joined to it. A network
    without sources has an answer: no volts. Loads join nothing unless they are resistive, so a load of set current whose
    other end is loose is `starved` and takes nothing.
    """
    own = _joined_to_ground(network)
    if own is None:
        return Failure(kind="no ground", about=(network.ground,), text=f"Nothing is joined to {network.ground}, which is to be 0 V.")
    if network.sources and not own.sources:
        names = tuple(item.ref for item in network.sources)
        return Failure(
            kind="no ground", about=(network.ground, *names), text=f"No source is joined to {network.ground}: {', '.join(names)}."
        )
    if loop := _ideal_loop(own):
        text = f"{' and '.join(loop)} {'holds' if len(loop) == 1 else 'hold'} volts without resistance against {'a short' if len(loop) == 1 else 'each other'}: no current is right."
        return Failure(kind="loop of ideal sources", about=loop, text=text)
    from halfshaft.studies.network.system import System

    system = System(own)
    rest = _rest(system)
    return rest if isinstance(rest, Failure) else _told(network, system, rest)


def _joined_to_ground(network: DcNetwork) -> DcNetwork | None:
    """The part of a network that is joined to its ground; None where nothing has that node."""
    groups = joined_groups(
        [
            *((item.start, item.end) for item in network.resistors),
            *((item.plus, item.minus) for item in network.sources),
            *((item.plus, item.minus) for item in network.loads if item.kind == "resistive"),
            *((item.anode, item.cathode) for item in network.diodes),
        ]
    )
    if network.ground not in groups:
        return None
    own = groups[network.ground]
    return replace(
        network,
        resistors=tuple(item for item in network.resistors if groups[item.start] == own),
        sources=tuple(item for item in network.sources if groups[item.plus] == own),
        loads=tuple(item for item in network.loads if groups.get(item.plus) == own == groups.get(item.minus)),
        diodes=tuple(item for item in network.diodes if groups[item.anode] == own),
    )


def _ideal_loop(network: DcNetwork) -> tuple[str, ...]:
    """Sources without resistance in a loop of nothing but such sources, or one that is shorted."""
    from halfshaft.studies.network.system import LEAST_OHM

    ideal = [item for item in network.sources if item.ohm <= LEAST_OHM]
    node = joined_groups([(item.start, item.end) for item in network.resistors if item.ohm <= LEAST_OHM]) if ideal else {}
    at: dict[str, list[tuple[str, str]]] = {}
    for item in ideal:
        one, other = node.get(item.plus, item.plus), node.get(item.minus, item.minus)
        way = _way(at, one, other)
        if way is not None:
            return (*way, item.ref)
        at.setdefault(one, []).append((item.ref, other))
        at.setdefault(other, []).append((item.ref, one))
    return ()


def _way(at: dict[str, list[tuple[str, str]]], one: str, other: str) -> tuple[str, ...] | None:
    """The sources from one node to another, or None where they join them not."""
    ways: dict[str, tuple[str, ...]] = {one: ()}
    waiting = [one]
    while waiting:
        node = waiting.pop()
        for ref, further in at.get(node, ()):
            if further not in ways:
                ways[further] = (*ways[node], ref)
                waiting.append(further)
    return ways.get(other)


def _rest(system: System) -> _Rest | Failure:
    """All loads at once; or turned up little by little, where that gives no answer or one in which some collapse."""
    import numpy as np

    whole = np.ones(len(system.loads))
    empty = _newton(system, 0 * whole, None)
    if empty is None:
        return _not_converged(0.0)
    rest = _newton(system, whole, empty)
    if rest is not None and not _collapsed(system, rest):
        return rest
    # Where other loads raise the volts, say those that turn a source to its limit, the high side is where all but powers are at work.
    fed = _newton(system, np.where(system.is_power, 0.0, whole), empty)
    rest = None if fed is None else _newton(system, whole, fed)
    if rest is not None and not _collapsed(system, rest):
        return rest
    good, share, step = empty, 0.0, 0.5
    while step >= LEAST_STEP:
        rest = _newton(system, (share + step) * whole, good)
        if rest is not None and not _collapsed(system, rest):
            good, share = rest, share + step
            if share >= 1:
                return good
        else:
            step /= 2
        step = min(step, 1 - share)
    return _no_operating_point(system, empty, good, share)


def _newton(system: System, scale: Any, start: _Rest | None) -> _Rest | None:
    """From one state to that of loads scaled otherwise; None where it does not settle."""
    import numpy as np

    held = system.held_at_first if start is None else start.state.held
    volt = np.zeros(len(system.loads)) if start is None else system.load_v(start.state)
    for turn in range(1, TURNS + 1):
        lines = system.tangents(volt, scale)
        # Where falling lines suit no state, say at a source's limit, level ones do.
        state = system.solve(lines, held)
        if state is None:
            lines = system.tangents(volt, scale, falling=False)
            state = system.solve(lines, held)
        if state is None:
            return None
        held = state.held
        # What has no way for its current has no volts.
        found = np.where(system.without_way(state), 0.0, system.load_v(state))
        ampere = system.load_a(found, scale)
        missed_a = np.abs(ampere - lines.ampere - lines.siemens * found).max(initial=0.0)
        moved_v = np.abs(found - volt).max(initial=0.0)
        if missed_a <= CLOSE_A * (1 + np.abs(ampere).max(initial=0.0)) and (
            moved_v <= CLOSE_V * (1 + np.abs(found).max(initial=0.0)) or not scale.any()
        ):
            return _Rest(state, scale, turn)
        volt = volt + (1.0 if turn <= FULL_STEPS else 0.5) * (found - volt)
    return None


def _starved(system: System, rest: _Rest) -> Any:
    """Which loads of set current or power have fewer volts than they work from."""
    return system.load_v(rest.state) < system.foot_v * (1 - CLOSE_V)


def _collapsed(system: System, rest: _Rest) -> list[int]:
    """The starved loads that would be fed well enough if none of them took anything: it is they who pull the volts down."""
    import numpy as np

    starved = _starved(system, rest) & (system.value * rest.scale != 0)
    if not starved.any():
        return []
    without = _newton(system, np.where(starved, 0.0, rest.scale), _newton(system, 0 * rest.scale, None))
    if without is None:
        return list(np.flatnonzero(starved))
    return list(np.flatnonzero(starved & ~_starved(system, without) & ~system.in_loose_piece(without.state)))


def _not_converged(share: float) -> Failure:
    text = f"No state was found in which currents and volts agree, beyond {100 * share:.4g} % of what the loads ask for."
    return Failure(kind="not converged", about=(), text=text)


def _no_operating_point(system: System, empty: _Rest, good: _Rest, share: float) -> Failure:
    """Which load is at fault is seen where the volts have collapsed: with wide feet, and come to from below.

    A load that alone asks for less than 4 * 0.3 * (1 - 0.3) = 84 % of what its way can carry has no place to rest that low.
    """
    import numpy as np

    from halfshaft.studies.network.blame import asked, in_the_way
    from halfshaft.studies.network.system import System

    feet_v = np.maximum(system.foot_v, WIDE_FOOT * system.load_v(empty.state))
    wide = iter(replace(item, works_from_v=float(foot_v)) for item, foot_v in zip(system.loads, feet_v, strict=True))
    loads = tuple(item if item.kind == "resistive" else next(wide) for item in system.network.loads)
    broad = System(replace(system.network, loads=loads))
    scale = min(1.0, share + 2 * LEAST_STEP) * np.ones(len(broad.loads))
    rest = _newton(broad, scale, None) or _newton(broad, scale, empty)
    fallen = [] if rest is None else _collapsed(broad, rest)
    if rest is None or not fallen:
        return _not_converged(share)
    # Of those that collapse together the largest is at fault; the first of equals.
    worst = max(fallen, key=lambda number: asked(broad, number))
    load = broad.loads[worst]
    limited = _limits_that_matter(system.network, system.limited(rest.state))
    way = in_the_way(broad, (rest if share == 0 else good).state, load, limited)
    if way is None:
        told = ""
    else:
        told = f" {way} gives all that it can." if way in limited else f" Most of the volts on the way to it are lost in {way}."
    text = f"{load.ref} cannot be met: beyond {100 * share:.4g} % of what the loads ask for the volts collapse.{told}"
    return Failure(kind="no operating point", about=(load.ref,) if way is None else (load.ref, way), text=text)


def _limits_that_matter(network: DcNetwork, limited: frozenset[str]) -> frozenset[str]:
    """Sources at their limit, if all loads could be met without it: else another source stands in, or the way is too thin anyhow."""
    if not limited:
        return limited
    free = tuple(replace(item, current_max_a=None) if item.ref in limited else item for item in network.sources)
    return limited if isinstance(solve(replace(network, sources=free)), Solution) else frozenset()


def _told(network: DcNetwork, system: System, rest: _Rest) -> Solution | Failure:
    from halfshaft.studies.network.currents import currents_of

    current_a, residual_a = currents_of(system, rest.state, rest.scale)
    rounding_a = LAST_DIGITS * abs(rest.state.volt).max() * system.siemens.max(initial=0.0)
    if residual_a > MOST_RESIDUAL * (1 + max(map(abs, current_a.values()), default=0.0)) + rounding_a:
        return _not_converged(0.0)
    volt = rest.state.volt[system.merged]
    starved = {item.ref for item, low in zip(system.loads, _starved(system, rest), strict=True) if low}
    return Solution(
        volt={name: float(volt[number]) for name, number in system.nodes.items()},
        current_a={item.ref: current_a.get(item.ref, 0.0) for item in network.items},
        limited=system.limited(rest.state),
        starved=frozenset(starved | {item.ref for item in network.loads if item.ref not in current_a}),
        residual_a=residual_a,
        iterations=rest.turns,
    )
