"""Stability factors, yaw inertia and rigid bodies against measured cars, exact assemblies and an independent library.

Sources: "ssf", rows of the light vehicle inertial parameter database (SAE 1999-01-1336) with track, height and published
static stability factor, in the shared references, mass_and_cg.md, section 1; "yaw", 136 measured vehicles of the same
database, shared benchmarks, vehicles/measured_inertia.csv; "bodies", mass_properties.json there, exact.
"""

from __future__ import annotations

import csv
import json
import math
import re
import statistics
from pathlib import Path

import pytest

from halfshaft.model.car import Car, Limits, Weighed
from halfshaft.standards import bolt_proof_loads, constants, table
from halfshaft.studies.handling import braking, cornering, estimated_yaw, inertia_about, rides_of, stability_factor
from halfshaft.studies.mass import Entry, Stand

SHARED = Path(__file__).parents[2].parent / "shared"
REFERENCE = SHARED / "references" / "mass_and_cg.md"
BENCHMARKS = SHARED / "benchmarks"
CAR_BODIES = {"2S", "4S", "3H", "5H", "2C"}
MM_PER_M = 1000.0


def of_shared(path: Path) -> str:
    if not path.is_file():
        pytest.skip(f"the shared data are not beside this repository: no {path.name}")
    return path.read_text(encoding="utf-8")


def test_stability_factors_are_those_published():
    """T and h are printed to 0.1 mm, so each factor can be out by the half of that in both, and of its own last digit."""
    rows = re.findall(r"^\| (\d{4}) \|[^|]*\|[^|]*\| [\d.]+ \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", of_shared(REFERENCE), re.MULTILINE)
    assert len(rows) == 32
    for _, height_m, track_m, printed in rows:
        height, track, factor = float(height_m), float(track_m), float(printed)
        out_by = 0.000_05 + factor * (0.000_05 / height + 0.000_05 / track)
        assert stability_factor(track_mm=MM_PER_M * track, height_mm=MM_PER_M * height) == pytest.approx(factor, abs=out_by)


def test_the_row_that_is_given_to_more_digits():
    """C3 of the same reference: h 0.498729, T 1.3208, published 1.32417."""
    assert stability_factor(track_mm=1320.8, height_mm=498.729) == pytest.approx(1.32417, abs=0.000_005)


def measured_cars() -> list[tuple[int, float]]:
    """Model year, and our estimate over what was measured. The estimate knows a and b by their product only: see `axles`."""
    cars = []
    for row in csv.DictReader(of_shared(BENCHMARKS / "vehicles" / "measured_inertia.csv").splitlines()):
        if row["body"] in CAR_BODIES:
            behind_front_m, wheelbase_m = axles(float(row["a_times_b_m2"]))
            estimate = estimated_yaw(
                mass_kg=float(row["mass_kg"]), behind_front_mm=MM_PER_M * behind_front_m, wheelbase_mm=MM_PER_M * wheelbase_m
            )
            cars.append((int(row["model_year"]), estimate / float(row["Izz"])))
    return cars


def axles(a_times_b_m2: float) -> tuple[float, float]:
    """An a and a wheelbase with this product: the middle of a car of its own, for only the product is given."""
    return math.sqrt(a_times_b_m2), 2 * math.sqrt(a_times_b_m2)


def test_a_donors_yaw_inertia_is_estimated_within_15_percent():
    """The benchmark's bar. Every car before 1987, which a donor is; of the newer ones some are out by more."""
    ratios = measured_cars()
    old = [abs(ratio - 1) for year, ratio in ratios if year < 1987]
    every = [abs(ratio - 1) for _, ratio in ratios]
    assert (len(old), len(every)) == (18, 48)
    assert max(old) < 0.15
    assert statistics.median(old) < 0.05
    assert sum(out < 0.15 for out in every) / len(every) == pytest.approx(0.896, abs=0.001)


def own_inertia(body: dict) -> float:
    """Inertia about the upright axis through a body's own centre, turned as it stands: R I R'."""
    spatial = pytest.importorskip("scipy.spatial.transform")
    mass_kg, sizes = body["mass_kg"], body["dims_m"]
    if body["kind"] == "sphere":
        own = [0.4 * mass_kg * sizes[0] ** 2] * 3
    elif body["kind"] == "box":
        a, b, c = (size**2 for size in sizes)
        own = [mass_kg * (b + c) / 12, mass_kg * (a + c) / 12, mass_kg * (a + b) / 12]
    else:
        radius, height = sizes
        across = mass_kg * (3 * radius**2 + height**2) / 12
        own = [across, across, mass_kg * radius**2 / 2]
    turned = spatial.Rotation.from_euler("xyz", body["euler_xyz_deg"], degrees=True).as_matrix()
    return sum(turned[2][axis] ** 2 * own[axis] for axis in range(3))


@pytest.mark.parametrize("index", range(4))
def test_assemblies_of_turned_bodies_have_their_exact_yaw_inertia(index):
    """Boxes, cylinders and spheres at any angle, by parallel axes about the printed centre of gravity."""
    case = json.loads(of_shared(BENCHMARKS / "mass_properties.json"))[index]
    entries = [as_entry(f"E{number}", body["mass_kg"], body["centre_m"]) for number, body in enumerate(case["bodies"])]
    x_m, y_m, _ = case["answer"]["cg_m"]
    found = inertia_about(entries, x_mm=MM_PER_M * x_m, y_mm=MM_PER_M * y_m, own_kg_m2=map(own_inertia, case["bodies"]))
    assert found == pytest.approx(case["answer"]["yaw_Izz"], rel=1e-9)


def as_entry(ref: str, mass_kg: float, centre_m, **reach) -> Entry:
    x_mm, y_mm, z_mm = (MM_PER_M * metres for metres in centre_m)
    return Entry(group="body", ref=ref, name=ref, mass_kg=mass_kg, x_mm=x_mm, y_mm=y_mm, z_mm=z_mm, **reach)


BLOCKS = [
    (143.0, (0.468, 0.407, 0.200), (0.029, -0.242, 0.368)),
    (88.0, (0.610, 0.480, 0.550), (2.478, -0.005, 0.435)),
    (12.4, (0.155, 0.568, 0.568), (0.0, -0.240, 0.370)),
    (66.0, (0.588, 0.407, 0.200), (2.318, 0.0, 0.598)),
]


def test_blocks_turn_as_an_independent_library_says():
    """trimesh: mass properties of each block's mesh, put together by itself, about the common centre of gravity."""
    trimesh = pytest.importorskip("trimesh")
    meshes = []
    for mass_kg, size_m, centre_m in BLOCKS:
        mesh = trimesh.creation.box(extents=size_m)
        mesh.density = mass_kg / mesh.volume
        mesh.apply_translation(centre_m)
        meshes.append(mesh)
    total_kg = sum(mass_kg for mass_kg, _, _ in BLOCKS)
    centre_m = [sum(mass_kg * place[axis] for mass_kg, _, place in BLOCKS) / total_kg for axis in range(3)]
    entries = [
        as_entry(f"E{number}", mass_kg, place, along_mm=MM_PER_M * size[0], across_mm=MM_PER_M * size[1])
        for number, (mass_kg, size, place) in enumerate(BLOCKS)
    ]
    scene = trimesh.Scene(meshes)
    for place in ([0.0, 0.0, 0.0], centre_m):
        theirs = trimesh.inertia.scene_inertia(scene, transform=trimesh.transformations.translation_matrix(place))
        ours = inertia_about(entries, x_mm=MM_PER_M * place[0], y_mm=MM_PER_M * place[1])
        assert ours == pytest.approx(theirs[2][2], rel=1e-9)


def exercise_car() -> tuple[Car, Stand]:
    """C1 of the reference: 1050 kg, wheelbase 2.550 m, track 1.80 m, corners 290, 330, 210, 220 kg, height 1.188 m."""
    weighed = Weighed(front_left_kg=290, front_right_kg=330, rear_left_kg=210, rear_right_kg=220, state="as in the exercise")
    car = Car(
        wheelbase_mm=2550, track_front_mm=1800, track_rear_mm=1800, tyre_static_radius_mm=353, front_edge_x_mm=-700, rear_edge_x_mm=3300,
        overall_width_mm=2000, overall_height_mm=1500, ground_clearance_mm=150, seats=4, weighed=weighed, wheel_rate_front_n_per_mm=20,
        limits=Limits(front_axle_kg=5000, rear_axle_kg=5000, gross_kg=10_000),
    )  # fmt: skip
    stand = Stand(
        name="C1", front_left_kg=290, front_right_kg=330, rear_left_kg=210, rear_right_kg=220, x_mm=1044.3, y_mm=42.9, z_mm=1188.0
    )
    return car, stand


def test_load_transfer_of_the_exercise_by_moments():
    """Its car, braked and turned: by moments about the rear contact patches and about the inner ones, worked by hand.

    Braked at 0.5 g: about the rear axle, F L = W (L - x) + W 0.5 h: F = 1050 (1505.7 + 594) / 2550 = 864.6 kg.
    Turned at 0.3 g with the heavier right side outside: about the left wheels R T = W (T / 2 + y) + W 0.3 h:
    R = 1050 (900 + 42.857 + 356.4) / 1800 = 757.9 kg. y from the corners: (550 - 500) 1800 / 2 / 1050 = 42.857 mm.
    """
    car, stand = exercise_car()
    braked, turned = braking(stand, car, 0.5), cornering(stand, car, 0.3)
    assert braked.loaded_kg == pytest.approx(1050 * (2550 - 1044.2857 + 594) / 2550, abs=0.01)
    assert braked.relieved_kg == pytest.approx(1050 - 864.6, abs=0.05)
    assert turned.loaded_kg == pytest.approx(757.9, abs=0.05)
    assert turned.loaded_kg + turned.relieved_kg == pytest.approx(1050)


def test_a_known_weight_over_an_axle_sinks_it_as_measured():
    """The way a wheel rate is measured, backwards: 81.58 kg on the front axle are 800 N, 400 N a wheel, at 20 N/mm 20 mm."""
    car, stand = exercise_car()
    more = Stand(
        name="more", front_left_kg=290 + 40.79, front_right_kg=330 + 40.79, rear_left_kg=210, rear_right_kg=220, x_mm=0, y_mm=0, z_mm=None
    )
    (ride,) = rides_of(car, stand, more)
    assert (ride.axle, ride.lower_mm) == ("front", pytest.approx(20.0, abs=0.001))


# Proof stress in N/mm2 that the standard names by class (M16 and thinner), from memory; the table holds printed loads.
PROOF_STRESS = {"4.6": 225, "4.8": 310, "5.6": 280, "5.8": 380, "6.8": 440, "8.8": 580, "9.8": 650, "10.9": 830, "12.9": 970}


def test_each_printed_proof_load_is_its_area_times_the_stress_of_its_class():
    """Printed to three digits. Two columns of one table that were typed in by hand hold each other."""
    rows = table("bolt_proof_loads")
    assert len(rows) == len(bolt_proof_loads()) == 7 * len(PROOF_STRESS)
    for row in rows:
        load_n = float(row["proof_load_n"])
        last_digit = 10 ** (len(row["proof_load_n"]) - 3)
        assert abs(float(row["stress_area_mm2"]) * PROOF_STRESS[row["property_class"]] - load_n) <= last_digit, row


def test_the_constants_say_where_they_are_from():
    for name in ("standard_gravity", "yaw_inertia_ratio"):
        assert (constants()[name].basis, bool(constants()[name].source)) == ("published", True)
