"""Places found for devices break no rule of the study that checks places, and what is said not to fit does not."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import permutations, product
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.enclosures import Enclosure, EnclosureItem
from halfshaft.studies.enclosure import WALLS, enclosure_findings, with_places
from halfshaft.studies.enclosure_places import place_devices
from support import changed


@cache
def demo() -> Conversion:
    return read_folder(Path(__file__).parents[2] / "examples" / "tern")


@st.composite
def devices(draw: st.DrawFn) -> tuple[Enclosure, tuple[EnclosureItem, ...]]:
    tens = st.integers(2, 9).map(lambda count: 10.0 * count)
    enclosure = Enclosure(
        ref="ENC", across_mm=draw(tens) + 60, deep_mm=draw(tens) + 40, high_mm=draw(tens) + 20, x_mm=0.0, y_mm=0.0, z_mm=0.0,
        gap_mm=draw(st.sampled_from([0.0, 2.0])),
    )  # fmt: skip
    items = tuple(
        EnclosureItem(
            ref=f"D{index}", enclosure="ENC", size_across_mm=draw(tens), size_deep_mm=draw(tens), size_up_mm=draw(tens),
            faces=draw(st.sampled_from([None, *sorted(WALLS)])), wall_within_mm=draw(st.sampled_from([None, 5.0])),
            plugs_look=draw(st.sampled_from([None, "rear", "right"])), plug_room_mm=20.0, may_roll=draw(st.booleans()),
            others_above=draw(st.booleans()),
        )
        for index in range(draw(st.integers(1, 4)))
    )  # fmt: skip
    return enclosure, items


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(described=devices())
def test_places_hold_every_rule_and_growth_is_what_lacks(described: tuple[Enclosure, tuple[EnclosureItem, ...]]) -> None:
    enclosure, items = described
    found = place_devices(enclosure, items, time=2.0)
    assert "nan" not in found.sentence(enclosure)
    if found.places:
        conversion = changed(demo(), enclosures=(enclosure,), enclosure_items=items)
        assert list(enclosure_findings(with_places(conversion, found.places))) == []
        return
    fields = {"across": "across_mm", "from front to rear": "deep_mm", "in height": "high_mm"}
    for growth in found.growths:
        if growth.grow_mm is None or not growth.is_proven:
            continue
        field = fields[growth.dimension]
        side = getattr(enclosure, field)
        assert place_devices(enclosure.model_copy(update={field: side + growth.grow_mm}), items, time=2.0).places
        assert not place_devices(enclosure.model_copy(update={field: side + growth.grow_mm - 1}), items, time=2.0).places


def test_the_demo_box_takes_its_devices_anew(tern: Conversion) -> None:
    found = place_devices(tern.enclosures[0], tern.enclosure_items)
    assert {place.item.ref for place in found.places} == {item.ref for item in tern.enclosure_items}
    assert list(enclosure_findings(with_places(tern, found.places))) == []
    assert found == replace(place_devices(tern.enclosures[0], tern.enclosure_items))


def test_what_is_in_the_way_of_the_demo_box(tern: Conversion) -> None:
    """The fuse board is 110 mm high and 300 long: under a lid at 105 nothing but height helps; 290 across, nothing but length."""
    lid = place_devices(tern.enclosures[0].model_copy(update={"high_mm": 105.0}), tern.enclosure_items)
    assert not lid.places
    assert lid.is_proven
    assert [(growth.dimension, growth.grow_mm) for growth in lid.growths if growth.grow_mm is not None] == [("in height", 5.0)]
    short = place_devices(tern.enclosures[0].model_copy(update={"across_mm": 290.0}), tern.enclosure_items[:1])
    assert [(growth.dimension, growth.grow_mm) for growth in short.growths if growth.grow_mm is not None] == [("across", 10.0)]


@pytest.mark.parametrize(("deep", "fits"), [(65.0, True), (64.9, False)])
def test_two_plugs_that_look_at_each_other_share_no_room(deep: float, fits: bool) -> None:
    """Two devices of 20 mm one behind the other, a plug of 25 mm between: 65 mm, whichever way one tries them (all are tried here)."""
    enclosure = Enclosure(ref="ENC", across_mm=30.0, deep_mm=deep, high_mm=30.0, x_mm=0.0, y_mm=0.0, z_mm=0.0)
    facts = {"enclosure": "ENC", "size_across_mm": 30.0, "size_deep_mm": 20.0, "size_up_mm": 30.0, "plug_room_mm": 25.0}
    items = (
        EnclosureItem(ref="A", faces="front", plugs_look="rear", **facts),
        EnclosureItem(ref="B", faces="rear", plugs_look="front", **facts),
    )
    tried = [
        (a, b)
        for a, b in product(range(46), repeat=2)
        for first, last in permutations((a, b))
        if last - first - 20 >= 25 and last + 20 <= deep and first == a
    ]
    assert bool(tried) == fits == bool(place_devices(enclosure, items).places)
