"""How much is said on a bus: bits of each message at worst, its share of the bit rate, and how long it may have to wait."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.model.electrics import Message, MessageFile
from halfshaft.standards import constants

# Bits that stuffing may lengthen, beside the data, and those that it does not: end of frame, gap and the like. ISO 11898-1.
STUFFED_BITS = {False: 34, True: 54}
OTHER_BITS = 13
# So near to all of the bit rate a message's longest wait is too long to be reckoned, and of no use.
FULL_SHARE = 0.999
# Of milliseconds and of turns: what is beyond is noise of the computing.
DECIMALS = 9


@dataclass(frozen=True, kw_only=True, slots=True)
class MessageLoad:
    """One message: bits at worst and without any stuffing, milliseconds on the bus, per cent of the bit rate.

    `response_ms` is the longest time from when it is ready to when it has been sent; None where it is never sure to go.
    """

    name: str
    frame_id: int
    is_extended: bool
    length_bytes: int
    senders: tuple[str, ...]
    cycle_ms: float | None
    bits: int
    least_bits: int
    sent_ms: float
    load_percent: float
    response_ms: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class BusLoad:
    """All messages of a bus in the order of their turn, and what those with a cycle take of the bit rate together."""

    messages: tuple[MessageLoad, ...]
    load_percent: float
    least_percent: float
    without_cycle: tuple[str, ...]
    too_long: tuple[str, ...]


def frame_bits(length_bytes: int, *, is_extended: bool) -> int:
    """Most bits of a data frame with the gap behind it: 8 s + g + 13 + floor((g + 8 s - 1) / 4), g = 34 or 54.

    Source: Davis, Burns, Bril and Lukkien, Real-Time Systems 35 (2007), equation 1.

    >>> frame_bits(8, is_extended=False), frame_bits(8, is_extended=True)
    (135, 160)
    """
    stuffed = STUFFED_BITS[is_extended] + 8 * length_bytes
    return stuffed + OTHER_BITS + (stuffed - 1) // 4


def unstuffed_bits(length_bytes: int, *, is_extended: bool) -> int:
    """Bits of the same frame where no bit has to be stuffed."""
    return STUFFED_BITS[is_extended] + 8 * length_bytes + OTHER_BITS


def turn_of(message: Message) -> tuple[int, bool, int]:
    """What settles whose turn it is: eleven bits first, then a short number before a long one, then the rest (ISO 11898-1)."""
    if message.is_extended:
        return message.frame_id >> 18, True, message.frame_id & 0x3FFFF
    return message.frame_id, False, 0


def load_of(file: MessageFile, bit_rate_kbit_per_s: float) -> BusLoad:
    """The load by one message file. Messages that a classical frame cannot hold are named, and count with 8 bytes."""
    most = int(constants()["bus_data_max_bytes"].value)
    messages = sorted(file.messages, key=lambda item: (turn_of(item), item.name))
    bits = [frame_bits(min(item.length_bytes, most), is_extended=item.is_extended) for item in messages]
    least = [unstuffed_bits(min(item.length_bytes, most), is_extended=item.is_extended) for item in messages]
    sent_ms = [count / bit_rate_kbit_per_s for count in bits]
    cycles = [item.cycle_ms for item in messages]
    responses = responses_ms(sent_ms, cycles, 1 / bit_rate_kbit_per_s)
    found = tuple(
        MessageLoad(
            name=item.name,
            frame_id=item.frame_id,
            is_extended=item.is_extended,
            length_bytes=item.length_bytes,
            senders=item.senders,
            cycle_ms=item.cycle_ms,
            bits=bits[at],
            least_bits=least[at],
            sent_ms=sent_ms[at],
            load_percent=100 * sent_ms[at] / item.cycle_ms if item.cycle_ms else 0.0,
            response_ms=responses[at],
        )
        for at, item in enumerate(messages)
    )
    return BusLoad(
        messages=found,
        load_percent=math.fsum(item.load_percent for item in found),
        least_percent=math.fsum(item.load_percent * item.least_bits / item.bits for item in found),
        without_cycle=tuple(item.name for item in found if item.cycle_ms is None),
        too_long=tuple(item.name for item in found if item.length_bytes > most),
    )


def responses_ms(sent_ms: Sequence[float], cycles_ms: Sequence[float | None], bit_ms: float) -> tuple[float | None, ...]:
    """Longest time of each message, given in the order of their turn, from ready to sent.

    Every instance in the longest busy stretch is looked at, as Davis, Burns, Bril and Lukkien (2007), equations 8 to 12, ask for;
    no jitter. A message without a cycle may be in the way of another once, as one of lower turn is, but has no time of
    its own; what comes again and again without a known cycle is bounded by nothing.
    """
    return tuple(_response_ms(at, sent_ms, cycles_ms, bit_ms) for at in range(len(sent_ms)))


def _response_ms(at: int, sent_ms: Sequence[float], cycles_ms: Sequence[float | None], bit_ms: float) -> float | None:
    cycle_ms = cycles_ms[at]
    if cycle_ms is None:
        return None
    above = [(sent_ms[other], cycle) for other, cycle in enumerate(cycles_ms[:at]) if cycle is not None]
    blocking = [sent for other, sent in enumerate(sent_ms) if other > at or (other < at and cycles_ms[other] is None)]
    blocked_ms = max(blocking, default=0.0)
    own = (sent_ms[at], cycle_ms)
    if math.fsum(sent / cycle for sent, cycle in (*above, own)) >= FULL_SHARE:
        return None
    busy_ms = _settled(blocked_ms + own[0], blocked_ms, (*above, own), 0.0)
    worst_ms, wait_ms = 0.0, blocked_ms
    for turn in range(math.ceil(round(busy_ms / cycle_ms, DECIMALS))):
        wait_ms = _settled(wait_ms, blocked_ms + turn * own[0], above, bit_ms)
        worst_ms = max(worst_ms, wait_ms - turn * cycle_ms + own[0])
        wait_ms += own[0]
    return worst_ms


def _settled(start_ms: float, first_ms: float, messages: Sequence[tuple[float, float]], later_ms: float) -> float:
    """The least time, from a start, that is long enough for what comes first and all that fall due up to `later_ms` after it."""
    now = start_ms
    while True:
        # Times are sums of bits; rounding must not make another instance of one that falls due at the very end.
        due = (math.ceil(round((now + later_ms) / cycle, DECIMALS)) * sent for sent, cycle in messages)
        after = math.fsum((first_ms, *due))
        if after <= now + 10**-DECIMALS:
            return now
        now = after
