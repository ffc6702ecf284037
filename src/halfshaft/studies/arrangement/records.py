"""What the steps of a search for arrangements hand to each other: rooms, fillings, menus, arrangements."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.boxes import Attitude, Look


@dataclass(frozen=True, order=True, slots=True)
class Block:
    """An axis-aligned block in car coordinates, mm."""

    x_min: float
    y_min: float
    z_min: float
    x_max: float
    y_max: float
    z_max: float

    @property
    def size(self) -> tuple[float, float, float]:
        """Its sides along x, y and z."""
        return self.x_max - self.x_min, self.y_max - self.y_min, self.z_max - self.z_min

    @property
    def centre(self) -> tuple[float, float, float]:
        """Its middle."""
        return (self.x_min + self.x_max) / 2, (self.y_min + self.y_max) / 2, (self.z_min + self.z_max) / 2

    @property
    def volume_l(self) -> float:
        """Its volume in litres."""
        x, y, z = self.size
        return x * y * z / 1e6

    def shared_l(self, other: Block) -> float:
        """Litres that two blocks share."""
        x = min(self.x_max, other.x_max) - max(self.x_min, other.x_min)
        y = min(self.y_max, other.y_max) - max(self.y_min, other.y_min)
        z = min(self.z_max, other.z_max) - max(self.z_min, other.z_min)
        return max(x, 0.0) * max(y, 0.0) * max(z, 0.0) / 1e6


@dataclass(frozen=True, kw_only=True, slots=True)
class Room:
    """What a space leaves free.

    `blocks` cannot be grown. Where `step_mm` is None they are exact and all: every block that lies in the space and clear of its
    keep-outs lies in one of them. Where the space has slanted edges or is a mesh they are cut to a grid of `step_mm`, always on
    the safe side, and are a choice of the largest and most different ones.
    """

    space: str
    blocks: tuple[Block, ...]
    usable_l: float
    step_mm: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedModule:
    """One module of a filling; the block is the module's own, without any gap."""

    module: str
    block: Block
    attitude: Attitude
    cooled_face: Look
    plus_end: Look
    layer: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Filling:
    """One box in one space with some modules in it.

    `box` is its outside, without its feet. `kinds` says what it is best at: `lowest`, `most compact`, or both.
    `gap_mm` is how much lower the mean height of its modules could be at most for all that is proven; 0.0: proven lowest.
    It is None for a filling that is not offered as the lowest.
    """

    space: str
    counts: tuple[tuple[str, int], ...]
    box: Block
    modules: tuple[PlacedModule, ...]
    plates: tuple[Block, ...]
    kinds: tuple[str, ...]
    gap_mm: float | None
    how: str

    @property
    def count(self) -> int:
        """Modules in it."""
        return sum(count for _, count in self.counts)


@dataclass(frozen=True, kw_only=True, slots=True)
class Menu:
    """What may stand in one space: for each count the lowest and the most compact filling found.

    `most` is the largest count found and `most_bound` the count that is proven not to be exceeded.
    `refused` says why nothing fits, where nothing does. What is proven is proven over the free blocks of the room; where
    these lie on a grid, `grid_mm` is its step.
    """

    space: str
    fillings: tuple[Filling, ...]
    most: int
    most_bound: int
    refused: str
    grid_mm: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Price:
    """What an arrangement costs and gives; smaller is better in all but the energy. These are the goals of the front."""

    cg_height_mm: float
    split_off_percent: float
    luggage_lost_l: float
    boxes: int
    hv_cable_m: float
    yaw_change_kg_m2: float
    energy_kwh: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Arrangement:
    """One filling per space that is used, what the car then is, and what that costs.

    `battery_kg` are its modules, plates and boxes. `order` is that of the spaces along the pack's cable, plus end first; the service disconnect comes after
    `before_disconnect` of them, and `live_v` are the most volts that stay live on one side of it, all cells full.
    """

    number: int
    fillings: tuple[Filling, ...]
    price: Price
    total_kg: float
    front_kg: float
    rear_kg: float
    front_percent: float
    best_at: tuple[str, ...]
    battery_kg: float = 0.0
    order: tuple[str, ...] = ()
    before_disconnect: int | None = None
    live_v: float = 0.0
    cost_eur: float = 0.0
    hours: float = 0.0

    @property
    def counts(self) -> tuple[tuple[str, int], ...]:
        """Modules in each space that is used."""
        return tuple((filling.space, filling.count) for filling in self.fillings)


@dataclass(frozen=True, kw_only=True, slots=True)
class Front:
    """All best arrangements: no other one over the same menus is at least as good in every goal and better in one.

    Goals are compared in steps (`Context.steps`): what differs by less cannot be told apart on the car. `present` is
    the arrangement that is described now, priced in the same way; its number is that of the best one it is equal to, or nought.

    `looked_at` counts the arrangements that were compared, `refused` what was left out by which hard limit, and
    `nearest` says in a sentence what comes nearest where a target or limit is met by none.
    """

    menus: tuple[Menu, ...]
    arrangements: tuple[Arrangement, ...]
    target_front_percent: float
    looked_at: int
    refused: tuple[tuple[str, int], ...]
    nearest: str
    present: Arrangement | None = None
