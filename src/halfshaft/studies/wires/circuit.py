"""The 12 V side as one network: wires and what is inside each part, traced from the battery to each load and back.

Contacts are taken as closed, one way at a time: what can carry current in some state of the car is a way. Coils, loads,
resistors, diodes, sources and converters end a way.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Element

CONDUCTS = frozenset({"link", "fuse", "contact"})


@dataclass(frozen=True, slots=True)
class Branch:
    """One thing that conducts between two nodes: a wire, or a link, fuse or contact inside a part."""

    ref: str
    kind: str
    start: str
    end: str
    resistance_ohm: float
    rating_a: float | None

    def other(self, node: str) -> str:
        """Its far end, seen from one of its nodes."""
        return self.end if node == self.start else self.start


@dataclass(frozen=True, slots=True)
class Supply:
    """Where 12 V plus and minus begin: the battery's cells, and every stud on the body."""

    plus: str
    minus: str
    studs: frozenset[str]

    @property
    def grounds(self) -> frozenset[str]:
        """All that is body ground: the studs, and the battery's minus."""
        return self.studs | {self.minus}


Tree = dict[str, Branch | None]


def node_of(device: str, pin: str) -> str:
    """The network's name of a pin or inner node of a device."""
    return f"{device}.{pin}"


def branches_of(conversion: Conversion, wire_resistance_ohm: Mapping[str, float]) -> list[Branch]:
    """Everything that conducts. Wires without a way count as if they had no resistance: they are a finding elsewhere."""
    branches = [
        Branch(wire.ref, "wire", wire.from_pin, wire.to_pin, wire_resistance_ohm.get(wire.ref, 0.0), None) for wire in conversion.wires
    ]
    for device in conversion.devices:
        for element in conversion.part[device.part].inside:
            if element.kind in CONDUCTS:
                branches.append(_inner(device.ref, element))
    return branches


def _inner(device: str, element: Element) -> Branch:
    return Branch(
        f"{device}.{element.ref}",
        element.kind,
        node_of(device, element.pin_a),
        node_of(device, element.pin_b),
        element.resistance_ohm or 0.0,
        element.rating_a,
    )


def supply_of(conversion: Conversion) -> Supply | None:
    """The battery's plus and all that is body ground, or None where the conversion names no battery.

    Ground is every pin of a ground point, and the battery's own minus.
    """
    battery = conversion.device.get(conversion.supply.battery or "")
    if battery is None:
        return None
    cells = next((element for element in conversion.part[battery.part].inside if element.kind == "source"), None)
    if cells is None:
        return None
    studs = {point.ref for point in conversion.ground_points}
    pins = frozenset(pin for pin in conversion.cavity if pin.split(".")[0] in studs)
    return Supply(node_of(battery.ref, cells.pin_a), node_of(battery.ref, cells.pin_b), pins)


class Circuit:
    """Branches by node, and the way of least resistance from plus, or from ground, to each node."""

    def __init__(self, branches: Iterable[Branch], supply: Supply) -> None:
        self.at: dict[str, list[Branch]] = defaultdict(list)
        for branch in branches:
            self.at[branch.start].append(branch)
            self.at[branch.end].append(branch)
        self.supply = supply
        self.from_plus = self._tree([supply.plus], supply.grounds)
        self.from_ground = self._tree(sorted(supply.grounds), frozenset({supply.plus}))

    def _tree(self, starts: list[str], shut: frozenset[str]) -> Tree:
        best: dict[str, float] = dict.fromkeys(starts, 0.0)
        tree: Tree = dict.fromkeys(starts)
        queue = [(0.0, node) for node in starts]
        done: set[str] = set()
        while queue:
            ohm, node = heapq.heappop(queue)
            if node in done:
                continue
            done.add(node)
            for branch in self.at.get(node, ()):
                other = branch.other(node)
                if other in done or other in shut:
                    continue
                # A thousandth of an ohm a step: of two ways alike the one with fewer steps is meant.
                further = ohm + branch.resistance_ohm + 1e-3
                if further < best.get(other, float("inf")):
                    best[other] = further
                    tree[other] = branch
                    heapq.heappush(queue, (further, other))
        return tree

    def minus_is_grounded(self) -> bool:
        """Whether wires lead from the battery's minus to a stud."""
        tree = self._tree([self.supply.minus], frozenset({self.supply.plus}))
        return not self.supply.studs.isdisjoint(tree)

    def way(self, tree: Tree, node: str) -> list[Branch] | None:
        """The branches from the tree's start to a node, in that order, or None where no way leads there."""
        if node not in tree:
            return None
        branches: list[Branch] = []
        while (branch := tree[node]) is not None:
            branches.append(branch)
            node = branch.other(node)
        return branches[::-1]

    def feeding_fuse(self, branch: Branch) -> Branch | None:
        """The last fuse between the battery and a branch, or None where there is none or no way from the battery."""
        ways = [way for node in (branch.start, branch.end) if (way := self.way(self.from_plus, node)) is not None]
        if not ways:
            return None
        way = min(ways, key=len)
        fuses = [step for step in way if step.kind == "fuse"]
        return fuses[-1] if fuses else None

    def is_fed(self, branch: Branch) -> bool:
        """Whether current from the battery's plus can reach a branch without passing a load."""
        return branch.start in self.from_plus or branch.end in self.from_plus
