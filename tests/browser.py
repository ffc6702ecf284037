"""The app served for real and a real browser on it; skipped with its reason where there is no Chromium."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from shutil import which

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

# The last two draw WebGL without a graphics card.
OPTIONS = [
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
]  # fmt: skip


def chromium() -> str:
    """Where the browser is; skips where there is none."""
    found = which("chromium")
    if found is None:
        pytest.skip("no Chromium here: apt-get install chromium libatomic1 fonts-dejavu-core")
    return found


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """`halfshaft serve` on a free port with an empty database, and its address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "halfshaft", "serve", "--port", str(port), "--database", f"sqlite:///{folder / 'app.db'}"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        try:
            address = f"http://127.0.0.1:{port}"
            _wait_for(address, process)
            yield address
        finally:
            process.terminate()


def _wait_for(address: str, process: subprocess.Popen[str]) -> None:
    for _ in range(300):
        try:
            urllib.request.urlopen(address, timeout=5).read()
        except urllib.error.URLError:
            assert process.poll() is None, process.stdout.read() if process.stdout else ""
            time.sleep(0.1)
        else:
            return
    raise AssertionError("the app did not answer within 30 s")


@contextmanager
def browsing() -> Iterator[Browser]:
    """A browser."""
    path = chromium()
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=path, args=OPTIONS)
        yield browser
        browser.close()


def watched(page: Page) -> list[str]:
    """Whatever the page complains of from now on."""
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("request", lambda asked: complaints.append(asked.url) if "//127.0.0.1:" not in asked.url and not asked.url.startswith("data:") else None)  # fmt: skip
    return complaints
