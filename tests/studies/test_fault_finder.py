"""The fault-finder's table held against the network itself: each fuse of the demo is opened, and volts are looked at."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.studies.fault_finder.records import FaultFinder, FuseStops
from halfshaft.studies.network.records import DcNetwork, Diode, Load, Resistor, Solution, Source
from halfshaft.studies.network.solver import solve
from halfshaft.study import Study
from support import changed

REPO = Path(__file__).parents[2]
# With the stop lamps' two feeds both on, current goes backwards through one of them: each is looked at with the other off.
SECOND_FEEDS = ("OL.old brake switch", "VCU.stop lamps switch")
# What moves these contacts, as a person reads it in the catalogue.
OWN_WORKS = {"controller": "logic", "monitor": "logic", "driver": "logic"}
WORKS_V, DEAD_V = 9.0, 1.0


@cache
def study() -> Study:
    return Study(read_folder(REPO / "examples" / "tern"))


def table() -> FaultFinder:
    found = study().fault_finder
    assert found is not None
    return found


def row(fuse: str) -> FuseStops:
    return next(item for item in table().fuses if item.fuse == fuse)


def network(conversion: Conversion, opened: frozenset[str], *, converter: bool) -> DcNetwork:
    """The whole 12 V side with every contact closed that is not opened; loads as the resistors that they are at 13.8 V."""
    ohm = study().wires.resistance_ohm
    resistors = [Resistor(ref=wire.ref, start=wire.from_pin, end=wire.to_pin, ohm=ohm[wire.ref] + 0.001) for wire in conversion.wires]
    loads, diodes, sources = [], [], []
    for ref, element in conversion.element.items():
        device = ref.partition(".")[0]
        start, end = f"{device}.{element.pin_a}", f"{device}.{element.pin_b}"
        if ref in opened:
            continue
        if element.passes:
            diodes.append(Diode(ref=ref, anode=start, cathode=end, forward_v=0.0, ohm=element.resistance_ohm or 0.0))
        elif element.kind in ("link", "fuse", "contact"):
            resistors.append(Resistor(ref=ref, start=start, end=end, ohm=element.resistance_ohm or 0.0))
        elif element.kind == "resistor":
            resistors.append(Resistor(ref=ref, start=start, end=end, ohm=element.resistance_ohm or 1e3))
        elif element.kind in ("load", "coil"):
            taken_a = conversion.load[ref].steady_a if ref in conversion.load else 0.1
            loads.append(Load(ref=ref, plus=start, minus=end, kind="resistive", value=element.resistance_ohm or 13.8 / taken_a))
        elif element.kind == "diode":
            diodes.append(Diode(ref=ref, anode=start, cathode=end))
        elif ref in ("BAT.cells", "DCDC.output") and (converter or ref == "BAT.cells"):
            sources.append(
                Source(ref=ref, plus=start, minus=end, volt=element.voltage_v or 12.8, ohm=element.resistance_ohm or 0.0, one_way=True)
            )
    body = [pin for pin in conversion.cavity if pin.partition(".")[0] in {point.ref for point in conversion.ground_points}]
    resistors += [Resistor(ref=f"body {pin}", start=pin, end="body", ohm=0.0005) for pin in body]
    return DcNetwork(ground="body", resistors=tuple(resistors), loads=tuple(loads), diodes=tuple(diodes), sources=tuple(sources))


def volts(opened: frozenset[str], *, converter: bool) -> dict[str, float]:
    """Volts of every load of the 12 V side: the better of two states of the car that differ in who feeds the stop lamps."""
    best: dict[str, float] = {}
    for off in SECOND_FEEDS:
        net = network(study().conversion, opened | {off}, converter=converter)
        found = solve(net)
        assert isinstance(found, Solution)
        for load in net.loads:
            there = load.plus in found.volt and load.minus in found.volt
            best[load.ref] = max(best.get(load.ref, 0.0), abs(found.between(load.plus, load.minus)) if there else 0.0)
    return best


@cache
def working(converter: bool = True) -> frozenset[str]:
    return frozenset(ref for ref, volt in volts(frozenset(), converter=converter).items() if volt > WORKS_V)


def dead(opened: frozenset[str], *, converter: bool = True) -> frozenset[str]:
    """What worked and works no longer; nothing may be in between."""
    now = volts(opened, converter=converter)
    assert all(now[ref] > WORKS_V or now[ref] < DEAD_V for ref in working(converter)), opened
    return frozenset(ref for ref in working(converter) if now[ref] < DEAD_V)


def let_go(stopped: frozenset[str]) -> frozenset[str]:
    """Contacts whose coil or unit has stopped."""
    found = set()
    for ref, element in study().conversion.element.items():
        if element.kind == "contact" and element.rest_state != "closed":
            device = ref.partition(".")[0]
            if f"{device}.{OWN_WORKS.get(element.moved_by, element.moved_by)}" in stopped:
                found.add(ref)
    return frozenset(found)


def settled(fuse: str, *, converter: bool) -> frozenset[str]:
    opened, stopped = frozenset({fuse}), frozenset()
    while True:
        stopped = dead(opened, converter=converter)
        more = opened | let_go(stopped)
        if more == opened:
            return stopped
        opened = more


def test_every_load_of_the_12_v_side_works_while_all_is_closed():
    assert set(study().conversion.load) <= working() | {"OL.rev counter"}


FUSES = ["BAT.FL1", "FL.FL2", *(f"FRB.F{number}" for number in range(1, 19)), "OL.old fuse 3"]


def test_every_fuse_of_the_12_v_side_is_in_the_table():
    assert {item.fuse for item in table().fuses} == set(FUSES)


@pytest.mark.parametrize("fuse", FUSES)
def test_an_open_fuse_stops_what_the_table_says_and_nothing_else(fuse):
    told = row(fuse)
    assert set(told.direct) == dead(frozenset({fuse}))
    loads = {item.ref for item in told.indirect if item.ref in study().conversion.element}
    assert {*told.direct, *loads} == settled(fuse, converter=True)
    assert {*told.direct, *loads, *told.without_converter} == settled(fuse, converter=False)


@pytest.mark.parametrize("fuse", FUSES)
def test_what_seems_to_work_at_times_has_volts_with_all_contacts_closed(fuse):
    stopped = {*row(fuse).direct, *(item.ref for item in row(fuse).indirect)}
    net = network(study().conversion, frozenset({fuse}) | let_go(settled(fuse, converter=True)), converter=True)
    found = solve(net)
    assert isinstance(found, Solution)
    ends = {load.ref: (load.plus, load.minus) for load in net.loads}
    back = {ref for ref in stopped & set(ends) if set(ends[ref]) <= found.volt.keys() and abs(found.between(*ends[ref])) > WORKS_V}
    assert {item.ref for item in row(fuse).fed_back} == back


def test_the_fuse_of_the_coils_stops_fan_and_pumps_through_their_relays():
    told = {item.ref: item.because_of for item in row("FRB.F16").indirect}
    assert told == {
        "FAN.motor": ("FRB.K2 coil",),
        "VP.motor": ("FRB.K3 coil",),
        "P1.motor": ("FRB.K4 coil",),
        "P2.motor": ("FRB.K5 coil",),
    }


def test_without_its_monitor_the_pack_is_cut_off():
    assert row("FRB.F8").opens == ("HVDB.main minus", "HVDB.main plus", "HVDB.pre-charge")


def test_units_that_the_controller_enables_stop_with_it():
    assert {"INV", "DCDC"} <= {item.ref for item in row("FRB.F7").indirect}


def test_the_converters_own_fuse_leaves_the_battery_alone():
    assert row("FL.FL2").cuts_converter
    assert not row("FRB.F7").cuts_converter


def test_the_fan_that_does_not_turn_is_sought_on_its_way_from_the_battery():
    found = next(item for item in table().symptoms if item.load == "FAN.motor")
    assert found.fuses == ("BAT.FL1", "FRB.F2")
    assert [(item.contact, item.by, item.fuses) for item in found.contacts] == [("FRB.K2", "FRB.K2 coil", ("BAT.FL1", "FRB.F7", "FRB.F16"))]
    assert found.there[-2:] == ("W124", "FAN.A.1")
    assert (found.back, found.ground) == (("FAN.A.2", "W152", "GP1.S.1"), "GP1")


def test_stop_lamps_have_a_second_feed():
    found = next(item for item in table().symptoms if item.load == "OL.stop lamps")
    assert (found.fuses[-1], found.other_feeds) == ("OL.old fuse 3", ("FRB.F17",))


def test_a_switch_that_blocks_feeds_nothing_backwards():
    """The reversing lamp behind F17 would get current from the stop lamps' other feed, but the controller's switch lets none in."""
    assert row("FRB.F17").fed_back == ()
    conversion = study().conversion
    parts = []
    for part in conversion.parts:
        inside = tuple(item.model_copy(update={"passes": ""}) for item in part.inside)
        parts.append(part.model_copy(update={"inside": inside}))
    found = Study(changed(conversion, parts=tuple(parts))).fault_finder
    assert found is not None
    told = next(item for item in found.fuses if item.fuse == "FRB.F17").fed_back
    assert [item.ref for item in told] == ["OL.reversing lamps"]
    assert set(told[0].through) == {"FRB.K1", *SECOND_FEEDS}


def test_no_battery_no_table():
    conversion = study().conversion
    bare = changed(conversion, supply=conversion.supply.model_copy(update={"battery": None}))
    assert Study(bare).fault_finder is None
