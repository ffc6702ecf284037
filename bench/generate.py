"""Conversions of any size, made by rule: the same numbers give the same conversion. Invented through and through."""

from __future__ import annotations

from halfshaft.model.car import Car, Limits, Weighed
from halfshaft.model.conversion import Conversion, Job, Supply
from halfshaft.model.devices import Case, CaseLoad, Device, Tail
from halfshaft.model.parts import Cavity, Connector, Element, InsulationClass, Part, Terminal, WireType
from halfshaft.model.wires import Loom, Point, Run, Wire

WAYS = 12
COLOURS = ("BK", "BN", "RD", "YE", "GN", "BU", "VT", "GY", "WH", "PK")


def generated(wires: int, *, wires_a_loom: int = 100, board: bool = True) -> Conversion:
    """`wires` wires over three quarters as many runs, in looms of a hundred, with a battery, fuses, loads and grounds.

    Each loom is a trunk with branches; every tenth branch is also joined to the next one by a spare run, so that the
    network has loops, though no shortest way uses them.
    """
    looms = max(1, wires // wires_a_loom)
    wires_a_loom = wires // looms
    runs_a_loom = round(0.75 * wires / looms)
    parts = _parts()
    points, runs, devices, tails, listed, loads, grounds = [], [], [], [], [], [], []
    devices.append(_device("BAT", "P-BAT"))
    devices.append(_device("FB", "P-FB"))
    for loom in range(looms):
        _loom(loom, runs_a_loom, wires_a_loom, points, runs, devices, tails, listed, loads, grounds)
    points.append(Point(ref="P0", name="battery", x_mm=0.0, y_mm=0.0, z_mm=300.0, kind="end"))
    tails.append(Tail(device="BAT", connector="P", point="P0", tail_mm=100.0))
    return Conversion(
        job=Job(ref="BIG", name="Generated", owner="bench", revision="A", date="2026-01-01"),
        car=_car(),
        supply=Supply(battery="BAT"),
        parts=parts,
        terminals=(_terminal("T1", 0.35, 6.0), _terminal("RING", 0.35, 50.0)),
        wire_types=tuple(
            WireType(section_mm2=size, wall="thin", outside_diameter_mm=outside, resistance_mohm_per_m=ohm, mass_g_per_m=6.0)
            for size, outside, ohm in ((0.5, 1.6, 37.1), (1.0, 2.1, 18.5), (2.5, 3.0, 7.6))
        ),
        insulation_classes=(InsulationClass(ref="B", material="PVC", temperature_max_c=100.0),),
        devices=tuple(devices),
        tails=tuple(tails),
        ground_points=tuple(grounds),
        loads=tuple(loads),
        cases=(Case(ref="on"),),
        case_loads=tuple(CaseLoad(case="on", load=load.ref, duty=1.0, steady_a=load.steady_a, peak_a=1.0, peak_s=0.0) for load in loads),
        points=tuple(points),
        runs=tuple(runs),
        looms=tuple(
            Loom(
                ref=f"L{loom}", name=f"Loom {loom}", carries="LV", built="on a board",
                board_width_mm=2440.0 if board else None, board_height_mm=1220.0 if board else None,
            )
            for loom in range(looms)
        ),
        wires=tuple(listed),
    )  # fmt: skip


def _loom(loom, run_count, wire_count, points, runs, devices, tails, listed, loads, grounds) -> None:  # type: ignore[no-untyped-def]
    """A trunk of points 150 mm apart with a branch at each: one connector at its end, all wired to the trunk's head."""
    stations = max(2, run_count // 3)
    y = 300.0 * loom
    for index in range(stations):
        points.append(Point(ref=f"P{loom}-{index}", name="trunk", x_mm=150.0 * index, y_mm=y, z_mm=300.0, kind="breakout"))
        points.append(Point(ref=f"Q{loom}-{index}", name="branch", x_mm=150.0 * index, y_mm=y + 80.0, z_mm=300.0, kind="end"))
        if index:
            runs.append(Run(ref=f"U{loom}-{index}", from_point=f"P{loom}-{index - 1}", to_point=f"P{loom}-{index}", may_carry=("LV",)))
        runs.append(Run(ref=f"V{loom}-{index}", from_point=f"P{loom}-{index}", to_point=f"Q{loom}-{index}", may_carry=("LV",)))
        if index and len(runs) < run_count * (loom + 1):
            runs.append(
                Run(
                    ref=f"X{loom}-{index}",
                    from_point=f"Q{loom}-{index - 1}",
                    to_point=f"Q{loom}-{index}",
                    length_taped_mm=900.0,
                    may_carry=("LV",),
                )
            )
    spread = max(1, stations // max(1, wire_count // (WAYS - 1)))
    wired = 0
    unit = 0
    while wired < wire_count:
        head, far = f"H{loom}-{unit}", f"D{loom}-{unit}"
        station = min(stations - 1, (unit + 1) * spread)
        for ref, point in ((head, f"P{loom}-{unit}"), (far, f"Q{loom}-{station}")):
            devices.append(_device(ref, "P-UNIT"))
            tails.append(Tail(device=ref, connector="A", point=point, tail_mm=90.0))
        for way in range(1, min(WAYS, wire_count - wired) + 1):
            colour = COLOURS[(way + unit) % len(COLOURS)]
            size = (0.5, 1.0, 2.5)[way % 3]
            listed.append(
                Wire(
                    ref=f"W{loom}-{wired}",
                    meaning="generated",
                    from_pin=f"{head}.A.{way}",
                    to_pin=f"{far}.A.{way}",
                    section_mm2=size,
                    colour=colour,
                    insulation_class="B",
                    loom=f"L{loom}",
                )
            )
            wired += 1
        unit += 1


def one_loom(connectors: int, wires: int) -> Conversion:
    """One loom on a board: a trunk with branches that branch again, and wires between connectors near and far."""
    few = generated(10, wires_a_loom=10)
    points, runs, devices, tails = [], [], [], []

    def point(ref: str, x: float, y: float) -> None:
        points.append(Point(ref=ref, name="breakout", x_mm=x, y_mm=y, z_mm=300.0, kind="breakout"))

    def run(start: str, end: str, length: float) -> None:
        runs.append(Run(ref=f"U{len(runs)}", from_point=start, to_point=end, length_taped_mm=length, may_carry=("LV",)))

    stations = max(2, connectors // 6)
    nodes = []
    for index in range(stations):
        x = 260.0 * index
        point(f"T{index}", x, 0.0)
        if index:
            run(f"T{index - 1}", f"T{index}", 262.0 + 10.0 * (index * 7 % 11))
        for side in (-1, 1):
            point(f"B{index}-{side}", x, 100.0 * side)
            run(f"T{index}", f"B{index}-{side}", 120.0 + 20.0 * ((index * 5 + side) % 13))
            nodes.append(f"B{index}-{side}")
    for index in range(connectors):
        devices.append(_device(f"D{index}", "P-UNIT"))
        tails.append(
            Tail(device=f"D{index}", connector="A", point=nodes[index * len(nodes) // connectors], tail_mm=90.0 + 10.0 * (index * 3 % 9))
        )
    listed = []
    for number in range(wires):
        start, turn = number % connectors, number // connectors
        end = (start + (1, 3, 9, 40)[turn % 4]) % connectors
        way = turn % (WAYS // 2) + 1
        listed.append(
            Wire(
                ref=f"W{number}", meaning="generated", from_pin=f"D{start}.A.{way}", to_pin=f"D{end}.A.{WAYS // 2 + way}",
                section_mm2=(0.5, 1.0, 2.5)[number % 3], colour=COLOURS[number % len(COLOURS)], insulation_class="B", loom="L0",
            )
        )  # fmt: skip
    return few.model_copy(
        update={
            "supply": Supply(), "devices": tuple(devices), "tails": tuple(tails), "ground_points": (), "loads": (), "case_loads": (),
            "points": tuple(points), "runs": tuple(runs), "looms": few.looms[:1], "wires": tuple(listed),
        }
    )  # fmt: skip


def _device(ref: str, part: str) -> Device:
    return Device(ref=ref, part=part, name=f"unit {ref}", place="somewhere", x_mm=0.0, y_mm=0.0, z_mm=300.0)


def _terminal(ref: str, low: float, high: float) -> Terminal:
    return Terminal(
        ref=ref, name=ref, section_min_mm2=low, section_max_mm2=high, current_max_a=40.0, contact_resistance_mohm=5.0, strip_mm=5.0
    )


def _parts() -> tuple[Part, ...]:
    def connector(ref: str, ways: int, terminal: str) -> Connector:
        cavities = tuple(
            Cavity(ref=str(way), name=f"way {way}", role="signal", terminal=terminal, sealed="no") for way in range(1, ways + 1)
        )
        return Connector(
            ref=ref,
            kind="plug",
            rows=2,
            columns=max(1, ways // 2),
            pitch_mm=4.0,
            plug_width_mm=33.0,
            plug_height_mm=18.0,
            plug_length_mm=26.0,
            cavities=cavities,
        )

    def part(ref: str, connectors: tuple[Connector, ...], inside: tuple[Element, ...]) -> Part:
        return Part(
            ref=ref,
            name=ref,
            kind="unit",
            mass_kg=0.5,
            length_mm=100.0,
            width_mm=80.0,
            height_mm=40.0,
            connectors=connectors,
            inside=inside,
        )

    return (
        part("P-UNIT", (connector("A", WAYS, "T1"),), (Element(ref="load", kind="load", pin_a="A.1", pin_b="A.2"),)),
        part("P-BAT", (connector("P", 1, "RING"),), (Element(ref="cells", kind="source", pin_a="P.1", pin_b="~minus"),)),
        part("P-FB", (connector("A", WAYS, "T1"),), ()),
    )


def _car() -> Car:
    return Car(
        wheelbase_mm=2400.0, track_front_mm=1300.0, track_rear_mm=1300.0, tyre_static_radius_mm=280.0, front_edge_x_mm=-700.0,
        rear_edge_x_mm=3000.0, overall_width_mm=1600.0, overall_height_mm=1350.0, ground_clearance_mm=150.0, seats=4, cg_height_mm=520.0,
        weighed=Weighed(front_left_kg=200.0, front_right_kg=200.0, rear_left_kg=200.0, rear_right_kg=200.0, state="empty"),
        limits=Limits(front_axle_kg=5000.0, rear_axle_kg=5000.0, gross_kg=9000.0),
    )  # fmt: skip
