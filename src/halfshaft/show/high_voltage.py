"""The high-voltage chain, for a screen."""

from __future__ import annotations

from halfshaft.model.finding import HV_CAUTION
from halfshaft.show.tables import table
from halfshaft.studies.high_voltage.cases import Draw
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.network.records import Failure
from halfshaft.study import Study

FURTHER = "interlock, insulation, bonds, distances, marks and outputs: show FOLDER hv_safety"


def high_voltage(study: Study) -> str:
    """Load cases, pre-charge, discharge, contacts and short circuits."""
    found = study.high_voltage
    if found is None:
        return "No modules are in a box, or the full pack has no more than 60 V."
    parts = (_cases(found), _links(found), _precharge(found), _discharge(found), _contacts(found), _shorts(found), FURTHER, HV_CAUTION)
    return "\n\n".join(part for part in parts if part)


def _cases(found: HighVoltage) -> str:
    rows = []
    for case in found.cases:
        for state, draw in case.steady.items():
            peak = case.peak[state]
            peak_a = peak.current_a if isinstance(peak, Draw) else "cannot"
            rows.append((case.case, state, case.power_kw, *_told(draw), case.peak_kw, peak_a, _at_units(draw)))
    return table(("case", "pack", "kW", "A", "V", "W lost", "peak kW", "A", "at the units, for good"), rows) if rows else ""


def _told(draw: Draw | Failure) -> tuple[object, object, object]:
    return (draw.current_a, draw.pack_v, draw.loss_w) if isinstance(draw, Draw) else ("cannot", "", "")


def _at_units(draw: Draw | Failure) -> str:
    if isinstance(draw, Failure):
        return draw.text
    return ", ".join(f"{unit.ref} {unit.current_a:.1f} A {unit.volts:.1f} V" for unit in draw.units)


def _links(found: HighVoltage) -> str:
    rows = []
    for ref, peak in found.most_at_peak.items():
        most = found.most_for_good.get(ref)
        told = (most.current_a, f"{most.loss_w:.2f}", f"{most.case}, {most.state}") if most else ("", "", "")
        rows.append((ref, *told, peak.current_a, f"{peak.loss_w:.2f}", f"{peak.case}, {peak.state}"))
    return table(("carries most", "A for good", "W lost", "in the case", "A at its peak", "W lost", "in the case"), rows) if rows else ""


def _precharge(found: HighVoltage) -> str:
    one = found.precharge
    if one is None:
        return ""
    most_ohm = "none" if one.least_load_ohm is None else f"{one.least_load_ohm:.0f} ohm, {one.most_load_w:.1f} W"
    return (
        f"pre-charge {one.resistor_ohm:g} ohm on {1e6 * one.capacitance_f:.0f} uF: {1000 * one.tau_s:.1f} ms; {100 * one.close_share:g} % after {one.closes_after_s:.2f} s "
        f"(given up after {one.time_out_s:g} s); {one.heat_whole_j:.0f} J; begins with {one.first_a:.2f} A, {one.first_w:.0f} W; "
        f"step {one.step_v:.1f} V, surge up to {one.surge_a:.0f} A\nmost that may stand on the link: {most_ohm}; resistor up to {one.resistor_max_ohm:.0f} ohm; "
        f"{one.tries} tries {one.tries_heat_j:.0f} J, {one.mean_w:.2f} W on the average"
    )


def _discharge(found: HighVoltage) -> str:
    if found.discharge is None:
        return ""
    rows = [
        (item.ref, f"{1e6 * item.capacitance_f:g}", item.energy_j, item.passive_s, item.active_s)
        for item in (*found.discharge.units, found.discharge.link)
    ]
    return table(("discharge of", "uF", "J full", "passive s to 60 V", "active s"), rows)


def _contacts(found: HighVoltage) -> str:
    rows = [
        (d.ref, d.role, d.voltage_max_v, d.rating_a, d.carries_a, d.breaking_a, d.makes_a, d.breaks_a, d.fuse_a if d.is_gap else None)
        for d in found.contacts
    ]
    header = ("contact", "role", "V max", "A rated", "A carried", "A it breaks", "A made", "A broken", "nobody breaks up to A")
    return table(header, rows) if rows else ""


def _shorts(found: HighVoltage) -> str:
    rows = []
    for short in found.shorts:
        first = short.first
        opens = "" if first is None or first.opens_s is None else f"{1000 * first.opens_s:.3g} ms"
        rows.append((short.at, short.most_a, short.least_a, ", ".join(fuse.ref for fuse in short.fuses), first.ref if first else "", opens))
    return table(("short at", "A at most", "A at least", "fuses in its way", "opens first", "after"), rows) if rows else ""
