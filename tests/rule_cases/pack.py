"""Cases of the battery pack."""

from __future__ import annotations

import math

from halfshaft.model.pack import Busbar
from halfshaft.model.spaces import KeepOut
from rule_cases.changes import (
    Case,
    all_in_string,
    module,
    more,
    no_bars,
    pack,
    row,
    without,
)
from rule_cases.pack_figures import PACK_20_V, PACK_OHM, pack_amperes

# The pack: 13 modules of 8 cells, 33.6 V each when full.
PACK_CASES = [
    Case(
        rule="pack.over-withstand", do=(row("hv_units", "CHG", withstand_max_v=430.0),), level="stop", about=("CHG", "full"), value=436.8, limit=430,
        unit="V", basis="published", caution="High voltage",
    ),
    Case(
        rule="pack.outside-window", do=(row("hv_units", "INV", operate_min_v=315.0),), level="fix", about=("INV", "empty"), value=312, limit=315,
        unit="V", basis="published", caution="High voltage",
    ),
    Case(
        rule="pack.outside-window", do=(row("hv_units", "INV", operate_min_v=325.0),), level="note", about=("INV", "peak at 20 %"),
        value=PACK_20_V - pack_amperes(60_000) * PACK_OHM, limit=325, unit="V", count=2, basis="published", caution="High voltage",
    ),
    Case(
        rule="pack.power-beyond", do=(pack(power_peak_kw=320.0),), level="stop", about=("peak",), value=320,
        limit=PACK_20_V**2 / 4 / PACK_OHM / 1000, unit="kW", basis="published", caution="High voltage",
    ),
    Case(
        rule="pack.module-current", do=(pack(power_peak_kw=76.0),), level="stop", about=("AT-MOD8", "peak"), value=pack_amperes(76_000), limit=240,
        unit="A", basis="published", caution="High voltage",
    ),
    Case(
        rule="pack.unit-current", do=(row("hv_units", "HVDB", current_peak_a=180.0),), level="fix", about=("HVDB", "peak"),
        value=pack_amperes(60_000), limit=180, unit="A", basis="published", caution="High voltage",
    ),
    # The last module alone beside the twelve others, its bar as it was.
    Case(
        rule="pack.strings-unequal", do=(module("B3", "M13", string=2, order_in_string=1), pack(strings=2)), level="stop",
        about=("string 1", "string 2"), value=11 * 33.6, limit=0, unit="V", basis="published", caution="fire",
        also=("pack.join-missing", "pack.bar-not-next"),
    ),
    Case(
        rule="pack.strings-count", do=(pack(strings=2),), level="fix", about=("pack",), value=1, limit=2, unit="strings", basis="common practice",
        caution="High voltage",
    ),
    # Numbers of M04, in B1, and M05, in B2, changed for each other: B1, B2, B1, B2, B3.
    Case(
        rule="pack.string-reenters", do=(no_bars, module("B1", "M04", order_in_string=5), module("B2", "M05", order_in_string=4)), level="fix",
        about=("string 1", "B1", "B2"), value=4, limit=2, unit="crossings", basis="common practice", caution="High voltage",
    ),
    Case(
        rule="pack.no-disconnect", do=(pack(service_disconnect=None),), level="fix", about=("pack",), value=436.8, limit=60, unit="V",
        basis="published", caution="still live",
    ),
    # The distribution box is at both ends of the string, not in it.
    Case(
        rule="pack.disconnect-outside", do=(pack(service_disconnect="HVDB"),), level="fix", about=("HVDB", "string 1"), basis="common practice",
        caution="still live",
    ),
    # The rear fuse parts the string where the disconnect does: 8 modules of 13 on one side.
    Case(
        rule="pack.disconnect-uneven", do=(pack(service_disconnect="FH2"),), level="note", about=("FH2", "string 1"), value=100 * 8 / 13, limit=60,
        unit="%", basis="common practice", caution="still live",
    ),
    # Both of these are in the demo, of string 1. B3, disconnect, B1, B2: C1 to C5 anew by the same runs.
    Case(
        rule="pack.box-order", do=(all_in_string(2),), level="note", about=("string 2",), value=8.357, limit=7.81, unit="m",
        basis="common practice", caution="High voltage", also=("pack.disconnect-uneven",),
    ),
    # M01.N (235, -420) to M03.P (7, -65), 44 mm to M02.P, M02.N (51, -65) to M04.P (-177, -420); in their own order 184, 44, 184.
    Case(
        rule="pack.module-order", do=(no_bars, module("B1", "M02", order_in_string=3), module("B1", "M03", order_in_string=2)), level="note",
        about=("B1", "string 1"), value=2 * math.hypot(228, 355) + 44, limit=412, unit="mm", basis="common practice", caution="High voltage",
    ),
    Case(
        rule="pack.bar-short-circuit", level="stop", about=("M02", "BB03", "BB04", "BB99"), value=33.6, limit=0, unit="V", basis="published",
        do=(more("busbars", Busbar(ref="BB99", box="B1", from_stud="M02.P", to_stud="M02.N", wide_mm=20, thick_mm=3, length_mm=386)),),
        caution="throws metal", also=("pack.joint-bars",),
    ),
    Case(
        rule="pack.bar-wrong-poles", do=(row("busbars", "BB04", to_stud="M03.N", length_mm=389.0),), level="stop", about=("BB04",),
        basis="common practice", caution="throws metal", also=("pack.join-missing", "pack.joint-bars"),
    ),
    Case(
        rule="pack.bar-not-next", do=(row("busbars", "BB04", to_stud="M04.P", length_mm=453.0),), level="fix", about=("BB04",),
        basis="common practice", caution="throws metal", also=("pack.join-missing", "pack.joint-bars"),
    ),
    # Studs 44 mm apart and 31 mm over both ends.
    Case(
        rule="pack.bar-too-short", do=(row("busbars", "BB04", length_mm=70.0),), level="fix", about=("BB04",), value=70, limit=75, unit="mm",
        basis="common practice", caution="High voltage",
    ),
    Case(
        rule="pack.bar-too-short", do=(row("busbars", "BB04", length_mm=43.0),), level="stop", about=("BB04",), value=43, limit=75, unit="mm",
        basis="common practice", caution="High voltage",
    ),
    Case(
        rule="pack.bar-too-long", do=(row("busbars", "BB04", length_mm=95.0),), level="note", about=("BB04",), value=95, limit=90, unit="mm",
        basis="common practice", caution="High voltage",
    ),
    Case(
        rule="pack.join-missing", do=(without("busbars", "BB04"),), level="fix", about=("M02.N", "M03.P"), basis="common practice",
        caution="High voltage", also=("pack.joint-bars",),
    ),
    # 66 mm wide from M03.N it leaves 44 - 33 - 10 mm to M02.P, two modules higher: 67.2 V, creepage row 80 V. M03.N and BB03 are as near.
    Case(
        rule="pack.studs-close", do=(row("busbars", "BB05", wide_mm=66.0, length_mm=261.0),), level="stop", about=("BB05", "M02.P"), value=1,
        limit=1.3, unit="mm", count=3, basis="published", caution="High voltage",
    ),
    # The bar proposed from M01.N (y -420) to M04.P (y -420) would run straight over two studs between them.
    Case(
        rule="pack.studs-close", do=(no_bars, module("B1", "M02", order_in_string=4), module("B1", "M04", order_in_string=2)), level="fix",
        about=("BB02", "M02.P"), value=0, limit=1.3, unit="mm", count=2, basis="published", caution="High voltage",
    ),
    Case(
        rule="pack.joint-stack", do=(row("joints", "JT05", stack=("contact face", "plain washer", "bar", "spring washer", "bolt")),), level="stop",
        about=("JT05",), value=1, limit=0, unit="layers", basis="common practice", caution="glows",
    ),
    Case(
        rule="pack.joint-bars", do=(row("joints", "JT05", busbars=()),), level="fix", about=("JT05", "BB03"), value=1, limit=0, unit="bars",
        basis="common practice", caution="High voltage",
    ),
    Case(
        rule="pack.joint-torque", do=(row("joints", "JT05", torque_nm=12.0),), level="fix", about=("JT05",), value=12, limit=8, unit="N m",
        basis="published", caution="glows",
    ),
    Case(rule="pack.joint-missing", do=(without("joints", "JT05"),), level="fix", about=("BB03", "M01.N"), basis="common practice", caution="glows"),
    # A hinge of the lid comes down to the box over the stud at x 235, y -420, z 349.5; the box ends at 468.
    Case(
        rule="pack.joint-out-of-reach", level="fix", about=("JT05",), value=468 - 349.5, unit="mm", basis="from memory", caution="glows",
        do=(
            more(
                "keep_outs",
                KeepOut(
                    ref="KO9", name="hinge", space="SP1", x_min_mm=220, y_min_mm=-440, z_min_mm=470, x_max_mm=250, y_max_mm=-400, z_max_mm=560,
                ),
            ),
        ),
    ),
    Case(
        rule="pack.joint-covered", do=(row("devices", "FH1", x_mm=235.0, y_mm=-420.0),), level="note", about=("FH1", "JT05"), value=1, limit=0,
        unit="joints", basis="from memory", caution="glows",
    ),
]  # fmt: skip
