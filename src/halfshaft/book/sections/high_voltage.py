"""The high-voltage chain: the picture, short circuits, pre-charge, discharge, load cases, contacts."""

from __future__ import annotations

from halfshaft.book.blocks import Block, Cell, bold, caution, column, facts, heading, number, picture, small, table
from halfshaft.book.frame import DEFER, HV_WARNING, Pages
from halfshaft.drawings.one_line import one_line
from halfshaft.drawings.precharge_chart import precharge_chart
from halfshaft.studies.high_voltage.cases import CaseDraw, Draw, LinkMost
from halfshaft.studies.high_voltage.contacts import SOON_S, Duty
from halfshaft.studies.high_voltage.discharge import SAFE_V
from halfshaft.studies.high_voltage.precharge import Precharge
from halfshaft.studies.high_voltage.shorts import ShortFuse
from halfshaft.studies.high_voltage.study import HighVoltage
from halfshaft.studies.network.records import Failure
from halfshaft.study import Study

SIZE = 8.5
CHAIN, CURVE = "high-voltage-chain.svg", "pre-charge.svg"
COMPUTED = "Computed from the tables of this conversion, not measured. " + DEFER


def high_voltage(study: Study, pages: Pages) -> None:
    """Nothing without a pack of more than 60 V."""
    found, pack = study.high_voltage, study.pack
    if found is None or pack is None:
        return
    drawing = one_line(study.conversion, study.routing, pack, found)
    pages.pictures[CHAIN] = drawing
    blocks: list[Block] = [
        caution("WARNING", HV_WARNING),
        picture(CHAIN, drawing.width_mm, "The chain: both poles, everything at rest. Cables with section and cut length, fuses and contacts with their rating."),
        *_shorts(found),
    ]  # fmt: skip
    pages.add("High-voltage chain", blocks, hv=True)
    for title, parts in (
        ("High voltage: switching on and off", [*_precharge(found, pages), *_discharge(found)]),
        ("High voltage: load cases and contacts", [*_cases(found), *_links(found), *_contacts(found)]),
    ):
        if parts:
            pages.add(title, [caution("NOTICE", COMPUTED), *parts], hv=True)


def _cases(found: HighVoltage) -> list[Block]:
    if not found.cases:
        return []
    columns = [
        column("Case"),
        column("kW", "auto", "right"),
        *(column(f"A, {state}", "auto", "right") for state in ("full", "nominal", "empty")),
        column("V, empty", "auto", "right"),
        column("W lost, empty", "auto", "right"),
        column("Peak, kW", "auto", "right"),
        column("A, empty", "auto", "right"),
        column("At the units, nominal", "1fr"),
    ]
    rows: list[list[Cell]] = [_case(case) for case in found.cases]
    return [
        heading("Load cases"),
        table(columns, rows, size=SIZE, group=0),
        small("Amperes of the whole pack by its state, for good and at the peak of the case; below zero they go into the pack. Volts at the pack's ends. Each unit takes its power whatever its volts are; what the converter takes is what the 12 V side takes from it in the case, on the average, by its efficiency. Cells at 25 °C, copper at 20 °C, joints at the most that the register allows. A charger takes less than this near the full pack. “–”: the pack cannot give it."),
    ]  # fmt: skip


def _case(case: CaseDraw) -> list[Cell]:
    empty, nominal, peak = case.steady["empty"], case.steady["nominal"], case.peak["empty"]
    units = nominal.units if isinstance(nominal, Draw) else ()
    return [
        bold(case.case),
        number(case.power_kw, 1),
        *(_amperes(draw) for draw in case.steady.values()),
        number(empty.pack_v, 1) if isinstance(empty, Draw) else "–",
        number(empty.loss_w) if isinstance(empty, Draw) else "–",
        number(case.peak_kw, 1),
        _amperes(peak),
        "; ".join(f"{unit.ref} {number(unit.current_a, 1)}\u00a0A, {number(unit.volts)}\u00a0V" for unit in units),
    ]


def _links(found: HighVoltage) -> list[Block]:
    if not found.most_at_peak:
        return []
    columns = [
        column("Carries most"),
        column("A, for good", "auto", "right"),
        column("W lost", "auto", "right"),
        column("in the case"),
        column("A, at a peak", "auto", "right"),
        column("W lost", "auto", "right"),
        column("in the case", "1fr"),
    ]
    rows: list[list[Cell]] = [[bold(ref), *_most(found.most_for_good.get(ref)), *_most(peak)] for ref, peak in found.most_at_peak.items()]
    return [
        table(columns, rows, size=SIZE, group=0),
        small("Each thing past the pack's ends in the case, and at the state of the pack, in which it carries most. Of a cable: the core that carries most, and the loss of all its cores."),
    ]  # fmt: skip


def _most(most: LinkMost | None) -> list[Cell]:
    return ["", "", ""] if most is None else [number(most.current_a, 1), number(most.loss_w, 2), f"{most.case}, {most.state}"]


def _amperes(draw: Draw | Failure) -> Cell:
    return number(draw.current_a, 1) if isinstance(draw, Draw) else "–"


def _precharge(found: HighVoltage, pages: Pages) -> list[Block]:
    one = found.precharge
    if one is None:
        return []
    drawing = precharge_chart(one)
    pages.pictures[CURVE] = drawing
    return [
        heading("Pre-charge"),
        facts(*_precharge_rows(one)),
        picture(CURVE, drawing.width_mm, f"The link from empty, at {number(one.emf_v, 1)} V of the full pack: V (1 − exp(−t/τ))."),
    ]


def _precharge_rows(one: Precharge) -> list[tuple[str, str]]:
    least = "" if one.resistor_min_ohm is None else f"{number(one.resistor_min_ohm)} Ω (what its contact makes) "
    stands = (
        "not even alone in time"
        if one.least_load_ohm is None
        else f"{number(one.most_load_w)} W, or {number(one.least_load_ohm)} Ω: with more the link never gets there in time. Converter, heater and inverter must sleep until the main contactor has closed"
    )
    rows = [
        ("Resistor and link", f"{number(one.resistor_ohm)} Ω ({one.resistor}) on {number(1e6 * one.capacitance_f)} µF: τ {number(1000 * one.tau_s, 1)} ms. It may be {least}to {number(one.resistor_max_ohm)} Ω (time-out)"),
        ("Main contactor closes", f"at {number(100 * one.close_share, 1)} %, {number(one.close_share * one.emf_v)} V on the link, after {number(one.closes_after_s, 2)} s; given up after {number(one.time_out_s, 1)} s"),
        ("At first", f"{number(one.first_a, 2)} A, {number(one.first_w)} W"),
        ("Heat of one try", f"{number(one.heat_to_close_j)} J until the contactor closes, {number(one.heat_whole_j)} J in all; {one.tries} in a row {number(one.tries_heat_j)} J, with their rest {number(one.mean_w, 2)} W on the average"),
        ("When it closes", f"{number(one.step_v, 1)} V are left: up to {number(one.surge_a)} A. With no pre-charge at all it would be up to {number(one.unlimited_a)} A, which welds contacts"),
        ("May stand on the link", stands),
    ]  # fmt: skip
    if one.shorted_bears_s is not None and one.healthy_v is not None:
        rows.append(
            (
                "Link that is shorted",
                f"{number(one.shorted_w)} W: the resistor has its pulse after {number(one.shorted_bears_s, 2)} s, when a healthy link is at {number(one.healthy_v)} V. A link that is at the pack's volts at once: a main contact is welded",
            )
        )
    return rows


def _discharge(found: HighVoltage) -> list[Block]:
    if found.discharge is None:
        return []
    columns = [
        column("What", "1fr"),
        column("µF", "auto", "right"),
        column("J, full", "auto", "right"),
        column(f"By itself to {SAFE_V:g} V, s", "auto", "right"),
        column("By active discharge, s", "auto", "right"),
    ]
    rows: list[list[Cell]] = [
        [
            bold(item.ref),
            number(1e6 * item.capacitance_f),
            number(item.energy_j, 1),
            _known(item.passive_s, "not known"),
            _known(item.active_s, ""),
        ]
        for item in (*found.discharge.units, found.discharge.link)
    ]
    wait_s = found.discharge.wait_s
    wait = (
        "How long to wait is not known for every unit: ask their makers."
        if wait_s is None
        else f"Wait {number(wait_s)} s at least after the contactors have opened, or as long as the makers say if that is longer."
    )
    return [
        heading("How long it stays live"),
        caution("WARNING", f"{wait} Then prove dead between the poles and from each pole to the body; a discharge that has failed shows no other way. {DEFER}"),
        table(columns, rows, size=SIZE, group=[len(rows) - 1]),
        small("Times of units: their data sheets. The whole link: all discharge resistors side by side, with every plug in. Usual are 120 s by itself (from memory) and 5 s by active discharge (a trade article)."),
    ]  # fmt: skip


def _known(value: float | None, otherwise: str) -> Cell:
    return otherwise if value is None else number(value, 1)


def _contacts(found: HighVoltage) -> list[Block]:
    if not found.contacts:
        return []
    columns = [
        column("Contact"),
        column("Made for, V", "auto", "right"),
        column("Carries, A", "auto", "right"),
        column("of", "auto", "right"),
        column("Makes, A", "auto", "right"),
        column("Breaks, A", "auto", "right"),
        column("of", "auto", "right"),
        column("What nobody breaks", "1fr"),
    ]
    rows: list[list[Cell]] = [
        [
            bold(duty.ref),
            *(_plain(value) for value in (duty.voltage_max_v, duty.carries_a, duty.rating_a, duty.makes_a, duty.breaks_a, duty.breaking_a)),
            _gap(duty),
        ]
        for duty in found.contacts
    ]
    return [
        heading("Contacts"),
        table(columns, rows, size=SIZE, group=0),
        small(f"Carries: at the pack's continuous power. Makes: as it closes after the pre-charge, with nothing but resistance in the way, so less in truth. Breaks: the most that is drawn on purpose. The disconnect makes and breaks nothing: contactors open first. Some contactors break one way only: regenerating and charging want the two-way kind. Nobody breaks: from what the contact is made for up to where a fuse opens within {SOON_S:g} s, by its catalogue points; there the controller must hold the contactors closed."),
    ]  # fmt: skip


def _plain(value: float | None) -> Cell:
    return "" if value is None else number(value)


def _gap(duty: Duty) -> Cell:
    if not duty.is_gap or duty.breaking_a is None or duty.fuse_a is None:
        return ""
    return f"{number(duty.breaking_a)} to {number(duty.fuse_a)} A ({duty.fuse})"


def _shorts(found: HighVoltage) -> list[Block]:
    if not found.shorts:
        return []
    columns = [
        column("Short at"),
        column("A, most", "auto", "right"),
        column("A, least", "auto", "right"),
        column("Opens first"),
        column("After", "auto", "right"),
        column("A²s before its arc", "auto", "right"),
        column("Breaks, A", "auto", "right"),
        column("Others in its way", "1fr"),
    ]
    rows: list[list[Cell]] = []
    for short in found.shorts:
        first = short.first
        others = ", ".join(fuse.ref for fuse in short.fuses if first is None or fuse.ref != first.ref)
        told = ("", "", "", "") if first is None else (first.ref, _opens(first), _plain(first.i2t_a2s), _plain(first.breaking_a))
        rows.append([bold(short.at), number(short.most_a), number(short.least_a), *told, others])
    return [
        heading("Short circuits"),
        table(columns, rows, size=SIZE, group=0),
        small("Most: full pack, cells at 25 °C, joints without resistance; what a fuse must be able to break. Least: empty pack, cells cold where that is known, joints at the most that the register allows; the time is at that current, by the catalogue's average curve, and below a millisecond the rise of the current itself counts. Ahead of its fuses nothing ends a short inside a battery box."),
    ]  # fmt: skip


def _opens(fuse: ShortFuse) -> str:
    if fuse.opens_s is None:
        return ""
    return (
        "under 1 ms"
        if fuse.opens_s < 0.001
        else f"{number(1000 * fuse.opens_s)} ms"
        if fuse.opens_s < 1
        else f"{number(fuse.opens_s, 1)} s"
    )
