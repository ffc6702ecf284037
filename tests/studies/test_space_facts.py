"""What is said of each space before anything is arranged, against sums done by hand."""

from __future__ import annotations

import pytest

from halfshaft.model.conversion import Conversion
from halfshaft.model.spaces import KeepOut, Space
from halfshaft.studies.arrangement.space_facts import SpaceFacts
from halfshaft.study import Study
from support import changed

# A box for one module of 355 x 151 x 108 lying flat: end and side room, room under and over, walls, gaps round it, feet.
LONG_MM, WIDE_MM, HIGH_MM = 355 + 2 * (24 + 2 + 4), 151 + 2 * (6 + 2 + 4), 108 + 4 + 41 + 2 * 2 + 6 + 4


def by_ref(conversion: Conversion) -> dict[str, SpaceFacts]:
    return {fact.ref: fact for fact in Study(conversion).space_facts}


def test_litres_are_those_of_the_plan_by_the_shoelace_rule_times_the_height(tern_study: Study) -> None:
    litres = {fact.ref: fact.usable_l for fact in tern_study.space_facts}
    assert litres == pytest.approx(
        {
            "SP1": (515 * 415 - 20 * 20 / 2) * 323 / 1e6,  # a corner of 20 x 20 cut off
            "SP2": (515 * 415 - 30 * 50 / 2) * 303 / 1e6,  # a corner of 30 x 50 cut off; the servo begins at its edge
            "SP3": 360 * 1090 * 155 / 1e6,
            "SP4": (400 * 800 + 230 * 1120) * 260 / 1e6,
            "SP5": 230 * 860 * 283 / 1e6,
        },
        abs=1e-9,
    )


def test_the_largest_free_block_is_that_of_the_longer_part_of_a_stepped_plan(tern_study: Study) -> None:
    facts = {fact.ref: fact for fact in tern_study.space_facts}
    assert facts["SP3"].largest.size == (360, 1090, 155)
    # 630 x 800 along the whole of it is more than 230 x 1120 across its rear.
    assert facts["SP4"].largest.size == (630, 800, 260)
    assert (facts["SP4"].step_mm, facts["SP1"].step_mm) == (None, 5.0)


def test_a_keep_out_takes_its_litres_and_halves_the_block(tern: Conversion) -> None:
    across = KeepOut(
        ref="KO9", name="tunnel", space="SP3", x_min_mm=1490, y_min_mm=-50, z_min_mm=200, x_max_mm=1850, y_max_mm=50, z_max_mm=500
    )
    fact = by_ref(changed(tern, keep_outs=(*tern.keep_outs, across)))["SP3"]
    assert fact.usable_l == pytest.approx(360 * (1090 - 100) * 155 / 1e6)
    assert fact.largest.size == (360, 495, 155)


@pytest.mark.parametrize(
    ("size", "words", "refused"),
    [
        ((LONG_MM, WIDE_MM, HIGH_MM), "1", ""),
        ((LONG_MM, WIDE_MM + 151 + 4, HIGH_MM), "2", ""),
        ((LONG_MM, WIDE_MM, HIGH_MM - 1), "0", "a box for one module lacks 1 mm in height."),
    ],
)
def test_modules_are_counted_for_a_box_built_as_the_settings_say(
    tern: Conversion, size: tuple[int, int, int], words: str, refused: str
) -> None:
    long, wide, high = size
    space = Space(
        ref="SP3", name="shelf", loaded_from="above", floor_z_mm=300, top_z_mm=300 + high, polygon_mm=((0, 0), (long, 0), (long, wide), (0, wide))
    )  # fmt: skip
    spaces = tuple(space if other.ref == "SP3" else other for other in tern.spaces)
    settings = tern.arrangement.model_copy(update={"plates": "none", "plate": None})
    fact = by_ref(changed(tern, spaces=spaces, arrangement=settings, keep_outs=()))["SP3"]
    assert (fact.most, fact.most_bound, fact.most_words) == (int(words), int(words), words)
    assert fact.refused.endswith(refused)
    assert bool(fact.refused) == bool(refused)


def test_as_many_modules_are_counted_as_stand_there_now(tern: Conversion, tern_study: Study) -> None:
    facts = {fact.ref: fact for fact in tern_study.space_facts}
    for box in tern.boxes:
        assert len(box.modules) <= facts[box.space].most <= facts[box.space].most_bound


def test_without_a_module_type_the_sizes_are_still_said(tern: Conversion) -> None:
    bare = changed(tern, modules=(), boxes=(), cables=(), busbars=(), joints=())
    facts = by_ref(bare)
    assert facts["SP1"].usable_l > 60
    assert (facts["SP1"].most, facts["SP1"].most_bound, facts["SP1"].most_words) == (None, None, "not counted")
    assert facts["SP1"].refused.startswith("no battery module is described")
    assert (facts["SP3"].most_words, facts["SP3"].refused) == ("not for batteries", "")
