"""What protects and proves the electrics: fuse curves, bonds, straps, what outputs do, and what each case switches."""

from __future__ import annotations

from typing import Annotated, Literal

from halfshaft.model.base import (
    DeviceElement,
    Length,
    Name,
    NotNegative,
    OwnFile,
    PinOrSplice,
    Positive,
    Record,
    Ref,
    RefersTo,
    Text,
    maybe,
    of,
)

# How d.c. and a.c. parts of the high-voltage side are joined decides how much insulation is asked for.
IsolationCase = Literal[
    "",
    "d.c. apart from a.c., 100 ohm/V",
    "d.c. and a.c. joined, 500 ohm/V",
    "d.c. and a.c. joined, a.c. doubly protected, 100 ohm/V",
]


class HighVoltageSettings(Record):
    """How the pack is switched on and off, and by which rules its insulation is judged."""

    main_plus: Annotated[Name, DeviceElement()] | None = maybe("contact that joins pack plus, device.element")
    main_minus: Annotated[Name, DeviceElement()] | None = maybe("contact that joins pack minus")
    precharge_contact: Annotated[Name, DeviceElement()] | None = maybe("contact of the pre-charge")
    precharge_resistor: Annotated[Name, DeviceElement()] | None = maybe("its resistor")
    precharge_close_at_percent: float = maybe(
        "share of the pack's volts, measured on the link, at which the main contactor closes", 95.0, gt=0, lt=100
    )
    precharge_time_out_s: Positive = maybe("pre-charge is given up after this time", 1.0)
    precharge_tries: int = maybe("tries in a row before a rest", 3, ge=1, le=100)
    precharge_rest_min: NotNegative = maybe("rest after them", 10.0)
    interlock_from: Annotated[Name, PinOrSplice()] | None = maybe("pin at which the interlock loop begins")
    interlock_to: Annotated[Name, PinOrSplice()] | None = maybe("pin at which it ends")
    isolation_case: IsolationCase = maybe("how d.c. and a.c. are joined, and the insulation asked for; the shop decides", "")
    isolation_edition: Text = maybe("rule, series and date by which that is judged", "")
    insulation_test_v: Positive = maybe("volts of the insulation tester", 500.0)
    altitude_max_m: NotNegative = maybe("highest place the car is driven to", 2000.0)
    pollution_inside: int = maybe("pollution degree inside closed units", 2, ge=1, le=4)
    pollution_outside: int = maybe("pollution degree at plugs outside", 3, ge=1, le=4)
    material_group: Literal["I", "II", "IIIa", "IIIb"] = maybe("insulating material by its tracking index", "IIIa")
    body_current_max_ma: Positive = maybe(
        "most milliamperes to the body through insulation and capacitors that the charge point bears", 3.5
    )


class HvInsulation(Record):
    """What one unit or box adds between the poles and the body, and how its volts die away."""

    ref: Annotated[Ref, RefersTo("devices")] = of("the device")
    cx_uf: NotNegative = maybe("capacitance between plus and minus", 0.0)
    cy_plus_nf: NotNegative = maybe("capacitance from plus to the body", 0.0)
    cy_minus_nf: NotNegative = maybe("capacitance from minus to the body", 0.0)
    insulation_mohm: Positive | None = maybe("insulation resistance of either pole to the body, megohm")
    passive_discharge_s: NotNegative | None = maybe("seconds from full down to 60 V by its own resistor")
    active_discharge_s: NotNegative | None = maybe("seconds down to 60 V when it discharges itself")


class FusePoint(Record):
    """One point of a fuse's time-current curve, as its catalogue prints it."""

    part: Annotated[Ref, RefersTo("parts")] = of("the part that is or holds the fuse")
    fuse: Name = of("the fuse inside it")
    current_a: Positive = of("at these amperes")
    opens_after_s: Positive = of("it opens after these seconds, on the average")


class Bond(Record):
    """Potential equalisation: how an exposed metal case is joined to the body."""

    ref: Ref = of("mark of this bond")
    name: Name = of("what is bonded")
    device: Annotated[Ref, RefersTo("devices")] = of("the device whose case it is")
    to: Name = of("where it goes: a ground point, another device, or a place on the body in words")
    section_mm2: Positive = of("conductor section")
    length_mm: Length = of("length of the strap")
    reading_max_mohm: Positive = maybe("most milliohms that pass in this shop", 20.0)


class Strap(Record):
    """A strap or other metal by which 12 V minus gets from one place to another, besides the wires of the from-to list."""

    ref: Ref = of("mark of this strap")
    name: Name = of("what it is")
    from_node: Name = of("a pin, a ground point, `body`, or a metal part by name")
    to_node: Name = of("the same")
    conductor: Name = of("what it is made of")
    is_conductor: bool = maybe("no: a cable, rod or hinge that must carry no current", True)
    removed_with: Annotated[Ref, RefersTo("removed")] | None = maybe("what it left with; blank: it is there")
    resistance_mohm: Positive = maybe("its resistance", 0.5)


class OutputStates(Record):
    """What one output does in each state of the car."""

    ref: Name = of("the output: main plus contactor, drive pump P1 ...")
    kind: Literal[
        "contactor", "pre-charge", "converter", "inverter", "charger", "heater", "pump", "fan", "lamp", "lock", "inhibit", "line"
    ] = of("sort of output")
    driven_by: Name = of("pin that drives it, or `message to DEVICE`")
    acts_on: tuple[Name, ...] = maybe("what it moves or feeds: device or device.element", ())
    protective: bool = maybe("whether it protects people, battery or cells", False)
    off: Text = maybe("key off", "")
    waking: Text = maybe("from key on until the contactors are closed", "")
    ready: Text = maybe("contactors closed, no gear chosen", "")
    driving: Text = maybe("on the road", "")
    plugged_in: Text = maybe("charge plug in, not charging", "")
    charging: Text = maybe("charging", "")
    tripped: Text = maybe("a fault has opened the contactors", "")
    crashed: Text = maybe("the inertia switch has opened", "")


class CaseContact(Record):
    """A contact that is open or closed in one case. One that is not listed is closed where a load that is on needs it."""

    case: Annotated[Name, RefersTo("cases")] = of("the case")
    contact: Annotated[Name, DeviceElement()] = of("device.element")
    state: Literal["open", "closed"] = of("its state")


class CaseUnit(Record):
    """What one high-voltage unit takes in one case. The DC-DC converter needs no row: its power follows from the 12 V side."""

    case: Annotated[Name, RefersTo("cases")] = of("the case")
    unit: Annotated[Ref, RefersTo("devices")] = of("the device")
    power_kw: float = of("kilowatts from the pack; negative: into the pack", ge=-1000, le=1000)
    peak_kw: float | None = maybe("most for some seconds; blank: the same", ge=-1000, le=1000)


class Bus(Record):
    """One CAN bus."""

    ref: Ref = of("name of the bus")
    bit_rate_kbit_per_s: float = of("bits a second", gt=0, le=8000)
    pair_impedance_ohm: Positive = maybe("impedance of the twisted pair", 120.0)


class BusNode(Record):
    """One unit on a bus."""

    bus: Annotated[Ref, RefersTo("buses")] = of("the bus")
    device: Annotated[Ref, RefersTo("devices")] = of("the device")
    sends_as: Text = maybe("the name under which it sends; blank: it sends nothing", "")
    note: Text = maybe("anything worth knowing", "")


class Message(Record):
    """One message of a bus, as its message file has it."""

    name: Name = of("its name")
    frame_id: int = of("the number by which it is known on the bus and by which its turn is settled: the least first", ge=0, lt=2**29)
    is_extended: bool = maybe("whether that number has 29 bits, not 11", False)
    length_bytes: int = of("bytes of data", ge=0, le=2**16)
    senders: tuple[Name, ...] = maybe("who sends it, by the names of the file", ())
    cycle_ms: Positive | None = maybe("how often it is sent; blank: the file does not say")


class MessageFile(Record):
    """The messages of one bus; the file itself is `messages/BUS.dbc` and is kept as it stands, byte for byte."""

    # What is read out of the text is kept beside it, so that no study has to know how such a file is written.

    bus: Annotated[Ref, RefersTo("buses")] = of("the bus; also the name of its file in `messages`")
    encoding: Literal["utf-8", "latin-1"] = of("how the bytes of the file are letters")
    text: Annotated[str, OwnFile()] = of("the whole file")
    nodes: Annotated[tuple[Name, ...], OwnFile()] = of("every unit that the file names")
    messages: Annotated[tuple[Message, ...], OwnFile()] = of("every message, in the order of the file")
