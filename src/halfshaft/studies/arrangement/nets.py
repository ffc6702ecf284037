"""Where in a room a box may stand: free blocks less what is kept round a box, with room before its plugs."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.pack import ArrangementSettings
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.records import Block, Room
from halfshaft.studies.arrangement.stands import Steps, X, Y, Z, steps_down, steps_up

# The wall with the plugs: its axis, and whether it is the one of the greater coordinate.
PLUG_WALL = {"front": (X, False), "rear": (X, True), "left": (Y, False), "right": (Y, True), "above": (Z, True)}


@dataclass(frozen=True, kw_only=True, slots=True)
class Casing:
    """What a box adds to what stands in it: its walls, and the room under and over."""

    wall: int
    under: int
    over: int

    @classmethod
    def of(cls, settings: ArrangementSettings) -> Casing:
        """As the settings have it."""
        return cls(wall=steps_up(settings.wall_mm), under=steps_up(settings.under_mm), over=steps_up(settings.over_mm))

    def outside(self, inner: Steps) -> Steps:
        """A box's outside from the room between the insides of its walls, less under and over."""
        return inner[X] + 2 * self.wall, inner[Y] + 2 * self.wall, inner[Z] + 2 * self.wall + self.under + self.over

    def inside(self, outside: Steps) -> Steps:
        """The other way round."""
        return outside[X] - 2 * self.wall, outside[Y] - 2 * self.wall, outside[Z] - 2 * self.wall - self.under - self.over

    @property
    def floor(self) -> int:
        """How high modules stand above the outside of the floor."""
        return self.wall + self.under


@dataclass(frozen=True, order=True, slots=True)
class Strip:
    """Room before the plugs that reaches beyond the free block: the middle half of the plugs' wall must lie before it.

    `axis` is the axis of that wall and `is_greater` its side; the wall must not end short of `near`; along the wall the
    free room reaches from `low` to `high`.
    """

    axis: int
    is_greater: bool
    near: int
    low: int
    high: int


@dataclass(frozen=True, order=True, slots=True)
class NetBlock:
    """Where the outside of a box may be: from `low` to `high`; `size` is the largest box, `inner` what its walls, under and over leave."""

    low: Steps
    high: Steps
    size: Steps
    inner: Steps
    strip: Strip | None = None

    def takes(self, size: Steps) -> bool:
        """Whether a box of this size can stand here."""
        return all(side <= most for side, most in zip(size, self.size, strict=True)) and all(
            low <= high for low, high in (self.way(X, size), self.way(Y, size))
        )

    def way(self, axis: int, size: Steps) -> tuple[int, int]:
        """Least and greatest lowest coordinate of a box along a level axis."""
        low, high, side = self.low[axis], self.high[axis] - size[axis], size[axis]
        strip = self.strip
        if strip is None:
            return low, high
        if axis != strip.axis:
            return max(low, strip.low - side // 4), min(high, strip.high - (3 * side + 3) // 4)
        return (max(low, strip.near - side), high) if strip.is_greater else (low, min(high, strip.near))


def net_blocks(space: Space, room: Room, settings: ArrangementSettings) -> tuple[NetBlock, ...]:
    """The blocks of a room less the gap at sides and top and the feet below, with the plugs' room before the plugs' wall.

    Plugs sit in the middle half of their wall: it is enough that their room is free before that half. It may lie in
    another free block than the box, as where a space has slanted or stepped edges.
    """
    wall = PLUG_WALL.get(space.plugs_look)
    found: set[NetBlock] = set()
    for block in room.blocks:
        found.update(_net(block, None, settings, wall))
        if wall is not None and wall[0] != Z:
            for other in room.blocks:
                if other != block:
                    found.update(_net(block, other, settings, wall))
    return tuple(sorted(_largest(found), key=lambda net: (net.low, net.high, net.size, net.strip or Strip(0, False, 0, 0, 0))))


def _net(block: Block, other: Block | None, settings: ArrangementSettings, wall: tuple[int, bool] | None) -> list[NetBlock]:
    """What is left of one block, its plugs' room in itself or in another block; nothing where nothing is left."""
    gap, plugs = settings.space_gap_mm, max(settings.space_gap_mm, settings.plug_room_mm)
    low = [steps_up(block.x_min + gap), steps_up(block.y_min + gap), steps_up(block.z_min + settings.feet_mm)]
    high = [steps_down(block.x_max - gap), steps_down(block.y_max - gap), steps_down(block.z_max - gap)]
    strip = None
    if wall is not None:
        axis, is_greater = wall
        free = other or block
        free_low = (free.x_min, free.y_min, free.z_min)
        free_high = (free.x_max, free.y_max, free.z_max)
        if is_greater:
            high[axis] = min(high[axis], steps_down(free_high[axis] - plugs))
        else:
            low[axis] = max(low[axis], steps_up(free_low[axis] + plugs))
        if other is not None:
            along = Y if axis == X else X
            if steps_up(free_low[Z]) > low[Z]:
                return []
            high[Z] = min(high[Z], steps_down(free_high[Z]))
            near = steps_up(free_low[axis]) if is_greater else steps_down(free_high[axis])
            strip = Strip(axis, is_greater, near, steps_up(free_low[along]), steps_down(free_high[along]))
    size = [high[axis] - low[axis] for axis in (X, Y, Z)]
    if strip is not None:
        if (high[strip.axis] < strip.near) if strip.is_greater else (low[strip.axis] > strip.near):
            return []
        along = Y if strip.axis == X else X
        # The middle half of a wall of width w, from y + w/4 to y + 3w/4, lies before the strip while the wall lies in the block.
        half = min(2 * (strip.high - strip.low), 4 * (strip.high - low[along]) // 3, 4 * (high[along] - strip.low) // 3)
        size[along] = min(size[along], half)
    inner = Casing.of(settings).inside((size[X], size[Y], size[Z]))
    if min(inner) <= 0:
        return []
    return [NetBlock((low[X], low[Y], low[Z]), (high[X], high[Y], high[Z]), (size[X], size[Y], size[Z]), inner, strip)]


def _largest(nets: set[NetBlock]) -> list[NetBlock]:
    """Without those that allow nothing that a block with its plugs' room in itself does not allow."""
    whole = [net for net in nets if net.strip is None]
    return [
        net
        for net in nets
        if not any(
            other != net
            and all(a <= b for a, b in zip(other.low, net.low, strict=True))
            and all(a >= b for a, b in zip(other.high, net.high, strict=True))
            for other in whole
        )
    ]


def to_search(nets: tuple[NetBlock, ...]) -> tuple[NetBlock, ...]:
    """Of the blocks those that must be searched: one for each floor and size, none that is no lower and no larger than another."""
    ranked = sorted(nets, key=lambda net: (net.low[Z], [-side for side in net.inner], net.low))
    kept: list[NetBlock] = []
    for net in ranked:
        if not any(other.low[Z] <= net.low[Z] and all(a >= b for a, b in zip(other.inner, net.inner, strict=True)) for other in kept):
            kept.append(net)
    return tuple(kept)
