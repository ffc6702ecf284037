"""What can be wrong with the loop that guards the high voltage, and with what the outputs do."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, HV_CAUTION, Finding, sentence
from halfshaft.studies.hv_safety.insulation_rules import insulation_findings
from halfshaft.studies.hv_safety.interlock import Interlock
from halfshaft.studies.hv_safety.limits import basis_of, listed
from halfshaft.studies.hv_safety.mark_rules import mark_findings
from halfshaft.studies.hv_safety.outputs import Outputs
from halfshaft.studies.hv_safety.study import HvSafety


def hv_safety_findings(conversion: Conversion, safety: HvSafety | None) -> Iterator[Finding]:
    """All rules of this study."""
    if safety is None:
        return
    if safety.interlock is not None:
        yield from loop_broken(safety.interlock)
        if safety.interlock.gap is None:
            yield from outside_loop(safety.interlock)
            yield from loop_bypassed(safety.interlock)
    if safety.outputs is not None:
        yield from gaps(safety.outputs)
        yield from contradictions(safety.outputs)
        yield from drives_plugged_in(safety.outputs)
        yield from astray(safety.outputs)
    yield from insulation_findings(conversion, safety)
    yield from mark_findings(safety)


def loop_broken(loop: Interlock) -> Iterator[Finding]:
    """The interlock does not come back to where it is read."""
    if loop.gap is None:
        return
    yield Finding(
        rule="hv_safety.interlock-broken",
        level="stop",
        about=loop.gap,
        text=f"The interlock loop is broken: from {loop.first} it leads to {loop.gap[0]}, from {loop.last} back to {loop.gap[1]}, and nothing joins these two.",
        basis=COMMON_PRACTICE,
        caution=HV_CAUTION,
    )


def outside_loop(loop: Interlock) -> Iterator[Finding]:
    """A live plug that no link of the loop is held by: a finding for plugs that a hand pulls, one note for all others."""
    by_hand = tuple(plug for plug in loop.outside if plug.connector.kind != "stud" and plug.kind != "mains")
    others = tuple(plug.ref for plug in loop.outside if plug not in by_hand)
    for plug in by_hand:
        skipped = [ref for ref in loop.skipped if ref.startswith(f"{plug.device}.")]
        why = f"the loop does not pass {skipped[0]}" if skipped else "no link in the loop is held by it"
        yield Finding(
            rule="hv_safety.interlock-outside",
            level="fix",
            about=(plug.ref,),
            text=f"Plug {plug.ref} can be pulled live without opening the interlock: {why}.",
            basis=basis_of("connector_apart"),
            caution=HV_CAUTION,
        )
    if others:
        yield Finding(
            rule="hv_safety.interlock-bolted",
            level="note",
            about=others,
            text=f"{listed(others)} {'is' if len(others) == 1 else 'are'} not in the interlock loop: bolted, or live from the mains only; see that {'it needs' if len(others) == 1 else 'each needs'} a tool to open or is dead once unplugged.",
            basis=basis_of("connector_apart"),
            caution=HV_CAUTION,
        )


def loop_bypassed(loop: Interlock) -> Iterator[Finding]:
    """A guarded link can open and the loop stays closed."""
    for link in loop.bypassed:
        yield Finding(
            rule="hv_safety.interlock-bypassed",
            level="stop",
            about=(link.ref,),
            text=f"Something else joins both sides of {link.ref}: the interlock stays closed when {listed(link.held_by)} {'is' if len(link.held_by) == 1 else 'are'} open.",
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def _state(name: str) -> str:
    return name.replace("_", " ")


def gaps(outputs: Outputs) -> Iterator[Finding]:
    """An output of which nobody has said what it does in some state."""
    for output, states in outputs.gaps:
        yield Finding(
            rule="hv_safety.output-gap",
            level="fix",
            about=(output, *states),
            text=f"Nobody has said what the {output} does {'when' if len(states) == 1 else 'in the states'} {listed(tuple(_state(state) for state in states))}: fill its row in output_states.csv.",
            value=len(states),
            limit=0,
            unit="states",
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def contradictions(outputs: Outputs) -> Iterator[Finding]:
    """An output that does in some state what must not be, or cannot be."""
    for item in outputs.contradictions:
        yield Finding(
            rule="hv_safety.output-contradiction",
            level="fix",
            about=(item.output, item.state),
            text=sentence(f'the {item.output} is written as "{item.cell}" when {_state(item.state)}: {item.why}.'),
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def drives_plugged_in(outputs: Outputs) -> Iterator[Finding]:
    """The car can be driven with the charge plug in."""
    if outputs.drives_plugged_in:
        states = tuple(_state(state) for state in outputs.drives_plugged_in)
        yield Finding(
            rule="hv_safety.drives-plugged-in",
            level="fix",
            about=outputs.drives_plugged_in,
            text=f"No output of kind `inhibit` keeps the car from being driven when {listed(states)}: a row that says `yes` there, and a wire from what sees the plug. One that works only while charging is not enough.",
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def astray(outputs: Outputs) -> Iterator[Finding]:
    """An output whose pin leads nowhere, or not to what it should move."""
    for item in outputs.astray:
        yield Finding(
            rule="hv_safety.output-astray",
            level="stop" if item.is_protective else "fix",
            about=(item.output, item.what),
            text=sentence(f"the {item.output}{', which protects,' if item.is_protective else ''} does not reach {item.what}: {item.why}."),
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )
