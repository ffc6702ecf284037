"""The 12 V side as one network: wires and what is inside each part, traced from the battery to each load and back.

Contacts are taken as closed, one way at a time: what can carry current in some state of the car is a way. Coils, loads,
resistors, diodes, sources and converters end a way.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import Strap
from halfshaft.model.parts import Element
from halfshaft.studies.groups import joined_groups

CONDUCTS = frozenset({"link", "fuse", "contact"})
# The body, as a strap or a network names it.
BODY = "body"


@dataclass(frozen=True, slots=True)
class Branch:
    """One thing that conducts between two nodes: a wire, a strap, or a link, fuse or contact inside a part."""

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
# What a step counts besides its ohms: of two ways alike the one with fewer steps is meant.
STEP_OHM = 1e-3


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
    return [*branches, *(strap_branch(conversion, strap) for strap in conversion.straps if strap.removed_with is None)]


def strap_branch(conversion: Conversion, strap: Strap) -> Branch:
    """A strap between the nodes that it joins; a ground point counts by its first ring."""
    start, end = (hub_of(conversion, node) for node in (strap.from_node, strap.to_node))
    return Branch(strap.ref, "strap", start, end, strap.resistance_mohm / 1000, None)


def hub_of(conversion: Conversion, node: str) -> str:
    """The first ring of a ground point, by which it is met; any other node is its own."""
    if node not in {point.ref for point in conversion.ground_points}:
        return node
    connector = conversion.part[conversion.device[node].part].connectors[0]
    return f"{node}.{connector.ref}.{connector.cavities[0].ref}"


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

    Ground is every pin of a ground point, the body as straps name it, and the battery's own minus.
    """
    battery = conversion.device.get(conversion.supply.battery or "")
    if battery is None:
        return None
    cells = next((element for element in conversion.part[battery.part].inside if element.kind == "source"), None)
    if cells is None:
        return None
    studs = {point.ref for point in conversion.ground_points}
    pins = frozenset(pin for pin in conversion.cavity if pin.split(".")[0] in studs) | {BODY}
    return Supply(node_of(battery.ref, cells.pin_a), node_of(battery.ref, cells.pin_b), pins)


class Circuit:
    """Branches by node, and the way of least resistance from plus, or from ground, to each node."""

    def __init__(self, branches: Iterable[Branch], supply: Supply) -> None:
        self.branches = tuple(branches)
        self.at: dict[str, list[Branch]] = defaultdict(list)
        for branch in self.branches:
            self.at[branch.start].append(branch)
            self.at[branch.end].append(branch)
        self.supply = supply
        # What wires and links alone join to ground is ground: no way from plus leads on through it.
        self.ground_net = self._joined(supply.grounds, frozenset({"wire", "link", "strap"}))
        self.from_plus = self._tree([supply.plus], self.ground_net)
        self.from_ground = self._tree(sorted(supply.grounds), frozenset({supply.plus}))

    def _joined(self, starts: frozenset[str], kinds: frozenset[str]) -> frozenset[str]:
        reached, waiting = set(starts), sorted(starts)
        while waiting:
            node = waiting.pop()
            for branch in self.at.get(node, ()):
                other = branch.other(node)
                if branch.kind in kinds and other not in reached:
                    reached.add(other)
                    waiting.append(other)
        return frozenset(reached)

    @cached_property
    def feeds(self) -> dict[str, tuple[Branch, ...]]:
        """By node, every fuse through which current can come to it from the battery.

        Without its fuses the network falls into zones. A fuse feeds the zone on its one side if the battery reaches its
        other side without passing that zone: so a zone between two fuses that are both fed has both.
        """
        zones = joined_groups((b.start, b.end) for b in self.branches if b.kind != "fuse" and not self.ground_net & {b.start, b.end})
        fuses = [(zones.get(b.start, b.start), zones.get(b.end, b.end), b) for b in self.branches if b.kind == "fuse"]
        plus = zones.get(self.supply.plus, self.supply.plus)
        feeding: dict[str, tuple[Branch, ...]] = {}
        for zone in sorted({side for one, other, _ in fuses for side in (one, other)} - {plus}):
            reached = self._zones_reached(plus, zone, fuses)
            feeding[zone] = tuple(b for one, other, b in fuses if (one == zone and other in reached) or (other == zone and one in reached))
        nodes = {node for branch in self.branches for node in (branch.start, branch.end)}
        return {node: feeding.get(zones.get(node, node), ()) for node in nodes}

    @staticmethod
    def _zones_reached(plus: str, without: str, fuses: list[tuple[str, str, Branch]]) -> set[str]:
        reached, grown = {plus}, True
        while grown:
            grown = False
            for one, other, _ in fuses:
                if (one in reached) != (other in reached) and without not in (one, other):
                    reached |= {one, other}
                    grown = True
        return reached

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
                further = ohm + branch.resistance_ohm + STEP_OHM
                if further < best.get(other, float("inf")):
                    best[other] = further
                    tree[other] = branch
                    heapq.heappush(queue, (further, other))
        return tree

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
        """The largest fuse through which current can come to a branch, or None. One without a rating is the largest."""
        fuses = {fuse.ref: fuse for node in (branch.start, branch.end) for fuse in self.feeds.get(node, ())}
        if branch.start in self.ground_net or branch.end in self.ground_net or not fuses:
            return None
        return max(fuses.values(), key=lambda fuse: (fuse.rating_a is None, fuse.rating_a or 0.0, fuse.ref))

    def minus_way(self) -> list[Branch]:
        """The branches between the battery's minus and the body, along the way of least resistance."""
        tree = self._tree([self.supply.minus], frozenset({self.supply.plus}))
        ways = [way for stud in sorted(self.supply.studs) if (way := self.way(tree, stud)) is not None]
        return min(ways, key=lambda way: (sum(branch.resistance_ohm for branch in way), len(way)), default=[])

    def is_fed(self, branch: Branch) -> bool:
        """Whether current from the battery's plus can reach a branch without passing a load."""
        return branch.start in self.from_plus or branch.end in self.from_plus


def distances(tree: Tree) -> dict[str, float]:
    """By node, how far it is from where the tree starts: ohms, and a little for each step, as the tree was grown."""
    far: dict[str, float] = {}
    for start in tree:
        way, node = [], start
        while node not in far and (branch := tree[node]) is not None:
            way.append((node, branch))
            node = branch.other(node)
        far.setdefault(node, 0.0)
        for further, branch in reversed(way):
            far[further] = far[branch.other(further)] + branch.resistance_ohm + STEP_OHM
    return far
