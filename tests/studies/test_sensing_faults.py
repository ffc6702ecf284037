"""A pack with something wrong, probed with a meter: the sheet names just that.

What the meter shows comes from `packs.Bench`, a network of its own solved node by node, with cells that differ and a
meter that errs; the program sees only the filled sheet.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from halfshaft.model.conversion import Conversion
from halfshaft.model.reading import Measured
from halfshaft.studies.looms.faults import Diagnosis
from halfshaft.studies.sensing.diagnosis import diagnose_volts
from halfshaft.studies.sensing.sheets import ProbeSheet, probe_sheets
from halfshaft.studies.sensing.volts import tap_volts
from packs import Bench, made_up, place_of

# From a data sheet of a hand-held meter of the usual sort: half of a percent and a few digits.
ERROR_SHARE, ERROR_V = 0.004, 0.01
Change = Callable[[Bench], None]


def sheet_of(*, modules: int, cells: int) -> ProbeSheet:
    (sheet,) = probe_sheets(made_up(modules=modules, cells=cells)).values()
    return sheet


TWELVE = sheet_of(modules=12, cells=8)
THREE = sheet_of(modules=3, cells=32)


def probed(sheet: ProbeSheet, change: Change, *, seed: int = 1) -> list[Measured]:
    """The sheet as somebody fills it who has this pack before him."""
    chance = random.Random(seed)
    bench = Bench([[3.71 + chance.uniform(-0.04, 0.04) for _ in module.pins[1:]] for module in sheet.modules])
    change(bench)
    plugs = [module.pins for module in sheet.modules]
    shown = bench.reads([(place_of(red, plugs), place_of(black, plugs)) for red, black in (item.between for item in sheet.readings)])
    return [
        Measured(reading=reading, found=value * (1 + chance.uniform(-ERROR_SHARE, ERROR_SHARE)) + chance.uniform(-ERROR_V, ERROR_V))
        for reading, value in zip(sheet.readings, shown, strict=True)
    ]


def told(sheet: ProbeSheet, change: Change, *, seed: int = 1) -> Diagnosis:
    return diagnose_volts(sheet, probed(sheet, change, seed=seed))


def suspects(diagnosis: Diagnosis) -> set[tuple[str, ...]]:
    """Kind and about of every fault of the only explanation."""
    (explanation,) = diagnosis.explanations
    assert not diagnosis.unexplained
    assert not diagnosis.unexpected
    return {(item.kind, *item.about) for item in explanation.suspects}


def turn(*modules: int) -> Change:
    """Modules end for end under their bars; each plug is the module's own, so its wires stay on their taps."""
    return lambda bench: bench.turned.update(modules)


def turn_with_taps(*modules: int) -> Change:
    """Modules end for end, with wires that end at places in the box: each now meets the cell at the other end."""

    def change(bench: Bench) -> None:
        bench.turned.update(modules)
        for module in modules:
            bench.at_pin[module].reverse()

    return change


def swap(module: int, one: int, other: int) -> Change:
    def change(bench: Bench) -> None:
        pins = bench.at_pin[module]
        pins[one], pins[other] = pins[other], pins[one]

    return change


def cut(module: int, tap: int) -> Change:
    return lambda bench: bench.at_pin[module].__setitem__(tap, None)


def exchange(one: int, other: int) -> Change:
    def change(bench: Bench) -> None:
        bench.at_pin[one], bench.at_pin[other] = bench.at_pin[other], bench.at_pin[one]

    return change


def from_the_wrong_end(module: int) -> Change:
    return lambda bench: bench.at_pin[module].reverse()


def nothing(bench: Bench) -> None:
    """All right."""


def test_a_right_pack_passes_line_by_line():
    for sheet in (TWELVE, THREE):
        diagnosis = told(sheet, nothing)
        assert diagnosis.is_good
        assert diagnosis.explanations == ()


def test_the_twelve_modules_have_ninety_six_cells_to_read():
    for sheet in (TWELVE, THREE):
        single = [item for item in sheet.readings if item.expected == pytest.approx(3.65)]
        assert len(single) == 96
        assert {(item.low, item.high) for item in single} == {(2.8, 4.2)}


@pytest.mark.parametrize("modules", [(0, 3, 4, 11), (2, 3, 4, 5), (8, 9, 10, 11)])
def test_thirty_two_of_ninety_six_taps_reversed_are_named_with_the_four_modules_that_were_turned(modules):
    found = suspects(told(TWELVE, turn_with_taps(*modules)))
    assert found == {("turned with taps", TWELVE.modules[m].ref, *TWELVE.modules[m].pins[1:]) for m in modules}
    reversed_taps = {pin for item in found for pin in item[2:]}
    assert len(reversed_taps) == 32
    assert len({pin for module in TWELVE.modules for pin in module.pins[1:]}) == 96


@pytest.mark.parametrize("module", [0, 1, 2])
def test_thirty_two_of_ninety_six_taps_reversed_are_named_with_the_module_of_thirty_two_cells_that_was_turned(module):
    ref, pins = THREE.modules[module].ref, THREE.modules[module].pins[1:]
    diagnosis = told(THREE, turn_with_taps(module))
    assert suspects(diagnosis) == {("turned with taps", ref, *pins)}
    assert len(pins) == 32
    text = diagnosis.explanations[0].suspects[0].text
    assert ref in text
    assert "32 taps reversed" in text


@pytest.mark.parametrize(
    ("change", "kind", "about"),
    [
        (turn(4), "turned", (4,)),
        (turn(0), "turned", (0,)),
        (turn(11), "turned", (11,)),
        (swap(6, 3, 4), "swapped", (6, 3, 4)),
        (swap(6, 0, 8), "swapped", (6, 0, 8)),
        (swap(11, 7, 8), "swapped", (11, 7, 8)),
        (swap(2, 0, 5), "swapped", (2, 0, 5)),
        (cut(5, 4), "open", (5, 4)),
        (cut(5, 0), "open", (5, 0)),
        (cut(11, 8), "open", (11, 8)),
        (from_the_wrong_end(7), "reversed plug", (7, *range(1, 9))),
        (from_the_wrong_end(0), "reversed plug", (0, *range(1, 9))),
    ],
)  # fmt: skip
def test_each_single_fault_of_a_module_is_named_and_just_it(change, kind, about):
    module = TWELVE.modules[about[0]]
    assert suspects(told(TWELVE, change)) == {(kind, module.ref, *(module.pins[tap] for tap in about[1:]))}


@pytest.mark.parametrize(("one", "other"), [(0, 1), (3, 9), (0, 11), (10, 11)])
def test_two_plugs_in_each_others_place(one, other):
    (found,) = suspects(told(TWELVE, exchange(one, other)))
    assert found[0] == "exchanged"
    assert set(found[1:3]) == {TWELVE.modules[one].ref, TWELVE.modules[other].ref}


def flipped(lines: Callable[[int], bool], measured: list[Measured]) -> list[Measured]:
    return [Measured(reading=item.reading, found=-item.found if lines(item.reading.number) else item.found) for item in measured]


def test_a_minus_sign_that_was_overlooked_is_no_fault_of_the_pack():
    measured = flipped(lambda number: number == 25, probed(TWELVE, nothing))
    assert suspects(diagnose_volts(TWELVE, measured)) == {("leads at one line", TWELVE.owners[25], TWELVE.readings[24].between[0])}


def test_leads_the_other_way_round_at_a_whole_plug_are_no_turned_module():
    owner = TWELVE.modules[4].ref
    measured = flipped(lambda number: TWELVE.owners[number] == owner, probed(TWELVE, nothing))
    assert suspects(diagnose_volts(TWELVE, measured)) == {("leads", owner)}


def test_a_weak_cell_is_one_line_and_no_swapped_wire():
    def change(bench: Bench) -> None:
        bench.volts[3][2] = 1.9

    module = TWELVE.modules[3]
    assert suspects(told(TWELVE, change)) == {("cell", module.ref, module.pins[3])}


@pytest.mark.parametrize("seed", range(4))
def test_two_faults_at_once_are_both_named(seed):
    chance = random.Random(seed)
    first, second = chance.sample(range(12), 2)

    def change(bench: Bench) -> None:
        turn_with_taps(first)(bench)
        swap(second, 2, 5)(bench)

    one, other = TWELVE.modules[first], TWELVE.modules[second]
    expected = {("turned with taps", one.ref, *one.pins[1:]), ("swapped", other.ref, other.pins[2], other.pins[5])}
    assert suspects(told(TWELVE, change, seed=seed)) == expected


def test_what_was_not_read_is_not_held_against_anybody():
    measured = [Measured(reading=item.reading, found=None if item.reading.number % 2 else item.found) for item in probed(TWELVE, nothing)]
    diagnosis = diagnose_volts(TWELVE, measured)
    assert not diagnosis.failed
    assert not diagnosis.is_good
    assert len(diagnosis.not_measured) == sum(number % 2 for number in range(1, len(measured) + 1))


def test_volts_that_contradict_each_other_are_not_told(tern: Conversion) -> None:
    # M04 in B1 and M05 in B2 exchange their numbers and the bars stay: by bars one of them is lower, by numbers the other one.
    turned = {"M04": 5, "M05": 4}
    boxes = tuple(
        box.model_copy(
            update={
                "modules": tuple(
                    place.model_copy(update={"order_in_string": turned.get(place.ref, place.order_in_string)}) for place in box.modules
                )
            }
        )
        for box in tern.boxes
    )
    taps = tap_volts(tern.model_copy(update={"boxes": boxes}))
    assert len(taps) == 13 * 9
    assert all(tap.to_pack_minus_v is None for tap in taps)
    assert [tap.to_module_minus_v for tap in taps[:3]] == pytest.approx([0, 3.65, 7.3])
