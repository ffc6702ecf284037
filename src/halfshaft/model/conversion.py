"""The conversion itself: one immutable value that holds everything the shop has described."""

from __future__ import annotations

import datetime
from functools import cached_property
from typing import Annotated, Self

from pydantic import Field, StringConstraints, field_validator

from halfshaft.model.base import (
    Allowance,
    Celsius,
    DeviceElement,
    Length,
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
from halfshaft.model.boxes import Box, ModuleType
from halfshaft.model.car import Car, LoadState, MadePart, Removed
from halfshaft.model.devices import Case, CaseLoad, Device, GroundPoint, Load, OldWire, Tail, Zone
from halfshaft.model.electrics import (
    Bond,
    Bus,
    BusNode,
    CaseContact,
    CaseUnit,
    FusePoint,
    HighVoltageSettings,
    HvInsulation,
    MessageFile,
    OutputStates,
    Strap,
)
from halfshaft.model.enclosures import Enclosure, EnclosureItem
from halfshaft.model.meshes import Mesh
from halfshaft.model.pack import ArrangementSettings, Busbar, HvUnit, Joint, MountCase, PackSettings
from halfshaft.model.parts import (
    CableType,
    Cavity,
    Connector,
    Covering,
    Element,
    InsulationClass,
    Part,
    Seal,
    Terminal,
    WireType,
)
from halfshaft.model.spaces import KeepOut, LuggageRoom, Space
from halfshaft.model.wires import (
    BoardPeg,
    BoardWay,
    Cable,
    CableCore,
    Grommet,
    Hose,
    Loom,
    Nearby,
    Point,
    Run,
    Splice,
    StockLength,
    System,
    TwistGroup,
    Wire,
)

Day = Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]


class Job(Record):
    """What the papers say about themselves."""

    ref: Ref = of("short name of the conversion; begins the number of every drawing", max_length=12)
    name: Name = of("the car")
    task: Text = maybe("the job in one or two sentences", "")
    owner: Name = of("legal owner of the papers: the shop")
    revision: Name = of("revision of this description", max_length=8)
    date: Day = of("date of that revision, year-month-day")
    status: Name = maybe("draft, released for building ...", "draft")
    drawn_by: Text = maybe("who described it", "")
    approved_by: Text = maybe("who approved it", "")
    kits: int = maybe("how many kits are cut and built together", 1, ge=1, le=1000)

    def model_post_init(self, _context: object, /) -> None:
        """Refuse a day that is on no calendar."""
        datetime.date.fromisoformat(self.date)


class Shop(Record):
    """The shop's own habits and limits. Each has a default of the trade, and each is printed with its basis."""

    length_step_to_1000_mm: Length = maybe("cut lengths up to 1 m are rounded up to this step", 5.0)
    length_step_over_1000_mm: Length = maybe("longer ones to this step", 10.0)
    slack_each_end_mm: Allowance = maybe("slack at each end that goes into a connector", 20.0)
    termination_each_end_mm: Allowance = maybe("strip and crimp at each end that goes into a connector", 5.0)
    splice_overlap_mm: Allowance = maybe("strip and crimp at an end that goes into a splice", 8.0)
    cable_ends_mm: Allowance = maybe("what both ends of a high-voltage cable take together", 60.0)
    take_up_percent: NotNegative | None = maybe("extra length of twisted wires; blank: computed from each pair's lay and wire diameter")
    looseness: float = maybe("how much thicker a taped bundle is than the least circle round its wires", 1.1, ge=1, le=3)
    fuse_load_share_max: float = maybe("most of its rating that a fuse carries for good", 0.8, gt=0, le=1)
    voltage_drop_max_percent: float = maybe("most voltage lost in a load's supply and ground wires", 3.0, gt=0, le=100)
    drop_temperature_c: Celsius = maybe("copper temperature at which that drop is judged", 20.0)
    peg_diameter_mm: Length = maybe("pegs of the loom boards", 4.0)
    peg_pitch_mm: Length = maybe("furthest two pegs stand apart on a straight", 200.0)
    bend_radius_factor: Positive = maybe("tightest bend of a bundle on a board, in bundle diameters to its centre line", 5.0)
    grommet_fill_max_percent: Positive = maybe("most of a grommet's bore that may be filled, by area", 70.0)
    spare_terminals_percent: NotNegative = maybe("spare terminals, seals, plugs, tape and heat-shrink to buy", 5.0)
    hv_gap_min_mm: NotNegative = maybe("least distance of a run with HV from one with LV or sense wires in the same zone", 200.0)
    clip_pitch_max_mm: Length = maybe("furthest two fixings of a run stand apart in the car", 300.0)
    splice_apart_mm: NotNegative = maybe("least distance of a splice from a breakout or connector", 40.0)
    splice_stagger_mm: NotNegative = maybe("least distance between the splices of neighbouring wires", 51.0)
    cut_trim_mm: Allowance = maybe("least that is left over of each reel, coil or length, for square ends and errors of measuring", 10.0)
    offcut_min_mm: NotNegative = maybe("shortest offcut worth keeping", 300.0)
    labour_eur_per_hour: NotNegative = maybe("what an hour of work costs", 50.0)
    braking_g: float = maybe("braking at which the load transfer is compared, in multiples of gravity", 0.8, gt=0, le=2)
    cornering_g: float = maybe("cornering at which the load transfer is compared, in multiples of gravity", 0.5, gt=0, le=2)


class Supply(Record):
    """The 12 V side, as far as every wire needs it."""

    voltage_v: Positive = maybe("voltage with the converter running", 13.8)
    battery: Annotated[Ref, RefersTo("devices")] | None = maybe("the device that is the 12 V battery")
    battery_usable_share: float = maybe("share of its capacity that it gives before anything stops", 0.8, gt=0, le=1)
    converter: Annotated[Name, DeviceElement()] | None = maybe("source inside the DC-DC converter that feeds the 12 V side")
    converter_hot_max_a: Positive | None = maybe("most it gives when hot; blank: as when cool")
    converter_hot_above_c: Celsius | None = maybe("air round it from which it counts as hot")
    body_mohm: NotNegative = maybe("resistance of the body between any two of its ground points", 1.0)


class Coolant(Record):
    """What fills the hoses."""

    density_kg_per_l: Positive = maybe("density at 20 C", 1.073)


class Conversion(Record):
    """Everything described. Tables keep the order in which they were written."""

    job: Job
    car: Car
    shop: Shop = Field(default_factory=Shop)
    supply: Supply = Field(default_factory=Supply)
    coolant: Coolant = Field(default_factory=Coolant)
    pack: PackSettings = Field(default_factory=PackSettings)
    high_voltage: HighVoltageSettings = Field(default_factory=HighVoltageSettings)
    arrangement: ArrangementSettings = Field(default_factory=ArrangementSettings)
    removed: tuple[Removed, ...] = ()
    made_parts: tuple[MadePart, ...] = ()
    load_states: tuple[LoadState, ...] = ()
    spaces: tuple[Space, ...] = ()
    meshes: tuple[Mesh, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    luggage_rooms: tuple[LuggageRoom, ...] = ()
    modules: tuple[ModuleType, ...] = ()
    boxes: tuple[Box, ...] = ()
    mount_cases: tuple[MountCase, ...] = ()
    hv_units: tuple[HvUnit, ...] = ()
    busbars: tuple[Busbar, ...] = ()
    joints: tuple[Joint, ...] = ()
    parts: tuple[Part, ...] = ()
    terminals: tuple[Terminal, ...] = ()
    seals: tuple[Seal, ...] = ()
    wire_types: tuple[WireType, ...] = ()
    insulation_classes: tuple[InsulationClass, ...] = ()
    coverings: tuple[Covering, ...] = ()
    cable_types: tuple[CableType, ...] = ()
    devices: tuple[Device, ...] = ()
    tails: tuple[Tail, ...] = ()
    enclosures: tuple[Enclosure, ...] = ()
    enclosure_items: tuple[EnclosureItem, ...] = ()
    ground_points: tuple[GroundPoint, ...] = ()
    zones: tuple[Zone, ...] = ()
    loads: tuple[Load, ...] = ()
    cases: tuple[Case, ...] = ()
    case_loads: tuple[CaseLoad, ...] = ()
    case_contacts: tuple[CaseContact, ...] = ()
    case_units: tuple[CaseUnit, ...] = ()
    old_wires: tuple[OldWire, ...] = ()
    straps: tuple[Strap, ...] = ()
    hv_insulation: tuple[HvInsulation, ...] = ()
    fuse_points: tuple[FusePoint, ...] = ()
    bonds: tuple[Bond, ...] = ()
    output_states: tuple[OutputStates, ...] = ()
    buses: tuple[Bus, ...] = ()
    bus_nodes: tuple[BusNode, ...] = ()
    messages: tuple[MessageFile, ...] = ()
    points: tuple[Point, ...] = ()
    runs: tuple[Run, ...] = ()
    nearby: tuple[Nearby, ...] = ()
    grommets: tuple[Grommet, ...] = ()
    looms: tuple[Loom, ...] = ()
    board_ways: tuple[BoardWay, ...] = ()
    board_pegs: tuple[BoardPeg, ...] = ()
    stock: tuple[StockLength, ...] = ()
    twist_groups: tuple[TwistGroup, ...] = ()
    splices: tuple[Splice, ...] = ()
    systems: tuple[System, ...] = ()
    wires: tuple[Wire, ...] = ()
    cables: tuple[Cable, ...] = ()
    cable_cores: tuple[CableCore, ...] = ()
    hoses: tuple[Hose, ...] = ()

    def __copy__(self) -> Self:
        """A copy without the tables by mark: they belong to the rows that they were made from."""
        copied = super().__copy__()
        for name in set(copied.__dict__) - set(type(self).model_fields):
            del copied.__dict__[name]
        return copied

    @cached_property
    def mesh(self) -> dict[str, Mesh]:
        """Meshes by mark."""
        return {mesh.ref: mesh for mesh in self.meshes}

    @field_validator("parts")
    @classmethod
    def _by_label_code(cls, parts: tuple[Part, ...]) -> tuple[Part, ...]:
        """Each part is a file of its own, and files have no order but that of their names."""
        return tuple(sorted(parts, key=lambda part: part.ref))

    @field_validator("messages")
    @classmethod
    def _by_bus(cls, messages: tuple[MessageFile, ...]) -> tuple[MessageFile, ...]:
        """These are files of their own, too."""
        return tuple(sorted(messages, key=lambda item: item.bus))

    @cached_property
    def part(self) -> dict[str, Part]:
        """Catalogue parts by label code."""
        return {part.ref: part for part in self.parts}

    @cached_property
    def device(self) -> dict[str, Device]:
        """Devices by mark."""
        return {device.ref: device for device in self.devices}

    @cached_property
    def point(self) -> dict[str, Point]:
        """Route points by mark."""
        return {point.ref: point for point in self.points}

    @cached_property
    def run(self) -> dict[str, Run]:
        """Runs by mark."""
        return {run.ref: run for run in self.runs}

    @cached_property
    def loom(self) -> dict[str, Loom]:
        """Looms by mark."""
        return {loom.ref: loom for loom in self.looms}

    @cached_property
    def wire(self) -> dict[str, Wire]:
        """Wires by number."""
        return {wire.ref: wire for wire in self.wires}

    @cached_property
    def splice(self) -> dict[str, Splice]:
        """Splices by mark."""
        return {splice.ref: splice for splice in self.splices}

    @cached_property
    def terminal(self) -> dict[str, Terminal]:
        """Terminal families by mark."""
        return {terminal.ref: terminal for terminal in self.terminals}

    @cached_property
    def covering(self) -> dict[str, Covering]:
        """Coverings by mark."""
        return {covering.ref: covering for covering in self.coverings}

    @cached_property
    def zone(self) -> dict[str, Zone]:
        """Zones by name."""
        return {zone.ref: zone for zone in self.zones}

    @cached_property
    def case(self) -> dict[str, Case]:
        """Cases by name."""
        return {case.ref: case for case in self.cases}

    @cached_property
    def load(self) -> dict[str, Load]:
        """Loads by device.element."""
        return {load.ref: load for load in self.loads}

    @cached_property
    def twist_group(self) -> dict[str, TwistGroup]:
        """Twisted pairs by mark."""
        return {group.ref: group for group in self.twist_groups}

    @cached_property
    def cable_type(self) -> dict[str, CableType]:
        """Cable types by mark."""
        return {kind.ref: kind for kind in self.cable_types}

    @cached_property
    def wire_type(self) -> dict[float, WireType]:
        """Wire types by section in mm2."""
        return {kind.section_mm2: kind for kind in self.wire_types}

    @cached_property
    def tail(self) -> dict[tuple[str, str], Tail]:
        """Tails by device and connector."""
        return {(tail.device, tail.connector): tail for tail in self.tails}

    @cached_property
    def connector(self) -> dict[tuple[str, str], Connector]:
        """Connectors of fitted devices by device and connector."""
        return {
            (device.ref, connector.ref): connector
            for device in self.devices
            if device.part in self.part
            for connector in self.part[device.part].connectors
        }

    @cached_property
    def cavity(self) -> dict[str, Cavity]:
        """Cavities of fitted devices by pin, `device.connector.cavity`."""
        return {
            f"{device}.{name}.{cavity.ref}": cavity for (device, name), connector in self.connector.items() for cavity in connector.cavities
        }

    @cached_property
    def element(self) -> dict[str, Element]:
        """What is inside fitted devices, by `device.element`."""
        return {
            f"{device.ref}.{element.ref}": element
            for device in self.devices
            if device.part in self.part
            for element in self.part[device.part].inside
        }
