"""What tests of several kinds use: calling the program as a user does, and changing a conversion."""

from __future__ import annotations

import itertools
import subprocess
import sys
from pathlib import Path
from typing import Any

from halfshaft.drawings.shapes import Drawing, Text, box_of
from halfshaft.model.conversion import Conversion

ROUNDING_MM = 1e-6


def halfshaft(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """The program as a user calls it."""
    command = [sys.executable, "-m", "halfshaft", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, timeout=300, check=False)


def changed(conversion: Conversion, **fields: Any) -> Conversion:
    """A new conversion with some fields others."""
    return Conversion(**{name: fields.get(name, getattr(conversion, name)) for name in Conversion.model_fields})


def fits(drawing: Drawing) -> None:
    """Nothing on a drawing leaves it, and no words lie on others."""
    for shape in drawing.shapes:
        left, bottom, right, top = box_of(shape)
        assert left >= -ROUNDING_MM
        assert bottom >= -ROUNDING_MM
        assert right <= drawing.width_mm + ROUNDING_MM
        assert top <= drawing.height_mm + ROUNDING_MM
    words = [(shape.words, box_of(shape)) for shape in drawing.shapes if isinstance(shape, Text)]
    for (one, a), (other, b) in itertools.combinations(words, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one!r} lies on {other!r}"
