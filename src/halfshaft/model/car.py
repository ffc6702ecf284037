"""The donor car as it was measured and weighed, what comes out of it, and who sits in it."""

from __future__ import annotations

from typing import Literal

from halfshaft.model.base import Length, Mass, Millimetres, Name, NotNegative, Positive, Record, Ref, Text, maybe, of


class Weighed(Record):
    """Corner masses on four scales, in a stated state."""

    front_left_kg: Mass = of("on the scale under the front left wheel")
    front_right_kg: Mass = of("on the scale under the front right wheel")
    rear_left_kg: Mass = of("on the scale under the rear left wheel")
    rear_right_kg: Mass = of("on the scale under the rear right wheel")
    state: Name = of("fuel, people, tools and fluids in the car while it stood on the scales")
    scale_step_kg: Positive = maybe("smallest step of one scale; sets the accuracy of the height", 0.5)

    @property
    def front_kg(self) -> float:
        """Front axle load."""
        return self.front_left_kg + self.front_right_kg

    @property
    def rear_kg(self) -> float:
        """Rear axle load."""
        return self.rear_left_kg + self.rear_right_kg

    @property
    def total_kg(self) -> float:
        """Whole car."""
        return self.front_kg + self.rear_kg


class RaisedWeighing(Record):
    """A second weighing with one axle lifted, from which the height of the centre of gravity follows."""

    axle: Literal["front", "rear"] = of("the axle that was lifted")
    height_mm: Length = of("how far its hubs were lifted")
    other_axle_kg: Mass = of("load of the axle left on the scales, while the other was up")


class Limits(Record):
    """What the type plate allows."""

    front_axle_kg: Positive = of("front axle limit")
    rear_axle_kg: Positive = of("rear axle limit")
    gross_kg: Positive = of("gross limit of the whole car")


class Fuel(Record):
    """The tank of the donor, so that it can be compared full and empty."""

    weighed_l: NotNegative = of("litres in the tank while the car stood on the scales")
    tank_l: Positive = of("litres in a full tank")
    density_kg_per_l: Positive = maybe("density of the fuel", 0.74)
    x_mm: Millimetres = of("middle of the tank, rearwards from the front axle line")
    y_mm: Millimetres = of("middle of the tank, to the right of the centre plane")
    z_mm: Millimetres = of("middle of the tank, up from the ground")

    def model_post_init(self, _context: object, /) -> None:
        """Refuse more in the tank than it holds."""
        if self.weighed_l > self.tank_l:
            raise ValueError("more fuel was weighed than the tank holds")


class Car(Record):
    """The donor car. Frame: x rearwards from the front axle line, y to the right, z up from the ground."""

    wheelbase_mm: Length = of("front axle line to rear axle line", ge=500)
    track_front_mm: Length = of("between the middles of the front tyres", ge=300)
    track_rear_mm: Length = of("between the middles of the rear tyres", ge=300)
    tyre_static_radius_mm: Length = of("ground to hub, loaded as weighed")
    front_edge_x_mm: Millimetres = of("foremost point of the car (a negative number)")
    rear_edge_x_mm: Millimetres = of("rearmost point of the car")
    overall_width_mm: Length = of("greatest width without mirrors")
    overall_height_mm: Length = of("ground to roof")
    ground_clearance_mm: Length = of("lowest hard point above the ground")
    cg_height_mm: Length | None = maybe("height of the centre of gravity as weighed, where it is known already")
    cg_height_known: Text = maybe("how that height is known", "")
    seats: int = of("seats on the type plate", ge=1, le=60)
    wheel_rate_front_n_per_mm: Positive | None = maybe("force for one millimetre at one front wheel, as measured on the car")
    wheel_rate_rear_n_per_mm: Positive | None = maybe("force for one millimetre at one rear wheel")
    yaw_inertia_kg_m2: Positive | None = maybe("yaw inertia of the donor as weighed, where it is known; else it is estimated")
    fuel: Fuel | None = maybe("the donor's tank")
    weighed: Weighed
    raised: RaisedWeighing | None = maybe("raised-axle weighing, where one was made")
    limits: Limits

    def model_post_init(self, _context: object, /) -> None:
        """Refuse a car that could not stand: no mass on the scales, or an axle lifted higher than the car is long."""
        if self.weighed.total_kg <= 0:
            raise ValueError("the four scales add up to nothing")
        if self.raised is not None and self.raised.height_mm >= self.wheelbase_mm:
            raise ValueError("an axle cannot be lifted as high as the wheelbase is long")


class Removed(Record):
    """Something that comes out of the donor car."""

    ref: Ref = of("short mark, as on its label")
    name: Name = of("what it is")
    mass_kg: Mass = of("its mass")
    x_mm: Millimetres = of("its centre, rearwards from the front axle line")
    y_mm: Millimetres = of("its centre, to the right of the centre plane")
    z_mm: Millimetres = of("its centre, up from the ground")
    how_known: Name = of("weighed, measured, handbook, guessed")
    note: Text = maybe("anything worth knowing", "")


class MadePart(Record):
    """A bracket, tray, frame or other thing that the shop makes or buys in and that is no device."""

    ref: Ref = of("short mark, as on the drawing")
    name: Name = of("what it is")
    mass_kg: Mass = of("its mass")
    x_mm: Millimetres = of("its centre, rearwards from the front axle line")
    y_mm: Millimetres = of("its centre, to the right of the centre plane")
    z_mm: Millimetres = of("its centre, up from the ground")
    price_eur: NotNegative | None = maybe("price of one")
    note: Text = maybe("anything worth knowing", "")


class LoadState(Record):
    """One person or piece of luggage in one state in which the finished car is checked against its plate."""

    state: Name = of("name of the state; rows of one name belong together")
    name: Name = of("who or what")
    seat: Text = maybe("where they sit or it lies", "")
    mass_kg: Mass = of("mass")
    x_mm: Millimetres = of("centre, rearwards from the front axle line")
    y_mm: Millimetres = of("centre, to the right of the centre plane")
    z_mm: Millimetres = of("centre, up from the ground")
