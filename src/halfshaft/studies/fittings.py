"""Terminals, seals and blanking plugs one by one, each with the pin that it is for and the wire that brings it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.studies.wires.study import WiresResult


@dataclass(frozen=True, slots=True)
class Fitting:
    """One terminal, seal or plug. `loom` is the loom that it belongs to; None where it belongs to a cable."""

    kind: Literal["terminal", "seal", "plug"]
    ref: str
    pin: str
    loom: str | None


def fittings(conversion: Conversion, wires: WiresResult) -> tuple[Fitting, ...]:
    """All of one kit. Where wires of two looms share a terminal, it belongs to the first of them."""
    looms = {wire.ref: wire.loom for wire in conversion.wires}
    # A screen's drain comes with the loom of the wires inside it.
    looms |= {wire.screen: wire.loom for wire in reversed(conversion.wires) if wire.screen and wire.screen not in looms}
    return (*_terminals(conversion, wires, looms), *_seals(wires, looms), *_plugs(wires, looms))


def _terminals(conversion: Conversion, wires: WiresResult, looms: dict[str, str]) -> Iterator[Fitting]:
    """A ring for each wire on a stud; one crimp for a cavity or a splice, however many wires it joins."""
    for splice in sorted({end.pin for end in wires.ends if "." not in end.pin}):
        yield Fitting("terminal", conversion.splice[splice].terminal, splice, conversion.splice[splice].loom)
    for pin in sorted((wires.wires_at.keys() | wires.screens_at.keys()) & conversion.cavity.keys()):
        device, name, _ = pin.split(".")
        ends = [*wires.wires_at.get(pin, ()), *wires.screens_at.get(pin, ())]
        each = ends if conversion.connector[device, name].kind == "stud" else [next((end for end in ends if end in looms), ends[0])]
        for end in each:
            yield Fitting("terminal", conversion.cavity[pin].terminal, pin, looms.get(end))


def _seals(wires: WiresResult, looms: dict[str, str]) -> Iterator[Fitting]:
    first: dict[tuple[str, str], str] = {}
    for end in wires.ends:
        if end.seal is not None:
            first.setdefault((end.pin, end.seal.ref), end.wire)
    for (pin, seal), wire in first.items():
        yield Fitting("seal", seal, pin, looms[wire])


def _plugs(wires: WiresResult, looms: dict[str, str]) -> Iterator[Fitting]:
    owner: dict[str, str] = {}
    for pin, refs in wires.wires_at.items():
        for ref in refs:
            if ref in looms:
                owner.setdefault(pin.rpartition(".")[0], looms[ref])
    for item in wires.open_cavities:
        if item.plug is not None:
            yield Fitting("plug", item.plug.ref, item.pin, owner.get(item.pin.rpartition(".")[0]))
