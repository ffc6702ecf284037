"""The search on the demo: the same on any executor, the present arrangement among the best, words and picture."""

from __future__ import annotations

from concurrent.futures import Executor, Future, ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context

import pytest

from halfshaft.arrange_words import as_plain, as_words
from halfshaft.drawings.front_picture import front_picture
from halfshaft.drawings.shapes import Text, box_of
from halfshaft.model.conversion import Conversion
from halfshaft.pens.svg import svg
from halfshaft.studies.arrangement.records import Block, Front, Room
from halfshaft.studies.arrangement.search import search
from halfshaft.studies.arrangement.words import best_at, chosen, to_show
from halfshaft.study import Study

# Free blocks of the demo's spaces, by hand: each plan less its cut corners and keep-outs.
BLOCKS = {
    "SP1": ((-215, -450, 262, 280, -35, 585), (-215, -430, 262, 300, -35, 585)),
    "SP2": ((-215, 35, 282, 270, 450, 585), (-215, 35, 282, 300, 400, 520)),
    "SP4": ((2000, -400, 485, 2630, 400, 745), (2400, -560, 485, 2630, 560, 745)),
}
ROOMS = {
    ref: Room(space=ref, blocks=tuple(Block(*map(float, block)) for block in blocks), usable_l=0.0, step_mm=None)
    for ref, blocks in BLOCKS.items()
}


class Here(Executor):
    """Does everything at once, in this process."""

    def submit(self, fn, /, *args, **kwargs):
        future: Future = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def searched(tern: Conversion, executor: Executor, effort: float, said: list[str] | None = None) -> Front:
    study = Study(tern)
    with executor:
        return search(
            tern, study.network, study.mass, ROOMS, executor=executor, effort=effort, say=(said if said is not None else []).append
        )


@pytest.fixture(scope="module")
def front(request: pytest.FixtureRequest) -> Front:
    return searched(request.getfixturevalue("tern"), Here(), 0.5)


def test_processes_find_bit_for_bit_what_this_process_finds(tern: Conversion, front: Front) -> None:
    pool = ProcessPoolExecutor(max_workers=2, mp_context=get_context("spawn"))
    assert searched(tern, pool, 0.5) == front


def test_first_answers_come_before_proven_ones(tern: Conversion) -> None:
    said: list[str] = []
    searched(tern, Here(), 0.2, said)
    assert said[0].startswith("first answers: ")
    assert " best of " in said[-1]


def test_the_present_arrangement_is_among_the_best(front: Front) -> None:
    assert front.present is not None
    assert front.present.counts == (("SP1", 4), ("SP2", 4), ("SP4", 5))
    assert front.present.number > 0
    # 43.9 % and 514 mm: what `show mass` says of the finished car, whose boxes were weighed.
    assert front.present.front_percent == pytest.approx(43.94, abs=0.05)
    assert front.present.price.cg_height_mm == pytest.approx(513.8, abs=0.2)


def test_every_arrangement_has_thirteen_modules_and_keeps_the_plate(front: Front, tern: Conversion) -> None:
    assert front.arrangements
    for item in front.arrangements:
        assert sum(count for _, count in item.counts) == 13
        assert item.front_kg < tern.car.limits.front_axle_kg
        assert item.rear_kg < tern.car.limits.rear_axle_kg
    assert [item.number for item in front.arrangements] == list(range(1, len(front.arrangements) + 1))


def test_words_name_every_shown_arrangement(front: Front) -> None:
    words = as_words(front)
    for item in to_show(front):
        assert any(line.startswith(f"{item.number} ") for line in words.splitlines())
    assert "as described now; the same as number" in words
    assert "service disconnect" in words
    assert "in the order that takes least, what is described now, too" in words
    assert as_plain(front)["looked_at"] == front.looked_at
    assert len(as_words(front, show_all=True).splitlines()) >= len(words.splitlines())


def test_what_is_described_now_is_held_against_the_best(front: Front) -> None:
    assert front.present is not None
    higher = replace(front.present, number=0, price=replace(front.present.price, cg_height_mm=600.0))
    assert f"number {front.present.number} is as good or better in everything" in as_words(replace(front, present=higher))
    lower = replace(higher, price=replace(higher.price, cg_height_mm=400.0))
    assert "not one of those compared" in as_words(replace(front, present=lower))


def test_labels_of_the_picture_cover_nothing_and_stay_on_it(front: Front) -> None:
    drawing = front_picture(front)
    boxes = [box_of(shape) for shape in drawing.shapes if isinstance(shape, Text)]
    for index, (left, bottom, right, top) in enumerate(boxes):
        assert left >= 0
        assert bottom >= 0
        assert right <= drawing.width_mm
        assert top <= drawing.height_mm
        for other in boxes[index + 1 :]:
            assert left >= other[2] or other[0] >= right or bottom >= other[3] or other[1] >= top
    numbers = {shape.words for shape in drawing.shapes if isinstance(shape, Text) and shape.bold}
    assert {str(item.number) for item in to_show(front)} <= numbers
    assert svg(drawing) == svg(front_picture(front))


def test_a_choice_holds_the_best_and_spreads_over_the_rest() -> None:
    points = [[number, 100 - number] for number in range(101)]
    picked = chosen(points, [0, 100], 5)
    assert picked == [0, 25, 50, 75, 100]
    titles = best_at([[0, 9, 5], [9, 0, 5], [3, 3, 5]], ["cg_height_mm", "split_off_percent", "luggage_lost_l"])
    assert titles == {0: ("lowest",), 1: ("split nearest to target",), 2: ("all round",)}
