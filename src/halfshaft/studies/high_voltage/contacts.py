"""What each contact of the chain carries, makes and breaks, and which currents nobody breaks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import HighVoltageSettings
from halfshaft.studies.high_voltage.cases import CaseDraw, Draw
from halfshaft.studies.high_voltage.chain import Chain, elements_in
from halfshaft.studies.high_voltage.precharge import Precharge
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.protection.curves import curve_of

# A fuse that takes longer than this leaves a short to the contactors, which let go much sooner (common practice).
SOON_S = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Duty:
    """One contact. `makes_a` as it closes, `breaks_a` the most that it may meet when it opens under load; None: not known,
    or never under load. `fuse_a` is from where a fuse in its way opens within a second: from `breaking_a` up to there nobody
    breaks the current."""

    ref: str
    role: str
    voltage_max_v: float | None
    rating_a: float | None
    breaking_a: float | None
    carries_a: float | None
    makes_a: float | None
    breaks_a: float | None
    fuse: str | None
    fuse_a: float | None

    @property
    def is_gap(self) -> bool:
        """Whether there are currents that neither it nor a fuse breaks soon."""
        return self.breaking_a is not None and self.fuse_a is not None and self.breaking_a < self.fuse_a


def study_contacts(
    conversion: Conversion,
    settings: HighVoltageSettings,
    pack: Pack,
    chain: Chain,
    precharge: Precharge | None,
    cases: tuple[CaseDraw, ...],
) -> tuple[Duty, ...]:
    """The main contacts, that of the pre-charge, and every other contact in the way of the pack's current."""
    return tuple(_duties(conversion, settings, pack, chain, precharge, cases))


def _duties(
    conversion: Conversion,
    settings: HighVoltageSettings,
    pack: Pack,
    chain: Chain,
    precharge: Precharge | None,
    cases: tuple[CaseDraw, ...],
) -> Iterator[Duty]:
    pack_a = None if pack.continuous is None else pack.continuous.current_a
    worst_a = worst_peak_a(pack, cases)
    fuse, fuse_a = first_fuse(conversion, pack)
    bridged = bridged_contact(conversion, settings)
    for role, ref in (("main plus", settings.main_plus), ("main minus", settings.main_minus)):
        if ref is not None and conversion.element[ref].kind == "contact":
            makes_a = (precharge.surge_a if ref == bridged else 0.0) if precharge is not None else None
            yield _duty(conversion, ref, role, carries_a=pack_a, makes_a=makes_a, breaks_a=worst_a, fuse=fuse, fuse_a=fuse_a)
    if precharge is not None:
        first_a = precharge.first_a
        yield _duty(conversion, precharge.contact, "pre-charge", carries_a=None, makes_a=first_a, breaks_a=first_a)
    named = {settings.main_plus, settings.main_minus, settings.precharge_contact}
    for ref in dict.fromkeys(elements_in(conversion, (*pack.links.values(), *chain.shared), "contact")):
        if ref not in named:
            share = pack.link_share.get(ref, 1.0)
            carries_a = None if pack_a is None else share * pack_a
            yield _duty(conversion, ref, "in the way", carries_a=carries_a, makes_a=None, breaks_a=None)


def _duty(
    conversion: Conversion,
    ref: str,
    role: str,
    *,
    carries_a: float | None,
    makes_a: float | None,
    breaks_a: float | None,
    fuse: str | None = None,
    fuse_a: float | None = None,
) -> Duty:
    element = conversion.element[ref]
    return Duty(
        ref=ref,
        role=role,
        voltage_max_v=element.voltage_max_v,
        rating_a=element.rating_a,
        breaking_a=element.breaking_a,
        carries_a=carries_a,
        makes_a=makes_a,
        breaks_a=breaks_a,
        fuse=fuse,
        fuse_a=fuse_a,
    )


def worst_peak_a(pack: Pack, cases: Iterable[CaseDraw]) -> float | None:
    """The most that is drawn on purpose: the pack's own peak at its hardest, or a case's, whichever is more."""
    drawn = [draw.current_a for draw in (pack.peak, pack.continuous) if draw is not None]
    drawn += [abs(draw.current_a) for case in cases for draw in (*case.steady.values(), *case.peak.values()) if isinstance(draw, Draw)]
    return max(drawn, default=None)


def first_fuse(conversion: Conversion, pack: Pack) -> tuple[str | None, float | None]:
    """The pack's own fuse that opens within a second at the least current of the pack, and that current."""
    found = []
    for ref in elements_in(conversion, pack.links.values(), "fuse"):
        curve = curve_of(conversion, ref)
        if curve is not None:
            found.append((curve.opens_within_a(SOON_S) / pack.link_share[ref], ref))
    return (None, None) if not found else min(found)[::-1]


def bridged_contact(conversion: Conversion, settings: HighVoltageSettings) -> str | None:
    """The main contact that contact and resistor of the pre-charge go round; None where they go round neither.

    They are inside one device, where a node is named once. In devices of their own wires may join them, and main plus is taken.
    """
    contact, resistor = settings.precharge_contact, settings.precharge_resistor
    if contact is None or resistor is None:
        return None
    mains = [ref for ref in (settings.main_plus, settings.main_minus) if ref is not None]
    devices = {ref.partition(".")[0] for ref in (contact, resistor, *mains)}
    if len(devices) > 1:
        return settings.main_plus or settings.main_minus
    ends = {conversion.element[contact].pin_a, conversion.element[contact].pin_b} ^ {
        conversion.element[resistor].pin_a,
        conversion.element[resistor].pin_b,
    }
    return next((ref for ref in mains if {conversion.element[ref].pin_a, conversion.element[ref].pin_b} == ends), None)
