"""What holds of every filling of every menu, whatever the room, the module and how boxes are built."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
from fillings import CASES, PLATE_MM, Case, plain_of, room_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfshaft.files.folder import read_folder
from halfshaft.model.boxes import ModulePlace
from halfshaft.model.pack import ArrangementSettings
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.menus import menu_of
from halfshaft.studies.arrangement.records import Block, Filling, Menu, PlacedModule, Room
from halfshaft.studies.arrangement.stands import PackedModule
from halfshaft.studies.module_places import axes_of

CLOSE = 0.011  # places are whole hundredths of a millimetre, what needs room rounded up and what gives it rounded down
SIDES = (("x_min", "x_max"), ("y_min", "y_max"), ("z_min", "z_max"))
REPO = Path(__file__).parents[2]


def a_space(blocks: tuple[Block, ...], plugs: str = "") -> Space:
    return Space(
        ref="S", name="space", loaded_from="above", floor_z_mm=0.0, top_z_mm=2000.0, polygon_mm=((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)),
        plugs_look=plugs,
    )  # fmt: skip


def gaps(one: Block, other: Block) -> tuple[float, float, float]:
    """Free length between two blocks along each axis; negative where they share some of it."""
    x, y, z = (max(getattr(one, low), getattr(other, low)) - min(getattr(one, high), getattr(other, high)) for low, high in SIDES)
    return x, y, z


def contains(outer: Block, inner: Block) -> bool:
    return all(
        getattr(outer, low) <= getattr(inner, low) + CLOSE and getattr(inner, high) <= getattr(outer, high) + CLOSE for low, high in SIDES
    )


def axis_of(look: str) -> int:
    return {"front": 0, "rear": 0, "left": 1, "right": 1, "up": 2, "down": 2}[look]


def block_kept(module: PlacedModule, how: ArrangementSettings) -> Block:
    """A module with half the gap at its sides and the end room beyond its ends, level."""
    room = [how.module_gap_mm / 2] * 2
    if axis_of(module.plus_end) < 2:
        room[axis_of(module.plus_end)] = how.end_room_mm
    b = module.block
    return Block(b.x_min - room[0], b.y_min - room[1], b.z_min, b.x_max + room[0], b.y_max + room[1], b.z_max)


def hold_laws(menu: Menu, room: Room, space: Space, kinds: tuple[PackedModule, ...], how: ArrangementSettings) -> None:
    kind = {item.module: item for item in kinds}
    for filling in menu.fillings:
        stands_in_the_room(filling, room, space, how)
        tally = dict.fromkeys(kind, 0)
        for module in filling.modules:
            tally[module.module] += 1
            is_turned_rightly(module, kind[module.module])
            lies_in_its_box(module, filling.box, how)
            assert 1 <= module.layer <= how.layers_max
        assert tuple((name, count) for name, count in sorted(tally.items()) if count) == filling.counts
        keep_apart(filling, how)
        plates_touch(filling, how)
        assert filling.kinds
        assert (filling.gap_mm is not None) == ("lowest" in filling.kinds)
    assert menu.most == max((filling.count for filling in menu.fillings), default=0) <= menu.most_bound
    assert bool(menu.refused) == (not menu.fillings)
    the_lowest_rise(menu, kind)


def stands_in_the_room(filling: Filling, room: Room, space: Space, how: ArrangementSettings) -> None:
    gap, box = how.space_gap_mm, filling.box
    kept = Block(box.x_min - gap, box.y_min - gap, box.z_min - how.feet_mm, box.x_max + gap, box.y_max + gap, box.z_max + gap)
    assert any(contains(block, kept) for block in room.blocks)
    half, plugs = (box.y_max - box.y_min) / 4, max(gap, how.plug_room_mm)
    if space.plugs_look == "rear":
        before = Block(box.x_max, box.y_min + half, box.z_min, box.x_max + plugs, box.y_max - half, box.z_max)
        assert any(contains(block, before) for block in room.blocks)


def is_turned_rightly(module: PlacedModule, kind: PackedModule) -> None:
    assert module.attitude in kind.attitudes
    b = module.block
    place = ModulePlace(
        ref="M", module="M", order_in_string=1, x_min_mm=b.x_min, y_min_mm=b.y_min, z_min_mm=b.z_min, x_max_mm=b.x_max,
        y_max_mm=b.y_max, z_max_mm=b.z_max, cooled_face=module.cooled_face, plus_end=module.plus_end,
    )  # fmt: skip
    axes = axes_of(place)
    assert axes is not None
    for axis, side in zip(axes, (kind.length_mm, kind.width_mm, kind.height_mm), strict=True):
        assert b.size[next(index for index, step in enumerate(axis) if step)] == pytest.approx(side, abs=CLOSE)
    up = {"flat": axes[2], "long edge": axes[1], "short end": (0, 0, abs(axes[0][2]))}[module.attitude]
    assert up == (0, 0, 1)


def lies_in_its_box(module: PlacedModule, box: Block, how: ArrangementSettings) -> None:
    room = [how.side_room_mm] * 2
    if axis_of(module.plus_end) < 2:
        room[axis_of(module.plus_end)] = how.end_room_mm
    x, y = (side + how.wall_mm for side in room)
    low, high = how.wall_mm + how.under_mm, how.wall_mm + how.over_mm
    inside = Block(box.x_min + x, box.y_min + y, box.z_min + low, box.x_max - x, box.y_max - y, box.z_max - high)
    assert contains(inside, module.block)


def keep_apart(filling: Filling, how: ArrangementSettings) -> None:
    for one, other in itertools.combinations(filling.modules, 2):
        bare = gaps(one.block, other.block)
        assert max(bare) >= -CLOSE
        if any(max(gaps(plate, one.block)) < CLOSE and max(gaps(plate, other.block)) < CLOSE for plate in filling.plates):
            continue  # one plate between two modules is what keeps them apart
        level = gaps(block_kept(one, how), block_kept(other, how))
        assert max(level[0], level[1]) >= -3 * CLOSE or bare[2] >= how.layer_gap_mm - CLOSE
        if one.layer == other.layer and not one.block.z_max < other.block.z_min and not other.block.z_max < one.block.z_min:
            assert max(bare[0], bare[1]) >= how.module_gap_mm - 3 * CLOSE
    for plate in filling.plates:
        assert contains(filling.box, plate)
        assert all(max(gaps(plate, module.block)) >= -CLOSE for module in filling.modules)


def plates_touch(filling: Filling, how: ArrangementSettings) -> None:
    if how.plates == "none":
        assert not filling.plates
        return
    for module in filling.modules:
        if how.plates == "under" and module.attitude != "flat":
            continue
        axis = axis_of(module.cooled_face)
        low, high = SIDES[axis]
        at = getattr(module.block, high if module.cooled_face in ("rear", "right", "up") else low)
        touching = [
            plate
            for plate in filling.plates
            if min(abs(getattr(plate, low) - at), abs(getattr(plate, high) - at)) < CLOSE
            and all(gap < 0 for index, gap in enumerate(gaps(plate, module.block)) if index != axis)
        ]
        assert len(touching) == 1


def the_lowest_rise(menu: Menu, kind: dict[str, PackedModule]) -> None:
    """The sum of the heights grows with every module, where both counts are proven lowest."""
    if len(kind) > 1:
        return
    sums = {
        filling.count: sum(module.block.centre[2] for module in filling.modules) for filling in menu.fillings if "lowest" in filling.kinds
    }
    proven = {filling.count for filling in menu.fillings if filling.gap_mm == 0.0}
    for count in sums:
        if count in proven and count - 1 in proven:
            assert sums[count] > sums[count - 1] - CLOSE


SIDE = st.integers(4, 12).map(lambda tens: 10.0 * tens)


@st.composite
def kinds_of(draw: st.DrawFn, name: str) -> PackedModule:
    height, width, length = sorted((draw(SIDE), draw(SIDE) + 30, draw(SIDE) + 100))
    attitudes = draw(st.lists(st.sampled_from(["flat", "long edge", "short end"]), min_size=1, max_size=3, unique=True))
    return PackedModule(
        module=name, length_mm=length, width_mm=width, height_mm=height, mass_kg=draw(st.integers(4, 20)), attitudes=tuple(attitudes)
    )


@st.composite
def rooms(draw: st.DrawFn) -> Room:
    step = st.integers(2, 9).map(lambda hundreds: 60.0 * hundreds)
    blocks = []
    for _ in range(draw(st.integers(1, 2))):
        x, y, z = draw(st.integers(0, 2)) * 100.0, draw(st.integers(-3, 0)) * 100.0, draw(st.integers(3, 4)) * 100.0
        blocks.append(Block(x, y, z, x + draw(step), y + draw(step), z + draw(step) * 0.6))
    return Room(space="S", blocks=tuple(blocks), usable_l=0.0, step_mm=None)


BUILDS = st.builds(
    lambda plates, layers, gap, end, side: ArrangementSettings(
        plates=plates, layers_max=layers, module_gap_mm=gap, end_room_mm=end, side_room_mm=side, over_mm=10.0, modules_max=12
    ),
    st.sampled_from(["none", "between pairs", "under"]),
    st.integers(1, 3),
    st.sampled_from([0.0, 4.0, 5.5]),
    st.sampled_from([0.0, 12.0]),
    st.sampled_from([0.0, 6.0]),
)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(rooms(), kinds_of("A"), BUILDS, st.sampled_from(["", "rear"]))
def test_every_filling_can_be_built(room: Room, kind: PackedModule, how: ArrangementSettings, plugs: str) -> None:
    space = a_space(room.blocks, plugs)
    for effort in (0.0, 0.1):
        menu = menu_of(space, room, (kind,), how, PLATE_MM, effort)
        hold_laws(menu, room, space, (kind,), how)


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(rooms(), kinds_of("A"), kinds_of("B"), BUILDS)
def test_every_mixed_filling_can_be_built(room: Room, one: PackedModule, two: PackedModule, how: ArrangementSettings) -> None:
    space = a_space(room.blocks)
    menu = menu_of(space, room, (one, two), how.model_copy(update={"modules_max": 6}), PLATE_MM, 0.2)
    # Of two types the words say how many of which stand how.
    assert all(module in filling.how for filling in menu.fillings for module, _ in filling.counts)
    hold_laws(menu, room, space, (one, two), how)


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(rooms(), kinds_of("A"), BUILDS)
def test_more_effort_and_more_room_are_never_worse(room: Room, kind: PackedModule, how: ArrangementSettings) -> None:
    def lowest(room: Room, effort: float) -> dict[int, float]:
        menu = menu_of(a_space(room.blocks), room, (kind,), how, PLATE_MM, effort)
        return {f.count: sum(m.block.centre[2] for m in f.modules) / f.count for f in menu.fillings if "lowest" in f.kinds}

    quick, thorough = lowest(room, 0.0), lowest(room, 0.3)
    wider = Room(
        space="S",
        blocks=tuple(Block(b.x_min, b.y_min, b.z_min, b.x_max + 50, b.y_max + 20, b.z_max + 30) for b in room.blocks),
        usable_l=0.0,
        step_mm=None,
    )
    roomy = lowest(wider, 0.0)
    assert all(thorough[count] <= height + CLOSE for count, height in quick.items())
    assert all(roomy[count] <= height + CLOSE for count, height in quick.items())


def test_the_same_room_gives_the_same_menu() -> None:
    space, room = room_of(CASES[9])
    menus = [menu_of(space, room, (CASES[9].kind,), CASES[9].settings, PLATE_MM, 0.5) for _ in range(2)]
    assert menus[0] == menus[1]


# Small spaces, in which the plain model comes to its end or near it in the time that a test may take.
SMALL = [
    Case(name="small box", blocks=((0, -250, 300, 480, 500, 260),), kind=CASES[0].kind, settings=CASES[0].settings),
    Case(name="small flat", blocks=((0, -300, 300, 620, 560, 170),), kind=CASES[5].kind, settings=CASES[5].settings),
    Case(
        name="small L",
        blocks=((0, -300, 300, 300, 600, 260), (0, -300, 300, 520, 300, 260)),
        kind=CASES[5].kind,
        settings=CASES[0].settings,
    ),
]


@pytest.mark.parametrize("case", SMALL, ids=lambda case: case.name)
def test_at_least_as_many_as_a_plain_model_places(case: Case) -> None:
    space, room = room_of(case)
    menu = menu_of(space, room, (case.kind,), case.settings, PLATE_MM, 2.0)
    assert menu.most >= plain_of(case, time=5.0) > 0
    assert menu.most == menu.most_bound


def test_the_demo_boxes_come_out_to_the_millimetre() -> None:
    """Box B1 of the demo, 4 modules in two pairs, and a box like B3, five in a row with a plate of its own for the fifth."""
    tern = read_folder(REPO / "examples" / "tern")
    part = tern.part["AT-MOD8"]
    kind = PackedModule(
        module="AT-MOD8", length_mm=part.length_mm, width_mm=part.width_mm, height_mm=part.height_mm, mass_kg=part.mass_kg,
        attitudes=("long edge",),
    )  # fmt: skip
    for ref, count, size, length in (("B1", 4, (468, 407, 200), 500.0), ("B3", 5, (588, 407, 200), 620.0)):
        box = next(box for box in tern.boxes if box.ref == ref)
        block = Block(box.x_min_mm - 4, box.y_min_mm - 4, box.z_min_mm - 6, box.x_min_mm - 4 + length, box.y_max_mm + 4, box.z_max_mm + 4)
        room = Room(space="S", blocks=(block,), usable_l=0.0, step_mm=None)
        filling = next(f for f in menu_of(a_space((block,)), room, (kind,), tern.arrangement, PLATE_MM, 0.0).fillings if f.count == count)
        assert filling.box.size == size == (box.x_max_mm - box.x_min_mm, box.y_max_mm - box.y_min_mm, box.z_max_mm - box.z_min_mm)
        ours = sorted(m.block.x_min - filling.box.x_min for m in filling.modules)
        theirs = sorted(m.x_min_mm - box.x_min_mm for m in box.modules)
        assert ours == theirs
        assert len(filling.plates) == math.ceil(count / 2) == len(box.plates)
