"""Which names are joined to each other, directly or through others."""

from __future__ import annotations

from collections.abc import Iterable


def joined_groups(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """For every name in the pairs the name that stands for its group: the same for all that are joined.

    >>> groups = joined_groups([("a", "b"), ("c", "d"), ("b", "e")])
    >>> groups["a"] == groups["e"], groups["a"] == groups["c"]
    (True, False)
    """
    parent: dict[str, str] = {}

    def find(name: str) -> str:
        while parent.setdefault(name, name) != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for one, other in pairs:
        parent[find(other)] = find(one)
    return {name: find(name) for name in parent}
