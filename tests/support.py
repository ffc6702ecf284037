"""What tests of several kinds use: calling the program as a user does, and changing a conversion."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

from halfshaft.model.conversion import Conversion


def halfshaft(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """The program as a user calls it."""
    command = [sys.executable, "-m", "halfshaft", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, timeout=300, check=False)


def changed(conversion: Conversion, **fields: Any) -> Conversion:
    """A new conversion with some fields others."""
    return Conversion(**{name: fields.get(name, getattr(conversion, name)) for name in Conversion.model_fields})
