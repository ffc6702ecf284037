"""The battery as a whole, worked out by hand from the demo's module: 8 cells, 3.65 V nominal and 4.2 V full."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.study import Study
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


@pytest.fixture(scope="module")
def tern() -> Conversion:
    return read_folder(DEMO)


def test_volts_and_energy_of_thirteen_modules(tern):
    pack = Study(tern).pack
    assert pack.nominal_v == pytest.approx(13 * 8 * 3.65)
    assert pack.full_v == pytest.approx(13 * 8 * 4.2)
    assert pack.energy_kwh == pytest.approx(13 * 2.307)


def test_the_service_disconnect_leaves_two_live_pieces(tern):
    pieces = Study(tern).pack.pieces
    by_box = {box.ref: len(box.modules) for box in tern.boxes}
    assert [piece.boxes for piece in pieces] == [("B1", "B2"), ("B3",)]
    assert [piece.full_v for piece in pieces] == pytest.approx([(by_box["B1"] + by_box["B2"]) * 33.6, by_box["B3"] * 33.6])


def test_without_the_cable_between_them_each_box_is_a_piece(tern):
    cores = tuple(core for core in tern.cable_cores if core.cable != "C2")
    cut = changed(tern, cables=tuple(cable for cable in tern.cables if cable.ref != "C2"), cable_cores=cores)
    assert [piece.boxes for piece in Study(cut).pack.pieces] == [("B1",), ("B2",), ("B3",)]


def test_no_boxes_no_pack(tern):
    assert Study(changed(tern, boxes=())).pack is None
