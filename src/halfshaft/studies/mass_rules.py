"""What can be wrong with the weights and with the way they were found."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfshaft.model.car import Car, MadePart, Removed
from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device
from halfshaft.model.finding import COMMON_PRACTICE, Basis, Finding, published
from halfshaft.studies.mass import MassResult

PLATE = published("type plate of this car")


WEIGHT_CAUTION = "Axle limits and road approval: the plate and the local authority decide; have the finished car weighed."
LIFT_CAUTION = "A car on a lifted axle can fall: stands on firm ground, wheels chocked; local rules and qualified people decide."


def mass_findings(conversion: Conversion, result: MassResult) -> Iterator[Finding]:
    """All rules of this study."""
    yield from over_limits(conversion.car, result)
    yield from height_unknown(result)
    yield from height_unbelievable(conversion.car, result)
    yield from raised_too_little(conversion.car)
    yield from outside_car(conversion)
    yield from nothing_left(result)
    yield from small_reserve(conversion.car, result)


def over_limits(car: Car, result: MassResult) -> Iterator[Finding]:
    """An axle or the whole car weighs more than its plate allows."""
    for stand in (result.finished, *result.loaded):
        state = "" if stand is result.finished else f" with {stand.name}"
        for what, load_kg, limit_kg, rule in (
            ("front axle", stand.front_kg, car.limits.front_axle_kg, "mass.axle-limit"),
            ("rear axle", stand.rear_kg, car.limits.rear_axle_kg, "mass.axle-limit"),
            ("whole car", stand.total_kg, car.limits.gross_kg, "mass.gross-limit"),
        ):
            if load_kg > limit_kg:
                yield Finding(
                    rule=rule,
                    level="stop",
                    about=(what, *([stand.name] if state else [])),
                    text=f"The {what}{state} weighs {load_kg:.1f} kg; the plate allows {limit_kg:.0f} kg.",
                    value=load_kg,
                    limit=limit_kg,
                    unit="kg",
                    basis=PLATE,
                    caution=WEIGHT_CAUTION,
                )


def small_reserve(car: Car, result: MassResult) -> Iterator[Finding]:
    """A load state leaves next to nothing to the gross limit."""
    share = 0.01
    for stand in result.loaded:
        left_kg = car.limits.gross_kg - stand.total_kg
        if 0 <= left_kg < share * car.limits.gross_kg:
            yield Finding(
                rule="mass.small-reserve",
                level="note",
                about=("whole car", stand.name),
                text=f"With {stand.name} only {left_kg:.1f} kg are left to the gross limit: nothing more may go in.",
                value=left_kg,
                limit=share * car.limits.gross_kg,
                unit="kg",
                basis=Basis("common practice", "1 % of the gross limit kept for what was not weighed"),
                caution=WEIGHT_CAUTION,
            )


def height_unknown(result: MassResult) -> Iterator[Finding]:
    """Nobody has weighed the donor with an axle raised, so no height is computed."""
    if result.height is None:
        yield Finding(
            rule="mass.height-unknown",
            level="fix",
            about=("car",),
            text="The height of the centre of gravity is not known: weigh once more with one axle raised, or give it with how it is known.",
            basis=COMMON_PRACTICE,
            caution=LIFT_CAUTION,
        )


def height_unbelievable(car: Car, result: MassResult) -> Iterator[Finding]:
    """The donor's centre of gravity comes out where no car has it: something was weighed or typed wrongly."""
    if result.height is None:
        return
    low_mm, high_mm = 0.2 * car.overall_height_mm, 0.6 * car.overall_height_mm
    height_mm = result.height.height_mm
    if not low_mm <= height_mm <= high_mm:
        yield Finding(
            rule="mass.height-unbelievable",
            level="stop",
            about=("car",),
            text=f"The centre of gravity comes out at {height_mm:.0f} mm in a car {car.overall_height_mm:.0f} mm high. Make sure that other_axle_kg is the load of the axle that stayed on the scales.",
            value=height_mm,
            limit=high_mm if height_mm > high_mm else low_mm,
            unit="mm",
            basis=Basis("common practice", "cars of the 1960s and 70s have it at 0.49 to 0.55 m, so between 20 and 60 % of their height"),
            caution=WEIGHT_CAUTION,
        )


def raised_too_little(car: Car) -> Iterator[Finding]:
    """The axle was lifted so little that the height is mostly guesswork."""
    raised = car.raised
    if raised is None:
        return
    angle_deg = math.degrees(math.asin(raised.height_mm / car.wheelbase_mm))
    if angle_deg < 15.0 and raised.height_mm < 250.0:
        yield Finding(
            rule="mass.raised-too-little",
            level="fix",
            about=("car",),
            text=f"The {raised.axle} axle was lifted {raised.height_mm:.0f} mm, {angle_deg:.1f} degrees; lift it 15 degrees or 250 mm at least, or the height is mostly scale error.",
            value=raised.height_mm,
            limit=250.0,
            unit="mm",
            basis=published("a scale maker's instruction: at least 15 degrees or 250 mm"),
            caution=LIFT_CAUTION,
        )


def outside_car(conversion: Conversion) -> Iterator[Finding]:
    """Something that was weighed is said to lie outside the car: a sign or a figure is wrong."""
    car = conversion.car
    listed: list[Removed | MadePart | Device] = [*conversion.removed, *conversion.made_parts, *conversion.devices]
    for item in listed:
        beyond_mm = max(
            car.front_edge_x_mm - item.x_mm,
            item.x_mm - car.rear_edge_x_mm,
            abs(item.y_mm) - car.overall_width_mm / 2,
            item.z_mm - car.overall_height_mm,
            -item.z_mm,
        )
        if beyond_mm > 0:
            yield Finding(
                rule="mass.outside-car",
                level="fix",
                about=(item.ref,),
                text=f"{item.ref} ({item.name}) lies {beyond_mm:.0f} mm outside the car: x {item.x_mm:.0f}, y {item.y_mm:.0f}, z {item.z_mm:.0f}. A sign or a figure is wrong, or the car's edges are.",
                value=beyond_mm,
                limit=0.0,
                unit="mm",
                basis=Basis("common practice", "the car's own overall sizes"),
            )


def nothing_left(result: MassResult) -> Iterator[Finding]:
    """More comes out than was on the scales."""
    for stand in (result.bare, result.finished):
        lightest_kg = min(stand.front_kg, stand.rear_kg)
        if lightest_kg <= 0:
            yield Finding(
                rule="mass.nothing-left",
                level="stop",
                about=("removed",),
                text=f"The {stand.name} car would have {lightest_kg:.1f} kg on an axle: something removed is too heavy or in the wrong place.",
                value=lightest_kg,
                limit=0.0,
                unit="kg",
                basis=Basis("common practice", "an axle cannot pull at the ground"),
            )
