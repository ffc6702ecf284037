"""Cases of fuses against wires."""

from __future__ import annotations

import math

from halfshaft.model.electrics import FusePoint
from rule_cases.changes import (
    Case,
    inside,
    more,
    row,
)


def points(part: str, fuse: str, *pairs: tuple[float, float]):
    """A fuse with catalogue points of its own."""
    return more(
        "fuse_points", *(FusePoint(part=part, fuse=fuse, current_a=current_a, opens_after_s=seconds) for current_a, seconds in pairs)
    )


# PVC, class B: from 100 to 160 °C, IEC 60949.
PVC_K = 226 * math.sqrt(math.log((234.5 + 160) / (234.5 + 100)))
# A fault behind F12: 13.8 V through 14 milliohms of battery, strip fuse, 17.5 of F12, copper and body between them; and 80 A of converter.
BEHIND_F12_A = 492
PROTECTION_CASES = [
    # A fuse that never takes less than 3.9 s: 492 A for so long are a hundred times what 1 mm2 bears. It is slower than the strip fuse, too.
    Case(
        rule="protection.wire-short", do=(points("AT-FRB", "F12", (8, 60), (20, 4), (600, 3.9)),), level="stop", about=("W216", "FRB.F12"), count=3,
        value=BEHIND_F12_A**2 * 3.9, near=15_000, limit=PVC_K**2, unit="A²s", basis="published", caution="burn", also=("protection.not-selective",),
    ),
    # It need not open at 27 A, and may be 10 % off: at 30 A 1 mm² behind it, 150 °C with 24.8 A in air of 60 °C, gets by 90 K times (30 / 24.8)² warmer.
    Case(
        rule="protection.wire-overload", do=(points("AT-FRB", "F12", (27, 60), (60, 0.01)),), level="fix", about=("W216", "FRB.F12"), count=3,
        value=60 + 90 * (30 / 24.8) ** 2, near=3, limit=150, unit="°C", basis="from memory", caution="burn",
    ),
    # 15.5 A (12.8 V through 0.5 mm² there and back) less 10 %: between 10 and 6 s. On log-log paper 5 s lie between 16 A (6 s) and 18 A (0.5 s).
    Case(
        rule="protection.opens-late", do=(points("AT-FRB", "F8", (6, 100), (13, 10), (16, 6), (18, 0.5), (600, 0.0001)),), level="fix",
        about=("FRB.F8", "HVDB.pack monitor"), value=15.5, near=0.1, limit=16 * (18 / 16) ** (math.log(5 / 6) / math.log(0.5 / 6)) / 0.9, unit="A",
        basis="from memory", caution="burn",
    ),
    # 22 A are 1.47 times 15 A: at 1.6 times it may open after 0.25 s.
    Case(
        rule="protection.start-opens", do=(row("loads", "VP.motor", peak_s=0.4),), level="note", about=("FRB.F3", "VP.motor"), value=0.4, limit=0.25,
        unit="s", basis="from memory",
    ),
    # A cartridge of 14 A in air of 70 °C: the root of 60 in 105 is left, and four fifths of that.
    Case(
        rule="protection.hot-air", do=(inside("AT-HVDB", "heater fuse", rating_a=14.0),), level="note", about=("HVDB.heater fuse",), value=9.6,
        limit=0.8 * 14 * math.sqrt(60 / 105), unit="A", basis="published", caution="High voltage",
    ),
    # A battery of 6 milliohms in place of 14: 13.8 V through 11.4 in place of 19.4 milliohms, and 80 A.
    Case(
        rule="protection.breaking", do=(inside("AT-BAT20", "cells", resistance_ohm=0.006),), level="stop", about=("FRB.F2",), count=4,
        value=80 + 13.8 / (13.8 / (792.2 - 80) - 0.008), near=0.5, limit=1000, unit="A", basis="published", caution="burn",
    ),
    # What its own sheet says comes before the standard: 13.8 V through 15.4 milliohms, and 80 A.
    Case(
        rule="protection.breaking", do=(inside("AT-BAT20", "FL1", breaking_a=900.0),), level="stop", about=("BAT.FL1",), value=80 + 13.8 / 0.0154,
        near=5.0, limit=900, unit="A", basis="published", caution="burn",
    ),
    Case(
        rule="protection.blade-on-high-voltage", do=(inside("AT-FUSE200", "link", family="maxi blade"),), level="stop", about=("FH1.link",), count=2,
        basis="published", caution="High voltage",
    ),
    Case(
        rule="protection.fuse-unrated", do=(inside("AT-HVDB", "heater fuse", rating_a=0.0),), level="stop", about=("HVDB.heater fuse",),
        basis="common practice", caution="High voltage",
    ),
    # F14 made slow: 0.3 s at 60 A is 0.07 s at 126 A, which may be 140 A; from 3.5 times 40 A on F18 ahead may open after 0.04 s.
    Case(
        rule="protection.not-selective", do=(points("AT-FRB", "F14", (8, 60), (20, 1), (60, 0.3)),), level="note",
        about=("FRB.F18", "FRB.F13", "FRB.F14"), value=2, limit=0, unit="fuses", basis="from memory",
    ),
    Case(
        rule="protection.fuse-in-ground", do=(inside("AT-GBAR", "bar 5", kind="fuse", rating_a=5.0),), level="fix", about=("GB.bar 5", "FRB.K1 coil"),
        basis="common practice",
    ),
]  # fmt: skip
