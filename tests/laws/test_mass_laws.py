"""What must always hold of a car on its wheels: sums balance, moments agree with places, and nothing is lost on the way."""

from __future__ import annotations

import math
from dataclasses import astuple, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.model.car import Car, Limits, LoadState, MadePart, Removed, Weighed
from halfshaft.model.conversion import Conversion, Job
from halfshaft.studies.mass import Entry, Stand, donor_height, donor_stand, with_entries
from halfshaft.study import Study

JOB = Job(ref="MASS", name="a car", owner="tests", revision="A", date="2026-01-31")
# A tenth of a gram, and a thousandth of a millimetre: far below any scale and any tape.
KG, MM = 1e-4, 1e-3

masses = st.floats(0, 400).map(lambda kg: round(kg, 2))
places = st.floats(-1500, 4500).map(lambda mm: round(mm, 1))


@st.composite
def cars(draw):
    corner = st.floats(50, 800).map(lambda kg: round(kg, 1))
    return Car(
        wheelbase_mm=draw(st.floats(1500, 3500)),
        track_front_mm=draw(st.floats(1000, 1800)),
        track_rear_mm=draw(st.floats(1000, 1800)),
        tyre_static_radius_mm=300,
        front_edge_x_mm=-700,
        rear_edge_x_mm=4000,
        overall_width_mm=1800,
        overall_height_mm=1400,
        ground_clearance_mm=150,
        cg_height_mm=draw(st.none() | st.floats(300, 900)),
        seats=4,
        weighed=Weighed(
            front_left_kg=draw(corner), front_right_kg=draw(corner), rear_left_kg=draw(corner), rear_right_kg=draw(corner), state="as found"
        ),
        limits=Limits(front_axle_kg=2000, rear_axle_kg=2000, gross_kg=4000),
    )


@st.composite
def ledgers(draw, most=8):
    rows = draw(st.lists(st.tuples(masses, places, places, places), max_size=most))
    return [
        Entry(group="thing", ref=f"T{index}", name="a thing", mass_kg=mass, x_mm=x, y_mm=y, z_mm=z)
        for index, (mass, x, y, z) in enumerate(rows)
    ]


def donor(car: Car) -> Stand:
    return donor_stand(car, donor_height(car))


def moments(stand: Stand) -> tuple[float, float, float | None]:
    """Mass times place in kg mm, which stays well behaved where the mass itself nears nothing."""
    z = None if stand.z_mm is None else stand.total_kg * stand.z_mm
    return stand.total_kg * stand.x_mm, stand.total_kg * stand.y_mm, z


def same(here: Stand, there: Stand) -> bool:
    """Corners to a tenth of a gram, moments to what that is worth at ten metres."""
    corners = [(getattr(here, name), getattr(there, name)) for name in ("front_left_kg", "front_right_kg", "rear_left_kg", "rear_right_kg")]
    close = all(math.isclose(a, b, abs_tol=KG) for a, b in corners)
    for a, b in zip(moments(here), moments(there), strict=True):
        close = close and ((a is None) == (b is None)) and (a is None or math.isclose(a, b, rel_tol=1e-9, abs_tol=1e4 * KG))
    return close


@settings(max_examples=100, deadline=None)
@given(cars(), ledgers())
def test_what_is_taken_out_and_put_back_leaves_the_car_as_it_was(car, ledger):
    start = donor(car)
    out = with_entries(start, ledger, car=car, sign=-1.0, name="out")
    if abs(out.total_kg) > 1.0:
        assert same(with_entries(out, ledger, car=car, sign=1.0, name="back"), start)


@settings(max_examples=100, deadline=None)
@given(cars(), ledgers())
def test_corners_axles_and_the_sum_of_the_parts_are_one_mass(car, ledger):
    start = donor(car)
    stand = with_entries(start, ledger, car=car, sign=1.0, name="more")
    corners = astuple(stand)[1:5]
    assert stand.total_kg == pytest.approx(sum(corners), abs=KG)
    assert stand.front_kg + stand.rear_kg == pytest.approx(stand.total_kg, abs=KG)
    assert stand.total_kg == pytest.approx(car.weighed.total_kg + sum(entry.mass_kg for entry in ledger), abs=KG)


@settings(max_examples=100, deadline=None)
@given(cars(), ledgers())
def test_wheels_carry_the_moments_of_the_centre_of_gravity(car, ledger):
    """Two routes to one answer: by the places of what went in, and by the loads that the wheels then carry."""
    stand = with_entries(donor(car), ledger, car=car, sign=1.0, name="more")
    by_wheels_x = car.wheelbase_mm * stand.rear_kg / stand.total_kg
    by_wheels_y = (
        (stand.front_right_kg - stand.front_left_kg) * car.track_front_mm + (stand.rear_right_kg - stand.rear_left_kg) * car.track_rear_mm
    ) / (2 * stand.total_kg)
    assert stand.x_mm == pytest.approx(by_wheels_x, abs=MM)
    assert stand.y_mm == pytest.approx(by_wheels_y, abs=MM)


@settings(max_examples=100, deadline=None)
@given(cars(), ledgers(), st.randoms(use_true_random=False))
def test_the_order_of_the_ledger_does_not_matter(car, ledger, chance):
    shuffled = list(ledger)
    chance.shuffle(shuffled)
    here = with_entries(donor(car), ledger, car=car, sign=1.0, name="more")
    there = with_entries(donor(car), shuffled, car=car, sign=1.0, name="more")
    assert same(here, there)


@settings(max_examples=100, deadline=None)
@given(cars(), ledgers(), st.floats(1, 500))
def test_moving_everything_back_loads_the_rear_and_loses_nothing(car, ledger, by_mm):
    moved = [replace(entry, x_mm=entry.x_mm + by_mm) for entry in ledger]
    before = with_entries(donor(car), ledger, car=car, sign=1.0, name="before")
    after = with_entries(donor(car), moved, car=car, sign=1.0, name="after")
    added_kg = sum(entry.mass_kg for entry in ledger)
    assert after.total_kg == pytest.approx(before.total_kg, abs=KG)
    assert after.rear_kg - before.rear_kg == pytest.approx(added_kg * by_mm / car.wheelbase_mm, abs=KG)


@settings(max_examples=60, deadline=None)
@given(cars(), st.floats(1, 300), places, places)
def test_a_thing_over_an_axle_loads_no_wheel_of_the_other(car, mass_kg, y_mm, z_mm):
    thing = Entry(group="thing", ref="T", name="a thing", mass_kg=mass_kg, x_mm=0.0, y_mm=y_mm, z_mm=z_mm)
    before, after = donor(car), with_entries(donor(car), [thing], car=car, sign=1.0, name="after")
    assert (after.rear_left_kg, after.rear_right_kg) == (before.rear_left_kg, before.rear_right_kg)
    behind = with_entries(donor(car), [replace(thing, x_mm=2 * car.wheelbase_mm)], car=car, sign=1.0, name="behind")
    assert behind.front_kg == pytest.approx(before.front_kg - mass_kg, abs=KG)


@settings(max_examples=60, deadline=None)
@given(cars(), st.floats(1, 300))
def test_a_height_that_nobody_knows_stays_unknown(car, mass_kg):
    thing = Entry(group="thing", ref="T", name="a thing", mass_kg=mass_kg, x_mm=0.0, y_mm=0.0, z_mm=2000.0)
    after = with_entries(donor(car), [thing], car=car, sign=1.0, name="after")
    if car.cg_height_mm is None:
        assert after.z_mm is None
    else:
        assert car.cg_height_mm < after.z_mm < 2000.0


@settings(max_examples=60, deadline=None)
@given(cars(), ledgers(most=4), ledgers(most=4), ledgers(most=4))
def test_the_whole_study_is_donor_less_removed_plus_fitted_plus_load(car, out, into, load):
    conversion = Conversion(
        job=JOB,
        car=car,
        removed=tuple(Removed(**facts(entry), how_known="weighed") for entry in out),
        made_parts=tuple(MadePart(**facts(entry)) for entry in into),
        load_states=tuple(LoadState(state="laden", **facts(entry, ref=False)) for entry in load),
    )
    result = Study(conversion).mass
    sums = [sum(entry.mass_kg for entry in entries) for entries in (out, into, load)]
    total_kg = car.weighed.total_kg
    assert result.donor.total_kg == pytest.approx(total_kg, abs=KG)
    assert result.bare.total_kg == pytest.approx(total_kg - sums[0], abs=KG)
    assert result.finished.total_kg == pytest.approx(total_kg - sums[0] + sums[1], abs=KG)
    assert [stand.name for stand in result.loaded] == (["laden"] if load else [])
    for stand in result.loaded:
        assert stand.total_kg == pytest.approx(total_kg - sums[0] + sums[1] + sums[2], abs=KG)


def facts(entry: Entry, *, ref: bool = True) -> dict:
    """What a ledger's entry and a record of the model have in common; the reference serves as the name."""
    shared = {"name": entry.ref, "mass_kg": entry.mass_kg, "x_mm": entry.x_mm, "y_mm": entry.y_mm, "z_mm": entry.z_mm}
    return {"ref": entry.ref, **shared} if ref else shared


def test_a_car_built_up_from_nothing_has_a_centre_of_gravity():
    corners = Weighed(front_left_kg=200, front_right_kg=200, rear_left_kg=200, rear_right_kg=200, state="as found")
    car = Car(
        wheelbase_mm=2400, track_front_mm=1300, track_rear_mm=1300, tyre_static_radius_mm=300, front_edge_x_mm=-700, rear_edge_x_mm=4000,
        overall_width_mm=1800, overall_height_mm=1400, ground_clearance_mm=150, cg_height_mm=500, seats=4, weighed=corners,
        limits=Limits(front_axle_kg=2000, rear_axle_kg=2000, gross_kg=4000),
    )  # fmt: skip
    conversion = Conversion(
        job=JOB,
        car=car,
        removed=(Removed(ref="ALL", name="all of it", mass_kg=800, x_mm=1200, y_mm=0, z_mm=500, how_known="weighed"),),
        made_parts=(MadePart(ref="NEW", name="a new car", mass_kg=700, x_mm=1000, y_mm=10, z_mm=450),),
    )
    finished = Study(conversion).mass.finished
    assert (finished.x_mm, finished.y_mm, finished.z_mm) == pytest.approx((1000, 10, 450), abs=MM)
