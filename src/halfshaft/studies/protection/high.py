"""The high-voltage side: its fuses and cables against the shorts of the chain."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.studies.cable.study import CableHeat
from halfshaft.studies.high_voltage.chain import Way, elements_in
from halfshaft.studies.high_voltage.shorts import Short
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.protection.ambient import ambient_of, cartridge_factor_of
from halfshaft.studies.protection.bands import band_of
from halfshaft.studies.protection.bearing import bearing_of
from halfshaft.studies.protection.low import opening
from halfshaft.studies.protection.records import FuseGuard, WireGuard


def high_fuses(conversion: Conversion, pack: Pack, high: HighVoltage, cables: Sequence[WireGuard]) -> Iterator[FuseGuard]:
    """Every fuse in the way of the pack or of one of its units."""
    links = (*pack.links.values(), *(link for way in high.chain.ways for link in way.links))
    for ref in dict.fromkeys(elements_in(conversion, links, "fuse")):
        element, ambient_c, band = conversion.element[ref], ambient_of(conversion, ref), band_of(conversion, ref)
        share = pack.link_share.get(ref, 0.0)
        ways = [way for way in high.chain.ways if share or ref in _refs(way)]
        faults = [(fuse, short.at) for short in high.shorts for fuse in short.fuses if fuse.ref == ref]
        # A short behind a branch's own fuse is that one's to end.
        own_at = {
            short.at
            for short in high.shorts
            if short.first is None or short.first.ref == ref or {short.first.ref, ref} <= pack.link_share.keys()
        }
        least = min(((fuse.least_a, at) for fuse, at in faults if at in own_at), default=None)
        # Fuses of one string stand in series: what one of them guards, all do.
        own = [cable for cable in cables if cable.fuse == ref or {cable.fuse, ref} <= pack.link_share.keys()]
        yield FuseGuard(
            ref=ref,
            is_high_voltage=True,
            rating_a=element.rating_a or 0.0,
            family=element.family,
            ambient_c=ambient_c,
            factor=cartridge_factor_of(ambient_c),
            current_a=_carries_a(pack, share, ways),
            hot_a=_carries_a(pack, share, ways),
            case="for good",
            loads=tuple(way.unit.ref for way in ways),
            wires=tuple(cable.ref for cable in own),
            thinnest=min(((cable.section_mm2, cable.ref) for cable in own), default=(0.0, None))[1],
            breaking_a=element.breaking_a,
            most_a=max((fuse.most_a for fuse, _ in faults), default=None),
            least_a=None if least is None else least[0],
            least_at="" if least is None else least[1],
            opens=None if least is None else opening(band, least[0]),
            starts=(),
            band=band,
        )


def _carries_a(pack: Pack, share: float, ways: list[Way]) -> float:
    if share and pack.continuous is not None:
        return share * pack.continuous.current_a
    return math.fsum(way.unit.current_continuous_a for way in ways)


def _refs(way: Way) -> set[str]:
    return {link.ref for link in way.links}


def high_cables(conversion: Conversion, pack: Pack, high: HighVoltage, heats: Mapping[str, CableHeat]) -> Iterator[WireGuard]:
    """Every cable with a short behind it, and the fuse that ends the least one first."""
    for cable in conversion.cables:
        heat = heats.get(cable.ref)
        share = pack.link_share.get(cable.ref, 1.0)
        shorts = [short for short in high.shorts if _passes(pack, high, short, cable.ref)]
        if heat is None or not shorts:
            continue
        least = min(shorts, key=lambda short: short.least_a)
        fuse = least.first or next(iter(least.fuses), None)
        if fuse is None:
            continue
        yield WireGuard(
            ref=cable.ref,
            is_high_voltage=True,
            is_return=False,
            short_only=heat.current.short_only,
            section_mm2=heat.section_mm2,
            fuse=fuse.ref,
            rating_a=fuse.rating_a or 0.0,
            most_a=share * max(short.most_a for short in shorts),
            least_a=share * least.least_a,
            opens=opening(band_of(conversion, fuse.ref), fuse.least_a),
            bearing=bearing_of(conversion, heat),
        )


def _passes(pack: Pack, high: HighVoltage, short: Short, cable: str) -> bool:
    """Whether a short's current passes a cable: of the strings' own those that no branch fuse ends, of a branch those at its unit."""
    if cable in pack.link_share:
        return short.first is None or short.first.ref in pack.link_share
    return any(way.unit.ref == short.at and cable in _refs(way) for way in high.chain.ways)
