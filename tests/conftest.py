"""What many tests share: the demo read once, its book made once."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.study import Study

REPO = Path(__file__).parents[1]


@pytest.fixture(scope="session")
def tern_folder() -> Path:
    return REPO / "examples" / "tern"


@pytest.fixture(scope="session")
def tern(tern_folder: Path) -> Conversion:
    return read_folder(tern_folder)


@pytest.fixture(scope="session")
def tern_study(tern: Conversion) -> Study:
    return Study(tern)


def halfshaft(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """The program as a user calls it."""
    command = [sys.executable, "-m", "halfshaft", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, timeout=300, check=False)


@pytest.fixture(scope="session")
def tern_book(tern_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("book") / "out"
    done = halfshaft("book", tern_folder, "--to", out)
    assert done.returncode == 0, done.stderr
    return out


@pytest.fixture(scope="session")
def tern_contents(tern_book: Path) -> list[dict[str, object]]:
    return json.loads((tern_book / "contents.json").read_text(encoding="utf-8"))
