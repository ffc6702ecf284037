"""What lies in each run that is in use."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.routing import Routing


@dataclass(frozen=True, kw_only=True, slots=True)
class RunUse:
    """Marks of the looms, cables and hoses of one run. `high`: with high voltage or mains; `quiet`: looms with LV or sense wires."""

    run: str
    high: tuple[str, ...]
    looms: tuple[str, ...]
    quiet: tuple[str, ...]
    hoses: tuple[str, ...]

    @property
    def all(self) -> tuple[str, ...]:
        """Everything in it."""
        return (*self.looms, *self.high, *self.hoses)

    @property
    def is_wired(self) -> bool:
        """Whether a loom or a cable lies in it, not hoses alone."""
        return bool(self.looms or self.high)


def uses_of(conversion: Conversion, routing: Routing) -> dict[str, RunUse]:
    """Every run in use, in the order in which runs are listed."""
    high: dict[str, dict[str, None]] = defaultdict(dict)
    looms: dict[str, dict[str, None]] = defaultdict(dict)
    hoses: dict[str, dict[str, None]] = defaultdict(dict)
    for laid in routing.looms:
        for run in laid.runs:
            (high if laid.loom.carries == "HV" else looms)[run.run][laid.loom.ref] = None
    for cable in routing.cables:
        for step in cable.route.steps if cable.route else ():
            high[step.run][cable.cable.ref] = None
    for hose in routing.hoses:
        for step in hose.route.steps if hose.route else ():
            hoses[step.run][hose.hose.ref] = None
    return {
        run.ref: RunUse(
            run=run.ref,
            high=tuple(high[run.ref]),
            looms=tuple(looms[run.ref]),
            quiet=tuple(ref for ref in looms[run.ref] if conversion.loom[ref].carries in ("LV", "sense")),
            hoses=tuple(hoses[run.ref]),
        )
        for run in conversion.runs
        if run.ref in high or run.ref in looms or run.ref in hoses
    }


def zone_of(conversion: Conversion, run_ref: str) -> str | None:
    """The zone that a run says it lies in, else that of its two points where both are in one."""
    run = conversion.run[run_ref]
    start, end = conversion.point[run.from_point].zone, conversion.point[run.to_point].zone
    return run.zone or (start if start == end else None)


def some(refs: tuple[str, ...] | list[str]) -> str:
    """Up to six names in a sentence, and how many more."""
    more = f" and {len(refs) - 6} more" if len(refs) > 6 else ""
    return ", ".join(refs[:6]) + more
