"""Splices of the demo left to the program, and what is left over at its wires' ends, worked out by hand from its tables."""

from __future__ import annotations

import math

import pytest

from halfshaft.model.conversion import Conversion, Shop
from halfshaft.model.wires import Nearby
from halfshaft.studies.looms.apart import near_pairs, nearness
from halfshaft.studies.looms.bends import Corners
from halfshaft.studies.looms.placing import place_splices
from halfshaft.studies.looms.uses import uses_of
from halfshaft.study import Study
from support import changed


def blank(conversion: Conversion, *refs: str, keep_run: bool = False) -> Conversion:
    rows = [
        splice.model_copy(update={"from_point": None, "at_mm": None, **({} if keep_run else {"run": None})})
        if splice.ref in refs
        else splice
        for splice in conversion.splices
    ]
    return changed(conversion, splices=tuple(rows))


def copper(conversion: Conversion, splice: str) -> float:
    routing = Study(conversion).routing
    ends = [laid for laid in routing.wires.values() if splice in (laid.wire.from_pin, laid.wire.to_pin)]
    return math.fsum(laid.route.length_mm * laid.wire.section_mm2 for laid in ends)


@pytest.mark.parametrize("splice", ["S1", "S2", "S3", "S4", "S5"])
def test_a_place_chosen_for_a_splice_of_the_demo_takes_no_more_copper_than_the_author_s(tern, splice):
    chosen = blank(tern, splice)
    place = place_splices(chosen)[splice]
    assert place.chosen
    assert copper(chosen, splice) <= copper(tern, splice) + 1e-6
    rules = {item.rule for item in Study(chosen).design_findings}
    assert not rules & {"looms.splice-near", "looms.no-path", "looms.loop", "looms.in-pieces"}


def test_all_splices_of_the_demo_can_be_left_to_the_program(tern):
    chosen = blank(tern, *(splice.ref for splice in tern.splices))
    places = place_splices(chosen)
    assert [place.chosen for place in places.values()] == [True] * 5
    assert not {item.rule for item in Study(chosen).design_findings} & {"looms.splice-near", "looms.loop", "looms.no-path"}


def test_s1_on_its_own_run_goes_to_the_nearer_end_of_what_is_allowed(tern):
    """On U23 (145.1 mm): W128 of 1 mm2 and W132 of 0.5 pull towards R21, W131, W133 and W134 of 0.75 each towards R22: 40 mm from R22."""
    place = place_splices(blank(tern, "S1", keep_run=True))["S1"]
    assert (place.run, place.from_point, place.at_mm) == ("U23", "R22", pytest.approx(40))


def test_no_splice_is_put_on_a_run_beside_something_that_moves(tern):
    run = place_splices(blank(tern, "S1"))["S1"].run
    moving = Nearby(ref="NB9", run=run, kind="moving part", name="wiper crank", gap_mm=100)
    assert place_splices(changed(blank(tern, "S1"), nearby=(moving,)))["S1"].run != run


def test_splices_that_are_given_stay_where_they_are(tern):
    places = place_splices(tern)
    assert {ref: (place.run, place.from_point, place.at_mm, place.chosen) for ref, place in places.items()} == {
        splice.ref: (splice.run, splice.from_point, splice.at_mm, False) for splice in tern.splices
    }


def test_what_is_left_over_of_w504_by_hand(tern_study):
    """90 + U17 + 90 mm, 1.13 % for the twist, 2 x 25 mm at the ends, up to the next 5 mm; of the ends 2 x 5 mm are strip and crimp."""
    (spare,) = [item for item in tern_study.spare if (item.loom, item.run) == ("SF", "U17")]
    w504 = next(item for item in spare.wires if item.wire == "W504")
    laid_mm = (90 + math.dist((290, -235, 470), (300, 95, 452)) + 90) * 1.0113
    cut_mm = 5 * math.ceil((laid_mm + 50) / 5)
    assert w504.spare_mm == pytest.approx(cut_mm - laid_mm - 10)
    assert w504.slack_mm == 40
    assert w504.spare_if_longer_mm == pytest.approx(w504.spare_mm - 10.113)
    assert w504.may_grow_mm == pytest.approx(w504.spare_mm / 1.0113)
    assert not w504.is_too_short


def test_a_run_longer_by_what_it_may_grow_just_uses_up_the_wire(tern):
    """Two ways to one answer: each run lengthened by what its first wire leaves, and the whole conversion laid again."""
    study = Study(tern)
    free = tern.shop.slack_each_end_mm
    for item in study.spare[::7]:
        first = item.wires[0]
        longer_mm = study.routing.run_lengths[item.run].length_mm + first.may_grow_mm
        runs = tuple(run.model_copy(update={"length_taped_mm": longer_mm}) if run.ref == item.run else run for run in tern.runs)
        again = Study(changed(tern, runs=runs)).routing.wires[first.wire]
        if again.route.nodes != study.routing.wires[first.wire].route.nodes:
            continue
        slack_mm = free * sum(not end.is_splice for end in (again.start, again.end))
        assert again.length.sum_mm - slack_mm == pytest.approx(study.routing.wires[first.wire].length.cut_mm, abs=1e-6)


def test_every_run_of_every_loom_is_in_the_table(tern_study):
    assert [(item.loom, item.run) for item in tern_study.spare] == [
        (laid.loom.ref, run.run) for laid in tern_study.routing.looms for run in laid.runs
    ]


def test_room_for_a_bend_by_hand(tern_study):
    """Cable C1 at R63, from U61 (taped 225 mm, all of it its own) into U63 (205, half of it): the arc touches 102.5 mm from the corner."""
    route = next(laid.route for laid in tern_study.routing.cables if laid.cable.ref == "C1")
    turn = next(item for item in Corners(tern_study.conversion, tern_study.routing).of(route) if item.point == "R63")
    a, corner, b = (305, -200, 378), (335, 0, 312), (520, 12, 236)
    inner = math.acos(sum((p - c) * (q - c) for p, c, q in zip(a, corner, b, strict=True)) / math.dist(a, corner) / math.dist(b, corner))
    assert turn.turn_deg == pytest.approx(180 - math.degrees(inner))
    assert turn.radius_mm == pytest.approx(102.5 / math.tan((math.pi - inner) / 2))


def test_a_thick_screened_pair_asks_for_six_of_its_diameters(tern):
    """A space agency's workmanship pages: least bend of a multicore cable 6 x its outside diameter (loom practice D14). 6 x 12 = 72 mm."""
    rows = tuple(group.model_copy(update={"outside_diameter_mm": 12.0}) if group.ref == "TS1" else group for group in tern.twist_groups)
    tight = [item for item in Study(changed(tern, twist_groups=rows)).design_findings if item.rule == "looms.tight-bend"]
    assert tight
    assert {(item.about[0], item.level, item.limit, item.basis.kind) for item in tight} == {("SF", "fix", 72.0, "published")}


def test_a_hairpin_of_plain_wires_is_a_note_from_memory(tern):
    """R07 moved to within 24 mm of R06, back towards R19, where the sense wires and others come from: hardly any room to turn."""
    near = tuple(
        point.model_copy(update={"x_mm": 455.0, "y_mm": -520.0, "z_mm": 462.0}) if point.ref == "R07" else point for point in tern.points
    )
    runs = tuple(run.model_copy(update={"length_taped_mm": None}) if run.ref == "U06" else run for run in tern.runs)
    tight = [item for item in Study(changed(tern, points=near, runs=runs)).design_findings if item.rule == "looms.tight-bend"]
    assert {(item.about[0], item.level, item.basis.kind) for item in tight} >= {("FR", "note", "from memory")}


def test_a_cable_without_a_figure_of_its_own_is_held_against_the_trade_s(tern):
    """5 x its diameter for one core (loom practice J4), 6 for several (D14)."""
    kinds = tuple(kind.model_copy(update={"bend_radius_min_mm": 0.0, "outside_diameter_mm": 30.0}) for kind in tern.cable_types)
    tight = [item for item in Study(changed(tern, cable_types=kinds)).design_findings if item.rule == "looms.tight-bend"]
    assert {item.limit for item in tight} == {150.0, 180.0}
    assert {item.basis.kind for item in tight} == {"published"}


def test_twelve_wires_of_16_mm2_in_one_splice_stop_the_work(tern):
    """S1 with twelve thick wires; its crimp takes 6 mm2."""
    (thick,) = [
        kind.model_copy(update={"section_mm2": 16.0, "outside_diameter_mm": 7.0}) for kind in tern.wire_types if kind.section_mm2 == 6
    ]
    like = next(wire for wire in tern.wires if wire.ref == "W131")
    more = tuple(like.model_copy(update={"ref": f"W9{index:02}", "section_mm2": 16.0}) for index in range(12))
    conversion = changed(tern, wire_types=(*tern.wire_types, thick), wires=(*tern.wires, *more))
    (finding,) = [item for item in Study(conversion).design_findings if item.rule == "looms.splice-too-big"]
    assert finding.level == "stop"
    assert finding.value == pytest.approx(12 * 16 + 3 * 0.75)
    assert finding.limit == 6.0


def test_eleven_thin_wires_in_one_splice_are_a_note_from_memory(tern):
    like = next(wire for wire in tern.wires if wire.ref == "W131")
    more = tuple(like.model_copy(update={"ref": f"W9{index:02}", "section_mm2": 0.35}) for index in range(6))
    (finding,) = [item for item in Study(changed(tern, wires=(*tern.wires, *more))).design_findings if item.rule == "looms.splice-too-big"]
    assert (finding.level, finding.basis.kind) == ("note", "from memory")


def test_a_shop_that_asks_what_is_published_gets_it_as_the_basis(tern):
    shop = tern.shop.model_copy(update={"hv_gap_min_mm": Shop().hv_gap_min_mm})
    found = [item for item in Study(changed(tern, shop=shop)).design_findings if item.rule == "looms.hv-near"]
    assert {str(item.basis.kind) for item in found} == {"published"}
    assert all(item.value < 200 for item in found)


def test_runs_of_two_zones_are_no_pair_and_an_unknown_zone_may_be_any(tern):
    """U17 put into the nose: a panel parts it from U61. With no zone at either of its points either, nobody knows."""

    def near(runs, points):
        study = Study(changed(tern, runs=runs, points=points))
        return {run for item in study.design_findings if item.rule == "looms.hv-near" for run in item.about}

    nose = tuple(run.model_copy(update={"zone": "nose"}) if run.ref in ("U16", "U17") else run for run in tern.runs)
    nowhere = tuple(run.model_copy(update={"zone": None}) if run.ref == "U17" else run for run in nose)
    points = tuple(point.model_copy(update={"zone": None}) if point.ref == "R17" else point for point in tern.points)
    assert "U17" not in near(nose, tern.points)
    assert "U17" in near(nowhere, points)


@pytest.mark.parametrize("within_mm", [50.0, 120.0, 300.0, 900.0, 5000.0])
def test_every_pair_of_runs_that_is_near_is_found_as_by_looking_at_all(tern, within_mm):
    bare = changed(
        tern,
        runs=tuple(run.model_copy(update={"zone": None}) for run in tern.runs),
        points=tuple(point.model_copy(update={"zone": None}) for point in tern.points),
    )
    study = Study(bare)
    uses = uses_of(bare, study.routing)
    pairs = [
        nearness(bare, study.routing, high.run, other.run, within_mm=within_mm)
        for high in uses.values()
        for other in uses.values()
        if high.high and other.quiet
    ]
    expected = {(pair.high, pair.other) for pair in pairs if pair.gap_mm < within_mm and pair.angle_deg < 60}
    assert {(pair.high, pair.other) for pair in near_pairs(bare, study.routing, uses, within_mm=within_mm)} == expected
