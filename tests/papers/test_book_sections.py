"""What a section of the book must say, read from its blocks before they are set."""

from __future__ import annotations

from pathlib import Path

from halfshaft.book.frame import Pages
from halfshaft.book.pages import cover
from halfshaft.book.sections.connectors import connectors
from halfshaft.book.sections.testing import tests as loom_sheets
from halfshaft.files.folder import read_folder
from halfshaft.study import Study

DEMO = Path(__file__).parents[2] / "examples" / "tern"


def test_every_connector_of_a_cable_stands_among_the_high_voltage_ones_and_no_other():
    study = Study(read_folder(DEMO))
    pages = Pages()
    connectors(study, pages)
    (low, high) = pages.sections
    ends = {end for cable in study.conversion.cables for end in (cable.from_connector, cable.to_connector)}
    assert not low["hv"]
    assert high["hv"]
    assert {block["ref"] for block in high["blocks"] if block["kind"] == "connector"} == ends
    assert ends.isdisjoint(block["ref"] for block in low["blocks"] if block["kind"] == "connector")
    assert high["blocks"][0]["kind"] == "caution"


def test_the_cover_says_what_stays_live_with_the_disconnect_out():
    """Eight modules of 8 cells before the disconnect and five behind it, 4.2 V a full cell."""
    (facts,) = [block for block in cover(Study(read_folder(DEMO))) if block["kind"] == "facts"]
    live = dict(facts["rows"])["Live at all times"]
    assert live.startswith(f"B1 and B2 up to {8 * 8 * 4.2:.1f} V; B3 up to {5 * 8 * 4.2:.1f} V")


def test_every_line_of_a_loom_is_on_its_sheet_and_what_no_line_reaches_is_said():
    study = Study(read_folder(DEMO))
    pages = Pages()
    loom_sheets(study, pages)
    blocks = pages.sections[0]["blocks"]
    assert blocks[0]["kind"] == "caution"
    assert "only with controllers, suppressors and lamps unplugged" in blocks[0]["text"]
    begin = next(at for at, block in enumerate(blocks) if block.get("text") == "12 V box loom (BX)")
    end = next(at for at, block in enumerate(blocks) if block.get("text") == "Front loom (FR)")
    numbers: list[int] = []
    for block in blocks[begin:end]:
        for row in block.get("rows", ()):
            first, _, last = row[0].partition("–")
            numbers += range(int(first), int(last or first) + 1)
    assert sorted(numbers) == [item.number for item in study.readings["BX"]]
    words = " ".join(block["text"] for block in blocks[begin:end] if "text" in block)
    assert "nothing plugged in" in words
    assert "With FRB plugged in, fuses and relays fitted, nothing powered." in words
    assert "No reading here reaches FRB.F2, FRB.F3, FRB.F4, FRB.F5, FRB.F18" in words
    bus = next(at for at, block in enumerate(blocks) if block.get("text") == "Bus, when everything is plugged in")
    assert "DCDC.terminator 120 Ω" in blocks[bus + 3]["text"]
