"""The table's rows in a mechanic's words, the same on screen and paper."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import sentence
from halfshaft.studies.fault_finder.records import FaultFinder, FedBack, FuseStops, Moved, Stopped, Symptom

# As many or more are told by their number.
FEW = 20


def name_of(conversion: Conversion, ref: str) -> str:
    """What a load, unit or contact is called; coils, and what has no name, by their mark."""
    if ref in conversion.load and conversion.element[ref].kind != "coil":
        return conversion.load[ref].name
    return conversion.device[ref].name if ref in conversion.device else ref


def _names(conversion: Conversion, refs: Iterable[str]) -> str:
    return "; ".join(name_of(conversion, ref) for ref in refs)


def direct_words(conversion: Conversion, found: FaultFinder, row: FuseStops) -> str:
    """What loses its feed, or when it does, or that another feed is left."""
    own = f"{(conversion.supply.converter or '').partition('.')[0]}."
    alone = [ref for ref in row.without_converter if not (row.cuts_converter and ref.startswith(own))]
    left = [item.load for item in found.symptoms if row.fuse in (*item.fuses, *item.other_feeds) and not row.stops(item.load)]
    told = []
    if row.direct:
        told.append(_names(conversion, row.direct))
    if alone:
        told.append(f"while the DC-DC converter is off: {_names(conversion, alone) if len(alone) < FEW else f'all {len(alone)} loads'}")
    if left:
        told.append(f"left with one feed of two: {_names(conversion, left)}")
    return _sentences(told or ["nothing at once"])


def further_words(conversion: Conversion, row: FuseStops) -> str:
    """What stops because something else has, and by what; what else is to be known."""
    told = [
        f"without {' and '.join(because)}: {_names(conversion, (item.ref for item in items))}"
        for because, items in groupby(sorted(row.indirect, key=_because), key=_because)
    ]
    if row.opens:
        told.append(f"high-voltage contacts drop out: {'; '.join(row.opens)}")
    if row.cuts_converter:
        told.append("the DC-DC converter feeds nothing more, and the battery goes flat")
    told += [
        f"may seem to work, fed backwards, while {' and '.join(through)} are closed: {_these(conversion, row, [item.ref for item in items])}"
        for through, items in groupby(sorted(row.fed_back, key=_through), key=_through)
    ]
    return _sentences(told)


def _sentences(told: list[str]) -> str:
    return ". ".join(sentence(text) for text in told)


def _these(conversion: Conversion, row: FuseStops, refs: list[str]) -> str:
    """Some of what a fuse stops: by name, or as all but the others where those are fewer."""
    others = [ref for ref in (*row.direct, *(item.ref for item in row.indirect)) if ref not in refs]
    if len(others) >= len(refs):
        return _names(conversion, refs)
    return f"all of these but {_names(conversion, others)}" if others else "all of these"


def _because(item: Stopped) -> tuple[str, ...]:
    return item.because_of


def _through(item: FedBack) -> tuple[str, ...]:
    return item.through


def fuses_words(symptom: Symptom) -> str:
    """The fuses on the way, in order, and those of a second way."""
    second = f"; or by {', '.join(symptom.other_feeds)}" if symptom.other_feeds else ""
    return ", ".join(symptom.fuses) + second


def moved_words(moved: Moved) -> str:
    """A contact, what moves it, and the fuses behind that."""
    return f"{moved.contact} (by {moved.by}{': ' if moved.fuses else ''}{', '.join(moved.fuses)})"


def steps_words(steps: tuple[str, ...]) -> str:
    """Pins and wires in the order in which the current meets them."""
    return " - ".join(steps)
