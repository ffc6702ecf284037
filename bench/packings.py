"""Our packings of circles beside the best that anybody has published: a table of each instance, at the effort given."""

from __future__ import annotations

import csv
import json
import sys
import time
from pathlib import Path

from halfshaft.studies.looms.circles import least_circle

CIRCLES = Path(__file__).parents[2] / "shared" / "benchmarks" / "circles"
# Rounds of search by the number of circles, so that each instance takes about as long; 1 is one to two seconds.
ROUNDS, ROUNDS_MOST = 1200, 40


def instances() -> list[tuple[str, list[float], float]]:
    """Name, radii and best known radius."""
    with (CIRCLES / "equal_in_circle.csv").open(encoding="utf-8", newline="") as file:
        equal = [(f"equal {row['n']}", [1.0] * int(row["n"]), float(row["ratio_R_over_r"])) for row in csv.DictReader(file)]
    listed = json.loads((CIRCLES / "unequal_in_circle.json").read_text(encoding="utf-8"))
    return [*equal, *((row["name"], [float(radius) for radius in row["radii"]], float(row["best_known_R"])) for row in listed)]


def main(times: float) -> None:
    if not CIRCLES.is_dir():
        print("packings: the shared benchmarks are not beside this repository")
        return
    least_circle([4.0, 3.0, 2.0, 1.0], effort=1)  # The libraries are loaded before the first clock starts.
    print(f"{'instance':<12} {'best known':>12} {'found':>12} {'over, %':>9} {'rounds':>7} {'CPU s':>7}")
    excess, seconds = [], []
    for name, radii, best in instances():
        rounds = int(times * min(ROUNDS_MOST, ROUNDS / (len(radii) + 10)))
        begun = time.process_time()
        found = least_circle([2 * radius for radius in radii], effort=rounds).diameter_mm / 2
        seconds.append(time.process_time() - begun)
        excess.append(100 * (found / best - 1))
        print(f"{name:<12} {best:12.6f} {found:12.6f} {excess[-1]:9.4f} {rounds:7d} {seconds[-1]:7.2f}", flush=True)
    print(
        f"{len(excess)} packings: {max(excess):.2f} % over at most, {sum(excess) / len(excess):.2f} % in the mean; {max(seconds):.1f} s at most"
    )


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 0.0)
