"""Cases of the 12 V side."""

from __future__ import annotations

from halfshaft.model.electrics import CaseContact, Strap
from rule_cases.changes import (
    Case,
    inside,
    more,
    row,
    without,
)

# The battery's 12.8 V less 57 A (41 A and the start of the lamps) through 16 mohm of cells, strip fuse and cable, less 0.1 V to the controller.
LIMP_START_V = 12.8 - 57 * 0.016 - 0.1
# Limp: 41 A and 3 A more through the same; 3.6 ohm of coil behind 0.2 ohm of copper (README: 3.8 A cost 0.77 V) and 0.1 ohm of contacts and drive.
COIL_V = (12.8 - 44 * 0.016 - 0.35 * 0.3) * 3.6 / (3.6 + 0.3)
LOW_VOLTAGE_CASES = [
    # 15.2 W through 4 ohm want more than 13.8 V squared by four times 4 ohm, 11.9 W, in every case but the parked one.
    Case(
        rule="low_voltage.collapse", do=(inside("AT-FRB", "F7", resistance_ohm=4.0),), level="stop", basis="common practice",
        about=("key on", "day drive", "night and rain", "hot", "cold", "AC charging", "limp", "VCU.logic", "FRB.F7"), also=("protection.opens-late",),
    ),
    Case(
        rule="low_voltage.load-cut", do=(more("case_contacts", CaseContact(case="day drive", contact="IS.inertia", state="open")),), level="fix",
        about=("day drive", "HVDB.main plus coil", "IS.inertia"), basis="common practice", count=2,
    ),
    # Asked for 39.7, 36.8 and 36.1 A on the average; day drive 38.5 A only if all ran at once.
    Case(
        rule="low_voltage.supply-overloaded", do=(inside("AT-DCDC11", "output", rating_a=30.0),), level="fix", about=("night and rain",),
        value=39.7, near=1.0, limit=30, unit="A", basis="common practice", count=4,
    ),
    Case(
        rule="low_voltage.battery-short", do=(row("cases", "limp", minutes=60.0),), level="note", about=("limp",), value=60 * 16 / 25.5, near=1.0,
        limit=60, unit="min", basis="common practice",
    ),
    Case(
        rule="low_voltage.below-working-volts", do=(inside("AT-VCU", "logic", operate_min_v=12.0),), level="fix", about=("VCU.logic", "limp"),
        value=LIMP_START_V, near=0.1, limit=12, unit="V", basis="common practice",
    ),
    Case(
        rule="low_voltage.pull-in", do=(inside("AT-HVDB", "main plus coil", operate_min_v=11.5),), level="fix", about=("HVDB.main plus coil", "limp"),
        value=COIL_V, near=0.15, limit=11.5, unit="V", basis="common practice",
    ),
    Case(
        rule="low_voltage.contact-over-rating", do=(inside("AT-FRB", "K2", rating_a=15.0),), level="fix", about=("FRB.K2", "night and rain"),
        value=16, limit=15, unit="A", basis="common practice", caution="weld",
    ),
    Case(
        rule="low_voltage.contact-start", do=(inside("AT-FRB", "K2", rating_a=30.0),), level="note", about=("FRB.K2", "FAN.motor"), value=34, limit=30,
        unit="A", basis="from memory",
    ),
    # Coil and suppressor of K4 hang on its own output.
    Case(
        rule="low_voltage.feeds-own-coil", do=(inside("AT-FRB", "K4 coil", pin_a="C.4"), inside("AT-FRB", "K4 suppressor", pin_a="C.4")),
        level="stop", about=("FRB.K4 coil", "FRB.K4"), basis="common practice",
    ),
    Case(
        rule="low_voltage.coil-unsuppressed", do=(inside("AT-FRB", "K2 suppressor"),), level="note", about=("FRB.K2 coil",), value=1, limit=0,
        unit="coils", basis="common practice",
    ),
    # In the demo the strap of the engine block has left; here the tail to the block has, too.
    Case(
        rule="low_voltage.return-lost", do=(row("straps", "ST5", removed_with="X19"),), level="fix", about=("ST5", "OL.rev counter"),
        basis="common practice",
    ),
    # 52 W at 11.8 V, shared between 5 mohm of steel and 15 mohm of wire and contacts.
    Case(
        rule="low_voltage.stray-current", level="stop", about=("ST9", "limp"), value=52.4 / 11.8 * 15 / 20, near=0.15, limit=0.1, unit="A",
        basis="common practice", caution="not made for it",
        do=(
            more(
                "straps",
                Strap(
                    ref="ST9", name="throttle cable", from_node="P1.A.2", to_node="body", conductor="steel cable", is_conductor=False, resistance_mohm=5.0,
                ),
            ),
        ),
    ),
    Case(
        rule="low_voltage.ground-point-current", do=(row("terminals", "RM8g", current_max_a=60.0),), level="fix",
        about=("GP8", "night and rain", "W404"), value=71.0, near=0.7, limit=60, unit="A", basis="common practice", also=("wires.terminal-current",),
    ),
    # 60 mA more than the 14.8 mA that are listed and the 1.3 mA that flow through the pull-down of the inertia line.
    Case(
        rule="low_voltage.drain", do=(row("loads", "VCU.logic", sleep_ma=64.0), row("case_loads", ("parked", "VCU.logic"), steady_a=0.064, peak_a=0.064)),
        level="fix", about=("parked", "VCU.logic", "OL.clock", "BMM.logic"), value=10 / 0.0761 / 24, near=0.01, limit=14, unit="days", basis="common practice",
    ),
    # 0.8 mA of the charge controller, and 12.8 V on 10 kohm.
    Case(
        rule="low_voltage.drain-unlisted", do=(without("case_loads", ("parked", "CC.logic")),), level="note",
        about=("parked", "CC.logic", "VCU.inertia pull-down"), value=0.8 + 1.28, near=0.01, limit=0.05 * 14.0, unit="mA", basis="common practice",
    ),
    # 100 ohm from the live to the dead feed of the old loom; 0.25 A of the stabiliser count as 55 ohm. Worst at the converter's 13.8 V.
    Case(
        rule="low_voltage.fed-back", do=(inside("AT-DLOOM", "rev counter input", pin_a="A.1", pin_b="A.2", resistance_ohm=100.0),), level="fix",
        about=("OL.A.2", "OL.stabiliser and gauges"), value=13.8 * 55.2 / 155.2, near=0.01, limit=1, unit="V", basis="common practice",
    ),
]  # fmt: skip
