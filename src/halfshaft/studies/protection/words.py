"""Small words that rules, screens and papers of this study share."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfshaft.studies.protection.records import FuseGuard, Opening, Start


def seconds(value: float) -> str:
    """`12 ms`, `0.4 s`, `30 min`, `never`. Below a millisecond the current has not risen to what is reckoned with."""
    if math.isinf(value):
        return "never"
    if value < 0.001:
        return "1 ms"
    if value < 0.0995:
        return f"{1000 * value:.2g} ms"
    if value < 99.5:
        return f"{value:.2g} s"
    return f"{value / 60:.0f} min" if value < 7200 else f"{value / 3600:.0f} h"


def opening_words(opening: Opening | None) -> str:
    """`7.3 to 37 ms`, `2 s to never`, `under 1 ms`; nothing where it is not known."""
    if opening is None:
        return ""
    if opening.latest_s < 0.001:
        return "under 1 ms"
    first, last = seconds(opening.earliest_s), seconds(opening.latest_s)
    one, _, unit = first.partition(" ")
    return f"{one} to {last}" if unit and last.endswith(f" {unit}") else f"{first} to {last}"


def start_words(fuse: FuseGuard) -> str:
    """The start that presses the fuse hardest: `34 A 0.4 s`; nothing where none is known."""
    if not fuse.starts:
        return ""
    start = hardest_start(fuse.starts)
    return f"{start.current_a:.3g} A {seconds(start.seconds)}"


def hardest_start(starts: Sequence[Start]) -> Start:
    """The one that uses most of the time that the fuse is sure to hold; of equals the one with most heat."""
    return max(starts, key=lambda start: (start.seconds / start.earliest_s, start.current_a**2 * start.seconds))


def kind_words(fuse: FuseGuard) -> str:
    """`20 A regular blade`."""
    return f"{fuse.rating_a:g} A {fuse.family}".strip()
