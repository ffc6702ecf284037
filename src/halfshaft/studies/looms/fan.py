"""A tree laid so that it cannot cross, whatever room that takes: what is left where no search finds a way."""

from __future__ import annotations

from collections import defaultdict

from halfshaft.studies.looms.geometry import Path, Place, Straight
from halfshaft.studies.looms.laying_order import order_of
from halfshaft.studies.looms.layout import Laid
from halfshaft.studies.looms.trees import Stretch

FAN = "fan"


def fan(stretches: tuple[Stretch, ...]) -> Laid:
    """The tree laid straight, each subtree in a cone of directions of its own.

    At every breakout the cone of the branch is shared out among what hangs from it, by number of ends, and each
    stretch takes the middle of its share. A cone under 180 degrees is convex, so whatever lies in it stays in it, and
    cones from one point do not meet: no two stretches cross, whatever their lengths.
    """
    children: dict[str, list[str]] = defaultdict(list)
    lengths: dict[tuple[str, str], float] = {}
    ordered = order_of(stretches)
    root = ordered[0][0].start if ordered[0][1] else ordered[0][0].end
    for stretch, forward in ordered:
        near, far = (stretch.start, stretch.end) if forward else (stretch.end, stretch.start)
        children[near].append(far)
        lengths[near, far] = stretch.length_mm
    ends: dict[str, int] = {}
    for stretch, forward in reversed(ordered):
        far = stretch.end if forward else stretch.start
        ends[far] = sum(ends[child] for child in children[far]) or 1
    paths: dict[tuple[str, str], Path] = {}
    stack: list[tuple[str, Place, float, float]] = [(root, (0.0, 0.0), -85.0, 85.0)]
    while stack:
        node, place, low, high = stack.pop()
        total = sum(ends[child] for child in children[node])
        # The heaviest branch goes on along the middle, the others above and below it in turn.
        arranged: list[str] = []
        for index, child in enumerate(children[node]):
            arranged.insert(len(arranged) if index % 2 else 0, child)
        at = low
        for child in arranged:
            share = (high - low) * ends[child] / total
            heading = at + share / 2
            paths[node, child] = Path((Straight(place, heading, lengths[node, child]),))
            stack.append((child, paths[node, child].end, at, at + share))
            at += share
    return Laid(paths, FAN, 0)
