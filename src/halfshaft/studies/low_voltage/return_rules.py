"""What can be wrong with the way back to the battery."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding
from halfshaft.studies.low_voltage.records import LowVoltage

FIRE_CAUTION = "Current through metal that is not made for it heats cables, bearings and hinges; qualified people and local rules decide."
# Less than a meter's clamp tells apart from nothing.
STRAY_A = 0.1


def return_findings(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """All rules about grounds, straps and what stands in for them."""
    yield from return_lost(conversion, result)
    yield from stray_current(conversion, result)
    yield from ground_point_current(conversion, result)


def return_lost(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """A strap left with something removed, and loads came back through it."""
    straps = {strap.ref: strap for strap in conversion.straps}
    lost: dict[str, list[str]] = defaultdict(list)
    for item in result.returns:
        for ref in item.lost_with:
            lost[ref].append(item.load)
    for ref, loads in sorted(lost.items()):
        strap = straps[ref]
        names = ", ".join(conversion.load[load].name for load in loads)
        yield Finding(
            rule="low_voltage.return-lost",
            level="fix",
            about=(ref, *loads),
            text=f"Strap {ref} ({strap.name}) left with {strap.removed_with}; through it came back {names}: lead {'them' if len(loads) > 1 else 'it'} to a ground point.",
            basis=Basis("common practice", "every load has a return by wires and straps that are there"),
        )


def stray_current(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """Current flows through a cable, rod or hinge that is no conductor."""
    straps = {strap.ref: strap for strap in conversion.straps}
    for stray in result.strays:
        if stray.current_a > STRAY_A:
            strap = straps[stray.strap]
            yield Finding(
                rule="low_voltage.stray-current",
                level="stop",
                about=(stray.strap, stray.case),
                text=f"{stray.current_a:.1f} A come back through {strap.name} ({strap.conductor}) in the case {stray.case}, which must carry none: join {strap.from_node} and {strap.to_node} by a strap.",
                value=stray.current_a,
                limit=STRAY_A,
                unit="A",
                basis=Basis("common practice", "current returns by straps made for it"),
                caution=FIRE_CAUTION,
            )


def ground_point_current(conversion: Conversion, result: LowVoltage) -> Iterator[Finding]:
    """More amperes meet at a ground point than its terminals carry."""
    for ground in result.grounds:
        if ground.limit_a is not None and ground.current_a > ground.limit_a:
            yield Finding(
                rule="low_voltage.ground-point-current",
                level="fix",
                about=(ground.ref, ground.case, *ground.wires),
                text=f"At ground point {ground.ref} {ground.current_a:.1f} A meet in the case {ground.case}; its terminals carry {ground.limit_a:g} A: share them with another point.",
                value=ground.current_a,
                limit=ground.limit_a,
                unit="A",
                basis=Basis("common practice", "the terminal's own facts in the catalogue"),
            )
