"""The battery as a whole, worked out by hand from the demo's module: 8 cells, 3.65 V nominal and 4.2 V full."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.pack import Busbar, PackSettings
from halfshaft.studies.pack.joint_rules import between_faces
from halfshaft.study import Study
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


@pytest.fixture(scope="module")
def tern() -> Conversion:
    return read_folder(DEMO)


def test_volts_and_energy_of_thirteen_modules(tern):
    pack = Study(tern).pack
    assert pack.nominal_v == pytest.approx(13 * 8 * 3.65)
    assert pack.full_v == pytest.approx(13 * 8 * 4.2)
    assert pack.energy_kwh == pytest.approx(13 * 2.307)


def test_links_are_listed_along_the_string_so_that_they_are_printed_the_same_each_time(tern):
    pack = Study(tern).pack
    listed = list(pack.link_share)
    assert listed == [link.ref for join in pack.strings[0].joins for link in join.links]
    assert len(listed) > 13


def test_the_service_disconnect_leaves_two_live_pieces(tern):
    pieces = Study(tern).pack.pieces
    by_box = {box.ref: len(box.modules) for box in tern.boxes}
    assert [piece.boxes for piece in pieces] == [("B1", "B2"), ("B3",)]
    assert [piece.full_v for piece in pieces] == pytest.approx([(by_box["B1"] + by_box["B2"]) * 33.6, by_box["B3"] * 33.6])


def test_without_the_cable_between_them_each_box_is_a_piece(tern):
    cores = tuple(core for core in tern.cable_cores if core.cable != "C2")
    cut = changed(tern, cables=tuple(cable for cable in tern.cables if cable.ref != "C2"), cable_cores=cores)
    assert [piece.boxes for piece in Study(cut).pack.pieces] == [("B1",), ("B2",), ("B3",)]


def test_no_boxes_no_pack(tern):
    assert Study(changed(tern, boxes=())).pack is None


def test_two_strings_side_by_side_share_the_current_and_halve_the_resistance(tern):
    """Six modules of 6.4 milliohms one after another, twice: half of 38.4, volts of one, energy of both; each string half the amperes."""
    modules = [item for box in tern.boxes for item in box.modules][:12]
    rows = [
        item.model_copy(update={"string": 1 + index // 6, "order_in_string": 1 + index % 6, "plus_end": None})
        for index, item in enumerate(modules)
    ]
    box = tern.boxes[0].model_copy(update={"modules": tuple(rows)})
    settings = PackSettings(strings=2, power_peak_kw=20)
    pack = Study(changed(tern, boxes=(box,), busbars=(), joints=(), cables=(), cable_cores=(), hv_units=(), pack=settings)).pack
    assert pack.full_v == pytest.approx(6 * 33.6)
    assert pack.energy_kwh == pytest.approx(12 * 2.307)
    assert pack.resistance_mohm["modules"] == pytest.approx(6 * 6.4 / 2)
    assert pack.peak.string_a == pytest.approx(pack.peak.current_a / 2)
    assert pack.peak.current_a * pack.peak.volts == pytest.approx(20_000)


def test_a_string_gives_no_more_than_its_smallest_module(tern):
    """One module of 39.5 Ah in place of 79: the string gives half of its energy."""
    small = tern.modules[0].model_copy(update={"part": "AT-PLATE", "capacity_ah": 39.5, "energy_kwh": 1.1535})
    first = tern.boxes[0].modules[0].model_copy(update={"module": "AT-PLATE"})
    box = tern.boxes[0].model_copy(update={"modules": (first, *tern.boxes[0].modules[1:])})
    pack = Study(changed(tern, modules=(*tern.modules, small), boxes=(box, *tern.boxes[1:]))).pack
    assert pack.energy_kwh == pytest.approx(12 * 2.307 + 1.1535)
    assert pack.usable_kwh == pytest.approx(0.92 * 13 * 1.1535)


def test_the_way_from_plus_to_minus_is_what_is_described(tern):
    (string,) = Study(tern).pack.strings
    ways = [[link.ref for link in join.links] for join in string.joins]
    assert ways[0] == ["C1", "BB01", "FH1.link", "BB02"]
    assert ways[8] == ["BB11", "C3", "SD.handle", "C4", "BB12", "FH2.link", "BB13"]
    assert ways[13] == ["C5", "BB18"]
    assert len(ways) == 14


def test_bars_that_nobody_has_described_are_proposed_from_plug_to_plug(tern):
    """Studs of M01 and M02 are 184 mm apart, those of M02 and M03 44 mm: 31 mm more over both ends. Plugs have no place."""
    pack = Study(changed(tern, busbars=(), joints=())).pack
    bars = [(bar.start, bar.end, bar.length_mm) for bar in pack.bars if bar.box == "B1"]
    assert bars == [
        ("B1.P.1", "M01.P", None), ("M01.N", "M02.P", 215), ("M02.N", "M03.P", 75), ("M03.N", "M04.P", 215), ("M04.N", "B1.N.1", None),
    ]  # fmt: skip
    assert all(bar.is_proposed for bar in pack.bars)
    assert len({bar.ref for bar in pack.bars}) == len(pack.bars) == 16
    # With them the way is whole, so the cables count: C1 to C5, 8,357 mm of 0.527 milliohms a metre.
    assert pack.resistance_mohm["cables"] == pytest.approx(8.357 * 0.527)


def test_the_order_of_boxes_is_priced_with_the_lengths_that_are_cut(tern):
    study = Study(tern)
    (order,) = study.box_orders
    cut_mm = sum(laid.cut_mm for laid in study.routing.cables if laid.cable.ref in {"C1", "C2", "C3", "C4", "C5"})
    assert order.now == ("B1", "B2", "SD", "B3")
    assert order.now_mm == pytest.approx(cut_mm)
    assert order.best_mm < order.now_mm
    assert sorted(order.best) == sorted(order.now)


def test_a_module_that_a_plate_cools_is_not_turned_and_one_that_lies_flat_is(tern):
    """In B1 M02 lies the wrong way round: on its long edge against a plate it must stay so, flat it may be turned."""
    bare = changed(tern, busbars=(), joints=())
    for attitude, cooled, turned in (("long edge", "rear", False), ("flat", "down", True)):
        second = bare.boxes[0].modules[1].model_copy(update={"attitude": attitude, "cooled_face": cooled, "plus_end": "right"})
        box = bare.boxes[0].model_copy(update={"modules": (bare.boxes[0].modules[0], second, *bare.boxes[0].modules[2:])})
        order = next(item for item in Study(changed(bare, boxes=(box, *bare.boxes[1:]))).module_orders if item.box == "B1")
        assert [item.ref for item in order.best if item.is_turned] == (["M02"] if turned else [])


@pytest.mark.parametrize(
    ("top_mm", "tool"),
    [(410.0, "short socket"), (468.0, "long socket"), (599.0, "long socket"), (600.0, "none")],
)
def test_a_deeper_bolt_wants_a_longer_tool(tern, top_mm, tool):
    """The stud of JT05 is at z 349.5: up to 70 mm below the edge a ratchet turns above the box; an extension of 250 mm ends there."""
    box = tern.boxes[0].model_copy(update={"z_max_mm": top_mm})
    reach = {item.joint: item for item in Study(changed(tern, boxes=(box, *tern.boxes[1:]))).reaches}["JT05"]
    assert (reach.tool, reach.depth_mm) == (tool, pytest.approx(top_mm - 349.5))


def test_what_stands_over_a_joint_is_named(tern):
    """SB1 (x 60, y -110) stands over M02.N (x 51, y -65) and M03.P; FH1 over M01.P; plugs have no place."""
    reach = {item.joint: item for item in Study(tern).reaches}
    assert [(reach[joint].tool, reach[joint].in_the_way) for joint in ("JT04", "JT07", "JT08")] == [
        ("after taking out", ("FH1",)), ("after taking out", ("SB1",)), ("after taking out", ("SB1",)),
    ]  # fmt: skip
    assert reach["JT01"].tool == "place not known"


def test_a_joint_with_a_place_of_its_own_is_judged_there(tern):
    joints = tuple(
        item.model_copy(update={"x_mm": 100.0, "y_mm": -240.0, "z_mm": 440.0}) if item.ref == "JT01" else item for item in tern.joints
    )
    reach = {item.joint: item for item in Study(changed(tern, joints=joints)).reaches}["JT01"]
    assert (reach.tool, reach.depth_mm) == ("short socket", pytest.approx(28.0))


@pytest.mark.parametrize(
    ("stack", "between"),
    [
        (("contact face", "bar", "plain washer", "bolt"), ()),
        (("contact face", "bar", "cable lug", "bar", "spring washer", "bolt"), ()),
        (("contact face", "spacer", "bar", "bolt"), ("spacer",)),
        (("contact face", "lug", "plain washer", "busbar", "bolt"), ("plain washer",)),
    ],
)
def test_only_what_carries_current_lies_between_faces(stack, between):
    assert between_faces(stack) == between


def two_strings(tern: Conversion, *ends: tuple[str, str]) -> Study:
    """Two strings of two modules in B1, joined to its plugs by the bars given and inside themselves by one each."""
    modules = [
        item.model_copy(update={"string": 1 + index // 2, "order_in_string": 1 + index % 2})
        for index, item in enumerate(tern.boxes[0].modules)
    ]
    pairs = [("M01.N", "M02.P"), ("M03.N", "M04.P"), ("M02.N", "B1.N.1"), ("M04.N", "B1.N.1"), *ends]
    bars = [
        Busbar(ref=f"BB{index}", box="B1", from_stud=start, to_stud=end, wide_mm=20, thick_mm=3, length_mm=500)
        for index, (start, end) in enumerate(pairs)
    ]
    box = tern.boxes[0].model_copy(update={"modules": tuple(modules)})
    settings = PackSettings(strings=2, plus_at="B1.P", minus_at="B1.N", power_peak_kw=10)
    return Study(changed(tern, boxes=(box,), busbars=tuple(bars), joints=(), cables=(), cable_cores=(), hv_units=(), pack=settings))


def test_what_both_strings_pass_through_carries_both(tern):
    """Each of six bars of 500 mm of copper 60 mm2, 143.7 microhms: in a string a quarter counts, before both strings all of it."""
    own = two_strings(tern, ("B1.P.1", "M01.P"), ("B1.P.1", "M03.P")).pack
    assert own.resistance_mohm["busbars"] == pytest.approx(6 / 4 * 0.14368, abs=1e-4)
    through = two_strings(tern, ("B1.P.1", "M01.P"), ("M01.P", "M03.P")).pack
    assert through.link_share["BB4"] == 1
    assert through.resistance_mohm["busbars"] == pytest.approx((1 + 5 / 4) * 0.14368, abs=1e-4)


def test_strings_joined_at_their_ends_are_no_short_and_crosswise_they_are(tern):
    good = two_strings(tern, ("B1.P.1", "M01.P"), ("M01.P", "M03.P"))
    assert good.pack.shorts == ()
    assert not {"pack.bar-wrong-poles", "pack.bar-not-next", "pack.join-missing"} & {item.rule for item in good.design_findings}
    crossed = two_strings(tern, ("B1.P.1", "M01.P"), ("M01.P", "M04.P"))
    assert [short.volts for short in crossed.pack.shorts] == pytest.approx([33.6])
