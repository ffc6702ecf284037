"""What must hold of every cutting plan, against plain reasoning and an exhaustive search."""

from __future__ import annotations

import itertools
from collections import Counter
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from halfshaft.studies.looms.cutting import CuttingPlan, StockKind, cut_stock
from halfshaft.studies.looms.patterns import fullest

PIECES = st.dictionaries(st.integers(1, 40).map(lambda n: 25 * n), st.integers(1, 6), min_size=1, max_size=6)
FEW = st.dictionaries(st.integers(4, 19), st.integers(1, 3), min_size=1, max_size=4).filter(lambda pieces: sum(pieces.values()) <= 7)
NEW = st.lists(st.integers(20, 60), min_size=1, max_size=2, unique=True)
SHELF = st.lists(st.tuples(st.integers(5, 45), st.integers(1, 2)), max_size=3, unique_by=lambda item: item[0])


def shelf_and_new(shelf: list[tuple[int, int]], new: list[int], times: int = 1) -> list[StockKind]:
    return [
        *(StockKind(ref=f"S{at}", length_mm=times * length, pieces=pieces) for at, (length, pieces) in enumerate(shelf)),
        *(StockKind(ref=f"N{at}", length_mm=times * length) for at, length in enumerate(new)),
    ]


def cut_of(plan: CuttingPlan) -> Counter[int]:
    found = Counter(dict(plan.too_long))
    for item in (*plan.cuts, *plan.missing):
        for piece, count in item.pieces:
            found[piece] += count * item.times
    return found


@settings(max_examples=60, deadline=None)
@given(PIECES, SHELF, st.lists(st.integers(20, 60), max_size=2, unique=True), st.integers(0, 10), st.integers(0, 400))
def test_every_piece_is_cut_once_from_stock_that_is_there(pieces, shelf, new, trim, offcut):
    stock = shelf_and_new(shelf, new, times=25)
    plan = cut_stock(pieces, stock, trim_mm=trim, offcut_min_mm=offcut)
    assert cut_of(plan) == Counter(pieces)
    for item in (*plan.cuts, *plan.missing):
        assert sum(piece * count for piece, count in item.pieces) + item.left_mm == item.stock.length_mm
        assert item.left_mm >= trim
        assert item.is_kept == (item.left_mm >= max(offcut, 1))
    for kind in stock:
        taken = sum(item.times for item in plan.cuts if item.stock == kind)
        assert kind.pieces is None or taken <= kind.pieces
    assert 0 <= plan.least <= plan.found
    assert plan.proven == (plan.gap_percent == 0)
    # What is missing is missing only where nothing can be bought that would do.
    longest = max((kind.length_mm for kind in stock if kind.pieces is None), default=0) - trim
    assert all(item.pieces[0][0] > longest for item in plan.missing)


@settings(max_examples=60, deadline=None)
@given(PIECES, st.integers(1000, 3000))
def test_taking_each_piece_where_it_first_fits_is_never_better(pieces, length):
    rooms: list[int] = []
    for piece in sorted((p for p, count in pieces.items() for _ in range(count)), reverse=True):
        at = next((at for at, room in enumerate(rooms) if room >= piece), None)
        if at is None:
            rooms.append(length)
            at = -1
        rooms[at] -= piece
    plan = cut_stock(pieces, [StockKind(ref="R", length_mm=length)], trim_mm=0, offcut_min_mm=0)
    assert plan.least <= plan.found <= length * len(rooms)


@settings(max_examples=40, deadline=None)
@given(PIECES, st.integers(1000, 3000), st.integers(2, 4))
def test_more_kits_take_no_more_than_each_kit_for_itself(pieces, length, kits):
    one, many = (
        cut_stock({piece: n * count for piece, count in pieces.items()}, [StockKind(ref="R", length_mm=length)], trim_mm=0, offcut_min_mm=0)
        for n in (1, kits)
    )
    assert cut_of(many) == Counter({piece: kits * count for piece, count in pieces.items()})
    assert many.least <= kits * one.found


def exhaustive(pieces: dict[int, int], shelf: list[tuple[int, int]], new: list[int]) -> tuple[str, int]:
    """The least by trying everything: the shelf begun where it is enough, else what is bought."""
    lengths = tuple(pieces)

    def fillings(room: int, counts: tuple[int, ...]) -> list[tuple[int, ...]]:
        every = itertools.product(*(range(min(count, room // length) + 1) for length, count in zip(lengths, counts, strict=True)))
        return [taken for taken in every if sum(t * length for t, length in zip(taken, lengths, strict=True)) <= room]

    there = tuple(length for length, count in shelf for _ in range(count))

    @cache
    def least(counts: tuple[int, ...], left: tuple[int, ...], shelf_costs: bool) -> float:
        """Each length of the shelf in turn is cut or left alone; then one new length after the other."""
        if not any(counts):
            return 0
        if left:
            tries = [
                (left[0] if shelf_costs and any(taken) else 0)
                + least(tuple(have - take for have, take in zip(counts, taken, strict=True)), left[1:], shelf_costs)
                for taken in fillings(left[0], counts)
            ]
            return min(tries)
        if shelf_costs:
            return float("inf")
        return min(
            (
                length + least(tuple(have - take for have, take in zip(counts, taken, strict=True)), (), shelf_costs)
                for length in new
                for taken in fillings(length, counts)
                if any(taken)
            ),
            default=float("inf"),
        )

    counts = tuple(pieces.values())
    begun = least(counts, there, True)
    return ("shelf", int(begun)) if begun != float("inf") else ("length", int(least(counts, there, False)))


@settings(max_examples=40, deadline=None)
@given(FEW, SHELF, NEW)
def test_small_plans_are_the_best_there_are(pieces, shelf, new):
    plan = cut_stock(pieces, shelf_and_new(shelf, new), trim_mm=0, offcut_min_mm=5)
    aim, best = exhaustive(pieces, shelf, new)
    assert plan.aim == aim
    assert plan.least <= best <= plan.found
    assert plan.proven
    assert plan.found == best


@given(PIECES, st.integers(0, 3000))
def test_a_filling_is_as_full_as_any(pieces, room):
    lengths, counts = tuple(pieces), tuple(pieces.values())
    taken = fullest(lengths, counts, room)
    reached = {0}
    for length, count in pieces.items():
        reached |= {total + n * length for total in reached for n in range(count + 1)}
    assert sum(t * length for t, length in zip(taken, lengths, strict=True)) == max(total for total in reached if total <= room)
    assert all(take <= count for take, count in zip(taken, counts, strict=True))


def test_by_price_where_all_new_stock_has_one():
    """90 m: one reel of 100 m for 14 EUR, or four spools of 25 m for 4.50 each; 20 m: one spool."""
    stock = [StockKind(ref="reel", length_mm=100_000, price_eur=14.0), StockKind(ref="spool", length_mm=25_000, price_eur=4.5)]
    plan = cut_stock({1000: 90}, stock, trim_mm=10, offcut_min_mm=300)
    assert (plan.aim, plan.found, plan.proven) == ("price", 14.0, True)
    assert [cut.stock.ref for cut in plan.cuts] == ["reel"]
    plan = cut_stock({1000: 20}, stock, trim_mm=10, offcut_min_mm=300)
    assert (plan.found, [cut.stock.ref for cut in plan.cuts]) == (4.5, ["spool"])


def test_the_shelf_is_used_up_before_new_stock_is_begun():
    """30 m of 2 m from an end of 8 m and a reel: four from the end, eleven from the reel, with 10 mm lost of each."""
    stock = [StockKind(ref="end", length_mm=8_010, pieces=1), StockKind(ref="reel", length_mm=100_000)]
    plan = cut_stock({2000: 15}, stock, trim_mm=10, offcut_min_mm=300)
    assert [(cut.stock.ref, cut.pieces, cut.left_mm, cut.is_kept) for cut in plan.cuts] == [
        ("end", ((2000, 4),), 10, False),
        ("reel", ((2000, 11),), 78_000, True),
    ]
    assert (plan.aim, plan.found, plan.waste_mm) == ("length", 100_000, 10)


def test_what_is_missing_and_what_is_too_long_is_said():
    plan = cut_stock({7000: 3, 1000: 10, 20_000: 1}, [StockKind(ref="coil", length_mm=12_000, pieces=1)], trim_mm=0, offcut_min_mm=300)
    assert plan.too_long == ((20_000, 1),)
    assert (plan.aim, plan.found, plan.least) == ("missing", 2, 2)
    assert sum(cut.times for cut in plan.missing) == 2


def test_the_same_input_gives_the_same_plan():
    pieces = {25 * n: 1 + n % 5 for n in range(7, 60, 3)}
    stock = [StockKind(ref="A", length_mm=2500), StockKind(ref="B", length_mm=1900, pieces=3)]
    assert cut_stock(pieces, stock, trim_mm=10, offcut_min_mm=300) == cut_stock(
        dict(reversed(pieces.items())), stock, trim_mm=10, offcut_min_mm=300
    )
