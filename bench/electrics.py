"""How long direct-current networks take to solve, and how far ngspice's answers and times are from ours. Printed, never asserted."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

from networks import SPICE, generated, spice_volts

from halfshaft.studies.network.records import Solution
from halfshaft.studies.network.solver import solve

SIZES = (20, 200, 2000)


def seconds_of(work: Callable[[], object], times: int = 5) -> float:
    """The middle of some runs."""
    seconds = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - begun)
    return sorted(seconds)[times // 2]


def main() -> None:
    solve(generated(5))  # what is loaded on first use is loaded by now
    ours = []
    for wires in SIZES:
        network = generated(wires)
        found = solve(network)
        assert isinstance(found, Solution)
        ours.append(seconds_of(lambda network=network: solve(network)))
        goal = "goal 1 s" if wires == SIZES[-1] else ""
        print(f"{f'network of {wires} wires, {len(network.loads)} loads, {found.iterations} turns':<58} {1000 * ours[-1]:7.1f} ms   {goal}")
        if SPICE:
            volts = spice_volts(network, SPICE)
            spice = seconds_of(lambda network=network: spice_volts(network, SPICE or ""), times=3)
            apart_mv = 1000 * max(abs(found.volt[node] - volt) for node, volt in volts.items())
            print(
                f"{'  whole run of ngspice':<58} {1000 * spice:7.1f} ms   {spice / ours[-1]:.1f} times ours; volts {apart_mv:.6f} mV apart, goal 1 mV"
            )
    if not SPICE:
        print("ngspice is not installed: nothing to compare with")
    power = math.log(ours[-1] / ours[-2]) / math.log(SIZES[-1] / SIZES[-2])
    print(f"from {SIZES[-2]} to {SIZES[-1]} wires it grows as wires^{power:.2f}")


if __name__ == "__main__":
    main()
