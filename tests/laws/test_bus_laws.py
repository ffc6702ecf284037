"""What must always hold of buses: bits, waits, lengths and ohms."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from halfshaft.files.message_files import MessageFileError, file_values
from halfshaft.model.electrics import Message, MessageFile
from halfshaft.studies.buses.lines import Length, line_of
from halfshaft.studies.buses.load import frame_bits, load_of, responses_ms, unstuffed_bits
from halfshaft.studies.buses.ohms import plug_ohms
from halfshaft.studies.looms.benches import Bench, Branch
from halfshaft.studies.looms.bus import ALL_PLUGGED_IN, BusPair, pulled


def fixed(examples: int) -> settings:
    return settings(max_examples=examples, derandomize=True, deadline=None)


# --- bits -----------------------------------------------------------------------------------------------------------------


def crc_15(bits: list[int]) -> list[int]:
    """The check sum of a CAN frame, polynomial 0x4599 (ISO 11898-1)."""
    register = 0
    for bit in bits:
        turned = bit ^ (register >> 14)
        register = (register << 1) & 0x7FFF
        register ^= 0x4599 if turned else 0
    return [register >> place & 1 for place in range(14, -1, -1)]


def stuffed(bits: list[int]) -> list[int]:
    """After five equal bits the other one is put in, and counts itself."""
    sent: list[int] = []
    for bit in bits:
        sent.append(bit)
        if len(sent) >= 5 and len(set(sent[-5:])) == 1:
            sent.append(1 - bit)
    return sent


def bits_of(value: int, count: int) -> list[int]:
    return [value >> place & 1 for place in range(count - 1, -1, -1)]


def frame(frame_id: int, data: bytes, *, is_extended: bool) -> list[int]:
    """Every bit of a data frame on the wire, with the gap of three behind it."""
    data_bits = [bit for byte in data for bit in bits_of(byte, 8)]
    if is_extended:
        head = [0, *bits_of(frame_id >> 18, 11), 1, 1, *bits_of(frame_id & 0x3FFFF, 18), 0, 0, 0]
    else:
        head = [0, *bits_of(frame_id, 11), 0, 0, 0]
    body = [*head, *bits_of(len(data), 4), *data_bits]
    return [*stuffed([*body, *crc_15(body)]), 1, 0, 1, *[1] * 7, *[1] * 3]


@fixed(300)
@given(
    st.booleans(),
    st.integers(0, 2**29 - 1),
    st.binary(max_size=8) | st.sampled_from([b"\0" * 8, b"\x1f" * 8, b"\x3c\x3c\x3c\x3c", b"\xff" * 8]),
)
def test_no_frame_is_longer_than_the_worst_or_shorter_than_the_bare(is_extended: bool, number: int, data: bytes) -> None:
    frame_id = number if is_extended else number >> 18
    bits = len(frame(frame_id, data, is_extended=is_extended))
    assert unstuffed_bits(len(data), is_extended=is_extended) <= bits <= frame_bits(len(data), is_extended=is_extended)


@pytest.mark.parametrize("is_extended", [False, True])
@pytest.mark.parametrize("length", range(9))
def test_the_bound_is_what_the_worst_row_of_bits_takes(length: int, is_extended: bool) -> None:
    """Five alike, then four of the other and so on: no other row of that many bits has more stuffing."""
    count = (54 if is_extended else 34) + 8 * length
    worst = [0] * 5 + [bit for step in range(count) for bit in [(step + 1) % 2] * 4]
    assert len(stuffed(worst[:count])) + 13 == frame_bits(length, is_extended=is_extended)


# --- waits ----------------------------------------------------------------------------------------------------------------

SENT_MS = st.integers(1, 6)
CYCLES_MS = st.sampled_from([5, 8, 10, 12, 20, 30, 40])


def simulated_ms(sent: list[int], cycles: list[int], at: int) -> float:
    """Longest time of one message when all are first ready just after a longer one of a later turn has begun.

    Time runs in steps; what is ready first by its turn is sent whole, as a bus does it.
    """
    blocker = max(sent[at + 1 :], default=0)
    step = 1 / 1024 if blocker else 0.0
    now, worst = blocker - step if blocker else 0.0, 0.0
    done = [0] * (at + 1)
    for _ in range(10_000):
        ready = [index for index in range(at + 1) if done[index] * cycles[index] <= now]
        if not ready:
            return worst
        index = ready[0]
        now += sent[index]
        if index == at:
            worst = max(worst, now - done[index] * cycles[index])
        done[index] += 1
    raise AssertionError("a bus below its bit rate comes to rest")


@fixed(150)
@given(st.lists(st.tuples(SENT_MS, CYCLES_MS), min_size=1, max_size=6))
def test_no_message_waits_longer_than_its_bound_and_the_last_one_as_long(messages: list[tuple[int, int]]) -> None:
    sent, cycles = [item[0] for item in messages], [item[1] for item in messages]
    assume(sum(one / cycle for one, cycle in messages) < 0.95)
    for at, bound in enumerate(responses_ms(sent, cycles, 1 / 1024)):
        assert bound is not None
        found = simulated_ms(sent, cycles, at)
        assert found <= bound + 1e-6
        if at == len(sent) - 1:  # nothing is of a later turn, so all at once is the worst there is
            assert found == pytest.approx(bound, abs=1e-6)


@fixed(100)
@given(st.lists(st.tuples(SENT_MS, CYCLES_MS), min_size=2, max_size=6), st.integers(0, 5))
def test_one_message_less_makes_no_other_later(messages: list[tuple[int, int]], which: int) -> None:
    assume(sum(one / cycle for one, cycle in messages) < 0.95)
    which %= len(messages)
    less = [item for index, item in enumerate(messages) if index != which]
    full = responses_ms([item[0] for item in messages], [item[1] for item in messages], 0.1)
    kept = [bound for index, bound in enumerate(full) if index != which]
    for before, after in zip(kept, responses_ms([item[0] for item in less], [item[1] for item in less], 0.1), strict=True):
        assert before is not None
        assert after is not None
        assert after <= before + 1e-9


MESSAGES = st.lists(
    st.builds(
        Message,
        name=st.just("M"),
        frame_id=st.integers(0, 2047),
        is_extended=st.booleans(),
        length_bytes=st.integers(0, 8),
        senders=st.just(("A",)),
        cycle_ms=st.none() | st.sampled_from([1.0, 10.0, 55.0, 1000.0]),
    ),
    max_size=8,
)


def load_percent(messages: list[Message], rate: float = 500) -> float:
    return load_of(MessageFile(bus="B", encoding="utf-8", text="", nodes=(), messages=tuple(messages)), rate).load_percent


@fixed(100)
@given(MESSAGES, MESSAGES)
def test_load_adds_up_and_halves_with_twice_the_rate(one: list[Message], other: list[Message]) -> None:
    assert load_percent([*one, *other]) == pytest.approx(load_percent(one) + load_percent(other))
    assert load_percent(one, 1000) == pytest.approx(load_percent(one) / 2)


# --- lengths --------------------------------------------------------------------------------------------------------------


@st.composite
def trees(draw: st.DrawFn) -> list[Length]:
    """Wires between units, each unit joined to one before it."""
    count = draw(st.integers(2, 9))
    return [
        Length(
            one=f"U{draw(st.integers(0, place - 1))}.A.1",
            other=f"U{place}.A.1",
            length_mm=float(draw(st.integers(1, 900))),
            wire=f"W{place}",
        )
        for place in range(1, count)
    ]


@fixed(150)
@given(trees(), st.data())
def test_every_wire_of_a_bus_is_in_its_trunk_or_in_one_stub(wires: list[Length], data: st.DataObject) -> None:
    pins = sorted({end for wire in wires for end in (wire.one, wire.other)})
    ends = data.draw(st.lists(st.sampled_from(pins), unique=True, max_size=3))
    line = line_of(wires, pins[0], ends)
    assert sorted([*line.wires, *(wire for stub in line.stubs for wire in stub.wires)]) == sorted(wire.wire for wire in wires)
    assert line.closing == ()
    units = [station.name for station in line.stations]
    assert sorted([*units, *(unit for stub in line.stubs for unit in stub.units)]) == sorted(pin.partition(".")[0] for pin in pins)
    assert line.trunk_mm == pytest.approx(math.fsum(wire.length_mm for wire in wires if wire.wire in line.wires))
    assert [station.at_mm for station in line.stations] == sorted(station.at_mm for station in line.stations)
    if len(ends) > 1:
        assert {units[0], units[-1]} <= {end.partition(".")[0] for end in ends}


@fixed(100)
@given(trees())
def test_without_terminators_no_way_is_longer_than_the_trunk(wires: list[Length]) -> None:
    pins = sorted({end for wire in wires for end in (wire.one, wire.other)})
    trunk_mm = line_of(wires, pins[0], []).trunk_mm
    assert trunk_mm == max(line_of(wires, pins[0], list(pair)).trunk_mm for pair in itertools.combinations(pins, 2))


# --- ohms -----------------------------------------------------------------------------------------------------------------

COPPER_OHM = 0.001
OHMS = st.none() | st.sampled_from([60.0, 100.0, 120.0, 300.0])


def chain(resistors: list[float | None]) -> tuple[Bench, list[BusPair]]:
    """Units in a row, each of them carrying both lines through its one plug, some with a resistor between the lines."""
    branches: dict[str, Branch] = {}

    def add(ref: str, kind: str, start: str, end: str, ohm: float) -> None:
        branches[ref] = Branch(ref=ref, kind=kind, start=start, end=end, ohm=ohm)

    for unit, ohm in enumerate(resistors):
        for line in "HL":
            add(f"{line} through {unit}", "link", f"U{unit}.A.{line}in", f"U{unit}.A.{line}out", COPPER_OHM)
            if unit:
                add(f"{line} {unit}", "wire", f"U{unit - 1}.A.{line}out", f"U{unit}.A.{line}in", COPPER_OHM)
        if ohm:
            add(f"R{unit}", "resistor", f"U{unit}.A.Hin", f"U{unit}.A.Lin", ohm)
    states = {ALL_PLUGGED_IN: branches}
    for unit in range(len(resistors)):
        ends_here = {ref for ref, item in branches.items() if item.kind != "wire" and item.start.startswith(f"U{unit}.")}
        states[pulled(f"U{unit}.A")] = {ref: item for ref, item in branches.items() if ref not in ends_here}
    pairs = [
        BusPair(connector=f"U{unit}.A", high=f"U{unit}.A.H{side}", low=f"U{unit}.A.L{side}")
        for unit in range(len(resistors))
        for side in ("in", "out")
    ]
    return Bench(name="bus", states=states, groups=(), lead_ohm={}), pairs


@fixed(100)
@given(st.lists(OHMS, min_size=2, max_size=7))
def test_to_pull_a_plug_lowers_no_reading(resistors: list[float | None]) -> None:
    """Less copper and fewer resistors conduct no better (Rayleigh), and at a plug pulled nobody sees both sides."""
    everything, *each = plug_ohms(*chain(resistors))
    all_in = min((ohm for ohm, _ in everything.elsewhere if ohm is not None), default=math.inf)
    for item in each:
        readings = [*item.there, *(ohm for ohm, _ in item.elsewhere)]
        # Readings that differ by less than a meter shows stand together, under the first of them.
        assert all(ohm is None or ohm >= all_in - 2.0 for ohm in readings)


@fixed(100)
@given(st.lists(OHMS, min_size=2, max_size=7))
def test_the_two_sides_of_a_pulled_plug_and_its_own_resistor_make_up_the_whole(resistors: list[float | None]) -> None:
    everything, *each = plug_ohms(*chain(resistors))
    siemens = sum(1 / ohm for ohm in resistors if ohm)
    for unit, item in enumerate(each):
        sides = sum(1 / ohm for ohm in item.there if ohm is not None)
        own = 1 / resistors[unit] if resistors[unit] else 0.0
        # The copper of at most seven wires and seven ways through, there and back, is between them.
        assert sides + own == pytest.approx(siemens, rel=28 * COPPER_OHM * siemens)
    if not siemens:
        assert [ohm for ohm, _ in everything.elsewhere] == [None]


# --- files ----------------------------------------------------------------------------------------------------------------

PIECES = st.sampled_from(
    [b'VERSION ""\n', b"BU_: A B\n", b"BO_ 1 M: 8 A\n", b' SG_ S : 0|8@1+ (1,0) [0|1] "" B\n', b"BO_ 3000 M: 8 A\n", b"\n", b"\r\n", b"\xef\xbb\xbf",
     b'CM_ "\xc3\xa4";\n', b'CM_ "\xe4";\n', b"\0", b"\x1b", b'BA_ "GenMsgCycleTime" BO_ 1 10;\n', b"NS_ :\n", b"BS_:\n", b'"', b"VAL_ 1 S 0 \"x\" ;\n"]
)  # fmt: skip


@fixed(200)
@given(st.lists(PIECES | st.binary(max_size=4), max_size=9).map(b"".join))
def test_any_message_file_is_kept_byte_for_byte_or_refused_with_a_sentence(data: bytes) -> None:
    values, error = read(data)
    if error is not None:
        assert str(error)
        assert error.row is None or 1 <= error.row <= data.count(b"\n") + 1
        return
    file = MessageFile(bus="B", **values)
    assert file.text.encode(file.encoding) == data


def read(data: bytes) -> tuple[dict[str, Any], MessageFileError | None]:
    try:
        return file_values(data), None
    except MessageFileError as error:
        return {}, error
