"""What to call a fault, and where to look for it, in the words of the bench."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from halfshaft.model.finding import sentence
from halfshaft.studies.looms.benches import Bench, Branch
from halfshaft.studies.looms.continuity import Joined
from halfshaft.studies.looms.single_faults import Fault, wires_at

MOST_PLACES = 4


@dataclass(frozen=True, kw_only=True, slots=True)
class Suspect:
    """One likely fault: what it is about (wires, parts or pins), what is wrong, and where to look."""

    kind: str
    about: tuple[str, ...]
    text: str
    look: str


def suspect_of(bench: Bench, fault: Fault) -> Suspect:
    """The words for one fault."""
    text, look = _WORDS[fault.kind](bench, fault)
    return Suspect(kind=fault.kind, about=fault.about, text=text, look=look)


def _branch(bench: Bench, ref: str) -> Branch:
    return next(branches[ref] for branches in bench.states.values() if ref in branches)


def place_of(pin: str) -> str:
    """`FRB.B cavity 3`, or `splice S1`."""
    connector, dot, cavity = pin.rpartition(".")
    return f"{connector} cavity {cavity}" if dot else f"splice {pin}"


def _wire_words(bench: Bench, pin: str) -> str:
    wires = wires_at(bench.states[bench.bare], pin)
    return " and ".join(wires) if wires else "nothing"


_NAMED = {"fuse": "fuse ", "open contact": "contact ", "closed contact": "contact ", "link": "link "}


def _open(bench: Bench, fault: Fault) -> tuple[str, str]:
    wire = _branch(bench, fault.about[0])
    return (
        f"{wire.ref} does not conduct: a crimp that holds nothing, a terminal not home, or a broken wire.",
        f"{place_of(wire.start)}, {place_of(wire.end)}, then along {_list(bench.runs.get(wire.ref, ())) or 'the wire'}",
    )


_MISSING = {
    "fuse": "is missing or blown",
    "closed contact": "is open, and should be closed at rest",
    "coil": "does not conduct: the relay is missing, or its coil is broken",
    "resistor": "is missing or broken",
    "diode": "is missing or broken",
    "link": "does not conduct",
}


def _missing(bench: Bench, fault: Fault) -> tuple[str, str]:
    part = _branch(bench, fault.about[0])
    return f"{_part(part)} {_MISSING[part.kind]}.", _at(part)


def _part(part: Branch) -> str:
    device, _, name = part.ref.partition(".")
    return sentence(f"{_NAMED.get(part.kind, '')}{name} of {device}")


def _at(part: Branch) -> str:
    pins = [place_of(node) for node in (part.start, part.end) if "~" not in node]
    return f"{part.ref.partition('.')[0]}" + (f", at {' and '.join(pins)}" if pins else "")


def _resistance(bench: Bench, fault: Fault) -> tuple[str, str]:
    ref, ohm = fault.raised_ohm[0]
    part = _branch(bench, ref)
    amount = f"{1000 * ohm:.0f} mΩ" if ohm < 1 else f"{ohm:.3g} Ω"
    if part.kind != "wire":
        return f"{_part(part)} has {amount} too much: its contacts are dirty or slack.", _at(part)
    return (
        f"{ref} has {amount} too much: a poor crimp at one of its ends.",
        f"{place_of(part.start)}, {place_of(part.end)}; pull, look, crimp anew",
    )


def _swap(bench: Bench, fault: Fault) -> tuple[str, str]:
    one, other = fault.about
    names = f"{_wire_words(bench, one)} and {_wire_words(bench, other)}"
    return f"{names} have changed places: {place_of(one)} and {place_of(other)}.", f"{place_of(one)}, {place_of(other)}"


def _rings(bench: Bench, fault: Fault) -> tuple[str, str]:
    one, other = fault.about
    names = f"{_wire_words(bench, one)} and {_wire_words(bench, other)}"
    return (
        f"The rings of {names} have changed places on one stud or bar: no electrical fault, but the labels are wrong there.",
        f"{place_of(one)}, {place_of(other)}",
    )


def _cavity(bench: Bench, fault: Fault) -> tuple[str, str]:
    pin, free = fault.about
    return f"{_wire_words(bench, pin)} sits in {place_of(free)}; it belongs in {place_of(pin)}.", f"{place_of(free)}, {place_of(pin)}"


def _mirrored(bench: Bench, fault: Fault) -> tuple[str, str]:
    return (
        f"{fault.about[0]} is filled as seen from its mating face: every wire is mirrored.",
        f"{fault.about[0]}: compare with its picture, wire side",
    )


def _unplugged(bench: Bench, fault: Fault) -> tuple[str, str]:
    return f"Nothing conducts at {fault.about[0]}: the tester's lead or test plug is off, or no terminal is home.", f"{fault.about[0]}"


def _closed(bench: Bench, fault: Fault) -> tuple[str, str]:
    part = _branch(bench, fault.about[0])
    by = f" (moved by {part.moved_by})" if part.moved_by else ""
    return f"{_part(part)}{by} is closed, and should be open at rest.", _at(part)


def _shorted(bench: Bench, fault: Fault) -> tuple[str, str]:
    part = _branch(bench, fault.about[0])
    return f"{_part(part)} is shorted.", _at(part)


def _reversed(bench: Bench, fault: Fault) -> tuple[str, str]:
    part = _branch(bench, fault.about[0])
    return f"{_part(part)} is the wrong way round.", _at(part)


def _extra(bench: Bench, fault: Fault) -> tuple[str, str]:
    where, ohm = fault.about
    return f"A resistance of about {ohm} Ω that does not belong there lies beside the others, at {where}.", f"what is plugged in at {where}"


def _short(bench: Bench, fault: Fault) -> tuple[str, str]:
    groups = [next(group for group in bench.groups if pin in group.pins) for pin in fault.about]
    names = [", ".join(group.wires) or f"the screen at {group.pins[0]}" for group in groups]
    return f"{names[0]} and {names[1]} touch: the groups of {fault.about[0]} and {fault.about[1]}.", _meeting(bench, groups[0], groups[1])


def _meeting(bench: Bench, one: Joined, other: Joined) -> str:
    """Where two groups lie close: neighbouring cavities first, then the same plug, then the same runs."""
    pairs = [
        (first, second, socket)
        for first in one.pins
        for second in other.pins
        for socket in bench.sockets
        if {first, second} <= socket.places.keys()
    ]
    neighbours = [
        f"{socket.name} cavities {_cavity_of(a)} and {_cavity_of(b)}, neighbours" for a, b, socket in pairs if socket.are_neighbours(a, b)
    ]
    plugs = [f"{socket.name} cavities {_cavity_of(a)} and {_cavity_of(b)}" for a, b, socket in pairs if not socket.are_neighbours(a, b)]
    runs = [{run for wire in group.wires for run in bench.runs.get(wire, ())} for group in (one, other)]
    common = [run for run in dict.fromkeys(run for wire in one.wires for run in bench.runs.get(wire, ())) if run in runs[1]]
    places = [
        *neighbours[:MOST_PLACES],
        *plugs[: MOST_PLACES - len(neighbours)],
        *([f"where both lie in {_list(common)}"] if common else []),
    ]
    return "; ".join(places) or "nowhere do they lie close: look for a third wire between them"


def _cavity_of(pin: str) -> str:
    return pin.rpartition(".")[2]


def _list(names: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(names))


_WORDS = {
    "open": _open,
    "missing": _missing,
    "resistance": _resistance,
    "swap": _swap,
    "rings": _rings,
    "short": _short,
    "cavity": _cavity,
    "mirrored": _mirrored,
    "unplugged": _unplugged,
    "closed": _closed,
    "shorted": _shorted,
    "reversed": _reversed,
    "extra": _extra,
}
