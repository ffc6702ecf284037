"""How long the app takes from the command to the first page of the demo, and for pages after that. Printed, never asserted.

Seconds as they pass, and in brackets the processor's: what the server itself needs, however busy the machine is.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable

FIRST_PAGE = ("/c/TERN/car", "/static/app.css", "/static/app.js", "/static/car.js", "/static/hands.js", "/static/vendor/three/three.module.js", "/static/vendor/three/three.core.js", "/api/conversions/TERN/scene")  # fmt: skip
LATER = ("/c/TERN/car", "/c/TERN/wires", "/c/TERN/weights", "/c/TERN/12-volts", "/c/TERN/findings")


def processor_s(process: subprocess.Popen[bytes]) -> float:
    """Processor time of a process so far, where the system says it."""
    try:
        with open(f"/proc/{process.pid}/stat", encoding="ascii") as stat:
            fields = stat.read().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def timed(process: subprocess.Popen[bytes], what: str, work: Callable[[], object], goal: str = "") -> None:
    begun, used = time.perf_counter(), processor_s(process)
    work()
    print(f"{what:<58} {time.perf_counter() - begun:7.2f} s ({processor_s(process) - used:.2f})   {goal}")


def main() -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"http://127.0.0.1:{free.getsockname()[1]}"

    def get(path: str) -> bytes:
        with urllib.request.urlopen(address + path) as answer:
            return bytes(answer.read())

    def wait() -> None:
        while True:
            try:
                get("/static/app.css")
            except urllib.error.URLError:
                time.sleep(0.02)
            else:
                return

    with tempfile.TemporaryDirectory() as folder:
        command = [
            sys.executable,
            "-m",
            "halfshaft",
            "serve",
            "--port",
            address.rpartition(":")[2],
            "--database",
            f"sqlite:///{folder}/app.db",
        ]
        for again in (False, True):
            process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
            timed(process, "app: from the command to the first answer", wait)
            if not again:
                urllib.request.urlopen(urllib.request.Request(f"{address}/api/conversions/demo", method="POST")).read()
            else:
                timed(
                    process,
                    "app: first page of the demo, cold, with all that it loads",
                    lambda: [get(path) for path in FIRST_PAGE],
                    "goal 1.5 s",
                )
                timed(process, "app: boards, diagrams and everything else worked out", lambda: get("/api/conversions/TERN/state?wait=true"))
                for path in LATER:
                    timed(process, f"app: {path}", lambda path=path: get(path))
            process.terminate()
            process.wait()


if __name__ == "__main__":
    main()
