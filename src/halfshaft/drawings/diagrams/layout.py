"""One sheet of the wiring diagrams laid out: boxes, wires as lines of level and upright pieces, bars, and places for words."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.drawings.diagrams.channels import TRACK_MM, Tracks, tracks_of
from halfshaft.drawings.diagrams.columns import Width, up_to_grid
from halfshaft.drawings.diagrams.nets import End, Net, Terminal, nets_of, sides_of
from halfshaft.drawings.diagrams.order import Order, crossings, order_rows
from halfshaft.drawings.shapes import text_width_mm
from halfshaft.model.conversion import Conversion
from halfshaft.studies.diagrams.layers import Rows
from halfshaft.studies.diagrams.units import SUPPLY_BARS, Line, Side, Unit
from halfshaft.studies.looms.geometry import Place

WORDS_MM = 2.5
NAME_LENGTH_MM, TITLE_MM, SYMBOL_MM, BAR_PITCH_MM = 21.0, 10.0, 12.5, 10.0
STUB_MM, LEAST_CHANNEL_MM, MARK_MM = 7.5, 12.5, 7.5
# Ref, name and one more line beside a slot.
NAMED_MM = 17.5
# A fuse board with one row of symbols.
FEED_MM = 25.0
FLAG_MM = 22.5


@dataclass(frozen=True, slots=True)
class Box:
    """A unit on the sheet; y counts upwards. `sides` says on which edge each of its ends lies."""

    unit: Unit
    left: float
    bottom: float
    right: float
    top: float
    width: Width

    def x_of(self, end: End) -> float:
        """Where an end lies, along the sheet."""
        return self.left + self.width.x_of[end]


@dataclass(frozen=True, slots=True)
class Wire:
    """A line on the sheet as corners, and where its text begins: left of an upright piece, reading upwards."""

    line: Line
    corners: tuple[Place, ...]
    words_at: tuple[Place, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Layout:
    """Everything in its place, from (0, 0) at the lower left. `crossings` is how often wires cross."""

    boxes: tuple[Box, ...]
    wires: tuple[Wire, ...]
    bars: dict[str, float]
    sides: dict[End, Side]
    width_mm: float
    height_mm: float
    crossings: int

    @property
    def bars_from(self) -> float:
        """Where the supply bars begin: just before the first line that comes from one."""
        fed = [box.left + column.x_mm for box in self.boxes for column in box.width.columns if column.slot and column.slot.bar]
        return min(fed, default=0.0) - 5.0

    @property
    def overhang_mm(self) -> float:
        """How far the names of the supply bars, which stand before them, reach out to the left of the boxes."""
        names = [text_width_mm(SUPPLY_BARS[bar], WORDS_MM) + text_width_mm(bar, 3.5, bold=True) + 7.0 for bar in self.bars]
        return max(0.0, max(names) - self.bars_from) if names else 0.0

    @property
    def wire_mm(self) -> float:
        """All wires together, as drawn."""
        return math.fsum(math.dist(one, other) for wire in self.wires for one, other in itertools.pairwise(wire.corners))


def lay_out(conversion: Conversion, units: Mapping[str, Unit], lines: tuple[Line, ...], rows: Rows) -> Layout:
    """The whole sheet, each unit in its row."""
    sides = sides_of(units, lines, rows)
    nets = nets_of(lines, rows, sides)
    order = order_rows(units, rows, sides, nets)
    by_channel: dict[int, list[Net]] = defaultdict(list)
    for net in nets:
        by_channel[net.channel].append(net)
    tracks = {channel: tracks_of(order, found) for channel, found in by_channel.items()}
    text_net = _text_nets(nets)
    heights = _Heights(conversion, order, units, sides, by_channel, tracks, text_net, {name_of(line): line for line in lines})
    return _placed(order, units, lines, sides, nets, tracks, text_net, heights)


def name_of(line: Line) -> str:
    """The name of a line among the ends and nets."""
    return line.ref if line.core is None else f"{line.ref}.{line.core}"


def _text_nets(nets: tuple[Net, ...]) -> dict[str, tuple[Net, Terminal]]:
    """For each line the piece beside which its text stands, and the terminal it stands at: a lower edge if there is one."""
    found: dict[str, tuple[Net, Terminal]] = {}
    for net in nets:
        for terminal in (net.first, net.last):
            if terminal.end is None:
                continue
            known = found.get(net.line)
            if known is None or (known[0].is_high(known[1]) and not net.is_high(terminal)):
                found[net.line] = (net, terminal)
    return found


class _Heights:
    """How high rows and channels are, and so where each begins."""

    def __init__(
        self, conversion: Conversion, order: Order, units: Mapping[str, Unit], sides: Mapping[End, Side],
        by_channel: Mapping[int, list[Net]], tracks: Mapping[int, Tracks], text_net: Mapping[str, tuple[Net, Terminal]], lines: Mapping[str, Line],
    ) -> None:  # fmt: skip
        self.of_unit = {ref: height_of(conversion, unit, sides) for ref, unit in units.items()}
        self.row = [max((self.of_unit[node.unit] for node in row if node.unit), default=0.0) for row in order.rows]
        self.above: dict[int, float] = {}
        self.below: dict[int, float] = {}
        self.channel: list[float] = []
        for channel in range(len(order.rows) + 1):
            nets = by_channel.get(channel, [])
            texts: dict[bool, float] = {True: 0.0, False: 0.0}
            for net in nets:
                chosen, terminal = text_net[net.line]
                if chosen == net:
                    is_high = net.is_high(terminal)
                    texts[is_high] = max(texts[is_high], _text_room(lines[net.line]))
            count = tracks[channel].count if channel in tracks else 0
            highs, lows = (up_to_grid(max(texts[is_high], 7.5 if nets else 0.0)) for is_high in (True, False))
            self.above[channel], self.below[channel] = highs, lows
            turning = 5.0 + (count - 1) * TRACK_MM if count else 0.0
            self.channel.append(max(highs + lows + turning - 5.0, LEAST_CHANNEL_MM if 0 < channel < len(order.rows) else 0.0))


def _text_room(line: Line) -> float:
    """What a wire's text and, above it, the mark of a pair or screen take beside an upright piece."""
    return text_width_mm(line.words, WORDS_MM) + STUB_MM + 2.5 + (MARK_MM if line.pair or line.screen else 0.0)


def height_of(conversion: Conversion, unit: Unit, sides: Mapping[End, Side]) -> float:
    """How high a unit is drawn."""
    if unit.kind == "flag":
        return FLAG_MM
    if unit.kind != "part":
        return 10.0
    names = {"upper": 0.0, "lower": 0.0}
    for end in unit.pins:
        width = min(text_width_mm(conversion.cavity[end[0]].name, WORDS_MM), NAME_LENGTH_MM)
        names[sides[end]] = max(names[sides[end]], width + 3.0)
    plain = names["upper"] + TITLE_MM + names["lower"]
    symbols = max((len(slot.symbols) for slot in unit.slots), default=0)
    if unit.feeds:
        return FEED_MM + (SYMBOL_MM + 5.0 if any(symbol.kind != "fuse" for slot in unit.slots for symbol in slot.symbols) else 0.0)
    return up_to_grid(max(plain, symbols * SYMBOL_MM + 5.0, NAMED_MM if unit.slots else 0.0))


def _placed(
    order: Order, units: Mapping[str, Unit], lines: tuple[Line, ...], sides: dict[End, Side], nets: tuple[Net, ...],
    tracks: Mapping[int, Tracks], text_net: Mapping[str, tuple[Net, Terminal]], heights: _Heights,
) -> Layout:  # fmt: skip
    used = [bar for bar in SUPPLY_BARS if any(slot.bar == bar for unit in units.values() for slot in unit.slots)]
    total = sum(heights.row) + sum(heights.channel) + (BAR_PITCH_MM * len(used) + 5.0 if used else 0.0)
    bars = {bar: total - 2.5 - BAR_PITCH_MM * index for index, bar in enumerate(used)}
    at = total - (BAR_PITCH_MM * len(used) + 5.0 if used else 0.0)
    channel_top: list[float] = []
    row_top: list[float] = []
    for index, height in enumerate(heights.channel):
        channel_top.append(at)
        at -= height
        if index < len(heights.row):
            row_top.append(at)
            at -= heights.row[index]
    boxes = {
        node.unit: Box(
            units[node.unit], order.left_mm[node], row_top[node.row] - heights.of_unit[node.unit],
            order.left_mm[node] + order.width_of(node), row_top[node.row], order.widths[node.unit],
        )
        for row in order.rows for node in row if node.unit
    }  # fmt: skip

    def y_of(net: Net, terminal: Terminal) -> float:
        """The height at which a piece ends: its unit's edge, or the row that its way passes."""
        if terminal.end is not None:
            box = boxes[terminal.node.unit]
            return box.bottom if sides[terminal.end] == "lower" else box.top
        row = terminal.node.row
        return row_top[row] - heights.row[row] if net.is_high(terminal) else row_top[row]

    pieces: dict[str, list[Place]] = defaultdict(list)
    texts: dict[str, list[Place]] = defaultdict(list)
    for net in nets:
        first, last = ((order.x_of(t), y_of(net, t)) for t in (net.first, net.last))
        corners = [first]
        for turn in tracks[net.channel].turns.get(net, ()):
            level = channel_top[net.channel] - heights.above[net.channel] - turn.level * TRACK_MM
            corners += [(corners[-1][0], level), (turn.x_mm, level)]
        pieces[net.line] += [*corners, last]
        chosen, terminal = text_net[net.line]
        if chosen == net:
            x, y = order.x_of(terminal), y_of(net, terminal)
            length = text_width_mm(next(line for line in lines if name_of(line) == net.line).words, WORDS_MM)
            texts[net.line].append((x - 1.4, y + STUB_MM if not net.is_high(terminal) else y - STUB_MM - length))
    return Layout(
        boxes=tuple(boxes[ref] for ref in units),
        wires=tuple(Wire(line, _straightened(pieces[name_of(line)]), tuple(texts[name_of(line)])) for line in lines),
        bars=bars,
        sides=sides,
        width_mm=max(box.right for box in boxes.values()),
        height_mm=total,
        crossings=crossings(order, nets),
    )


def _straightened(corners: list[Place]) -> tuple[Place, ...]:
    """Corners without those that lie on a straight line between their neighbours."""
    kept: list[Place] = []
    for place in corners:
        if kept and place == kept[-1]:
            continue
        if len(kept) > 1 and (kept[-2][0] == kept[-1][0] == place[0] or kept[-2][1] == kept[-1][1] == place[1]):
            kept.pop()
        kept.append(place)
    return tuple(kept)
