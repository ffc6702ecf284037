"""Buses beside somebody else's figures: bits of a frame, a load, longest waits, lengths; and message files that others wrote."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from halfshaft.files.message_files import file_values
from halfshaft.model.electrics import Message, MessageFile
from halfshaft.standards import bus_limits, constants
from halfshaft.studies.buses.load import frame_bits, load_of, responses_ms, unstuffed_bits
from halfshaft.studies.buses.ohms import parallel

SHARED = Path(__file__).parents[2].parent / "shared"


def references() -> list[dict[str, str]]:
    path = SHARED / "references" / "canbus_limits.csv"
    if not path.is_file():
        pytest.skip("the shared references are not beside this repository: no canbus_limits.csv")
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def bench_files() -> list[Path]:
    found = sorted((SHARED / "benchmarks" / "can").glob("*.dbc"))
    if not found:
        pytest.skip("the shared benchmarks are not beside this repository: no message files")
    return found


# Davis, Burns, Bril and Lukkien 2007: 55 + 10 s bits with 11-bit identifiers and 80 + 10 s with 29-bit ones.
@pytest.mark.parametrize("length", range(9))
def test_worst_frames_are_as_long_as_the_paper_has_them(length: int) -> None:
    assert frame_bits(length, is_extended=False) == 55 + 10 * length
    assert frame_bits(length, is_extended=True) == 80 + 10 * length


# ISO 11898-1, field by field: start 1, identifier 11 or 29 and two more, request 1, control 6, sum 16, acknowledgement 2, end 7, gap 3.
@pytest.mark.parametrize("length", range(9))
def test_unstuffed_frames_are_the_sum_of_their_fields(length: int) -> None:
    assert unstuffed_bits(length, is_extended=False) == 1 + 11 + 1 + 6 + 16 + 2 + 7 + 3 + 8 * length
    assert unstuffed_bits(length, is_extended=True) == 1 + 29 + 2 + 1 + 6 + 16 + 2 + 7 + 3 + 8 * length


def test_worst_frames_are_those_of_the_shared_references() -> None:
    rows = [row for row in references() if row["topic"] == "frame_bits" and "data bytes" in row["item"]]
    assert len(rows) > 10
    for row in rows:
        identifier, length = re.fullmatch(r"(\d+)-bit identifier, (\d) data bytes", row["item"]).groups()  # type: ignore[union-attr]
        assert frame_bits(int(length), is_extended=identifier == "29") == float(row["value"])


def message(name: str, frame_id: int, length: int, cycle_ms: float) -> Message:
    return Message(name=name, frame_id=frame_id, length_bytes=length, senders=("A",), cycle_ms=cycle_ms)


def test_the_load_of_a_published_list() -> None:
    """Three messages of a public project: 8 bytes at 100 Hz, 3 at 10 Hz, 8 at 25 Hz; 3.545 % of 500 kbit/s (shared references)."""
    messages = (message("a", 1, 8, 10.0), message("b", 2, 3, 100.0), message("c", 3, 8, 40.0))
    found = load_of(MessageFile(bus="B", encoding="utf-8", text="", nodes=("A",), messages=messages), 500)
    assert found.load_percent == pytest.approx(3.545, abs=1e-9)


def test_the_longest_waits_of_the_paper_that_put_the_older_analysis_right() -> None:
    """Davis and others 2007, the example of three messages of 1 ms every 2.5, 3.5 and 3.5 ms at 125 kbit/s (7 bytes each).

    The older analysis looks at the first instance only and gives the third message 3 ms; its second one takes 3.5.
    """
    messages = (message("a", 1, 7, 2.5), message("b", 2, 7, 3.5), message("c", 3, 7, 3.5))
    found = load_of(MessageFile(bus="B", encoding="utf-8", text="", nodes=("A",), messages=messages), 125)
    assert [item.sent_ms for item in found.messages] == [1.0, 1.0, 1.0]
    assert [item.response_ms for item in found.messages] == pytest.approx([2.0, 3.0, 3.5])
    assert responses_ms([1.0], [2.5], 1 / 125) == (1.0,)


# Each figure beside the row of the shared references it is copied from: (bit rate, what, item there, words of its condition).
LIMITS = [
    (1000, "trunk", "bus_length", "ISO 11898-2, 1 Mbit/s", 0),
    (1000, "stub", "stub_length", "ISO 11898-2, 1 Mbit/s", 0),
    (1000, "stubs together", "stub_length", "1 Mbit/s", 1),
    *((rate, "trunk", "bus_length", f"{rate} kbit/s", 0) for rate in (500, 250, 125, 50)),
    *((rate, "stub", "stub_length", f"{rate} kbit/s", 0) for rate in (500, 250, 125, 50)),
    *((rate, "stubs together", "stub_length", f"{rate} kbit/s", 1) for rate in (500, 250, 125, 50)),
]


@pytest.mark.parametrize(("rate", "what", "topic", "condition", "part"), LIMITS)
def test_lengths_are_those_of_the_shared_references(rate: float, what: str, topic: str, condition: str, part: int) -> None:
    (row,) = [row for row in references() if (row["topic"], row["condition"]) == (topic, condition)]
    assert bus_limits()[rate][what].value == float(row["value"].split(" / ")[part])


def test_no_length_is_left_without_a_row_above() -> None:
    assert {(rate, what) for rate, limits in bus_limits().items() for what in limits} == {(rate, what) for rate, what, *_ in LIMITS}


def test_limits_of_load_and_stub_are_those_of_the_shared_references() -> None:
    rows = {(row["topic"], row["item"], row["condition"]): row["value"] for row in references()}
    assert constants()["bus_load_max_percent"].value == float(rows["J1939", "average bus load", "guidance"])
    assert constants()["bus_stub_careful_m"].value == float(rows["J1939", "stub length", "J1939-11, 250 kbit/s"])
    ohm = float(rows["termination", "resistor at each end of the trunk", "ISO 11898-2"])
    assert constants()["bus_terminator_min_ohm"].value <= ohm <= constants()["bus_terminator_max_ohm"].value
    assert parallel((ohm, ohm)) == float(rows["termination", "measured across the pair, power off, both fitted", "ISO 11898-2"])


def test_what_a_meter_shows_of_one_too_many() -> None:
    """Ohm's law by hand: three of 120 are 40; 60 beside 300 is 50."""
    assert parallel((120, 120, 120)) == pytest.approx(40)
    assert parallel((60, 300)) == pytest.approx(50)


def test_message_files_that_others_wrote_are_read_as_they_stand() -> None:
    """Identifiers, lengths and senders beside a reading of the BO_ lines by pattern, and the text beside the bytes."""
    for path in bench_files():
        data = path.read_bytes()
        values = file_values(data)
        assert values["text"].encode(values["encoding"]) == data
        lines = re.findall(rb"^BO_ (\d+) (\w+)\s*: (\d+) (\w+)", data, re.MULTILINE)
        assert len(lines) > 10
        assert [(item["frame_id"], item["name"], item["length_bytes"]) for item in values["messages"]] == [
            (int(number) & 0x1FFFFFFF, name.decode(), int(length)) for number, name, length, _ in lines
        ]
        assert [item["is_extended"] for item in values["messages"]] == [int(number) >= 1 << 31 for number, *_ in lines]
        assert [item["senders"] for item in values["messages"]] == [() if s == b"Vector__XXX" else (s.decode(),) for *_, s in lines]


def test_messages_of_the_decoded_vectors_are_in_their_files() -> None:
    known = {path.name: {(item["frame_id"], item["name"]) for item in file_values(path.read_bytes())["messages"]} for path in bench_files()}
    vectors = json.loads((SHARED / "benchmarks" / "can" / "vectors.json").read_text(encoding="utf-8"))
    assert sum(map(len, vectors.values())) > 50
    for name, frames in vectors.items():
        assert {(frame["id"], frame["message"]) for frame in frames} <= known[name]
