"""How one battery module, or a pair with a coolant plate between, may stand in a box, and the room that it keeps round it.

Lengths here are whole numbers of hundredths of a millimetre, so that sums are exact: what needs room is rounded up,
what gives room is rounded down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.boxes import Attitude, Look
from halfshaft.model.pack import ArrangementSettings
from halfshaft.studies.arrangement.records import Block, PlacedModule

STEPS_PER_MM = 100
X, Y, Z = 0, 1, 2
Steps = tuple[int, int, int]
PlateSide = Literal["none", "under", "beside"]


def steps_up(mm: float) -> int:
    """Hundredths of a millimetre that are surely enough."""
    return math.ceil(round(mm * STEPS_PER_MM, 4))


def steps_down(mm: float) -> int:
    """Hundredths of a millimetre that are surely there."""
    return math.floor(round(mm * STEPS_PER_MM, 4))


@dataclass(frozen=True, kw_only=True, slots=True)
class PackedModule:
    """A battery module type as it is packed. The cooled face is the face of length and width that lies opposite the cover."""

    module: str
    length_mm: float
    width_mm: float
    height_mm: float
    mass_kg: float
    attitudes: tuple[Attitude, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Stand:
    """One way of standing a module type: its block along x, y and z, and what must be kept round it.

    `end_axis` is the level axis along which its length lies (None: it stands on a short end); `plate_axis` the level
    axis along which its cooled face looks (None: it lies flat). Beyond both ends it keeps `end`, room that no
    neighbour shares; at its sides half the gap between neighbours; to the inside of a wall `end` or `side`.
    """

    kind: PackedModule
    attitude: Attitude
    end_axis: int | None
    plate_axis: int | None
    size: Steps
    plate: int
    plate_side: PlateSide
    gap: int
    end: int
    side: int
    layer_gap: int

    @property
    def tall(self) -> int:
        """Height with the plate under it, if it has one."""
        return self.size[Z] + (self.plate if self.plate_side == "under" else 0)

    @property
    def pairs_axis(self) -> int | None:
        """The axis along which two of them make a pair with a plate between; None where they stand singly."""
        return self.plate_axis if self.plate_side == "beside" else None

    def keeps(self, axis: int) -> int:
        """Room that it keeps towards a neighbour along a level axis."""
        half = -(-self.gap // 2)
        return max(self.end, half) if axis == self.end_axis else half

    def wall(self, axis: int) -> int:
        """Room between it and the inside of a wall along a level axis."""
        return self.end if axis == self.end_axis else self.side

    def extent(self, axis: int, count: int) -> int:
        """How long a row of so many is along a level axis, with plates, without what it keeps at its two ends."""
        if axis == self.pairs_axis:
            groups = -(-count // 2)
            return count * self.size[axis] + groups * self.plate + (groups - 1) * 2 * self.keeps(axis)
        return count * self.size[axis] + (count - 1) * 2 * self.keeps(axis)

    def starts(self, axis: int, count: int) -> list[int]:
        """Where each module of such a row begins."""
        pitch = self.size[axis] + 2 * self.keeps(axis)
        if axis != self.pairs_axis:
            return [index * pitch for index in range(count)]
        pair = 2 * self.size[axis] + self.plate + 2 * self.keeps(axis)
        return [index // 2 * pair + index % 2 * (self.size[axis] + self.plate) for index in range(count)]

    def most(self, axis: int, room: int) -> int:
        """How many make a row in so much room between the insides of two walls."""
        count = 0
        while self.extent(axis, count + 1) + 2 * self.wall(axis) <= room:
            count += 1
        return count


def stands_of(kind: PackedModule, settings: ArrangementSettings, plate_mm: float) -> tuple[Stand, ...]:
    """Every allowed attitude in both level turns; two that fill the same block are both kept, since their ends look elsewhere."""
    long, wide, high = (steps_up(mm) for mm in (kind.length_mm, kind.width_mm, kind.height_mm))
    shapes: dict[Attitude, tuple[tuple[Steps, int | None, int | None], ...]] = {
        "flat": (((long, wide, high), X, None), ((wide, long, high), Y, None)),
        "long edge": (((long, high, wide), X, Y), ((high, long, wide), Y, X)),
        "short end": (((wide, high, long), None, Y), ((high, wide, long), None, X)),
    }
    side_of_plate: dict[str, PlateSide] = {"none": "none", "under": "under", "between pairs": "beside"}
    stands = []
    for attitude in dict.fromkeys(kind.attitudes):
        for size, end_axis, plate_axis in shapes[attitude]:
            plate_side = side_of_plate[settings.plates] if plate_mm > 0 else "none"
            if plate_side == "beside" and plate_axis is None:
                plate_side = "under"
            stands.append(
                Stand(
                    kind=kind,
                    attitude=attitude,
                    end_axis=end_axis,
                    plate_axis=plate_axis,
                    size=size,
                    plate=steps_up(plate_mm),
                    plate_side=plate_side,
                    gap=steps_up(settings.module_gap_mm),
                    end=steps_up(settings.end_room_mm),
                    side=steps_up(settings.side_room_mm),
                    layer_gap=steps_up(settings.layer_gap_mm),
                )
            )
    return tuple(stands)


@dataclass(frozen=True, kw_only=True, slots=True)
class Unit:
    """What is placed as one: a module with the plate it needs, or a pair with a plate between. `at` is its lowest corner.

    A lone module has its plate on the side of the greater coordinate. `number` counts units along their row.
    """

    stand: Stand
    count: int
    at: Steps
    number: int = 0
    layer: int = 1

    @property
    def size(self) -> Steps:
        """Its block, with its plate."""
        return unit_size(self.stand, self.count)

    def modules(self) -> list[PlacedModule]:
        """Its modules in millimetres, from the same origin as `at`."""
        stand, axis = self.stand, self.stand.pairs_axis
        lift = stand.tall - stand.size[Z]
        placed = []
        for index in range(self.count):
            low = [self.at[X], self.at[Y], self.at[Z] + lift]
            if axis is not None:
                low[axis] += index * (stand.size[axis] + stand.plate)
            cooled, plus = self._looks(index)
            placed.append(
                PlacedModule(
                    module=stand.kind.module,
                    block=block_of((low[0], low[1], low[2]), stand.size),
                    attitude=stand.attitude,
                    cooled_face=cooled,
                    plus_end=plus,
                    layer=self.layer,
                )
            )
        return placed

    def _looks(self, index: int) -> tuple[Look, Look]:
        """Where cooled face and plus end look. Neighbours alternate where both ways are allowed, so that bars are short.

        On a long edge the sense plug, at the greater width, is up: that leaves one plus end for each cooled face
        (`module_places`). In a pair the cooled faces look at the plate between, so the plus ends are opposite.
        """
        stand = self.stand
        is_greater = index % 2 == 0 if stand.pairs_axis is not None else self.number % 2 == 0
        if stand.attitude == "flat":
            ends: tuple[Look, Look] = ("rear", "front") if stand.end_axis == X else ("right", "left")
            return "down", ends[0] if is_greater else ends[1]
        faces: tuple[Look, Look] = ("rear", "front") if stand.plate_axis == X else ("right", "left")
        cooled = faces[0] if is_greater else faces[1]
        if stand.attitude == "short end":
            return cooled, "up" if is_greater else "down"
        return cooled, PLUS_END_ON_EDGE[cooled]

    def plates(self) -> list[Block]:
        """Its plate, if it has one."""
        stand, axis = self.stand, self.stand.pairs_axis
        if stand.plate_side == "none":
            return []
        low, size = list(self.at), list(stand.size)
        if axis is None:
            size[Z] = stand.plate
        else:
            low[axis] += stand.size[axis]
            size[axis] = stand.plate
        return [block_of((low[0], low[1], low[2]), (size[0], size[1], size[2]))]


# Plus end of a module on its long edge with the sense plug up: along = up x above, and above looks away from the cooled face.
PLUS_END_ON_EDGE: dict[Look, Look] = {"front": "right", "rear": "left", "left": "front", "right": "rear"}


def unit_size(stand: Stand, count: int) -> Steps:
    """The block of a unit of one or two modules, with its plate."""
    size = [stand.size[X], stand.size[Y], stand.tall]
    if stand.pairs_axis is not None:
        size[stand.pairs_axis] = count * stand.size[stand.pairs_axis] + stand.plate
    return size[0], size[1], size[2]


def block_of(low: Steps, size: Steps) -> Block:
    """A block in millimetres."""
    x, y, z = (value / STEPS_PER_MM for value in low)
    x_max, y_max, z_max = ((value + side) / STEPS_PER_MM for value, side in zip(low, size, strict=True))
    return Block(x, y, z, x_max, y_max, z_max)
