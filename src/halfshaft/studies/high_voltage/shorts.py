"""What a short drives through the chain, at the pack's ends and at each unit, and which fuse ends it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.high_voltage.chain import Chain, elements_in, ohms
from halfshaft.studies.pack.links import Link
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.protection.curves import curve_of

PACK_ENDS = "pack's ends"


@dataclass(frozen=True, kw_only=True, slots=True)
class ShortFuse:
    """One fuse in the way of a short: the most and least amperes that it sees, and seconds until it opens at the least."""

    ref: str
    rating_a: float | None
    breaking_a: float | None
    i2t_a2s: float | None
    most_a: float
    least_a: float
    opens_s: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Short:
    """A bolted short at one place. Most: full, cells warm, joints without resistance. Least: empty, cells cold where that is
    known, joints at the most that the register allows. `first` is the fuse that opens first at the least current."""

    at: str
    most_a: float
    least_a: float
    fuses: tuple[ShortFuse, ...]

    @property
    def first(self) -> ShortFuse | None:
        """The fuse that opens first, of those whose curve is known."""
        timed = [(fuse.opens_s, fuse.ref, fuse) for fuse in self.fuses if fuse.opens_s is not None]
        return min(timed)[2] if timed else None


def least_ohm(pack: Pack) -> float:
    """The pack at its stiffest: cells warm, joints without resistance."""
    return (pack.total_mohm - pack.resistance_mohm["joints"]) / 1000


def most_ohm(pack: Pack) -> float:
    """The pack at its softest that is known: cells cold, joints at the most that the register allows."""
    cold_mohm = pack.resistance_mohm["modules"] if pack.cold_modules_mohm is None else pack.cold_modules_mohm
    return (pack.total_mohm - pack.resistance_mohm["modules"] + cold_mohm) / 1000


def bolted_a(emf_v: float, ohm: float) -> float | None:
    """Amperes of a bolted short; None where no resistance is known.

    One string of 110 cells, 240 V, half a milliohm a cell, as a manufacturer's guide to direct-current distribution has it:

    >>> round(bolted_a(240, 110 * 0.0005) / 1000, 2)
    4.36
    """
    return emf_v / ohm if ohm > 0 else None


def study_shorts(conversion: Conversion, pack: Pack, chain: Chain) -> tuple[Short, ...]:
    """At the pack's ends, then at each unit."""
    return tuple(_shorts(conversion, pack, chain))


def _shorts(conversion: Conversion, pack: Pack, chain: Chain) -> Iterator[Short]:
    own = tuple(pack.links.values())
    places: list[tuple[str, Sequence[Link]]] = [(PACK_ENDS, ()), *((way.unit.ref, way.links) for way in chain.ways)]
    for at, links in places:
        most_a = bolted_a(pack.full_v, least_ohm(pack) + ohms(links))
        least_a = bolted_a(pack.empty_v, most_ohm(pack) + ohms(links))
        if most_a is None or least_a is None:
            continue
        fuses = (
            _fuse(conversion, ref, share=pack.link_share.get(ref, 1.0), most_a=most_a, least_a=least_a)
            for ref in dict.fromkeys(elements_in(conversion, (*own, *links), "fuse"))
        )
        yield Short(at=at, most_a=most_a, least_a=least_a, fuses=tuple(fuses))


def _fuse(conversion: Conversion, ref: str, *, share: float, most_a: float, least_a: float) -> ShortFuse:
    element, curve = conversion.element[ref], curve_of(conversion, ref)
    return ShortFuse(
        ref=ref,
        rating_a=element.rating_a,
        breaking_a=element.breaking_a,
        i2t_a2s=element.i2t_a2s,
        most_a=share * most_a,
        least_a=share * least_a,
        opens_s=None if curve is None else curve.opens_after_s(share * least_a),
    )
