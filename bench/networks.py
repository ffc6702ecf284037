"""Direct-current networks by rule, and the same ones solved by ngspice, where that is installed."""

from __future__ import annotations

import random
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from halfshaft.studies.network.records import DcNetwork, Load, LoadKind, Resistor, Source

SPICE = shutil.which("ngspice")
KINDS: tuple[LoadKind, ...] = ("resistive", "constant current", "constant power")


def generated(wires: int, seed: int = 0) -> DcNetwork:
    """A 12 V car's network: trunks from two sources in parallel, a load on every third wire, spare ways, and a body of several studs."""
    draw = random.Random(f"{wires} {seed}")
    parents = [max(0, number - draw.choice((1, 1, 1, 2, 5, 20))) for number in range(wires)]
    # Loads are shared out so that the far ends of a large network still have more than two thirds of its volts.
    each_w = 600 / max(wires / 3, 1)
    resistors = [
        Resistor(ref=f"W{k + 1}", start=f"n{parents[k]}", end=f"n{k + 1}", ohm=draw.uniform(0.001, 0.02) * 20 / (wires + 20))
        for k in range(wires)
    ]
    resistors += [
        Resistor(ref=f"M{k}", start=f"n{draw.randrange(wires + 1)}", end=f"n{draw.randrange(wires + 1)}", ohm=draw.uniform(0.01, 0.05))
        for k in range(wires // 20)
    ]
    resistors += [Resistor(ref=f"G{k}", start=f"g{k}", end="0" if k == 0 else f"g{k - 1}", ohm=0.0004) for k in range(4)]
    loads = []
    for number in range(2, wires + 1, 3):
        kind, watt = draw.choice(KINDS), draw.uniform(0.2, 1.8) * each_w
        value = {"resistive": 150 / watt, "constant current": watt / 12, "constant power": watt}[kind]
        loads.append(Load(ref=f"L{number}", plus=f"n{number}", minus=f"g{number % 4}", kind=kind, value=value, works_from_v=6.0))
    sources = (
        Source(ref="battery", plus="n0", minus="0", volt=12.8, ohm=0.009),
        Source(ref="converter", plus="n1", minus="g0", volt=13.8, ohm=0.004),
    )
    return DcNetwork(ground="0", resistors=tuple(item for item in resistors if item.start != item.end), sources=sources, loads=tuple(loads))


def spice_volts(network: DcNetwork, spice: str) -> dict[str, float]:
    """Volts of each node by ngspice, started high: without that it may land where the loads have pulled the volts down."""
    with tempfile.TemporaryDirectory() as folder:
        deck = Path(folder) / "network.cir"
        deck.write_text(_deck(network), encoding="utf-8")
        run = subprocess.run([spice, "-b", str(deck)], capture_output=True, text=True, check=False, timeout=120)
    found = dict(re.findall(r"^v\(?([ng]\d+)\)? = (\S+)$", run.stdout, flags=re.MULTILINE))
    if not found:
        raise RuntimeError(f"ngspice gave no answer: {run.stdout[-500:]}{run.stderr[-500:]}")
    return {node: float(volt) for node, volt in found.items()}


def _deck(network: DcNetwork) -> str:
    nodes = sorted({node for item in network.resistors for node in (item.start, item.end)} - {network.ground})
    high_v = max(item.volt for item in network.sources)
    lines = ["generated", ".options reltol=1e-6 abstol=1e-9 vntol=1e-8 itl1=500 rshunt=1e12"]
    lines += [f"R{item.ref} {item.start} {item.end} {item.ohm!r}" for item in network.resistors]
    for item in network.sources:
        lines += [f"V{item.ref} in_{item.ref} {item.minus} {item.volt!r}", f"R{item.ref} in_{item.ref} {item.plus} {item.ohm!r}"]
    lines += [_spice_load(item) for item in network.loads]
    lines += [f".nodeset v({node})={high_v if node.startswith('n') else 0}" for node in nodes]
    lines += [".control", "set numdgt=12", "op", *(f"print v({node})" for node in nodes), ".endc", ".end"]
    return "\n".join(lines) + "\n"


def _spice_load(load: Load) -> str:
    ends, volt = f"{load.plus} {load.minus}", f"v({load.plus},{load.minus})"
    if load.kind == "resistive":
        return f"R{load.ref} {ends} {load.value!r}"
    if load.kind == "constant current":
        return f"I{load.ref} {ends} {load.value!r}"
    return f"B{load.ref} {ends} i={load.value!r}/max({volt},{load.works_from_v!r})"
