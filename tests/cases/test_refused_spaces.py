"""Spaces in which nothing fits say why, in a sentence that names what lacks."""

from __future__ import annotations

import pytest

from halfshaft.model.pack import ArrangementSettings
from halfshaft.model.spaces import Space
from halfshaft.studies.arrangement.menus import menu_of
from halfshaft.studies.arrangement.records import Block, Room
from halfshaft.studies.arrangement.stands import PackedModule

SPACE = Space(
    ref="SP9", name="glove box", loaded_from="rear", floor_z_mm=0.0, top_z_mm=1000.0, polygon_mm=((0.0, 0.0), (500.0, 0.0), (500.0, 500.0)),
)  # fmt: skip
KIND = PackedModule(module="M", length_mm=300, width_mm=150, height_mm=100, mass_kg=10, attitudes=("flat",))
# Outside of a box for one module, flat: 300 + 2 x (24 + 2) = 352 by 150 + 2 x (6 + 2) = 166 by 100 + 4 + 41 + 4 = 149; the
# space keeps 4 at each side and above, and 6 below: 360 by 174 by 159.
NEEDED = (360.0, 174.0, 159.0)


def refused(*sizes: tuple[float, float, float], kinds: tuple[PackedModule, ...] = (KIND,)) -> str:
    blocks = tuple(Block(0.0, 0.0, 0.0, *size) for size in sizes)
    menu = menu_of(SPACE, Room(space="SP9", blocks=blocks, usable_l=0.0, step_mm=None), kinds, ArrangementSettings(), 0.0, 0.5)
    assert bool(menu.refused) == (menu.most == 0) == (menu.fillings == ())
    assert menu.most <= menu.most_bound
    return menu.refused


def test_just_large_enough_is_not_refused() -> None:
    assert refused(NEEDED) == ""


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ((359.0, 174.0, 159.0), "lacks 1 mm in length."),
        ((360.0, 170.0, 159.0), "lacks 4 mm in width."),
        ((360.0, 174.0, 119.0), "lacks 40 mm in height."),
        ((340.0, 174.0, 149.0), "lacks 20 mm in length and 10 mm in height."),
    ],
)
def test_a_space_smaller_than_a_module_says_by_how_much(size: tuple[float, float, float], words: str) -> None:
    assert refused(size).startswith("No module fits into glove box: its largest free block takes a box of ")
    assert refused(size).endswith(words)


def test_a_space_smaller_than_walls_and_gaps_says_so() -> None:
    assert refused((20.0, 20.0, 40.0)) == "glove box is smaller than the room that is kept round a box, its feet and its walls."


def test_a_space_that_keep_outs_fill_says_so() -> None:
    assert refused() == "glove box has no free room: keep-outs fill it."


def test_no_module_type_says_so() -> None:
    assert refused(NEEDED, kinds=()) == "No module type may be used."
