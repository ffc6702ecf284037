"""Somebody asks where the batteries could go, looks at the picture, and takes one."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

from halfshaft.files.folder import read_folder
from support import halfshaft


def test_looking_at_arrangements_and_taking_one(tern_folder: Path, tmp_path: Path) -> None:
    folder, picture = tmp_path / "car", tmp_path / "front.svg"
    shutil.copytree(tern_folder, folder)
    looked = halfshaft("arrange", folder, "--effort", "0", "--picture", picture)
    assert looked.returncode == 0, looked.stderr
    assert "best of" in looked.stdout
    assert picture.read_text(encoding="utf-8").startswith("<svg")
    found = json.loads(halfshaft("arrange", folder, "--effort", "0", "--json").stdout)
    wanted = next(item for item in found["arrangements"] if "all round" in item["best_at"])
    number = wanted["number"]
    assert re.search(rf"^{number} .* all round$", looked.stdout, flags=re.MULTILINE)

    taken = halfshaft("arrange", folder, "--effort", "0", "--take", str(number))
    assert taken.returncode == 0, taken.stderr
    assert "changed in the folder:" in taken.stdout
    assert "still to describe or measure:" in taken.stdout
    after = read_folder(folder)
    assert {box.space: len(box.modules) for box in after.boxes} == {item["space"]: len(item["modules"]) for item in wanted["fillings"]}
    # No file is left over, of those that were rewritten or of parts that are no longer used.
    assert {path.name for path in (folder / "parts").iterdir()} == {f"{part.ref}.toml" for part in after.parts}
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]

    checked = halfshaft("check", folder)
    assert checked.returncode == 0, checked.stdout
    assert "boxes.outside-space" not in checked.stdout
    assert "boxes.contents" not in checked.stdout
    assert "boxes.string-order" not in checked.stdout
    again = halfshaft("arrange", folder, "--effort", "0")
    assert "as described now; the same as number" in again.stdout


def test_a_cluster_that_is_not_there_is_said_in_a_sentence(tern_folder: Path) -> None:
    done = halfshaft("arrange", tern_folder, "--effort", "0", "--cluster", "tcp://127.0.0.1:1")
    assert done.returncode == 2
    assert "halfshaft[cluster]" in done.stderr or "no scheduler answers" in done.stderr
    assert "Traceback" not in done.stderr
