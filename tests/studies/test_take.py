"""Taking an arrangement of the demo: what is kept, what goes, what comes, and that the folder stays sound."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from halfshaft.files.folder import folder_files, read_folder, write_folder
from halfshaft.files.layout import record_of, row_tables
from halfshaft.model.base import RefersTo
from halfshaft.model.conversion import Conversion
from halfshaft.model.edits import GOES_WITH_WHAT_IT_NAMES
from halfshaft.model.references import bad_references, mark_of
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.context import context_of, filling_of
from halfshaft.studies.arrangement.front import arrangement_of, choice_of
from halfshaft.studies.arrangement.records import Arrangement, Block, Filling
from halfshaft.studies.arrangement.take import Taken, take
from halfshaft.study import Study
from support import changed

# A made-up shelf behind the rear seat, for a box where there was none.
SHELF = Space(
    ref="SP6", name="shelf behind the rear seat", loaded_from="front", floor_z_mm=420, top_z_mm=800,
    polygon_mm=((1480, -600), (1990, -600), (1990, 600), (1480, 600)), for_batteries=True, plugs_look="right",
)  # fmt: skip


def arranged(conversion: Conversion, fillings: list[Filling]) -> Arrangement:
    study = Study(conversion)
    car = context_of(conversion, study.network, study.mass)
    return arrangement_of(choice_of(fillings, car, conversion.arrangement), car, conversion.arrangement)


def boxes_now(conversion: Conversion) -> dict[str, Filling]:
    return {box.space: filling_of(box) for box in conversion.boxes}


def shifted(filling: Filling, *, space: str, by: tuple[float, float, float]) -> Filling:
    """The same box elsewhere."""

    def at(block: Block) -> Block:
        x, y, z = by
        return Block(block.x_min + x, block.y_min + y, block.z_min + z, block.x_max + x, block.y_max + y, block.z_max + z)

    return replace(
        filling, space=space, box=at(filling.box), modules=tuple(replace(item, block=at(item.block)) for item in filling.modules),
        plates=tuple(at(plate) for plate in filling.plates), kinds=("lowest",), how="five on the long edge",
    )  # fmt: skip


def written(taken: Taken, folder: Path) -> Conversion:
    """What reading finds of what was written: no fault, and the same value."""
    assert bad_references(taken.conversion) == []
    write_folder(taken.conversion, folder)
    found = read_folder(folder)
    assert found == taken.conversion
    return found


def test_what_is_described_now_is_kept_but_for_the_order_of_the_boxes(tern: Conversion, tmp_path: Path) -> None:
    taken = take(tern, arranged(tern, list(boxes_now(tern).values())))
    found = written(taken, tmp_path / "same")
    for before, after in zip(tern.boxes, found.boxes, strict=True):
        assert [item.ref for item in before.modules] == [item.ref for item in after.modules]
        assert (before.x_min_mm, before.mounts, before.plates) == (after.x_min_mm, after.mounts, after.plates)
    same = ("devices", "parts", "points", "runs", "wires", "hoses", "busbars", "joints", "tails", "looms")
    assert all(getattr(found, name) == getattr(tern, name) for name in same)
    # The cable with least length begins at the rear box, beside the distribution box: four cables go another way.
    assert sum("now joins" in words for words in taken.changed) == 4
    assert [item.ref for item in sorted((m for box in found.boxes for m in box.modules), key=lambda m: m.order_in_string)][:5] == [
        "M09", "M10", "M11", "M12", "M13",
    ]  # fmt: skip
    pack = {cable.ref: {cable.from_connector, cable.to_connector} for cable in found.cables}
    assert {"HVDB.PP", "B3.P"} in pack.values()
    assert {"B2.N", "HVDB.PN"} in pack.values()


def test_the_cable_that_was_promised_is_the_cable_that_is_laid(tern: Conversion) -> None:
    arrangement = arranged(tern, list(boxes_now(tern).values()))
    study = Study(take(tern, arrangement).conversion)
    pack = {"B1", "B2", "B3", "SD"}
    laid_mm = [
        laid.cut_mm or 0.0
        for laid in study.routing.cables
        if {laid.cable.from_connector.split(".")[0], laid.cable.to_connector.split(".")[0]} & pack
    ]
    # Each of the cables is cut up to the next whole millimetre.
    assert sum(laid_mm) / 1000 == pytest.approx(arrangement.price.hv_cable_m, abs=0.001 * len(laid_mm))
    assert arrangement.price.hv_cable_m < 8.357  # what C1 to C5 of the demo are cut to today


def test_what_stops_only_since_it_was_taken_is_told(tern: Conversion) -> None:
    limits = tern.car.limits
    assert limits is not None
    # The finished car weighs 757 kg; a lower limit stops it whatever is taken.
    tighter = tern.model_copy(update={"car": tern.car.model_copy(update={"limits": limits.model_copy(update={"gross_kg": 700.0})})})
    assert {item.rule for item in Study(tighter).new_stops(Study(tern))} == {"mass.gross-limit"}
    assert not Study(tighter).new_stops(Study(tighter))


def test_a_space_that_loses_its_box(tern: Conversion, tmp_path: Path) -> None:
    now = boxes_now(tern)
    taken = take(tern, arranged(tern, [now["SP1"], now["SP4"]]))
    found = written(taken, tmp_path / "two")
    assert [box.ref for box in found.boxes] == ["B1", "B3"]
    gone = {"B2", "SB2"}
    assert gone.isdisjoint(found.device)
    named = "\n".join(
        data.decode() for name, data in folder_files(found).items() if name in ("wires.csv", "cables.csv", "tails.csv", "hoses.csv")
    )
    assert "B2." not in named
    assert "B2 plates" not in named
    assert {(cable.from_connector, cable.to_connector) for cable in found.cables if "SD" in cable.from_connector + cable.to_connector} == {
        ("B3.N", "SD.P"), ("SD.N", "B1.P"),
    }  # fmt: skip
    assert any("coolant" in words for words in taken.to_do)
    assert any("W151" in words for words in taken.to_do)
    assert "TS2" not in {group.ref for group in found.twist_groups}
    # Nine modules are too few for the units of the pack, and the interlock loop went through the box that is gone; nothing else stops.
    stops = {f.rule for f in Study(found).design_findings if f.level == "stop"}
    assert "hv_safety.interlock-broken" in stops
    assert stops <= {"pack.module-current", "hv_safety.interlock-broken"}


def test_a_box_in_a_space_that_had_none(tern: Conversion, tmp_path: Path) -> None:
    now = boxes_now(tern)
    wider = changed(tern, spaces=(*tern.spaces, SHELF))
    taken = take(wider, arranged(wider, [now["SP1"], now["SP2"], shifted(now["SP4"], space="SP6", by=(-580.0, 0.0, -40.0))]))
    found = written(taken, tmp_path / "shelf")
    assert [box.ref for box in found.boxes] == ["B1", "B2", "B4"]
    box = found.boxes[-1]
    # The five modules are those of the box that goes, and the part of the same size stays in use.
    assert [item.ref for item in box.modules] == ["M09", "M10", "M11", "M12", "M13"]
    assert found.device["B4"].part == "AT-BOX5"
    assert {tail.connector for tail in found.tails if tail.device == "B4"} == {"P", "N"}
    assert any(words.startswith("B4: its interlock") for words in taken.to_do)
    assert any("FH2" in words for words in taken.to_do)
    assert len([cable for cable in found.cables if "B4." in cable.from_connector + cable.to_connector]) == 2


def test_a_box_of_another_size_has_a_part_of_its_own_and_moves_what_hangs_on_it(tern: Conversion, tmp_path: Path) -> None:
    now = boxes_now(tern)
    four = now["SP1"]
    fewer = replace(
        four, counts=(("AT-MOD8", 3),), modules=four.modules[:3], plates=four.plates[:2], kinds=("lowest",), how="three on the long edge",
        box=replace(four.box, x_min=four.box.x_min + 112.0, x_max=four.box.x_max + 10.0),
    )  # fmt: skip
    taken = take(tern, arranged(tern, [fewer, now["SP2"], now["SP4"]]))
    found = written(taken, tmp_path / "three")
    part = found.part[found.device["B1"].part]
    assert part.ref == "AT-BOX4-A"
    assert (part.length_mm, part.width_mm, part.height_mm) == (407.0, 366.0, 200.0)
    assert part.verified_by == ""
    assert part.connectors == tern.part["AT-BOX4"].connectors
    # By area, 8.7 kg a square metre: 2 (0.407 x 0.366 + 0.407 x 0.2 + 0.366 x 0.2) = 0.6071 m2.
    assert part.mass_kg == pytest.approx(8.7 * 0.6071, abs=0.01)
    assert found.point["R61"].x_mm == tern.point["R61"].x_mm + 10.0
    assert found.point["R84"].x_mm == tern.point["R84"].x_mm + 112.0
    assert not [bar for bar in found.busbars if bar.box == "B1"]
    assert [bar for bar in found.busbars if bar.box == "B2"]
    assert any("tape run U61" in words for words in taken.to_do)
    assert not [finding for finding in Study(found).design_findings if finding.level == "stop" and finding.rule.startswith("boxes")]


def test_strings_side_by_side_are_numbered_one_after_another_and_joined_up_by_hand(tern: Conversion, tmp_path: Path) -> None:
    now = boxes_now(tern)
    two = changed(tern, pack=tern.pack.model_copy(update={"strings": 2}))
    taken = take(two, arranged(two, [now["SP1"], now["SP2"]]))
    found = written(taken, tmp_path / "strings")
    numbers = sorted((item.string, item.order_in_string) for box in found.boxes for item in box.modules)
    assert numbers == [(string, order) for string in (1, 2) for order in (1, 2, 3, 4)]
    assert any("join up each of the 2 strings" in words for words in taken.to_do)
    assert not any("now joins" in words for words in taken.changed)


def test_every_row_that_cannot_be_without_its_device_goes_with_it():
    """Boxes and devices are what is taken; any other table whose rows must name a device, pin or part has to let them go."""
    itself = {"boxes", "devices", "modules"}
    bound = {
        table
        for table in row_tables()
        for name, info in record_of(table).model_fields.items()
        if (mark := mark_of(record_of(table), name)) is not None
        and info.is_required()
        and (not isinstance(mark, RefersTo) or mark.table in ("devices", "parts"))
    }
    assert bound - itself <= set(GOES_WITH_WHAT_IT_NAMES)
