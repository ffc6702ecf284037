"""A folder with one mistake in its electrics, as a user meets it: a finding or one clear error, never a traceback."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from support import halfshaft

TERN = Path(__file__).parents[2] / "examples" / "tern"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(TERN, tmp_path / "tern"))


def swap(folder: Path, name: str, old: str, new: str) -> None:
    """The one mistake, in one place of one file."""
    text = (folder / name).read_text(encoding="utf-8")
    assert text.count(old) == 1, (name, old)
    (folder / name).write_text(text.replace(old, new), encoding="utf-8")


def stops(folder: Path) -> dict[str, dict[str, Any]]:
    """What stops the car, by rule; every other command of the electrics answers as well, and `check` ends with 1."""
    for study in ("low_voltage", "fault_finder", "wires", "cable"):
        done = halfshaft("show", folder, study)
        assert (done.returncode, "Traceback" in done.stderr) == (0, False), study
    checked = halfshaft("check", folder)
    assert checked.returncode == 1
    assert "Traceback" not in checked.stderr
    found = json.loads(halfshaft("show", folder, "findings", "--json").stdout)
    return {item["rule"]: item for item in found if item["level"] == "stop"}


def test_a_network_with_no_ground(folder):
    """The battery's cable to the body is forgotten."""
    wires = (folder / "wires.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (folder / "wires.csv").write_text("".join(line for line in wires if not line.startswith("W402,")), encoding="utf-8")
    assert set(stops(folder)) == {"wires.no-battery-ground"}
    assert "nothing joins its minus to a ground point" in halfshaft("show", folder, "low_voltage").stdout


def test_a_source_without_resistance_that_is_shorted(folder):
    """A battery of 0 ohm with a link across it: no current is right, so none is told."""
    swap(folder, "parts/AT-BAT20.toml", "resistance_ohm = 0.014", "resistance_ohm = 0")
    swap(
        folder,
        "parts/AT-BAT20.toml",
        "inside = [\n",
        'inside = [\n    { ref = "clip", kind = "link", pin_a = "~post", pin_b = "N.1", resistance_ohm = 0 },\n',
    )
    found = stops(folder)["low_voltage.collapse"]
    assert "BAT.cells" in found["about"]
    assert "BAT.cells holds volts without resistance against a short" in found["text"]
    told = json.loads(halfshaft("show", folder, "low_voltage", "--json").stdout)
    assert all(case["mean"] is None and not case["carried"] for case in told["cases"])
    assert "no answer" in halfshaft("show", folder, "low_voltage").stdout


def test_two_sources_without_resistance_that_hold_different_volts(folder):
    """Converter and battery of 0 ohm straight across each other in one part: which of the two is wrong nobody can tell."""
    swap(folder, "parts/AT-BAT20.toml", "resistance_ohm = 0.014", "resistance_ohm = 0")
    swap(
        folder,
        "parts/AT-BAT20.toml",
        'circuit, 20 Ah" },\n',
        'circuit, 20 Ah" },\n    { ref = "output", kind = "source", pin_a = "~post", pin_b = "N.1", resistance_ohm = 0, voltage_v = 13.8 },\n',
    )
    swap(folder, "conversion.toml", 'converter = "DCDC.output"', 'converter = "BAT.output"')
    text = json.dumps(stops(folder)["low_voltage.collapse"])
    assert "BAT.cells" in text
    assert "BAT.output" in text


def test_a_load_that_cannot_be_met(folder):
    """110 A where 1.1 were meant: the controller asks for more than its fuse and wires let through at any volts."""
    swap(folder, "loads.csv", "VCU.logic,vehicle controller,1.1,1.6", "VCU.logic,vehicle controller,110,160")
    found = stops(folder)
    collapse = found["low_voltage.collapse"]
    assert collapse["about"][-2:] == ["VCU.logic", "FRB.F7"]
    assert "VCU.logic cannot be met" in collapse["text"]
    assert "FRB.F7" in collapse["text"]
    assert {"wires.section-too-small", "wires.fuse-too-small"} & set(found)


def test_a_relay_that_feeds_its_own_coil(folder):
    """Coil of K1 from the bar that K1 feeds. Backwards through the stop lamps' second feed there is a way, but that is no feed."""
    swap(folder, "parts/AT-FRB.toml", 'ref = "K1 coil", kind = "coil", pin_a = "A.1"', 'ref = "K1 coil", kind = "coil", pin_a = "~15"')
    found = stops(folder)["low_voltage.feeds-own-coil"]
    assert found["about"] == ["FRB.K1 coil", "FRB.K1"]


def test_a_fuse_of_nought_amperes(folder):
    swap(folder, "parts/AT-FRB.toml", 'pin_b = "~K2.30", rating_a = 20', 'pin_b = "~K2.30", rating_a = 0')
    found = stops(folder)
    assert set(found) == {"wires.fuse-unrated"}
    assert found["wires.fuse-unrated"]["about"][0] == "FRB.F2"


def test_a_fuse_of_less_than_nought_amperes_is_refused(folder):
    swap(folder, "parts/AT-FRB.toml", 'pin_b = "~K2.30", rating_a = 20', 'pin_b = "~K2.30", rating_a = -20')
    done = halfshaft("check", folder)
    assert done.returncode == 2
    assert "AT-FRB.toml" in done.stderr
    assert "rating_a" in done.stderr


def test_a_signal_wire_of_50_mm2(folder):
    """0.50 with the point lost. Such a wire is not in the catalogue; where it is, it goes into no terminal and carries nothing."""
    swap(folder, "wires.csv", "VCU.A.2,PED.A.2,0.5,", "VCU.A.2,PED.A.2,50,")
    done = halfshaft("check", folder)
    assert done.returncode == 2
    assert done.stderr.count("wires.csv, row 3, column section_mm2: no wire of 50 mm2") == 1
    with (folder / "wire_types.csv").open("a", encoding="utf-8") as file:
        file.write("50,thick,13.5,0.368,500,8,a maker's sheet\n")
    found = stops(folder)
    assert found["wires.terminal-section"]["about"][0] == "W102"
    assert "lost decimal point" in halfshaft("check", folder).stdout
