"""Cases of the high-voltage chain."""

from __future__ import annotations

import math

from rule_cases.changes import (
    Case,
    high_voltage,
    inside,
    row,
)
from rule_cases.pack_figures import PACK_OHM, pack_amperes

# The chain: 725 µF filled through 100 ohms to 436.8 V (README of the demo). A surge passes the pack less its joints, both main
# contacts (0.2 milliohms each) and the inverter's cables, 0.6 m and 0.53 m of 35 mm2 (their sum is in show looms).
LINK_F, FULL_V = 725e-6, 104 * 4.2
CLOSE_S = 100 * LINK_F * math.log(20)
WHOLE_J = LINK_F * FULL_V**2 / 2
SURGE_OHM = PACK_OHM - 36 * 0.03e-3 + (2 * 0.2 + 1.135 * 0.527) / 1000
# Discharged by resistors in 1 s (620 µF), 60 s, 60 s and 10 s from 436.8 down to 60 V, side by side.
BLEEDERS_OHM = 1 / (math.log(FULL_V / 60) * (620e-6 / 1 + 60e-6 / 60 + 40e-6 / 60 + 5e-6 / 10))
# What the DC-DC takes in the hot case: its loads ask for 36.74 A; five suppressors, pull-ups and what of them holds its watts take
# 0.36 A more. Two milliohms of its own are between 13.8 V and its output.
HOT_DCDC_W = 37.1 * (13.8 - 37.1 * 0.002) / 0.92
# The hot case at its peak, empty: 60 kW and the DC-DC's 0.554 kW behind pack, contacts and C6, C7.
CHAIN_OHM = PACK_OHM + (2 * 0.2 + 1.135 * 0.527) / 1000
HOT_PEAK_A = (312 - math.sqrt(312**2 - 4 * CHAIN_OHM * (60_000 + HOT_DCDC_W))) / (2 * CHAIN_OHM)
# 800 A after 0.9 s, 600 A after 4 s (catalogue points of the main fuse): on log-log paper 1 s lies here.
FUSE_1_S_A = 800 * (600 / 800) ** (math.log(1 / 0.9) / math.log(4 / 0.9))
PACK_SHORT_A = FULL_V / (PACK_OHM - 36 * 0.03e-3)
HIGH_VOLTAGE_CASES = [
    Case(
        rule="high_voltage.not-as-named", do=(high_voltage(precharge_resistor="HVDB.main plus"),), level="fix",
        about=("HVDB.main plus", "precharge_resistor"), basis="common practice", caution="High voltage",
    ),
    Case(
        rule="high_voltage.not-as-named", do=(inside("AT-HVDB", "pre-charge resistor", resistance_ohm=None),), level="fix",
        about=("HVDB.pre-charge resistor", "precharge_resistor"), basis="common practice", caution="High voltage",
    ),
    Case(
        rule="high_voltage.no-precharge", do=(high_voltage(precharge_contact=None, precharge_resistor=None),), level="stop", about=("HVDB.main plus",),
        value=FULL_V / SURGE_OHM, limit=250, unit="A", near=10, basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.precharge-elsewhere", do=(inside("AT-HVDB", "pre-charge resistor", pin_b="~x"),), level="stop",
        about=("HVDB.pre-charge", "HVDB.pre-charge resistor"), basis="common practice", caution="High voltage",
    ),
    Case(
        rule="high_voltage.precharge-too-slow", do=(high_voltage(precharge_time_out_s=0.2),), level="stop", about=("HVDB.pre-charge resistor",),
        value=CLOSE_S, limit=0.2, unit="s", basis="published", caution="High voltage",
    ),
    # With time without end, 95 % want 95 / 5 of the 100 ohms.
    Case(
        rule="high_voltage.precharge-held-down",
        do=(row("hv_insulation", "INV", passive_discharge_s=1.0), high_voltage(precharge_time_out_s=1000.0)), level="stop",
        about=("HVDB.pre-charge resistor",), value=BLEEDERS_OHM, limit=1900, unit="Ω", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.precharge-pulse", do=(inside("AT-HVDB", "pre-charge resistor", pulse_j=50.0),), level="fix",
        about=("HVDB.pre-charge resistor",), value=WHOLE_J, limit=50, unit="J", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.precharge-tries", do=(inside("AT-HVDB", "pre-charge resistor", pulse_j=150.0),), level="fix",
        about=("HVDB.pre-charge resistor",), value=3 * WHOLE_J, limit=150, unit="J", basis="published", caution="High voltage",
    ),
    # Three tries of a second, then 600 s.
    Case(
        rule="high_voltage.precharge-mean", do=(inside("AT-HVDB", "pre-charge resistor", power_w=0.3),), level="fix",
        about=("HVDB.pre-charge resistor",), value=3 * WHOLE_J / 603, limit=0.3, unit="W", basis="published", caution="High voltage",
    ),
    # The demo says it of its own resistor; here the other one has another name.
    Case(
        rule="high_voltage.precharge-shorted",
        do=(inside("AT-HVDB", "pre-charge resistor", ref="R1"), high_voltage(precharge_resistor="HVDB.R1")), level="note", about=("HVDB.R1",),
        value=1, limit=250 / (FULL_V**2 / 100), unit="s", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.make-current", do=(high_voltage(precharge_close_at_percent=90.0),), level="fix", about=("HVDB.main plus",),
        value=0.1 * FULL_V / SURGE_OHM, limit=250, unit="A", near=1, basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.make-current", do=(inside("AT-HVDB", "pre-charge", breaking_a=4.0),), level="fix", about=("HVDB.pre-charge",),
        value=FULL_V / 100, limit=4, unit="A", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.discharge-slow", do=(row("hv_insulation", "CHG", passive_discharge_s=150.0),), level="note", about=("CHG", "passive"),
        value=150, limit=120, unit="s", basis="from memory", caution="High voltage",
    ),
    # With its 725 µF the whole link takes a little longer than the inverter alone with 620.
    Case(
        rule="high_voltage.discharge-slow", do=(row("hv_insulation", "INV", active_discharge_s=4.9),), level="note", about=("the whole link", "active"),
        value=725 / (620 / 4.9 + 620 / 120 + 60 / 60 + 40 / 60 + 5 / 10), limit=5, unit="s", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.discharge-unknown", do=(row("hv_insulation", "HTR", passive_discharge_s=None),), level="note", about=("HTR",),
        basis="common practice", caution="High voltage",
    ),
    Case(
        rule="high_voltage.contact-voltage", do=(inside("AT-HVDB", "main plus", voltage_max_v=400.0),), level="stop", about=("HVDB.main plus",),
        value=FULL_V, limit=400, unit="V", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.contact-carries", do=(inside("AT-SD250", "handle", rating_a=80.0),), level="fix", about=("SD.handle",),
        value=pack_amperes(30_000), limit=80, unit="A", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.break-current", do=(inside("AT-HVDB", "main minus", breaking_a=200.0),), level="fix", about=("HVDB.main minus",),
        value=HOT_PEAK_A, limit=200, unit="A", near=0.1, basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.nobody-breaks", do=(inside("AT-HVDB", "main minus", breaking_a=1000.0),), level="note",
        about=("HVDB.main plus", "FH1.link"), value=FUSE_1_S_A, limit=250, unit="A", basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.fuse-voltage", do=(inside("AT-FUSE200", "link", voltage_max_v=400.0),), level="stop", about=("FH1.link",),
        value=FULL_V, limit=400, unit="V", count=2, basis="published", caution="High voltage",
    ),
    Case(
        rule="high_voltage.fuse-breaking", do=(inside("AT-FUSE200", "link", breaking_a=4000.0),), level="stop", about=("FH2.link",),
        value=PACK_SHORT_A, limit=4000, unit="A", near=1, count=2, basis="published", caution="High voltage",
    ),
    # Empty, behind 91.5 milliohms there are at most 266 kW; at nominal volts they are there, and more than a contact breaks.
    Case(
        rule="high_voltage.case-beyond", do=(row("case_units", ("hot", "INV"), peak_kw=300.0),), level="stop", about=("hot", "empty", "INV", "the pack"),
        value=300 + HOT_DCDC_W / 1000, near=0.001, unit="kW", basis="published", caution="High voltage", also=("high_voltage.break-current",),
    ),
    Case(
        rule="high_voltage.case-unit-current", do=(row("case_units", ("cold", "HTR"), power_kw=4.0),), level="fix", about=("cold", "HTR"),
        value=4000 / 376.5, limit=9.6, unit="A", near=0.02, basis="published", caution="High voltage",
    ),
    # 15.9 A of 13.77 V by 0.92 go to the DC-DC.
    Case(
        rule="high_voltage.case-charge-current", do=(row("case_units", ("AC charging", "CHG"), power_kw=-30.0),), level="stop", about=("AC charging",),
        value=(30_000 - 15.9 * 13.77 / 0.92) / 386.5, limit=60, unit="A", near=0.3, basis="published", caution="High voltage", also=("high_voltage.case-unit-current",),
    ),
]  # fmt: skip
