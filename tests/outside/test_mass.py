"""Axle loads and centre of gravity against a printed exercise, a second published method, and assemblies known exactly.

Sources: "a", the exercise, from https://askfilo.com/user-question-answers-smart-solutions/a-the-data-was-obtained-in-an-exercise-to-determine-the-3430373733313132
(data and the place along the car printed there; the height is worked out in the shared references, mass_and_cg.md,
check C1, by the axle-lift formula of ISO 10392); "b", the projection method of a vehicle maker's body builder guide,
section 3.5, centre of gravity heights, as given in mass_and_cg.md, section 2.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from halfshaft.model.car import Car, Limits, RaisedWeighing, Weighed
from halfshaft.studies.mass import Entry, Stand, donor_height, donor_stand, raised_axle_height_mm, with_entries

SHARED = Path(__file__).parents[2].parent / "shared"
ASSEMBLIES = SHARED / "benchmarks" / "mass_properties.json"
MM_PER_M = 1000.0
NOTHING = Stand(name="nothing", front_left_kg=0, front_right_kg=0, rear_left_kg=0, rear_right_kg=0, x_mm=0, y_mm=0, z_mm=0)


def a_car(weighed: Weighed, **more) -> Car:
    facts = {
        "wheelbase_mm": 2550.0,
        "track_front_mm": 1800.0,
        "track_rear_mm": 1800.0,
        "tyre_static_radius_mm": 353.0,
        "front_edge_x_mm": -700.0,
        "rear_edge_x_mm": 3300.0,
        "overall_width_mm": 2000.0,
        "overall_height_mm": 1500.0,
        "ground_clearance_mm": 150.0,
        "seats": 4,
        "weighed": weighed,
        "limits": Limits(front_axle_kg=5000, rear_axle_kg=5000, gross_kg=10_000),
    }
    return Car(**{**facts, **more})


def test_the_printed_exercise():
    """C1. Printed: 0.2307 m ahead of the middle of a wheelbase of 2.550 m. Worked out there: right 0.0429 m, height 1.188 m.

    The exercise lifts an axle 1.5 m and its data give a height that no car has: it is arithmetic and nothing more.
    """
    car = a_car(
        Weighed(front_left_kg=290, front_right_kg=330, rear_left_kg=210, rear_right_kg=220, state="as in the exercise"),
        raised=RaisedWeighing(axle="front", height_mm=1500, other_axle_kg=680),
    )
    height = donor_height(car)
    stand = donor_stand(car, height)
    assert (stand.front_kg, stand.rear_kg, stand.total_kg) == (620, 430, 1050)
    assert 2550 / 2 - stand.x_mm == pytest.approx(230.7, abs=0.05)
    assert stand.x_mm == pytest.approx(1044.3, abs=0.05)
    assert stand.y_mm == pytest.approx(42.9, abs=0.05)
    assert stand.z_mm == pytest.approx(1188, abs=0.5)
    assert stand.z_mm - car.tyre_static_radius_mm == pytest.approx(834.7, abs=0.05)
    assert math.degrees(math.asin(1500 / 2550)) == pytest.approx(36.03, abs=0.005)


def height_by_projection_mm(
    *, wheelbase_mm: float, level_kg: float, raised_kg: float, total_kg: float, lift_mm: float, radius_mm: float
) -> float:
    """Where two lines of action meet: x1 = F L / W level, x2 = F' L2 / W with L2 the wheelbase seen from above.

    Both are measured from the axle that is lifted, in the car's own frame: u along the car, v up from the hubs. Level,
    the line stands at u = x1. Lifted by theta it is every (u, v) with u cos(theta) + v sin(theta) = x2.
    """
    seen_from_above_mm = math.sqrt(wheelbase_mm**2 - lift_mm**2)
    x1 = level_kg * wheelbase_mm / total_kg
    x2 = raised_kg * seen_from_above_mm / total_kg
    cosine, sine = seen_from_above_mm / wheelbase_mm, lift_mm / wheelbase_mm
    return radius_mm + (x2 - x1 * cosine) / sine


@st.composite
def weighings(draw):
    """A car with a known centre of gravity, and what the scales must then show by moments about the hub that stays."""
    wheelbase_mm = draw(st.floats(1500, 4000))
    total_kg = draw(st.floats(300, 3500))
    radius_mm = draw(st.floats(200, 420))
    height_mm = draw(st.floats(radius_mm - 150, 1500))
    from_lifted_mm = wheelbase_mm * draw(st.floats(0.2, 0.8))
    lift_mm = draw(st.floats(250, 0.6 * wheelbase_mm))
    theta = math.asin(lift_mm / wheelbase_mm)
    level_kg = total_kg * from_lifted_mm / wheelbase_mm
    # The whole car turned by theta about the lifted hub: how far ahead of that hub, seen from above, its mass now is.
    ahead_mm = from_lifted_mm * math.cos(theta) + (height_mm - radius_mm) * math.sin(theta)
    raised_kg = total_kg * ahead_mm / (wheelbase_mm * math.cos(theta))
    scales = {
        "wheelbase_mm": wheelbase_mm,
        "level_kg": level_kg,
        "raised_kg": raised_kg,
        "total_kg": total_kg,
        "lift_mm": lift_mm,
        "radius_mm": radius_mm,
    }
    return height_mm, scales


@settings(max_examples=200, deadline=None)
@given(weighings())
def test_two_published_methods_and_plain_statics_give_one_height(weighing):
    """The axle-lift formula (ISO 10392), the projection method (a body builder guide, 3.5), and the height put in."""
    height_mm, scales = weighing
    assert raised_axle_height_mm(**scales) == pytest.approx(height_mm, abs=1e-6)
    assert raised_axle_height_mm(**scales) == pytest.approx(height_by_projection_mm(**scales), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(weighings(), st.sampled_from(["front", "rear"]))
def test_whichever_axle_is_lifted_the_car_has_one_height(weighing, axle):
    """The same two methods, asked through a donor car with four scales."""
    height_mm, scales = weighing
    assume(scales["raised_kg"] >= 0)
    level_kg, lifted_kg = scales["level_kg"], scales["total_kg"] - scales["level_kg"]
    front_kg, rear_kg = (level_kg, lifted_kg) if axle == "rear" else (lifted_kg, level_kg)
    corners = {"front_left_kg": front_kg / 2, "front_right_kg": front_kg / 2, "rear_left_kg": rear_kg / 2, "rear_right_kg": rear_kg / 2}
    car = a_car(
        Weighed(**corners, state="full of fluids"),
        wheelbase_mm=scales["wheelbase_mm"],
        tyre_static_radius_mm=scales["radius_mm"],
        raised=RaisedWeighing(axle=axle, height_mm=scales["lift_mm"], other_axle_kg=scales["raised_kg"]),
    )
    assert donor_height(car).height_mm == pytest.approx(height_mm, abs=1e-5)


@pytest.mark.parametrize("index", range(4))
def test_assemblies_known_exactly_stand_as_they_must(index):
    """Shared benchmarks, mass_properties.json: 10 and more bodies each, exact; trimesh agrees.

    The bodies are put on nothing, so that nothing but their own mass and place is in the answer.
    """
    if not ASSEMBLIES.is_file():
        pytest.skip(f"the shared benchmarks are not beside this repository: no {ASSEMBLIES.name}")
    case = json.loads(ASSEMBLIES.read_text())[index]
    weighed = Weighed(front_left_kg=1, front_right_kg=1, rear_left_kg=1, rear_right_kg=1, state="not looked at")
    car = a_car(weighed, wheelbase_mm=MM_PER_M * case["wheelbase_m"])
    bodies = []
    for number, body in enumerate(case["bodies"]):
        x_mm, y_mm, z_mm = (MM_PER_M * metres for metres in body["centre_m"])
        bodies.append(Entry(group="body", ref=f"E{number}", name=body["kind"], mass_kg=body["mass_kg"], x_mm=x_mm, y_mm=y_mm, z_mm=z_mm))
    stand = with_entries(NOTHING, bodies, car=car, sign=1.0, name="all of it")
    answer = case["answer"]
    assert stand.total_kg == pytest.approx(answer["mass_kg"], abs=1e-6)
    assert stand.front_kg == pytest.approx(answer["front_axle_kg"], abs=1e-6)
    assert stand.rear_kg == pytest.approx(answer["rear_axle_kg"], abs=1e-6)
    centre_m = [stand.x_mm / MM_PER_M, stand.y_mm / MM_PER_M, stand.z_mm / MM_PER_M]
    assert centre_m == pytest.approx(answer["cg_m"], abs=1e-9)
