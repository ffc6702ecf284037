"""Places for unequal devices against published tilings: voids that are cut exactly into boxes, so that all fit with nothing to spare.

Source: void_tilings.json of the shared benchmarks, the cuboid voids; each box turned as in the printed answer.
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from typing import Any

import pytest

from halfshaft.model.enclosures import Enclosure, EnclosureItem
from halfshaft.studies.enclosure_places import place_devices

SHARED = Path(__file__).parents[2].parent / "shared"
TILINGS = SHARED / "benchmarks" / "void_tilings.json"


def voids() -> list[Any]:
    if not TILINGS.is_file():
        return [pytest.param(None, None, marks=pytest.mark.skip(reason="the shared benchmarks are not beside this repository"))]
    return [
        pytest.param(void, [item for item in case["items"] if item["solution"]["void"] == void["id"]], id=f"{case['seed']}-{void['id']}")
        for case in json.loads(TILINGS.read_text(encoding="utf-8"))
        for void in (case["voids"] if case["kind"] == "box" else ())
    ]


@pytest.mark.parametrize(("void", "boxes"), voids())
def test_a_void_is_filled_to_the_last_corner(void: dict[str, Any], boxes: list[dict[str, Any]]) -> None:
    across, deep, high = (float(side) for side in void["parts"][0]["dims_mm"])
    enclosure = Enclosure(ref="VOID", across_mm=across, deep_mm=deep, high_mm=high, x_mm=0.0, y_mm=0.0, z_mm=0.0)
    sizes = {box["id"]: [float(side) for side in box["solution"]["placed_dims_mm"]] for box in boxes}
    items = tuple(
        EnclosureItem(ref=ref, enclosure="VOID", size_across_mm=size[0], size_deep_mm=size[1], size_up_mm=size[2])
        for ref, size in sizes.items()
    )
    spans = [place.span for place in place_devices(enclosure, items).places]
    assert sum(math.prod(b - a for a, b in zip(span.low, span.high, strict=True)) for span in spans) == 1000 * across * deep * high
    assert all(one.overlap(other) <= 0 for one, other in itertools.combinations(spans, 2))
    # One side smaller by a millimetre, and the volume alone forbids it.
    less = place_devices(enclosure.model_copy(update={"across_mm": across - 1}), items)
    assert not less.places
    assert less.is_proven
    assert ("across", 1.0) in [(growth.dimension, growth.grow_mm) for growth in less.growths]
