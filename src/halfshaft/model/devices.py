"""What is fitted where, and what each thing draws."""

from __future__ import annotations

from typing import Annotated, Literal

from halfshaft.model.base import (
    Allowance,
    Celsius,
    LoadElement,
    Millimetres,
    Name,
    NotNegative,
    Positive,
    Record,
    Ref,
    RefersTo,
    Text,
    maybe,
    of,
)


class Device(Record):
    """Something fitted to the car."""

    ref: Ref = of("mark of this device, as on every drawing")
    part: Annotated[Ref, RefersTo("parts")] = of("catalogue part")
    name: Name = of("what it is in this car")
    place: Name = of("where, in a mechanic's words")
    x_mm: Millimetres = of("its centre, rearwards from the front axle line")
    y_mm: Millimetres = of("its centre, to the right of the centre plane")
    z_mm: Millimetres = of("its centre, up from the ground")
    attitude: Text = maybe("how it stands, where its plugs look", "")
    zone: Annotated[Name, RefersTo("zones")] | None = maybe("part of the car, for heat and water")
    hv_sign: Literal["", "yes", "no"] = maybe("whether the high-voltage sign is on it", "")
    coolant_l: NotNegative = maybe("coolant that it holds", 0.0)


class Tail(Record):
    """Where a connector of a device joins the route network, and how far it hangs from it."""

    device: Annotated[Ref, RefersTo("devices")] = of("the device")
    connector: Ref = of("its connector")
    point: Annotated[Ref, RefersTo("points")] = of("route point it is reached from")
    tail_mm: Allowance = of("route point to the connector's back")
    faces: Text = maybe("where the connector looks", "")


class GroundPoint(Record):
    """A stud where 12 V minus meets the body."""

    ref: Annotated[Ref, RefersTo("devices")] = of("the device that is this stud")
    place: Name = of("where, in a mechanic's words")
    stud: Name = of("thread")
    rings_max: int = of("most ring terminals on it", ge=1, le=50)
    surface: Text = maybe("how the metal is prepared", "")


class Zone(Record):
    """A part of the car with a climate of its own."""

    ref: Name = of("its name")
    ambient_max_c: Celsius = of("hottest air")
    water: Text = maybe("dry, spray, wade", "")
    note: Text = maybe("anything worth knowing", "")


class Load(Record):
    """Something that draws current from the 12 V side."""

    ref: Annotated[Name, LoadElement()] = of("device.element: the element of kind load or coil inside its part")
    name: Name = of("what it is")
    steady_a: NotNegative = of("amperes while it runs")
    peak_a: NotNegative = of("amperes as it starts")
    peak_s: NotNegative = of("how long it starts")
    sleep_ma: NotNegative = maybe("milliamperes while the car is parked", 0.0)
    kind: Name = of("resistive, motor, coil, constant power, constant current")
    note: Text = maybe("anything worth knowing", "")


class Case(Record):
    """A state in which the car's supply is looked at."""

    ref: Name = of("its name")
    ambient_c: Celsius | None = maybe("outside temperature")
    description: Text = maybe("what is going on", "")
    converter: Literal["", "on", "off", "failed"] = maybe("whether the DC-DC converter feeds the 12 V side; blank: on", "")
    contactors: Literal["", "open", "closed"] = maybe("the main contactors; blank: closed", "")
    minutes: Positive | None = maybe("how long it lasts; blank: for good")


class CaseLoad(Record):
    """What one load does in one case."""

    case: Annotated[Name, RefersTo("cases")] = of("the case")
    load: Annotated[Name, RefersTo("loads")] = of("the load")
    duty: float = of("share of the time that it is on", ge=0, le=1)
    steady_a: NotNegative | None = maybe("amperes while it is on in this case; blank: as in loads.csv")
    peak_a: NotNegative | None = maybe("amperes as it starts; blank: as in loads.csv")
    peak_s: NotNegative | None = maybe("how long it starts; blank: as in loads.csv")


class OldWire(Record):
    """A wire of the donor car that ended at something removed, and what becomes of it."""

    ref: Ref = of("short mark")
    old_wire: Name = of("what it did")
    ended_at: Name = of("where it ended")
    answer: Text = maybe("keep, cap, feed, imitate, keep as signal; blank while nobody has decided", "")
    how: Text = maybe("how that is done", "")
    pin: Text = maybe("where it is met", "")
    note: Text = maybe("anything worth knowing", "")


Wherever = tuple[Annotated[Ref, RefersTo("points")], ...]
