"""Potential equalisation: how each case that a hand can reach is joined to the body, and through how many milliohms."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Device
from halfshaft.model.electrics import Bond
from halfshaft.standards import constants
from halfshaft.studies.hv_safety.live import live_devices

# A strap is bolted at both ends.
JOINTS = 2
REACH_MM = 2500.0
Arrival = Literal["body", "not bonded", "no end", "plastic"]


@dataclass(frozen=True, kw_only=True, slots=True)
class BondPath:
    """One unit's way to the body: its bonds in order, copper and joints in milliohm, and what the shop's meter may show at most.

    `ends`: `body`; `not bonded`: no bond at all; `no end`: its bonds lead round in a ring or to a unit that is not bonded;
    `plastic`: nothing to bond.
    """

    device: str
    ends: Arrival
    bonds: tuple[str, ...]
    copper_mohm: float
    joints_mohm: float
    reading_max_mohm: float

    @property
    def path_mohm(self) -> float:
        """The whole way, as computed."""
        return self.copper_mohm + self.joints_mohm


@dataclass(frozen=True, kw_only=True, slots=True)
class BondPair:
    """Two bonded cases that one person can touch at once, and the milliohms between them through the body."""

    one: str
    other: str
    apart_mm: float
    between_mohm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Bonding:
    """Every unit with high voltage inside, and the worst pair within reach of one person."""

    paths: tuple[BondPath, ...]
    worst_pair: BondPair | None

    @property
    def by_device(self) -> dict[str, BondPath]:
        """Ways by unit."""
        return {path.device: path for path in self.paths}


def strap_mohm(*, length_mm: float, section_mm2: float) -> float:
    """Copper of a strap at 20 C, milliohm."""
    return constants()["copper_resistivity_ohm_mm2_per_m"].value * length_mm / section_mm2


def study_bonding(conversion: Conversion) -> Bonding:
    """Of several bonds of one unit the one of least resistance counts: straps side by side only make it less.

    A bond ends at the body where it goes to a ground point or to a place in words; to a unit, it goes on from there.
    """
    paths = tuple(_path(conversion, device) for device in live_devices(conversion))
    return Bonding(paths=paths, worst_pair=_worst_pair(conversion, paths))


def _path(conversion: Conversion, device: str) -> BondPath:
    part = conversion.part[conversion.device[device].part]
    way = _way(conversion, device, frozenset())
    bonded = any(bond.device == device for bond in conversion.bonds)
    ends: Arrival = "body" if way is not None else "no end" if bonded else "plastic" if part.outside == "plastic" else "not bonded"
    bonds = way or ()
    return BondPath(
        device=device,
        ends=ends,
        bonds=tuple(bond.ref for bond in bonds),
        copper_mohm=math.fsum(strap_mohm(length_mm=bond.length_mm, section_mm2=bond.section_mm2) for bond in bonds),
        joints_mohm=JOINTS * len(bonds) * constants()["connection_allowance_mohm"].value,
        reading_max_mohm=math.fsum(bond.reading_max_mohm for bond in bonds),
    )


def _way(conversion: Conversion, device: str, passed: frozenset[str]) -> tuple[Bond, ...] | None:
    """Bonds from a unit's case to the body with the least resistance, or None."""
    ways: list[tuple[Bond, ...]] = []
    for bond in conversion.bonds:
        if bond.device != device or bond.to in passed or bond.to == device:
            continue
        if not _is_unit(conversion, bond.to):
            ways.append((bond,))
        elif (further := _way(conversion, bond.to, passed | {device})) is not None:
            ways.append((bond, *further))
    return min(ways, key=_resistance, default=None)


def _resistance(way: tuple[Bond, ...]) -> float:
    joints_mohm = JOINTS * len(way) * constants()["connection_allowance_mohm"].value
    return joints_mohm + math.fsum(strap_mohm(length_mm=bond.length_mm, section_mm2=bond.section_mm2) for bond in way)


def _is_unit(conversion: Conversion, place: str) -> bool:
    """Whether a bond goes to another unit; a ground point is a device by its mark, but is the body."""
    return place in conversion.device and place not in {point.ref for point in conversion.ground_points}


def _worst_pair(conversion: Conversion, paths: tuple[BondPath, ...]) -> BondPair | None:
    bonded = [path for path in paths if path.ends == "body"]
    pairs = [
        BondPair(
            one=one.device,
            other=other.device,
            apart_mm=apart_mm,
            between_mohm=one.path_mohm + other.path_mohm + conversion.supply.body_mohm,
        )
        for one, other in itertools.combinations(bonded, 2)
        if (apart_mm := _apart_mm(conversion, conversion.device, one.device, other.device)) <= REACH_MM
    ]
    return max(pairs, key=lambda pair: pair.between_mohm, default=None)


def _apart_mm(conversion: Conversion, device: Mapping[str, Device], one: str, other: str) -> float:
    """From case to case at least: their centres apart, less half of the longest side of each."""
    places = [(item.x_mm, item.y_mm, item.z_mm) for item in (device[one], device[other])]
    halves = sum(
        max(part.length_mm, part.width_mm, part.height_mm) / 2 for part in (conversion.part[device[ref].part] for ref in (one, other))
    )
    return max(math.dist(*places) - halves, 0.0)
