"""In which row of the sheet each unit stands: supply above, ground below, what feeds above what it feeds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from halfshaft.model.conversion import Conversion
from halfshaft.studies.diagrams.units import Line, Unit

# How much a pin's role speaks for its device standing above the other end of the wire. Current flows down the sheet.
_UP = {"relay_out": 2, "highside_out": 2, "sensor_supply": 2, "signal_out": 1, "hv_plus": 1, "supply_30": -1, "supply_15": -1,
       "ground": -1, "lowside_out": -2, "sensor": -1, "signal_in": -1}  # fmt: skip
_FEEDS, _SLOT = 100, 8

Rows = dict[str, int]


def rows_of(conversion: Conversion, units: Mapping[str, Unit], lines: tuple[Line, ...], *, low: bool, most: int | None = None) -> Rows:
    """The row of each unit, from nought at the top; all ground points share the last row.

    With `low`, units whose pins only suggest an order may share a row. With `most`, rows are put together until no more than
    so many are left above the ground points.
    """
    wishes = _wishes(conversion, units, lines)
    steps = {pair: 0 if low and wishes.get(pair, wishes.get(pair[::-1], 0)) < _SLOT else 1 for pair in _without_loops(wishes)}
    rows: Rows = {}
    for ref in _topological(units, steps):
        rows[ref] = max((rows[upper] + step for (upper, lower), step in steps.items() if lower == ref), default=0)
    _pull_together(units, lines, steps, rows)
    rows = _without_gaps({ref: row for ref, row in rows.items() if units[ref].kind != "ground"})
    last = max(rows.values(), default=-1) + 1
    if most is not None and last > most:
        rows = {ref: row * most // last for ref, row in rows.items()}
        last = most
    rows.update({ref: last for ref, unit in units.items() if unit.kind == "ground"})
    return rows


def _wishes(conversion: Conversion, units: Mapping[str, Unit], lines: tuple[Line, ...]) -> dict[tuple[str, str], int]:
    """By pair of units (upper, lower), how much speaks for that order."""
    weight: dict[tuple[str, str], int] = defaultdict(int)
    for line in lines:
        one, other = line.start.split(".")[0], line.end.split(".")[0]
        if one != other:
            score = _score(conversion, units[one], line.start) - _score(conversion, units[other], line.end)
            weight[one, other] += score
            weight[other, one] -= score
    wires: dict[str, int] = defaultdict(int)
    for line in lines:
        for pin in (line.start, line.end):
            wires[pin.split(".")[0]] += 1
    wishes = {}
    for (one, other), total in sorted(weight.items()):
        # Where the roles say nothing, the unit with more wires stands above.
        tie = (wires[one], other) > (wires[other], one)
        if total > 0 or (total == 0 and tie):
            wishes[one, other] = total
    return wishes


def _score(conversion: Conversion, unit: Unit, pin: str) -> int:
    if unit.kind in ("ground", "flag"):
        return -_FEEDS
    if unit.kind == "splice":
        return 0
    local = pin.partition(".")[2]
    slot = next((slot for slot in unit.slots if local in (slot.upper, slot.lower)), None)
    if slot is not None and slot.bar:
        return _FEEDS
    if slot is not None:
        return _SLOT if slot.lower == local else -_SLOT
    return _UP.get(conversion.cavity[pin].role, 0)


def _without_loops(wishes: Mapping[tuple[str, str], int]) -> list[tuple[str, str]]:
    """The wishes, strongest first, as long as they close no loop; one that would is turned over."""
    below: dict[str, set[str]] = defaultdict(set)

    def reaches(start: str, goal: str) -> bool:
        waiting, seen = [start], {start}
        while waiting:
            node = waiting.pop()
            if node == goal:
                return True
            fresh = below[node] - seen
            seen |= fresh
            waiting.extend(fresh)
        return False

    kept = []
    for (upper, lower), _ in sorted(wishes.items(), key=lambda item: (-item[1], item[0])):
        pair = (lower, upper) if reaches(lower, upper) else (upper, lower)
        below[pair[0]].add(pair[1])
        kept.append(pair)
    return kept


Steps = dict[tuple[str, str], int]


def _topological(units: Mapping[str, Unit], steps: Steps) -> list[str]:
    found: list[str] = []
    waiting = sorted(units)
    while waiting:
        ready = [ref for ref in waiting if all(upper in found for upper, lower in steps if lower == ref)]
        found += ready
        waiting = [ref for ref in waiting if ref not in ready]
    return found


def _pull_together(units: Mapping[str, Unit], lines: tuple[Line, ...], steps: Steps, rows: Rows) -> None:
    """Move units that nothing holds up there down, as far as it shortens their wires."""
    for _ in range(len(units)):
        moved = False
        for ref in sorted(units, key=lambda ref: (-rows[ref], ref)):
            lowest = min((rows[lower] - step for (upper, lower), step in steps.items() if upper == ref), default=rows[ref])
            if lowest <= rows[ref] or units[ref].feeds:
                continue
            now, then = (_length(lines, {**rows, ref: row}, ref) for row in (rows[ref], lowest))
            if then < now:
                rows[ref] = lowest
                moved = True
        if not moved:
            return


def _length(lines: tuple[Line, ...], rows: Rows, ref: str) -> int:
    total = 0
    for line in lines:
        one, other = line.start.split(".")[0], line.end.split(".")[0]
        if ref in (one, other):
            total += abs(rows[one] - rows[other])
    return total


def _without_gaps(rows: Rows) -> Rows:
    used = {row: index for index, row in enumerate(sorted(set(rows.values())))}
    return {ref: used[row] for ref, row in rows.items()}
