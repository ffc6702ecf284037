"""Feet of battery boxes worked by hand: symmetric boxes, what is inside a box, and how bolts are read."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.boxes import Mount
from halfshaft.model.pack import MountCase
from halfshaft.studies.bolt_group import share_out
from halfshaft.studies.mounts import bolt_of, box_contents, combined_n, pull_of, study_mounts

DEMO = Path(__file__).parents[2] / "examples" / "tern"
GRAVITY = 9.80665
# Feet 400 by 300 mm, the centre in their middle and 100 mm above them.
FEET = [(-200.0, -150.0, 0.0), (200.0, -150.0, 0.0), (-200.0, 150.0, 0.0), (200.0, 150.0, 0.0)]
ABOVE = (0.0, 0.0, 100.0)


def test_a_pull_forward_shears_all_alike_and_tips_the_box_about_its_front_feet():
    """8000 N forward (towards -x): 2000 N of shear each; moment 8000 x 100 = 800 Nm over 2 x 0.4 m: 1000 N up behind, down in front.

    N = M x / sum x2 = 800 000 x 200 / (4 x 200 x 200) = 1000 N. What the car does to the box is +x, and down behind.
    """
    forces = share_out((-8000.0, 0.0, 0.0), ABOVE, FEET)
    for (x, _, _), force in zip(FEET, forces, strict=True):
        assert force == pytest.approx((2000.0, 0.0, -1000.0 if x > 0 else 1000.0))


def test_a_pull_sideways_does_the_same_across():
    """6000 N to the right: 1500 N each; 600 Nm over 2 x 0.3 m: 1000 N. The left feet are lifted, so the car holds them down."""
    for (_, y, _), force in zip(FEET, share_out((0.0, 6000.0, 0.0), ABOVE, FEET), strict=True):
        assert force == pytest.approx((0.0, -1500.0, 1000.0 if y > 0 else -1000.0))


def test_a_pull_up_is_shared_evenly():
    for force in share_out((0.0, 0.0, 4000.0), ABOVE, FEET):
        assert force == pytest.approx((0.0, 0.0, -1000.0))


def test_a_centre_off_the_middle_loads_the_nearer_feet_and_turns_the_box():
    """4000 N forward, centre 100 mm right and at the height of the feet: moment about the upright axis 400 Nm.

    Each foot is 250 mm from the middle; sum r2 = 4 x 0.0625 = 0.25 m2, so each bears 400 / 0.25 x r besides its 1000 N:
    along the car 1600 x 0.15 = 240 N more on the right feet and less on the left, across it 1600 x 0.2 = 320 N.
    """
    for (x, y, _), force in zip(FEET, share_out((-4000.0, 0.0, 0.0), (0.0, 100.0, 0.0), FEET), strict=True):
        assert force[0] == pytest.approx(1000.0 + (240.0 if y > 0 else -240.0))
        assert abs(force[1]) == pytest.approx(320.0)
        assert force[1] * x < 0
        assert force[2] == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("toward", "pull"),
    [
        ("front", (-20 * 700, 0, -700)), ("rear", (20 * 700, 0, -700)), ("left", (0, -20 * 700, -700)), ("right", (0, 20 * 700, -700)),
        ("down", (0, 0, -21 * 700)), ("up", (0, 0, 20 * 700)),
    ],
)  # fmt: skip
def test_weight_acts_beside_every_pull_and_is_not_set_against_one_upwards(toward, pull):
    """A box of 700 N. Codes name the pull itself, so 20 g upwards stay 20 g."""
    case = MountCase(ref="a case", toward=toward, acceleration_g=20, basis="from memory")
    assert pull_of(700 / GRAVITY, case) == pytest.approx(pull)


def test_seventy_kilograms_pull_as_the_reference_says():
    """Shared references, conversion_codes.md, traps: at 20 / 15 / 10 / 10 g a 70 kg box pulls 13.7 / 10.3 / 6.9 / 6.9 kN."""
    for toward, acceleration_g, printed_kn in (("front", 20, 13.7), ("left", 15, 10.3), ("rear", 10, 6.9), ("up", 10, 6.9)):
        case = MountCase(ref="a case", toward=toward, acceleration_g=acceleration_g, basis="from memory")
        pull = pull_of(70.0, case)
        assert max(abs(pull[0]), abs(pull[1]), pull[2]) / 1000 == pytest.approx(printed_kn, abs=0.05)


def test_what_hangs_on_the_feet_is_everything_that_is_in_the_box():
    """B1 of the demo: itself, four modules, two plates, fuse FH1 and sense board SB1, and 0.22 l of coolant; none of B2's."""
    conversion = read_folder(DEMO)
    contents = list(box_contents(conversion, conversion.boxes[0]))
    refs = ["B1", "B1", "FH1", "M01", "M02", "M03", "M04", "PL1", "PL2", "SB1"]
    assert sorted(entry.ref for entry in contents) == refs
    parts = [conversion.part[name].mass_kg for name in ("AT-BOX4", "AT-FUSE200", "AT-SENSE", *["AT-MOD8"] * 4, *["AT-PLATE"] * 2)]
    b1 = study_mounts(conversion)[0]
    assert b1.mass_kg == pytest.approx(sum(parts) + 0.22 * conversion.coolant.density_kg_per_l)


def test_the_demos_front_box_worked_by_hand():
    """B1 forward at 20 g: shear is a quarter of m 20 g, but for the centre being a millimetre off; tension by moments.

    Feet 418 mm apart at z 264; the centre stands z - 264 above them and x - 29 behind their middle. About their middle:
    m 20 g (z - 264) lifts the rear feet, m g (x - 29) does next to nothing, and a quarter of the weight presses.
    """
    b1 = study_mounts(read_folder(DEMO))[0]
    forward = next(case for case in b1.cases if case.case == "forward")
    weight = b1.mass_kg * GRAVITY
    for load in forward.mounts:
        assert load.shear_n == pytest.approx(5 * weight, rel=0.01)
    moment = 20 * weight * (b1.z_mm - 264) - weight * (b1.x_mm - 29)
    lifted = moment / (2 * 418) - weight / 4
    by_foot = {load.mount: load for load in forward.mounts}
    for foot in ("B1-2", "B1-4"):
        assert by_foot[foot].tension_n == pytest.approx(lifted, rel=0.02)
    for foot in ("B1-1", "B1-3"):
        assert by_foot[foot].tension_n == 0.0
    assert by_foot["B1-4"].combined_n == pytest.approx((by_foot["B1-4"].tension_n ** 2 + 3 * by_foot["B1-4"].shear_n ** 2) ** 0.5)


def test_of_a_hanging_box_a_push_counts_as_a_pull():
    """Its feet moved above its centre: downwards at 10 g each bolt is drawn by a quarter of 11 times its weight."""
    conversion = read_folder(DEMO)
    box = conversion.boxes[0]
    hung = box.model_copy(update={"mounts": tuple(mount.model_copy(update={"z_mm": 490.0}) for mount in box.mounts)})
    (b1, *_) = study_mounts(conversion.model_copy(update={"boxes": (hung,)}))
    down = next(case for case in b1.cases if case.case == "downward")
    assert sum(load.tension_n for load in down.mounts) == pytest.approx(11 * b1.mass_kg * GRAVITY)


@pytest.mark.parametrize(
    ("words", "proof_n"),
    [
        ("M8 8.8", 21_200), ("M10 8.8", 33_700), ("M6-10.9", 16_700), ("M8 8.8 with washer", 21_200), ("M8", None), ("M8x25 8.8", None),
        ("M10x1.25 8.8", None), ("M8 8.88", None), ("5/16 UNC grade 5", None), ("", None),
    ],
)  # fmt: skip
def test_a_bolt_is_looked_up_by_thread_and_class_and_nothing_is_guessed(words, proof_n):
    mount = Mount.model_construct(ref="F1", x_mm=0.0, y_mm=0.0, z_mm=0.0, bolt=words, torque_nm=22.0, to="")
    assert bolt_of(mount).proof_n == proof_n


def test_shear_and_tension_as_one_pull():
    """Pure tension is itself; pure shear strains as much as root three of it (distortion energy)."""
    assert combined_n(shear_n=0.0, tension_n=1000.0) == 1000.0
    assert combined_n(shear_n=1000.0, tension_n=0.0) == pytest.approx(1732.05, abs=0.005)
