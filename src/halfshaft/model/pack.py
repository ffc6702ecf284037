"""The battery as a whole: how it is joined up, what it feeds, and how its parts are bolted together."""

from __future__ import annotations

from typing import Annotated, Literal

from halfshaft.model.base import (
    Allowance,
    DeviceConnector,
    Length,
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


class PackSettings(Record):
    """How the modules make one battery, and what is drawn from it."""

    strings: int = maybe("strings side by side", 1, ge=1, le=100)
    plus_at: Annotated[Name, DeviceConnector()] | None = maybe("connector that the pack's plus cable ends at")
    minus_at: Annotated[Name, DeviceConnector()] | None = maybe("connector that the pack's minus cable ends at")
    service_disconnect: Annotated[Ref, RefersTo("devices")] | None = maybe("the device that opens the string for service")
    power_continuous_kw: Positive | None = maybe("drawn from the pack for good")
    power_peak_kw: Positive | None = maybe("most drawn from the pack for ten seconds or more")
    usable_share: float = maybe("share of the energy that is used", 0.9, gt=0, le=1)


class HvUnit(Record):
    """A unit fed by the pack, and the volts between which it works."""

    ref: Annotated[Ref, RefersTo("devices")] = of("the device")
    operate_min_v: NotNegative = of("works from these volts on")
    operate_max_v: Positive = of("works up to these volts")
    withstand_max_v: Positive = of("is damaged above these volts")
    current_peak_a: NotNegative = of("most amperes for a short time")
    current_continuous_a: NotNegative = of("most amperes for good")


class Busbar(Record):
    """A bar of copper inside a battery box, from one stud to another."""

    ref: Ref = of("mark of this bar")
    box: Annotated[Ref, RefersTo("boxes")] = of("the box it is in")
    from_stud: Name = of("where it begins: module.P or module.N, or a pin device.connector.cavity")
    to_stud: Name = of("where it ends, written the same way")
    wide_mm: Length = of("width")
    thick_mm: Length = of("thickness")
    length_mm: Length = of("developed length, end to end")
    note: Text = maybe("how it runs and is covered", "")


class Joint(Record):
    """One bolted joint that carries the pack's current."""

    ref: Ref = of("mark of this joint")
    box: Annotated[Ref, RefersTo("boxes")] | None = maybe("the box it is in")
    stud: Name = of("where it is: module.P or module.N, or a pin device.connector.cavity")
    busbars: tuple[Annotated[Ref, RefersTo("busbars")], ...] = maybe("bars under this bolt", ())
    bolt: Name = of("thread, and class where it is steel")
    torque_nm: Positive = of("torque")
    stack: tuple[Name, ...] = of("what lies on what, from below", min_length=1)
    allowed_uohm: Positive = of("most micro-ohms of the joint")
    reached_from: Text = maybe("how a hand and tool get there", "")
    x_mm: Millimetres | None = maybe("place of its bolt; blank where it is a module's stud")
    y_mm: Millimetres | None = maybe("place of its bolt; blank where it is a module's stud")
    z_mm: Millimetres | None = maybe("place of its bolt; blank where it is a module's stud")


class ArrangementSettings(Record):
    """What a search for arrangements is told: which modules, how boxes are built, and what is wanted."""

    modules: tuple[Annotated[Ref, RefersTo("modules")], ...] = maybe("module types that may be used; blank: those fitted now", ())
    modules_min: int | None = maybe("fewest modules; blank: as many as are fitted now", ge=1, le=1000)
    modules_max: int | None = maybe("most modules; blank: as many as are fitted now", ge=1, le=1000)
    boxes_max: int | None = maybe("most boxes", ge=1, le=20)
    target_front_percent: float | None = maybe("share of the front axle aimed at; blank: the donor's own", gt=0, lt=100)
    space_gap_mm: Allowance = maybe("room kept between a box and what stands round it", 4.0)
    feet_mm: Allowance = maybe("height of the feet below a box", 6.0)
    plug_room_mm: Allowance = maybe("room kept outside the wall of a box in which its plugs are", 30.0)
    wall_mm: Length = maybe("thickness of the walls of a box", 2.0)
    end_room_mm: Allowance = maybe("room inside a box beyond the ends of modules, for studs and bars", 24.0)
    side_room_mm: Allowance = maybe("room inside a box beside modules", 6.0)
    under_mm: Allowance = maybe("room inside a box below modules", 4.0)
    over_mm: Allowance = maybe("room inside a box above modules, for bars, sense plugs and fuse", 41.0)
    module_gap_mm: Allowance = maybe("between neighbouring modules, or pairs with their plate", 4.0)
    layer_gap_mm: Allowance = maybe("between layers", 6.0)
    layers_max: int = maybe("most layers in one box", 2, ge=1, le=10)
    plates: Literal["none", "between pairs", "under"] = maybe("where coolant plates lie", "none")
    plate: Annotated[Ref, RefersTo("parts")] | None = maybe("the coolant plate; its thickness is the smallest side of its block")
    box_kg_per_m2: NotNegative = maybe("mass of an empty box by its outside area, with lid, bars and plugs", 8.7)
    box_eur: NotNegative = maybe("what an empty box costs whatever its size", 150.0)
    box_eur_per_m2: NotNegative = maybe("and by its outside area", 320.0)
    box_hours: NotNegative = maybe("hours to make, fit and coat one box", 10.0)


class MountCase(Record):
    """A steady acceleration for which the mounts of boxes are looked at."""

    ref: Name = of("its name")
    toward: Literal["front", "rear", "left", "right", "up", "down"] = of("where the box pulls")
    acceleration_g: Positive = of("in multiples of gravity")
    basis: Literal["published", "common practice", "from memory"] = of("how this case is known")
    source: Text = maybe("code and clause, with its date", "")
