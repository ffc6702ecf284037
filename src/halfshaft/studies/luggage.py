"""How many litres of luggage the car takes: its luggage rooms less what battery boxes take of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Protocol

from halfshaft.model.conversion import Conversion

MM3_PER_L = 1e6


class _Block(Protocol):
    """A block along the axes of the car."""

    @property
    def x_min_mm(self) -> float: ...
    @property
    def y_min_mm(self) -> float: ...
    @property
    def z_min_mm(self) -> float: ...
    @property
    def x_max_mm(self) -> float: ...
    @property
    def y_max_mm(self) -> float: ...
    @property
    def z_max_mm(self) -> float: ...


def donor_luggage_l(conversion: Conversion) -> float:
    """Litres of the donor's luggage rooms."""
    return _litres([room for room in conversion.luggage_rooms if room.is_in in ("donor", "both")], ())


def luggage_left_l(conversion: Conversion) -> float:
    """Litres of the finished car's luggage rooms that no battery box takes. What two rooms or two boxes share counts once."""
    return _litres([room for room in conversion.luggage_rooms if room.is_in in ("finished", "both")], conversion.boxes)


def _litres(rooms: Sequence[_Block], taken: Sequence[_Block]) -> float:
    """Volume of the union of some blocks less the union of others: all faces cut space into cells, and each cell lies in a block or not."""
    cuts = [sorted({side for block in (*rooms, *taken) for side in _sides(block)[axis]}) for axis in range(3)]
    volume_mm3 = 0.0
    for cell in itertools.product(*(itertools.pairwise(sides) for sides in cuts)):
        middle = [(low + high) / 2 for low, high in cell]
        if any(_holds(room, middle) for room in rooms) and not any(_holds(block, middle) for block in taken):
            volume_mm3 += math.prod(high - low for low, high in cell)
    return volume_mm3 / MM3_PER_L


def _sides(block: _Block) -> tuple[tuple[float, float], ...]:
    return (block.x_min_mm, block.x_max_mm), (block.y_min_mm, block.y_max_mm), (block.z_min_mm, block.z_max_mm)


def _holds(block: _Block, place: Sequence[float]) -> bool:
    return all(low < at < high for (low, high), at in zip(_sides(block), place, strict=True))
