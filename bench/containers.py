"""Published container and void instances: what a ready-made packing library fills, and what of ours applies, beside the published answers.

The library is no dependency (docs/arrangement.md says why): where it is not installed its columns stay empty.
"""

from __future__ import annotations

import json
import sys
import time
from importlib.util import find_spec
from itertools import permutations
from math import prod
from pathlib import Path
from typing import Any

from halfshaft.model.enclosures import Enclosure, EnclosureItem
from halfshaft.studies.enclosure_places import place_devices

SHARED = Path(__file__).parents[2] / "shared" / "benchmarks"
LIBRARY = "packingsolver3d"
EACH_SET = 2


def loading(seconds: float, each_set: int) -> None:
    """Fill of one container, or number of containers, by the library."""
    import packingsolver3d as library

    print(f"{'instance':<14} {'published':>12} {'found':>9} {'s':>6}")
    taken: dict[str, int] = {}
    for case in json.loads((SHARED / "loading" / "thpack_subset.json").read_text(encoding="utf-8")):
        taken[case["set"]] = taken.get(case["set"], 0) + 1
        if taken[case["set"]] > each_set:
            continue
        is_one = case["goal"].startswith("max volume")
        items = [
            library.ItemType(x=box["l"], y=box["w"], z=box["h"], copies=box["count"], rotations=_rotations(library, box))
            for box in case["boxes"]
        ]
        x, y, z = case["container"]
        copies = 1 if is_one else sum(box["count"] for box in case["boxes"])
        objective = library.Objective.KNAPSACK if is_one else library.Objective.BIN_PACKING
        instance = library.Instance(
            bin_types=[library.BinType(x=x, y=y, z=z, cost=float(x * y * z), copies=copies)], item_types=items, objective=objective
        )
        begun = time.perf_counter()
        result = library.box.solve(instance, time_limit=seconds)
        spent = time.perf_counter() - begun
        if is_one:
            filled = sum(p.lx * p.ly * p.lz for bin_ in result.bins for p in bin_.placements)
            published, found = f"{case['answer']['volume_percent']:.1f} %", f"{100 * filled / (x * y * z):.1f} %"
        else:
            published, found = f"{case['answer']['bins']} boxes", str(sum(bin_.copies for bin_ in result.bins))
        print(f"{case['set'] + ' ' + str(case['problem']):<14} {published:>12} {found:>9} {spent:6.1f}", flush=True)


def _rotations(library: Any, box: dict[str, Any]) -> list[Any]:
    """Rotations that stand a side upright that may be upright: named by which side lies along x, y and z."""
    upright = {"X": box["l_vertical"], "Y": box["w_vertical"], "Z": box["h_vertical"]}
    return [library.Rotation["".join(order)] for order in permutations("XYZ") if upright[order[2]]]


def tilings() -> None:
    """Voids cut exactly into boxes, each box turned as in the answer: do ours find how they fill the void?"""
    print(f"{'void':<14} {'boxes':>6} {'filled, ours':>13} {'s':>6}")
    for case in json.loads((SHARED / "void_tilings.json").read_text(encoding="utf-8")):
        for void in case["voids"] if case["kind"] == "box" else ():
            across, deep, high = (float(side) for side in void["parts"][0]["dims_mm"])
            enclosure = Enclosure(ref="VOID", across_mm=across, deep_mm=deep, high_mm=high, x_mm=0.0, y_mm=0.0, z_mm=0.0)
            items = tuple(
                EnclosureItem(
                    ref=item["id"], enclosure="VOID", size_across_mm=float(size[0]), size_deep_mm=float(size[1]), size_up_mm=float(size[2])
                )
                for item in case["items"]
                if item["solution"]["void"] == void["id"]
                for size in [item["solution"]["placed_dims_mm"]]
            )
            begun = time.perf_counter()
            found = place_devices(enclosure, items)
            filled = sum(prod(high - low for low, high in zip(place.span.low, place.span.high, strict=True)) for place in found.places)
            share = 100 * filled / (1000 * across * deep * high)
            print(f"{case['seed']} void {void['id']:<7} {len(items):6d} {share:11.1f} % {time.perf_counter() - begun:6.2f}", flush=True)


def main(seconds: float, each_set: int) -> None:
    if not SHARED.is_dir():
        print("containers: the shared benchmarks are not beside this repository")
        return
    tilings()
    if find_spec(LIBRARY) is None:
        print(f"containers: {LIBRARY} is not installed here; its fills stand in docs/arrangement.md")
        return
    loading(seconds, each_set)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0, int(sys.argv[2]) if len(sys.argv) > 2 else EACH_SET)
