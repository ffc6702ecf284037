"""Equal modules in ten invented spaces: how many we place beside a plain model that is given a minute, and how long it takes."""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

from plain_packing import plain_most

from halfshaft.model.pack import ArrangementSettings
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.bounds import AreaBound
from halfshaft.studies.arrangement.lattice import pieces_of
from halfshaft.studies.arrangement.menus import menu_of
from halfshaft.studies.arrangement.nets import net_blocks, to_search
from halfshaft.studies.arrangement.records import Block, Room
from halfshaft.studies.arrangement.stands import PackedModule, stands_of

PLATE_MM = 8.0
EFFORT = 5.0
SETTINGS = ArrangementSettings(plates="between pairs", layers_max=4)
BARE = SETTINGS.model_copy(update={"plates": "none"})
LONG = PackedModule(module="long", length_mm=355, width_mm=151, height_mm=108, mass_kg=11, attitudes=("flat", "long edge", "short end"))
SQUARE = PackedModule(module="square", length_mm=240, width_mm=220, height_mm=95, mass_kg=9, attitudes=("flat", "long edge"))
SLIM = PackedModule(module="slim", length_mm=590, width_mm=110, height_mm=108, mass_kg=12, attitudes=("flat", "long edge"))


@dataclass(frozen=True, kw_only=True, slots=True)
class Case:
    """One space, as free blocks of length, width, height and the place of their lowest corner; and what goes in."""

    name: str
    blocks: tuple[tuple[float, float, float, float, float, float], ...]
    kind: PackedModule
    settings: ArrangementSettings


CASES = (
    Case(name="boot floor", blocks=((0, -400, 300, 700, 800, 320),), kind=LONG, settings=SETTINGS),
    Case(name="tank bay", blocks=((0, -450, 280, 600, 900, 240),), kind=LONG, settings=SETTINGS),
    Case(name="tunnel", blocks=((0, -210, 200, 1250, 420, 260),), kind=LONG, settings=SETTINGS),
    Case(name="engine bay", blocks=((0, -260, 350, 900, 520, 400),), kind=LONG, settings=SETTINGS),
    Case(name="square well", blocks=((0, -320, 250, 640, 640, 420),), kind=LONG, settings=SETTINGS),
    Case(name="square well, other module", blocks=((0, -320, 250, 640, 640, 420),), kind=SQUARE, settings=BARE),
    Case(name="under the seat", blocks=((0, -545, 290, 420, 1090, 190),), kind=SQUARE, settings=SETTINGS),
    Case(name="beside the tunnel", blocks=((0, -300, 200, 1500, 380, 230),), kind=SLIM, settings=SETTINGS),
    Case(name="L, long leg first", blocks=((0, -500, 300, 450, 1000, 330), (0, -500, 300, 800, 430, 330)), kind=LONG, settings=SETTINGS),
    Case(name="T over a step", blocks=((0, -450, 420, 820, 900, 200), (200, -250, 260, 430, 500, 360)), kind=SQUARE, settings=SETTINGS),
)


def room_of(case: Case) -> tuple[Space, Room]:
    """The space of a case."""
    blocks = tuple(Block(x, y, z, x + length, y + width, z + height) for x, y, z, length, width, height in case.blocks)
    x_max, y_min, y_max = max(b.x_max for b in blocks), min(b.y_min for b in blocks), max(b.y_max for b in blocks)
    space = Space(
        ref="S",
        name=case.name,
        loaded_from="above",
        floor_z_mm=min(b.z_min for b in blocks),
        top_z_mm=max(b.z_max for b in blocks),
        polygon_mm=((0.0, y_min), (x_max, y_min), (x_max, y_max), (0.0, y_max)),
    )
    return space, Room(space="S", blocks=blocks, usable_l=0.0, step_mm=None)


def plain_of(case: Case, *, seconds: float | None = None, time: float | None = None) -> int:
    """What the plain model places, its time shared by the blocks."""
    space, room = room_of(case)
    nets = to_search(net_blocks(space, room, case.settings))
    pieces = pieces_of(stands_of(case.kind, case.settings, PLATE_MM))
    best = 0
    for net in nets:
        free = AreaBound(pieces, net.inner, layers_max=case.settings.layers_max).most()
        share = None if seconds is None else seconds / len(nets)
        best = max(best, plain_most(pieces, net.inner, free, seconds=share, time=time)[0] if free else 0)
    return best


def main(seconds: float) -> None:
    menu_of(*room_of(CASES[0]), (LONG,), SETTINGS, PLATE_MM, 0.01)  # The libraries are loaded before the first clock starts.
    print(
        f"{'space':<28} {'grids':>6} {'CPU s':>6} {'found':>6} {'bound':>6} {'proven lowest':>14} {'CPU s':>6} {'plain, ' + format(seconds, 'g') + ' s':>12}"
    )
    for case in CASES:
        space, room = room_of(case)
        begun = time.process_time()
        grids = menu_of(space, room, (case.kind,), case.settings, PLATE_MM, 0.0)
        first = time.process_time() - begun
        begun = time.process_time()
        menu = menu_of(space, room, (case.kind,), case.settings, PLATE_MM, EFFORT)
        all_of_it = time.process_time() - begun
        lowest = {filling.counts: filling.gap_mm for filling in menu.fillings if filling.gap_mm is not None}
        proven = f"{sum(gap < 0.05 for gap in lowest.values())} of {len(lowest)}"
        plain = plain_of(case, seconds=seconds)
        fewer = "  FEWER" if menu.most < plain else ""
        print(
            f"{case.name:<28} {grids.most:6d} {first:6.3f} {menu.most:6d} {menu.most_bound:6d} {proven:>14} {all_of_it:6.2f} {plain:12d}{fewer}",
            flush=True,
        )


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0)
