"""The demo's 12 V side built a second time, straight from its tables and by other code, and solved by ngspice.

Only cut lengths come from the program (they have checks of their own), and the network's records, which carry no arithmetic.
Contacts are chosen by hand from the state table of the demo: what is on, and what feeds it.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from networks import SPICE, spice_volts

from halfshaft.files.folder import read_folder
from halfshaft.studies.low_voltage.records import LowVoltage
from halfshaft.studies.network.records import DcNetwork, Load, LoadKind, Resistor, Source
from halfshaft.study import Study

TERN = Path(__file__).parents[2] / "examples" / "tern"
HOTTEST_OUTSIDE_C = 35.0
SUPPLY_V = 13.8
# ngspice takes no resistor of nought ohm.
LEAST_OHM = 1e-7
KINDS: dict[str, LoadKind] = {
    "motor": "constant current",
    "constant current": "constant current",
    "resistive": "resistive",
    "constant power": "constant power",
}

DRIVEN = {
    "FRB.K1", "FRB.K3", "FRB.K4", "IGN.ignition", "IS.inertia", "VCU.vacuum drive", "VCU.pump 1 drive", "BMM.main plus drive", "BMM.main minus drive",
    "BMM.monitor supply", "DD.speed drive a", "OL.old brake switch", "VS.switch",
}  # fmt: skip
GAUGES = {"DD.fuel gauge drive", "DD.temperature gauge drive"}
FAN = {"FRB.K2", "VCU.fan drive"}
PUMP_2 = {"FRB.K5", "VCU.pump 2 drive"}
# Outside air, whether the converter feeds, contacts that are closed.
CASES = {
    "night and rain": (8.0, True, DRIVEN | GAUGES | FAN | PUMP_2),
    "hot": (35.0, True, DRIVEN | GAUGES | FAN | PUMP_2),
    "cold": (-5.0, True, DRIVEN | GAUGES | PUMP_2),
    "limp": (5.0, False, DRIVEN | {"DD.charge lamp drive"}),
}

pytestmark = pytest.mark.skipif(SPICE is None, reason="ngspice is not installed: sudo apt-get install ngspice")


@cache
def rows(name: str) -> list[dict[str, str]]:
    with (TERN / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def by_ref(name: str) -> dict[str, dict[str, str]]:
    return {row["ref"]: row for row in rows(name)}


@cache
def inside() -> list[tuple[str, dict[str, Any]]]:
    """Everything inside every device."""
    parts = [tomllib.loads(path.read_text(encoding="utf-8")) for path in (TERN / "parts").glob("*.toml")]
    by_part = {part["ref"]: part for part in parts}
    return [(row["ref"], item) for row in rows("devices.csv") for item in by_part[row["part"]].get("inside", [])]


@cache
def terminals() -> dict[str, str]:
    """The terminal in each cavity, and at each splice."""
    found = {row["ref"]: row["terminal"] for row in rows("splices.csv")}
    parts = [tomllib.loads(path.read_text(encoding="utf-8")) for path in (TERN / "parts").glob("*.toml")]
    by_part = {part["ref"]: part for part in parts}
    for row in rows("devices.csv"):
        for connector in by_part[row["part"]].get("connectors", []):
            for cavity in connector["cavities"]:
                found[f"{row['ref']}.{connector['ref']}.{cavity['ref']}"] = cavity["terminal"]
    return found


@cache
def study() -> Study:
    return Study(read_folder(TERN))


def result() -> LowVoltage:
    found = study().low_voltage
    assert found is not None
    return found


def wires(outside_c: float) -> Iterator[Resistor]:
    """Copper at the air of the hottest zone passed, 35 C outside being the hottest of any case, and a terminal on each end."""
    per_m = {float(row["section_mm2"]): float(row["resistance_mohm_per_m"]) for row in rows("wire_types.csv")}
    terminal = {ref: float(row["contact_resistance_mohm"]) for ref, row in by_ref("terminals.csv").items()}
    zone = {row["ref"]: float(row["ambient_max_c"]) for row in rows("zones.csv")}
    run, point = by_ref("runs.csv"), by_ref("points.csv")
    for ref, row in by_ref("wires.csv").items():
        laid = study().routing.wires[ref]
        if laid.length is None:
            continue
        names = {run[step.run]["zone"] for step in (laid.route.steps if laid.route else ())}
        names |= {point[end.node]["zone"] for end in (laid.start, laid.end) if end.node in point}
        air_c = outside_c + max(zone[name] for name in names if name) - HOTTEST_OUTSIDE_C
        copper_mohm = per_m[float(row["section_mm2"])] * laid.length.cut_mm / 1000 * (1 + 0.00393 * (air_c - 20))
        ends_mohm = sum(terminal[terminals()[row[end]]] for end in ("from_pin", "to_pin"))
        yield Resistor(ref=ref, start=row["from_pin"], end=row["to_pin"], ohm=(copper_mohm + ends_mohm) / 1000)


def network(name: str) -> DcNetwork:
    outside_c, is_converter_on, closed = CASES[name]
    asked = {row["load"]: row for row in rows("case_loads.csv") if row["case"] == name and float(row["duty"]) > 0}
    table = by_ref("loads.csv")
    # Its earth left with the engine, and nothing feeds it.
    asked.pop("OL.rev counter", None)
    resistors, loads = list(wires(outside_c)), []
    for device, item in inside():
        ref, start, end = f"{device}.{item['ref']}", f"{device}.{item['pin_a']}", f"{device}.{item['pin_b']}"
        ohm = item.get("resistance_ohm", 0.0)
        if item["kind"] in ("link", "fuse", "resistor") or ref in closed:
            resistors.append(Resistor(ref=ref, start=start, end=end, ohm=max(ohm, LEAST_OHM)))
        if ref in asked and item["kind"] in ("load", "coil"):
            steady_a = float(asked[ref]["steady_a"] or table[ref]["steady_a"])
            # Contactors are held by an economiser at a tenth of what their coils take; relays are their coils.
            is_held = item["kind"] == "coil" and steady_a * ohm < 0.5 * SUPPLY_V
            kind = "constant current" if is_held else "resistive" if item["kind"] == "coil" else KINDS[table[ref]["kind"]]
            value = {"constant current": steady_a, "constant power": steady_a * SUPPLY_V, "resistive": ohm or SUPPLY_V / steady_a}[kind]
            loads.append(Load(ref=ref, plus=start, minus=end, kind=kind, value=value, works_from_v=6.0))
    resistors += [Resistor(ref=f"GP{number}", start=f"GP{number}.S.1", end="body", ohm=0.0005) for number in range(1, 9)]
    # The battery gives nothing while its posts are above its 12.8 V at rest.
    converter = Source(ref="DCDC.output", plus="DCDC.P.1", minus="DCDC.N.1", volt=SUPPLY_V, ohm=0.002)
    battery = Source(ref="BAT.cells", plus="BAT.~post", minus="BAT.N.1", volt=12.8, ohm=0.014)
    source = converter if is_converter_on else battery
    return DcNetwork(ground="body", resistors=tuple(resistors), loads=tuple(loads), sources=(source,))


def solved(built: DcNetwork) -> dict[str, float]:
    """Volts of every node, by ngspice, which wants short names."""
    pins = [pin for item in built.resistors for pin in (item.start, item.end)]
    pins += [pin for item in (*built.loads, *built.sources) for pin in (item.plus, item.minus)]
    names = {pin: f"n{number}" for number, pin in enumerate(dict.fromkeys(pins))} | {"body": "0"}
    short = DcNetwork(
        ground="0",
        resistors=tuple(Resistor(ref=f"W{n}", start=names[r.start], end=names[r.end], ohm=r.ohm) for n, r in enumerate(built.resistors)),
        loads=tuple(
            Load(
                ref=f"L{n}",
                plus=names[load.plus],
                minus=names[load.minus],
                kind=load.kind,
                value=load.value,
                works_from_v=load.works_from_v,
            )
            for n, load in enumerate(built.loads)
        ),
        sources=tuple(Source(ref="s", plus=names[s.plus], minus=names[s.minus], volt=s.volt, ohm=s.ohm) for s in built.sources),
    )
    theirs = spice_volts(short, SPICE or "") | {"0": 0.0}
    return {pin: theirs[name] for pin, name in names.items() if name in theirs}


@pytest.mark.parametrize("name", CASES)
def test_the_demo_has_the_volts_and_currents_that_ngspice_has(name):
    """Every load within 1 mV (in fact within 0.1), every wire and ground point within 1 mA, in four cases with all on."""
    built = network(name)
    volt = solved(built)
    ours = result().by_case[name]
    if CASES[name][1]:
        assert volt["BAT.~post"] - volt["BAT.N.1"] > 12.8
    assert ours.all is not None
    assert ours.all.battery_v == pytest.approx(volt["BAT.~post"] - volt["BAT.N.1"], abs=0.001)
    assert {load.load for load in ours.loads if load.all_v is not None} == {load.ref for load in built.loads}
    for load in built.loads:
        assert ours.by_load[load.ref].all_v == pytest.approx(volt[load.plus] - volt[load.minus], abs=0.0001), load.ref
    carried = {item.ref: item.all_a for item in ours.carried}
    for item in built.resistors:
        current_a = (volt[item.start] - volt[item.end]) / item.ohm
        if item.ohm > LEAST_OHM and abs(current_a) > 0.002:
            assert abs(carried[item.ref]) == pytest.approx(abs(current_a), abs=0.001), item.ref
