"""What a section of the book must say, read from its blocks before they are set."""

from __future__ import annotations

from pathlib import Path

from halfshaft.book.frame import Pages
from halfshaft.book.pages import cover
from halfshaft.book.sections.car import spaces
from halfshaft.book.sections.connectors import connectors
from halfshaft.book.sections.handling import beside_the_donor, mounts
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


def plain(cell) -> str:
    return cell if isinstance(cell, str) else next(iter(cell.values()))


def test_the_finished_car_stands_beside_the_donor_and_each_change_is_the_difference_that_is_printed():
    blocks = beside_the_donor(Study(read_folder(DEMO)))
    (beside, springs) = [block for block in blocks if block["kind"] == "table"]
    assert [column["head"] for column in beside["columns"][1:]] == ["Donor, 20 l", "Tank full, 32 l", "Tank empty", "Finished", "Change"]
    for row in beside["rows"]:
        before, after, change = (float(plain(row[at]).replace("\u2212", "-")) for at in (1, 4, 5))
        assert change == round(after - before, 2), row
    assert [plain(row[5]) for row in springs["rows"][:2]] == ["32 mm lower", "7 mm higher"]


def test_without_a_height_what_hangs_on_it_is_left_out_and_that_is_said():
    conversion = read_folder(DEMO)
    car = conversion.car.model_copy(update={"raised": None, "cg_height_mm": None, "fuel": None, "wheel_rate_front_n_per_mm": None})
    blocks = beside_the_donor(Study(conversion.model_copy(update={"car": car})))
    (beside, springs) = [block for block in blocks if block["kind"] == "table"]
    assert len(beside["columns"]) == 4
    names = [plain(row[0]) for row in beside["rows"]]
    assert "Cross weight, %" in names
    assert not [name for name in names if "braking" in name or "stability" in name]
    assert any("is not known" in block.get("text", "") for block in blocks)
    assert [plain(row[0]) for row in springs["rows"]] == ["rear"]


def test_each_foot_of_each_box_is_printed_in_each_case_with_its_basis():
    conversion = read_folder(DEMO)
    b1, b2, b3 = conversion.boxes
    many = tuple(
        mount.model_copy(update={"ref": f"{mount.ref}{more}", "x_mm": mount.x_mm + more}) for more in (0, 30) for mount in b1.mounts
    )
    boxes = (b1.model_copy(update={"mounts": many}), b2.model_copy(update={"mounts": b2.mounts[:2]}), b3)
    pages = Pages()
    mounts(Study(conversion.model_copy(update={"boxes": boxes})), pages)
    (section,) = pages.sections
    assert section["blocks"][0]["kind"] == "caution"
    assert "qualified engineer" in section["blocks"][0]["text"]
    (cases, *loads) = [block for block in section["blocks"] if block["kind"] == "table"]
    assert [plain(row[0]) for row in cases["rows"]] == [case.ref for case in conversion.mount_cases]
    assert {row[3] for row in cases["rows"]} == {"published", "from memory, to be confirmed"}
    heads = [column["head"].split(",")[0] for table in loads for column in table["columns"]]
    assert [head for head in heads if head.startswith("B")] == [mount.ref for mount in (*many, *b3.mounts)]
    assert heads.count("Worst") == 2
    assert any("fewer than three" in block.get("text", "") for block in section["blocks"])


def test_a_car_without_battery_boxes_has_no_section_about_their_feet():
    pages = Pages()
    mounts(Study(read_folder(DEMO).model_copy(update={"boxes": ()})), pages)
    assert pages.sections == []


def test_each_space_is_printed_with_its_litres_and_what_is_proven_of_its_modules():
    """SP3: 360 x 1090 x 155 mm; SP1: 515 x 415 less a corner of 20 x 20, times 323."""
    title, printed, *notes = spaces(Study(read_folder(DEMO)))
    assert title["text"] == "Spaces"
    rows = {plain(row[0]): row[1:] for row in printed["rows"]}
    assert list(rows) == ["SP1", "SP2", "SP3", "SP4", "SP5"]
    assert rows["SP3"] == ["under the rear seat", "above", "290 / 445", "60.8", "360 × 1090 × 155", "not for batteries"]
    assert rows["SP1"][3] == f"{(515 * 415 - 200) * 323 / 1e6:.1f}" == "69.0"
    assert rows["SP1"][5] == "6, at most 7"
    words = " ".join(note["text"] for note in notes)
    for said in ("area of the plan times the height", "[arrangement]", "cut to 5 mm", "qualified people"):
        assert said in words


def test_without_a_space_the_book_says_nothing_of_spaces():
    conversion = read_folder(DEMO)
    assert spaces(Study(conversion.model_copy(update={"spaces": ()}))) == []
