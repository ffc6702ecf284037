"""What must be seen and what must not be touched: orange, signs, screens and their earths, finger-safe plugs, the mains earth."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Cable
from halfshaft.studies.hv_safety.live import EARTH, Plug, live_plugs

ORANGE = "orange"
# A zone with one of these words in its name counts as passenger or luggage space.
INSIDE_WORDS = ("cabin", "boot", "interior", "luggage", "passenger", "seat", "trunk")
# What a plug is protected to, the least first.
PROTECTION = ("none", "IPXXB", "IPXXD")


@dataclass(frozen=True, kw_only=True, slots=True)
class CableMarks:
    """One high-voltage or mains cable: its colour, its screen, where that is earthed, and whether an inverter hangs on it."""

    cable: str
    covering: str
    is_orange: bool
    is_screened: bool
    screen_earthed: str
    at_inverter: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class PlugTouch:
    """One live plug: where it is, what keeps a hand off, and what is asked for there."""

    plug: str
    zone: str
    is_inside: bool
    has: str
    needs: str


@dataclass(frozen=True, kw_only=True, slots=True)
class UnitSign:
    """Whether the high-voltage sign is stated to be on a unit of the battery's side."""

    device: str
    sign: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MainsEarth:
    """A mains cable, and the core that leads the protective earth from end to end; None: no core does."""

    cable: str
    core: int | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Marks:
    """Everything that is looked at on the finished car."""

    cables: tuple[CableMarks, ...]
    signs: tuple[UnitSign, ...]
    touch: tuple[PlugTouch, ...]
    earths: tuple[MainsEarth, ...]


def study_marks(conversion: Conversion) -> Marks:
    """Cables and units by their order in the tables, plugs by device."""
    plugs = live_plugs(conversion)
    battery_side = {plug.device for plug in plugs if plug.kind != "mains"}
    live_cables = {cable for plug in plugs for cable in plug.cables}
    mains_cables = {cable for plug in plugs if plug.kind == "mains" for cable in plug.cables}
    phase_units = {plug.device for plug in plugs if plug.kind == "motor phase"}
    return Marks(
        cables=tuple(_cable(conversion, cable, phase_units) for cable in conversion.cables if cable.ref in live_cables),
        signs=tuple(UnitSign(device=device.ref, sign=device.hv_sign) for device in conversion.devices if device.ref in battery_side),
        touch=tuple(_touch(conversion, plugs)),
        earths=tuple(_earth(conversion, cable.ref) for cable in conversion.cables if cable.ref in mains_cables),
    )


def _cable(conversion: Conversion, cable: Cable, phase_units: set[str]) -> CableMarks:
    """An inverter is a unit with motor phases on it, and so is the motor: what switches fast is on the cable."""
    kind = conversion.cable_type[cable.cable_type]
    ends = {cable.from_connector.partition(".")[0], cable.to_connector.partition(".")[0]}
    return CableMarks(
        cable=cable.ref,
        covering=kind.covering,
        is_orange=ORANGE in kind.covering.lower(),
        is_screened=kind.screened,
        screen_earthed=cable.screen_earthed,
        at_inverter=bool(ends & phase_units),
    )


def _touch(conversion: Conversion, plugs: tuple[Plug, ...]) -> Iterable[PlugTouch]:
    for plug in plugs:
        zone = conversion.device[plug.device].zone or ""
        is_inside = any(word in zone.lower() for word in INSIDE_WORDS)
        yield PlugTouch(
            plug=plug.ref, zone=zone, is_inside=is_inside, has=plug.connector.touch_protection, needs="IPXXD" if is_inside else "IPXXB"
        )


def _earth(conversion: Conversion, cable: str) -> MainsEarth:
    cores = [core for core in conversion.cable_cores if core.cable == cable]
    earth = [
        core.core
        for core in cores
        if all(pin in conversion.cavity and conversion.cavity[pin].role == EARTH for pin in (core.from_pin, core.to_pin))
    ]
    return MainsEarth(cable=cable, core=earth[0] if earth else None)
