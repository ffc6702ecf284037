"""What stands in the way of a load that cannot be met."""

from __future__ import annotations

from typing import Any

import numpy as np

from halfshaft.studies.network.records import Load, Resistor
from halfshaft.studies.network.system import State, System

# By less the source does not take more than a resistor: rounding.
CLEARLY = 1.001


def asked(system: System, number: int) -> float:
    """Watts that a load of set current or power asks for, at the least volts from which it works."""
    at_v = 1.0 if system.is_power[number] else system.foot_v[number]
    return float(system.value[number] * at_v)


def in_the_way(system: System, state: State, load: Load, limited: frozenset[str]) -> str | None:
    """What takes most volts on the load's way from its source and back: a resistor, or the source with its own resistance.

    The source, too, if it is at its limit or all there is.
    """
    plus, minus = (int(system.merged[system.nodes[name]]) for name in (load.plus, load.minus))
    there, source = _upstream(system, state, plus, 1.0)
    back, _ = _upstream(system, state, minus, -1.0)
    if source is not None and system.branches[source].ref in limited:
        return system.branches[source].ref
    passed = sorted({*there, *back})
    if not passed:
        return None if source is None else system.branches[source].ref
    # Volts, not watts: what the load is short of is volts, and a trunk that feeds much else loses many watts at hardly any of them.
    drop_v = abs(state.volt[system.start] - state.volt[system.end])
    items: list[Resistor | Load] = [*system.resistors, *system.resistive]
    most = max(passed, key=lambda number: drop_v[number])
    if source is not None and system.ohm[source] * abs(state.branch_a[source]) > CLEARLY * drop_v[most]:
        return system.branches[source].ref
    return items[most].ref


def _upstream(system: System, state: State, node: int, sign: float) -> tuple[list[int], int | None]:
    """From a node along the largest current into it (sign 1) or out of it (-1), up to a source: what was passed, and the source."""
    plain_a = sign * system.siemens * (state.volt[system.start] - state.volt[system.end])
    branch_a = sign * np.array(state.branch_a)
    number_of_sources = len(system.network.sources)
    passed: list[int] = []
    seen: set[int] = set()
    while node not in seen:
        seen.add(node)
        # The largest current into the node: through what, and from where.
        ways = [(float(plain_a[k]), k, int(system.start[k])) for k in _where(system.end == node)]
        ways += [(float(-plain_a[k]), k, int(system.end[k])) for k in _where(system.start == node)]
        first_branch = len(system.siemens)
        ways += [(float(branch_a[k]), first_branch + k, int(system.minus[k])) for k in _where(system.plus == node)]
        ways += [(float(-branch_a[k]), first_branch + k, int(system.plus[k])) for k in _where(system.minus == node)]
        ampere, way, further = max(ways, key=lambda found: (found[0], -found[1]), default=(0.0, -1, node))
        if ampere <= 0:
            return passed, None
        if first_branch <= way < first_branch + number_of_sources:
            return passed, way - first_branch
        if way < first_branch:
            passed.append(way)
        node = further
    return passed, None


def _where(mask: Any) -> list[int]:
    found: list[int] = np.flatnonzero(mask).tolist()
    return found
