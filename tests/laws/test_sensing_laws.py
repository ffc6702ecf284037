"""What must hold of sense looms and tap volts whatever the pack: the wires follow the modules, and volts add up."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.files.folder import read_folder
from halfshaft.model.boxes import Box
from halfshaft.model.conversion import Conversion
from halfshaft.studies.sensing.looms import sensing_conversion, shades_of
from halfshaft.studies.sensing.sheets import probe_sheets
from halfshaft.studies.sensing.volts import Circuit, Source, tap_volts
from halfshaft.study import Study
from packs import made_up
from support import changed

DEMO = read_folder(Path(__file__).parents[2] / "examples" / "tern")


def cuts(conversion: Conversion) -> dict[str, float]:
    inside = sensing_conversion(conversion)
    assert inside is not None
    return {ref: laid.length.cut_mm for ref, laid in Study(inside).routing.wires.items() if laid.length}


def moved(box: Box, *, x_mm: float, y_mm: float) -> Box:
    """A box with everything in it somewhere else."""
    places = tuple(
        place.model_copy(
            update={
                "x_min_mm": place.x_min_mm + x_mm,
                "x_max_mm": place.x_max_mm + x_mm,
                "y_min_mm": place.y_min_mm + y_mm,
                "y_max_mm": place.y_max_mm + y_mm,
            }
        )
        for place in box.modules
    )
    outside = {
        "x_min_mm": box.x_min_mm + x_mm,
        "x_max_mm": box.x_max_mm + x_mm,
        "y_min_mm": box.y_min_mm + y_mm,
        "y_max_mm": box.y_max_mm + y_mm,
    }
    return box.model_copy(update={"modules": places, "plates": (), **outside})


@settings(max_examples=20, deadline=None)
@given(st.integers(-300, 300), st.integers(-300, 0))
def test_a_box_moved_with_all_that_is_in_it_needs_the_same_wires_from_its_modules(x_mm, y_mm):
    box = DEMO.boxes[0]
    devices = tuple(
        item.model_copy(update={"x_mm": item.x_mm + x_mm, "y_mm": item.y_mm + y_mm}) if item.ref in ("SB1", "B1") else item
        for item in DEMO.devices
    )
    there = cuts(changed(DEMO, boxes=(moved(box, x_mm=x_mm, y_mm=y_mm), *DEMO.boxes[1:]), devices=devices))
    here = cuts(changed(DEMO, boxes=(box.model_copy(update={"plates": ()}), *DEMO.boxes[1:])))
    # The chain comes through the wall where the loom outside arrives, and that has not moved.
    of_modules = [ref for ref in here if ref.startswith(("M01", "M02", "M03", "M04"))]
    assert len(of_modules) == 4 * 13
    assert {ref: there[ref] for ref in of_modules} == {ref: here[ref] for ref in of_modules}


def test_a_module_in_another_place_has_other_wires():
    box = DEMO.boxes[0]
    first, second, *others = box.modules
    names = ("ref", "string", "order_in_string")
    exchanged = (
        first.model_copy(update={name: getattr(second, name) for name in names}),
        second.model_copy(update={name: getattr(first, name) for name in names}),
        *others,
    )
    before, after = cuts(DEMO), cuts(changed(DEMO, boxes=(box.model_copy(update={"modules": exchanged}), *DEMO.boxes[1:])))
    assert {ref for ref in before if before[ref] != after[ref]} == {ref for ref in before if ref.startswith(("M01", "M02"))}
    assert (after["M01-0"], after["M02-0"]) == (before["M02-0"], before["M01-0"])


def test_a_board_further_away_takes_longer_wires():
    devices = tuple(item.model_copy(update={"y_mm": -60.0}) if item.ref == "SB1" else item for item in DEMO.devices)
    before, after = cuts(DEMO), cuts(changed(DEMO, devices=devices))
    assert all(after[ref] > before[ref] for ref in before if ref.startswith(("M01", "M02", "M03", "M04")))


@settings(max_examples=15, deadline=None)
@given(st.integers(1, 12), st.integers(2, 16))
def test_every_tap_is_led_and_told_and_each_loom_is_one_tree(modules, cells):
    conversion = made_up(modules=modules, cells=cells)
    inside = sensing_conversion(conversion)
    boards = -(-modules // 6)
    # The chain of two wires leads from the wall to each board in turn and back to the wall.
    assert len(inside.wires) == modules * (cells + 1) + 2 * (boards + 1)
    study = Study(inside)
    assert all(laid.length is not None for laid in study.routing.wires.values())
    (loom,) = study.routing.looms
    points = {point for run in loom.runs for point in (run.start, run.end)}
    assert len(loom.runs) == max(len(points) - 1, 0)
    taps = tap_volts(conversion)
    highest = max(item.to_pack_minus_v for item in taps)
    assert highest == pytest.approx(modules * cells * 3.65)
    (sheet,) = probe_sheets(conversion).values()
    assert len(sheet.readings) == modules * (cells + 2)
    assert sum(item.expected for item in sheet.readings if abs(item.expected) < 4) == pytest.approx(highest)
    assert all(item.low < item.expected < item.high for item in sheet.readings)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-5, 5), min_size=1, max_size=20), st.data())
def test_volts_between_two_nodes_are_the_cells_between_them_from_any_datum(volts, data):
    sources = tuple(Source(module="M", plus=f"n{i + 1}", minus=f"n{i}", cells=1) for i in range(len(volts)))
    sizes = dict(zip(sources, volts, strict=True))
    one, other, datum = (f"n{data.draw(st.integers(0, len(volts)))}" for _ in range(3))
    found = Circuit(sources, ()).potentials(datum, sizes)
    low, high = sorted((int(one[1:]), int(other[1:])))
    assert found[f"n{high}"] - found[f"n{low}"] == pytest.approx(sum(volts[low:high]), abs=1e-9)


def test_no_two_shades_are_alike_and_none_is_orange():
    shades = shades_of()
    assert len(shades) == len(set(shades)) > 60
    assert not any("OG" in shade or "GNYE" in shade for shade in shades)


def test_the_same_in_gives_the_same_out():
    assert sensing_conversion(DEMO) == sensing_conversion(DEMO)
    assert {name: sheet.readings for name, sheet in probe_sheets(DEMO).items()} == {
        name: sheet.readings for name, sheet in probe_sheets(DEMO).items()
    }
