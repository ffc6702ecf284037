"""High-voltage safety: interlock and bonds, insulation and its splitting, plugs and marks, what each output does."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from halfshaft.book.blocks import Block, Cell, bold, caution, column, facts, heading, number, small, table
from halfshaft.book.frame import DEFER, HV_WARNING, Pages
from halfshaft.studies.hv_safety.bonding import Bonding, BondPath
from halfshaft.studies.hv_safety.capacitance import Capacitances
from halfshaft.studies.hv_safety.clearance import Distances
from halfshaft.studies.hv_safety.insulation import CHARGING, Insulation
from halfshaft.studies.hv_safety.interlock import BATTERY_V, Interlock, Step
from halfshaft.studies.hv_safety.marks import Marks
from halfshaft.studies.hv_safety.outputs import STATES, Outputs
from halfshaft.studies.hv_safety.splitting import Split
from halfshaft.studies.hv_safety.study import HvSafety
from halfshaft.study import Study

SIZE = 8.5
COMPUTED = "Computed from the tables of this conversion, not measured. " + DEFER


def hv_safety(study: Study, pages: Pages) -> None:
    """Nothing where nothing is live; of each page what its tables allow."""
    found = study.hv_safety
    if found is None:
        return
    loop, insulation = found.interlock, found.insulation
    titled: list[tuple[str, list[Block]]] = [
        ("High-voltage safety", [*(_interlock(loop) if loop else ()), *_bonds(found.bonding), *_plugs(found), *_marked(found.marks)]),
        ("High-voltage safety: insulation", [*(_insulation(insulation) if insulation else ()), *_capacitors(found.capacitances)]),
        ("High-voltage safety: what each output does", _outputs(found.outputs)),
    ]
    first = caution("WARNING", HV_WARNING)
    for title, blocks in titled:
        if blocks:
            pages.add(title, [first, *blocks], hv=True)
            first = caution("NOTICE", COMPUTED)


def _interlock(loop: Interlock) -> list[Block]:
    if loop.gap is not None:
        return [
            heading("Interlock loop"),
            small(f"Broken: from {loop.first} it leads to {loop.gap[0]}, from {loop.last} back to {loop.gap[1]}, and nothing joins these two."),
        ]  # fmt: skip
    columns = [
        column("By wire"),
        column("To"),
        column("Link"),
        column("Held closed by", "1fr"),
        column("Ω so far", "auto", "right"),
    ]
    rows: list[list[Cell]] = []
    wires: list[str] = []
    for step in loop.steps:
        if step.kind == "wire":
            wires.append(step.ref)
        else:
            rows.append([", ".join(wires), bold(step.start), _link(step), ", ".join(step.held_by), number(step.ohm_from_start, 2)])
            wires = []
    rows.append([", ".join(wires), bold(loop.last), "", "", number(loop.loop_ohm, 2)])
    read = (
        ""
        if loop.closed_v is None
        else f" All closed, {loop.last} has {number(loop.closed_v, 2)} V with {number(BATTERY_V, 1)} V at the source; opened anywhere, none."
    )
    outside = (
        "" if not loop.outside else f" Not in the loop: {_names(plug.ref for plug in loop.outside)}; bolted, or live from the mains only."
    )
    covers = "" if not loop.open_covers else f" No cover or handle of {_names(loop.open_covers)} is in it: they must want a tool to open."
    return [
        heading(f"Interlock loop, from {loop.first} to {loop.last}"),
        table(columns, rows, size=SIZE),
        small(f"Dead, the loop unplugged at both ends: ohms from {loop.first}, copper at 20 °C, contacts left out.{read}{outside}{covers}"),
    ]  # fmt: skip


def _link(step: Step) -> str:
    return step.ref.partition(".")[2]


def _unbroken(words: str) -> str:
    """A number stays on the line of its unit."""
    return re.sub(r"(?<=\d) (?=[A-ZkµΩ%])", "\u00a0", words)


def _names(refs: Iterable[str]) -> str:
    return ", ".join(refs)


def _bonds(bonding: Bonding) -> list[Block]:
    columns = [
        column("Cases, and their straps", "1fr"),
        column("Copper, mΩ", "auto", "right"),
        column("With joints, mΩ", "auto", "right"),
        column("Reads at most, mΩ", "auto", "right"),
    ]
    alike: dict[tuple[str, ...], list[str]] = {}
    for path in bonding.paths:
        alike.setdefault(_bond(path), []).append(f"{path.device} ({_names(path.bonds)})" if path.bonds else path.device)
    pair = bonding.worst_pair
    between = (
        ""
        if pair is None
        else f" The most between two cases that one person can touch: {pair.one} and {pair.other}, {number(pair.between_mohm, 1)} mΩ of 200 (from memory)."
    )
    return [
        heading("Bonds to the body"),
        table(columns, [[bold(_names(cases)), *bond] for bond, cases in alike.items()], size=SIZE, group=1),
        small(f"100 mΩ are allowed, tested with 0.2 A or more (UN R100, 5.1.2.2); the shop asks for less. Joints: 5 mΩ each, rather too much.{between}"),
    ]  # fmt: skip


def _bond(path: BondPath) -> tuple[str, ...]:
    if path.ends == "body":
        return number(path.copper_mohm, 2), number(path.path_mohm, 1), number(path.reading_max_mohm)
    return "", "plastic outside" if path.ends == "plastic" else "not joined to it", ""


def _insulation(found: Insulation) -> list[Block]:
    columns = [
        column("State"),
        column("MΩ, a pole", "auto", "right"),
        column("Both poles", "auto", "right"),
        column("Asked for", "auto", "right"),
        column("Units, MΩ of a pole alone, and their share of what leaks", "1fr"),
    ]
    rows: list[list[Cell]] = [
        [
            bold(state.name),
            number(state.pole_mohm, 2),
            number(state.both_poles_mohm, 2),
            number(state.required_mohm, 3),
            ", ".join(f"{unit.unit}\u00a0{number(unit.mohm)}\u00a0({number(unit.share_percent)}\u00a0%)" for unit in state.units),
        ]
        for state in found.states
    ]
    case = f"{number(found.ohm_per_v)} Ω/V" if found.ohm_per_v is not None else "100 Ω/V, as nobody has said which case it is"
    left_out = "" if not found.without_figure else f" Without a figure, and left out: {_names(found.without_figure)}."
    return [
        heading("Insulation to the body"),
        table(columns, rows, size=SIZE, group=1),
        small(f"From data sheets, new and dry. Asked for: {case} at {number(found.full_v, 1)} V (UN R100, 02 series, 5.1.3); {CHARGING}: 1 MΩ (5.1.3.4, from memory). What holds contacts counts whole on both sides of them.{left_out}"),
        *_proof(found),
        *_splits(found.splits),
    ]  # fmt: skip


def _proof(found: Insulation) -> list[Block]:
    proof, touch_ma = found.proof, found.touch_ma
    if proof is None or touch_ma is None:
        return []
    return [
        facts(
            ("Proof by volts", _unbroken(f"Everything closed, pack full, meter of {number(proof.meter_ohm / 1e6)} MΩ: either pole to the body {number(proof.pole_v)} V. With {number(proof.known_ohm / 1000, 1)} kΩ beside the meter, on the pole that has more, {number(proof.pole_with_known_v, 1)} V; up to {number(proof.most_with_known_v, 1)} V passes. R = {number(proof.known_ohm / 1000, 1)} kΩ × pack volts × (1/second − 1/first) is that of the other pole: {number(proof.isolation_mohm, 2)} MΩ expected (UN R100, annexes 4B, 5A). The resistor bears the pack's volts for as long as it is on: {number(proof.pack_v**2 / proof.known_ohm, 1)} W in a dead short of the other pole.")),
            ("Through a hand", f"on one pole at most {number(touch_ma, 2)} mA d.c., once capacitors are charged"),
        )
    ]  # fmt: skip


def _splits(splits: Sequence[Split]) -> list[Block]:
    if not splits:
        return []
    columns = [
        column("Step", "auto", "right"),
        column("Suspects", "1fr"),
        column("Pull"),
        column("Measure at"),
        column("Low"),
        column("Good"),
    ]
    rows: list[list[Cell]] = [
        [
            str(step.number),
            _names(step.suspects),
            _names(step.pull) or "nothing",
            bold(step.measure_at),
            _next(step.if_low, step.low_unit),
            _next(step.if_good, step.good_unit),
        ]
        for step in splits
    ]
    last = [number_of for number_of in range(1, len(splits)) if splits[number_of].side != splits[number_of - 1].side]
    starts: dict[str, int] = {}
    for step in splits:
        starts.setdefault(step.side, step.number)
    return [
        heading("Finding the bad unit"),
        caution("WARNING", f"Battery boxes, and what is plugged to them, stay live whatever is pulled. Before a plug is pulled: contactors open, service disconnect out; it goes back only to measure what lies on both sides of it. At live parts only the two volt readings, at the volts of what is joined; an insulation tester is for dead circuits. {DEFER}"),
        table(columns, rows, size=SIZE, group=last),
        small(f"Open the contactors and see which side is low: {'; '.join(f'{side} begins with step {first}' for side, first in starts.items())}. What was pulled stays off. A unit found bad may be its cable: take that off too."),
    ]  # fmt: skip


def _next(step: int | None, unit: str | None) -> str:
    return f"step {step}" if step is not None else unit or ""


def _capacitors(found: Capacitances | None) -> list[Block]:
    if found is None:
        return []
    poles = "; ".join(
        f"{pole.pole} {number(pole.cy_nf)} nF, {number(1000 * pole.energy_j, 1)} mJ ({number(1000 * pole.above_60v_j, 1)} above 60 V)"
        for pole in found.poles
    )
    rows = [
        ("Each pole to the body", f"{poles}; less than 200 mJ (ISO 6469-4:2015, 5.2.3)"),
        ("Between the poles", f"{number(found.cx_uf)} µF, {number(found.x_energy_j, 1)} J"),
    ]
    for item in found.body_currents[:1]:
        whose = "its own capacitors, whole" if item.is_isolated else "all of the car, as nothing says that it isolates"
        each = "; ".join(
            f"{number(one.current_ma, 2)} mA at {number(one.mains_v)} V, {number(one.mains_hz)} Hz"
            for one in found.body_currents
            if one.charger == item.charger
        )
        rows.append((f"To earth through {item.charger}", f"{each}; {number(item.cy_nf)} nF, {whose}"))  # fmt: skip
    return [heading(f"Capacitors at {number(found.full_v, 1)} V"), facts(*rows)]


def _plugs(found: HvSafety) -> list[Block]:
    columns = [
        column("Plugs", "1fr"),
        column("V", "auto", "right"),
        column("Dirt", "auto", "right"),
        column("In air, mm", "auto", "right"),
        column("needs", "auto", "right"),
        column("Along, mm", "auto", "right"),
        column("needs", "auto", "right"),
        column("Has"),
        column("needs"),
    ]
    return [
        heading("Plugs with live pins"),
        table(columns, _plug_rows(found.distances, found.marks), size=SIZE, group=1),
        small("Dirt: pollution degree by the zone. In air, and along the insulation: IEC 60664-1:2007, basic insulation, overvoltage category II, as transcribed in a public source. Has and needs: what keeps a wire (IPXXD, in cabin and luggage space) or a finger (IPXXB) off, mated (UN R100, 5.1.1.1, 5.1.1.2, read in a proposal for amendment). A dash: not known, or beyond the tables."),
    ]  # fmt: skip


def _plug_rows(distances: Distances, marks: Marks) -> list[list[Cell]]:
    """Plugs that are alike in all columns share a row."""
    touch = {plug.plug: plug for plug in marks.touch}
    alike: dict[tuple[str, ...], list[str]] = {}
    for plug in distances.plugs:
        key = (
            number(plug.volts, 1),
            str(plug.pollution),
            _known(plug.clearance_mm),
            _known(plug.least_clearance_mm),
            _known(plug.creepage_mm),
            _known(plug.least_creepage_mm),
            touch[plug.plug].has or "–",
            touch[plug.plug].needs,
        )
        alike.setdefault(key, []).append(plug.plug)
    return [[bold(_names(plugs)), *key] for key, plugs in alike.items()]


def _known(value_mm: float | None) -> str:
    return "–" if value_mm is None else number(value_mm, 1)


def _marked(marks: Marks) -> list[Block]:
    """Colours, screens, signs and the mains earth, each with the refs that share an answer."""
    screens = {
        cable.cable: (cable.screen_earthed or "not said where earthed") if cable.is_screened else "no screen" for cable in marks.cables
    }
    rows = [
        ("Colour of cables", _shared({cable.cable: cable.covering or "not said" for cable in marks.cables})),
        ("Their screens, earthed", _shared(screens)),
        ("High-voltage sign", _shared({unit.device: unit.sign or "not said" for unit in marks.signs})),
    ]
    if marks.earths:
        earth = {
            item.cable: "no core leads it" if item.core is None else f"core {item.core} leads it from end to end" for item in marks.earths
        }
        rows.append(("Protective earth", _shared(earth)))
    return [
        heading("Marks"),
        facts(*rows),
        small("Orange outside enclosures (UN R100, 5.1.1.5.3); the sign, ISO 7010-W012, where it is seen before a cover is opened (5.1.1.5.1, from memory). Screens at both ends at inverter and motor: common practice."),
    ]  # fmt: skip


def _shared(answers: dict[str, str]) -> str:
    refs: dict[str, list[str]] = {}
    for ref, answer in answers.items():
        refs.setdefault(answer, []).append(ref)
    return "; ".join(f"{answer}: {_names(found)}" for answer, found in refs.items())


def _outputs(outputs: Outputs | None) -> list[Block]:
    if outputs is None:
        return []
    half = len(STATES) // 2
    blocks: list[Block] = []
    for states in (STATES[:half], STATES[half:]):
        columns = [column("Output", 30), column("Driven by", 22), *(column(state.replace("_", " "), "1fr") for state in states)]
        rows: list[list[Cell]] = [
            [bold(row.ref), row.driven_by, *(_unbroken(getattr(row, state)) or "?" for state in states)] for row in outputs.rows
        ]
        blocks.append(table(columns, rows, size=8))
    return [
        *blocks,
        small("As output_states.csv has it; a question mark: nobody has said. Findings say where cells contradict each other and which outputs do not reach what they should."),
    ]  # fmt: skip
