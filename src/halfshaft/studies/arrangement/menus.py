"""What may stand in one space: for each number of modules the lowest and the most compact box that was found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.pack import ArrangementSettings
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.grids import Grid, Layout, best_grids, grams, grids_of, side_by_side, table_of
from halfshaft.studies.arrangement.records import Block, Filling, Menu, PlacedModule, Room
from halfshaft.studies.arrangement.stands import (
    STEPS_PER_MM,
    PackedModule,
    Stand,
    Steps,
    X,
    Y,
    Z,
    block_of,
    stands_of,
    steps_down,
    steps_up,
)

Counts = tuple[tuple[str, int], ...]
# A box that can be moved further than this along the car is offered at both ends of its way.
MOVES_MM = 20.0


@dataclass(frozen=True, kw_only=True, slots=True)
class NetBlock:
    """A free block less the room kept round a box: its lowest corner, its size, and the size left inside the walls of a box."""

    low: Steps
    size: Steps
    inner: Steps


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """A box that fits in a block: twice its modules' height by mass, its outside volume, and the box."""

    sum_2z: int
    volume: int
    place: int
    layout: Layout

    def lowest(self) -> tuple[int, int, int]:
        """Least is lowest; of equally low ones the smaller box."""
        return self.sum_2z, self.volume, self.place

    def most_compact(self) -> tuple[int, int, int]:
        """Least is most compact; of equally large ones the lower."""
        return self.volume, self.sum_2z, self.place


def net_blocks(space: Space, room: Room, settings: ArrangementSettings) -> tuple[NetBlock, ...]:
    """The blocks of a room less the gap at their sides and top, the feet below, and the plugs' room on the side they look to."""
    gap = settings.space_gap_mm
    plugs = max(gap, settings.plug_room_mm)
    sides = {"front": gap, "rear": gap, "left": gap, "right": gap, "above": gap}
    if space.plugs_look:
        sides[space.plugs_look] = plugs
    walls = 2 * steps_up(settings.wall_mm)
    over_under = steps_up(settings.under_mm) + steps_up(settings.over_mm)
    nets = set()
    for block in room.blocks:
        low = (steps_up(block.x_min + sides["front"]), steps_up(block.y_min + sides["left"]), steps_up(block.z_min + settings.feet_mm))
        high = (steps_down(block.x_max - sides["rear"]), steps_down(block.y_max - sides["right"]), steps_down(block.z_max - sides["above"]))
        size = (high[X] - low[X], high[Y] - low[Y], high[Z] - low[Z])
        inner = (size[X] - walls, size[Y] - walls, size[Z] - walls - over_under)
        if min(inner) > 0:
            nets.add((low, size, inner))
    return tuple(NetBlock(low=low, size=size, inner=inner) for low, size, inner in sorted(nets))


def menu_of(
    space: Space, room: Room, kinds: tuple[PackedModule, ...], settings: ArrangementSettings, plate_mm: float, effort: float
) -> Menu:
    """The menu of one space.

    `plate_mm` is the thickness of a coolant plate; `effort` the deterministic time that may go into proofs, about seconds
    of one core; 0: cheap bounds only.
    """
    blocks = net_blocks(space, room, settings)
    stands = tuple(stand for kind in kinds for stand in stands_of(kind, settings, plate_mm))
    best = best_boxes(blocks, stands, settings)
    fillings = []
    for counts in sorted(best):
        lowest, compact = best[counts]
        if lowest == compact:
            fillings += _fillings(space, settings, blocks, counts, lowest, ("lowest", "most compact"))
        else:
            fillings += _fillings(space, settings, blocks, counts, lowest, ("lowest",))
            fillings += _fillings(space, settings, blocks, counts, compact, ("most compact",))
    most = max((filling.count for filling in fillings), default=0)
    refused = "" if fillings else refusal(space, room, blocks, stands, settings)
    return Menu(space=space.ref, fillings=tuple(fillings), most=most, most_bound=most, refused=refused)


def refusal(space: Space, room: Room, blocks: tuple[NetBlock, ...], stands: tuple[Stand, ...], settings: ArrangementSettings) -> str:
    """Why not one module fits, in a sentence."""
    if not room.blocks:
        return f"{space.name} has no free room: keep-outs fill it."
    if not stands:
        return "No module type may be used."
    if not blocks:
        return f"{space.name} is smaller than the room that is kept round a box, its feet and its walls."
    largest = max(blocks, key=lambda net: (net.inner[X] * net.inner[Y] * net.inner[Z], net.low))
    sides = " x ".join(f"{side / STEPS_PER_MM:.0f}" for side in largest.size)
    least = [(stand.extent(X, 1) + 2 * stand.wall(X), stand.extent(Y, 1) + 2 * stand.wall(Y), stand.tall) for stand in stands]
    short = min(least, key=lambda need: (sum(max(0, side - room_for) for side, room_for in zip(need, largest.inner, strict=True)), need))
    missing = [
        f"{(side - room_for) / STEPS_PER_MM:.0f} mm in {word}"
        for side, room_for, word in zip(short, largest.inner, ("length", "width", "height"), strict=True)
        if side > room_for
    ]
    return f"No module fits into {space.name}: its largest free block takes a box of {sides} mm; a box for one module lacks {' and '.join(missing)}."


def best_boxes(blocks: tuple[NetBlock, ...], stands: tuple[Stand, ...], settings: ArrangementSettings) -> dict[Counts, tuple[Found, Found]]:
    """By counts of module types, the lowest and the most compact box of one grid or two over all blocks."""
    best: dict[Counts, tuple[Found, Found]] = {}
    for counts, found in _boxes(blocks, stands, settings):
        if counts not in best:
            best[counts] = found, found
        else:
            low, compact = best[counts]
            best[counts] = (
                min(low, found, key=Found.lowest),
                min(compact, found, key=Found.most_compact),
            )
    return best


def _boxes(blocks: tuple[NetBlock, ...], stands: tuple[Stand, ...], settings: ArrangementSettings) -> Iterator[tuple[Counts, Found]]:
    """Candidates: per block, counts and pair of grid counts the lowest and the most compact."""
    if not blocks or not stands:
        return
    room = (max(net.inner[X] for net in blocks), max(net.inner[Y] for net in blocks), max(net.inner[Z] for net in blocks))
    by_kind: dict[str, dict[int, list[Grid]]] = {}
    for stand in stands:
        grids = grids_of(stand, room, layers_max=settings.layers_max, count_max=settings.modules_max or room[X] * room[Y])
        of_kind = by_kind.setdefault(stand.kind.module, {})
        for count, found in best_grids(grids).items():
            of_kind.setdefault(count, []).extend(found)
    tables = {module: {count: table_of(grids) for count, grids in sorted(of_kind.items())} for module, of_kind in by_kind.items()}
    for module, of_kind in by_kind.items():
        for count, grids in sorted(of_kind.items()):
            yield from _best_of(blocks, settings, ((module, count),), tables[module][count][:, [0, 1, 2, 5]], [grids], X)
    names = list(by_kind)
    most = settings.modules_max or sum(max(of_kind, default=0) for of_kind in by_kind.values())
    for index, one in enumerate(names):
        for two in names[index:]:
            for first, grids in by_kind[one].items():
                for second, others in by_kind[two].items():
                    if first + second > most or (one == two and first > second):
                        continue
                    counts = ((one, first + second),) if one == two else ((one, first), (two, second))
                    for axis in (X, Y):
                        table = side_by_side(tables[one][first], tables[two][second], axis)
                        yield from _best_of(blocks, settings, counts, table, [grids, others], axis)


def _best_of(
    blocks: tuple[NetBlock, ...], settings: ArrangementSettings, counts: Counts, table: object, grids: list[list[Grid]], axis: int
) -> Iterator[tuple[Counts, Found]]:
    """Of boxes in a table (inner x, y, z, height by mass; a row each) the lowest and the most compact in each block."""
    import numpy as np

    measures = np.asarray(table)
    walls = 2 * steps_up(settings.wall_mm)
    over_under = steps_up(settings.under_mm) + steps_up(settings.over_mm)
    volume = (measures[:, 0] + walls) * (measures[:, 1] + walls) * (measures[:, 2] + walls + over_under)
    mass = sum(count * grams(pool[0].stand) for (_, count), pool in zip(_spread(counts, grids), grids, strict=True))
    under = steps_up(settings.wall_mm) + steps_up(settings.under_mm)
    for place, net in enumerate(blocks):
        fits = np.flatnonzero((measures[:, 0] <= net.inner[X]) & (measures[:, 1] <= net.inner[Y]) & (measures[:, 2] <= net.inner[Z]))
        if not len(fits):
            continue
        heights, volumes = measures[fits, 3], volume[fits]
        lowest, compact = np.lexsort((volumes, heights))[0], np.lexsort((heights, volumes))[0]
        for index in sorted({int(lowest), int(compact)}):
            row = int(fits[index])
            chosen = (grids[0][row],) if len(grids) == 1 else (grids[0][row // len(grids[1])], grids[1][row % len(grids[1])])
            base = 2 * mass * (net.low[Z] + under)
            yield (
                counts,
                Found(sum_2z=int(heights[index]) + base, volume=int(volumes[index]), place=place, layout=Layout(grids=chosen, axis=axis)),
            )


def _spread(counts: Counts, grids: list[list[Grid]]) -> list[tuple[str, int]]:
    """Module type and count of each grid."""
    return [(pool[0].stand.kind.module, pool[0].count) for pool in grids]


def _fillings(
    space: Space, settings: ArrangementSettings, blocks: tuple[NetBlock, ...], counts: Counts, found: Found, kinds: tuple[str, ...]
) -> list[Filling]:
    """A box at its lowest place, near the middle of the car; foremost and rearmost where it can be moved along the car."""
    wall, under = steps_up(settings.wall_mm), steps_up(settings.under_mm)
    inner = found.layout.inner
    size = (inner[X] + 2 * wall, inner[Y] + 2 * wall, inner[Z] + 2 * wall + under + steps_up(settings.over_mm))
    base = blocks[found.place].low[Z]
    places = sorted(
        place
        for net in blocks
        if net.low[Z] == base and all(a <= b for a, b in zip(size, net.size, strict=True))
        for place in _places(net, size)
    )
    ends = [places[0], places[-1]] if places[-1][X] - places[0][X] > MOVES_MM * STEPS_PER_MM else [_middle(blocks[found.place], size)]
    fillings = []
    for at in ends:
        units = [
            unit.__class__(
                stand=unit.stand,
                count=unit.count,
                at=(at[X] + wall + unit.at[X], at[Y] + wall + unit.at[Y], base + wall + under + unit.at[Z]),
                number=unit.number,
                layer=unit.layer,
            )
            for unit in found.layout.units()
        ]
        modules: list[PlacedModule] = [module for unit in units for module in unit.modules()]
        plates: list[Block] = [plate for unit in units for plate in unit.plates()]
        fillings.append(
            Filling(
                space=space.ref,
                counts=counts,
                box=block_of((at[X], at[Y], base), size),
                modules=tuple(modules),
                plates=tuple(plates),
                kinds=kinds,
                gap_mm=None,
                how="; ".join(grid_words(grid) for grid in found.layout.grids),
            )
        )
    return fillings


def _places(net: NetBlock, size: Steps) -> tuple[tuple[int, int], tuple[int, int]]:
    """Foremost and rearmost place of a box in a block, as near the middle of the car as it can be."""
    y = _toward(net.low[Y], net.low[Y] + net.size[Y] - size[Y], -size[Y] // 2)
    return (net.low[X], y), (net.low[X] + net.size[X] - size[X], y)


def _middle(net: NetBlock, size: Steps) -> tuple[int, int]:
    """The place in the middle of the little way that there is, on whole millimetres where it may be."""
    (x_low, y), (x_high, _) = _places(net, size)
    middle = (x_low + x_high) // 2
    whole = middle // STEPS_PER_MM * STEPS_PER_MM
    return (whole if whole >= x_low else middle), y


def _toward(low: int, high: int, wanted: int) -> int:
    return max(low, min(high, wanted))


def grid_words(grid: Grid) -> str:
    """A grid as one would say it."""
    words = {"flat": "lying flat", "long edge": "on the long edge", "short end": "on the short end"}
    layers = f" in {grid.layers} layers" if grid.layers > 1 else ""
    plates = {"none": "", "under": ", a plate under each", "beside": ", in pairs with a plate between"}[grid.stand.plate_side]
    return f"{grid.count} {words[grid.stand.attitude]}, {grid.long} x {grid.rows}{layers}{plates}"
