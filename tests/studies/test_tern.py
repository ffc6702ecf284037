"""The demo conversion against its own paper: the totals and expected findings in the README of the shared scenario.

Those figures were worked out by the demo's author with another program, from the same tables. They are typed in here
(shared/scenario/tern/README.md, revision of 2026-11: "Totals" and "Expected findings"), with the digits printed there.

Not yet in our model are 181 sense wires inside the battery boxes (0.29 kg) and the motor's ready-made sensor cable
(0.9 m, no mass given). So masses may differ by as much as those weigh, and one test puts the former in by hand.
"""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.finding import Finding
from halfshaft.studies.looms.apart import Nearness, near_pairs, nearness
from halfshaft.studies.looms.circles import least_circle
from halfshaft.studies.looms.uses import uses_of
from halfshaft.studies.mass import Entry, Stand, with_entries
from halfshaft.study import Study

REPO = Path(__file__).parents[2]
SCENARIO = REPO.parent / "shared" / "scenario" / "tern"
NOT_MODELLED_KG = 0.5


@cache
def study(name: str = "tern") -> Study:
    return Study(read_folder(REPO / "examples" / name))


def test_the_donor_and_the_bare_car_are_as_printed():
    donor, bare = study().mass.donor, study().mass.bare
    assert (donor.total_kg, donor.front_kg, donor.rear_kg) == (694.0, 239.0, 455.0)
    assert donor.front_percent == pytest.approx(34.4, abs=0.05)
    assert (donor.x_mm, donor.y_mm, donor.z_mm) == pytest.approx((1383, 5, 522), abs=0.5)
    assert len(study().mass.removed) == 27
    assert sum(entry.mass_kg for entry in study().mass.removed) == pytest.approx(258.9, abs=0.05)
    assert bare.total_kg == pytest.approx(435.1, abs=0.05)
    assert (bare.x_mm, bare.y_mm, bare.z_mm) == pytest.approx((1110, 3, 596), abs=0.5)


# Group of our ledger, kg as printed.
FITTED = [
    ("modules", 143.0), ("boxes", 20.3), ("coolant plates", 5.7), ("units", 99.2), ("made parts", 30.7),
    ("tape, tube and duct", 1.4), ("high-voltage cables", 6.2), ("hoses and coolant", 12.2),
]  # fmt: skip


@pytest.mark.parametrize(("group", "printed_kg"), FITTED)
def test_what_is_fitted_weighs_as_printed(group, printed_kg):
    found = sum(entry.mass_kg for entry in study().mass.fitted if entry.group == group)
    assert found == pytest.approx(printed_kg, abs=0.05 + 1e-9)


def test_wires_weigh_what_is_printed_less_those_inside_the_boxes():
    """Printed: 3.6 kg of low-voltage and sense wires; 63.01 m of 0.35 mm2 at 4.6 g/m of them are inside the boxes."""
    found = sum(entry.mass_kg for entry in study().mass.fitted if entry.group == "wires")
    assert found + 63.01 * 4.6 / 1000 == pytest.approx(3.6, abs=0.05)


@pytest.mark.parametrize(
    ("name", "total_kg", "front_kg", "rear_kg", "percent", "centre_mm"),
    [("tern", 757.3, 332.9, 424.4, 44.0, (1183, 0, 514)), ("tern-first-idea", 757.5, 330.4, 427.2, 43.6, (1190, -16, 519))],
)
def test_the_finished_car_stands_as_printed_but_for_what_is_not_modelled(name, total_kg, front_kg, rear_kg, percent, centre_mm):
    finished = study(name).mass.finished
    assert finished.total_kg == pytest.approx(total_kg, abs=NOT_MODELLED_KG)
    assert finished.front_kg == pytest.approx(front_kg, abs=NOT_MODELLED_KG)
    assert finished.rear_kg == pytest.approx(rear_kg, abs=NOT_MODELLED_KG)
    assert finished.front_percent == pytest.approx(percent, abs=0.1)
    assert (finished.x_mm, finished.y_mm, finished.z_mm) == pytest.approx(centre_mm, abs=0.5)


@pytest.mark.parametrize(
    ("state", "total_kg", "front_kg", "rear_kg", "height_mm"),
    [("driver", 832.3, 369.5, 462.8, 518), ("two and luggage", 937.3, 437.0, 500.4, 523), ("four up", 1057.3, 432.4, 624.9, 530)],
)
def test_the_loaded_car_stands_as_printed_but_for_what_is_not_modelled(state, total_kg, front_kg, rear_kg, height_mm):
    stand = next(stand for stand in study().mass.loaded if stand.name == state)
    assert stand.total_kg == pytest.approx(total_kg, abs=NOT_MODELLED_KG)
    assert stand.front_kg == pytest.approx(front_kg, abs=NOT_MODELLED_KG)
    assert stand.rear_kg == pytest.approx(rear_kg, abs=NOT_MODELLED_KG)
    assert stand.z_mm == pytest.approx(height_mm, abs=0.5)


def with_wires_inside_the_boxes() -> Stand:
    """The finished car and its 181 sense wires, each taken to lie at the middle of its box."""
    path = SCENARIO / "sense_wires.csv"
    if not path.is_file():
        pytest.skip(f"the shared scenario is not beside this repository: no {path.name}")
    conversion = study().conversion
    grams: dict[str, float] = defaultdict(float)
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            grams[row["box"]] += float(row["length_mm"]) / 1000 * conversion.wire_type[float(row["section_mm2"])].mass_g_per_m
    entries = []
    for box, mass_g in sorted(grams.items()):
        device = conversion.device[box]
        entries.append(
            Entry(group="inside", ref=box, name="taps", mass_kg=mass_g / 1000, x_mm=device.x_mm, y_mm=device.y_mm, z_mm=device.z_mm)
        )
    return with_entries(study().mass.finished, entries, car=conversion.car, sign=1.0, name="with taps")


def test_with_the_wires_inside_the_boxes_the_car_stands_as_printed():
    """The sum to its printed digit; the axles to a tenth, for where the author puts wires inside a box is not printed."""
    stand = with_wires_inside_the_boxes()
    assert stand.total_kg == pytest.approx(757.3, abs=0.05)
    assert stand.front_kg == pytest.approx(332.9, abs=0.1)
    assert stand.rear_kg == pytest.approx(424.4, abs=0.1)
    assert stand.front_percent == pytest.approx(44.0, abs=0.06)
    assert (stand.x_mm, stand.y_mm, stand.z_mm) == pytest.approx((1183, 0, 514), abs=0.5)


@pytest.mark.parametrize(
    ("loom", "wires", "cut_m"), [("BX", 36, 12.2), ("FR", 60, 92.7), ("RR", 31, 36.0), ("PW", 6, 4.7), ("SF", 4, 6.3), ("SR", 6, 8.3)]
)
def test_each_loom_has_its_wires_and_metres(loom, wires, cut_m):
    laid = study().routing.loom(loom)
    assert len(laid.wires) == wires
    assert laid.cut_mm / 1000 == pytest.approx(cut_m, abs=0.05)


def test_the_three_looms_together_have_127_wires_and_140_9_metres():
    looms = [study().routing.loom(ref) for ref in ("BX", "FR", "RR")]
    assert sum(len(laid.wires) for laid in looms) == 127
    assert sum(laid.cut_mm for laid in looms) / 1000 == pytest.approx(140.9, abs=0.05)


def test_high_voltage_cables_are_14_and_15_3_metres_and_c1_is_the_longest():
    cut_m = {laid.cable.ref: laid.cut_mm / 1000 for laid in study().routing.cables}
    assert len(cut_m) == 14
    assert sum(cut_m.values()) == pytest.approx(15.3, abs=0.05)
    assert max(cut_m, key=cut_m.__getitem__) == "C1"
    assert cut_m["C1"] == pytest.approx(3.12, abs=0.005)


def test_hoses_are_13_and_14_3_metres_and_the_coolant_7_5_litres():
    hoses = study().routing.hoses
    assert len(hoses) == 13
    assert sum(laid.cut_mm for laid in hoses) / 1000 == pytest.approx(14.3, abs=0.05)
    in_hoses_l = sum(math.pi / 4 * laid.hose.bore_mm**2 * laid.cut_mm for laid in hoses) / 1e6
    in_parts_l = sum(device.coolant_l for device in study().conversion.devices)
    assert in_hoses_l + in_parts_l == pytest.approx(7.5, abs=0.05)


# What is cut to another length in the first idea, in mm, as printed; everything else is the same.
FIRST_IDEA_MM = {
    "C1": 60, "C2": 60, "H4": 55, "H5": 109, "W111": 20, "W119": 20, "W155": 20, "W150": -20, "W151": 25,
    "W501": -10, "W502": -10, "W503": 30, "W504": 30,
}  # fmt: skip


def lengths(name: str) -> dict[str, tuple[float, float]]:
    """The length to cut and what it was rounded up from; the author rounded no cable and no hose."""
    routing, ends_mm = study(name).routing, study(name).conversion.shop.cable_ends_mm
    found = {ref: (laid.length.cut_mm, laid.length.cut_mm) for ref, laid in routing.wires.items()}
    for cable in routing.cables:
        found[cable.cable.ref] = (cable.cut_mm, cable.route.length_mm + cable.tails_mm + ends_mm)
    for laid in routing.hoses:
        hose = laid.hose
        along_mm = hose.length_mm if laid.route is None else laid.route.length_mm + hose.tail_from_mm + hose.tail_to_mm
        found[hose.ref] = (laid.cut_mm, along_mm)
    return found


def test_the_first_idea_differs_in_just_these_lengths():
    present, first = lengths("tern"), lengths("tern-first-idea")
    assert present.keys() == first.keys()
    changed = {ref: first[ref][1] - present[ref][1] for ref in present if abs(first[ref][1] - present[ref][1]) > 0.5}
    assert changed.keys() == FIRST_IDEA_MM.keys()
    assert changed == pytest.approx(FIRST_IDEA_MM, abs=0.5)


@pytest.mark.parametrize("name", ["tern", "tern-first-idea"])
def test_nothing_is_cut_shorter_than_it_lies_or_a_whole_millimetre_longer(name):
    """Cables and hoses; the rounding of wires is a law of its own (tests/laws/test_loom_laws.py)."""
    assert all(along_mm - 0.001 <= cut_mm < along_mm + 1.0 for cut_mm, along_mm in lengths(name).values())


def found(rule: str, about: str) -> Finding:
    """The one finding of a rule about one thing."""
    (finding,) = [item for item in study().findings if item.rule == rule and about in item.about]
    return finding


def test_nothing_stops_the_demo_and_only_the_planted_faults_want_fixing():
    """README, expected findings 1 to 4; numbers 5 and 6 are the business of studies still to come."""
    assert [item for item in study().findings if item.level == "stop"] == []
    ours = [item for item in study().findings if item.level == "fix" and item.rule.startswith(("mass.", "looms.", "wires."))]
    assert {(item.rule, item.about[0]) for item in ours} == {
        ("wires.voltage-drop", "FAN.motor"),
        ("looms.grommet-fill", "G2"),
        ("looms.hv-near", "U17"),
        ("wires.no-ground", "OL.rev counter"),
        ("wires.old-wire-unanswered", "OW05"),
    }
    assert len(ours) == 5


def test_finding_1_the_fan_supply_is_too_thin():
    """W205, W124 and ground W152, 4.0 m of 2.5 mm2 at 16 A: 0.49 V, 3.5 % (shop limit 3.0). 4 mm2 gives 2.2 %."""
    finding = found("wires.voltage-drop", "FAN.motor")
    assert finding.about == ("FAN.motor", "W205", "W124", "W152")
    assert finding.value == pytest.approx(3.5, abs=0.05)
    assert finding.limit == 3.0
    assert "0.49 V" in finding.text
    assert "4.0 m" in finding.text
    assert "4 mm² would leave about 2.2 %" in finding.text
    (drop,) = [drop for drop in study().wires.drops if drop.load == "FAN.motor"]
    assert drop.drop_v == pytest.approx(0.49, abs=0.005)
    assert drop.length_m == pytest.approx(4.0, abs=0.05)
    assert {study().conversion.wire[ref].section_mm2 for ref in drop.wires} == {2.5}
    assert study().wires.uses["W124"].current_a == pytest.approx(16.0, abs=0.05)


def test_finding_1_the_fan_fuse_stands_just_at_its_limit():
    """Fuse F2 (20 A) stands at 80 % with the same load: on the limit is not over it."""
    (fuse,) = [fuse for fuse in study().wires.fuses if "FAN.motor" in fuse.loads]
    assert fuse.ref.endswith(".F2")
    assert fuse.rating_a == 20
    assert 100 * fuse.current_a / fuse.rating_a == pytest.approx(80, abs=0.5)
    assert [item for item in study().findings if item.rule == "wires.fuse-too-small"] == []


# Through R34 by the demo's tables: W403 of 35 mm2 (outside 11.6 mm), ten wires of 0.5 (1.6), seven of 0.75 (1.9), two of 1
# (2.1), and two pairs: TC8 (3.2 mm over both) and the screened TS3 (4.4 mm).
THROUGH_G2 = [11.6, *[1.6] * 10, *[1.9] * 7, *[2.1] * 2]
SINGLE_IN_PAIRS, PAIRS = [1.6] * 4, [3.2, 4.4]


def test_finding_2_grommet_g2_is_too_full():
    """24 wires, the 35 mm2 cable W403 among them, in an 18 mm bore; limit 70 % by area. The cure printed there is a bore of 22.

    The README's 17.2 mm and 91 % are by its rule of thumb (1.2 x root of the sum of squares, each wire for itself). Ours
    is looseness 1.1 x the least circle found, with a pair as one circle; that circle is at least the area of what is in it.
    """
    finding = found("looms.grommet-fill", "G2")
    circles = [*THROUGH_G2, *PAIRS]
    assert finding.value == pytest.approx(100 * (1.1 * least_circle(circles).diameter_mm / 18) ** 2, abs=0.01)
    assert finding.value > 100 * 1.1**2 * sum(circle**2 for circle in circles) / 18**2
    assert finding.limit == 70
    assert "24 wires" in finding.text
    assert "18.2 mm" in finding.text
    assert "a bore of 22 mm or a hole of its own for the thickest" in finding.text
    through = [laid for laid in study().routing.wires.values() if laid.route and "R34" in laid.route.nodes]
    assert sorted(laid.outside_diameter_mm for laid in through) == sorted([*THROUGH_G2, *SINGLE_IN_PAIRS])
    assert {laid.wire.twist_group for laid in through} == {None, "TC8", "TS3"}


def test_the_tightest_packing_through_g2_is_no_more_than_is_printed():
    """README: tightest packing 15.5 mm, 74 %, each wire counted for itself. It was searched for, so less may be found."""
    tightest_mm = least_circle([*THROUGH_G2, *SINGLE_IN_PAIRS], effort=5).diameter_mm
    assert 15.2 < tightest_mm <= 15.55
    assert 70 < 100 * (tightest_mm / 18) ** 2 <= 74.5


def test_finding_3_the_rev_counter_has_no_earth():
    """Its earth tail ended on the engine block: OL.A.11 has no wire, OW05 has no answer."""
    assert found("wires.no-ground", "OL.A.11").about == ("OL.rev counter", "OL.A.11")
    assert found("wires.old-wire-unanswered", "OW05").about == ("OW05", "OL.A.11")


def test_finding_4_the_interlock_and_sense_branch_is_too_near_high_voltage():
    """Run U17 lies 91 mm from cables C1 and C2 (run U61) at 16 degrees, with all its 331 mm within 200 mm; the shop asks 100, published for cars 200."""
    finding = found("looms.hv-near", "U17")
    assert finding.about[:2] == ("U17", "U61")
    assert finding.value == pytest.approx(91, abs=0.5)
    assert finding.limit == 100
    for words in ("C1, C2", "16 degrees", "331 mm long", "all of it nearer than the 200 mm published for cars"):
        assert words in finding.text
    assert "published 200 mm" in str(finding.basis)
    assert "High voltage" in finding.caution


def near_pairs_of_the_demo(within_mm: float) -> dict[tuple[str, str], Nearness]:
    uses = uses_of(study().conversion, study().routing)
    return {(pair.high, pair.other): pair for pair in near_pairs(study().conversion, study().routing, uses, within_mm=within_mm)}


def test_finding_4_elsewhere_high_voltage_keeps_110_mm():
    """Elsewhere in one zone 110 mm or more, but for the charge inlet, where they cross at 70 degrees (78 mm).

    R16, where U17 begins, is also the end of U16; that corner lies 99.6 mm off and belongs to the same place.
    """
    elsewhere = {pair: item for pair, item in near_pairs_of_the_demo(200.0).items() if pair not in (("U61", "U17"), ("U61", "U16"))}
    assert min(item.gap_mm for item in elsewhere.values()) == pytest.approx(110, abs=0.5)
    assert near_pairs_of_the_demo(200.0)["U61", "U17"].within_mm == pytest.approx(331, abs=0.5)
    # Accepted because they cross, and so no pair: 78 mm at 70 degrees.
    assert ("U78", "U42") not in elsewhere
    crossing = nearness(study().conversion, study().routing, "U78", "U42", within_mm=200.0)
    assert crossing.gap_mm == pytest.approx(78, abs=0.5)
    assert crossing.angle_deg == pytest.approx(70, abs=0.5)


def test_finding_6_the_front_of_the_car_sinks():
    """94 kg more on the front axle: 32 mm lower at 14.5 N/mm; rear 7 mm higher."""
    finding = found("handling.ride-height", "front axle")
    assert (finding.value, finding.limit) == (pytest.approx(32, abs=0.5), 15)
    front, rear = (ride for ride in study().handling.rides if ride.against == "donor")
    assert front.after_kg - front.before_kg == pytest.approx(94, abs=0.5)
    assert front.rate_n_per_mm == 14.5
    assert rear.lower_mm == pytest.approx(-7, abs=0.5)
    assert not [item for item in study().design_findings if item.rule == "handling.ride-height" and item.about == ("rear axle",)]


def test_the_donors_tank_at_full_and_empty_weighs_what_is_in_it():
    """car.csv: 20.0 l of 32 at 0.74 kg/l as weighed."""
    weighed, full, empty = (manner.stand for manner in study().handling.donors)
    assert weighed == study().mass.donor
    assert full.total_kg - weighed.total_kg == pytest.approx(12 * 0.74)
    assert weighed.total_kg - empty.total_kg == pytest.approx(20 * 0.74)


def test_the_finished_car_beside_the_donor_by_its_printed_totals():
    """README, totals: 694.0 and 757.3 kg, front 239.0 and 332.9 kg, 522 and 514 mm high; braking 0.8 g, tracks 1245 and 1225 mm."""
    before, now = study().handling.donors[0], study().handling.finished
    assert before.stability_factor == pytest.approx(1235 / (2 * 522), abs=0.001)
    assert now.stability_factor == pytest.approx(1235 / (2 * 514), abs=0.002)
    assert before.braking.loaded_kg == pytest.approx(239.0 + 694.0 * 0.8 * 522 / 2110, abs=0.2)
    assert now.braking.loaded_kg == pytest.approx(332.9 + 757.3 * 0.8 * 514 / 2110, abs=0.5)
    assert found("handling.brake-share", "rear brakes").level == "fix"


def test_four_people_leave_next_to_nothing_to_the_gross_limit():
    """README, notes: four people of 75 kg leave 2.7 kg."""
    finding = found("mass.small-reserve", "four up")
    assert finding.level == "note"
    assert finding.value == pytest.approx(2.7, abs=NOT_MODELLED_KG)


def test_the_two_arrangements_have_the_same_faults_in_wires_and_looms():
    """The first idea is refused for the lid, by 40 mm (README of the demo); wires and grommets are the same."""
    here, there = (
        {(item.rule, item.about) for item in study(name).design_findings if item.level != "note"} for name in ("tern", "tern-first-idea")
    )
    assert {found for found in here if found[0].startswith(("wires.", "looms."))} == {
        found for found in there if found[0].startswith(("wires.", "looms."))
    }
    # Too tall, box B1 also has joints so deep that no socket gets to them with the box in the car.
    assert {rule for rule, _ in there - here} == {"boxes.outside-space", "pack.joint-out-of-reach"}
    assert here <= there
    lid = next(item for item in study("tern-first-idea").design_findings if item.rule == "boxes.outside-space")
    assert (lid.level, lid.value, lid.limit) == ("stop", 625.0, 585.0)
