"""Wherever boxes are put, the pictures hold them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from drawings.pictures import outside, overlapping_words, rects
from halfshaft.drawings.views.picture import book_picture
from halfshaft.drawings.views.sheet import car_sheet
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.study import Study
from support import changed

TERN = Path(__file__).parents[2] / "examples" / "tern"


@cache
def demo() -> Conversion:
    """Not a fixture: what is handed to a law is written out with every example."""
    return read_folder(TERN)


places = st.integers(-3000, 6000)
sizes = st.integers(40, 900)


@st.composite
def blocks(draw):
    low = [draw(places), draw(places), draw(places)]
    return low, [start + draw(sizes) for start in low]


@settings(max_examples=6, deadline=None)
@given(found=st.lists(blocks(), min_size=1, max_size=5))
def test_boxes_are_always_inside_the_picture(found):
    tern = demo()
    template, devices, boxes = tern.boxes[0], list(tern.devices), []
    for number, (low, high) in enumerate(found):
        ends = dict(zip(("x_min_mm", "y_min_mm", "z_min_mm"), low, strict=True)) | dict(zip(("x_max_mm", "y_max_mm", "z_max_mm"), high, strict=True))  # fmt: skip
        boxes.append(template.model_copy(update={**ends, "ref": f"BX{number}", "modules": (), "plates": (), "mounts": ()}))
        devices.append(tern.device["B1"].model_copy(update={"ref": f"BX{number}"}))
    conversion = changed(tern, boxes=tuple(boxes), devices=tuple(devices), cables=(), cable_cores=(), looms=(), wires=(), splices=(), runs=(), hoses=(), grommets=(), nearby=(), twist_groups=(), board_ways=(), board_pegs=())  # fmt: skip
    study = Study(conversion)
    for drawing in (book_picture(conversion, study.routing, study.mass), car_sheet(conversion, study.routing, study.mass)):
        # One sample of a box stands in the key.
        assert len(rects(drawing, "HV")) == 3 * len(boxes) + 1
        assert not outside(drawing)
        assert not overlapping_words(drawing)
