"""What can be wrong with insulation, with capacitors to the body, and with the bonding of cases."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, HV_CAUTION, Basis, Finding
from halfshaft.studies.hv_safety.bonding import Bonding
from halfshaft.studies.hv_safety.capacitance import MAINS, Capacitances, largest_nf
from halfshaft.studies.hv_safety.insulation import CHARGING, LEAST_OHM_PER_V, Insulation, InsulationState
from halfshaft.studies.hv_safety.limits import basis_of, limit_of, listed
from halfshaft.studies.hv_safety.study import HvSafety

KILO, MILLI = 1e3, 1e-3


def insulation_findings(conversion: Conversion, safety: HvSafety) -> Iterator[Finding]:
    """All rules of insulation, capacitance and bonding."""
    if safety.insulation is not None:
        yield from case_not_said(conversion, safety.insulation)
        yield from too_low(conversion, safety.insulation)
        yield from inlet_too_low(safety.insulation)
        yield from no_figure(safety.insulation)
    if safety.capacitances is not None:
        yield from pole_energy(safety.capacitances)
        yield from body_current(conversion, safety.capacitances)
    if conversion.bonds:
        yield from not_bonded(safety.bonding)
        yield from bond_resistance(conversion, safety.bonding)
        yield from pair_resistance(safety.bonding)


def case_not_said(conversion: Conversion, insulation: Insulation) -> Iterator[Finding]:
    """Without the case and its edition nobody knows what the insulation is held against."""
    settings = conversion.high_voltage
    missing = tuple(name for name in ("isolation_case", "isolation_edition") if not getattr(settings, name))
    if missing:
        low, high = (limit_of(name) * insulation.full_v / KILO for name in ("isolation_dc_apart", "isolation_joined"))
        yield Finding(
            rule="hv_safety.isolation-case",
            level="fix" if "isolation_case" in missing else "note",
            about=missing,
            text=f"Nobody has written down under [high_voltage] {listed(missing)}: at {insulation.full_v:.1f} V the insulation asked for is {low:.1f} or {high:.1f} kilohm, by how d.c. and a.c. are joined and by which edition.",
            value=len(missing),
            limit=0,
            unit="settings",
            basis=basis_of("isolation_joined"),
            caution=HV_CAUTION,
        )


def too_low(conversion: Conversion, insulation: Insulation) -> Iterator[Finding]:
    """All that is joined in one state lets through more than is allowed."""
    edition = conversion.high_voltage.isolation_edition
    for state in _low(insulation):
        if state.name != CHARGING:
            worst = state.dominant
            yield Finding(
                rule="hv_safety.insulation-low",
                level="stop",
                about=(state.name, worst.unit),
                text=f"With {state.name} all units together have {KILO * state.pole_mohm:.1f} kilohm from either pole to the body; {insulation.ohm_per_v or LEAST_OHM_PER_V:g} ohm/V at {insulation.full_v:.1f} V ask for {KILO * state.required_mohm:.1f}{f' ({edition})' if edition else ''}. {worst.unit} lets through {worst.share_percent:.0f} % of it.",
                value=KILO * state.pole_mohm,
                limit=KILO * state.required_mohm,
                unit="kilohm",
                basis=basis_of(insulation.limit_name),
                caution=HV_CAUTION,
            )


def inlet_too_low(insulation: Insulation) -> Iterator[Finding]:
    """What is joined to the charge inlet leaks: the socket's earth-leakage trip will not hold, or the car's body is live."""
    for state in _low(insulation):
        if state.name == CHARGING:
            worst = state.dominant
            yield Finding(
                rule="hv_safety.insulation-inlet",
                level="fix",
                about=(worst.unit,),
                text=f"What is joined to the charge inlet ({listed(tuple(unit.unit for unit in state.units))}) has {KILO * state.pole_mohm:.0f} kilohm to the body with the plug out; a car that charges from earthed mains must have {state.required_mohm:g} megohm. {worst.unit} lets through {worst.share_percent:.0f} %.",
                value=state.pole_mohm,
                limit=state.required_mohm,
                unit="megohm",
                basis=basis_of("isolation_inlet"),
                caution=HV_CAUTION,
            )


def _low(insulation: Insulation) -> list[InsulationState]:
    return [state for state in insulation.states if state.pole_mohm < state.required_mohm]


def no_figure(insulation: Insulation) -> Iterator[Finding]:
    """Units that leak, but of which nobody knows how much, so that the sum is better than the car."""
    if insulation.without_figure:
        names = insulation.without_figure
        yield Finding(
            rule="hv_safety.insulation-unlisted",
            level="note",
            about=names,
            text=f"hv_insulation.csv has no insulation resistance for {listed(names)}: the sums leave {'it' if len(names) == 1 else 'them'} out and are better than the car.",
            value=len(names),
            limit=0,
            unit="units",
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def pole_energy(found: Capacitances) -> Iterator[Finding]:
    """A hand on one pole would take more joules than may be stored to the body."""
    limit_j = limit_of("y_energy")
    for pole in found.poles:
        if pole.energy_j >= limit_j:
            yield Finding(
                rule="hv_safety.y-energy",
                level="fix",
                about=(pole.pole,),
                text=f"{pole.cy_nf:.0f} nF from {pole.pole} to the body hold {pole.energy_j:.2f} J at {found.full_v:.1f} V; less than {limit_j:g} J may be met by touching one pole.",
                value=pole.energy_j,
                limit=limit_j,
                unit="J",
                basis=basis_of("y_energy"),
                caution=HV_CAUTION,
            )


def body_current(conversion: Conversion, found: Capacitances) -> Iterator[Finding]:
    """The charge point's earth-leakage trip sees more current through capacitors than it bears."""
    limit_ma = conversion.high_voltage.body_current_max_ma
    for item in found.body_currents:
        if (item.mains_v, item.mains_hz) == MAINS[0] and item.current_ma > limit_ma:
            why = (
                "its own capacitors"
                if item.is_isolated
                else "all capacitors of the car, as nothing says that its two sides are kept apart (`isolated` of its converter)"
            )
            yield Finding(
                rule="hv_safety.body-current",
                level="fix",
                about=(item.charger,),
                text=f"While {item.charger} charges from {item.mains_v:g} V, {item.mains_hz:g} Hz, {item.cy_nf:.0f} nF let {item.current_ma:.1f} mA to the body, through {why}; the charge point bears {limit_ma:g} mA, which is {largest_nf(current_ma=limit_ma, mains_v=item.mains_v, mains_hz=item.mains_hz):.0f} nF.",
                value=item.current_ma,
                limit=limit_ma,
                unit="mA",
                basis=Basis("common practice", "[high_voltage] body_current_max_ma: a share of the trip of the charge point"),
                caution=HV_CAUTION,
            )


def not_bonded(bonding: Bonding) -> Iterator[Finding]:
    """A metal case with high voltage inside that nothing joins to the body."""
    for path in bonding.paths:
        if path.ends in ("not bonded", "no end"):
            why = (
                "nothing joins its case to the body"
                if path.ends == "not bonded"
                else "its bonds lead to units that are not bonded themselves, and never to the body"
            )
            yield Finding(
                rule="hv_safety.not-bonded",
                level="fix",
                about=(path.device,),
                text=f'{path.device} has high voltage inside and {why}: a strap in bonds.csv, or `outside = "plastic"` in its part where no metal can be touched.',
                basis=basis_of("bond"),
                caution=HV_CAUTION,
            )


def bond_resistance(conversion: Conversion, bonding: Bonding) -> Iterator[Finding]:
    """A way to the body, or what the shop lets pass on its meter, is above what is allowed."""
    limit_mohm = limit_of("bond") / MILLI
    for path in bonding.paths:
        if path.ends == "body" and path.path_mohm > limit_mohm:
            yield Finding(
                rule="hv_safety.bond-resistance",
                level="fix",
                about=(path.device, *path.bonds),
                text=f"From the case of {path.device} to the body through {listed(path.bonds)}: {path.copper_mohm:.1f} milliohm of copper and {path.joints_mohm:.0f} of joints; {limit_mohm:.0f} are allowed. A thicker or shorter strap, or one straight to the body.",
                value=path.path_mohm,
                limit=limit_mohm,
                unit="milliohm",
                basis=basis_of("bond"),
                caution=HV_CAUTION,
            )
        elif path.ends == "body" and path.reading_max_mohm > limit_mohm:
            yield Finding(
                rule="hv_safety.bond-reading",
                level="fix",
                about=(path.device, *path.bonds),
                text=f"The shop lets {path.reading_max_mohm:g} milliohm pass from the case of {path.device} to the body; {limit_mohm:.0f} are allowed.",
                value=path.reading_max_mohm,
                limit=limit_mohm,
                unit="milliohm",
                basis=basis_of("bond"),
                caution=HV_CAUTION,
            )


def pair_resistance(bonding: Bonding) -> Iterator[Finding]:
    """Two cases within one person's reach are too far apart by their bonds."""
    limit_mohm = limit_of("bond_pair") / MILLI
    pair = bonding.worst_pair
    if pair is not None and pair.between_mohm > limit_mohm:
        yield Finding(
            rule="hv_safety.bond-pair",
            level="fix",
            about=(pair.one, pair.other),
            text=f"Between the cases of {pair.one} and {pair.other}, which one person can touch at once, are {pair.between_mohm:.0f} milliohm; {limit_mohm:.0f} are allowed.",
            value=pair.between_mohm,
            limit=limit_mohm,
            unit="milliohm",
            basis=basis_of("bond_pair"),
            caution=HV_CAUTION,
        )
