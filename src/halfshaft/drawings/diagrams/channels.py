"""Wires between two rows: each turns at most on one level line, no two level lines lie on each other, nor two upright ones."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.drawings.diagrams.columns import GRID_MM
from halfshaft.drawings.diagrams.nets import Net
from halfshaft.drawings.diagrams.order import Order

TRACK_MM, CLEAR_MM = 5.0, 5.0


@dataclass(frozen=True, slots=True)
class Turn:
    """On a level line, counted from the channel's top, a wire goes to a place along the sheet."""

    level: int
    x_mm: float


@dataclass(frozen=True, slots=True)
class Tracks:
    """By net, its level lines from its first end to its last (none where it is straight), and how many levels there are."""

    turns: dict[Net, tuple[Turn, ...]]
    count: int


@dataclass(frozen=True, slots=True)
class _Span:
    """One level line still to be placed; `part` is 1 for the short second line of a wire that steps aside."""

    net: Net
    part: int
    left: float
    right: float
    highs: tuple[float, ...]
    lows: tuple[float, ...]

    def must_be_above(self, other: _Span) -> bool:
        """Whether it comes from the top edge at the very place where the other goes to the bottom edge, or leads on to it."""
        return any(x in other.lows for x in self.highs) or (self.net == other.net and self.part < other.part)


def tracks_of(order: Order, nets: list[Net]) -> Tracks:
    """Level lines from the top down: where one wire comes down at the place at which another goes on down, the first is higher.

    Where that would have to hold both ways round, one of the wires comes down a little aside and steps back further down.
    """
    waiting = sorted((_span(order, net) for net in nets if order.x_of(net.first) != order.x_of(net.last)), key=_along)
    taken_places = frozenset(order.x_of(t) for net in nets for t in (net.first, net.last))
    level_of: dict[tuple[Net, int], int] = {}
    asides: dict[Net, float] = {}
    level = 0
    while waiting:
        taken = _on_one_level(waiting)
        if not taken:
            waiting = _stepped_aside(waiting, taken_places, asides)
            continue
        for span in taken:
            level_of[span.net, span.part] = level
            waiting.remove(span)
        level += 1
    turns = {net: _turns(order, net, level_of, asides) for net, part in level_of if part == 0}
    return Tracks(turns, level)


def _on_one_level(waiting: list[_Span]) -> list[_Span]:
    taken: list[_Span] = []
    for span in sorted(waiting, key=_rank):
        held = any(other.must_be_above(span) for other in waiting if other is not span)
        clear = all(span.right + CLEAR_MM <= other.left or other.right + CLEAR_MM <= span.left for other in taken)
        if clear and not held:
            taken.append(span)
    return taken


def _stepped_aside(waiting: list[_Span], places: frozenset[float], asides: dict[Net, float]) -> list[_Span]:
    """The first wire that can step aside does: its line down is put beside the place, and a second level line leads back."""
    for span in sorted(waiting, key=_rank):
        if span.net in asides or not (span.highs and span.lows):
            continue
        low = span.lows[0]
        inwards = GRID_MM if span.highs[0] > low else -GRID_MM
        aside = next((low + step for step in (inwards, -inwards, 2 * inwards, -2 * inwards) if low + step not in places), low + inwards / 2)
        asides[span.net] = aside
        high = span.highs[0]
        down = _Span(span.net, 0, min(high, aside), max(high, aside), span.highs, (aside,))
        back = _Span(span.net, 1, min(aside, low), max(aside, low), (), (low,))
        return sorted([*(other for other in waiting if other is not span), down, back], key=_along)
    raise AssertionError("only wires that go through a channel can hold each other up")


def _turns(order: Order, net: Net, level_of: dict[tuple[Net, int], int], asides: dict[Net, float]) -> tuple[Turn, ...]:
    last_x = order.x_of(net.last)
    if net not in asides:
        return (Turn(level_of[net, 0], last_x),)
    levels = (level_of[net, 0], level_of[net, 1])
    if net.is_high(net.last):
        levels = levels[::-1]
    return (Turn(levels[0], asides[net]), Turn(levels[1], last_x))


def _along(span: _Span) -> tuple[float, float, str, int]:
    return span.left, span.right, span.net.line, span.part


def _rank(span: _Span) -> tuple[float, float, str]:
    """Wires between places at the top edge go highest, those at the bottom edge lowest; of the others, those that go right, rightmost first."""
    if not span.lows:
        return (0.0, span.right - span.left, span.net.line)
    if not span.highs:
        return (2.0, span.left - span.right, span.net.line)
    goes_right = span.highs[0] < span.lows[0]
    return (1.0, -span.right if goes_right else span.left, span.net.line)


def _span(order: Order, net: Net) -> _Span:
    places = [(order.x_of(t), net.is_high(t)) for t in (net.first, net.last)]
    xs = [x for x, _ in places]
    return _Span(net, 0, min(xs), max(xs), tuple(x for x, high in places if high), tuple(x for x, high in places if not high))
