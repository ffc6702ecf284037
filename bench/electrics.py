"""How long the electrics take to solve, and how far ngspice's answers and times are from ours. Printed, never asserted."""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable

from bench import REPO, machine
from networks import SPICE, generated, spice_volts

from halfshaft.files.folder import read_folder
from halfshaft.studies.high_voltage.study import study_high_voltage
from halfshaft.studies.low_voltage.study import study_low_voltage
from halfshaft.studies.network.records import Solution
from halfshaft.studies.network.solver import solve
from halfshaft.study import Study

SIZES = (20, 200, 2000)
# Far more than any car has, to see how it grows.
LARGE = 20_000


def milliseconds(work: Callable[[], object], times: int = 5) -> float:
    """The middle of some runs."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        found.append(1000 * (time.perf_counter() - begun))
    return sorted(found)[times // 2]


def line(what: str, milli: float, words: str = "") -> None:
    print(f"{what:<72} {milli:8.1f} ms   {words}".rstrip())


def demo() -> None:
    """All load cases of the demo, from routed wires to volts, amperes and losses."""
    study = Study(read_folder(REPO / "examples" / "tern"))
    conversion, routing, wires, pack = study.conversion, study.routing, study.wires, study.pack
    low, high, converter_w = study.low_voltage, study.high_voltage, study.converter_w
    assert low is not None
    assert high is not None
    low_ms = milliseconds(lambda: study_low_voltage(conversion, routing, wires))
    high_ms = milliseconds(lambda: study_high_voltage(conversion, routing, pack, converter_w))
    line(f"demo, 12 V: {len(low.cases)} cases, each on the average, all on, and starting", low_ms)
    line(f"demo, high voltage: {len(high.cases)} cases, each for good and at its peak, full to empty", high_ms)
    line("demo, all load cases", low_ms + high_ms, "goal 150 ms")


def networks() -> None:
    """Generated networks with loads of set resistance, current and power."""
    ours = []
    for wires in (*SIZES, LARGE):
        network = generated(wires)
        found = solve(network)
        assert isinstance(found, Solution)
        ours.append(milliseconds(lambda network=network: solve(network)))
        line(
            f"network of {wires} wires, {len(network.loads)} loads, {found.iterations} turns",
            ours[-1],
            "goal 1,000 ms" if wires == 2000 else "",
        )
        if SPICE and wires in SIZES:
            volts = spice_volts(network, SPICE)
            spice = milliseconds(lambda network=network: spice_volts(network, SPICE or ""), times=3)
            apart_mv = 1000 * max(abs(found.volt[node] - volt) for node, volt in volts.items())
            line("  whole run of ngspice", spice, f"{spice / ours[-1]:.1f} times ours; volts {apart_mv:.6f} mV apart, goal 1 mV")
    if not SPICE:
        print("ngspice is not installed: nothing to compare with")
    # Below some hundreds of wires most of the time is the same whatever their number.
    measured = list(zip((*SIZES, LARGE), ours, strict=True))[1:]
    for (few, less), (many, more) in itertools.pairwise(measured):
        print(f"from {few} to {many} wires it grows as wires^{math.log(more / less) / math.log(many / few):.2f}")


def main() -> None:
    print(machine())
    demo()
    networks()


if __name__ == "__main__":
    main()
