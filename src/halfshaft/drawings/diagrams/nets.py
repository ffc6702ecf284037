"""The wires of a sheet cut at the rows that they pass, so that each piece lies in one channel between two rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.studies.diagrams.layers import Rows
from halfshaft.studies.diagrams.units import Line, Side, Unit, end_of_line

End = tuple[str, str]  # a pin and the line that comes to it


@dataclass(frozen=True, order=True, slots=True)
class Node:
    """What has a place in a row: a unit (no line), or the way of a line past a row (no unit)."""

    row: int
    unit: str = ""
    line: str = ""


@dataclass(frozen=True, slots=True)
class Terminal:
    """Where a piece of wire meets a row: at a unit's end, or at the way of its line."""

    node: Node
    end: End | None


@dataclass(frozen=True, slots=True)
class Net:
    """A piece of wire inside one channel. Channel 0 lies above row 0."""

    line: str
    channel: int
    first: Terminal
    last: Terminal

    def is_high(self, terminal: Terminal) -> bool:
        """Whether a terminal lies at the channel's upper edge."""
        return terminal.node.row < self.channel

    @property
    def goes_through(self) -> bool:
        """Whether it leads from the upper edge to the lower one."""
        return self.is_high(self.first) != self.is_high(self.last)


def sides_of(units: Mapping[str, Unit], lines: tuple[Line, ...], rows: Rows) -> dict[End, Side]:
    """On which edge of its unit each wire comes in: a slot's pins have theirs, the others look towards the other end."""
    sides: dict[End, Side] = {}
    for line in lines:
        ends = [end_of_line(line, pin) for pin in (line.start, line.end)]
        fixed = [_fixed(units[pin.split(".")[0]], pin) for pin, _ in ends]
        here, there = (rows[pin.split(".")[0]] for pin, _ in ends)
        natural: tuple[Side, Side] = ("lower", "upper") if here < there else ("upper", "lower") if here > there else ("lower", "lower")
        for index, end in enumerate(ends):
            level: Side | None = fixed[1 - index] if here == there else None
            sides[end] = fixed[index] or level or natural[index]
    return sides


def _fixed(unit: Unit, pin: str) -> Side | None:
    local = pin.partition(".")[2]
    for slot in unit.slots:
        if slot.upper == local:
            return "upper"
        if slot.lower == local:
            return "lower"
    return None


def nets_of(lines: tuple[Line, ...], rows: Rows, sides: Mapping[End, Side]) -> tuple[Net, ...]:
    """Every line as pieces, channel by channel from its start to its end."""
    nets: list[Net] = []
    for line in lines:
        start, end = end_of_line(line, line.start), end_of_line(line, line.end)
        ends = []
        for pin, name in (start, end):
            unit = pin.split(".")[0]
            ends.append((Terminal(Node(rows[unit], unit), (pin, name)), rows[unit] + (sides[pin, name] == "lower")))
        (first, here), (last, there) = ends
        name = start[1]
        step = 1 if there >= here else -1
        at = first
        for channel in range(here, there, step):
            # Going down, the row below the channel is passed; going up, the one above it.
            way = Terminal(Node(channel if step > 0 else channel - 1, line=name), None)
            nets.append(Net(name, channel, at, way))
            at = way
        nets.append(Net(name, there, at, last))
    return tuple(nets)
