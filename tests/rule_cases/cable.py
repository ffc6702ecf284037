"""Cases of the heating of cables."""

from __future__ import annotations

import math

from halfshaft.model.parts import InsulationClass, WireType
from rule_cases.changes import (
    Case,
    more,
    row,
)
from rule_cases.pack_figures import pack_amperes

# Cable C1 in the duct of the motor bay at 70 °C, four loaded together (0.65): 30 kW at 20 % charge, as if 140 A alone. By hand, with
# 711 microhms a metre when hot, and losses for a kelvin of 12.9 W/m² from the duct (56 mm), 0.595 W/m from the cable (14.6 mm) to
# the duct, and ln(14.6/7.98) of insulation with 5 K m/W.
C1_W_PER_M = (pack_amperes(30_000) / 0.65) ** 2 * 711e-6
C1_C = 70 + C1_W_PER_M * (1 / (12.9 * math.pi * 0.056) + 1 / 0.595 + 5 / (2 * math.pi) * math.log(14.6 / 7.98))
# 1,000 A for 10 s in 35 mm2 from about 107 °C if no heat left the copper (IEC 60949); the insulation takes up a fifth of the rise.
C6_ALONE_C = (107 + 234.5) * math.exp(10 * 1000**2 / (226 * 35) ** 2) - 234.5
THIN_WIRE = WireType(section_mm2=0.22, wall="thin", outside_diameter_mm=1.2, resistance_mohm_per_m=84.4, mass_g_per_m=3.0)
CABLE_CASES = [
    Case(
        rule="cable.too-hot", do=(row("insulation_classes", "D", temperature_max_c=90.0),), level="stop", about=("C1", "U72"),
        value=C1_C, near=3.0, limit=90, unit="°C", basis="published", count=5, caution="High voltage",
    ),
    Case(
        rule="cable.pulse-too-hot", do=(row("hv_units", "INV", current_peak_a=1000.0),), level="fix", about=("C6", "U76"),
        value=107 + 0.8 * (C6_ALONE_C - 107), near=6.0, limit=150, unit="°C", basis="published", count=2, caution="High voltage",
    ),
    Case(
        rule="cable.terminal-current", do=(row("terminals", "H06", current_max_a=15.0),), level="stop", about=("C8", "HVDB.C.1"),
        value=20, limit=15, unit="A", basis="common practice", count=4, caution="High voltage",
    ),
    Case(
        rule="cable.insulation-too-cool",
        do=(more("insulation_classes", InsulationClass(ref="X", material="wax", temperature_max_c=40.0)), row("wires", "W103", insulation_class="X")),
        level="stop", about=("W103", "U01"), value=50, limit=40, unit="°C", basis="common practice", caution="qualified",
    ),
    # Its terminals and seals begin at 0.35 mm2.
    Case(
        rule="cable.section-too-thin", do=(more("wire_types", THIN_WIRE), row("wires", "W103", section_mm2=0.22)), level="fix", about=("W103",),
        value=0.22, limit=0.35, unit="mm²", basis="common practice", also=("wires.terminal-section",),
    ),
    # 35 mm2 in place of 0.5: no terminal or seal takes it either.
    Case(
        rule="cable.section-far-too-large", do=(row("wires", "W103", section_mm2=35.0),), level="fix", about=("W103",), value=35, limit=10, unit="mm²",
        basis="common practice", also=("wires.terminal-section", "wires.no-seal"),
    ),
]  # fmt: skip
