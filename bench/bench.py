"""How long the main job takes, and how much memory, on this machine. Printed, never asserted."""

from __future__ import annotations

import math
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from generate import generated, one_loom

from halfshaft.files.folder import read_folder, write_folder
from halfshaft.study import Study

REPO = Path(__file__).parents[1]
# A folder that is not there: what a check takes until it finds that out is what starting takes.
NOTHING = "nothing-there"
SIZES = (250, 500, 1000, 2000, 4000)


def measured(*words: str | Path, times: int = 3) -> tuple[float, float]:
    """Seconds (the middle of some runs) and megabytes at the peak of a fresh process."""
    seconds, megabytes = [], 0.0
    for _ in range(times):
        begun = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, "-m", "halfshaft", *map(str, words)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        _, status, usage = os.wait4(process.pid, 0)
        seconds.append(time.perf_counter() - begun)
        if os.waitstatus_to_exitcode(status) == 2 and words[-1] != NOTHING:
            raise SystemExit(f"halfshaft {' '.join(map(str, words))} could not run")
        megabytes = max(megabytes, usage.ru_maxrss / 1024)
    return sorted(seconds)[times // 2], megabytes


def line(what: str, seconds: float, megabytes: float, goal: str = "") -> None:
    print(f"{what:<58} {seconds:7.2f} s {megabytes:7.0f} MB   {goal}")


def machine() -> str:
    """What it is measured on, and how busy that is."""
    memory = resource.getrlimit(resource.RLIMIT_AS)[0]
    return f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, load {os.getloadavg()[0]:.1f}, memory limit {memory if memory > 0 else 'none'}"


def main() -> None:
    print(machine())
    bare, _ = measured_bare()
    line("bare interpreter", bare, 0)
    tern = REPO / "examples" / "tern"
    line("--help", *measured("--help"), "goal 0.2 s")
    line("check, demo, from cold", *measured("check", tern), "goal 1.5 s")
    line("show boards, demo", *measured("show", tern, "boards"), "goal 3 s")
    line("show batch, demo", *measured("show", tern, "batch"))
    line("compare, first idea with demo", *measured("compare", tern.parent / "tern-first-idea", tern))
    line("one edit studied again: mass, pack, lengths", one_edit(tern), 0, "goal 0.3 s")
    with tempfile.TemporaryDirectory() as folder:
        line("book, demo", *measured("book", tern, "--to", Path(folder) / "out"), "goal 8 s, 500 MB")
        big = Path(folder) / "one-loom"
        write_folder(one_loom(150, 600), big)
        line("show boards, generated: 150 connectors, 600 wires", *measured("show", big, "boards", times=1), "goal 30 s")
        rows = []
        for wires in SIZES:
            conversion = generated(wires)
            target = Path(folder) / f"big{wires}"
            write_folder(conversion, target)
            seconds, megabytes = measured("check", target)
            rows.append((wires, seconds))
            goal = "goal 5 s, 600 MB" if wires == 2000 else ""
            line(f"check, generated: {len(conversion.wires)} wires, {len(conversion.runs)} runs", seconds, megabytes, goal)
        (small, first), (large, last) = rows[0], rows[-1]
        print(f"from {small} to {large} wires: {last / first:.1f} times as long")
        (few, less), (many, more) = rows[-2], rows[-1]
        # What every check takes before it reads the first wire is left out of the growth.
        start, _ = measured("check", NOTHING)
        power = math.log((more - start) / (less - start)) / math.log(many / few)
        print(f"beyond the {start:.2f} s that starting takes, from {few} to {many} wires it grows as wires^{power:.2f}")


def one_edit(folder: Path, times: int = 5) -> float:
    """Seconds (the middle of some runs) from a box and a point moved in a conversion that is read already to mass, pack, all cut lengths and findings."""
    conversion = read_folder(folder)
    _ = Study(conversion).design_findings  # what is loaded on first use is loaded by now
    seconds = []
    for step in range(1, times + 1):
        box, point = conversion.boxes[0], conversion.points[0]
        moved = box.model_copy(update={"x_min_mm": box.x_min_mm - step, "x_max_mm": box.x_max_mm - step})
        points = (point.model_copy(update={"z_mm": point.z_mm + step}), *conversion.points[1:])
        begun = time.perf_counter()
        study = Study(conversion.model_copy(update={"boxes": (moved, *conversion.boxes[1:]), "points": points}))
        _ = study.routing, study.mass, study.pack, study.design_findings
        seconds.append(time.perf_counter() - begun)
    return sorted(seconds)[times // 2]


def measured_bare() -> tuple[float, float]:
    begun = time.perf_counter()
    subprocess.run([sys.executable, "-c", "pass"], check=True)
    return time.perf_counter() - begun, 0.0


if __name__ == "__main__":
    main()
