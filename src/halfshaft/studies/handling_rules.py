"""What can be wrong with the way the finished car stands, brakes and corners."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, Basis, Finding
from halfshaft.studies.handling import HandlingResult, Manner, Ride

RIDE_MAX_MM = 15.0
SIDES_MAX_PERCENT = 4.0
BRAKE_SHARE_MAX_POINTS = 5.0

SPRING_CAUTION = (
    "Springs under load can kill; springs, brakes and geometry are for qualified people, and may want approval where the car is registered."
)
BRAKE_CAUTION = "Brakes: have their balance judged and tested by qualified people before the car is driven on a road; local rules decide."
HANDLING_CAUTION = "Handling: have the car judged by qualified people before it is driven on a road; local rules decide."
WEIGH_CAUTION = "Wheel loads here are computed for a stiff, level car: weigh the finished car on four scales."


def handling_findings(conversion: Conversion, result: HandlingResult) -> Iterator[Finding]:
    """All rules of this study."""
    yield from ride_height(result)
    yield from wheel_rate_unknown(conversion)
    yield from one_sided(result.finished)
    yield from tips_sooner(result)
    yield from brake_share(result)


def ride_height(result: HandlingResult) -> Iterator[Finding]:
    """An axle of the finished car stands much lower or higher than the donor did on the scales."""
    for ride in result.rides:
        if ride.against == result.donors[0].stand.name and abs(ride.lower_mm) > RIDE_MAX_MM:
            yield Finding(
                rule="handling.ride-height",
                level="fix",
                about=(f"{ride.axle} axle",),
                text=f"{_sinks(ride)}: {ride.after_kg - ride.before_kg:+.1f} kg on the axle at {ride.rate_n_per_mm:g} N/mm a wheel. {restoring_words(ride)}".rstrip(),
                value=abs(ride.lower_mm),
                limit=RIDE_MAX_MM,
                unit="mm",
                basis=Basis("common practice", "more than this is seen at the wheel arch, and felt in bump travel, lamps and wheel angles"),
                caution=SPRING_CAUTION,
            )


def _sinks(ride: Ride) -> str:
    word = "sinks" if ride.lower_mm > 0 else "rises"
    return f"The {ride.axle} of the car {word} by {abs(ride.lower_mm):.0f} mm"


def restoring_words(ride: Ride) -> str:
    """What brings the donor's height back; nothing where an axle bears nothing."""
    if ride.restoring_n_per_mm is None or ride.stiffer_percent is None:
        return ""
    if ride.lower_mm > 0:
        return (
            f"It stands as before with {ride.restoring_n_per_mm:.1f} N/mm a wheel or somewhat more ({ride.stiffer_percent:.0f} % stiffer springs "
            f"of the same free length), or with the old springs packed up by what is worth {ride.lower_mm:.0f} mm at the wheel."
        )
    return (
        f"It stands as before with {ride.restoring_n_per_mm:.1f} N/mm a wheel or somewhat less ({-ride.stiffer_percent:.0f} % softer springs of "
        f"the same free length), or with the old springs let down by what is worth {-ride.lower_mm:.0f} mm at the wheel."
    )


def wheel_rate_unknown(conversion: Conversion) -> Iterator[Finding]:
    """Nobody has measured what force lowers a wheel by a millimetre, so no ride height is computed."""
    car = conversion.car
    rates = (("front", car.wheel_rate_front_n_per_mm), ("rear", car.wheel_rate_rear_n_per_mm))
    unknown = [axle for axle, rate in rates if rate is None]
    if unknown:
        yield Finding(
            rule="handling.wheel-rate-unknown",
            level="note",
            about=tuple(f"{axle} axle" for axle in unknown),
            text=f"No wheel rate of the {' and '.join(unknown)} axle is given, so nothing is said of ride height there: load the car by a known weight and measure how far it sinks.",
            basis=COMMON_PRACTICE,
        )


def one_sided(finished: Manner) -> Iterator[Finding]:
    """One side of the finished car is much heavier than the other."""
    apart_percent = abs(2 * finished.left_percent - 100)
    if apart_percent > SIDES_MAX_PERCENT:
        heavy, light = ("left", "right") if finished.left_kg > finished.right_kg else ("right", "left")
        yield Finding(
            rule="handling.one-sided",
            level="fix",
            about=("finished",),
            text=f"With nobody in it the finished car is {abs(finished.left_kg - finished.right_kg):.1f} kg heavier on the {heavy} than on the {light}, {apart_percent:.1f} % of its mass: it will lean to that side. Move something across.",
            value=apart_percent,
            limit=SIDES_MAX_PERCENT,
            unit="%",
            basis=Basis("common practice", "4 % of the car's mass from side to side"),
            caution=WEIGH_CAUTION,
        )


def tips_sooner(result: HandlingResult) -> Iterator[Finding]:
    """The static stability factor, to the two decimals in which it is published, is lower than the donor's in every state of its tank."""
    factors = [manner.stability_factor for manner in result.donors if manner.stability_factor is not None]
    now = result.finished.stability_factor
    if now is not None and factors and round(now, 2) < round(min(factors), 2):
        yield Finding(
            rule="handling.tips-sooner",
            level="fix",
            about=("finished",),
            text=f"The static stability factor falls from {min(factors):.2f} to {now:.2f}: the centre of gravity stands higher over the same tracks, and the car tips sooner. Place modules lower.",
            value=now,
            limit=min(factors),
            basis=Basis("common practice", "not less than the donor's own; T / 2h as a national road-safety agency rates cars"),
            caution=HANDLING_CAUTION,
        )


def brake_share(result: HandlingResult) -> Iterator[Finding]:
    """Under braking the front axle carries another share than the one that the donor's brakes were made for."""
    before, now = result.donors[0].braking, result.finished.braking
    if before is None or now is None:
        return
    points = now.loaded_percent - before.loaded_percent
    if abs(points) > BRAKE_SHARE_MAX_POINTS:
        axle = "rear" if points > 0 else "front"
        yield Finding(
            rule="handling.brake-share",
            level="fix" if points > 0 else "note",
            about=(f"{axle} brakes",),
            text=f"Braking at {now.acceleration_g:g} g the front axle carries {now.loaded_percent:.0f} % of the car, {before.loaded_percent:.0f} % in the donor: with its brakes as they are, the {axle} wheels lock sooner than they did."
            + (" Rear wheels that lock first spin the car." if points > 0 else ""),
            value=abs(points),
            limit=BRAKE_SHARE_MAX_POINTS,
            unit="points",
            basis=Basis("common practice", "brakes are shared out for the donor's axle loads"),
            caution=BRAKE_CAUTION,
        )
