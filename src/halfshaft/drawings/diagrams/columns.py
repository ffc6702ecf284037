"""How wide each unit is, and where its wires come in along its edges."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from halfshaft.drawings.diagrams.nets import End
from halfshaft.drawings.shapes import text_width_mm
from halfshaft.studies.diagrams.units import Side, Slot, Unit

# Everything falls on a grid of 2.5 mm (IEC 60617).
GRID_MM = 2.5
PITCH_MM, SLOT_MM, EDGE_MM, BESIDE_MM = 10.0, 17.5, 5.0, 2.2
LEAST_PART_MM, NAME_MM = 30.0, 27.5


@dataclass(frozen=True, slots=True)
class Column:
    """A place along a unit: a slot, or free ends above and below each other. `x_mm` is its line, from the unit's left."""

    x_mm: float
    slot: Slot | None
    upper: End | None
    lower: End | None


@dataclass(frozen=True, slots=True)
class Width:
    """A unit's columns and how wide it is."""

    columns: tuple[Column, ...]
    width_mm: float
    x_of: dict[End, float]

    @classmethod
    def of(cls, columns: Iterable[Column], width_mm: float) -> Width:
        """With where each end lies along the unit."""
        columns = tuple(columns)
        return cls(columns, width_mm, {end: column.x_mm for column in columns for end in (column.upper, column.lower) if end is not None})


def columns_of(unit: Unit, sides: Mapping[End, Side], wanted: Callable[[End], float]) -> Width:
    """The unit's columns from left to right, as near to where the other ends of their wires lie as their order allows."""
    if unit.kind == "flag":
        # A flag is no wider than its wire; the gap to its neighbour gives it room.
        (end,) = unit.pins
        return Width.of((Column(0.0, None, end, None) if sides[end] == "upper" else Column(0.0, None, None, end),), 0.0)
    groups = _groups(unit, sides, wanted)
    at, columns = EDGE_MM + (NAME_MM if unit.feeds else 0.0), []
    for slot, upper, lower in groups:
        columns.append(Column(at, slot, upper, lower))
        at += max(SLOT_MM if slot and slot.symbols else PITCH_MM, *(_cavity_room(end) for end in (upper, lower)))
    # After a slot with a symbol there is room already for its words.
    width = at - PITCH_MM + 2 * EDGE_MM if not groups or groups[-1][0] is None else at
    return Width.of(columns, max(width, _least(unit, at)))


def _cavity_room(end: End | None) -> float:
    """What a wire and the name of its cavity at its right take along the edge."""
    return 0.0 if end is None else up_to_grid(BESIDE_MM + text_width_mm(end[0].partition(".")[2], 2.5) + 1.2)


def _least(unit: Unit, used_mm: float) -> float:
    if unit.kind == "splice":
        return PITCH_MM
    if unit.kind == "ground":
        return up_to_grid(max(LEAST_PART_MM, text_width_mm(unit.ref, 3.5, bold=True) + 2 * EDGE_MM))
    if unit.slots and not unit.feeds:
        return up_to_grid(used_mm + NAME_MM)
    return up_to_grid(max(LEAST_PART_MM, min(text_width_mm(unit.ref, 3.5, bold=True) + text_width_mm(unit.name, 2.5) + 12.0, 60.0)))


def up_to_grid(length_mm: float) -> float:
    """The next multiple of the grid."""
    return -(-length_mm // GRID_MM) * GRID_MM


def _groups(unit: Unit, sides: Mapping[End, Side], wanted: Callable[[End], float]) -> list[tuple[Slot | None, End | None, End | None]]:
    """Slots and pairs of free ends, in the order in which they stand."""
    by_pin: dict[str, End] = {end[0].partition(".")[2]: end for end in sides if end[0].split(".")[0] == unit.ref}
    keyed: list[tuple[float, float, str, Slot | None, End | None, End | None]] = []
    joints: dict[str, list[float]] = defaultdict(list)
    found = []
    for slot in unit.slots:
        upper, lower = (by_pin.get(pin) if pin else None for pin in (slot.upper, slot.lower))
        ends = [wanted(end) for end in (upper, lower) if end is not None]
        key = sum(ends) / len(ends) if ends else -1e9
        found.append((key, slot, upper, lower))
        if slot.joint:
            joints[slot.joint].append(key)
    for key, slot, upper, lower in found:
        group = sum(joints[slot.joint]) / len(joints[slot.joint]) if slot.joint else key
        # Of lines that meet at a joint the one that goes on to the bar comes first.
        keyed.append((group, -1e9 if slot.joint and slot.bar else key, slot.lower or "", slot, upper, lower))
    uppers = sorted((wanted(end), end) for end in unit.pins if sides[end] == "upper")
    lowers = sorted((wanted(end), end) for end in unit.pins if sides[end] == "lower")
    for index in range(max(len(uppers), len(lowers))):
        pair = [ends[index] if index < len(ends) else None for ends in (uppers, lowers)]
        keys = [item[0] for item in pair if item is not None]
        key = sum(keys) / len(keys)
        keyed.append((key, key, "", None, pair[0][1] if pair[0] else None, pair[1][1] if pair[1] else None))
    keyed.sort(key=lambda item: item[:3])
    return [(slot, upper, lower) for _, _, _, slot, upper, lower in keyed]
