"""The current of everything in a solved network, those through links without resistance among them."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

from halfshaft.studies.network.system import SHUT, State, System, grouped


def currents_of(system: System, state: State, scale: Any) -> tuple[dict[str, float], float]:
    """Amperes by ref, and the most by which Kirchhoff's current law is missed at any node but ground.

    Links without resistance take what their nodes ask for; where several stand side by side or in a ring, they share as
    equal resistors would.
    """
    plain_a = system.siemens * (state.volt[system.start] - state.volt[system.end])
    load_a = system.load_a(system.load_v(state), scale)
    # What rounding leaves beyond a limit, or backwards in a diode, is not told.
    branch_a = np.clip(state.branch_a, system.least_a, system.most_a) * (np.array(state.held, dtype=np.int64) != SHUT)
    # A source's current leaves it at its plus, so it comes into that node.
    ampere = np.concatenate([plain_a, load_a, -branch_a])
    leaving = np.bincount(system.starts, weights=ampere, minlength=len(system.nodes))
    leaving -= np.bincount(system.ends, weights=ampere, minlength=len(system.nodes))
    link_a = _through_links(system, leaving)
    start, end = system.numbers(system.links)
    leaving += np.bincount(start, weights=link_a, minlength=len(system.nodes))
    leaving -= np.bincount(end, weights=link_a, minlength=len(system.nodes))
    told = np.concatenate([plain_a, load_a, branch_a])
    found = {item.ref: float(value) for item, value in zip(system.items, told, strict=True)}
    found |= {item.ref: float(value) for item, value in zip(system.links, link_a, strict=True)}
    return found, float(np.abs(leaving[1:]).max(initial=0.0))


def _through_links(system: System, leaving: Any) -> Any:
    """Nodal analysis of the links alone, as one ohm each, with what else leaves each node as given currents."""
    if not system.links:
        return np.zeros(0)
    start, end = system.numbers(system.links)
    _, group = grouped(start, end, len(system.nodes))
    # The first node of each group is held: ground, where it is among them.
    _, first = np.unique(group, return_index=True)
    is_free = np.ones(len(system.nodes), dtype=bool)
    is_free[first] = False
    row = np.concatenate([start, end, start, end])
    column = np.concatenate([start, end, end, start])
    weight = np.repeat([1.0, -1.0], 2 * len(start))
    free = np.flatnonzero(is_free)
    volt = np.zeros(len(system.nodes))
    if len(free):
        square = coo_matrix((weight, (row, column)), shape=(len(is_free),) * 2).tocsc()[free][:, free]
        volt[free] = splu(square.tocsc()).solve(-leaving[free])
    return volt[start] - volt[end]
