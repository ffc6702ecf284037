"""Battery module types and the boxes that hold them."""

from __future__ import annotations

from typing import Annotated, Literal

from halfshaft.model.base import (
    Celsius,
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

# How a module stands. Flat: on its cooled or its cover face, height up. On a long edge: width up. On a short end: length up.
Attitude = Literal["flat", "long edge", "short end"]
Look = Literal["front", "rear", "left", "right", "up", "down"]


class ModuleType(Record):
    """A battery module as bought. Its size and mass stand in the catalogue part of the same name."""

    part: Annotated[Ref, RefersTo("parts")] = of("catalogue part of the module")
    cells_in_series: int = of("cells one after another", ge=1, le=1000)
    cells_in_parallel: int = of("cells side by side", ge=1, le=1000)
    cell_nominal_v: Positive = of("nominal volts of one cell")
    cell_full_v: Positive = of("volts of one full cell")
    cell_empty_v: Positive = of("volts of one empty cell")
    cell_stop_v: Positive = of("volts at which everything stops")
    capacity_ah: Positive = of("ampere-hours of the module")
    energy_kwh: Positive = of("energy of the module, nominal")
    resistance_mohm: Positive = of("resistance of the module, new, at 25 C")
    discharge_continuous_a: Positive = of("amperes out, for good")
    discharge_peak_a: Positive = of("amperes out, ten seconds")
    charge_continuous_a: Positive = of("amperes in, for good")
    charge_peak_a: Positive = of("amperes in, ten seconds")
    resistance_cold_mohm: Positive | None = maybe("resistance of the module at 0 C")
    cooled_face: Text = maybe("the face that is cooled", "")
    attitudes: tuple[Attitude, ...] = maybe("how it may stand: `flat`, `long edge`, `short end`", ("flat",), min_length=1)
    attitudes_note: Text = maybe("what else its maker says about that", "")
    terminal_thread: Text = maybe("thread of its studs", "")
    terminal_torque_nm: Positive | None = maybe("torque of its studs")
    plus_along_mm: Millimetres | None = maybe("plus stud: along the length, from the end where the minus stud is")
    plus_across_mm: Millimetres | None = maybe("plus stud: across the width")
    plus_above_mm: Millimetres | None = maybe("plus stud: above the cooled face")
    minus_along_mm: Millimetres | None = maybe("minus stud: along the length")
    minus_across_mm: Millimetres | None = maybe("minus stud: across the width")
    minus_above_mm: Millimetres | None = maybe("minus stud: above the cooled face")
    sense_along_mm: Millimetres | None = maybe("sense plug: along the length")
    sense_across_mm: Millimetres | None = maybe("sense plug: across the width")
    sense_above_mm: Millimetres | None = maybe("sense plug: above the cooled face")
    charge_min_c: Celsius | None = maybe("not charged below")
    temperature_max_c: Celsius | None = maybe("not used above")


class ModulePlace(Record):
    """One module in a box: the block it fills, in car coordinates."""

    ref: Ref = of("mark of this module")
    module: Annotated[Ref, RefersTo("modules")] = of("its type")
    string: int = maybe("the string it is in", 1, ge=1, le=100)
    order_in_string: int = of("its number in the string, plus end first", ge=1, le=10_000)
    x_min_mm: Millimetres = of("front face")
    y_min_mm: Millimetres = of("left face")
    z_min_mm: Millimetres = of("lower face")
    x_max_mm: Millimetres = of("rear face")
    y_max_mm: Millimetres = of("right face")
    z_max_mm: Millimetres = of("upper face")
    attitude: Attitude | None = maybe("how it stands")
    cooled_face: Look | None = maybe("where its cooled face looks")
    plus_end: Look | None = maybe("where its plus end looks")


class PlatePlace(Record):
    """One coolant plate in a box."""

    ref: Ref = of("mark of this plate")
    part: Annotated[Ref, RefersTo("parts")] = of("catalogue part")
    x_min_mm: Millimetres = of("front face")
    y_min_mm: Millimetres = of("left face")
    z_min_mm: Millimetres = of("lower face")
    x_max_mm: Millimetres = of("rear face")
    y_max_mm: Millimetres = of("right face")
    z_max_mm: Millimetres = of("upper face")
    between: Text = maybe("modules that touch it", "")


class Mount(Record):
    """One foot of a box."""

    ref: Ref = of("mark of this foot")
    x_mm: Millimetres = of("place of its bolt")
    y_mm: Millimetres = of("place of its bolt")
    z_mm: Millimetres = of("place of its bolt")
    bolt: Name = of("bolt")
    torque_nm: NotNegative = of("torque")
    to: Text = maybe("what it is bolted to", "")


class Box(Record):
    """A battery box: a device of the conversion, with what is in it."""

    ref: Annotated[Ref, RefersTo("devices")] = of("the device that is this box")
    space: Annotated[Ref, RefersTo("spaces")] = of("the space it stands in")
    x_min_mm: Millimetres = of("front face, outside")
    y_min_mm: Millimetres = of("left face, outside")
    z_min_mm: Millimetres = of("lower face, outside")
    x_max_mm: Millimetres = of("rear face, outside")
    y_max_mm: Millimetres = of("right face, outside")
    z_max_mm: Millimetres = of("upper face, outside")
    wall_mm: Length = of("thickness of its wall")
    note: Text = maybe("anything worth knowing", "")
    modules: tuple[ModulePlace, ...] = maybe("modules in it", ())
    plates: tuple[PlatePlace, ...] = maybe("coolant plates in it", ())
    mounts: tuple[Mount, ...] = maybe("feet", ())
