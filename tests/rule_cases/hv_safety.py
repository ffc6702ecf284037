"""Cases of high-voltage safety."""

from __future__ import annotations

import math

from halfshaft.model.conversion import Conversion
from rule_cases.changes import Case, Change, high_voltage, inside, plug, row, without

HV = "High voltage"
# 104 cells in series at 4.2 V (README of the demo).
FULL_V = 104 * 4.2
# hv_insulation.csv: megohm of B1 to B3, SD, HVDB before the contactors; HVDB, MOT, INV, CHG, DCDC, HTR behind them.
BEHIND = {"HVDB": 60, "MOT": 50, "INV": 25, "CHG": 30, "DCDC": 30, "HTR": 20}
ALL = {**BEHIND, "B1": 80, "B2": 80, "B3": 80, "SD": 200}
# Copper 0.017241 ohm mm2/m (IEC 60028), 5 milliohms a joint, two joints a strap.
HEATER_MOHM = 10 + 17.241 * 0.2 / 6


def kilohm(units: dict[str, float], **others: float) -> float:
    """Side by side: the reciprocals add up."""
    return 1000 / sum(1 / mohm for mohm in {**units, **others}.values())


def bridged(part: str, link: str) -> Change:
    """A second link across one inside a part."""

    def change(conversion: Conversion) -> Conversion:
        elements = conversion.part[part].inside
        bridge = next(item for item in elements if item.ref == link).model_copy(update={"ref": "bridge", "held_by": ()})
        return row("parts", part, inside=(*elements, bridge))(conversion)

    return change


def role(part: str, connector: str, way: str, name: str) -> Change:
    """One way of a plug with another role."""

    def change(conversion: Conversion) -> Conversion:
        ways = next(item for item in conversion.part[part].connectors if item.ref == connector).cavities
        made = tuple(item.model_copy(update={"role": name}) if item.ref == way else item for item in ways)
        return plug(part, connector, cavities=made)(conversion)

    return change


INTERLOCK_CASES = [
    Case(
        rule="hv_safety.interlock-broken", do=(inside("AT-CHG66", "loop"),), level="stop", about=("CHG.A.8", "CHG.A.9"),
        basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.interlock-outside", do=(inside("AT-HTR30", "loop", held_by=()),), level="fix", about=("HTR.H",),
        basis="from memory", caution=HV,
    ),
    # The demo says it of the inlet and of the motor's studs; here the inverter's U is one more.
    Case(
        rule="hv_safety.interlock-bolted", do=(inside("AT-INV60", "loop", held_by=("P", "N", "V", "W", "cover")),), level="note",
        about=("INL.X", "INV.U", "MOT.U", "MOT.V", "MOT.W"), basis="from memory", caution=HV,
    ),
    Case(
        rule="hv_safety.interlock-bypassed", do=(bridged("AT-SD250", "loop"),), level="stop", about=("SD.loop",),
        basis="common practice", caution=HV,
    ),
]  # fmt: skip

OUTPUT_CASES = [
    Case(
        rule="hv_safety.output-gap", do=(row("output_states", "radiator fan", waking=""),), level="fix", about=("radiator fan", "waking"),
        value=1, limit=0, unit="states", basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.output-contradiction", do=(row("output_states", "heater element", off="on"),), level="fix",
        about=("heater element", "off"), basis="common practice", caution=HV,
    ),
    # The contactors are open then.
    Case(
        rule="hv_safety.output-contradiction", do=(row("output_states", "DC-DC enable", plugged_in="on"),), level="fix",
        about=("DC-DC enable", "plugged_in"), basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.output-contradiction", do=(row("output_states", "inlet lock", charging="free"),), level="fix",
        about=("inlet lock", "charging"), basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.drives-plugged-in", do=(row("output_states", "drive inhibit by plug", plugged_in="-"),), level="fix",
        about=("plugged_in",), basis="common practice", caution=HV,
    ),
    # A.20 of the controller is a way without a wire.
    Case(
        rule="hv_safety.output-astray", do=(row("output_states", "stop lamps", driven_by="VCU.A.20"),), level="fix",
        about=("stop lamps", "VCU.A.20"), basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.output-astray", do=(row("output_states", "main plus contactor", acts_on=("FAN.motor",)),), level="stop",
        about=("main plus contactor", "FAN.motor"), basis="common practice", caution=HV,
    ),
]  # fmt: skip

INSULATION_CASES = [
    Case(
        rule="hv_safety.isolation-case", do=(high_voltage(isolation_case=""),), level="fix", about=("isolation_case",),
        value=1, limit=0, unit="settings", basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.isolation-case", do=(high_voltage(isolation_edition=""),), level="note", about=("isolation_edition",),
        value=1, limit=0, unit="settings", basis="published", caution=HV,
    ),
    # 500 ohms for each of 436.8 V are 218.4 kilohms; behind the contactors, and with them closed.
    Case(
        rule="hv_safety.insulation-low", do=(row("hv_insulation", "HTR", insulation_mohm=0.2),), level="stop", about=("contactors closed", "HTR"),
        value=kilohm(ALL, HTR=0.2), limit=218.4, unit="kilohm", count=2, basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.insulation-low", do=(row("hv_insulation", "HTR", insulation_mohm=0.2),), level="stop",
        about=("contactors open, behind them", "HTR"), value=kilohm(BEHIND, HTR=0.2), limit=218.4, unit="kilohm", count=2, basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.insulation-inlet", do=(row("hv_insulation", "CHG", insulation_mohm=0.9),), level="fix", about=("CHG",),
        value=1 / (1 / 0.9 + 1 / 500), limit=1, unit="megohm", basis="from memory", caution=HV,
    ),
    # Where nothing says that the charger keeps them apart, the whole car is joined to the inlet.
    Case(
        rule="hv_safety.insulation-inlet", do=(inside("AT-CHG66", "charging", isolated=""), row("hv_insulation", "HTR", insulation_mohm=1.0)),
        level="fix", about=("HTR",), value=kilohm(ALL, HTR=1.0, INL=500) / 1000, limit=1, unit="megohm", basis="from memory", caution=HV,
        also=("hv_safety.body-current",),
    ),
    Case(
        rule="hv_safety.insulation-unlisted", do=(row("hv_insulation", "MOT", insulation_mohm=None),), level="note", about=("MOT",),
        value=1, limit=0, unit="units", basis="common practice", caution=HV,
    ),
    # 66 nF in all, 22 of them the inverter's.
    Case(
        rule="hv_safety.y-energy", do=(row("hv_insulation", "INV", cy_plus_nf=2200.0),), level="fix", about=("plus",),
        value=(66 - 22 + 2200) * 1e-9 * FULL_V**2 / 2, limit=0.2, unit="J", basis="published", caution=HV,
    ),
    # Its own 50 and 10 nF, at 50 Hz and 230 V.
    Case(
        rule="hv_safety.body-current", do=(row("hv_insulation", "CHG", cy_plus_nf=50.0),), level="fix", about=("CHG",),
        value=2 * math.pi * 50 * 60e-9 * 230 * 1000, limit=3.5, unit="mA", basis="common practice", caution=HV,
    ),
    # Nothing says that mains and battery are kept apart: all 132 nF count.
    Case(
        rule="hv_safety.body-current", do=(inside("AT-CHG66", "charging", isolated=""),), level="fix", about=("CHG",),
        value=2 * math.pi * 50 * 132e-9 * 230 * 1000, limit=3.5, unit="mA", basis="common practice", caution=HV,
    ),
]  # fmt: skip

BONDING_CASES = [
    Case(
        rule="hv_safety.not-bonded", do=(without("bonds", "BD4"),), level="fix", about=("CHG",), basis="published", caution=HV,
    ),
    # The motor on the inverter and the inverter on the motor: a ring that never meets the body.
    Case(
        rule="hv_safety.not-bonded", do=(row("bonds", "BD1", to="INV"), row("bonds", "BD2", to="MOT")), level="fix", about=("MOT",),
        count=2, basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.bond-resistance", do=(row("bonds", "BD2", section_mm2=0.5, length_mm=3000.0),), level="fix", about=("INV", "BD2"),
        value=10 + 17.241 * 3 / 0.5, limit=100, unit="milliohm", basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.bond-reading", do=(row("bonds", "BD9", reading_max_mohm=120.0),), level="fix", about=("HTR", "BD9"),
        value=120, limit=100, unit="milliohm", basis="published", caution=HV,
    ),
    # Heater and inverter have the most; their centres are 2.05 m apart, their cases less than 2.5 m; the body has 1 milliohm.
    Case(
        rule="hv_safety.bond-pair", do=(row("bonds", "BD2", section_mm2=0.5, length_mm=6000.0),), level="fix", about=("INV", "HTR"),
        value=10 + 17.241 * 6 / 0.5 + HEATER_MOHM + 1, limit=200, unit="milliohm", basis="from memory", caution=HV,
        also=("hv_safety.bond-resistance",),
    ),
]  # fmt: skip

# 436.8 V: impulse of 4 kV up to 600 V, 3.0 mm; along insulator IIIa at degree 3 by the row of 500 V 8.0 mm.
MARK_CASES = [
    Case(
        rule="hv_safety.clearance", do=(plug("AT-HVDB", "C", clearance_mm=2.5),), level="stop", about=("HVDB.C", "1", "2"),
        value=2.5, limit=3, unit="mm", basis="published", caution=HV,
    ),
    # Nothing is said of the way through air: the pins stand 2 mm apart, from middle to middle.
    Case(
        rule="hv_safety.clearance", do=(plug("AT-HVDB", "C", clearance_mm=None, pitch_mm=2.0),), level="stop", about=("HVDB.C", "1", "2"),
        value=2, limit=3, unit="mm", basis="published", caution=HV,
    ),
    # At 5000 m thin air wants 1.48 times as much (table A.2).
    Case(
        rule="hv_safety.clearance", do=(plug("AT-HVDB", "C", clearance_mm=4.4), high_voltage(altitude_max_m=5000.0)), level="stop",
        about=("HVDB.C", "1", "2"), value=4.4, limit=3 * 1.48, unit="mm", basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.creepage", do=(plug("AT-HVDB", "C", creepage_mm=7.1),), level="stop", about=("HVDB.C",),
        value=7.1, limit=8, unit="mm", basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.mixed-plug", do=(role("AT-INV60", "A", "14", "hv_plus"),), level="stop", about=("INV.A", "14", "1"),
        basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.not-orange", do=(row("cable_types", "AC3x6", covering="black"),), level="fix", about=("C14",),
        basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.no-sign", do=(row("devices", "HTR", hv_sign="no"),), level="fix", about=("HTR",), basis="from memory", caution=HV,
    ),
    # One note for all of it: a sign, the colour of three cables of one sort, one screen, one plug.
    Case(
        rule="hv_safety.not-said",
        do=(
            row("devices", "HTR", hv_sign=""), row("cable_types", "HV2x4", covering=""), row("cables", "C1", screen_earthed=""),
            plug("AT-DCDC11", "H", touch_protection=""),
        ),
        level="note", about=("HTR", "C8", "C9", "C10", "C1", "DCDC.H"), value=6, limit=0, unit="cells", basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.screen", do=(row("cables", "C11", screen_earthed="one end"),), level="fix", about=("C11",),
        basis="common practice", caution=HV,
    ),
    Case(
        rule="hv_safety.screen", do=(row("cables", "C8", screen_earthed="nowhere"),), level="fix", about=("C8",),
        basis="common practice", caution=HV,
    ),
    # The heater stands in the cabin.
    Case(
        rule="hv_safety.touch", do=(plug("AT-HTR30", "H", touch_protection="IPXXB"),), level="fix", about=("HTR.H",),
        basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.touch", do=(plug("AT-DCDC11", "H", touch_protection="none"),), level="stop", about=("DCDC.H",),
        basis="published", caution=HV,
    ),
    Case(
        rule="hv_safety.mains-earth", do=(without("cable_cores", ("C14", 3)),), level="stop", about=("C14",), basis="published", caution=HV,
    ),
]  # fmt: skip

HV_SAFETY_CASES = [*INTERLOCK_CASES, *OUTPUT_CASES, *INSULATION_CASES, *BONDING_CASES, *MARK_CASES]
