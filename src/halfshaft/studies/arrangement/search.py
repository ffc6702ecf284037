"""The whole search: menus of all spaces, side by side on an executor, then the front over them.

First with grids only, for an answer at once; then with proofs. Each menu depends on nothing but its own
space, so it is the same wherever and in whatever order it is made.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import replace

from halfshaft.errors import HalfshaftError
from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.context import Context, context_of
from halfshaft.studies.arrangement.front import front_of
from halfshaft.studies.arrangement.menus import menu_of
from halfshaft.studies.arrangement.records import Block, Filling, Front, Menu, Room
from halfshaft.studies.arrangement.stands import PackedModule
from halfshaft.studies.arrangement.words import spaces_words
from halfshaft.studies.looms.network import Network
from halfshaft.studies.mass import MassResult

Say = Callable[[str], object]
# With more arrangements than this to compare, the first answers come from the lowest boxes only.
COMPARED_AT_ONCE = 1_000_000


def search(
    conversion: Conversion,
    network: Network,
    mass: MassResult,
    rooms: Mapping[str, Room],
    *,
    executor: Executor,
    effort: float,
    say: Say,
) -> Front:
    """The front of a conversion. `effort` goes into each space's proofs, in deterministic seconds; 0: first answers only.

    Raises HalfshaftError where there is nothing to arrange.
    """
    kinds, spaces = kinds_of(conversion), spaces_of(conversion)
    settings, plate_mm = conversion.arrangement, plate_mm_of(conversion)
    context = context_of(conversion, network, mass)
    # Proofs are asked for before the first answers are worked out, so that both are made at the same time.
    asked = [executor.submit(menu_of, space, rooms[space.ref], kinds, settings, plate_mm, effort) for space in spaces if effort > 0]
    quick = [menu_of(space, rooms[space.ref], kinds, settings, plate_mm, 0.0) for space in spaces]
    if not asked:
        return front_of(_with_present(quick, rooms, context), context, settings)
    first = _with_present(quick, rooms, context)
    if math.prod(len(menu.fillings) + 1 for menu in first) > COMPARED_AT_ONCE:
        first = [_lowest_only(menu) for menu in first]
    say(first_words(front_of(first, context, settings)))
    menus: list[Menu] = []
    for number, (space, future) in enumerate(zip(spaces, asked, strict=True), start=1):
        menus.append(future.result())
        say(f"menu of {space.ref} proven as far as it goes, {number} of {len(spaces)}")
    say("comparing every arrangement over the menus")
    front = front_of(_with_present(menus, rooms, context), context, settings)
    say(f"{len(front.arrangements)} best of {front.looked_at} arrangements")
    return front


def _lowest_only(menu: Menu) -> Menu:
    """The lowest box for each number of modules, at one place: few enough for an answer at once."""
    lowest = {filling.counts: filling for filling in reversed(menu.fillings) if "lowest" in filling.kinds}
    return replace(menu, fillings=tuple(sorted(lowest.values(), key=lambda filling: filling.counts)))


def first_words(front: Front) -> str:
    """What can be said before anything is proven: the extremes."""
    if not front.arrangements:
        return f"first answers: none. {front.nearest}".rstrip()
    height = min(item.price.cg_height_mm for item in front.arrangements)
    split = min(front.arrangements, key=lambda item: (item.price.split_off_percent, item.number))
    return (
        f"first answers: {len(front.arrangements)} best of {front.looked_at}; centre of gravity from {height:.0f} mm, "
        f"nearest to the split {spaces_words(split.fillings)} with {split.front_percent:.1f} %"
    )


def spaces_of(conversion: Conversion) -> tuple[Space, ...]:
    """Spaces in which boxes may stand."""
    spaces = tuple(sorted((space for space in conversion.spaces if space.for_batteries), key=lambda space: space.ref))
    if not spaces:
        raise HalfshaftError("no space is for batteries: set for_batteries in spaces.toml for those in which boxes may stand")
    return spaces


def kinds_of(conversion: Conversion) -> tuple[PackedModule, ...]:
    """Module types that may be used: those listed, else those fitted now, else the only one there is."""
    fitted = {module.module for box in conversion.boxes for module in box.modules}
    wanted = set(conversion.arrangement.modules) or fitted or {kind.part for kind in conversion.modules}
    if not wanted:
        raise HalfshaftError("no battery module is described: modules.toml holds none")
    if len(wanted) > 1 and not conversion.arrangement.modules and not fitted:
        raise HalfshaftError(
            f"name the modules to arrange, of {', '.join(sorted(wanted))}: set modules under [arrangement] in conversion.toml"
        )
    return tuple(
        PackedModule(
            module=kind.part,
            length_mm=conversion.part[kind.part].length_mm,
            width_mm=conversion.part[kind.part].width_mm,
            height_mm=conversion.part[kind.part].height_mm,
            mass_kg=conversion.part[kind.part].mass_kg,
            attitudes=kind.attitudes,
        )
        for kind in sorted(conversion.modules, key=lambda kind: kind.part)
        if kind.part in wanted
    )


def plate_mm_of(conversion: Conversion) -> float:
    """Thickness of a coolant plate: the smallest side of its block; nought where none lies in the boxes."""
    settings = conversion.arrangement
    if settings.plates == "none":
        return 0.0
    part = conversion.part.get(settings.plate or "")
    if part is None:
        raise HalfshaftError("coolant plates are wanted but no plate is named: set plate under [arrangement] in conversion.toml")
    return min(part.length_mm, part.width_mm, part.height_mm)


def _with_present(menus: list[Menu], rooms: Mapping[str, Room], context: Context) -> list[Menu]:
    """Boxes that are described now are offered too, where they stand in the free room: what is kept need not be made again."""
    present = {filling.space: filling for filling in context.present}
    offered = []
    for menu in menus:
        now = present.get(menu.space)
        if now is None or not _is_in(now.box, rooms[menu.space]) or any(_is_alike(now, filling) for filling in menu.fillings):
            offered.append(menu)
        else:
            most = max(menu.most, now.count)
            offered.append(replace(menu, fillings=(now, *menu.fillings), most=most, most_bound=max(most, menu.most_bound), refused=""))
    return offered


def _is_alike(one: Filling, other: Filling) -> bool:
    return one.box == other.box and one.counts == other.counts and {m.block for m in one.modules} == {m.block for m in other.modules}


def _is_in(box: Block, room: Room) -> bool:
    """Whether a box lies within one free block."""
    return any(
        block.x_min <= box.x_min
        and block.y_min <= box.y_min
        and block.z_min <= box.z_min
        and box.x_max <= block.x_max
        and box.y_max <= block.y_max
        and box.z_max <= block.z_max
        for block in room.blocks
    )
