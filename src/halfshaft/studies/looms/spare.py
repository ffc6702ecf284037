"""What is left over at the ends of each wire, and which wires are at risk where a run is longer than it was measured."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding
from halfshaft.studies.looms.routing import LaidLoom, LaidWire, Routing

# Common practice: what a run taped in the car may be out by.
LONGER_MM = 10.0
ROUNDING_MM = 1e-6


@dataclass(frozen=True, kw_only=True, slots=True)
class WireSpare:
    """One wire on one run: what is left over beyond what it needs, now and with the run longer, and what the shop wants left.

    `may_grow_mm` is by how much the run may be longer until the wire can no longer be ended.
    """

    wire: str
    spare_mm: float
    spare_if_longer_mm: float
    slack_mm: float
    may_grow_mm: float

    @property
    def is_short_of_slack(self) -> bool:
        """Whether the longer run leaves less than the slack that the shop wants."""
        return self.spare_if_longer_mm < self.slack_mm - ROUNDING_MM

    @property
    def is_too_short(self) -> bool:
        """Whether the longer run leaves too little to strip and crimp both ends."""
        return self.spare_if_longer_mm < -ROUNDING_MM


@dataclass(frozen=True, kw_only=True, slots=True)
class RunSpare:
    """One run of one loom, with all wires of the loom that pass it, the one with least to spare first."""

    loom: str
    run: str
    wires: tuple[WireSpare, ...]


def spares_of(conversion: Conversion, routing: Routing) -> tuple[RunSpare, ...]:
    """Every run of every loom."""
    return tuple(spare for laid in routing.looms for spare in _of_loom(conversion, laid))


def _of_loom(conversion: Conversion, laid: LaidLoom) -> Iterator[RunSpare]:
    by_ref = {wire.wire.ref: wire for wire in laid.wires}
    passes = {ref: Counter(_passages(wire)) for ref, wire in by_ref.items()}
    # Almost every wire passes each of its runs once, and leaves the same on all of them.
    once = {ref: wire_spare(conversion, wire, 1) for ref, wire in by_ref.items() if wire.length}
    for run in laid.runs:
        wires = [once[ref] if passes[ref][run.run] == 1 else wire_spare(conversion, by_ref[ref], passes[ref][run.run]) for ref in run.wires]
        yield RunSpare(loom=laid.loom.ref, run=run.run, wires=tuple(sorted(wires, key=lambda item: (item.may_grow_mm, item.wire))))


def _passages(wire: LaidWire) -> Iterator[str]:
    """The run of each passage; pieces between the splices on it are one passage."""
    last = None
    for step in wire.route.steps if wire.route else ():
        if last is None or last.run != step.run or step.end == last.start:
            yield step.run
        last = step


def wire_spare(conversion: Conversion, wire: LaidWire, passes: int) -> WireSpare:
    """Cut length less runs, tails, take-up and what strip and crimp take at both ends: slack and what rounding up gave.

    A twisted wire grows by more than its run. Where a splice lies on the run, the worst is taken: that its piece is the longer one.
    """
    length = wire.length
    assert length is not None
    slack_mm = conversion.shop.slack_each_end_mm * sum(not end.is_splice for end in (wire.start, wire.end))
    spare_mm = length.cut_mm - length.sum_mm + slack_mm
    laid_mm = length.runs_mm + length.tail_from_mm + length.tail_to_mm
    growth = passes * (1.0 + (length.take_up_mm / laid_mm if laid_mm else 0.0))
    return WireSpare(
        wire=wire.wire.ref,
        spare_mm=spare_mm,
        spare_if_longer_mm=spare_mm - LONGER_MM * growth,
        slack_mm=slack_mm,
        may_grow_mm=max(0.0, spare_mm / growth),
    )


def spare_findings(spares: tuple[RunSpare, ...]) -> Iterator[Finding]:
    """All rules of this module: wires that could not be ended if one of their runs were longer."""
    for loom in dict.fromkeys(spare.loom for spare in spares):
        at_risk: dict[str, list[str]] = {}
        worst_mm = 0.0
        for spare in spares:
            for wire in spare.wires if spare.loom == loom else ():
                if wire.is_too_short:
                    at_risk.setdefault(wire.wire, []).append(spare.run)
                    worst_mm = min(worst_mm, wire.spare_if_longer_mm)
        if at_risk:
            shown = [f"{wire} ({', '.join(runs[:4])}{' ...' if len(runs) > 4 else ''})" for wire, runs in list(at_risk.items())[:6]]
            more = f" and {len(at_risk) - 6} more" if len(at_risk) > 6 else ""
            yield Finding(
                rule="looms.at-risk",
                level="note",
                about=(loom, *sorted(at_risk)),
                text=f"If a run of loom {loom} were {LONGER_MM:g} mm longer than measured, these could no longer be ended: {', '.join(shown)}{more}. Measure the runs named in the car, or allow more slack.",
                value=worst_mm,
                limit=0.0,
                unit="mm to spare",
                basis=Basis("common practice", f"a run taped in a car may be out by {LONGER_MM:g} mm"),
            )
