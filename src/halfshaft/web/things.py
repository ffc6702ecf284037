"""What can be chosen on a page, by one name everywhere: `wire:W103`, `device:VC1`, `run:R4`."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from halfshaft.model.finding import Finding
from halfshaft.study import Study

# A mark, or the pin or element of a device, as it stands in a sentence or a cell.
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_+-]*(?:\.[A-Za-z0-9_+-]+)*")
# Tables whose rows are things, with what one of them is called; the first that knows a mark has it.
TABLES = (
    ("devices", "device"),
    ("wires", "wire"),
    ("cables", "cable"),
    ("hoses", "hose"),
    ("splices", "splice"),
    ("looms", "loom"),
    ("runs", "run"),
    ("spaces", "space"),
    ("keep_outs", "keep-out"),
    ("luggage_rooms", "luggage-room"),
    ("points", "point"),
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Thing:
    """One thing of the conversion: its key, what it is called, a few words, and the keys of what stands for it in the car."""

    key: str
    kind: str
    ref: str
    words: str
    also: tuple[str, ...] = ()


class Things:
    """Everything that can be chosen in one revision."""

    def __init__(self, study: Study) -> None:
        self.study = study

    @cached_property
    def by_key(self) -> dict[str, Thing]:
        """All of them."""
        found = [
            Thing(key=f"{kind}:{row.ref}", kind=kind, ref=row.ref, words=self._words(kind, row), also=self._also(kind, row.ref))
            for kind, row in self._rows()
        ]
        return {thing.key: thing for thing in found}  # fmt: skip

    def _rows(self) -> Iterator[tuple[str, Any]]:
        conversion = self.study.conversion
        for table, kind in TABLES:
            for row in getattr(conversion, table):
                yield kind, row
        for box in conversion.boxes:
            for module in box.modules:
                yield "module", module
            for plate in box.plates:
                yield "plate", plate

    @cached_property
    def _by_ref(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for key, thing in self.by_key.items():
            found.setdefault(thing.ref, key)
        return found

    def named(self, name: str) -> Thing | None:
        """The thing that a mark names; a pin or an element is its device."""
        key = self._by_ref.get(name) or self._by_ref.get(name.partition(".")[0])
        return self.by_key[key] if key else None

    def in_words(self, text: str) -> list[tuple[str, Thing | None]]:
        """A sentence in pieces, each with the thing that it names if it names one. A word without a capital names none."""
        pieces: list[tuple[str, Thing | None]] = []
        last = 0
        for match in NAME.finditer(text):
            name = match[0]
            thing = self.named(name) if len(name) > 1 and any(letter.isupper() for letter in name) else None
            if thing is not None:
                pieces += [(text[last : match.start()], None), (name, thing)]
                last = match.end()
        return [*pieces, (text[last:], None)]

    def _words(self, kind: str, row: Any) -> str:
        """What it is in a line."""
        routing = self.study.routing
        match kind:
            case "wire":
                laid = routing.wires[row.ref]
                cut = f", {laid.length.cut_mm:g} mm" if laid.length else ""
                return f"{row.meaning}: {row.colour} {row.section_mm2:g} mm²{cut}, from {row.from_pin} to {row.to_pin}"
            case "run":
                return f"from {row.from_point} to {row.to_point}, {routing.run_lengths[row.ref].length_mm:.0f} mm"
            case "module":
                return f"module {row.order_in_string} of string {row.string}"
            case "plate":
                return "coolant plate"
            case _:
                return str(getattr(row, "name", "") or getattr(row, "meaning", ""))

    def _also(self, kind: str, ref: str) -> tuple[str, ...]:
        """What shows it where it is not drawn by itself: the runs of a wire, the wires and runs of a loom."""
        if kind == "wire":
            route = self.study.routing.wires[ref].route
            return tuple(dict.fromkeys(f"run:{step.run}" for step in route.steps)) if route else ()
        if kind == "loom":
            laid = self.study.routing.loom(ref)
            return tuple(f"run:{run.run}" for run in laid.runs)
        return ()

    @cached_property
    def pins(self) -> dict[str, tuple[str, ...]]:
        """By device, the wires and cables that end at it."""
        found: dict[str, list[str]] = defaultdict(list)
        conversion = self.study.conversion
        ends = [(f"wire:{wire.ref}", (wire.from_pin, wire.to_pin)) for wire in conversion.wires]
        ends += [(f"cable:{cable.ref}", (cable.from_connector, cable.to_connector)) for cable in conversion.cables]
        for key, pins in ends:
            for owner in dict.fromkeys(pin.partition(".")[0] for pin in pins):
                found[owner].append(key)
        return {owner: tuple(keys) for owner, keys in found.items()}

    @cached_property
    def findings_of(self) -> dict[str, tuple[Finding, ...]]:
        """By key, the findings of the design that are about it."""
        found: dict[str, list[Finding]] = defaultdict(list)
        for finding in self.study.design_findings:
            for key in self.keys_of(finding.about):
                found[key].append(finding)
        return {key: tuple(findings) for key, findings in found.items()}

    @cached_property
    def fused(self) -> frozenset[str]:
        """Wires behind a fuse, and the devices that fuses sit in."""
        fuses = self.study.wires.fuses
        return frozenset(
            [f"wire:{wire}" for fuse in fuses for wire in fuse.wires] + [f"device:{fuse.ref.partition('.')[0]}" for fuse in fuses]
        )

    def keys_of(self, about: Iterable[str]) -> tuple[str, ...]:
        """The things that marks name, each once."""
        things = (self.named(name) for name in about)
        return tuple(dict.fromkeys(thing.key for thing in things if thing))
