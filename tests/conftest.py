"""What many tests share: the demo read once, its book made once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from halfshaft.compare import compare
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.studies.changes.records import Changes
from halfshaft.study import Study
from support import halfshaft

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


@pytest.fixture(scope="session")
def tern_changes(tern_study: Study, tern_folder: Path) -> Changes:
    """From the first idea to the present arrangement."""
    return compare(Study(read_folder(tern_folder.parent / "tern-first-idea")), tern_study)


@pytest.fixture(scope="session")
def tern_book(tern_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("book") / "out"
    done = halfshaft("book", tern_folder, "--to", out)
    assert done.returncode == 0, done.stderr
    return out


@pytest.fixture(scope="session")
def tern_contents(tern_book: Path) -> list[dict[str, object]]:
    return json.loads((tern_book / "contents.json").read_text(encoding="utf-8"))
