"""What must always hold of load transfer, springs and yaw inertia."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.model.car import Car, Fuel, Limits, Weighed
from halfshaft.studies.handling import braking, cornering, inertia_about, rides_of, study_yaw, with_tank
from halfshaft.studies.mass import Entry, Height, MassResult, Stand, donor_height, donor_stand, with_entries

places = st.floats(-1500, 4500).map(lambda mm: round(mm, 1))
masses = st.floats(0.1, 300).map(lambda kg: round(kg, 2))
reaches = st.floats(0, 900).map(lambda mm: round(mm, 1))


@st.composite
def cars(draw):
    corner = st.floats(50, 800).map(lambda kg: round(kg, 1))
    return Car(
        wheelbase_mm=draw(st.floats(1500, 3500)), track_front_mm=draw(st.floats(1000, 1800)), track_rear_mm=draw(st.floats(1000, 1800)),
        tyre_static_radius_mm=300, front_edge_x_mm=-700, rear_edge_x_mm=4000, overall_width_mm=1800, overall_height_mm=1400,
        ground_clearance_mm=150, cg_height_mm=draw(st.floats(300, 900)), seats=4,
        wheel_rate_front_n_per_mm=draw(st.floats(5, 80)), wheel_rate_rear_n_per_mm=draw(st.floats(5, 80)),
        yaw_inertia_kg_m2=draw(st.none() | st.floats(200, 4000)),
        fuel=Fuel(weighed_l=20, tank_l=draw(st.floats(20, 90)), x_mm=draw(places), y_mm=draw(places), z_mm=400),
        weighed=Weighed(
            front_left_kg=draw(corner), front_right_kg=draw(corner), rear_left_kg=draw(corner), rear_right_kg=draw(corner), state="as found"
        ),
        limits=Limits(front_axle_kg=2000, rear_axle_kg=2000, gross_kg=4000),
    )  # fmt: skip


@st.composite
def ledgers(draw, most=5):
    rows = draw(st.lists(st.tuples(masses, places, places, reaches, reaches), max_size=most))
    return [
        Entry(group="thing", ref=f"T{index}", name="a thing", mass_kg=mass, x_mm=x, y_mm=y, z_mm=400, along_mm=along, across_mm=across)
        for index, (mass, x, y, along, across) in enumerate(rows)
    ]


def donor(car: Car) -> Stand:
    return donor_stand(car, donor_height(car))


def result(car: Car, removed: list[Entry], fitted: list[Entry]) -> MassResult:
    start = donor(car)
    bare = with_entries(start, removed, car=car, sign=-1.0, name="bare")
    finished = with_entries(bare, fitted, car=car, sign=1.0, name="finished")
    height = Height(height_mm=500, known="given", step_mm=None)
    return MassResult(
        height=height, donor=start, bare=bare, finished=finished, loaded=(), removed=tuple(removed), fitted=tuple(fitted)
    )  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(cars(), st.floats(0.05, 1.5))
def test_no_load_is_made_or_lost_and_forces_and_moments_balance(car, acceleration_g):
    """Braked: the front axle's load times the wheelbase is the moment of weight and pull about the rear contact patches."""
    stand = donor(car)
    braked, turned = braking(stand, car, acceleration_g), cornering(stand, car, acceleration_g)
    for shift in (braked, turned):
        assert shift.loaded_kg + shift.relieved_kg == pytest.approx(stand.total_kg)
    about_rear = stand.total_kg * (car.wheelbase_mm - stand.x_mm) + stand.total_kg * acceleration_g * stand.z_mm
    assert braked.loaded_kg * car.wheelbase_mm == pytest.approx(about_rear)


@settings(max_examples=60, deadline=None)
@given(cars())
def test_at_its_stability_factor_a_car_that_stands_even_lifts_its_inner_wheels(car):
    half = {"front_left_kg": 200.0, "front_right_kg": 200.0, "rear_left_kg": 150.0, "rear_right_kg": 150.0}
    stand = replace(donor(car), **half)
    factor = (car.track_front_mm + car.track_rear_mm) / 2 / (2 * stand.z_mm)
    assert cornering(stand, car, factor).relieved_kg == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(cars(), st.floats(0.5, 2.0), st.floats(0.5, 2.0))
def test_the_restoring_rate_bears_the_new_load_at_the_old_deflection(car, front, rear):
    before = donor(car)
    after = replace(
        before, front_left_kg=front * before.front_left_kg, front_right_kg=front * before.front_right_kg,
        rear_left_kg=rear * before.rear_left_kg, rear_right_kg=rear * before.rear_right_kg,
    )  # fmt: skip
    for ride in rides_of(car, before, after):
        old_mm = ride.before_kg * 9.80665 / 2 / ride.rate_n_per_mm
        assert ride.after_kg * 9.80665 / 2 / ride.restoring_n_per_mm == pytest.approx(old_mm)
        assert ride.after_kg * 9.80665 / 2 / ride.rate_n_per_mm == pytest.approx(old_mm + ride.lower_mm)


@settings(max_examples=60, deadline=None)
@given(cars())
def test_filling_the_tank_and_emptying_it_differ_by_what_it_holds(car):
    full, empty = with_tank(car, donor(car))
    fuel_kg = car.fuel.tank_l * car.fuel.density_kg_per_l
    assert full.total_kg - empty.total_kg == pytest.approx(fuel_kg)
    there_kg = car.fuel.weighed_l * car.fuel.density_kg_per_l
    assert donor(car).total_kg - empty.total_kg == pytest.approx(there_kg)
    moved = full.total_kg * full.x_mm - empty.total_kg * empty.x_mm
    assert moved == pytest.approx(fuel_kg * car.fuel.x_mm, abs=1e-3)


@settings(max_examples=60, deadline=None)
@given(ledgers(), places, places)
def test_parallel_axes_are_what_a_cloud_of_points_has(ledger, x_mm, y_mm):
    """Each block as 2 x 2 points at one over the root of twelve of its reach: the same mass, middle and inertia, by hand."""
    at = 12**-0.5
    cloud = sum(
        entry.mass_kg
        / 4
        * ((entry.x_mm + along * at * entry.along_mm - x_mm) ** 2 + (entry.y_mm + across * at * entry.across_mm - y_mm) ** 2)
        for entry in ledger
        for along in (-1, 1)
        for across in (-1, 1)
    )
    assert inertia_about(ledger, x_mm=x_mm, y_mm=y_mm) == pytest.approx(cloud / 1e6, rel=1e-9, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(cars(), ledgers())
def test_what_is_taken_out_and_put_back_turns_as_before(car, ledger):
    yaw = study_yaw(car, result(car, ledger, ledger))
    assert yaw.change_kg_m2 == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=100, deadline=None)
@given(cars(), ledgers(most=4))
def test_the_change_of_yaw_inertia_is_that_of_a_car_made_of_points(car, ledger):
    """The donor as two points on one line through its centre, far enough apart to have its inertia; then all about the new centre."""
    stand = donor(car)
    mass = result(car, [], ledger)
    yaw = study_yaw(car, mass)
    apart_mm = 1000 * (yaw.donor_kg_m2 / stand.total_kg) ** 0.5
    points = [(stand.total_kg / 2, stand.x_mm + side * apart_mm, stand.y_mm) for side in (-1, 1)]
    at = 12**-0.5
    points += [
        (entry.mass_kg / 4, entry.x_mm + along * at * entry.along_mm, entry.y_mm + across * at * entry.across_mm)
        for entry in ledger for along in (-1, 1) for across in (-1, 1)
    ]  # fmt: skip
    total = sum(kg for kg, _, _ in points)
    middle = [sum(point[0] * point[axis] for point in points) / total for axis in (1, 2)]
    about = sum(kg * ((x - middle[0]) ** 2 + (y - middle[1]) ** 2) for kg, x, y in points) / 1e6
    assert yaw.finished_kg_m2 == pytest.approx(about, rel=1e-7)
