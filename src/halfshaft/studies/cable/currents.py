"""What each wire and each core of a high-voltage cable carries: for good, and at its peak."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Cable
from halfshaft.standards import constants
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.wires.study import WiresResult


@dataclass(frozen=True, kw_only=True, slots=True)
class WireCurrent:
    """Amperes of one wire, or of each core of one cable. `peak_a` lasts `peak_s` and counts what is carried for good.

    `short_only`: the fuse is there for short circuits; overload is kept off by the pack's monitor and the units.
    """

    continuous_a: float
    case: str
    peak_a: float
    peak_s: float
    fuse: str | None
    fuse_rating_a: float | None
    short_only: bool = False


def wire_currents(conversion: Conversion, wires: WiresResult) -> dict[str, WireCurrent]:
    """By wire of the from-to list: the worst case, and on top of it the start of the one load that starts hardest."""
    starts = _starts(conversion, wires)
    found = {}
    for ref, use in wires.uses.items():
        more_a, seconds = starts.get(ref, (0.0, 0.0))
        found[ref] = WireCurrent(
            continuous_a=use.current_a,
            case=use.case,
            peak_a=use.current_a + more_a,
            peak_s=seconds,
            fuse=use.fuse,
            fuse_rating_a=use.fuse_rating_a,
        )
    return found


def _starts(conversion: Conversion, wires: WiresResult) -> Mapping[str, tuple[float, float]]:
    """By wire, amperes above steady and seconds of the start, of those loads behind it, that heats most."""
    starts: dict[str, tuple[float, float]] = defaultdict(lambda: (0.0, 0.0))
    for path in wires.paths:
        load = conversion.load[path.load]
        more = (max(load.peak_a - load.steady_a, 0.0), load.peak_s)
        for branch in (*(path.supply or ()), *(path.ground or ())):
            starts[branch.ref] = max(starts[branch.ref], more, key=lambda item: item[0] ** 2 * item[1])
    return starts


def cable_currents(conversion: Conversion, pack: Pack | None) -> dict[str, WireCurrent]:
    """By high-voltage cable whose current is known: those of the pack's strings, and those that end at a unit's d.c. pins.

    Of alternating current nothing is said: neither motor phases nor the mains side of a charger.
    """
    found = {}
    pack_fuse = _pack_fuse(conversion, pack)
    pulse_s = constants()["pulse_s"].value
    for cable in conversion.cables:
        amperes = _pack_share(cable, pack) or _unit_share(conversion, cable)
        if amperes is None:
            continue
        continuous_a, peak_a, case = amperes
        own_fuse = _own_fuse(conversion, cable)
        fuse = own_fuse or pack_fuse
        found[cable.ref] = WireCurrent(
            continuous_a=continuous_a,
            case=case,
            peak_a=max(peak_a, continuous_a),
            peak_s=pulse_s,
            fuse=fuse,
            fuse_rating_a=None if fuse is None else conversion.element[fuse].rating_a,
            short_only=own_fuse is None,
        )
    return found


def _pack_share(cable: Cable, pack: Pack | None) -> tuple[float, float, str] | None:
    share = 0.0 if pack is None else pack.link_share.get(cable.ref, 0.0)
    if pack is None or not share or pack.continuous is None:
        return None
    peak = pack.peak or pack.continuous
    return share * pack.continuous.current_a, share * peak.current_a, f"pack at {pack.continuous.power_kw:g} kW for good"


def _unit_share(conversion: Conversion, cable: Cable) -> tuple[float, float, str] | None:
    units = {unit.ref: unit for unit in conversion.hv_units}
    through = {name.partition(".")[0] for name in (conversion.pack.plus_at, conversion.pack.minus_at) if name}
    for pin in _pins(conversion, cable):
        unit = units.get(pin.partition(".")[0])
        cavity = conversion.cavity.get(pin)
        if unit is not None and unit.ref not in through and cavity is not None and cavity.role in ("hv_plus", "hv_minus"):
            return unit.current_continuous_a, unit.current_peak_a, f"{unit.ref} at the most it takes for good"
    return None


def _own_fuse(conversion: Conversion, cable: Cable) -> str | None:
    """The fuse inside a device that alone feeds the pin of one of its cores."""
    for pin in _pins(conversion, cable):
        device, _, inner = pin.partition(".")
        parts = conversion.part[conversion.device[device].part].inside if device in conversion.device else ()
        at_pin = [element for element in parts if inner in (element.pin_a, element.pin_b)]
        if len(at_pin) == 1 and at_pin[0].kind == "fuse":
            return f"{device}.{at_pin[0].ref}"
    return None


def _pins(conversion: Conversion, cable: Cable) -> Iterator[str]:
    for core in conversion.cable_cores:
        if core.cable == cable.ref:
            yield from (core.from_pin, core.to_pin)


def _pack_fuse(conversion: Conversion, pack: Pack | None) -> str | None:
    """The smallest fuse in the way of the pack's strings."""
    refs = [link.ref for string in (pack.strings if pack else ()) for join in string.joins for link in join.links or ()]
    fuses = [ref for ref in refs if ref in conversion.element and conversion.element[ref].kind == "fuse"]
    return min(fuses, key=lambda ref: conversion.element[ref].rating_a or 0.0, default=None)
