"""In which order the stretches of a loom are laid, and what room each of them asks for."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.studies.looms.trees import Stretch

GAP_MM = 20.0
NODE_MM = 48.0
LEAST_BEND_MM, ROUND_UP_MM = 20.0, 10.0


@dataclass(frozen=True, slots=True)
class HolderSize:
    """The block that a connector's holder takes on the board: from its back along the heading, and across."""

    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Task:
    """One stretch to lay from a node that is already there."""

    key: tuple[str, str]
    length_mm: float
    half_mm: float
    bend_mm: float
    is_leaf: bool
    share_deg: float
    shares_after_deg: tuple[float, ...]
    pending_leaves: int
    own_mm2: float
    beyond_mm2: float
    node_mm: float
    far_node_mm: float


def order_of(stretches: tuple[Stretch, ...], *, backwards: bool = False, root: str | None = None) -> list[tuple[Stretch, bool]]:
    """The stretches in the order in which they are laid, and whether each is walked from its start to its end.

    First the longest line through the tree, from its end with the smaller name (or, backwards, the other), or from a given root; then, by
    weight, what hangs from it.
    """
    at: dict[str, list[Stretch]] = defaultdict(list)
    for stretch in stretches:
        at[stretch.start].append(stretch)
        at[stretch.end].append(stretch)
    first = root or _furthest(at, sorted(at)[0])[0]
    last, parents = _furthest(at, first)
    trunk: list[Stretch] = []
    node = last
    while node != first:
        stretch = parents[node]
        trunk.append(stretch)
        node = stretch.start if stretch.end == node else stretch.end
    trunk.reverse()
    if root is None and trunk and (last < first) != backwards:
        first, trunk = last, trunk[::-1]
    ordered: list[tuple[Stretch, bool]] = []
    reached, used = [first], set()
    for stretch in trunk:
        forward = stretch.start == reached[-1]
        ordered.append((stretch, forward))
        used.add(id(stretch))
        reached.append(stretch.end if forward else stretch.start)
    weights: dict[tuple[str, int], float] = {}
    waiting = [(node, s) for node in reached for s in at[node] if id(s) not in used]
    while waiting:
        waiting.sort(key=lambda item: (-_weight(at, item[0], item[1], weights), item[1].start, item[1].end))
        node, stretch = waiting.pop(0)
        forward = stretch.start == node
        ordered.append((stretch, forward))
        used.add(id(stretch))
        other = stretch.end if forward else stretch.start
        waiting.extend((other, s) for s in at[other] if id(s) not in used)
    return ordered


def _furthest(at: Mapping[str, list[Stretch]], start: str) -> tuple[str, dict[str, Stretch]]:
    """The node furthest from another along the tree, and by which stretch each node was reached."""
    length, parents, stack = {start: 0.0}, {}, [start]
    while stack:
        node = stack.pop()
        for stretch in at[node]:
            other = stretch.end if stretch.start == node else stretch.start
            if other not in length:
                length[other] = length[node] + stretch.length_mm
                parents[other] = stretch
                stack.append(other)
    return min(length, key=lambda node: (-length[node], node)), parents


def _weight(at: Mapping[str, list[Stretch]], node: str, stretch: Stretch, known: dict[tuple[str, int], float]) -> float:
    """Length of bundle that hangs beyond a node over one stretch."""
    key = (node, id(stretch))
    if key not in known:
        total, stack = 0.0, [(node, stretch)]
        while stack:
            here, current = stack.pop()
            total += current.length_mm
            other = current.end if current.start == here else current.start
            stack.extend((other, s) for s in at[other] if s is not current)
        known[key] = total
    return known[key]


def tasks_of(ordered: list[tuple[Stretch, bool]], holders: Mapping[str, HolderSize], bend_factor: float) -> list[Task]:
    """What the search needs to know of each stretch, in the order in which they are laid."""
    walked = [(stretch, *((stretch.start, stretch.end) if forward else (stretch.end, stretch.start))) for stretch, forward in ordered]
    below: dict[str, list[tuple[Stretch, str]]] = defaultdict(list)
    for stretch, near, far in walked:
        below[near].append((stretch, far))
    shares = _shares(below, holders)
    beyond = _beyond(walked, holders)
    # The disc round a breakout belongs to its own branches; it shrinks where the next breakout is near.
    around = {node: NODE_MM for _, near, far in walked for node in (near, far)}
    for stretch, near, far in walked:
        for node in (near, far):
            around[node] = min(around[node], 0.45 * stretch.length_mm)
    tasks, laid = [], set()
    for stretch, near, far in walked:
        laid.add((near, far))
        tasks.append(
            Task(
                key=(near, far),
                length_mm=stretch.length_mm,
                half_mm=(stretch.bundle_mm + GAP_MM) / 2,
                bend_mm=bend_mm(stretch, bend_factor),
                is_leaf=far not in below,
                share_deg=shares[near, far],
                shares_after_deg=tuple(sorted((shares[near, o] for _, o in below[near] if (near, o) not in laid), reverse=True)),
                pending_leaves=sum(o not in below for _, o in below.get(far, ())),
                own_mm2=_own_mm2(stretch, holders.get(far)),
                beyond_mm2=beyond[far],
                node_mm=around[near],
                far_node_mm=around[far],
            )
        )
    return tasks


def bend_mm(stretch: Stretch, bend_factor: float) -> float:
    """The radius with which a stretch is bent: what its bundle asks for, and up to the next ten, so that a wire more does not spoil a drilled board."""
    return max(math.ceil(bend_factor * stretch.bundle_mm / ROUND_UP_MM) * ROUND_UP_MM, LEAST_BEND_MM)


def _beyond(walked: list[tuple[Stretch, str, str]], holders: Mapping[str, HolderSize]) -> dict[str, float]:
    """About how much of a sheet is wanted by all that hangs beyond each node: bundles with room for fingers on both sides, and holders."""
    beyond: dict[str, float] = defaultdict(float)
    for stretch, near, far in reversed(walked):
        beyond[near] += beyond[far] + _own_mm2(stretch, holders.get(far))
    return beyond


def wanted_mm2(stretches: tuple[Stretch, ...], holders: Mapping[str, HolderSize]) -> float:
    """About how much of a sheet a whole tree wants."""
    nodes = {node for stretch in stretches for node in (stretch.start, stretch.end) if node in holders}
    return math.fsum(_own_mm2(stretch, None) for stretch in stretches) + math.fsum(
        holders[node].length_mm * holders[node].width_mm for node in sorted(nodes)
    )


def _own_mm2(stretch: Stretch, holder: HolderSize | None) -> float:
    return stretch.length_mm * (stretch.bundle_mm + 2 * GAP_MM) + (holder.length_mm * holder.width_mm if holder else 0.0)


def _shares(below: Mapping[str, list[tuple[Stretch, str]]], holders: Mapping[str, HolderSize]) -> dict[tuple[str, str], float]:
    """Half the angle that each branch takes at its breakout: a holder on a short tail takes more than a bundle.

    Where there is not enough round for all of them, they are squeezed alike, and the cells decide what really meets.
    """
    shares: dict[tuple[str, str], float] = {}
    for near, branches in below.items():
        for stretch, far in branches:
            half = math.degrees(math.atan2((stretch.bundle_mm + 14.0) / 2, NODE_MM))
            if far not in below and far in holders:
                half = max(half, math.degrees(math.atan2(holders[far].width_mm / 2 + 8.0, stretch.length_mm + 1.0)))
            shares[near, far] = half
        total = 2 * math.fsum(shares[near, far] for _, far in branches) + 40.0
        if total > 340.0:
            for _, far in branches:
                shares[near, far] *= 300.0 / (total - 40.0)
    return shares
