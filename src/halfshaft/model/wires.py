"""The from-to list, and everything else that is cut to a length."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import StringConstraints

from halfshaft.model.base import (
    Allowance,
    Colour,
    DeviceConnector,
    Length,
    Millimetres,
    Name,
    NotNegative,
    PinOrSplice,
    Positive,
    Record,
    Ref,
    RefersTo,
    Text,
    maybe,
    of,
)
from halfshaft.model.devices import Wherever

PinRef = Annotated[Name, PinOrSplice()]
# A further bend on a board: straight before it, turn, radius.
BendWords = Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^[0-9]{1,5}(\.[0-9]{1,6})? -?[0-9]{1,3}(\.[0-9]{1,6})? [0-9]{1,5}(\.[0-9]{1,6})?$")]  # fmt: skip
Carries = Literal["LV", "sense", "power", "HV", "hose"]


class System(Record):
    """Wires that do one job together and are drawn on one sheet of the wiring diagrams."""

    ref: Ref = of("short mark; ends the number of its diagram", max_length=4)
    name: Name = of("its name, as in the diagram's title")


class Wire(Record):
    """One wire of the from-to list."""

    ref: Ref = of("wire number, as on its label")
    meaning: Name = of("what it does, in words")
    from_pin: PinRef = of("device.connector.cavity, or a splice")
    to_pin: PinRef = of("device.connector.cavity, or a splice")
    section_mm2: Positive = of("conductor section; must be in wire_types.csv")
    colour: Colour = of("letters of IEC 60757, base-tracer: BU-WH")
    insulation_class: Annotated[Ref, RefersTo("insulation_classes")] = of("insulation class")
    loom: Annotated[Ref, RefersTo("looms")] = of("loom it is built into")
    twist_group: Annotated[Ref, RefersTo("twist_groups")] | None = maybe("pair it is twisted in")
    screen: Text = maybe("screen round it", "")
    screen_joined_to: Text = maybe("pin at which its drain ends, or `screen of SC1` where it goes on as another screen", "")
    via: Wherever = maybe("points it must pass, in order, `;` between them", ())
    system: Annotated[Ref, RefersTo("systems")] | None = maybe("the diagram it is drawn on")


class TwistGroup(Record):
    """A twisted pair."""

    ref: Ref = of("short mark")
    kind: Name = of("what it is")
    lay_mm: Length = of("length of one full turn")
    twist_to_connector_mm: Allowance = of("untwisted at a connector, at most")
    impedance_ohm: Positive | None = maybe("impedance of the pair")
    outside_diameter_mm: Length | None = maybe("outside diameter of the twisted pair, with its screen")


class Splice(Record):
    """Where wires join inside a loom."""

    ref: Ref = of("S and a number")
    meaning: Name = of("what is joined")
    loom: Annotated[Ref, RefersTo("looms")] = of("the loom it is in")
    run: Annotated[Ref, RefersTo("runs")] | None = maybe("the run it lies on; blank: the run on which its wires take least copper")
    from_point: Annotated[Ref, RefersTo("points")] | None = maybe("the end of that run from which it is measured")
    at_mm: Allowance | None = maybe("how far along the run; blank: where its wires take least copper")
    terminal: Annotated[Ref, RefersTo("terminals")] = of("crimp it is made with")
    sleeve: Annotated[Ref, RefersTo("coverings")] | None = maybe("heat-shrink over it")


class Point(Record):
    """A place in the car that looms, cables or hoses pass."""

    ref: Ref = of("short mark")
    name: Name = of("the name a mechanic would use")
    x_mm: float = of("rearwards from the front axle line", ge=-100_000, le=100_000)
    y_mm: float = of("to the right of the centre plane", ge=-100_000, le=100_000)
    z_mm: float = of("up from the ground", ge=-100_000, le=100_000)
    kind: Literal["clip", "breakout", "grommet", "end"] = of("what is there")
    zone: Annotated[Name, RefersTo("zones")] | None = maybe("part of the car, for heat and water")


class Run(Record):
    """The length between two route points. A taped length wins over the straight one."""

    ref: Ref = of("short mark")
    from_point: Annotated[Ref, RefersTo("points")] = of("one end")
    to_point: Annotated[Ref, RefersTo("points")] = of("the other end")
    length_taped_mm: Length | None = maybe("measured in the car along the route; blank: straight from point to point")
    may_carry: tuple[Carries, ...] = of("what may lie here: LV, sense, power, HV, hose; `;` between them", min_length=1)
    covering: Annotated[Ref, RefersTo("coverings")] | None = maybe("tape, tube or duct over it")
    zone: Annotated[Name, RefersTo("zones")] | None = maybe("part of the car, for heat and water")
    clips_between: int = maybe("clips between its two points", 0, ge=0, le=1000)
    note: Text = maybe("anything worth knowing", "")


class Nearby(Record):
    """Something beside a run that a loom has to keep away from, with the gap as measured in the car."""

    ref: Ref = of("short mark")
    run: Annotated[Ref, RefersTo("runs")] = of("the run")
    kind: Literal["fixed part", "sharp edge", "hot part", "moving part", "brake line", "fuel line", "chemicals"] = of("what lies there")
    name: Name = of("what it is, in a mechanic's words")
    gap_mm: Allowance = of("least gap between it and the loom")


class Grommet(Record):
    """A hole in a panel and what protects what passes it."""

    ref: Ref = of("short mark")
    point: Annotated[Ref, RefersTo("points")] | None = maybe("route point at the hole")
    run: Annotated[Ref, RefersTo("runs")] | None = maybe("run through the hole, where no point is there")
    panel: Name = of("the panel")
    hole_mm: Length = of("hole to drill")
    bore_mm: Length = of("clear bore of the grommet")
    holes: int = maybe("how many passages of that bore it has", 1, ge=1, le=100)
    passes: Text = maybe("what passes", "")


class Loom(Record):
    """Wires that are built as one piece."""

    ref: Ref = of("two or three letters, as in the number of its board")
    name: Name = of("its name")
    carries: Carries = of("what it is: LV, sense or power; a run must allow it")
    built: Name = of("how it is built")
    board_width_mm: Length | None = maybe("width of the board's sheet; blank: made without a board")
    board_height_mm: Length | None = maybe("height of the board's sheet")
    covering: Text = maybe("how it is covered", "")
    tested_with: tuple[Annotated[Ref, RefersTo("devices")], ...] = maybe("devices plugged in while it is tested, `;` between them", ())


class BoardWay(Record):
    """How one stretch of a loom lies on its board: turned by hand, or as the board was drilled."""

    loom: Annotated[Ref, RefersTo("looms")] = of("the loom")
    from_node: Name = of("breakout (a route point) or connector (device.connector) where it begins")
    to_node: Name = of("where it ends")
    set_by: Literal["hand", "drilled"] = of("`hand`: obeyed; `drilled`: kept as far as the conversion allows")
    heading_deg: float = of("direction in which it leaves, anticlockwise from the board's lower edge", ge=-360, le=360)
    before_mm: Allowance | None = maybe("straight length before its bend; blank with the two below: no bend known")
    turn_deg: float | None = maybe("how far its bend turns, anticlockwise", ge=-360, le=360)
    radius_mm: Length | None = maybe("radius of that bend, to the centre line")
    more_bends: tuple[BendWords, ...] = maybe("further bends, each as `straight turn radius`, `;` between them", ())
    x_mm: Millimetres | None = maybe("where it begins on the board; blank: not fixed")
    y_mm: Millimetres | None = maybe("where it begins on the board")


class BoardPeg(Record):
    """A hole that is already drilled in a loom's board."""

    loom: Annotated[Ref, RefersTo("looms")] = of("the loom")
    peg: int = of("its number on the board", ge=1, le=100_000)
    x_mm: Millimetres = of("from the board's lower left corner to the right")
    y_mm: Millimetres = of("from the board's lower left corner upwards")


class StockLength(Record):
    """A length in which wire, cable, tube or hose is bought or lies on the shelf: reels, coils, offcuts."""

    ref: Ref = of("short mark")
    item: Name = of(
        "what it is: the code of the parts list, `0.5 PK`, `HV35`, `T10`, `hose 19`; wire with its insulation class where that is in doubt, `0.5 BN C`"
    )
    length_mm: Length = of("its length")
    pieces: int | None = maybe("how many there are; blank: as many as wanted", ge=1, le=100_000)
    price_eur: NotNegative | None = maybe("price of one")


class Cable(Record):
    """A high-voltage or mains cable from connector to connector."""

    ref: Ref = of("cable number")
    meaning: Name = of("what it does")
    cable_type: Annotated[Ref, RefersTo("cable_types")] = of("type of cable")
    from_connector: Annotated[Name, DeviceConnector()] = of("device.connector")
    to_connector: Annotated[Name, DeviceConnector()] = of("device.connector")
    from_end: Text = maybe("how it ends there", "")
    to_end: Text = maybe("how it ends there", "")
    twist_angle_deg: float = maybe("angle between both ends, looking along the cable", 0.0, ge=-360, le=360)
    via: Wherever = maybe("points it must pass, in order, `;` between them", ())
    screen_earthed: Literal["", "both ends", "from end", "to end", "nowhere"] = maybe("where its screen is joined to the case", "")
    system: Annotated[Ref, RefersTo("systems")] | None = maybe("the diagram it is drawn on")


class CableCore(Record):
    """One core of a cable, pin to pin."""

    cable: Annotated[Ref, RefersTo("cables")] = of("the cable")
    core: int = of("number of the core", ge=1, le=20)
    from_pin: PinRef = of("device.connector.cavity")
    to_pin: PinRef = of("device.connector.cavity")


class Hose(Record):
    """A coolant hose, cut to a length along the same routes."""

    ref: Ref = of("hose number")
    meaning: Name = of("what it joins")
    from_part: Name = of("stub it is pushed on")
    to_part: Name = of("stub it is pushed on")
    from_point: Annotated[Ref, RefersTo("points")] | None = maybe("route point at one end")
    to_point: Annotated[Ref, RefersTo("points")] | None = maybe("route point at the other end")
    bore_mm: Length = of("inside diameter")
    outside_mm: Length = of("outside diameter")
    tail_from_mm: Allowance = maybe("route point to stub", 0.0)
    tail_to_mm: Allowance = maybe("route point to stub", 0.0)
    length_mm: Length | None = maybe("length, where it follows no route")
    mass_g_per_m: NotNegative = of("mass of one metre, dry")
    price_eur_per_m: NotNegative | None = maybe("price of one metre")
