"""What can be wrong with what is said on a bus."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from halfshaft.model.conversion import Conversion
from halfshaft.model.electrics import MessageFile
from halfshaft.model.finding import Basis, Finding, Level, published
from halfshaft.standards import constants
from halfshaft.studies.basis import basis_of
from halfshaft.studies.buses.load import BusLoad, MessageLoad
from halfshaft.studies.buses.ohms import listed
from halfshaft.studies.buses.study import BusResult, names_of_senders

ARBITRATION = published("ISO 11898-1: the identifier settles whose turn it is, so no two units may send the same one")
RESPONSE = published("Davis, Burns, Bril and Lukkien, Real-Time Systems 35 (2007), worst-case response time")
ALL_OF_IT = published("ISO 11898-1: bits of a frame with the most that stuffing adds; a bus carries no more than its bit rate")
ONE_LIST = Basis("common practice", "the units of the message file and those of bus_nodes.csv should be the same")


def message_findings(conversion: Conversion, bus: BusResult) -> Iterator[Finding]:
    """All rules about the messages of one bus."""
    yield from same_name(conversion, bus)
    file = next((item for item in conversion.messages if item.bus == bus.ref), None)
    if file is None or bus.load is None:
        return
    yield from same_id(bus, bus.load)
    yield from names_apart(conversion, bus, file)
    yield from too_long(bus, bus.load)
    yield from load(bus, bus.load)
    yield from late(bus, bus.load)
    yield from without_cycle(bus, bus.load)


def same_name(conversion: Conversion, bus: BusResult) -> Iterator[Finding]:
    """Two units send under one name, so with the same numbers."""
    for name, units in names_of_senders(conversion, bus.ref).items():
        if len(units) > 1:
            yield Finding(
                rule="bus.id-clash",
                level="stop",
                about=(bus.ref, *units),
                text=f"{' and '.join(units)} both send as {name} on bus {bus.ref}, so with the same identifiers: set one of them to others, or give it another bus.",
                value=len(units),
                limit=1,
                unit="senders",
                basis=ARBITRATION,
            )


def same_id(bus: BusResult, found: BusLoad) -> Iterator[Finding]:
    """One number is sent by two units."""
    by_id: dict[tuple[int, bool], list[MessageLoad]] = {}
    for message in found.messages:
        by_id.setdefault((message.frame_id, message.is_extended), []).append(message)
    for (number, is_extended), messages in by_id.items():
        senders = sorted({sender for message in messages for sender in message.senders})
        if len(messages) == 1 and len(senders) < 2:
            continue
        names = " and ".join(message.name for message in messages)
        who = f"sent by {' and '.join(senders)}" if senders else "each sent by somebody whom the file does not name"
        text = f"Identifier {_id(number, is_extended)} of bus {bus.ref} stands for {names}, {who}"
        yield Finding(
            rule="bus.id-clash",
            level="fix" if len(senders) == 1 else "stop",
            about=(bus.ref, f"{number}", *(message.name for message in messages)),
            text=f"{text}: one identifier, one message, one sender; give each its own.",
            value=max(len(messages), len(senders)),
            limit=1,
            unit="senders" if len(senders) > 1 else "messages",
            basis=ARBITRATION,
        )


def names_apart(conversion: Conversion, bus: BusResult, file: MessageFile) -> Iterator[Finding]:
    """Units that only the message file names, or only the bus."""
    on_bus = names_of_senders(conversion, bus.ref)
    senders = {sender for message in file.messages for sender in message.senders}
    for strangers, verb, level in ((senders, "send", "fix"), (set(file.nodes) - senders, "receive", "note")):
        names = sorted(strangers - set(on_bus))
        if names:
            one = len(names) == 1
            yield Finding(
                rule="bus.sender-not-on-bus",
                level=cast(Level, level),
                about=(bus.ref, *names),
                text=f"{_some(names)} {verb}{'s' if one else ''} by the message file of bus {bus.ref}, but no unit of bus_nodes.csv sends as {'that' if one else 'any of them'}: say which unit it is, or put in the right file.",
                value=len(names),
                limit=0,
                unit="names",
                basis=ONE_LIST,
            )
    for name in sorted(set(on_bus) - {*file.nodes, *senders}):
        yield Finding(
            rule="bus.unit-without-messages",
            level="note",
            about=(bus.ref, *on_bus[name]),
            text=f"{', '.join(on_bus[name])} is to send as {name} on bus {bus.ref}, but its message file does not know {name}: its share of the load and its identifiers are not looked at.",
            basis=ONE_LIST,
        )


def too_long(bus: BusResult, found: BusLoad) -> Iterator[Finding]:
    """Messages with more data than one frame takes."""
    most = constants()["bus_data_max_bytes"]
    if found.too_long:
        longest = max(message.length_bytes for message in found.messages)
        yield Finding(
            rule="bus.message-too-long",
            level="stop",
            about=(bus.ref, *found.too_long),
            text=f"{', '.join(found.too_long)} of bus {bus.ref} {'has' if len(found.too_long) == 1 else 'have'} up to {longest} bytes; a frame takes {most.value:g}: split them, or this file is of a bus with longer frames, which all units must know.",
            value=longest,
            limit=most.value,
            unit="bytes",
            basis=basis_of(most),
        )


def load(bus: BusResult, found: BusLoad) -> Iterator[Finding]:
    """More of the bit rate is taken than should be."""
    usual = constants()["bus_load_max_percent"]
    over = found.load_percent > 100
    if found.load_percent > usual.value:
        heavy = sorted(found.messages, key=lambda item: (-item.load_percent, item.name))[:2]
        limit = 100.0 if over else usual.value
        yield Finding(
            rule="bus.load",
            level="stop" if over else "note",
            about=(bus.ref,),
            text=f"Messages take {found.load_percent:.0f} % of bus {bus.ref} with the most that stuffing adds, {found.least_percent:.0f} % without it, where {limit:g} % is the limit: send {' and '.join(item.name for item in heavy)} less often, or {'raise the bit rate' if bus.bit_rate_kbit_per_s < 1000 else 'split the bus'}.",
            value=found.load_percent,
            limit=limit,
            unit="%",
            basis=ALL_OF_IT if over else basis_of(usual),
        )


def late(bus: BusResult, found: BusLoad) -> Iterator[Finding]:
    """A message may still wait when its next one is due."""
    late = [item for item in found.messages if item.cycle_ms and (item.response_ms is None or item.response_ms > item.cycle_ms)]
    if late:
        worst = late[-1]
        wait = "may wait for ever" if worst.response_ms is None else f"may take {worst.response_ms:.1f} ms"
        rest = "" if len(late) == 1 else f"; so {'is' if len(late) == 2 else 'are'} {', '.join(item.name for item in late[:-1])}"
        yield Finding(
            rule="bus.message-late",
            level="fix",
            about=(bus.ref, *(item.name for item in late)),
            text=f"{worst.name} of bus {bus.ref} is due every {worst.cycle_ms:g} ms and {wait} when all units send at once, so one is lost or late{rest}: give it a smaller identifier, or lower the load.",
            value=worst.response_ms,
            limit=worst.cycle_ms,
            unit="ms",
            basis=RESPONSE,
        )


def without_cycle(bus: BusResult, found: BusLoad) -> Iterator[Finding]:
    """Messages of which the file does not say how often they are sent."""
    if found.without_cycle:
        names = found.without_cycle
        yield Finding(
            rule="bus.no-cycle-time",
            level="note",
            about=(bus.ref, *names),
            text=f"How often {_some(names)} of bus {bus.ref} {'is' if len(names) == 1 else 'are'} sent its message file does not say (GenMsgCycleTime), so the load of {found.load_percent:.1f} % leaves {'it' if len(names) == 1 else 'them'} out.",
            value=len(names),
            limit=0,
            unit="messages",
            basis=Basis("common practice", "a message that is sent on its own account takes its share of the bus, too"),
        )


def _some(names: Sequence[str]) -> str:
    """A few of many."""
    return f"{', '.join(names[:4])} and {len(names) - 4} more" if len(names) > 5 else listed(names)


def _id(number: int, is_extended: bool) -> str:
    return f"{number} (0x{number:0{8 if is_extended else 3}X}, {29 if is_extended else 11} bits)"
