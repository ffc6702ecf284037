"""Calling the program as a user does."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path


def halfshaft(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """The program as a user calls it."""
    command = [sys.executable, "-m", "halfshaft", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, timeout=300, check=False)
