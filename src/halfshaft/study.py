"""Every study of one conversion, each computed once, on first use. Here, and only here, studies are given to each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Finding, in_order
from halfshaft.model.reading import Measured, Reading
from halfshaft.studies.arrangement.records import Room
from halfshaft.studies.arrangement.space_facts import SpaceFacts, space_facts
from halfshaft.studies.boxes import box_findings
from halfshaft.studies.buses.rules import bus_findings
from halfshaft.studies.buses.study import BusResult, study_buses
from halfshaft.studies.cable.choices import Choices, choices_of
from halfshaft.studies.cable.currents import WireCurrent, cable_currents, wire_currents
from halfshaft.studies.cable.rules import cable_findings
from halfshaft.studies.cable.study import CableHeat, study_cable
from halfshaft.studies.commissioning.diagnosis import diagnose_commissioning
from halfshaft.studies.commissioning.records import SHEET, Commissioning
from halfshaft.studies.commissioning.study import study_commissioning
from halfshaft.studies.enclosure import enclosure_findings
from halfshaft.studies.fault_finder.records import FaultFinder
from halfshaft.studies.fault_finder.study import study_fault_finder
from halfshaft.studies.handling import HandlingResult, study_handling
from halfshaft.studies.handling_rules import handling_findings
from halfshaft.studies.high_voltage.rules import high_voltage_findings
from halfshaft.studies.high_voltage.study import HighVoltage, study_high_voltage
from halfshaft.studies.hv_safety.rules import hv_safety_findings
from halfshaft.studies.hv_safety.study import HvSafety, study_hv_safety
from halfshaft.studies.looms.apart import apart_findings
from halfshaft.studies.looms.batch import Batch, Need, longer_than_stock, needs_of, stock_short, study_batch
from halfshaft.studies.looms.benches import Bench, bench_of
from halfshaft.studies.looms.bends import bend_findings
from halfshaft.studies.looms.board import Board, lay_board
from halfshaft.studies.looms.board_rules import board_findings
from halfshaft.studies.looms.bus import BUS, bus_bench, bus_readings
from halfshaft.studies.looms.continuity import Joined, joined_pins
from halfshaft.studies.looms.costs import LoomCost, loom_costs
from halfshaft.studies.looms.covering_rules import covering_findings
from halfshaft.studies.looms.coverings import Coverings, study_coverings
from halfshaft.studies.looms.crimps import Crimp, crimps_of
from halfshaft.studies.looms.faults import Diagnosis, diagnose
from halfshaft.studies.looms.fixing import fixing_findings
from halfshaft.studies.looms.keeping import with_board
from halfshaft.studies.looms.network import Network
from halfshaft.studies.looms.placing import place_splices
from halfshaft.studies.looms.readings import readings_for_tester, readings_of
from halfshaft.studies.looms.routing import Routing, lay
from halfshaft.studies.looms.rules import loom_findings
from halfshaft.studies.looms.run_out import LaidNext, run_out
from halfshaft.studies.looms.single_faults import unreached
from halfshaft.studies.looms.spare import RunSpare, spare_findings, spares_of
from halfshaft.studies.looms.splice_rules import splice_findings
from halfshaft.studies.looms.splices import SplicePlace
from halfshaft.studies.low_voltage.records import LowVoltage
from halfshaft.studies.low_voltage.rules import low_voltage_findings
from halfshaft.studies.low_voltage.study import study_low_voltage
from halfshaft.studies.mass import MassResult, study_mass
from halfshaft.studies.mass_rules import mass_findings
from halfshaft.studies.mount_rules import mount_findings
from halfshaft.studies.mounts import BoxMounts, study_mounts
from halfshaft.studies.pack.bar_rules import bar_findings
from halfshaft.studies.pack.box_order import BoxOrder, box_orders
from halfshaft.studies.pack.heat import LoadedBar, LoadedJoint, load_bars, load_joints
from halfshaft.studies.pack.joint_rules import joint_findings
from halfshaft.studies.pack.module_order import ModuleOrder, module_orders
from halfshaft.studies.pack.reach import Reach, reaches
from halfshaft.studies.pack.rules import pack_findings
from halfshaft.studies.pack.study import Pack, study_pack
from halfshaft.studies.parts_list import PartLine, parts_list
from halfshaft.studies.protection.records import Protection
from halfshaft.studies.protection.rules import protection_findings
from halfshaft.studies.protection.study import study_protection
from halfshaft.studies.sensing.diagnosis import diagnose_volts
from halfshaft.studies.sensing.looms import sensing_conversion
from halfshaft.studies.sensing.rules import sensing_findings
from halfshaft.studies.sensing.sheets import ProbeSheet, probe_sheets
from halfshaft.studies.sensing.volts import TapVolts, tap_volts
from halfshaft.studies.space_rules import space_findings
from halfshaft.studies.wires.rules import wire_findings
from halfshaft.studies.wires.study import WiresResult, study_wires

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from halfshaft.studies.arrangement.records import Arrangement, Front, Room
    from halfshaft.studies.arrangement.take import Taken
    from halfshaft.studies.enclosure_places import DevicePlaces


class Study:
    """What the program has to say about a conversion."""

    def __init__(self, conversion: Conversion) -> None:
        self.conversion = conversion

    @cached_property
    def splice_places(self) -> dict[str, SplicePlace]:
        """Where each splice lies, given or chosen."""
        return place_splices(self.conversion)

    @cached_property
    def network(self) -> Network:
        """Points and runs."""
        return Network.of(self.conversion, self.splice_places)

    @cached_property
    def routing(self) -> Routing:
        """Every wire, cable and hose laid over the runs."""
        return lay(self.conversion, self.network, self.splice_places)

    @cached_property
    def coverings(self) -> Coverings:
        """How full each tube, heat-shrink and grommet is, and what would do."""
        return study_coverings(self.conversion, self.routing)

    @cached_property
    def spare(self) -> tuple[RunSpare, ...]:
        """What is left over at each wire's ends, run by run."""
        return spares_of(self.conversion, self.routing)

    @cached_property
    def mass(self) -> MassResult:
        """Weights and axle loads."""
        return study_mass(self.conversion, self.routing)

    @cached_property
    def handling(self) -> HandlingResult:
        """How the finished car stands, brakes, corners and turns, beside the donor."""
        return study_handling(self.conversion, self.mass)

    @cached_property
    def mounts(self) -> tuple[BoxMounts, ...]:
        """What the feet of the battery boxes bear."""
        return study_mounts(self.conversion)

    @cached_property
    def pack(self) -> Pack | None:
        """Strings, volts, resistance and energy of the battery."""
        return study_pack(self.conversion, self.routing)

    @cached_property
    def high_voltage(self) -> HighVoltage | None:
        """The chain from the pack to its units: load cases, pre-charge, discharge, contactors, short circuits."""
        return study_high_voltage(self.conversion, self.routing, self.pack, self.converter_w)

    @property
    def converter_w(self) -> dict[str, float]:
        """By case: watts that the DC-DC converter takes from the pack for the 12 V side."""
        cases = self.low_voltage.cases if self.low_voltage else ()
        return {case.case: case.converter_w for case in cases if case.converter_w is not None}

    @cached_property
    def box_orders(self) -> tuple[BoxOrder, ...]:
        """The order of boxes with the least cable."""
        return box_orders(self.conversion, self.network, self.pack) if self.pack else ()

    @cached_property
    def module_orders(self) -> tuple[ModuleOrder, ...]:
        """The order of modules in each box with the least bar."""
        return module_orders(self.conversion, self.pack) if self.pack else ()

    @cached_property
    def loaded_bars(self) -> tuple[LoadedBar, ...]:
        """What each bar carries and wastes."""
        return load_bars(self.pack) if self.pack else ()

    @cached_property
    def loaded_joints(self) -> tuple[LoadedJoint, ...]:
        """What each bolted joint of the pack carries and wastes."""
        return load_joints(self.conversion, self.pack) if self.pack else ()

    @cached_property
    def reaches(self) -> tuple[Reach, ...]:
        """Which tool gets to each joint with its box in the car."""
        return reaches(self.conversion, self.pack.studs) if self.pack else ()

    @cached_property
    def sensing(self) -> Study | None:
        """The sense looms inside the battery boxes, studied like any others; None where none are led."""
        inside = sensing_conversion(self.conversion)
        return None if inside is None else Study(inside)

    @cached_property
    def tap_volts(self) -> tuple[TapVolts, ...]:
        """The signed volts to expect at every cell tap."""
        return tap_volts(self.conversion)

    @cached_property
    def probe_sheets(self) -> dict[str, ProbeSheet]:
        """The sheets that are filled before any sense plug is put on its board, by their names."""
        return probe_sheets(self.conversion)

    @cached_property
    def rooms(self) -> dict[str, Room]:
        """What each space leaves free, by its mark."""
        from halfshaft.studies.arrangement.rooms import room_of

        keep_outs, meshes = self.conversion.keep_outs, self.conversion.mesh
        return {space.ref: room_of(space, keep_outs, meshes[space.mesh] if space.mesh else None) for space in self.conversion.spaces}

    @cached_property
    def space_facts(self) -> tuple[SpaceFacts, ...]:
        """Size and free room of each space, and how many modules it takes; on demand only."""
        return space_facts(self.conversion, self.rooms)

    def arrange(self, *, executor: Executor, effort: float, say: Callable[[str], object]) -> Front:
        """The best arrangements of the battery. A search, so it is asked for, not kept."""
        from halfshaft.studies.arrangement.search import search

        return search(self.conversion, self.network, self.mass, self.rooms, executor=executor, effort=effort, say=say)

    def taken(self, arrangement: Arrangement) -> Taken:
        """The conversion with one of them."""
        from halfshaft.studies.arrangement.take import take

        return take(self.conversion, arrangement)

    @cached_property
    def boards(self) -> dict[str, Board]:
        """The board of every loom that has one, by the loom's mark."""
        boards = ((laid.loom.ref, lay_board(self.conversion, laid, self.splice_places)) for laid in self.routing.looms)
        return {ref: board for ref, board in boards if board is not None}

    def with_board_kept(self, loom: str) -> Conversion:
        """The conversion with the present board of a loom written down as drilled."""
        return with_board(self.conversion, self.routing.loom(loom), self.boards[loom])

    @cached_property
    def wires(self) -> WiresResult:
        """Currents, drops, fuses and wire ends."""
        return study_wires(self.conversion, self.routing)

    @cached_property
    def fault_finder(self) -> FaultFinder | None:
        """What stops when a fuse opens, and where to look when something does not work."""
        return study_fault_finder(self.conversion, self.wires)

    @cached_property
    def cable_currents(self) -> dict[str, WireCurrent]:
        """What each wire and each core of a high-voltage cable carries, where that is known."""
        return {**wire_currents(self.conversion, self.wires), **cable_currents(self.conversion, self.pack)}

    @cached_property
    def cable_heat(self) -> dict[str, CableHeat]:
        """How hot each wire and cable gets where it is worst off, least to spare first."""
        return study_cable(self.conversion, self.routing, self.cable_currents)

    @cached_property
    def cable_choices(self) -> dict[str, Choices]:
        """For each of them, the least section that would do and what its neighbours would do."""
        return {ref: choices_of(self.conversion, self.wires, heat) for ref, heat in self.cable_heat.items()}

    @cached_property
    def low_voltage(self) -> LowVoltage | None:
        """Volts, currents and supply of the 12 V side in every case; None without a battery."""
        return study_low_voltage(self.conversion, self.routing, self.wires)

    @cached_property
    def protection(self) -> Protection:
        """Each fuse against what hangs on it: overload, short circuits at the ends of each wire, starts, fuses in series."""
        return study_protection(self.conversion, self.routing, self.wires, self.cable_heat, self.pack, self.high_voltage)

    @cached_property
    def hv_safety(self) -> HvSafety | None:
        """Interlock, insulation, bonding, distances, marks and outputs; None without a battery and its cables."""
        return study_hv_safety(self.conversion, self.wires.resistance_ohm, self.pack)

    @cached_property
    def groups(self) -> dict[str, tuple[Joined, ...]]:
        """Joined groups of pins, by loom."""
        return {laid.loom.ref: joined_pins(laid) for laid in self.routing.looms}

    @cached_property
    def benches(self) -> dict[str, Bench]:
        """Each loom as it is tested, by its mark."""
        return {laid.loom.ref: bench_of(self.conversion, laid, self.wires.resistance_ohm) for laid in self.routing.looms}

    @cached_property
    def readings(self) -> dict[str, tuple[Reading, ...]]:
        """What a meter should read, line by line, by loom."""
        return {ref: readings_of(bench) for ref, bench in self.benches.items()}

    @cached_property
    def readings_for_tester(self) -> dict[str, tuple[Reading, ...]]:
        """By loom, for a tester that finds its pins by itself: every two groups in place of each group against all others."""
        return {ref: readings_for_tester(bench, self.readings[ref]) for ref, bench in self.benches.items()}

    @cached_property
    def bus_bench(self) -> Bench | None:
        """The bus with everything plugged in, where there is one with terminators."""
        return bus_bench(self.conversion, self.wires.resistance_ohm)

    @cached_property
    def bus_readings(self) -> tuple[Reading, ...]:
        """What a meter should read between H and L, with everything plugged in and at each plug pulled."""
        return bus_readings(self.conversion, self.bus_bench) if self.bus_bench else ()

    @cached_property
    def buses(self) -> dict[str, BusResult]:
        """How each bus lies and ends, what a meter reads on it, and its load, by its mark."""
        return study_buses(self.conversion, self.routing, self.bus_bench)

    @cached_property
    def commissioning(self) -> Commissioning:
        """What is measured before and while the car is first switched on, line by line; on demand only."""
        return study_commissioning(
            self.conversion,
            self.routing,
            self.wires,
            pack=self.pack,
            low=self.low_voltage,
            high=self.high_voltage,
            safety=self.hv_safety,
            bus=self.bus_readings,
        )

    @cached_property
    def test_sheets(self) -> dict[str, tuple[tuple[Reading, ...], ...]]:
        """What may be filled: by loom the sheet to fill by hand and the one for a tester; the bus; the electrics; and cell volts by box."""
        looms = {ref: (self.readings[ref], self.readings_for_tester[ref]) for ref in self.readings}
        bus = {BUS: (self.bus_readings,)} if self.bus_readings else {}
        inside = self.sensing.test_sheets if self.sensing else {}
        electrics = {SHEET: (self.commissioning.readings,)} if self.commissioning.steps else {}
        return {**bus, **looms, **inside, **electrics, **{name: (sheet.readings,) for name, sheet in self.probe_sheets.items()}}

    def diagnosis(self, name: str, measured: Sequence[Measured]) -> Diagnosis:
        """What a filled sheet of one loom, of the bus, of the electrics, or of the cells in one box says."""
        if name == SHEET:
            return diagnose_commissioning(self.commissioning, measured, self.bus_bench)
        if name in self.probe_sheets:
            return diagnose_volts(self.probe_sheets[name], measured)
        if self.sensing and name in self.sensing.benches:
            return self.sensing.diagnosis(name, measured)
        bench = self.benches.get(name) or self.bus_bench
        assert bench is not None
        return diagnose(bench, measured)

    @cached_property
    def unreached(self) -> dict[str, tuple[str, ...]]:
        """By loom, parts plugged in whose loss or closing no reading would show."""
        return {ref: unreached(bench, self.readings[ref]) for ref, bench in self.benches.items()}

    @cached_property
    def crimps(self) -> tuple[Crimp, ...]:
        """Every kind of crimp, and what it must withstand."""
        return crimps_of(self.conversion, self.wires)

    @cached_property
    def run_out(self) -> dict[str, tuple[LaidNext, ...]]:
        """In which order wires are laid, by loom."""
        return {laid.loom.ref: run_out(self.conversion, laid, self.boards.get(laid.loom.ref)) for laid in self.routing.looms}

    @cached_property
    def parts_list(self) -> tuple[PartLine, ...]:
        """What has to be bought."""
        return parts_list(self.conversion, self.routing, self.wires)

    @cached_property
    def needs(self) -> tuple[Need, ...]:
        """What all kits of the batch are cut from."""
        return needs_of(self.conversion, self.routing)

    @cached_property
    def batch(self) -> Batch:
        """The batch cut list and how reels, coils and lengths are cut."""
        return study_batch(self.conversion, self.routing, self.wires, self.needs)

    @cached_property
    def loom_costs(self) -> tuple[LoomCost, ...]:
        """What each loom weighs and costs."""
        return loom_costs(self.conversion, self.routing, self.wires)

    @cached_property
    def enclosures(self) -> dict[str, DevicePlaces]:
        """By enclosure, places for its devices as a search finds them, or why there are none; on demand only."""
        from halfshaft.studies.enclosure_places import place_devices

        items = self.conversion.enclosure_items
        return {
            enclosure.ref: place_devices(enclosure, tuple(item for item in items if item.enclosure == enclosure.ref))
            for enclosure in self.conversion.enclosures
        }

    def new_stops(self, before: Study) -> tuple[Finding, ...]:
        """What stops the work here and did not `before`."""
        known = {(item.rule, item.about) for item in before.design_findings if item.level == "stop"}
        return tuple(item for item in self.design_findings if item.level == "stop" and (item.rule, item.about) not in known)

    @cached_property
    def car_findings(self) -> tuple[Finding, ...]:
        """Findings on weights, boxes and room: those that follow when something is moved."""
        return in_order(
            [
                *mass_findings(self.conversion, self.mass),
                *handling_findings(self.conversion, self.handling),
                *mount_findings(self.conversion, self.mounts),
                *box_findings(self.conversion),
                *enclosure_findings(self.conversion),
                *space_findings(self.conversion, lambda: self.rooms),
            ]
        )

    @cached_property
    def wiring_findings(self) -> tuple[Finding, ...]:
        """Findings on wires, looms and buses: those that follow at once when a wire is changed."""
        return in_order(
            [
                *loom_findings(self.conversion, self.network, self.routing),
                *covering_findings(self.conversion, self.coverings),
                *splice_findings(self.conversion, self.routing),
                *apart_findings(self.conversion, self.routing),
                *bend_findings(self.conversion, self.routing),
                *fixing_findings(self.conversion, self.routing),
                *spare_findings(self.spare),
                *wire_findings(self.conversion, self.routing, self.wires),
                *bus_findings(self.conversion, self.buses),
            ]
        )

    @cached_property
    def design_findings(self) -> tuple[Finding, ...]:
        """Findings of everything that is computed at once; laying boards and planning cuts are searches, and have their own."""
        said_too_big = frozenset(item.about for item in self.wiring_findings if item.rule == "wires.fuse-too-big")
        return in_order(
            [
                *self.car_findings,
                *self.wiring_findings,
                *cable_findings(
                    self.conversion,
                    self.routing,
                    self.cable_heat,
                    self.cable_currents,
                    lambda heat: choices_of(self.conversion, self.wires, heat),
                ),
                *low_voltage_findings(self.conversion, self.low_voltage),
                *sensing_findings(self.conversion, self.sensing.routing if self.sensing else None),
                *longer_than_stock(self.conversion, self.needs),
                *pack_findings(self.conversion, self.pack, self.box_orders, self.module_orders),
                *bar_findings(self.conversion, self.pack),
                *joint_findings(self.conversion, self.pack, self.reaches),
                *high_voltage_findings(self.conversion, self.pack, self.high_voltage),
                *protection_findings(self.conversion, self.protection, said_too_big),
                *hv_safety_findings(self.conversion, self.hv_safety),
            ]
        )

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, those of boards and cutting plans too, stops first."""
        return in_order(
            [
                *self.design_findings,
                *board_findings({**self.boards, **(self.sensing.boards if self.sensing else {})}),
                *stock_short(self.batch),
            ]
        )
