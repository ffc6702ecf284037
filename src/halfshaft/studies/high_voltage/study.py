"""The high-voltage chain as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.high_voltage.cases import CaseDraw, LinkMost, most_by_link, study_cases
from halfshaft.studies.high_voltage.chain import Chain, chain_of
from halfshaft.studies.high_voltage.contacts import Duty, study_contacts
from halfshaft.studies.high_voltage.discharge import SAFE_V, Discharges, study_discharge
from halfshaft.studies.high_voltage.precharge import Precharge, study_precharge
from halfshaft.studies.high_voltage.shorts import Short, least_ohm, study_shorts
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.pack.study import Pack


@dataclass(frozen=True, kw_only=True, slots=True)
class HighVoltage:
    """Everything found about the chain. `unlimited_a` is what would flow if a main contactor closed on empty capacitors.

    `most_for_good` and `most_at_peak` have everything that carries a current in some case, by its mark.
    """

    full_v: float
    chain: Chain
    cases: tuple[CaseDraw, ...]
    most_for_good: dict[str, LinkMost]
    most_at_peak: dict[str, LinkMost]
    precharge: Precharge | None
    discharge: Discharges | None
    contacts: tuple[Duty, ...]
    shorts: tuple[Short, ...]
    unlimited_a: float | None


def study_high_voltage(conversion: Conversion, routing: Routing, pack: Pack | None, converter_w: Mapping[str, float]) -> HighVoltage | None:
    """None without a pack, or with one that is no high voltage even when full. `converter_w` by case: what the DC-DC converter takes."""
    if pack is None or pack.full_v <= SAFE_V:
        return None
    settings, chain = conversion.high_voltage, chain_of(conversion, routing, pack)
    discharge = study_discharge(conversion.hv_insulation, pack.full_v)
    loop_ohm = least_ohm(pack) + min((chain.way_ohm(way) for way in chain.ways), default=0.0)
    precharge = None
    if loop_ohm > 0 and discharge is not None:
        precharge = study_precharge(conversion, settings, full_v=pack.full_v, loop_ohm=loop_ohm, standing_ohm=discharge.standing_ohm)
    cases = study_cases(conversion, pack, chain, converter_w)
    return HighVoltage(
        full_v=pack.full_v,
        chain=chain,
        cases=cases,
        most_for_good=most_by_link((case.case, case.steady) for case in cases),
        most_at_peak=most_by_link((case.case, case.peak) for case in cases),
        precharge=precharge,
        discharge=discharge,
        contacts=study_contacts(conversion, settings, pack, chain, precharge, cases),
        shorts=study_shorts(conversion, pack, chain),
        unlimited_a=pack.full_v / loop_ohm if loop_ohm > 0 else None,
    )
