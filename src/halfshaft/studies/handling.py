"""What the new weights do to the way the car stands, brakes, corners and turns, beside the donor."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from halfshaft.model.car import Car
from halfshaft.model.conversion import Conversion
from halfshaft.standards import constants
from halfshaft.studies.mass import Entry, MassResult, Stand, with_entries

MM2_PER_M2 = 1e6
YAW_BAND = 0.15
"""How far an estimate of a car's yaw inertia may be out, as a share of it; held against measured cars in the tests."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Shift:
    """What a steady pull moves from one pair of wheels to the other, and what both pairs then bear.

    Braking: `loaded` is the front axle, `relieved` the rear one. Cornering: the outer and the inner wheels, turning
    so that the heavier side is the outer one. Nothing is clipped: less than nought means that those wheels lift.
    """

    acceleration_g: float
    shifted_kg: float
    loaded_kg: float
    relieved_kg: float

    @property
    def loaded_percent(self) -> float:
        """Share of the car on the loaded pair."""
        return percent(self.loaded_kg, self.loaded_kg + self.relieved_kg)


@dataclass(frozen=True, kw_only=True, slots=True)
class Manner:
    """One state of the car. What needs the height of the centre of gravity is None where none above the ground is known."""

    stand: Stand
    left_kg: float
    right_kg: float
    left_percent: float
    cross_percent: float
    stability_factor: float | None
    braking: Shift | None
    cornering: Shift | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Ride:
    """How far one axle of the finished car stands lower (+) or higher (-) than in one state of the donor.

    `restoring_n_per_mm` is the wheel rate with which it stands as in that state again, spring of the same free length;
    None where an axle bears nothing.
    """

    axle: str
    against: str
    before_kg: float
    after_kg: float
    rate_n_per_mm: float
    lower_mm: float
    restoring_n_per_mm: float | None

    @property
    def stiffer_percent(self) -> float | None:
        """How much stiffer than now."""
        return None if self.restoring_n_per_mm is None else 100 * (self.restoring_n_per_mm / self.rate_n_per_mm - 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class Yaw:
    """How hard the car is to turn about its upright axis, before and after; the band is nought where the donor's is known."""

    donor_kg_m2: float
    finished_kg_m2: float
    is_estimated: bool

    @property
    def change_kg_m2(self) -> float:
        """Finished less donor."""
        return self.finished_kg_m2 - self.donor_kg_m2

    @property
    def band_kg_m2(self) -> float:
        """How far both may be out."""
        return YAW_BAND * self.donor_kg_m2 if self.is_estimated else 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class HandlingResult:
    """The donor as weighed and with its tank full and empty, the finished car, and what changed."""

    donors: tuple[Manner, ...]
    finished: Manner
    yaw: Yaw
    rides: tuple[Ride, ...]


def study_handling(conversion: Conversion, mass: MassResult) -> HandlingResult:
    """Finished car beside the donor in each state of its tank."""
    car, shop = conversion.car, conversion.shop

    def manner(stand: Stand) -> Manner:
        return manner_of(stand, car, braking_g=shop.braking_g, cornering_g=shop.cornering_g)

    donors = (mass.donor, *with_tank(car, mass.donor))
    return HandlingResult(
        donors=tuple(map(manner, donors)),
        finished=manner(mass.finished),
        yaw=study_yaw(car, mass),
        rides=tuple(ride for stand in donors for ride in rides_of(car, stand, mass.finished)),
    )


def with_tank(car: Car, donor: Stand) -> Iterator[Stand]:
    """The donor with its tank full, then empty; nothing where the tank is not known."""
    fuel = car.fuel
    if fuel is None:
        return
    for name, litres in (("donor, tank full", fuel.tank_l), ("donor, tank empty", 0.0)):
        more_kg = (litres - fuel.weighed_l) * fuel.density_kg_per_l
        more = Entry(group="fuel", ref="fuel", name=name, mass_kg=more_kg, x_mm=fuel.x_mm, y_mm=fuel.y_mm, z_mm=fuel.z_mm)
        yield with_entries(donor, [more], car=car, sign=1.0, name=name)


def percent(part: float, whole: float) -> float:
    """A share in percent; nought of nothing."""
    return 100 * part / whole if whole else 0.0


def manner_of(stand: Stand, car: Car, *, braking_g: float, cornering_g: float) -> Manner:
    """Splits, stability and load transfer of one state.

    Cross weight: front right and rear left, as a share of all four wheels.
    """
    left_kg = stand.front_left_kg + stand.rear_left_kg
    cross_kg = stand.front_right_kg + stand.rear_left_kg
    return Manner(
        stand=stand,
        left_kg=left_kg,
        right_kg=stand.total_kg - left_kg,
        left_percent=percent(left_kg, stand.total_kg),
        cross_percent=percent(cross_kg, stand.total_kg),
        stability_factor=stability_factor(track_mm=mean_track_mm(car), height_mm=stand.z_mm) if stand.z_mm and stand.z_mm > 0 else None,
        braking=braking(stand, car, braking_g),
        cornering=cornering(stand, car, cornering_g),
    )


def mean_track_mm(car: Car) -> float:
    """Mean of both tracks."""
    return (car.track_front_mm + car.track_rear_mm) / 2


def stability_factor(*, track_mm: float, height_mm: float) -> float:
    """Static stability factor T / (2 h). Source: the road-safety agency that rates cars by it (NHTSA, rollover ratings).

    It is also the sideways pull, in multiples of gravity, at which a stiff car that does not slide would tip.

    >>> round(stability_factor(track_mm=1320.8, height_mm=498.729), 4)
    1.3242
    """
    return track_mm / (2 * height_mm)


def braking(stand: Stand, car: Car, acceleration_g: float) -> Shift | None:
    """Load transfer m a h / L from the rear to the front axle. Source: statics; stiff car, no aerodynamics, level road."""
    if stand.z_mm is None:
        return None
    shifted_kg = stand.total_kg * acceleration_g * stand.z_mm / car.wheelbase_mm
    return Shift(
        acceleration_g=acceleration_g,
        shifted_kg=shifted_kg,
        loaded_kg=stand.front_kg + shifted_kg,
        relieved_kg=stand.rear_kg - shifted_kg,
    )


def cornering(stand: Stand, car: Car, acceleration_g: float) -> Shift | None:
    """Load transfer m a h / T from the inner to the outer wheels of the whole car, T the mean track. Source: statics.

    How much of it each axle takes depends on its springs, anti-roll bar and roll centre, which are not known here.
    """
    if stand.z_mm is None:
        return None
    shifted_kg = stand.total_kg * acceleration_g * stand.z_mm / mean_track_mm(car)
    left_kg = stand.front_left_kg + stand.rear_left_kg
    right_kg = stand.total_kg - left_kg
    return Shift(
        acceleration_g=acceleration_g,
        shifted_kg=shifted_kg,
        loaded_kg=max(left_kg, right_kg) + shifted_kg,
        relieved_kg=min(left_kg, right_kg) - shifted_kg,
    )


def rides_of(car: Car, before: Stand, after: Stand) -> Iterator[Ride]:
    """Each axle whose wheel rate is known.

    Lower by `(after - before) g / 2 / rate`. A linear spring of the same free length carries the new load at the old
    deflection where `rate' / rate = after / before`: this takes the whole axle load for sprung, as nobody says what
    wheels and axle weigh. With them taken off both, an axle that gained wants more than that, and one that lost, less.
    """
    gravity = constants()["standard_gravity"].value
    for axle, rate, before_kg, after_kg in (
        ("front", car.wheel_rate_front_n_per_mm, before.front_kg, after.front_kg),
        ("rear", car.wheel_rate_rear_n_per_mm, before.rear_kg, after.rear_kg),
    ):
        if rate is not None:
            yield Ride(
                axle=axle,
                against=before.name,
                before_kg=before_kg,
                after_kg=after_kg,
                rate_n_per_mm=rate,
                lower_mm=(after_kg - before_kg) * gravity / 2 / rate,
                restoring_n_per_mm=rate * after_kg / before_kg if min(before_kg, after_kg) > 0 else None,
            )


def inertia_about(entries: Iterable[Entry], *, x_mm: float, y_mm: float, own_kg_m2: Iterable[float] | None = None) -> float:
    """Inertia in kg m2 about an upright axis through a place, by parallel axes: the sum of own + m r2.

    Own inertia: as given, entry by entry; else that of an even block, m (along2 + across2) / 12. Source: mechanics.
    """
    entries = tuple(entries)
    own = map(block_inertia, entries) if own_kg_m2 is None else own_kg_m2
    return math.fsum(
        about_centre + entry.mass_kg * ((entry.x_mm - x_mm) ** 2 + (entry.y_mm - y_mm) ** 2) / MM2_PER_M2
        for entry, about_centre in zip(entries, own, strict=True)
    )


def block_inertia(entry: Entry) -> float:
    """Inertia in kg m2 of an even block about the upright axis through its middle."""
    return entry.mass_kg * (entry.along_mm**2 + entry.across_mm**2) / 12 / MM2_PER_M2


def estimated_yaw(*, mass_kg: float, behind_front_mm: float, wheelbase_mm: float) -> float:
    """Yaw inertia in kg m2 of a car of which only axle loads are known: 1.13 m a b.

    a and b are how far the centre of gravity lies from both axles. Source: `yaw_inertia_ratio` of the constants.
    """
    return constants()["yaw_inertia_ratio"].value * mass_kg * behind_front_mm * (wheelbase_mm - behind_front_mm) / MM2_PER_M2


def study_yaw(car: Car, mass: MassResult) -> Yaw:
    """The donor's yaw inertia, carried over to the finished car's centre of gravity, less what left, plus what came.

    What was removed counts as points, so that the change is out by what those things have about their own middles.
    """
    donor, finished = mass.donor, mass.finished
    given = car.yaw_inertia_kg_m2
    own = given or estimated_yaw(mass_kg=donor.total_kg, behind_front_mm=donor.x_mm, wheelbase_mm=car.wheelbase_mm)
    whole = Entry(group="donor", ref="donor", name="donor", mass_kg=donor.total_kg, x_mm=donor.x_mm, y_mm=donor.y_mm, z_mm=0.0)
    taken_out = [replace(entry, mass_kg=-entry.mass_kg) for entry in mass.removed]
    ledger = (whole, *taken_out, *mass.fitted)
    owns = (own, *map(block_inertia, ledger[1:]))
    after = inertia_about(ledger, x_mm=finished.x_mm, y_mm=finished.y_mm, own_kg_m2=owns)
    return Yaw(donor_kg_m2=own, finished_kg_m2=after, is_estimated=given is None)
