"""What can be wrong with distances in plugs, with colours, signs, screens, touch protection and the mains earth."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.finding import COMMON_PRACTICE, HV_CAUTION, Finding, published
from halfshaft.studies.hv_safety.clearance import Distances, PlugDistances
from halfshaft.studies.hv_safety.limits import basis_of, listed
from halfshaft.studies.hv_safety.marks import PROTECTION, Marks, PlugTouch
from halfshaft.studies.hv_safety.study import HvSafety

CLEARANCE = published("IEC 60664-1:2007 tables F.1, F.2, A.2: overvoltage category II")
CREEPAGE = published("IEC 60664-1:2007 table F.4")


def mark_findings(safety: HvSafety) -> Iterator[Finding]:
    """All rules of what is looked at on plugs, cables and units."""
    yield from too_close(safety.distances)
    yield from mixed(safety.distances)
    yield from not_orange(safety.marks)
    yield from sign_missing(safety.marks)
    yield from not_said(safety.marks)
    yield from screens(safety.marks)
    yield from touch(safety.marks)
    yield from mains_earth(safety.marks)


def too_close(distances: Distances) -> Iterator[Finding]:
    """Live parts of a plug are nearer to each other than their volts and their place allow."""
    for plug in distances.plugs:
        yield from _clearance(plug)
        needed_mm = plug.least_creepage_mm
        if needed_mm is not None and plug.creepage_mm is not None and plug.creepage_mm < needed_mm:
            yield Finding(
                rule="hv_safety.creepage",
                level="stop",
                about=(plug.plug,),
                text=f"Plug {plug.plug} has {plug.creepage_mm:g} mm along its insulation; {plug.volts:.1f} V at pollution degree {plug.pollution} need {needed_mm:g} mm.",
                value=plug.creepage_mm,
                limit=needed_mm,
                unit="mm",
                basis=CREEPAGE,
                caution=HV_CAUTION,
            )


def _clearance(plug: PlugDistances) -> Iterator[Finding]:
    """By the plug's own figure; without one, pins on a pitch cannot be further apart than that pitch."""
    needed_mm = plug.least_clearance_mm
    has_mm = plug.clearance_mm if plug.clearance_mm is not None else plug.pitch_mm
    if needed_mm is None or has_mm is None or has_mm >= needed_mm:
        return
    between = f" between pins {plug.pins[0]} and {plug.pins[1]}" if plug.pins else ""
    what = "in air" if plug.clearance_mm is not None else "from pin to pin"
    yield Finding(
        rule="hv_safety.clearance",
        level="stop",
        about=(plug.plug, *(plug.pins or ())),
        text=f"Plug {plug.plug} has {has_mm:g} mm {what}{between}; {plug.volts:.1f} V at pollution degree {plug.pollution} need {needed_mm:.3g} mm.",
        value=has_mm,
        limit=needed_mm,
        unit="mm",
        basis=CLEARANCE,
        caution=HV_CAUTION,
    )


def mixed(distances: Distances) -> Iterator[Finding]:
    """High voltage and the 12 V side in one plug."""
    for plug in distances.mixed:
        yield Finding(
            rule="hv_safety.mixed-plug",
            level="stop",
            about=(plug.plug, plug.live, plug.low),
            text=f"Plug {plug.plug} has high voltage on pin {plug.live} and the 12 V side on pin {plug.low}: a plug of its own for each; only the interlock, a screen and the earth may share one.",
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def not_orange(marks: Marks) -> Iterator[Finding]:
    """A cable outside enclosures that does not say by its colour what is in it."""
    for cable in marks.cables:
        if cable.covering and not cable.is_orange:
            yield Finding(
                rule="hv_safety.not-orange",
                level="fix",
                about=(cable.cable,),
                text=f"Cable {cable.cable} is {cable.covering}: outside enclosures a cable of the high-voltage side is orange, or lies in an orange sleeve.",
                basis=basis_of("orange"),
                caution=HV_CAUTION,
            )


def sign_missing(marks: Marks) -> Iterator[Finding]:
    """A unit without the high-voltage sign."""
    for unit in marks.signs:
        if unit.sign == "no":
            yield Finding(
                rule="hv_safety.no-sign",
                level="fix",
                about=(unit.device,),
                text=f"{unit.device} has no high-voltage sign on it: one where it is seen before a cover is opened.",
                basis=basis_of("sign"),
                caution=HV_CAUTION,
            )


def not_said(marks: Marks) -> Iterator[Finding]:
    """Signs, colours, screens and touch protection that nobody has written down: one note for all of them."""
    unsaid = {
        "whether the high-voltage sign is on {} (`hv_sign`)": tuple(unit.device for unit in marks.signs if not unit.sign),
        "what colour cables {} have (`covering`)": tuple(cable.cable for cable in marks.cables if not cable.covering),
        "where the screens of {} are earthed (`screen_earthed`)": tuple(
            cable.cable for cable in marks.cables if cable.is_screened and not cable.screen_earthed
        ),
        "what keeps a finger off the live parts of {} (`touch_protection`)": tuple(plug.plug for plug in marks.touch if not plug.has),
    }
    missing = {words: names for words, names in unsaid.items() if names}
    if missing:
        about = tuple(dict.fromkeys(name for names in missing.values() for name in names))
        yield Finding(
            rule="hv_safety.not-said",
            level="note",
            about=about,
            text=f"Nobody has said {'; '.join(words.format(listed(names)) for words, names in missing.items())}.",
            value=sum(len(names) for names in missing.values()),
            limit=0,
            unit="cells",
            basis=COMMON_PRACTICE,
            caution=HV_CAUTION,
        )


def screens(marks: Marks) -> Iterator[Finding]:
    """A cable at the inverter without a screen or with one that is open at an end; one that is earthed nowhere."""
    for cable in marks.cables:
        if cable.at_inverter and not cable.is_screened:
            text = f"Cable {cable.cable} is at the inverter or motor and has no screen: it disturbs every signal wire beside it."
        elif not cable.is_screened or cable.screen_earthed in ("", "both ends"):
            continue
        elif cable.screen_earthed == "nowhere":
            text = f"The screen of cable {cable.cable} is earthed nowhere: it screens nothing and takes up a charge."
        elif cable.at_inverter:
            text = (
                f"The screen of cable {cable.cable} is earthed at one end only; at the inverter and motor both ends are usual, all round."
            )
        else:
            continue
        yield Finding(
            rule="hv_safety.screen", level="fix", about=(cable.cable,), text=text, basis=COMMON_PRACTICE, caution=HV_CAUTION
        )  # fmt: skip


def touch(marks: Marks) -> Iterator[Finding]:
    """A plug on whose live parts a finger, or in the cabin a wire, can get."""
    short: dict[tuple[str, str], list[PlugTouch]] = {}
    for plug in marks.touch:
        if plug.has and PROTECTION.index(plug.has) < PROTECTION.index(plug.needs):
            short.setdefault((plug.plug.partition(".")[0], plug.has), []).append(plug)
    for (_, has), plugs in short.items():
        first, names = plugs[0], tuple(plug.plug for plug in plugs)
        where = f"in the zone {first.zone}, which counts as passenger or luggage space," if first.is_inside else "there"
        what = "nothing that keeps a finger off" if has == "none" else f"protection {has}"
        yield Finding(
            rule="hv_safety.touch",
            level="stop" if has == "none" else "fix",
            about=names,
            text=f"On {listed(names)} is {what}; {where} {first.needs} is asked for.",
            basis=basis_of("touch_inside" if first.is_inside else "touch_elsewhere"),
            caution=HV_CAUTION,
        )


def mains_earth(marks: Marks) -> Iterator[Finding]:
    """The protective earth of the mains does not get from the inlet to the charger."""
    for item in marks.earths:
        if item.core is None:
            yield Finding(
                rule="hv_safety.mains-earth",
                level="stop",
                about=(item.cable,),
                text=f"No core of mains cable {item.cable} leads the protective earth from end to end: the charger's case, and the car, can become live.",
                basis=basis_of("charge_earth"),
                caution=HV_CAUTION,
            )
