"""What can be wrong with the bolted joints: the stack, the torque, which bars, and whether a tool gets there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding, published
from halfshaft.model.pack import Joint
from halfshaft.studies.pack.reach import Reach
from halfshaft.studies.pack.study import Pack

# What may lie between two faces that the current passes: nothing but what carries it.
CARRIES = ("face", "bar", "lug")


JOINT_CAUTION = "A bad joint glows at full current, and batteries burn. " + HV_CAUTION
REACH = Basis("from memory", "sizes of hand and sockets in standards/reach.csv; the bolt taken to look to the opening")


def joint_findings(conversion: Conversion, pack: Pack | None, reaches: Sequence[Reach]) -> Iterator[Finding]:
    """All rules of this study."""
    if pack is None or not conversion.joints:
        return
    for joint in conversion.joints:
        yield from stack_wrong(joint)
        yield from bars_wrong(conversion, joint)
    yield from torque_wrong(conversion, pack)
    yield from joint_missing(conversion)
    yield from out_of_reach(conversion, reaches)


def stack_wrong(joint: Joint) -> Iterator[Finding]:
    """Something lies between the faces that the current passes, or no face is named."""
    between = between_faces(joint.stack)
    carrying = [layer for layer in joint.stack if carries(layer)]
    if between or len(carrying) < 2:
        words = f"{', '.join(between)} between the faces that the current passes" if between else "no two faces that the current passes"
        yield Finding(
            rule="pack.joint-stack",
            level="stop",
            about=(joint.ref,),
            text=f"Joint {joint.ref} at {joint.stud} has, from below, {', '.join(joint.stack)}: {words}. Bars and lugs lie on the contact face and on each other, washers outside.",
            value=float(len(between)),
            limit=0.0,
            unit="layers",
            basis=Basis("common practice", "nothing but bar or lug on the contact face; steel and spacers there have burnt cars"),
            caution=JOINT_CAUTION,
        )


def bars_wrong(conversion: Conversion, joint: Joint) -> Iterator[Finding]:
    """The bars listed at a joint are not those that end at its stud."""
    ending = {bar.ref for bar in conversion.busbars if joint.stud in (bar.from_stud, bar.to_stud)}
    listed = set(joint.busbars)
    if ending != listed:
        words = [f"{', '.join(sorted(ending - listed))} ends there and is not listed"] if ending - listed else []
        words += [f"{', '.join(sorted(listed - ending))} is listed and does not end there"] if listed - ending else []
        yield Finding(
            rule="pack.joint-bars",
            level="fix",
            about=(joint.ref, *sorted(ending ^ listed)),
            text=f"Joint {joint.ref} at {joint.stud}: {'; '.join(words)}.",
            value=float(len(ending ^ listed)),
            limit=0.0,
            unit="bars",
            basis=Basis("common practice", "busbars.csv and joints.csv tell one story"),
            caution=HV_CAUTION,
        )


def torque_wrong(conversion: Conversion, pack: Pack) -> Iterator[Finding]:
    """A joint on a module's stud has another torque than the module's maker gives."""
    wanted = {stud: item.kind for string in pack.strings for item in string.modules for stud in (item.plus, item.minus)}
    for joint in conversion.joints:
        kind = wanted.get(joint.stud)
        if kind is not None and kind.terminal_torque_nm is not None and abs(joint.torque_nm - kind.terminal_torque_nm) > 0.05:
            yield Finding(
                rule="pack.joint-torque",
                level="fix",
                about=(joint.ref,),
                text=f"Joint {joint.ref} at {joint.stud} is to be done up with {joint.torque_nm:g} N m; the studs of {kind.part} take {kind.terminal_torque_nm:g} N m.",
                value=joint.torque_nm,
                limit=kind.terminal_torque_nm,
                unit="N m",
                basis=published("the module's data sheet, in modules.toml"),
                caution=JOINT_CAUTION,
            )


def joint_missing(conversion: Conversion) -> Iterator[Finding]:
    """A bar ends where no joint is listed, so nobody is told how to do it up."""
    known = {joint.stud for joint in conversion.joints}
    for bar in conversion.busbars:
        for stud in (bar.from_stud, bar.to_stud):
            if stud not in known:
                yield Finding(
                    rule="pack.joint-missing",
                    level="fix",
                    about=(bar.ref, stud),
                    text=f"Bar {bar.ref} ends at {stud}, where no joint is listed: its stack and torque are not known.",
                    basis=Basis("common practice", "every joint of the pack is in the register"),
                    caution=JOINT_CAUTION,
                )


def out_of_reach(conversion: Conversion, reaches: Sequence[Reach]) -> Iterator[Finding]:
    """With the box in the car and its lid off no tool gets to a joint, or only after something else is out."""
    stud = {joint.ref: joint.stud for joint in conversion.joints}
    for reach in reaches:
        if reach.tool == "none":
            way = f": {', '.join(reach.in_the_way)} in the way"
            yield Finding(
                rule="pack.joint-out-of-reach",
                level="fix",
                about=(reach.joint,),
                text=f"With its box in the car and the lid off no socket gets to joint {reach.joint} at {stud[reach.joint]}, {reach.depth_mm:.0f} mm below the opening{way}.",
                value=reach.depth_mm,
                basis=REACH,
                unit="mm",
                caution=JOINT_CAUTION,
            )
    under: dict[tuple[str, ...], list[str]] = {}
    for reach in reaches:
        if reach.tool == "after taking out":
            under.setdefault(reach.in_the_way, []).append(reach.joint)
    for things, joints in under.items():
        yield Finding(
            rule="pack.joint-covered",
            level="note",
            about=(*things, *joints),
            text=f"{', '.join(things)} stands over {', '.join(joints)}: do {'them' if len(joints) > 1 else 'it'} up first, and take {', '.join(things)} out again to look at {'them' if len(joints) > 1 else 'it'}.",
            value=float(len(joints)),
            limit=0.0,
            unit="joints",
            basis=REACH,
            caution=JOINT_CAUTION,
        )


def between_faces(stack: tuple[str, ...]) -> tuple[str, ...]:
    """What lies between the lowest and the highest thing that carries current, and does not carry it itself.

    >>> between_faces(("contact face", "plain washer", "bar", "spring washer", "bolt"))
    ('plain washer',)
    """
    carrying = [index for index, layer in enumerate(stack) if carries(layer)]
    if not carrying:
        return ()
    return tuple(layer for layer in stack[carrying[0] : carrying[-1]] if not carries(layer))


def carries(layer: str) -> bool:
    """Whether a layer of a joint is there to carry current, by its name: a face, a bar, a lug."""
    words = layer.lower().replace("-", " ").split()
    return any(word == name or word == f"bus{name}" for word in words for name in CARRIES)
