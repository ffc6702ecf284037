"""The battery pack: volts against windows, power by charge, strings, boxes drawn, bars, and the register of bolted joints."""

from __future__ import annotations

from collections import Counter

from halfshaft.book.blocks import BOX, Block, Cell, bold, caution, column, facts, heading, number, para, picture, small, table
from halfshaft.book.frame import BATTERY_WARNING, DEFER, HV_WARNING, Pages, count
from halfshaft.drawings.box_plan import box_plan, layers_of, scale_of
from halfshaft.studies.pack.apart import potentials_v
from halfshaft.studies.pack.heat import TEST_A
from halfshaft.studies.pack.module_order import ModuleOrder
from halfshaft.studies.pack.reach import Reach, Tool
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.pack.working import LOW_PERCENT, Draw
from halfshaft.study import Study

SIZE = 8.5
JOINT_DANGER = (
    "Every stud here is live at all times, and pulling the disconnect does not change that. One bolt at a time, insulated tools, gloves for the full "
    "voltage, eyes covered, never alone; cover each joint before the next is opened. For people trained for work on live batteries only. "
    + DEFER
)
# What a tool is called in the register.
TOOLS: dict[Tool, str] = {
    "short socket": "short socket",
    "long socket": "long socket",
    "after taking out": "only with {} out",
    "none": "none: {}",
    "place not known": "place not known",
}


def pack(study: Study, pages: Pages) -> None:
    """The pack as it works, then the joints to do up; nothing without modules."""
    found = study.pack
    if found is None:
        return
    blocks: list[Block] = [
        caution("WARNING", HV_WARNING),
        caution("WARNING", BATTERY_WARNING),
        _facts(study, found),
        *_windows(found),
        *_power(found),
        *_strings(study, found),
        *_plans(study, found, pages),
        *_bars(study),
    ]
    pages.add("Battery pack", blocks, hv=True)
    if study.loaded_joints:
        pages.add("Bolted joints of the pack", _joints(study), hv=True)


def _facts(study: Study, found: Pack) -> Block:
    parts = ", ".join(f"{name} {number(value, 1)}" for name, value in found.resistance_mohm.items())
    cold = "" if found.cold_modules_mohm is None else f"; modules at 0 °C {number(found.cold_modules_mohm, 1)}"
    rows = [
        ("Strings", f"{count(len(found.strings), 'string')} of {', '.join(str(len(string.modules)) for string in found.strings)} modules"),
        ("Volts", f"{number(found.full_v, 1)} full, {number(found.nominal_v, 1)} nominal, {number(found.empty_v, 1)} empty; everything stops at {number(found.stop_v, 1)}"),
        ("Energy", f"{number(found.energy_kwh, 2)} kWh, of it {number(found.usable_kwh, 2)} used ({number(100 * study.conversion.pack.usable_share)} %)"),
        ("Resistance, mΩ", f"{number(found.total_mohm, 1)} with cells at 25 °C: {parts}{cold}"),
    ]  # fmt: skip
    for split in found.splits:
        rows.append(
            (
                "Disconnect out",
                f"string {split.string}: {number(split.ahead_v, 1)} V down to {split.after}, {number(split.behind_v, 1)} V from {split.before} on, full",
            )
        )
    return facts(*rows)


def _windows(found: Pack) -> list[Block]:
    if not found.windows:
        return []
    states = [item.state for item in found.windows[0].states]
    columns = [
        column("Unit"),
        column("Works from, V", "auto", "right"),
        column("to", "auto", "right"),
        column("Damaged above", "auto", "right"),
        *(column(f"{state}, {number(item.volts)} V", "auto", "right") for state, item in zip(states, found.windows[0].states, strict=True)),
        column("Met first", "1fr"),
    ]
    rows: list[list[Cell]] = [
        [
            bold(window.unit.ref),
            number(window.unit.operate_min_v),
            number(window.unit.operate_max_v),
            number(window.unit.withstand_max_v),
            *(number(item.margin_v, 1) if item.margin_v >= 0 else bold(f"{number(item.margin_v, 1)} OUT") for item in window.states),
            f"{window.first.limit} {number(window.first.limit_v)} V, {window.first.state}",
        ]
        for window in found.windows
    ]
    return [
        heading("Volts against the windows of the units"),
        table(columns, rows, size=SIZE),
        small(f"Under each state: volts left to the nearest limit of the unit. Peak: the volts that are left at peak power with {LOW_PERCENT} % charge and cells at 25 °C. Windows: data sheets of the units."),
    ]  # fmt: skip


def _power(found: Pack) -> list[Block]:
    columns = [
        column("Charge, %", "auto", "right"),
        column("Cells"),
        column("At rest, V", "auto", "right"),
        column("mΩ", "auto", "right"),
        column("Continuous, A", "auto", "right"),
        column("V", "auto", "right"),
        column("Peak, A", "auto", "right"),
        column("V", "auto", "right"),
        column("Usable, kW", "auto", "right"),
        column("Limited by", "1fr"),
    ]
    rows: list[list[Cell]] = [
        [
            str(item.charge_percent),
            "0 °C" if item.cold else "25 °C",
            number(item.open_v, 1),
            number(item.resistance_mohm, 1),
            *_draw(item.continuous),
            *_draw(item.peak),
            bold(number(item.usable_kw, 1)),
            item.limit,
        ]
        for item in found.workings
    ]
    drawn = [
        f"{name} {number(draw.power_kw, 1)} kW"
        for name, draw in (("continuous", found.continuous), ("peak", found.peak))
        if draw is not None
    ]
    words = f"Power drawn: {', '.join(drawn)}. " if drawn else ""
    return [
        heading("Power and sag by charge"),
        table(columns, rows, size=SIZE, group=4),
        small(f"{words}Amperes are of the whole pack and solve P = I (E − I R), the smaller of both. Volts at rest are taken as falling in a straight line from full to empty by charge: an assumption, the cell maker has the curve. Copper at 20 °C, joints at the most that the register allows. “–”: the pack cannot give it, or none is set."),
    ]  # fmt: skip


def _draw(draw: Draw | None) -> list[Cell]:
    return ["–", "–"] if draw is None else [number(draw.current_a, 1), number(draw.volts, 1)]


def _strings(study: Study, found: Pack) -> list[Block]:
    rows: list[list[Cell]] = []
    for string in found.strings:
        nominal_v, full_v = potentials_v(string, "cell_nominal_v"), potentials_v(string)
        for join, module in zip(string.joins, [*string.modules, None], strict=True):
            links = "nothing described" if join.links is None else ", ".join(link.ref for link in join.links)
            name = bold(module.ref) if module else "minus of the pack"
            above = [number(volts[module.plus], 1) if module else number(0.0, 1) for volts in (nominal_v, full_v)]
            rows.append([str(string.number), name, module.box if module else "", *above, links])
    blocks: list[Block] = [
        heading("Strings, plus first"),
        table(
            [
                column("String"),
                column("Module", 30.0),
                column("Box"),
                column("Plus above the end, V nominal", "auto", "right"),
                column("full", "auto", "right"),
                column("Joined to what is before it by", "1fr"),
            ],
            rows,
            size=SIZE,
            group=4,
        ),
    ]
    for order in study.box_orders:
        blocks.append(
            small(
                f"String {order.string}, cable from plus to minus through {', '.join(order.now)}: {number(order.now_mm / 1000, 2)} m; least possible "
                f"{number(order.best_mm / 1000, 2)} m, through {', '.join(order.best)}. Shortest ways open to high voltage, plug to plug, every order tried."
            )
        )
    return blocks


def _plans(study: Study, found: Pack, pages: Pages) -> list[Block]:
    blocks: list[Block] = [heading("Boxes from above")]
    for box in study.conversion.boxes:
        bars = [bar for bar in found.bars if bar.box == box.ref]
        layers = layers_of(box)
        for index, layer in enumerate(layers, start=1):
            drawing = box_plan(box, layer, bars, found.studs)
            file = f"box-{box.ref}-{index}.svg"
            pages.pictures[file] = drawing
            which = f", layer {index} of {len(layers)} from below" if len(layers) > 1 else ""
            blocks.append(picture(file, drawing.width_mm, f"Box {box.ref}{which}, 1 : {scale_of(box):g}."))
    blocks.append(
        small("Numbers: place in the string, plus first. Bars to plugs and fuses are named beyond the wall. Grey: coolant plates.")
    )
    return [*blocks, *(small(_best(order)) for order in study.module_orders)]


def _best(order: ModuleOrder) -> str:
    now = f"{order.box}, stud to stud as {', '.join(order.now)}: {number(order.now_mm)} mm in all."
    if order.now_mm <= order.best_mm + 0.5:
        return f"{now} No other order, and no module turned round, needs less; the first and the last stay for their plugs."
    words = ", ".join(f"{item.ref}{' turned round' if item.is_turned else ''}" for item in order.best)
    return f"{now} Least, with the first and the last where they are: {number(order.best_mm)} mm, as {words}."


def _bars(study: Study) -> list[Block]:
    columns = [
        column("Bar"),
        column("Box"),
        column("From"),
        column("To"),
        column("mm", "auto", "right"),
        column("Length, mm", "auto", "right"),
        column("Studs apart", "auto", "right"),
        column("Wants", "auto", "right"),
        column("A/mm²", "auto", "right"),
        column("µΩ", "auto", "right"),
        column("W", "auto", "right"),
        column("W, peak", "auto", "right"),
        column("Cut", 14.0),
    ]
    rows: list[list[Cell]] = []
    for item in study.loaded_bars:
        bar = item.bar
        rows.append(
            [
                bold(bar.ref), bar.box, bar.start, bar.end, f"{bar.wide_mm:g} × {bar.thick_mm:g}", "measure" if bar.length_mm is None else bold(number(bar.length_mm)),
                _known(bar.apart_mm), _known(bar.needed_mm), _known(item.density_a_per_mm2, 2), _known(item.resistance_uohm, 1),
                _known(item.continuous_w, 2), _known(item.peak_w, 2), BOX,
            ]
        )  # fmt: skip
    proposed = sorted({item.bar.box for item in study.loaded_bars if item.bar.is_proposed})
    words = f"Nobody has described bars for {', '.join(proposed)}: these are proposed, 20 × 3 mm. " if proposed else ""
    return [
        heading("Bars"),
        table(columns, rows, size=SIZE, group=0),
        small(f"{words}Length is developed, end to end; between two studs of modules a straight bar wants their distance, its width and 11 mm more (common practice). Copper 0.017241 Ω mm²/m at 20 °C (IEC 60028). Amperes and watts at the continuous and the peak power with {LOW_PERCENT} % charge."),
    ]  # fmt: skip


def _known(value: float | None, decimals: int = 0) -> str:
    return "" if value is None else number(value, decimals)


def _joints(study: Study) -> list[Block]:
    reach = {item.joint: item for item in study.reaches}
    columns = [
        column("Joint"),
        column("Stud", 18.0),
        column("Bars"),
        column("Bolt"),
        column("N m", "auto", "right"),
        column("µΩ, most", "auto", "right"),
        column("W, peak", "auto", "right"),
        column(f"mV at {TEST_A:g} A", "auto", "right"),
        column("Tool", "1fr"),
        column("Done up", 13.0),
        column("Mark", 11.0),
        column("mV found", 14.0),
        column("By", 11.0),
    ]
    rows: list[list[Cell]] = []
    for item in study.loaded_joints:
        joint = item.joint
        rows.append(
            [
                bold(joint.ref), joint.stud, ", ".join(joint.busbars), joint.bolt, bold(number(joint.torque_nm, 0 if joint.torque_nm % 1 == 0 else 1)),
                number(joint.allowed_uohm), _known(item.peak_w, 2), number(item.test_mv, 1), _tool(reach.get(joint.ref)), BOX, BOX, BOX, BOX,
            ]
        )  # fmt: skip
    stacks: dict[tuple[str, ...], list[str]] = {}
    for item in study.loaded_joints:
        stacks.setdefault(item.joint.stack, []).append(item.joint.ref)
    return [
        caution("DANGER", JOINT_DANGER),
        para("From below, in this order and nothing else between bar and face:"),
        *(para(f"{' · '.join(stack)}: {_span(refs)}") for stack, refs in stacks.items()),
        table(columns, rows, size=8, group=0),
        small(f"With the box in the car and its lid off: {_tools(study)}. A socket and a hand are tried as columns over each bolt, its head taken to look to the opening; their sizes are from memory, so try it on the real box."),
        small(f"W: the joint at the most micro-ohms that it may have and {_peak_words(study)}. mV: what a micro-ohm meter of {TEST_A:g} A may show across bar and stud, at most. Do up to the torque, draw the mark over bolt, washer and bar, and look at all marks after the first drive."),
        {"kind": "sign"},
    ]  # fmt: skip


def _tools(study: Study) -> str:
    tools = Counter(item.tool for item in study.reaches)
    return ", ".join(f"{name} {tools[name]}" for name in TOOLS if name in tools)


def _peak_words(study: Study) -> str:
    draw = study.pack.peak if study.pack else None
    return "peak power" if draw is None else f"{number(draw.current_a)} A, peak power with {LOW_PERCENT} % charge"


def _tool(reach: Reach | None) -> str:
    return "not in a box" if reach is None else TOOLS[reach.tool].format(", ".join(reach.in_the_way))


def _span(refs: list[str]) -> str:
    return refs[0] if len(refs) == 1 else ", ".join(refs) if len(refs) < 4 else f"{refs[0]} to {refs[-1]}, {len(refs)} joints"
