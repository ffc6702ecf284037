"""Distances between live parts in every high-voltage plug: in air and along the insulation, against what its volts and its place ask."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Connector
from halfshaft.studies.hv_safety.live import is_live, live_plugs
from halfshaft.studies.insulating import least_clearance_mm, least_creepage_mm

# Single-phase mains to earth are at most this; the rows of the tables are the same from 230 to 250 V.
MAINS_V = 250.0
# What may share a plug with live pins: the loop that guards it, its screen, its earth, and ways without a wire.
MAY_SHARE = ("interlock", "protective_earth", "screen", "spare")
DRY = "dry"


@dataclass(frozen=True, kw_only=True, slots=True)
class PlugDistances:
    """One plug: what it has (None: not known) and what it needs (None: beyond the tables), in millimetres.

    `pitch_mm` is given where more than one live pin makes it the most that there can be between two of them.
    """

    plug: str
    volts: float
    pollution: int
    clearance_mm: float | None
    creepage_mm: float | None
    pitch_mm: float | None
    pins: tuple[str, str] | None
    least_clearance_mm: float | None
    least_creepage_mm: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class MixedPlug:
    """A plug with live pins and pins of the 12 V side in it: the first of each."""

    plug: str
    live: str
    low: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Distances:
    """All plugs in which live cables end, and every plug of a fitted part that mixes both sides."""

    plugs: tuple[PlugDistances, ...]
    mixed: tuple[MixedPlug, ...]


def study_distances(conversion: Conversion, full_v: float) -> Distances:
    """Each plug at the full volts of the pack, or at those of the mains.

    In a zone of which `water` says `dry`, or nothing, a plug counts with the pollution degree inside units; else with that outside.
    """
    settings = conversion.high_voltage
    plugs = []
    for plug in live_plugs(conversion):
        volts = MAINS_V if plug.kind == "mains" else full_v
        pollution = settings.pollution_inside if _is_dry(conversion, plug.device) else settings.pollution_outside
        pins = neighbours(plug.connector)
        plugs.append(
            PlugDistances(
                plug=plug.ref,
                volts=volts,
                pollution=pollution,
                clearance_mm=plug.connector.clearance_mm,
                creepage_mm=plug.connector.creepage_mm,
                pitch_mm=plug.connector.pitch_mm if pins else None,
                pins=pins,
                least_clearance_mm=least_clearance_mm(volts, pollution=pollution, altitude_m=settings.altitude_max_m),
                least_creepage_mm=least_creepage_mm(volts, pollution=pollution, group=settings.material_group),
            )
        )
    return Distances(plugs=tuple(plugs), mixed=tuple(_mixed(conversion)))


def _is_dry(conversion: Conversion, device: str) -> bool:
    zone = conversion.zone.get(conversion.device[device].zone or "")
    return zone is None or zone.water in ("", DRY)


def neighbours(connector: Connector) -> tuple[str, str] | None:
    """Two live pins of different kind side by side, in a row or a column; None where no two are."""
    places = {connector.row_and_column(index): cavity for index, cavity in enumerate(connector.cavities) if is_live(cavity.role)}
    for (row, column), cavity in sorted(places.items()):
        for beside in ((row, column + 1), (row + 1, column)):
            other = places.get(beside)
            if other is not None and other.role != cavity.role:
                return cavity.ref, other.ref
    return None


def _mixed(conversion: Conversion) -> list[MixedPlug]:
    found = []
    for (device, ref), connector in conversion.connector.items():
        live = [cavity.ref for cavity in connector.cavities if is_live(cavity.role)]
        low = [cavity.ref for cavity in connector.cavities if not is_live(cavity.role) and not cavity.role.startswith(MAY_SHARE)]
        if live and low:
            found.append(MixedPlug(plug=f"{device}.{ref}", live=live[0], low=low[0]))
    return found
