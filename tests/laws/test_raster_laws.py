"""The cells of an upright box hold all that the general way to draw a polygon fills, for any box and grid."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from halfshaft.studies.looms.raster import Grid

PLACES = st.floats(-500, 2500, allow_nan=False)
SIZES = st.floats(0.5, 400, allow_nan=False)


@given(PLACES, PLACES, SIZES, SIZES, st.sampled_from([5.0, 8.0]))
def test_a_box_covers_what_its_polygon_covers(left, bottom, width, height, cell_mm):
    grid = Grid(cell_mm)
    right, top = left + width, bottom + height
    box = grid.box(left, bottom, right, top)
    polygon = grid.polygon(((left, bottom), (right, bottom), (right, top), (left, top)))
    for row, mask in polygon.items():
        assert mask & ~box.get(row, 0) == 0
