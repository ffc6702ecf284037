"""The shop's catalogue: devices with their connectors and what is inside them, and everything sold by the metre or bag."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import StringConstraints

from halfshaft.model.base import (
    Celsius,
    Colour,
    Count,
    Length,
    Mass,
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

CavityRef = Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^[A-Za-z0-9]{1,6}$")]
# Inside a part: a cavity ("A.12") or a node that cannot be reached from outside ("~K2.30").
NodeRef = Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^(~[A-Za-z0-9._-]{1,20}|[A-Za-z0-9_+-]+\.[A-Za-z0-9]{1,6})$")]
ElementKind = Literal["link", "fuse", "contact", "coil", "resistor", "diode", "source", "converter", "load"]


class Cavity(Record):
    """One way of a connector."""

    ref: CavityRef = of("its number as moulded on the plug")
    name: Name = of("what it does, in the maker's words")
    role: Name = of("kind of pin: supply_30, ground, signal_in, spare, hv_plus ...")
    terminal: Annotated[Ref, RefersTo("terminals")] = of("terminal that fits it")
    sealed: Literal["yes", "no", "in plug"] = of("whether it wants a seal; `in plug`: the plug brings its own")
    wires_max: int = maybe("most wires crimped into one terminal; a further ring on a stud is a cavity of its own", 1, ge=1, le=20)


# Whether one counts down the columns, and whether one starts at the right; seen from the wire side.
COUNTING = {
    "row by row from the top left, seen from the wire side": (False, False),
    "row by row from the top right, seen from the wire side": (False, True),
    "column by column from the top left, seen from the wire side": (True, False),
    "column by column from the top right, seen from the wire side": (True, True),
}


class Connector(Record):
    """A plug, socket, stud or lug of a part."""

    ref: Ref = of("its letter on the part")
    kind: Literal["plug", "socket", "stud"] = of("what the loom's half is")
    rows: int = of("rows of cavities", ge=1, le=40)
    columns: int = of("columns of cavities", ge=1, le=80)
    pitch_mm: Length | None = maybe("between neighbouring cavities")
    plug_width_mm: Length | None = maybe("width of the loom's half, across its columns")
    plug_height_mm: Length | None = maybe("height of the loom's half, across its rows")
    plug_length_mm: Length | None = maybe("length of the loom's half, back to mating face")
    key: Literal["", "top left", "top right", "bottom left", "bottom right"] = maybe("where its key is, seen from the wire side", "")
    latch: Literal["", "top", "bottom", "left", "right"] = maybe("side of its latch, seen from the wire side", "")
    numbering: Literal[
        "row by row from the top left, seen from the wire side",
        "row by row from the top right, seen from the wire side",
        "column by column from the top left, seen from the wire side",
        "column by column from the top right, seen from the wire side",
    ] = maybe("how its cavities are numbered", "row by row from the top left, seen from the wire side")
    touch_protection: Literal["", "none", "IPXXB", "IPXXD"] = maybe(
        "what keeps a finger (B) or a wire (D) off live parts, mated and cover on", ""
    )
    clearance_mm: Length | None = maybe("least distance in air between its live parts, or to the body")
    creepage_mm: Length | None = maybe("least distance along its insulation between them")
    cavities: tuple[Cavity, ...] = of("its ways", min_length=1)

    def row_and_column(self, index: int) -> tuple[int, int]:
        """Where the cavity listed at an index is, counted from the top left as seen from the wire side."""
        is_down, is_from_right = COUNTING[self.numbering]
        line, place = divmod(index, self.rows if is_down else self.columns)
        row, column = (place, line) if is_down else (line, place)
        return row, self.columns - 1 - column if is_from_right else column


class Element(Record):
    """Something inside a part between two of its pins or inner nodes."""

    ref: Name = of("its name: F2, K2 coil, motor")
    kind: ElementKind = of("link, fuse, contact, coil, resistor, diode, source, converter or load")
    pin_a: NodeRef = of("connector.cavity, or a node inside written `~name`")
    pin_b: NodeRef = of("the other end; of a source or load, the minus side")
    rating_a: NotNegative | None = maybe("amperes it may carry")
    resistance_ohm: NotNegative | None = maybe("its resistance")
    voltage_v: NotNegative | None = maybe("of a source, its volts with nothing drawn")
    capacity_ah: NotNegative | None = maybe("of a battery, its capacity")
    efficiency: float | None = maybe("of a converter, power out by power in", gt=0, le=1)
    isolated: Literal["", "yes", "no"] = maybe("of a converter, whether its two sides are kept apart; blank: counted as joined", "")
    voltage_max_v: NotNegative | None = maybe("of a fuse or contact, most volts d.c. that it is made for")
    breaking_a: NotNegative | None = maybe("of a fuse, its breaking capacity; of a contact, most amperes that it makes or breaks")
    i2t_a2s: NotNegative | None = maybe("of a fuse, A²s up to the first arc")
    power_w: NotNegative | None = maybe("of a resistor, watts for good")
    pulse_j: NotNegative | None = maybe("of a resistor, joules of one pulse")
    operate_min_v: NotNegative | None = maybe("of a coil or load, least volts at which it pulls in or works")
    suppressed_by: Text = maybe("of a coil, what takes up its voltage peak where that is no element of its own", "")
    rest_state: Literal["open", "closed"] | None = maybe("a contact's state with nothing powered")
    moved_by: Text = maybe("what moves a contact", "")
    passes: Literal["", "a to b"] = maybe("of an electronic switch: `a to b` where it blocks current from `pin_b` to `pin_a`", "")
    held_by: tuple[Name, ...] = maybe("of an interlock link, the connectors, and `cover`, that hold it closed", ())
    pattern: Literal["", "socket", "DIN 72552"] = maybe(
        "how a relay's contact is numbered: `socket` 30 in, 87 out on make; `DIN 72552` 87 in, 88 of a make contact in", ""
    )
    family: Literal["", "mini blade", "regular blade", "maxi blade", "strip", "cartridge"] = maybe("of a fuse, its body", "")
    row: int | None = maybe("where it sits on the box as the hand meets it, cover off: row from the top", ge=1, le=50)
    column: int | None = maybe("and place in that row from the left", ge=1, le=100)
    note: Text = maybe("anything worth knowing", "")


class Part(Record):
    """A catalogue part. Its identity is its label code."""

    ref: Ref = of("label code")
    name: Name = of("what it is")
    kind: Name = of("sort of part")
    mass_kg: Mass = of("mass of one")
    length_mm: Length = of("longest side of the block it fills")
    width_mm: Length = of("second side")
    height_mm: Length = of("third side")
    price_eur: NotNegative | None = maybe("price of one")
    lead_time_days: Count | None = maybe("days from order to shelf")
    outside: Literal["", "metal", "plastic"] = maybe("what a hand meets on its outside; blank: counted as metal", "")
    verified_by: Text = maybe("how these facts were checked, and by whom", "")
    note: Text = maybe("anything worth knowing", "")
    connectors: tuple[Connector, ...] = maybe("its connectors", ())
    inside: tuple[Element, ...] = maybe("what is inside, pin to pin", ())


class Terminal(Record):
    """A terminal family."""

    ref: Ref = of("short mark")
    name: Name = of("what it is")
    section_min_mm2: Positive = of("thinnest wire it takes")
    section_max_mm2: Positive = of("thickest wire it takes")
    current_max_a: Positive = of("most amperes")
    contact_resistance_mohm: NotNegative = of("resistance of one connection")
    strip_mm: NotNegative = of("insulation to strip")
    price_eur: NotNegative | None = maybe("price of one")


class Seal(Record):
    """A single-wire seal, or a blanking plug where no wire range is given."""

    ref: Ref = of("short mark")
    terminal: Annotated[Ref, RefersTo("terminals")] = of("terminal family it goes with")
    insulation_min_mm: Positive | None = maybe("thinnest insulation; blank for a blanking plug")
    insulation_max_mm: Positive | None = maybe("thickest insulation; blank for a blanking plug")
    colour: Colour | None = maybe("its colour")
    price_eur: NotNegative | None = maybe("price of one")


class WireType(Record):
    """A wire the shop keeps: one row a section."""

    section_mm2: Positive = of("conductor section")
    wall: Literal["thin", "thick"] = of("insulation wall")
    outside_diameter_mm: Length = of("greatest outside diameter")
    resistance_mohm_per_m: Positive = of("greatest resistance at 20 C")
    mass_g_per_m: NotNegative = of("mass of one metre")
    price_eur_per_m: NotNegative | None = maybe("price of one metre")
    basis: Text = maybe("where these figures are from", "")


class InsulationClass(Record):
    """What an insulation stands."""

    ref: Ref = of("class letter")
    material: Name = of("what it is made of")
    temperature_max_c: Celsius = of("hottest conductor")
    used_in: Text = maybe("where it is used", "")


class Covering(Record):
    """Tape, tube, duct or heat-shrink over a bundle."""

    ref: Ref = of("short mark")
    name: Name = of("what it is")
    kind: Literal["tape", "tube", "duct", "heat-shrink", "sleeve"] = of("sort of covering")
    bore_mm: Length | None = maybe("inside diameter")
    outside_mm: Length | None = maybe("outside diameter")
    temperature_max_c: Celsius | None = maybe("not used above")
    fill_max_percent: Positive | None = maybe("most of its bore that may be filled, by area")
    mass_g_per_m: NotNegative = maybe("mass of one metre", 0.0)
    price_eur_per_m: NotNegative | None = maybe("price of one metre")


class CableType(Record):
    """A high-voltage or mains cable, of one core or more."""

    ref: Ref = of("short mark")
    cores: int = of("number of cores", ge=1, le=20)
    section_mm2: Positive = of("section of one core")
    screened: bool = of("whether it has a screen")
    outside_diameter_mm: Length = of("outside diameter")
    mass_g_per_m: NotNegative = of("mass of one metre")
    resistance_mohm_per_m: Positive = of("resistance of one core at 20 C")
    insulation_class: Annotated[Ref, RefersTo("insulation_classes")] = of("insulation class")
    covering: Text = maybe("colour of its sheath", "")
    bend_radius_min_mm: NotNegative = of("tightest bend")
    price_eur_per_m: NotNegative | None = maybe("price of one metre")
