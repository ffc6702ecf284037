"""From where the car is looked at, and how its frame then lies on the paper.

x rearwards, y to the right and z up are right-handed, so in all three views each axis runs to the right or upwards:
nothing is mirrored. From the left the front is at the left; from above the car's right side is at the top; from
behind its left side is at the left.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.looms.geometry import Place, bounds

Spot = tuple[float, float, float]
Rect = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Eye:
    """A way to look: which axis runs across the paper, which up it, and which end of the third is nearer."""

    ref: str
    title: str
    across: int
    up: int
    deep: int
    low_is_near: bool

    def flat(self, spot: Spot) -> Place:
        """A place as seen, in millimetres of the car."""
        return spot[self.across], spot[self.up]

    def far_away(self, block: Block) -> float:
        """How far the nearest face of a block is: smaller is nearer."""
        low, high = (block.x_min, block.y_min, block.z_min)[self.deep], (block.x_max, block.y_max, block.z_max)[self.deep]
        return low if self.low_is_near else -high


SIDE = Eye(ref="side", title="Seen from the left", across=0, up=2, deep=1, low_is_near=True)
PLAN = Eye(ref="plan", title="Seen from above", across=0, up=1, deep=2, low_is_near=False)
REAR = Eye(ref="rear", title="Seen from behind", across=1, up=2, deep=0, low_is_near=False)


@dataclass(frozen=True, kw_only=True, slots=True)
class View:
    """An eye with a scale (one to so many) and the place on the paper where the car's frame begins."""

    eye: Eye
    one_to: float
    origin: Place

    def on_paper(self, flat: Place) -> Place:
        """A place as seen, on the paper."""
        return self.origin[0] + flat[0] / self.one_to, self.origin[1] + flat[1] / self.one_to

    def at(self, spot: Spot) -> Place:
        """A place of the car on the paper."""
        return self.on_paper(self.eye.flat(spot))

    def rect(self, block: Block) -> Rect:
        """A block on the paper: left, bottom, right, top."""
        return bounds([self.at((block.x_min, block.y_min, block.z_min)), self.at((block.x_max, block.y_max, block.z_max))])


def around(rects: Iterable[Rect]) -> Rect:
    """The rectangle round several."""
    lefts, bottoms, rights, tops = zip(*rects, strict=True)
    return min(lefts), min(bottoms), max(rights), max(tops)


def corners_of(rect: Rect) -> tuple[Place, ...]:
    """Its four corners, anticlockwise from the lower left one."""
    left, bottom, right, top = rect
    return (left, bottom), (right, bottom), (right, top), (left, top)
