"""What must always hold of a loom laid flat: true lengths, no crossings, no bend too tight, nothing on top of anything.

shapely (GEOS) says what touches what. Looms come from three sources: drawn at random by Hypothesis and driven through
the whole study, big ones grown from a fixed seed, and the demo conversion.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence
from functools import cache
from pathlib import Path as FilePath

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point

from boards import TRUE_MM, Line, all_faults, board_faults, crossings, kinks, on_top, too_tight
from halfshaft.files.folder import read_folder
from halfshaft.model.car import Car, Limits, Weighed
from halfshaft.model.conversion import Conversion, Job
from halfshaft.model.devices import Device, Tail
from halfshaft.model.parts import Cavity, Connector, InsulationClass, Part, Terminal, WireType
from halfshaft.model.wires import Loom, Run, Wire
from halfshaft.model.wires import Point as RoutePoint
from halfshaft.studies.looms.fan import fan
from halfshaft.studies.looms.geometry import Bend, Path, Straight
from halfshaft.studies.looms.laying_order import HolderSize
from halfshaft.studies.looms.layout import COARSE, Ask, Laid, lay_tree
from halfshaft.studies.looms.pegs import Line as PegLine
from halfshaft.studies.looms.pegs import pegs_of
from halfshaft.studies.looms.trees import Edge, Stretch, stretches_of
from halfshaft.studies.looms.ways import Room, path_of
from halfshaft.study import Study

TERN = FilePath(__file__).parents[2] / "examples" / "tern"

# --- looms of any shape ------------------------------------------------------------------------------------------------


def tree_of(parents: Sequence[int], lengths_mm: Sequence[float], bundle_mm: float = 4.0) -> tuple[Stretch, ...]:
    """Node 0, and each further one hung from an earlier one."""
    return stretches_of(
        tuple(
            Edge(f"U{child}", f"P{parent}", f"P{child}", length, bundle_mm, False, bundle_mm)
            for child, (parent, length) in enumerate(zip(parents, lengths_mm, strict=True), start=1)
        )
    )


def grown(seed: int, leaves: int) -> tuple[Stretch, ...]:
    """A loom as looms are: a spine with branches, four to a breakout at most, until it has so many ends."""
    chance = random.Random(seed)
    children, parents = {0: 0}, []
    while sum(count == 0 for count in children.values()) < leaves:
        node = len(parents) + 1
        parent = max(0, node - 1 - int(chance.expovariate(0.5)))
        if children[parent] >= 3:
            parent = node - 1
        parents.append(parent)
        children[parent] += 1
        children[node] = 0
    return tree_of(parents, [float(chance.randint(60, 400)) for _ in parents])


def a_part(ref: str, ways: int, size: tuple[float, float]) -> Part:
    cavities = tuple(Cavity(ref=str(way), name="pin", role="any", terminal="T", sealed="no") for way in range(1, ways + 1))
    plug = Connector(
        ref="A", kind="plug", rows=-(-ways // 40), columns=min(ways, 40), plug_length_mm=size[0], plug_width_mm=size[1], cavities=cavities
    )
    return Part(ref=ref, name=ref, kind="unit", mass_kg=1, length_mm=99, width_mm=99, height_mm=99, connectors=(plug,))


@st.composite
def conversions(draw, points):
    """A conversion with one loom: a connector at the first point with a wire to a connector at every end of the tree."""
    count = draw(st.integers(2, points))
    parents: list[int] = []
    for node in range(1, count):
        free = [old for old in range(max(0, node - 3), node) if parents.count(old) < 3]
        parents.append(draw(st.sampled_from(free)))
    taped = draw(st.lists(st.integers(60, 700).map(float), min_size=count - 1, max_size=count - 1))
    ends = count - len(set(parents)) + 1
    tails = draw(st.lists(st.integers(40, 260).map(float), min_size=ends, max_size=ends))
    sizes = draw(st.lists(st.tuples(st.floats(12, 45), st.floats(8, 50)), min_size=ends, max_size=ends))
    return loom_of(parents, taped, tails, sizes, draw(st.floats(1.2, 6)))


def big_loom(seed: int, connectors: int, back: int) -> Conversion:
    """A loom with so many connectors: each further point hangs from one of the last few, and at most points a connector hangs too."""
    chance = random.Random(seed)
    parents: list[int] = []
    hung: list[int] = []
    while len(parents) + 2 - len(set(parents)) + len(hung) < connectors:
        node = len(parents) + 1
        free = [old for old in range(max(0, node - back), node) if parents.count(old) < 3]
        parents.append(chance.choice(free))
        if parents[-1] not in hung and parents[-1] and chance.random() < 0.7:
            hung.append(parents[-1])
    ends = len(parents) + 2 - len(set(parents)) + len(hung)
    return loom_of(
        parents,
        [float(chance.randint(60, 400)) for _ in parents],
        [float(chance.randint(60, 200)) for _ in range(ends)],
        [(chance.uniform(12, 40), chance.uniform(8, 40)) for _ in range(ends)],
        # A wire to every connector from the first: as thin as it takes for a trunk of 20 mm.
        18.0 / math.sqrt(ends),
        hung,
        (2440.0, 1220.0) if connectors < 50 else (7320.0, 2440.0),
    )


def loom_of(
    parents: Sequence[int], taped: Sequence[float], tails: Sequence[float], sizes: Sequence[tuple[float, float]], wire_mm: float,
    hung: Sequence[int] = (), sheet: tuple[float, float] = (2440.0, 1220.0),
) -> Conversion:  # fmt: skip
    """Node 0 and each further one hung from an earlier one; a connector at node 0, one at every end, and at some nodes between."""
    count = len(parents) + 1
    leaves = [*(node for node in range(1, count) if node not in parents), *hung]
    nodes = [0, *leaves]
    return Conversion(
        job=Job(ref="BOARD", name="a loom", owner="tests", revision="A", date="2026-01-31"),
        car=Car(
            wheelbase_mm=2400, track_front_mm=1300, track_rear_mm=1300, tyre_static_radius_mm=280, front_edge_x_mm=-600,
            rear_edge_x_mm=3000, overall_width_mm=1600, overall_height_mm=1400, ground_clearance_mm=150, seats=4,
            weighed=Weighed(front_left_kg=200, front_right_kg=200, rear_left_kg=200, rear_right_kg=200, state="empty"),
            limits=Limits(front_axle_kg=600, rear_axle_kg=600, gross_kg=1100),
        ),
        parts=tuple(a_part(f"PART{index}", len(leaves) if index == 0 else 1, size) for index, size in enumerate(sizes)),
        terminals=(
            Terminal(ref="T", name="blade", section_min_mm2=0.1, section_max_mm2=10, current_max_a=20, contact_resistance_mohm=5, strip_mm=5),
        ),
        wire_types=(WireType(section_mm2=0.5, wall="thin", outside_diameter_mm=wire_mm, resistance_mohm_per_m=37, mass_g_per_m=6),),
        insulation_classes=(InsulationClass(ref="B", material="PVC", temperature_max_c=100),),
        devices=tuple(
            Device(ref=f"D{node}", part=f"PART{index}", name="unit", place="somewhere", x_mm=0, y_mm=0, z_mm=0) for index, node in enumerate(nodes)
        ),
        tails=tuple(
            Tail(device=f"D{node}", connector="A", point=f"P{node}", tail_mm=length) for node, length in zip(nodes, tails, strict=True)
        ),
        points=tuple(RoutePoint(ref=f"P{node}", name="a place", x_mm=node, y_mm=0, z_mm=0, kind="breakout") for node in range(count)),
        runs=tuple(
            Run(ref=f"U{child}", from_point=f"P{parent}", to_point=f"P{child}", length_taped_mm=length, may_carry=("LV",))
            for child, (parent, length) in enumerate(zip(parents, taped, strict=True), start=1)
        ),
        looms=(Loom(ref="LM", name="the loom", carries="LV", built="on a board", board_width_mm=sheet[0], board_height_mm=sheet[1]),),
        wires=tuple(
            Wire(
                ref=f"W{way}", meaning="a wire", from_pin=f"D0.A.{way}", to_pin=f"D{leaf}.A.1", section_mm2=0.5, colour="BK",
                insulation_class="B", loom="LM",
            )
            for way, leaf in enumerate(leaves, start=1)
        ),
    )  # fmt: skip


# --- laws of paths -----------------------------------------------------------------------------------------------------


@st.composite
def paths(draw):
    """Straights and bends, each going on as the last one ended."""
    place, heading = (draw(st.floats(-900, 900)), draw(st.floats(-900, 900))), draw(st.floats(0, 360))
    pieces = []
    for is_bend in draw(st.lists(st.booleans(), min_size=1, max_size=5)):
        if is_bend:
            turn = draw(st.floats(1, 180)) * draw(st.sampled_from([1, -1]))
            piece = Bend(place, heading, draw(st.floats(10, 200)), turn)
        else:
            piece = Straight(place, heading, draw(st.floats(1, 800)))
        pieces.append(piece)
        place, heading = piece.at(piece.length_mm), piece.heading_at(piece.length_mm) % 360
    return Path(tuple(pieces))


@settings(deadline=None)
@given(paths(), st.floats(-2000, 2000), st.floats(-2000, 2000), st.floats(0, 1))
def test_a_line_moved_or_walked_backwards_is_the_same_line(path, dx, dy, share):
    along = share * path.length_mm
    (x, y), heading = path.at(along)
    moved, back = path.moved(dx, dy), path.backwards()
    assert moved.at(along)[0] == pytest.approx((x + dx, y + dy), abs=TRUE_MM)
    assert back.length_mm == pytest.approx(path.length_mm, abs=TRUE_MM)
    place, back_heading = back.at(path.length_mm - along)
    assert place == pytest.approx((x, y), abs=TRUE_MM)
    assert not kinks([Line(("A", "B"), moved), Line(("A", "B"), back)])
    if all(abs(along - end) > 1e-3 for end in itertools.accumulate(piece.length_mm for piece in path.pieces)):
        assert math.cos(math.radians(back_heading - heading)) == pytest.approx(-1.0, abs=1e-6)


@settings(deadline=None)
@given(paths(), st.floats(0, 1), st.floats(0, 1))
def test_the_parts_of_a_cut_line_are_the_line(path, here, there):
    low, high = sorted((here * path.length_mm, there * path.length_mm))
    parts = [path.cut(0.0, low), path.cut(low, high), path.cut(high, path.length_mm)]
    assert math.fsum(part.length_mm for part in parts) == pytest.approx(path.length_mm, abs=TRUE_MM)
    for before, after in itertools.pairwise(parts):
        assert math.dist(before.end, after.start) < 1e-5


@settings(deadline=None)
@given(paths())
def test_a_line_is_known_by_its_start_its_heading_its_bends_and_its_length(path):
    again = path_of(path.start, path.first_heading_deg, path.bends, path.length_mm)
    assert again is not None
    assert again.end == pytest.approx(path.end, abs=1e-5)
    assert again.length_mm == pytest.approx(path.length_mm, abs=TRUE_MM)


@settings(deadline=None)
@given(paths(), st.floats(0, 1), st.floats(0.01, 5))
def test_a_place_so_far_along_is_that_far_along(path, share, step_mm):
    """Between two places a little apart the way is never shorter than the crow flies, and hardly longer."""
    along = share * max(path.length_mm - step_mm, 0.0)
    step_mm = min(step_mm, path.length_mm - along)
    apart = math.dist(path.at(along)[0], path.at(along + step_mm)[0])
    assert apart <= step_mm + TRUE_MM
    assert apart >= 0.95 * step_mm - TRUE_MM


@settings(deadline=None)
@given(paths())
def test_the_points_of_a_line_lie_on_it(path):
    """A bend drawn in chords of 15 degrees is at most 0.3 % shorter than it is."""
    drawn = LineString(path.corners)
    assert 0.997 * path.length_mm <= drawn.length <= path.length_mm + TRUE_MM
    assert path.corners[0] == pytest.approx(path.start, abs=TRUE_MM)
    assert path.corners[-1] == pytest.approx(path.end, abs=TRUE_MM)


# --- laws of layouts ---------------------------------------------------------------------------------------------------


def layout_faults(tree: tuple[Stretch, ...], laid: Laid, *, bend_factor: float) -> list[str]:
    lines = [Line(ends, path) for ends, path in laid.paths.items()]
    asked = {frozenset((item.start, item.end)): item for item in tree}
    bundles = {ends: item.bundle_mm for ends, item in asked.items()}
    found = crossings(lines) + kinks(lines) + too_tight(lines, bundles, bend_factor)
    if laid.method == "search":
        found += on_top(lines, bundles)
    if asked.keys() != {frozenset(line.ends) for line in lines} or len(lines) != len(tree):
        found.append("not every stretch is laid once")
    for line in lines:
        if abs(line.path.length_mm - asked[frozenset(line.ends)].length_mm) > TRUE_MM:
            found.append(f"{line.ends} is {line.path.length_mm} long")
    return found


@st.composite
def trees(draw, nodes=130):
    """Any tree at all, up to 60 ends and more."""
    count = draw(st.integers(2, nodes))
    seed = draw(st.integers(0, 2**32))
    chance = random.Random(seed)
    depth = draw(st.sampled_from([2, 5, 20, nodes]))
    parents = [chance.randrange(max(0, node - depth), node) for node in range(1, count)]
    return tree_of(parents, [float(chance.randint(1, 900)) for _ in parents])


@settings(max_examples=40, deadline=None)
@given(trees())
def test_a_fan_never_crosses_itself_whatever_the_tree(tree):
    assert layout_faults(tree, fan(tree), bend_factor=5.0) == []


@pytest.mark.parametrize("seed", [0, 1])
def test_a_loom_with_sixty_ends_is_laid_true_and_without_crossing(seed):
    tree = grown(seed, 60)
    holders = {end: HolderSize(25.0, 20.0) for item in tree for end in (item.start, item.end)}
    laid = lay_tree(Ask(tree=tree, holders=holders, room=Room(0, 0, 8000, 4000), bend_factor=5.0, grid=COARSE)).laid
    assert laid is not None
    assert layout_faults(tree, laid, bend_factor=5.0) == []


def test_the_checks_see_a_crossing_a_short_stretch_and_a_tight_bend():
    """Otherwise a check that sees nothing would pass everything."""
    tree = tree_of([0, 1, 1, 3, 3], [200.0, 200.0, 200.0, 200.0, 200.0])
    good = fan(tree)
    (first, path), *_, (last, _) = good.paths.items()
    across = Path((Straight(path.at(100.0)[0], path.first_heading_deg + 90.0, 200.0),))
    assert any("touches" in fault for fault in layout_faults(tree, Laid({**good.paths, last: across}, "spoilt", 0), bend_factor=5.0))
    short = Path((Straight(path.start, path.first_heading_deg, 199.0),))
    assert any("long" in fault for fault in layout_faults(tree, Laid({**good.paths, first: short}, "spoilt", 0), bend_factor=5.0))
    tight = Path((Bend(path.start, path.first_heading_deg, 10.0, 20.0),))
    assert any("radius" in fault for fault in layout_faults(tree, Laid({**good.paths, first: tight}, "spoilt", 0), bend_factor=5.0))


# --- laws of boards ----------------------------------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(conversions(points=12))
def test_any_loom_is_laid_true_on_its_board(conversion):
    study = Study(conversion)
    board = study.boards["LM"]
    assert (all_faults if board.method == "search" else board_faults)(study, board) == []


# The same looms every time: one in some hundreds is so bushy that it is searched for minutes.
@settings(max_examples=3, deadline=None, derandomize=True)
@given(st.integers(0, 2**32), st.sampled_from([40, 90, 200]), st.sampled_from([3, 8]))
def test_a_loom_with_up_to_two_hundred_ends_is_laid_true_on_the_board_that_it_needs(seed, connectors, back):
    study = Study(big_loom(seed, connectors, back))
    board = study.boards["LM"]
    assert len(board.holders) >= connectors
    assert all_faults(study, board) == []


@settings(max_examples=4, deadline=None)
@given(conversions(points=6))
def test_the_same_loom_gives_the_same_board_twice(conversion):
    assert Study(conversion).boards == Study(conversion).boards


@cache
def demo() -> Study:
    return Study(read_folder(TERN))


@pytest.mark.parametrize("loom", ["BX", "FR", "RR", "SF", "SR"])
def test_the_demo_boards_keep_all_laws(loom):
    study = demo()
    board = study.boards[loom]
    assert all_faults(study, board) == []


@pytest.mark.parametrize("loom", ["BX", "FR", "RR", "SF", "SR"])
def test_the_demo_boards_fit_one_sheet_of_plywood(loom):
    """2440 x 1220 mm, the common sheet (design, "The board")."""
    board = demo().boards[loom]
    assert board.fits
    assert board.size_mm == (2440, 1220)


def test_pegs_are_numbered_without_a_gap_and_stand_apart():
    for board in demo().boards.values():
        assert [peg.number for peg in board.pegs] == list(range(1, len(board.pegs) + 1))
        peg_mm = demo().conversion.shop.peg_diameter_mm
        assert all(math.dist(here.at, there.at) > peg_mm for here, there in itertools.combinations(board.pegs, 2))


@settings(deadline=None)
@given(st.floats(200, 2000), st.floats(2, 30), st.floats(2, 8), st.floats(60, 400), st.floats(0, 359))
def test_a_lone_straight_bundle_is_touched_by_its_pegs(length_mm, bundle_mm, peg_mm, pitch_mm, heading):
    """Pegs stand on both sides, touch the bundle, and no two neighbours are further apart than the pitch."""
    path = Path((Straight((0.0, 0.0), heading, length_mm),))
    pegs = pegs_of([PegLine(path, [(0.0, length_mm, bundle_mm)])], {}, peg_mm=peg_mm, pitch_mm=pitch_mm)
    line = LineString(path.corners)
    assert pegs
    assert all(line.distance(Point(peg.at)) == pytest.approx((bundle_mm + peg_mm) / 2, abs=TRUE_MM) for peg in pegs)
    along = sorted(line.project(Point(peg.at)) for peg in pegs)
    assert all(there - here <= pitch_mm + TRUE_MM for here, there in itertools.pairwise(along))


def reach_mm(path: Path, sections: Sequence[tuple[float, float, float]], peg: tuple[float, float], peg_mm: float) -> float:
    """How far a peg reaches into a bundle, at its worst; nothing or less where it does not."""
    found = []
    for start, end, bundle_mm in sections:
        line = LineString([path.at(start + (end - start) * step / 50)[0] for step in range(51)])
        found.append((bundle_mm + peg_mm) / 2 - line.distance(Point(peg)))
    return max(found)


def test_a_peg_of_one_leg_does_not_stand_in_the_next():
    """A thick and a thin leg 30 degrees apart, as the search allows: the thin one's peg reaches 0.65 mm into the thick one."""
    legs = [(Path((Straight((0.0, 0.0), heading, 51.0),)), [(0.0, 51.0, bundle)]) for heading, bundle in ((0.0, 15.0), (30.0, 5.0))]
    pegs = pegs_of([PegLine(*leg) for leg in legs], {}, peg_mm=4.0, pitch_mm=200.0)
    assert pegs
    assert max(reach_mm(path, sections, peg.at, 4.0) for path, sections in legs for peg in pegs) < TRUE_MM


def test_a_peg_beside_a_bare_tail_does_not_stand_in_the_end_of_the_tube():
    """A tube of 16 mm as far as 98 mm, bare wires of 3 mm from there on; the one peg comes at 100 mm."""
    path, sections = Path((Straight((0.0, 0.0), 0.0, 200.0),)), [(0.0, 98.0, 16.0), (98.0, 200.0, 3.0)]
    (peg,) = pegs_of([PegLine(path, sections)], {}, peg_mm=4.0, pitch_mm=200.0)
    assert reach_mm(path, sections, peg.at, 4.0) < TRUE_MM
