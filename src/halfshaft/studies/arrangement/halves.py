"""All choices of at most one filling a space, as sums: two halves of the spaces apart, then met in the middle.

What a choice weighs, and its moments, are sums over its fillings. So the sums of all choices over half of the spaces
are listed once, by how many modules of which type they have and which spaces they use; and every choice over all spaces
is one of the one half and one of the other. Nothing is left out but what has too many modules or boxes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.float64]
Picks = npt.NDArray[np.int32]
# How many of each module type, and which spaces are used, as bits.
Key = tuple[tuple[int, ...], int]


@dataclass(frozen=True, slots=True)
class Sums:
    """Choices with one key: a row of sums each, and the filling picked in each space of the half (-1: none)."""

    rows: Reals
    picks: Picks


@dataclass(frozen=True, slots=True)
class Options:
    """What may be picked in one space: counts by type, and a row of what it adds, for every filling."""

    bit: int
    counts: tuple[tuple[int, ...], ...]
    rows: Reals


def half_of(options: Sequence[Options], *, width: int, types: int, modules_max: int, boxes_max: int) -> dict[Key, Sums]:
    """Every choice over these spaces, by key; rows of sums are `width` wide."""
    sums: dict[Key, Sums] = {((0,) * types, 0): Sums(np.zeros((1, width)), np.zeros((1, 0), dtype=np.int32))}
    for option in options:
        by_counts: dict[tuple[int, ...], list[int]] = {}
        for index, counts in enumerate(option.counts):
            by_counts.setdefault(counts, []).append(index)
        gathered: dict[Key, list[Sums]] = {}
        for (counts, used), found in sums.items():
            blank = np.full((len(found.rows), 1), -1, dtype=np.int32)
            gathered.setdefault((counts, used), []).append(Sums(found.rows, np.hstack([found.picks, blank])))
            if used.bit_count() >= boxes_max:
                continue
            for more, indices in by_counts.items():
                both = tuple(one + other for one, other in zip(counts, more, strict=True))
                if sum(both) > modules_max:
                    continue
                rows = (found.rows[:, None, :] + option.rows[indices][None, :, :]).reshape(-1, width)
                picks = np.repeat(found.picks, len(indices), axis=0)
                last = np.tile(np.array(indices, dtype=np.int32), len(found.rows))[:, None]
                gathered.setdefault((both, used | option.bit), []).append(Sums(rows, np.hstack([picks, last])))
        sums = {
            key: Sums(np.concatenate([item.rows for item in items]), np.concatenate([item.picks for item in items]))
            for key, items in gathered.items()
        }
    return sums


def meetings(first: dict[Key, Sums], second: dict[Key, Sums], boxes_max: int) -> dict[Key, list[tuple[Key, Key]]]:
    """Which keys of both halves make which key of the whole, sorted."""
    whole: dict[Key, list[tuple[Key, Key]]] = {}
    for one in sorted(first):
        for other in sorted(second):
            used = one[1] | other[1]
            if used.bit_count() <= boxes_max:
                whole.setdefault((tuple(a + b for a, b in zip(one[0], other[0], strict=True)), used), []).append((one, other))
    return dict(sorted(whole.items()))


def met(first: Sums, second: Sums, *, at_once: int) -> Iterator[tuple[Reals, int]]:
    """Rows of every choice of the one half with every one of the other, in blocks; and the number of each block's first row.

    Row n is of the first half's row n // m and the second half's row n % m, where the second half has m rows.
    """
    width, there = first.rows.shape[1], len(second.rows)
    step = max(1, at_once // there)
    for start in range(0, len(first.rows), step):
        some = first.rows[start : start + step]
        yield (some[:, None, :] + second.rows[None, :, :]).reshape(-1, width), start * there


def picks_of(first: Sums, second: Sums, numbers: npt.NDArray[np.int64]) -> Picks:
    """What is picked in each space, the first half's spaces before the second's, for rows by their numbers."""
    there = len(second.rows)
    return np.hstack([first.picks[numbers // there], second.picks[numbers % there]])
