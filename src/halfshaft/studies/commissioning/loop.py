"""Dead tests of high-voltage cables, core by core, and of the interlock loop at each place where it may open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from halfshaft.model.conversion import Conversion
from halfshaft.studies.commissioning.limits import CATALOGUE, JOINT, LOOP_OPEN_OHM, METER, METER_OHM, OPEN, TRACED
from halfshaft.studies.commissioning.metal import CONTACTS, DEAD, FOUR_LEADS, joint_mohm
from halfshaft.studies.commissioning.records import Line, Part, Sense, milliohm_line, open_line
from halfshaft.studies.hv_safety.interlock import Interlock
from halfshaft.studies.hv_safety.live import is_live
from halfshaft.studies.looms.readings import OPEN_OHM

OHMMETER = "multimeter, ohms"


def cable_part(conversion: Conversion, cable_ohm: Mapping[str, float]) -> Part:
    """Each core from end to end, so that plus comes to plus; and in a cable of several cores each open to the next."""
    return Part(
        key="cables",
        title="High-voltage and mains cables: each pole to its own",
        instrument=FOUR_LEADS,
        basis=(CATALOGUE, JOINT, OPEN),
        wrong="{}: cores exchanged, a crimp that does not hold, or a wrong cable in this place.",
        lines=tuple(_cores(conversion, cable_ohm)),
        note="Copper by length and type at 20 °C. Both plugs of the cable are off; read on the cable's own pins.",
    )


def _cores(conversion: Conversion, cable_ohm: Mapping[str, float]) -> Iterator[Line]:
    cores = [
        core for core in conversion.cable_cores if any(is_live(_role(conversion, pin)) for pin in (core.from_pin, core.to_pin))
    ]  # fmt: skip
    for core in cores:
        expected = 1000 * cable_ohm.get(core.cable, 0.0)
        yield milliohm_line(
            (_pole(conversion, core.from_pin), _pole(conversion, core.to_pin)),
            f"{DEAD}; both plugs of {core.cable} off",
            expected,
            high=2 * expected + CONTACTS * joint_mohm(),
            senses=(Sense(ref=core.cable, kind="cable"),),
            suspect=f"{core.cable}, core {core.core}",
        )
        following = next((other for other in cores if other.cable == core.cable and other.core == core.core + 1), None)
        if following is not None:
            yield open_line(
                (_pole(conversion, core.from_pin), _pole(conversion, following.to_pin)),
                f"{DEAD}; both plugs of {core.cable} off",
                low_ohm=OPEN_OHM,
                sense=Sense(ref=core.cable, kind="cable"),
                suspect=f"{core.cable}, cores {core.core} and {following.core}",
            )


def _role(conversion: Conversion, pin: str) -> str:
    cavity = conversion.cavity.get(pin)
    return "" if cavity is None else cavity.role


POLES = {"hv_plus": " (plus)", "hv_minus": " (minus)"}


def _pole(conversion: Conversion, pin: str) -> str:
    return pin + POLES.get(_role(conversion, pin), "")


def loop_part(interlock: Interlock) -> Part:
    """The closed loop as far as each link, so that the place of a break is between two lines; then the whole."""
    lines = []
    passed: list[Sense] = []
    for number, step in enumerate(interlock.steps, start=1):
        passed.append(Sense(ref=step.ref, kind=step.kind))
        if step.kind == "wire" and number < len(interlock.steps):
            continue
        held = f": {', '.join(step.held_by)}" if step.held_by else ""
        lines.append(
            Line(
                between=(interlock.first, step.end),
                state=f"{DEAD}; all plugs in, all covers on, read from behind",
                quantity="resistance",
                unit="Ω",
                expected=step.ohm_from_start,
                low=0.0,
                high=step.ohm_from_start + METER_OHM + number * CONTACTS * joint_mohm() / 1000,
                senses=tuple(passed),
                suspect=f"{step.ref}{held}",
            )
        )
    return Part(
        key="interlock",
        title="Interlock loop, closed, as far as each plug",
        instrument=OHMMETER,
        basis=(CATALOGUE, JOINT, METER),
        wrong="The loop is open, or has a bad contact, at {}.",
        lines=tuple(lines),
        note="In the order of the loop: a break lies between the last line that passes and the first that does not.",
    )


COVERS = "A battery box is live under its cover: open the cover's switch, do not lift it."


def opening_part(interlock: Interlock) -> Part:
    """The whole loop with each plug pulled, each cover's switch opened and each handle out, one after the other."""
    known = (interlock.ends.source_ohm, interlock.ends.sense_ohm)
    through_ohm = sum(ohm for ohm in known if ohm is not None) if None not in known else None
    lines = [
        open_line(
            (interlock.first, interlock.last),
            f"{DEAD}, all else in its place; {_undone(name)}",
            low_ohm=LOOP_OPEN_OHM if through_ohm is None else through_ohm / 2,
            sense=Sense(ref=f"{step.ref} at {name}", kind="link"),
            suspect=f"{step.ref} bridged, or not held by {name}",
        )
        for step in interlock.links
        for name in step.held_by
    ]
    half = "Open here: half of what the controller has between the two ends, or more."
    some = f"Open here: {LOOP_OPEN_OHM:g} Ω or more, as the controller has some hundred ohms between both ends."
    return Part(
        key="interlock opens",
        title="Interlock loop, opened by each plug, cover and handle",
        instrument=OHMMETER,
        basis=(TRACED,),
        wrong="The loop stays closed: {} is bridged, or held by something else.",
        lines=tuple(lines),
        note=f"{COVERS} {half if through_ohm is not None else some}",
    )


def _undone(name: str) -> str:
    """`B1 cover` stays on and its switch is opened, `SD handle` is out, `B1.P` is pulled."""
    if name.endswith("cover"):
        return f"{name}: its switch opened"
    return f"{name} pulled" if "." in name else f"{name} out"
