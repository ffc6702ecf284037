"""In which order the string passes the modules of a box, and which way round each one stands, so that bars are short.

Up to ten modules: exact (`pack.shortest`). More: the nearest next one, then
improved by turning stretches of the order round as long as that helps; short, not proven shortest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfshaft.model.boxes import Look, ModulePlace, ModuleType
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.records import Block, Filling, PlacedModule
from halfshaft.studies.module_places import DIRECTIONS, Spot, minus_stud, plus_stud
from halfshaft.studies.pack.module_order import OPPOSITE
from halfshaft.studies.pack.shortest import Costs, Stand, least_order

EXACT_MOST = 10
# Both studs of one module, plus first.
Studs = tuple[Spot, Spot]


def in_string_order(filling: Filling, space: Space, kinds: Mapping[str, ModuleType]) -> tuple[PlacedModule, ...]:
    """The modules of a box along the string, plus end first, turned so that bars come out short.

    Only modules that lie flat are turned end for end: standing on an edge, the sense plug would come to lie below.
    """
    modules = sorted(filling.modules, key=lambda item: (item.block, item.module))
    ways = [[item, _turned(item)] if item.attitude == "flat" else [item] for item in modules]
    studs = [[studs_of(way, kinds[way.module]) for way in both] for both in ways]
    plugs = plugs_at(filling.box, space)
    order = _exact(studs, plugs) if len(modules) <= EXACT_MOST else _improved(studs, plugs)
    return tuple(ways[index][way] for index, way in order)


def _turned(module: PlacedModule) -> PlacedModule:
    return PlacedModule(
        module=module.module,
        block=module.block,
        attitude=module.attitude,
        cooled_face=module.cooled_face,
        plus_end=OPPOSITE[module.plus_end],
        layer=module.layer,
    )


def plugs_at(box: Block, space: Space) -> Spot:
    """Where the high-voltage plugs of a box are taken to be: in the middle of the wall that they are said to be in, high up."""
    x, y, _ = box.centre
    look: Look = "up" if space.plugs_look == "above" else space.plugs_look or "rear"
    direction = DIRECTIONS[look]
    half_x, half_y = box.size[0] / 2, box.size[1] / 2
    return x + direction[0] * half_x, y + direction[1] * half_y, box.z_max


def place_of(module: PlacedModule, *, ref: str, order: int, string: int = 1) -> ModulePlace:
    """A placed module as it is written down."""
    block = module.block
    return ModulePlace(
        ref=ref, module=module.module, string=string, order_in_string=order,
        x_min_mm=block.x_min, y_min_mm=block.y_min, z_min_mm=block.z_min, x_max_mm=block.x_max, y_max_mm=block.y_max, z_max_mm=block.z_max,
        attitude=module.attitude, cooled_face=module.cooled_face, plus_end=module.plus_end,
    )  # fmt: skip


def studs_of(module: PlacedModule, kind: ModuleType) -> Studs:
    """Plus and minus stud; where the type does not say, the middles of its two ends."""
    place = place_of(module, ref="M", order=1)
    plus, minus = plus_stud(place, kind), minus_stud(place, kind)
    if plus is not None and minus is not None:
        return plus, minus
    middle, size = module.block.centre, module.block.size
    along = DIRECTIONS[module.plus_end]
    ends = [tuple(middle[axis] + sign * along[axis] * size[axis] / 2 for axis in range(3)) for sign in (1, -1)]
    return (ends[0][0], ends[0][1], ends[0][2]), (ends[1][0], ends[1][1], ends[1][2])


def bar_mm(start: Spot, end: Spot) -> float:
    """A bar along the sides of a box, not across."""
    return sum(abs(a - b) for a, b in zip(start, end, strict=True))


def _exact(studs: Sequence[Sequence[Studs]], plugs: Spot) -> Sequence[Stand]:
    """The order with the shortest bars of all."""
    costs = Costs(
        first=lambda stand: bar_mm(plugs, studs[stand[0]][stand[1]][0]),
        between=lambda one, other, _: bar_mm(studs[one[0]][one[1]][1], studs[other[0]][other[1]][0]),
        last=lambda stand: bar_mm(studs[stand[0]][stand[1]][1], plugs),
    )
    order = least_order([len(both) for both in studs], costs)
    assert order is not None  # every order is allowed
    return order


def _improved(studs: Sequence[Sequence[Studs]], plugs: Spot) -> list[tuple[int, int]]:
    """Nearest next one first; then every stretch is tried the other way round until nothing gets shorter."""
    left = set(range(len(studs)))
    at, order = plugs, []
    while left:
        index = min(left, key=lambda number: (min(bar_mm(at, plus) for plus, _ in studs[number]), number))
        left.remove(index)
        order.append(index)
        at = min(studs[index], key=lambda both: bar_mm(at, both[0]))[1]
    best = _ways_round(order, studs, plugs)
    improves = True
    while improves:
        improves = False
        for start in range(len(order)):
            for end in range(start + 2, len(order) + 1):
                tried = [*order[:start], *reversed(order[start:end]), *order[end:]]
                found = _ways_round(tried, studs, plugs)
                if found[0] < best[0] - 1e-6:
                    order, best, improves = tried, found, True
    return best[1]


def _ways_round(order: Sequence[int], studs: Sequence[Sequence[Studs]], plugs: Spot) -> tuple[float, list[tuple[int, int]]]:
    """The best way round for each module of a given order, and the length of bars."""
    ways: list[tuple[float, list[tuple[int, int]]]] = [
        (bar_mm(plugs, plus), [(order[0], way)]) for way, (plus, _) in enumerate(studs[order[0]])
    ]
    for index in order[1:]:
        ways = [
            min((length + bar_mm(studs[path[-1][0]][path[-1][1]][1], plus), [*path, (index, way)]) for length, path in ways)
            for way, (plus, _) in enumerate(studs[index])
        ]
    return min((length + bar_mm(studs[path[-1][0]][path[-1][1]][1], plugs), path) for length, path in ways)
