"""High-voltage safety, for a screen: insulation, capacitors, bonds, the interlock loop, plugs, marks, outputs."""

from __future__ import annotations

from halfshaft.model.finding import HV_CAUTION
from halfshaft.show.tables import table
from halfshaft.studies.hv_safety.bonding import Bonding
from halfshaft.studies.hv_safety.capacitance import Capacitances
from halfshaft.studies.hv_safety.clearance import Distances
from halfshaft.studies.hv_safety.insulation import Insulation
from halfshaft.studies.hv_safety.interlock import BATTERY_V, Interlock
from halfshaft.studies.hv_safety.marks import Marks
from halfshaft.studies.hv_safety.outputs import STATES, Outputs
from halfshaft.studies.hv_safety.splitting import Split
from halfshaft.study import Study


def hv_safety(study: Study) -> str:
    """Every question with its table, where its data is there."""
    found = study.hv_safety
    if found is None:
        return "no battery in boxes, no cable on a high-voltage pin, or no more than 60 V"
    parts = [
        *(_interlock(found.interlock) if found.interlock else ()),
        *(_insulation(found.insulation) if found.insulation else ()),
        *(_capacitances(found.capacitances) if found.capacitances else ()),
        _bonding(found.bonding),
        _distances(found.distances),
        *_marks(found.marks),
        *((_outputs(found.outputs),) if found.outputs else ()),
        HV_CAUTION,
    ]
    return "\n\n".join(parts)


def _interlock(loop: Interlock) -> tuple[str, ...]:
    if loop.gap is not None:
        return (f"interlock: broken between {loop.gap[0]} and {loop.gap[1]}",)
    closed = "" if loop.closed_v is None else f", {loop.closed_v:.2f} V at {loop.last} with {BATTERY_V:g} V at its source"
    guarded = "" if not loop.open_covers else f"; no cover or handle of {', '.join(loop.open_covers)} is in it"
    rows = [(step.ref, step.start, step.end, ", ".join(step.held_by), f"{step.ohm_from_start:.2f}") for step in loop.steps]
    return (
        f"interlock from {loop.first} to {loop.last}: {loop.loop_ohm:.2f} ohm closed{closed}{guarded}",
        table(("element", "from", "to", "held closed by", "ohm so far"), rows),
    )


def _insulation(found: Insulation) -> tuple[str, ...]:
    states = [
        (
            state.name, f"{state.pole_mohm:.2f}", f"{state.both_poles_mohm:.2f}", f"{state.required_mohm:.3f}",
            ", ".join(f"{unit.unit} {unit.share_percent:.0f} %" for unit in state.units),
        )
        for state in found.states
    ]  # fmt: skip
    header = ("state", "megohm, a pole", "both poles", "asked for", "lets through")
    steps = table(("step", "suspects", "pull", "measure at", "low", "good"), [_split(step) for step in found.splits])
    return table(header, states), *_proof(found), steps


def _proof(found: Insulation) -> tuple[str, ...]:
    proof = found.proof
    if proof is None:
        return ()
    asked = "nobody has said which case; 100" if found.ohm_per_v is None else f"{found.ohm_per_v:g}"
    return (
        f"asked for: {asked} ohm/V at {found.full_v:.1f} V; through a hand on one pole at most {found.touch_ma:.2f} mA\n"
        f"proof by volts, everything closed, meter of {proof.meter_ohm / 1e6:g} megohm: either pole to the body {proof.pole_v:.0f} V, with {proof.known_ohm / 1000:.1f} kohm beside it "
        f"{proof.pole_with_known_v:.1f} V ({proof.isolation_mohm:.2f} megohm); passes up to {proof.most_with_known_v:.1f} V",
    )


def _split(step: Split) -> tuple[object, ...]:
    ways = ((step.if_low, step.low_unit), (step.if_good, step.good_unit))
    low, good = (f"step {number}" if number is not None else unit for number, unit in ways)
    return step.number, " ".join(step.suspects), " ".join(step.pull) or "nothing", step.measure_at, low, good


def _capacitances(found: Capacitances) -> tuple[str, ...]:
    poles = [(pole.pole, f"{pole.cy_nf:g}", f"{1000 * pole.energy_j:.1f}", f"{1000 * pole.above_60v_j:.1f}") for pole in found.poles]
    currents = [
        (item.charger, "yes" if item.is_isolated else "no", f"{item.cy_nf:g}", f"{item.mains_v:g}", f"{item.mains_hz:g}", f"{item.current_ma:.2f}")
        for item in found.body_currents
    ]  # fmt: skip
    tables = [table(("pole to body", "nF", "mJ full", "of it above 60 V"), poles)]
    if currents:
        tables.append(table(("charging through", "parts its sides", "nF", "V", "Hz", "mA to the body"), currents))
    return *tables, f"between the poles {found.cx_uf:g} uF hold {found.x_energy_j:.1f} J at {found.full_v:.1f} V"


def _bonding(found: Bonding) -> str:
    rows = [
        (path.device, path.ends, " ".join(path.bonds), *((f"{path.copper_mohm:.2f}", f"{path.path_mohm:.1f}", f"{path.reading_max_mohm:g}") if path.bonds else ("", "", "")))
        for path in found.paths
    ]  # fmt: skip
    return table(("case of", "joined to", "by", "copper mohm", "with joints", "reading at most"), rows)


def _distances(found: Distances) -> str:
    rows = [
        (item.plug, f"{item.volts:.1f}", item.pollution, *(_known(value) for value in (item.clearance_mm, item.least_clearance_mm, item.creepage_mm, item.least_creepage_mm)))
        for item in found.plugs
    ]  # fmt: skip
    return table(("plug", "V", "pollution", "in air mm", "needs", "creepage mm", "needs"), rows)


def _known(value: float | None) -> str:
    return "" if value is None else f"{value:.3g}"


def _marks(found: Marks) -> tuple[str, ...]:
    cables = [(item.cable, item.covering, "yes" if item.is_screened else "no", item.screen_earthed) for item in found.cables]
    touch = [(item.plug, item.zone, item.has, item.needs) for item in found.touch]
    signs = [(item.device, item.sign) for item in found.signs]
    return (
        table(("cable", "colour", "screen", "earthed"), cables),
        table(("plug", "zone", "protected to", "needs"), touch),
        table(("unit", "sign"), signs),
    )


def _outputs(found: Outputs) -> str:
    rows = [(row.ref, row.driven_by, *(getattr(row, state) for state in STATES)) for row in found.rows]
    return table(("output", "driven by", *(state.replace("_", " ") for state in STATES)), rows)
