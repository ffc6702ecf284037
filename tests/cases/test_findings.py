"""Every rule has a small change to the demo that raises it, and just it.

The demo is read once. A case names the rule, changes a row or two, and says what the finding must then hold. Expected
figures are worked out from the demo's tables, beside each case, and not read off the program.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.car import LoadState, RaisedWeighing
from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import CaseContact, Strap
from halfshaft.model.finding import Finding
from halfshaft.model.pack import Busbar
from halfshaft.model.parts import Connector, InsulationClass, WireType
from halfshaft.model.references import key_of
from halfshaft.model.spaces import KeepOut
from halfshaft.model.wires import BoardWay, Nearby, Splice
from halfshaft.studies.looms.batch import stock_short
from halfshaft.studies.looms.board import lay_board
from halfshaft.studies.looms.board_rules import board_findings
from halfshaft.studies.looms.circles import least_circle
from halfshaft.study import Study
from meshes import block_mesh
from support import changed

REPO = Path(__file__).parents[2]
STUDIES = REPO / "src" / "halfshaft" / "studies"
Change = Callable[[Conversion], Conversion]


def kept(loom: str) -> Change:
    """The board of a loom kept as it is laid now."""
    return lambda conversion: Study(conversion).with_board_kept(loom)


def turned(loom: str, from_node: str, to_node: str, heading_deg: float) -> Change:
    """A stretch of a board turned by hand."""
    return more("board_ways", BoardWay(loom=loom, from_node=from_node, to_node=to_node, set_by="hand", heading_deg=heading_deg))


def row(table: str, key: Any, **fields: Any) -> Change:
    """One row of a table, or of the head, with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        rows = [record.model_copy(update=fields) if key_of(table, record) == key else record for record in getattr(conversion, table)]
        assert rows != list(getattr(conversion, table)), f"{key} of {table} was so already"
        return changed(conversion, **{table: tuple(rows)})

    return change


def without(table: str, *keys: Any) -> Change:
    """A table less some rows."""

    def change(conversion: Conversion) -> Conversion:
        rows = tuple(record for record in getattr(conversion, table) if key_of(table, record) not in keys)
        assert len(rows) == len(getattr(conversion, table)) - len(keys)
        return changed(conversion, **{table: rows})

    return change


def more(table: str, *records: Any) -> Change:
    """A table with rows added."""
    return lambda conversion: changed(conversion, **{table: (*getattr(conversion, table), *records)})


def car(**fields: Any) -> Change:
    """The donor car, or its plate (`limits`), with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        own = {name: value for name, value in fields.items() if name in type(conversion.car).model_fields}
        plate = {name: value for name, value in fields.items() if name not in own}
        return changed(conversion, car=conversion.car.model_copy(update={"limits": conversion.car.limits.model_copy(update=plate), **own}))

    return change


def inside(part: str, element: str, **fields: Any) -> Change:
    """A part with one of its inner elements changed, or taken out where no field is given."""

    def change(conversion: Conversion) -> Conversion:
        elements = [item.model_copy(update=fields) if item.ref == element else item for item in conversion.part[part].inside]
        kept = tuple(item for item in elements if fields or item.ref != element)
        return row("parts", part, inside=kept)(conversion)

    return change


def box(ref: str, **fields: Any) -> Change:
    """A battery box with some of its faces elsewhere."""
    return row("boxes", ref, **fields)


def item(ref: str, **fields: Any) -> Change:
    """A device of an enclosure with some fields others."""
    return row("enclosure_items", ref, **fields)


def module(box_ref: str, ref: str, **fields: Any) -> Change:
    """One module of a box with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        owner = next(item for item in conversion.boxes if item.ref == box_ref)
        modules = tuple(item.model_copy(update=fields) if item.ref == ref else item for item in owner.modules)
        return box(box_ref, modules=modules)(conversion)

    return change


def foot(box_ref: str, *refs: str, **fields: Any) -> Change:
    """Some feet of a box with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        owner = next(item for item in conversion.boxes if item.ref == box_ref)
        mounts = tuple(item.model_copy(update=fields) if item.ref in refs else item for item in owner.mounts)
        return box(box_ref, mounts=mounts)(conversion)

    return change


def renamed(box_ref: str, ref: str, mark: str) -> Change:
    """One module of a box with another mark."""

    def change(conversion: Conversion) -> Conversion:
        owner = next(item for item in conversion.boxes if item.ref == box_ref)
        modules = tuple(item.model_copy(update={"ref": mark}) if item.ref == ref else item for item in owner.modules)
        return box(box_ref, modules=modules)(conversion)

    return change


def pack(**fields: Any) -> Change:
    """The pack's settings with some others."""
    return lambda conversion: changed(conversion, pack=conversion.pack.model_copy(update=fields))


def all_in_string(number: int) -> Change:
    """Every module in a string of another number."""

    def change(conversion: Conversion) -> Conversion:
        moved = [[item.model_copy(update={"string": number}) for item in owner.modules] for owner in conversion.boxes]
        boxes = [owner.model_copy(update={"modules": tuple(items)}) for owner, items in zip(conversion.boxes, moved, strict=True)]
        return changed(conversion, boxes=tuple(boxes))

    return change


def no_bars(conversion: Conversion) -> Conversion:
    """Neither bars nor joints described."""
    return changed(conversion, busbars=(), joints=())


def board_part(change: Callable[[Connector], Connector | None]) -> Change:
    """The sense board with its connectors changed, or left out."""

    def with_connectors(conversion: Conversion) -> Conversion:
        made = tuple(new for item in conversion.part["AT-SENSE"].connectors if (new := change(item)) is not None)
        return row("parts", "AT-SENSE", connectors=made)(conversion)

    return with_connectors


def plugs_of_board(*refs: str) -> Change:
    """The sense board with these connectors only."""
    return board_part(lambda item: item if item.ref in refs else None)


def taps_of_plug(ref: str, taps: int) -> Change:
    """The sense board with only so many ways for taps in one of its plugs."""

    def change(item: Connector) -> Connector:
        ways = [cavity for cavity in item.cavities if cavity.role == "cell_tap"][:taps]
        kept = tuple(cavity for cavity in item.cavities if cavity.role != "cell_tap" or cavity in ways)
        return item.model_copy(update={"cavities": kept}) if item.ref == ref else item

    return board_part(change)


def supply(**fields: Any) -> Change:
    """The 12 V side with some fields others."""
    return lambda conversion: changed(conversion, supply=conversion.supply.model_copy(update=fields))


def shop(**fields: Any) -> Change:
    """The shop's own settings with some others."""
    return lambda conversion: changed(conversion, shop=conversion.shop.model_copy(update=fields))


def fan_draws(current_a: float) -> Change:
    """The radiator fan with another current in every case."""

    def change(conversion: Conversion) -> Conversion:
        rows = [item.model_copy(update={"steady_a": current_a}) if item.load == "FAN.motor" else item for item in conversion.case_loads]
        return changed(conversion, case_loads=tuple(rows))

    return change


@dataclass(frozen=True, kw_only=True)
class Case:
    """A rule, what to change so that it is raised, and what one of its findings must then hold.

    `near` is in its unit; `also`: rules that follow; `beside`: of a rule about boards, what is said of the loom at the same time.
    """

    rule: str
    do: tuple[Change, ...]
    level: str
    about: tuple[str, ...]
    basis: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    near: float = 1e-6
    count: int = 1
    caution: str = ""
    also: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.rule} {self.about[0]}"


# At the front bulkhead (R07): the screened pair TS1 (4.4 mm), W124 and W126 of 2.5 mm2 (outside 3.0 mm each), W125 of 1
# (2.1), three of 0.5 (1.6), in the least circle (held against published packings in tests/outside), and loose by 1.1.
BULKHEAD_MM = 1.1 * least_circle([4.4, 3.0, 3.0, 2.1, 1.6, 1.6, 1.6]).diameter_mm
# The vacuum pump's 9 A through W207 and W154 (0.39 and 0.26 m of 2.5 mm2) and W126 (3.60 m, here of 1.5 mm2).
PUMP_DROP_PERCENT = 100 * 9.0 * ((0.39 + 0.26) * 0.0076 + 3.60 * 0.0127) / 13.8
# At R32 of the rear loom: plugs of three widths on tails of 5 mm, one of 25 mm on 110 mm, and two bundles of 20 degrees.
AT_R32_DEG = 2 * 20 + sum(
    2 * math.degrees(math.atan2(width / 2 + 3, tail)) for width, tail in ((28.2, 5), (21.0, 5), (25.0, 5), (25.0, 110))
)
# The bare rear axle carries 228.9 kg (435.1 kg at x 1110 of 2110 mm, README of the demo); 312 kg more out at x 2478.
# Box B1 begins here; it is 407 mm wide and 200 mm high.
B1_X = -205.0
B1_FIRST_100_MM_L = 0.1 * 407 * 0.2
BARE_REAR_KG = 435.1 * 1110 / 2110 - 312 * 2478 / 2110
# The donor is 522 mm high (README), as weighed by rule; with its 14.8 kg of petrol out (x 20, z 395) a little higher.
DONOR_HEIGHT_MM = 268 + 2110 * 23.0 / (694 * math.tan(math.asin(560 / 2110)))
EMPTY_HEIGHT_MM = (694 * DONOR_HEIGHT_MM - 14.8 * 395) / (694 - 14.8)
MEAN_TRACK_MM = (1245 + 1225) / 2
# Engine X01 (88 kg at y -5, x 2478) taken out 245 mm further left: by its place 17.4 % of it counts against the front track.
MORE_RIGHT_KG = 2 * 88 * 245 * ((1 - 2478 / 2110) / 1245 + 2478 / 2110 / 1225)
# B1 of the demo: 52.6 kg full, 88.5 mm above feet 418 mm apart; at 20 g each foot takes a quarter, the rear ones are lifted.
B1_N = 52.6 * 9.80665
B1_PULL_KN = math.hypot(20 * B1_N * 88.5 / (2 * 418) - B1_N / 4, math.sqrt(3) * 5 * B1_N) / 1000
# Old loom behind W130 in the night: wipers, blower, indicators, stabiliser, stop lamps, rev counter and two gauges.
OLD_LOOM_A = 4.2 + 6.5 + 3.6 + 0.25 + 3.5 + 0.08 + 0.12 + 0.11
# What R21 and R22, and R77 and R78, lie apart by their coordinates.
U23_MM = math.dist((476, 40, 652), (482, 185, 655))
U77_MM = math.dist((2715, -70, 372), (2780, -545, 480))
# Cable C3 at R68: from R67 it runs 255.8 mm, half of which is its own, then turns to R69.
R67, R68, R69 = (1375, 20, 232), (1630, 40, 240), (1605, 160, 250)
TURN_AT_R68 = math.pi - math.acos(
    sum((a - b) * (c - b) for a, b, c in zip(R67, R68, R69, strict=True)) / math.dist(R67, R68) / math.dist(R69, R68)
)
C3_RADIUS_MM = math.dist(R67, R68) / 2 / math.tan(TURN_AT_R68 / 2)
# W504 of 0.5 mm2 in screened pair TS2: 90 + U17 (331.3) + 90 mm, a run U17 ten longer, and 1.13 % for the twist.
W504_MM = (180 + math.dist((290, -235, 470), (300, 95, 452))) * 1.0113 + 2 * 5
SF_SHORT_MM = math.ceil(W504_MM / 5) * 5 - W504_MM - 10 * 1.0113

# The pack's resistance: 13 modules of 6.4 milliohms, 3,565 mm of bar 20 x 3 of copper, 36 joints of 30 microhms, 8,357 mm of 35 mm2
# in cables C1 to C5, two fuses and the disconnect. At 20 % charge 104 cells of 3.24 V are behind it.
PACK_OHM = (13 * 6.4 + 3565 * 0.017241 / 60 + 36 * 0.03 + 8.357 * 0.527 + 2 * 0.35 + 0.1) / 1000
PACK_20_V = 104 * (3.0 + 0.2 * 1.2)


def pack_amperes(power_w: float) -> float:
    """The smaller root of P = I (E - I R)."""
    return (PACK_20_V - math.sqrt(PACK_20_V**2 - 4 * PACK_OHM * power_w)) / (2 * PACK_OHM)


CASES = [
    # The README gives 437.0 kg with two and luggage, and 1057.3 kg with four, both with 0.3 kg that our model has not.
    Case(
        rule="mass.axle-limit", do=(car(front_axle_kg=436.0),), level="stop", about=("front axle", "two and luggage"),
        value=437.0, limit=436.0, unit="kg", near=0.5, basis="published", caution="Axle limits",
    ),
    Case(
        rule="mass.gross-limit", do=(car(gross_kg=1050.0),), level="stop", about=("whole car", "four up"),
        value=1057.3, limit=1050.0, unit="kg", near=0.5, basis="published", caution="Axle limits",
    ),
    Case(
        rule="mass.small-reserve", do=(more("load_states", LoadState(state="sand", name="sand", mass_kg=296, x_mm=1300, y_mm=0, z_mm=500)),),
        level="note", about=("whole car", "sand"), value=1060 - 757.3 - 296, limit=10.6, unit="kg", near=0.5,
        basis="common practice", caution="Axle limits",
    ),
    Case(rule="mass.height-unknown", do=(car(raised=None),), level="fix", about=("car",), basis="common practice", caution="can fall"),
    Case(
        rule="mass.nothing-left", do=(car(front_axle_kg=600.0), row("removed", "X01", mass_kg=400.0)), level="stop", about=("removed",),
        value=BARE_REAR_KG, limit=0.0, unit="kg", near=0.5, basis="common practice", also=("handling.ride-height", "handling.tips-sooner"),
    ),
    # The load of the raised axle itself typed in: 694 - 262 = 432 kg would have stood on the other one.
    Case(
        rule="mass.height-unbelievable", do=(car(raised=RaisedWeighing(axle="rear", height_mm=560.0, other_axle_kg=432.0)),), level="stop",
        about=("car",), value=268 + 2110 * (432 - 239) / (694 * 0.27527), limit=0.6 * 1380, unit="mm", near=0.5, basis="common practice",
        caution="Axle limits",
    ),
    # 200 mm: 5.4 degrees. The load is the one that the height of 522 mm would give.
    Case(
        rule="mass.raised-too-little", do=(car(raised=RaisedWeighing(axle="rear", height_mm=200.0, other_axle_kg=247.0)),), level="fix",
        about=("car",), value=200, limit=250, unit="mm", basis="published", caution="can fall",
    ),
    # The 12 V battery left the nose with the wrong sign of y: 1,330 mm out at 745 mm half a car.
    Case(
        rule="mass.outside-car", do=(row("removed", "X17", y_mm=1330.0),), level="fix", about=("X17",), value=1330 - 745, limit=0, unit="mm",
        basis="common practice",
    ),
    # README: the rear axle goes from 455.0 to 424.4 kg; here on springs of 5 N/mm a wheel.
    Case(
        rule="handling.ride-height", do=(car(wheel_rate_rear_n_per_mm=5.0),), level="fix", about=("rear axle",),
        value=(455.0 - 424.4) * 9.80665 / 2 / 5, limit=15, unit="mm", near=0.5, basis="common practice", caution="Springs under load",
    ),
    Case(
        rule="handling.wheel-rate-unknown", do=(car(wheel_rate_rear_n_per_mm=None),), level="note", about=("rear axle",), basis="common practice",
    ),
    # README: nothing to either side in the finished car, 757.3 kg.
    Case(
        rule="handling.one-sided", do=(row("removed", "X01", y_mm=-250.0),), level="fix", about=("finished",),
        value=100 * MORE_RIGHT_KG / 757.3, limit=4, unit="%", near=0.15, basis="common practice", caution="four scales",
    ),
    # README: 514 mm high; with the engine said to have lain on the ground all that is left stands higher.
    Case(
        rule="handling.tips-sooner", do=(row("removed", "X01", z_mm=0.0),), level="fix", about=("finished",),
        value=MEAN_TRACK_MM / (2 * (514 + 88 * 435 / 757.3)), limit=MEAN_TRACK_MM / (2 * EMPTY_HEIGHT_MM), near=0.002,
        basis="common practice", caution="qualified people",
    ),
    # The engine said to have lain 200 mm ahead of the front axle; 147.5 kg go forwards in the finished car, 137.3 in the donor.
    Case(
        rule="handling.brake-share", do=(row("removed", "X01", x_mm=-200.0),), level="note", about=("front brakes",),
        value=100 * (239.0 + 137.3) / 694 - 100 * (332.9 - 88 * 2678 / 2110 + 147.5) / 757.3, limit=5, unit="points", near=0.1,
        basis="common practice", caution="Brakes", also=("handling.ride-height", "mass.axle-limit"),
    ),
    Case(
        rule="mounts.none", do=(box("B1", mounts=()),), level="fix", about=("B1",), value=0, limit=3, unit="feet", basis="common practice",
        caution="qualified engineer",
    ),
    # Feet 1 and 3 moved onto the place of foot 2: four feet on one line.
    Case(
        rule="mounts.too-few", do=(foot("B1", "B1-1", "B1-3", x_mm=238.0, y_mm=-425.0),), level="fix", about=("B1",), value=4, limit=3,
        unit="feet", basis="common practice", caution="qualified engineer",
    ),
    # Its centre is at x 30.
    Case(
        rule="mounts.beside-feet", do=(foot("B1", "B1-1", "B1-3", x_mm=60.0),), level="fix", about=("B1",), basis="common practice",
        caution="qualified engineer",
    ),
    Case(
        rule="mounts.over-proof", do=(foot("B1", "B1-4", bolt="M5 4.6"),), level="fix", about=("B1", "B1-4"), value=B1_PULL_KN, limit=3.2,
        near=0.03, unit="kN", basis="published", caution="qualified engineer",
    ),
    Case(
        rule="mounts.bolt-unknown", do=(foot("B1", "B1-4", bolt="M8x25"),), level="note", about=("B1", "B1-4"), basis="common practice",
        caution="qualified engineer",
    ),
    Case(
        rule="mounts.no-case", do=(lambda conversion: changed(conversion, mount_cases=()),), level="note", about=("B1", "B2", "B3"),
        basis="common practice", caution="qualified engineer",
    ),
    # B1 of the first idea stood 40 mm through the lid: top at 625 in a space that ends at 585.
    Case(
        rule="boxes.outside-space", do=(box("B1", z_max_mm=625.0),), level="stop", about=("B1", "SP1"), value=625, limit=585, unit="mm",
        basis="common practice", caution="crushed", also=("pack.joint-out-of-reach",),  # 275 mm down, and the longest extension is 250.
    ),
    Case(
        rule="boxes.outside-space", do=(box("B2", x_min_mm=-230.0),), level="stop", about=("B2", "SP2"), value=2, limit=0, unit="corners",
        basis="common practice", caution="crushed",
    ),
    # M04 ends at x -197; the inside of the box begins 2 mm behind its front face.
    Case(
        rule="boxes.contents-outside", do=(box("B1", x_min_mm=-196.0),), level="stop", about=("M04", "B1"), value=3, limit=0, unit="mm",
        basis="common practice", caution="crushed",
    ),
    # M01 from 147 to 255 moved forwards by 10 mm, into plate PL1 (139 to 147).
    Case(
        rule="boxes.contents-overlap", do=(module("B1", "M01", x_min_mm=139.0, x_max_mm=247.0),), level="stop", about=("M01", "PL1", "B1"),
        value=8, limit=0, unit="mm", basis="common practice", caution="crushed",
    ),
    Case(
        rule="boxes.device-elsewhere", do=(row("devices", "B1", x_mm=300.0),), level="fix", about=("B1",), value=37, limit=0, unit="mm",
        basis="common practice",
    ),
    # The 12 V box, by its tables: FRB is 110 high under a lid at 130; FL stands 5 mm beside FRB; VCU begins 15 mm behind FRB.
    Case(
        rule="enclosure.outside", do=(item("FRB", up_mm=25.0),), level="stop", about=("FRB", "ENC"), value=5, limit=0, unit="mm",
        basis="common practice",
    ),
    Case(
        rule="enclosure.overlap", do=(item("FL", across_mm=370.0),), level="stop", about=("FRB", "FL", "ENC"), value=-10, limit=2, unit="mm",
        basis="common practice",
    ),
    Case(
        rule="enclosure.far-from-wall", do=(item("FRB", deep_mm=15.0),), level="fix", about=("FRB", "ENC"), value=15, limit=10, unit="mm",
        basis="common practice",
    ),
    Case(
        rule="enclosure.face-blocked", do=(item("CC", across_mm=50.0, wall_within_mm=None), item("XR", up_mm=5.0)), level="fix",
        about=("CC", "XR", "ENC"), value=32, limit=0, unit="mm", basis="common practice",
    ),
    Case(
        rule="enclosure.plug-room", do=(item("FRB", plugs_look="rear", plug_room_mm=18.0),), level="fix", about=("FRB", "VCU", "ENC"),
        value=3, limit=0, unit="mm", basis="common practice",
    ),
    Case(
        rule="enclosure.nothing-above", do=(item("VCU", others_above=False),), level="fix", about=("VCU", "BMM", "ENC"), value=38, limit=0,
        unit="mm", basis="common practice",
    ),
    Case(
        rule="enclosure.not-placed", do=(item("GB", across_mm=None),), level="note", about=("GB", "ENC"), value=1, limit=0, unit="devices",
        basis="common practice",
    ),
    Case(
        rule="boxes.string-order", do=(module("B1", "M01", order_in_string=2),), level="fix", about=("M01", "M02"), value=2, limit=0,
        unit="numbers", basis="common practice", caution="crushed",
    ),
    # The skin of a scan 100 mm behind the front face of B1, which is 468 mm long: what stands ahead of it is outside,
    # told by cells of a fortieth of the box.
    Case(
        rule="boxes.outside-space", level="stop", about=("B1", "SP1"), unit="l", basis="common practice", caution="crushed",
        do=(more("meshes", block_mesh("ME1", (B1_X + 100, -600, 200), (400, 0, 700))), row("spaces", "SP1", polygon_mm=None, mesh="ME1")),
        value=B1_FIRST_100_MM_L, limit=0, near=0.06 * B1_FIRST_100_MM_L,
    ),
    Case(
        rule="boxes.in-keep-out", level="stop", about=("B1", "KO9"), unit="mm", basis="common practice", caution="crushed", value=12, limit=0,
        do=(more("keep_outs", KeepOut(
            ref="KO9", name="lid strut", x_min_mm=B1_X - 50, y_min_mm=-460, z_min_mm=200, x_max_mm=B1_X + 12, y_max_mm=-20, z_max_mm=700
        )),),
    ),
    # A module of 355 x 151 x 108 mm that must lie flat, below a lid 100 mm above the floor.
    Case(
        rule="spaces.too-small", do=(row("spaces", "SP3", for_batteries=True, top_z_mm=390.0),), level="fix", about=("SP3",),
        value=8, limit=0, unit="mm", basis="common practice",
    ),
    # The drive shafts end at z 300; the space above the motor begins at 485.
    Case(
        rule="spaces.keep-out-elsewhere", do=(row("keep_outs", "KO3", z_max_mm=300.0),), level="fix", about=("KO3", "SP4"), value=185, limit=100,
        unit="mm", basis="common practice",
    ),
    # A scan in axes of its own, with its origin in a corner of the room; the car is 1,490 mm wide, so its right edge is at 745.
    Case(
        rule="spaces.outside-car", level="fix", about=("SP5",), unit="mm", basis="common practice", value=1000 - 745, limit=0,
        do=(more("meshes", block_mesh("ME1", (0, 0, 0), (500, 1000, 300))), row("spaces", "SP5", polygon_mm=None, mesh="ME1")),
    ),
    Case(
        rule="spaces.mesh-repaired", do=(more("meshes", block_mesh("ME1").model_copy(update={"repaired": "was inside out and has been turned"})),),
        level="note", about=("ME1",), basis="common practice",
    ),
    Case(
        rule="looms.twist-of-one", do=(row("wires", "W116", twist_group=None),), level="fix", about=("TC1", "W117"), value=1, limit=2,
        unit="wires", basis="common practice",
    ),
    Case(
        rule="wires.no-battery-ground", do=(without("wires", "W402"),),
        level="stop", about=("BAT.N.1",), basis="common practice", also=("wires.section-beyond-table",),
    ),
    # The clock forgotten in loads.csv: its wires are thick enough, but nobody has looked.
    Case(
        rule="wires.load-not-listed", do=(without("loads", "OL.clock"), without("case_loads", ("parked", "OL.clock"))), level="fix", about=("OL.clock",), value=1, limit=0, unit="loads",
        basis="common practice",
    ),
    # The clock runs while the car is parked, and in no other case.
    Case(
        rule="wires.load-in-no-case", do=(without("case_loads", ("parked", "OL.clock")),), level="note",
        about=("OL.main beam", "OL.horn", "OL.clock", "OL.reversing lamps", "SVC.tool", "INL.lock motor", "HVDB.pre-charge coil"), value=7, limit=0,
        unit="loads", basis="common practice", also=("low_voltage.drain-unlisted",),
    ),
    # CAN H of the heater plugged into the controller's CAN L.
    Case(
        rule="wires.roles-joined", do=(row("wires", "W116", from_pin="VCU.A.17"), row("wires", "W117", from_pin="VCU.A.16")), level="stop",
        about=("HTR.A.3", "VCU.A.17"), count=2, basis="common practice",
    ),
    Case(rule="looms.no-tail", do=(without("tails", ("VS", "A")),), level="stop", about=("VS.A", "W111", "W155"), basis="common practice"),
    # U78 is then no longer among the runs whose thin cable is held every 230 mm.
    Case(
        rule="looms.no-path", do=(row("runs", "U78", may_carry=("hose",)),), level="stop", about=("C14", "U78"), basis="common practice",
        caution="High voltage", also=("looms.clip-pitch",),
    ),
    Case(
        rule="looms.loop", do=(row("wires", "W111", via=("R15",)),), level="stop",
        about=("FR", "U19", "U18", "U17", "U16", "U09", "U10", "U11", "U12", "U13", "U14"), basis="common practice",
    ),
    Case(
        rule="looms.in-pieces", do=(row("wires", "W308", loom="SF"),), level="fix", about=("SF",), value=2, limit=1, unit="pieces",
        basis="common practice",
    ),
    Case(
        rule="looms.splice-beyond-run", do=(row("splices", "S1", at_mm=500.0),), level="stop", about=("S1", "U23"),
        value=500, limit=U23_MM, unit="mm", basis="common practice",
    ),
    Case(
        rule="looms.splice-in-other-loom", do=(row("splices", "S1", loom="BX"),), level="stop",
        about=("S1", "W128", "W131", "W132", "W133", "W134"), basis="common practice",
    ),
    Case(
        rule="looms.splice-of-one",
        do=(more("splices", Splice(ref="S9", meaning="none", loom="FR", run="U22", from_point="R20", at_mm=50, terminal="SPL")),),
        level="fix", about=("S9",), value=0, limit=2, unit="wires", basis="common practice",
    ),
    Case(
        rule="looms.taped-too-short", do=(row("runs", "U77", length_taped_mm=100.0),), level="fix", about=("U77",),
        value=100, limit=U77_MM - 5, unit="mm", basis="common practice", also=("looms.clip-pitch",),
    ),
    # Cable C10, two cores of 4 mm2, is 12.2 mm thick.
    Case(
        rule="looms.grommet-bore", do=(row("grommets", "G4", bore_mm=8.0),), level="stop", about=("G4",), value=12.2, limit=8, unit="mm",
        basis="common practice",
    ),
    Case(
        rule="looms.grommet-fill", do=(row("grommets", "G1", bore_mm=8.0),), level="fix", about=("G1", "R07"),
        value=100 * (BULKHEAD_MM / 8) ** 2, limit=70, unit="% of area", basis="published",
    ),
    Case(
        rule="looms.tested-live", do=(row("looms", "PW", tested_with=("BAT",)),), level="stop", about=("PW", "BAT"), basis="common practice",
    ),
    Case(
        rule="looms.tube-fill", do=(row("runs", "U07", covering="T07"),), level="fix", about=("U07", "T07"),
        value=100 * (BULKHEAD_MM / 6.8) ** 2, limit=70, unit="% of area", basis="published",
    ),
    # On one side of S1 lie three wires of 0.75 mm2 (outside 1.9 mm): 1 + 2 / sqrt 3 times as thick as one of them.
    Case(
        rule="looms.heat-shrink-too-small", do=(row("coverings", "HS9", bore_mm=4.0),), level="fix", about=("S1", "HS9"),
        value=1.9 * (1 + 2 / math.sqrt(3)), limit=4, unit="mm", basis="published",
    ),
    # Seven runs of the motor bay (70 C) lie in T22.
    Case(
        rule="looms.covering-too-cool", do=(row("coverings", "T22", temperature_max_c=60.0),), level="fix", about=("U35", "T22"), count=7,
        value=70, limit=60, unit="°C", basis="common practice",
    ),
    Case(
        rule="looms.crowded-point", do=tuple(row("tails", (device, "B"), tail_mm=5.0) for device in ("XR", "BMM", "CC")), level="fix",
        about=("RR", "R32", "BMM.B", "CC.B", "VCU.B", "XR.B"), value=AT_R32_DEG, limit=360, unit="degrees", basis="common practice",
    ),
    # Between R21 and R22 (145.1 mm) S1 stood 60 mm from R21; at R21 five connectors and two runs meet.
    Case(
        rule="looms.splice-near", do=(row("splices", "S1", at_mm=20.0),), level="fix", about=("S1", "R21"), value=20, limit=40, unit="mm",
        basis="published",
    ),
    Case(
        rule="looms.splice-near", do=(row("splices", "S3", at_mm=80.0),), level="fix", about=("S2", "S3"), value=38, limit=40, unit="mm",
        basis="published",
    ),
    # S2 lies at 42 mm, and W212 from it passes S3.
    Case(
        rule="looms.splice-near", do=(row("splices", "S3", at_mm=90.0),), level="note", about=("S2", "S3"), value=48, limit=51, unit="mm",
        basis="published",
    ),
    # Towards R22 leave W131, W133 and W134 of 0.75 mm2 each; towards R21 W128 of 1 and W132 of 0.5.
    Case(
        rule="looms.splice-too-big", do=(row("terminals", "SPL", section_max_mm2=2.0),), level="stop", about=("S1", "W131", "W133", "W134"),
        value=2.25, limit=2, unit="mm²", basis="common practice",
    ),
    # R62 and R17 are 110.4 mm apart: with 111 asked, U62 joins U61, and U18, which begins at R17, joins too.
    Case(
        rule="looms.hv-near", do=(shop(hv_gap_min_mm=111.0),), level="fix", about=("U17", "U61", "U16", "U62", "U18"), value=91, limit=111,
        unit="mm", near=0.5, basis="common practice", caution="High voltage",
    ),
    # The a.c. cable led from the charge inlet along the inlet's own wires; U41 of the same loom goes on from there.
    Case(
        rule="looms.shared-with-hv",
        do=(
            row("runs", "U42", may_carry=("LV", "sense", "HV"), covering="DUCT"), row("tails", ("INL", "X"), point="R42"), row("tails", ("CHG", "X"), point="R41"),
        ),
        level="fix", about=("U42", "C14", "RR"), basis="published", caution="High voltage", also=("looms.hv-near", "looms.clip-pitch"),
    ),
    Case(
        rule="looms.too-near", do=(more("nearby", Nearby(ref="NB9", run="U08", kind="brake line", name="pipe to the left front wheel", gap_mm=24.0)),),
        level="fix", about=("NB9", "U08"), value=24, limit=25, unit="mm", basis="published",
    ),
    # 50 mm beside high voltage, 25 beside 12 V.
    Case(
        rule="looms.too-near", do=(row("nearby", "NB3", gap_mm=49.0),), level="fix", about=("NB3", "U72"), value=49, limit=50, unit="mm",
        basis="published", caution="High voltage",
    ),
    Case(
        rule="looms.too-near", do=(more("nearby", Nearby(ref="NB9", run="U08", kind="fuel line", name="petrol pipe", gap_mm=300.0)),),
        level="fix", about=("NB9", "U08"), value=300, unit="mm", basis="published",
    ),
    Case(
        rule="looms.tight-bend", do=(row("cable_types", "HV35", bend_radius_min_mm=115.0),), level="fix", about=("C3", "R68", "U67", "U68"),
        value=C3_RADIUS_MM, limit=115, unit="mm", basis="common practice", caution="High voltage",
    ),
    # Behind the left headlamp: 285 mm, now 320.
    Case(
        rule="looms.clip-pitch", do=(row("runs", "U12", length_taped_mm=320.0),), level="fix", about=("U12",), value=320, limit=300, unit="mm",
        basis="published",
    ),
    Case(
        rule="looms.long-tail", do=(row("tails", ("VS", "A"), tail_mm=150.0),), level="note", about=("VS.A",), value=150, limit=120, unit="mm",
        basis="published",
    ),
    Case(rule="looms.no-grommet", do=(without("grommets", "G1"),), level="fix", about=("R07",), basis="common practice"),
    # With no slack at all, and rounding up to 5 mm, no wire has 10 mm to spare: six looms, six notes.
    Case(
        rule="looms.at-risk", do=(shop(slack_each_end_mm=0.0),), level="note", about=("SF", "W501", "W502", "W503", "W504"), count=6,
        value=SF_SHORT_MM, limit=0, unit="mm to spare", near=1e-3, basis="common practice",
    ),
    # The mains cable of each kit is 530 mm long; of a length of 500 mm 10 are left over at least.
    Case(
        rule="looms.longer-than-stock", do=(row("stock", "NEW98", length_mm=500.0),), level="fix", about=("AC3x6", "C14"), value=530,
        limit=490, unit="mm", basis="common practice", caution="High voltage",
    ),
    Case(rule="wires.no-supply", do=(supply(battery=None),), level="fix", about=("supply",), basis="common practice"),
    Case(
        rule="wires.load-unfed", do=(inside("AT-FRB", "F2"),), level="fix", about=("FAN.motor", "FAN.A.1"), basis="common practice",
    ),
    Case(rule="wires.no-ground", do=(without("ground_points", "GP2"),), level="fix", about=("VP.motor", "VP.A.2"), basis="common practice"),
    # The old loom's earth carries in the night what W130 does, less the rev counter, which has no earth, and two gauges,
    # whose earth is another; and dipped beam 9.2 and side lamps 2.9. 1.5 mm2 is sold for 21 A.
    Case(
        rule="wires.section-too-small", do=(row("wires", "W160", section_mm2=1.5),), level="stop", about=("W160",),
        value=OLD_LOOM_A - 0.08 - 0.12 - 0.11 + 9.2 + 2.9, limit=21, unit="A", basis="published", caution="can burn a car",
        also=("wires.fuse-too-big",),
    ),
    Case(
        rule="wires.voltage-drop", do=(row("wires", "W126", section_mm2=1.5),), level="fix", about=("VP.motor", "W207", "W126", "W154"),
        value=PUMP_DROP_PERCENT, limit=3, unit="% of supply", basis="common practice",
    ),
    Case(
        rule="wires.unfused", do=(inside("AT-BAT20", "FL1", kind="link"),), level="stop", about=("W401",), count=2,
        basis="common practice", caution="can burn a car",
    ),
    # 30 A: more than 1 mm2 is sold for (16.5 A), and the maker's pair for 30 A is 5 mm2: of the sizes sold, 6.
    Case(
        rule="wires.fuse-too-big", do=(inside("AT-FRB", "F12", rating_a=30.0),), level="stop", about=("W216", "FRB.F12"), count=3,
        value=1, limit=6, unit="mm²", basis="published", caution="can burn a car",
    ),
    Case(
        rule="wires.fuse-unrated", do=(inside("AT-FRB", "F12", rating_a=None),), level="stop", about=("FRB.F12", "W216", "W314", "W329"),
        basis="common practice", caution="can burn a car",
    ),
    # The table of currents ends at 6 mm2.
    Case(
        rule="wires.section-beyond-table", do=(without("wires", "W402"),), level="note", about=("W401", "W403", "W404", "W405", "W406"), value=5,
        limit=0, unit="wires", basis="published", also=("wires.no-battery-ground",),
    ),
    # The maker's pairs end at 200 A; of a bigger fuse it must at least be said that nobody judged it.
    Case(
        rule="wires.fuse-beyond-table", do=(inside("AT-BAT20", "FL1", rating_a=250.0),), level="fix", about=("W401", "BAT.FL1"), count=2,
        value=250, limit=200, unit="A", basis="published", caution="can burn a car",
    ),
    Case(
        rule="wires.fuse-too-small", do=(fan_draws(16.2),), level="fix", about=("FRB.F2", "FAN.motor"), value=16.2, limit=16, unit="A",
        basis="common practice",
    ),
    Case(
        rule="wires.pin-used-twice", do=(row("wires", "W101", from_pin="VCU.A.2"),), level="stop", about=("VCU.A.2", "W101", "W102"),
        value=2, limit=1, unit="wires", basis="common practice",
    ),
    Case(
        rule="wires.terminal-section", do=(row("wires", "W224", section_mm2=2.5),), level="stop", about=("W224", "CC.A.1"),
        value=2.5, limit=1, unit="mm²", basis="common practice",
    ),
    Case(
        rule="wires.terminal-current", do=(row("terminals", "T63S", current_max_a=18.0),), level="stop", about=("W130", "XF.B.11"),
        value=OLD_LOOM_A, limit=18, unit="A", basis="common practice", caution="can burn a car",
    ),
    Case(
        rule="wires.no-seal", do=(without("seals", "Q63b"),), level="fix", about=("W129", "XF.B.10"), count=2, value=3.7, unit="mm",
        basis="published",
    ),
    Case(
        rule="wires.open-cavity", do=(without("wires", "W155"),), level="note",
        about=(
            "B1.A", "B2.A", "B3.A", "BMM.B", "BMM.C", "CC.B", "CHG.A", "DCDC.A", "HVDB.A", "INL.A", "INV.A", "VCU.A", "VCU.B", "VS.A", "XF.B", "XR.B",
        ),
        value=39, limit=0, unit="ways", basis="published",
    ),
    Case(
        rule="wires.no-blanking-plug", do=(without("seals", "K63"),), level="fix", about=("T63S", "XF.B"), basis="published",
    ),
    Case(
        rule="wires.ground-point-full", do=(row("ground_points", "GP1", rings_max=2),), level="fix", about=("GP1", "W152", "W153", "W155"),
        value=3, limit=2, unit="rings", basis="published",
    ),
    Case(
        rule="wires.orange", do=(row("wires", "W101", colour="BK-OG"),), level="fix", about=("W101",), basis="published", caution="High voltage",
    ),
    Case(rule="wires.green-and-yellow", do=(row("wires", "W101", colour="GN-YE"),), level="note", about=("W101",), basis="published"),
    Case(
        rule="wires.drain-seal", do=(row("wires", "W507", screen_joined_to="BMM.C.8"), row("wires", "W508", screen_joined_to="BMM.C.8")),
        level="note", about=("BMM.C.8", "SC4"), basis="published", also=("wires.open-cavity",),
    ),
    Case(
        rule="wires.resistance-off-table", do=(row("wire_types", 0.35, resistance_mohm_per_m=40.0),), level="note", about=("0.35 mm2",),
        value=40, limit=54.4, unit="mohm/m", basis="published",
    ),
    Case(
        rule="wires.resistance-off-table", do=(row("wire_types", 0.35, resistance_mohm_per_m=60.0),), level="note", about=("0.35 mm2",),
        value=60, limit=54.4, unit="mohm/m", basis="published",
    ),
    Case(
        rule="wires.old-wire-unanswered", do=(row("old_wires", "OW01", answer=""),), level="fix", about=("OW01", "OL.A.9"),
        basis="common practice",
    ),
    # Sense board SB2 put ahead of box B2, whose rear wall is at x 263.
    Case(
        rule="sensing.no-board", do=(row("devices", "SB2", x_mm=400.0),), level="fix", about=("B2",), value=0, limit=1, unit="boards",
        basis="common practice", caution="High voltage",
    ),
    Case(
        rule="sensing.few-plugs", do=(plugs_of_board("A", "J1", "J2", "J3"),), level="fix", about=("B3", "M12", "M13"), value=3, limit=5, unit="plugs",
        count=3, basis="common practice", caution="High voltage",
    ),
    # Eight taps where the module has nine; the board is the same in all three boxes.
    Case(
        rule="sensing.plug-differs", do=(taps_of_plug("J1", 8),), level="fix", about=("M01", "SB1.J1"), value=8, limit=9, unit="ways", count=3,
        basis="common practice", caution="High voltage",
    ),
    # The bars of M01 are on nothing that is there any more.
    Case(
        rule="sensing.mark-taken", do=(renamed("B1", "M01", "BMM"),), level="fix", about=("BMM", "B1"), basis="common practice",
        also=("pack.join-missing",),
    ),
    Case(rule="sensing.no-plug-place", do=(module("B2", "M06", plus_end=None),), level="fix", about=("M06",), basis="common practice", also=("pack.joint-covered",)),
    # 13 wires from each of four modules and four of the chain, 1.4 mm each; modules end at 425, and the lid's inside is at 435.
    Case(
        rule="sensing.no-room", do=(box("B1", z_max_mm=437), row("devices", "SB1", z_mm=420.0)), level="fix", about=("B1", "IB1"),
        value=1.1 * least_circle([1.4] * 56).diameter_mm, limit=10, unit="mm", basis="common practice", caution="High voltage",
    ),
    # One cell of the module not described: nothing leads from its minus to the taps above. There are thirteen of them.
    Case(
        rule="sensing.no-volts", do=(inside("AT-MOD8", "cell3"),), level="fix", about=("M01",), count=13, basis="common practice", caution="High voltage",
    ),
]  # fmt: skip

# Raised by boards, which are laid by a search; every other rule is asked without them.
MOVED_ON_SR = ("SR", *map(str, range(15, 25)), "1", "2", "3", "4", "7", "BMM.C")
BOARD_CASES = [
    Case(
        rule="looms.board-too-small", do=(row("looms", "SF", board_width_mm=500.0, board_height_mm=250.0),), level="fix", about=("SF",),
        limit=1, unit="sheets", basis="common practice",
    ),
    # Two stretches leave one breakout the same way.
    Case(
        rule="looms.hand-cannot-be-kept", do=(turned("SR", "R36", "R37", 180.0), turned("SR", "R36", "R35", 180.0)),
        level="fix", about=("SR", "R36 to R37"), basis="common practice",
    ),
    # Kept as it is laid, then U36 in the middle of the trunk 493 mm longer: the thinner side moves.
    Case(
        rule="looms.pegs-moved", do=(kept("SR"), row("runs", "U36", length_taped_mm=700.0, clips_between=5)), level="note", about=MOVED_ON_SR,
        value=10, limit=0, unit="pegs to drill", basis="common practice",
    ),
    # With 4 m there the trunk has to be folded, and nothing of the drilled board can stay.
    Case(
        rule="looms.board-anew", do=(kept("SR"), row("runs", "U36", length_taped_mm=4000.0, clips_between=20)), level="fix", about=("SR",), basis="common practice",
        beside=("wires.voltage-drop",),
    ),
    # Both ends of a run of 5 mm in a bundle of 9.3 mm are one place, and what leaves it there lies on each other on any sheet.
    Case(
        rule="looms.run-too-short", do=(row("runs", "U57", length_taped_mm=5.0),), level="fix", about=("BX", "R57", "R55"), value=5, limit=9.338,
        near=1e-3, unit="mm", basis="common practice", also=("looms.board-not-laid",), beside=("looms.taped-too-short", "looms.tight-bend"),
    ),
    Case(
        rule="looms.board-not-laid", do=(row("runs", "U57", length_taped_mm=5.0),), level="stop", about=("BX",), basis="common practice",
        also=("looms.run-too-short",), beside=("looms.taped-too-short", "looms.tight-bend"),
    ),
]  # fmt: skip

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

# The battery's 12.8 V less 57 A (41 A and the start of the lamps) through 16 mohm of cells, strip fuse and cable, less 0.1 V to the controller.
LIMP_START_V = 12.8 - 57 * 0.016 - 0.1
# Limp: 41 A and 3 A more through the same; 3.6 ohm of coil behind 0.2 ohm of copper (README: 3.8 A cost 0.77 V) and 0.1 ohm of contacts and drive.
COIL_V = (12.8 - 44 * 0.016 - 0.35 * 0.3) * 3.6 / (3.6 + 0.3)
LOW_VOLTAGE_CASES = [
    # 15.2 W through 4 ohm want more than 13.8 V squared by four times 4 ohm, 11.9 W, in every case but the parked one.
    Case(
        rule="low_voltage.collapse", do=(inside("AT-FRB", "F7", resistance_ohm=4.0),), level="stop", about=("key on", "VCU.logic", "FRB.F7"),
        basis="common practice", count=7,
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

ALL_CASES = [*CASES, *PACK_CASES, *CABLE_CASES, *LOW_VOLTAGE_CASES]

# Raised by cutting plans, which are searched for too. Two of the four pieces of 530 mm come out of 1.1 m.
STOCK_CASE = Case(
    rule="looms.stock-short", do=(row("stock", "NEW98", length_mm=1100.0, pieces=1),), level="fix", about=("AC3x6",), value=1, limit=0,
    unit="lengths", basis="common practice", caution="High voltage",
)  # fmt: skip


@cache
def demo() -> Conversion:
    return read_folder(REPO / "examples" / "tern")


@cache
def demo_study() -> Study:
    return Study(demo())


def after(case: Case) -> Study:
    conversion = demo()
    for change in case.do:
        conversion = change(conversion)
    return Study(conversion)


def new_in(found: tuple[Finding, ...], before: tuple[Finding, ...]) -> list[Finding]:
    known = {(item.rule, item.about) for item in before}
    return [item for item in found if (item.rule, item.about) not in known]


def held_against(case: Case, new: list[Finding]) -> Finding:
    """The case's finding, after everything about it has been looked at."""
    assert {item.rule for item in new} == {case.rule, *case.also}
    assert sum(item.rule == case.rule for item in new) == case.count
    (finding,) = [item for item in new if item.about == case.about]
    assert finding.level == case.level
    assert finding.unit == case.unit
    assert finding.basis.kind == case.basis
    assert str(finding.basis).startswith(case.basis)
    assert case.caution in finding.caution
    assert bool(finding.caution) == bool(case.caution)
    assert finding.text.endswith(".")
    assert not re.search(r"\bnan\b|\binf\b|\bNone\b|[\[({]'", finding.text)
    return finding


@pytest.mark.parametrize("case", ALL_CASES, ids=str)
def test_a_small_change_raises_just_this_rule(case):
    finding = held_against(case, new_in(after(case).design_findings, demo_study().design_findings))
    assert finding.value == (None if case.value is None else pytest.approx(case.value, abs=case.near))
    assert finding.limit == (None if case.limit is None else pytest.approx(case.limit, abs=1e-6))


@pytest.mark.parametrize("case", BOARD_CASES, ids=str)
def test_a_small_change_raises_just_this_rule_of_boards(case):
    study, loom = after(case), case.about[0]
    board = lay_board(study.conversion, study.routing.loom(loom), study.splice_places)
    finding = held_against(case, new_in(tuple(board_findings({loom: board})), demo_study().findings))
    if case.value is None and case.limit is not None:
        assert finding.value > finding.limit
    else:
        assert finding.value == (None if case.value is None else pytest.approx(case.value, abs=case.near))
        assert finding.limit == (None if case.limit is None else pytest.approx(case.limit, abs=case.near))
    assert {item.rule for item in new_in(study.design_findings, demo_study().design_findings)} == set(case.beside)


def test_stock_that_does_not_do_raises_just_that():
    study = after(STOCK_CASE)
    finding = held_against(STOCK_CASE, new_in(tuple(stock_short(study.batch)), demo_study().findings))
    assert (finding.value, finding.limit) == (1, 0)
    assert "one more length of 1.1 m would" in finding.text
    assert new_in(study.design_findings, demo_study().design_findings) == []


# The demo's own faults are left in on purpose; its README, "Expected findings" 1 to 4, and its notes.
IN_THE_DEMO = {
    "wires.voltage-drop", "looms.grommet-fill", "wires.no-ground", "wires.old-wire-unanswered", "mass.small-reserve", "wires.open-cavity", "handling.ride-height", "handling.brake-share",
    "wires.load-in-no-case", "wires.section-beyond-table", "looms.hv-near", "looms.clip-pitch", "looms.no-grommet", "wires.drain-seal",
    "pack.box-order", "pack.disconnect-uneven", "pack.joint-covered", "low_voltage.return-lost", "low_voltage.drain-unlisted",
}  # fmt: skip


@pytest.mark.parametrize("rule", sorted({case.rule for case in [*ALL_CASES, *BOARD_CASES, STOCK_CASE]} - IN_THE_DEMO))
def test_the_demo_as_it_is_does_not_raise_it(rule):
    assert [item for item in demo_study().findings if item.rule == rule] == []


OF_THE_DESIGN = ("mass.", "handling.", "mounts.", "boxes.", "spaces.", "enclosure.", "sensing.", "looms.", "wires.", "pack.", "cable.")
OF_THE_DESIGN = (
    "mass.",
    "handling.",
    "mounts.",
    "boxes.",
    "spaces.",
    "enclosure.",
    "sensing.",
    "looms.",
    "wires.",
    "pack.",
    "low_voltage.",
)


def test_what_the_demo_raises_is_known():
    ours = {item.rule for item in demo_study().findings if item.rule.startswith(OF_THE_DESIGN)}
    assert ours == IN_THE_DEMO


def test_every_finding_of_the_demo_has_a_basis_and_a_sentence():
    for item in demo_study().findings:
        assert item.basis.kind in ("published", "common practice", "from memory")
        assert item.basis.kind != "published" or item.basis.source
        assert item.text[0].isupper() or item.text[0].isdigit()
        assert item.text.endswith(".")


def rules_in(source: str) -> set[str]:
    """Names that look like a rule's in a module."""
    return {name for name in re.findall(r'"([a-z_]+\.[a-z]+(?:-[a-z]+)*)"', source) if not name.endswith((".csv", ".toml"))}


def test_every_rule_of_the_studies_has_a_case():
    """Also one that somebody adds tomorrow: this fails until it has one."""
    # What compares two conversions names fields, and raises nothing.
    sources = [path for path in sorted(STUDIES.rglob("*.py")) if path.parent.name != "changes"]
    found = set().union(*(rules_in(path.read_text(encoding="utf-8")) for path in sources))
    assert "mass.axle-limit" in found, "rules of a table are missed"
    cases = {case.rule for case in [*CASES, *PACK_CASES, *CABLE_CASES, *BOARD_CASES, STOCK_CASE]}
    cases = {case.rule for case in [*CASES, *PACK_CASES, *LOW_VOLTAGE_CASES, *BOARD_CASES, STOCK_CASE]}
    assert "wires.no-ground" in found, "rules of a tuple are missed"
    assert found == cases


def test_a_wire_to_a_point_that_no_run_reaches_says_so():
    conversion = row("tails", ("VS", "A"), point="R80")(demo())
    new = new_in(Study(conversion).design_findings, demo_study().design_findings)
    assert {item.rule for item in new} == {"looms.no-path", "looms.in-pieces"}
    without_way = [item for item in new if item.rule == "looms.no-path"]
    assert [item.about for item in without_way] == [("W111",), ("W155",)]
    assert "no run leads from R80 to R01" in without_way[0].text


def test_on_the_limit_is_not_over_it():
    """A fuse at 80.000 %, a stud with as many rings as it takes, a grommet and a plate just at their limits: nothing."""
    load_kg = max(stand.front_kg for stand in demo_study().mass.loaded)
    for change in (car(front_axle_kg=load_kg), row("ground_points", "GP1", rings_max=3)):
        assert new_in(Study(change(demo())).design_findings, demo_study().design_findings) == []
    assert [item for item in demo_study().findings if item.rule == "wires.fuse-too-small"] == []
