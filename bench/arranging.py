"""How long the front of arrangements takes: thirty equal modules, five spaces, three attitudes. Printed, never asserted."""

from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import Space
from halfshaft.study import Study

REPO = Path(__file__).parents[1]
# Five upright spaces of a made-up larger car, front to rear, mm.
SPACES = {
    "SP1": (-450, -400, 300, 250, 400, 720),
    "SP2": (700, -250, 180, 1700, 250, 480),
    "SP3": (1750, -620, 280, 2350, 620, 600),
    "SP4": (2500, -600, 420, 3100, 600, 800),
    "SP5": (3150, -520, 380, 3700, 520, 790),
}
MODULES = 30


def larger_car(tern: Conversion) -> Conversion:
    """The demo with other spaces, a longer wheelbase, a plate that allows the weight, and no window of volts."""
    spaces = tuple(
        Space(
            ref=ref, name=f"space {ref}", loaded_from="above", floor_z_mm=z, top_z_mm=top, plugs_look="rear",
            polygon_mm=((x, y), (far, y), (far, right), (x, right)),
        )
        for ref, (x, y, z, far, right, top) in SPACES.items()
    )  # fmt: skip
    kind = tern.modules[0].model_copy(update={"attitudes": ("flat", "long edge", "short end")})
    limits = tern.car.limits.model_copy(update={"front_axle_kg": 900.0, "rear_axle_kg": 1200.0, "gross_kg": 2000.0})
    return tern.model_copy(
        update={
            "spaces": spaces,
            "keep_outs": (),
            "boxes": (),
            "busbars": (),
            "joints": (),
            "hv_units": (),
            "modules": (kind,),
            "car": tern.car.model_copy(update={"limits": limits, "wheelbase_mm": 2800.0}),
            "arrangement": tern.arrangement.model_copy(update={"modules_min": MODULES, "modules_max": MODULES}),
        }
    )


def main(effort: float) -> None:
    study = Study(larger_car(read_folder(REPO / "examples" / "tern")))
    _ = study.mass, study.rooms
    begun = time.perf_counter()

    def say(words: str) -> None:
        print(f"{time.perf_counter() - begun:7.2f} s  {words}", flush=True)

    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, {MODULES} modules, {len(SPACES)} spaces, effort {effort:g} s a space")
    with ProcessPoolExecutor(max_workers=2, mp_context=get_context("spawn")) as executor:
        front = study.arrange(executor=executor, effort=effort, say=say)
    say("goals: first answers 2 s, whole front 20 s")
    for menu in front.menus:
        print(f"  {menu.space}: {menu.most} modules, not more than {menu.most_bound}; {len(menu.fillings)} boxes on the menu")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 5.0)
