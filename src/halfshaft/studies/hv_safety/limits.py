"""The basis of a limit of high-voltage safety, as its row in standards/hv_limits.csv has it."""

from __future__ import annotations

from typing import cast

from halfshaft.model.finding import Basis, BasisKind
from halfshaft.standards import hv_limit_sources, hv_limits


def basis_of(name: str) -> Basis:
    """Basis and source of a named limit."""
    kind, source = hv_limit_sources()[name]
    return Basis(cast("BasisKind", kind), source)


def limit_of(name: str) -> float:
    """The figure of a named limit, in the unit of its row."""
    return hv_limits()[name].value


def listed(names: tuple[str, ...]) -> str:
    """`A`, `A and B`, `A, B and C`."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
