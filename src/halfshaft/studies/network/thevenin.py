"""What a fault meets: the network seen from its nodes with every load left out, by one factorisation for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from halfshaft.studies.network.records import DcNetwork

# Nothing conducts better than this: links without resistance side by side share a current then, too.
LEAST_OHM = 1e-6
# So many nodes are solved for at once; more only take room.
AT_ONCE = 256


@dataclass(frozen=True, slots=True)
class SeenFrom:
    """A node: volts with nothing drawn, and ohms to ground. `share` says what each resistor that was asked for carries of one
    ampere drawn there."""

    volt: float
    ohm: float
    share: dict[str, float]

    @property
    def fault_a(self) -> float:
        """Amperes of a fault without resistance from here to ground."""
        return self.volt / self.ohm


def seen_from(network: DcNetwork, nodes: Iterable[str], through: frozenset[str] = frozenset()) -> dict[str, SeenFrom]:
    """By node, of those that are joined to ground. Loads and diodes are left out, and a source gives whatever is asked of it."""
    import numpy as np
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.sparse.linalg import splu

    edges = list(_edges(network))
    names = {network.ground: 0}
    for _, start, end, _ in edges:
        names.setdefault(start, len(names))
        names.setdefault(end, len(names))
    size = len(names)
    ones, others = np.array([[names[start], names[end]] for _, start, end, _ in edges], dtype=np.int64).reshape(-1, 2).T
    siemens = np.array([1 / ohm for *_, ohm in edges])
    graph = coo_matrix((siemens, (ones, others)), shape=(size, size))
    piece = connected_components(graph, directed=False)[1]
    # Row 0, ground, is known to be 0 V; other pieces have no volts against it.
    own = np.flatnonzero(piece == piece[0])[1:]
    if not own.size:
        return {}
    both = np.concatenate([ones, others])
    diagonal = coo_matrix((np.concatenate([siemens, siemens]), (both, both)), shape=(size, size))
    solver = splu(
        (diagonal - graph - graph.T).tocsr()[own][:, own].tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )

    def volts(injected: np.ndarray) -> np.ndarray:
        full = np.zeros(injected.shape)
        full[own] = solver.solve(injected[own])
        return full

    pushed = np.zeros(size)
    for source in network.sources:
        ampere = source.volt / max(source.ohm, LEAST_OHM)
        pushed[names[source.plus]] += ampere
        pushed[names[source.minus]] -= ampere
    resting = volts(pushed)
    joined = set(own.tolist())
    wanted = [name for name in dict.fromkeys(nodes) if names.get(name) in joined]
    watched = [(ref, names[start], names[end], ohm) for ref, start, end, ohm in edges if ref in through]
    marks = [ref for ref, *_ in watched]
    starts, ends = [item[1] for item in watched], [item[2] for item in watched]
    across = np.array([[item[3]] for item in watched]).reshape(-1, 1)
    found: dict[str, SeenFrom] = {}
    for first in range(0, len(wanted), AT_ONCE):
        some = wanted[first : first + AT_ONCE]
        at = [names[name] for name in some]
        unit = np.zeros((size, len(some)))
        unit[at, range(len(some))] = 1.0
        answer = volts(unit)
        shares = np.abs(answer[starts] - answer[ends]) / across if watched else np.zeros((0, len(some)))
        for column, name in enumerate(some):
            share = dict(zip(marks, shares[:, column].tolist(), strict=True))
            found[name] = SeenFrom(float(resting[at[column]]), float(answer[at[column], column]), share)
    return found


def _edges(network: DcNetwork) -> Iterator[tuple[str, str, str, float]]:
    for resistor in network.resistors:
        if resistor.start != resistor.end:
            yield resistor.ref, resistor.start, resistor.end, max(resistor.ohm, LEAST_OHM)
    for source in network.sources:
        yield source.ref, source.plus, source.minus, max(source.ohm, LEAST_OHM)
