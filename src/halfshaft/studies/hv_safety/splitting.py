"""Which plugs to pull, in which order, to find the one unit whose insulation is bad: what is suspected is halved each time."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.hv_safety.live import joints, pieces

Units = frozenset[str]


@dataclass(frozen=True, kw_only=True, slots=True)
class Split:
    """One step: pull these plugs (none: nothing joins the rest any more), measure what stays joined, at `measure_at`.

    `if_low` and `if_good` are the numbers of further steps, or None where only one unit is left: then `low_unit` or
    `good_unit` is it, with the cable that stays plugged into it. `side`: the state of the contactors in which it is found.
    A unit with contactors inside is in several pieces while they are open: the lesser ones are named by their plugs.
    """

    number: int
    side: str
    suspects: tuple[str, ...]
    pull: tuple[str, ...]
    measure_at: str
    joined: tuple[str, ...]
    if_low: int | None
    low_unit: str | None
    if_good: int | None
    good_unit: str | None


def splits_of(conversion: Conversion, sides: list[tuple[str, Units]]) -> tuple[Split, ...]:
    """The steps for each side of the contactors, numbered through; opening the contactors is the halving before the first."""
    piece_of = pieces(conversion)
    every = frozenset(piece_of.values())
    pairs = [(piece_of[one], piece_of[other]) for one, other in joints(conversion, every, piece_of)]
    group = joined_groups([(piece, piece) for piece in sorted(every)] + pairs)
    members: dict[str, set[str]] = defaultdict(set)
    for piece in every:
        members[group[piece]].add(piece)
    steps: list[Split] = []
    for name, devices in sides:
        # A unit in pieces belongs to a side with those that cables join to nothing but this side's units.
        suspects = frozenset(
            piece for piece in every if _device(piece) in devices and all(_device(other) in devices for other in members[group[piece]])
        )
        alone = frozenset(piece for piece in suspects if len(members[group[piece]]) == 1 and piece not in devices)
        _Search(conversion, piece_of, name, steps).halve(suspects - alone)
    return tuple(sorted(steps, key=lambda step: step.number))


def _device(piece: str) -> str:
    return piece.partition(".")[0]


class _Search:
    """Halving of the units on one side."""

    def __init__(self, conversion: Conversion, piece_of: Mapping[str, str], side: str, steps: list[Split]) -> None:
        devices = [device.ref for device in conversion.devices]
        names = sorted(set(piece_of.values()), key=lambda name: (devices.index(_device(name)), name))
        self.order = {name: index for index, name in enumerate(names)}
        self.piece_of = piece_of
        self.joints = joints(conversion, frozenset(names), piece_of)
        self.side = side
        self.steps = steps
        self.numbers = len(steps)

    def halve(self, suspects: Units, off: frozenset[str] = frozenset()) -> tuple[int | None, str | None]:
        """Adds the steps that find one of these units, some plugs being off; the first step's number, or the unit where it is alone."""
        if len(suspects) < 2:
            return None, next(iter(suspects), None)
        self.numbers += 1
        number = self.numbers
        live = [joint for joint in self.joints if not off & set(joint)]
        hub, kept = self._kept(suspects, [self._pair(joint) for joint in live])
        pulled = suspects - kept
        plugs = self._plugs(live, kept, pulled)
        if_low, low_unit = self.halve(kept, off | plugs)
        if_good, good_unit = self.halve(pulled, off | plugs)
        self.steps.append(
            Split(
                number=number,
                side=self.side,
                suspects=self._sorted(suspects),
                pull=tuple(sorted(plugs)),
                measure_at=hub,
                joined=self._sorted(kept),
                if_low=if_low,
                low_unit=low_unit,
                if_good=if_good,
                good_unit=good_unit,
            )
        )
        return number, None

    def _sorted(self, units: Units) -> tuple[str, ...]:
        return tuple(sorted(units, key=self.order.__getitem__))

    def _pair(self, joint: tuple[str, str]) -> tuple[str, str]:
        return self.piece_of[joint[0]], self.piece_of[joint[1]]

    def _plugs(self, live: list[tuple[str, str]], kept: Units, pulled: Units) -> frozenset[str]:
        """What parts the two: of each cable the plug on the side that is measured, or where that holds a cable of this side too, the other."""
        shared = {plug for joint in live if set(self._pair(joint)) <= kept for plug in joint}
        found = set()
        for joint in live:
            for plug, other in (joint, joint[::-1]):
                if self.piece_of[plug] in kept and self.piece_of[other] in pulled:
                    found.add(other if plug in shared else plug)
        return frozenset(found)

    def _kept(self, suspects: Units, pairs: list[tuple[str, str]]) -> tuple[str, Units]:
        """Where to measure, and what stays joined there: as near to half of the suspects as whole branches go.

        Where the suspects hang together no more, the largest part is measured as it is.
        """
        inside = [pair for pair in pairs if set(pair) <= suspects]
        group = joined_groups([(unit, unit) for unit in self._sorted(suspects)] + inside)
        parts = [
            frozenset(unit for unit in suspects if group[unit] == name)
            for name in dict.fromkeys(group[unit] for unit in self._sorted(suspects))
        ]
        near: dict[str, set[str]] = defaultdict(set)
        for one, other in inside:
            near[one].add(other)
            near[other].add(one)
        if len(parts) > 1:
            largest = max(parts, key=len)
            return max(self._sorted(largest), key=lambda unit: len(near[unit])), largest
        tried = [(hub, suspects - self._pulled(hub, suspects, near)) for hub in self._sorted(suspects)]
        return min(tried, key=lambda item: (abs(2 * len(item[1]) - len(suspects)), -len(near[item[0]])))

    def _pulled(self, hub: str, suspects: Units, near: Mapping[str, set[str]]) -> Units:
        """Branches of a hub to pull off, the longest first, up to half of the suspects but one at least."""
        pulled: Units = frozenset()
        for branch in sorted(self._branches(hub, near), key=len, reverse=True):
            if not pulled or len(pulled | branch) <= len(suspects) // 2:
                pulled |= branch
        return pulled

    def _branches(self, hub: str, near: Mapping[str, set[str]]) -> list[Units]:
        """What hangs on each neighbour of the hub: in a ring each unit goes with the neighbour by which it is reached first."""
        owner = {hub: hub, **{unit: unit for unit in self._sorted(frozenset(near[hub]))}}
        waiting = deque(unit for unit in owner if unit != hub)
        while waiting:
            unit = waiting.popleft()
            for other in self._sorted(frozenset(near[unit] - owner.keys())):
                owner[other] = owner[unit]
                waiting.append(other)
        return [frozenset(unit for unit, by in owner.items() if by == first) for first in dict.fromkeys(owner.values()) if first != hub]
