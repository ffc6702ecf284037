"""What can be wrong with the feet of battery boxes. First looks: the structure they stand on is for a qualified engineer."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, Basis, Finding, published
from halfshaft.studies.mounts import BoxMounts

MOUNT_CAUTION = "A hand calculation of feet and bolts. It does not replace a qualified engineer's check of box, feet and the structure they are fixed to."
STATICS = Basis("common practice", "statics: three feet that do not lie on one line hold a stiff box every way")


def mount_findings(conversion: Conversion, results: tuple[BoxMounts, ...]) -> Iterator[Finding]:
    """All rules of this study."""
    yield from no_case(conversion)
    for result in results:
        yield from no_feet(result)
        yield from too_few(result)
        yield from beside_feet(result)
        yield from over_proof(result)
        yield from bolt_unknown(result)


def no_case(conversion: Conversion) -> Iterator[Finding]:
    """There are boxes, but nobody has said what pull their feet should bear."""
    if conversion.boxes and not conversion.mount_cases:
        yield Finding(
            rule="mounts.no-case",
            level="note",
            about=tuple(box.ref for box in conversion.boxes),
            text="No case in mount_cases.csv, so nothing is said of what the feet of the boxes bear. Ask which pulls hold where the car is registered.",
            basis=COMMON_PRACTICE,
            caution=MOUNT_CAUTION,
        )


def no_feet(result: BoxMounts) -> Iterator[Finding]:
    """Nobody has said where a box is bolted down."""
    if not result.bolts:
        yield Finding(
            rule="mounts.none",
            level="fix",
            about=(result.box,),
            text=f"Box {result.box}, {result.mass_kg:.1f} kg, has no feet in boxes.toml: say where it is bolted down, and with what.",
            value=0.0,
            limit=3.0,
            unit="feet",
            basis=STATICS,
            caution=MOUNT_CAUTION,
        )


def too_few(result: BoxMounts) -> Iterator[Finding]:
    """A box has so few feet, or all so on one line, that it could swing about them."""
    if result.bolts and not result.is_held:
        count = len(result.bolts)
        where = f"{count} feet, all on one line" if count > 2 else f"{count} {'foot' if count == 1 else 'feet'}, and wants three at least"
        yield Finding(
            rule="mounts.too-few",
            level="fix",
            about=(result.box,),
            text=f"Box {result.box}, {result.mass_kg:.1f} kg, has {where}: nothing but their stiffness keeps it from swinging about them.",
            value=float(count),
            limit=3.0,
            unit="feet",
            basis=STATICS,
            caution=MOUNT_CAUTION,
        )


def beside_feet(result: BoxMounts) -> Iterator[Finding]:
    """The centre of gravity of a full box lies outside its feet, seen from above, so that its own weight tips it."""
    if result.is_held and not result.is_between_feet:
        yield Finding(
            rule="mounts.beside-feet",
            level="fix",
            about=(result.box,),
            text=f"The centre of gravity of box {result.box} (x {result.x_mm:.0f}, y {result.y_mm:.0f}) lies outside its feet: its own weight tips it, and some bolts are pulled all the time.",
            basis=Basis("common practice", "a box stands between its feet"),
            caution=MOUNT_CAUTION,
        )


def over_proof(result: BoxMounts) -> Iterator[Finding]:
    """A bolt is strained beyond its proof load; of each box the one that is worst."""
    bolts = {bolt.mount: bolt for bolt in result.bolts}
    worst = None
    for case in result.cases:
        for load in case.mounts:
            proof_n = bolts[load.mount].proof_n
            share = load.combined_n / proof_n if proof_n else 0.0
            if share > 1.0 and (worst is None or share > worst[0]):
                worst = (share, case, load)
    if worst is None:
        return
    share, case, load = worst
    bolt = bolts[load.mount]
    assert bolt.proof_n is not None
    yield Finding(
        rule="mounts.over-proof",
        level="fix",
        about=(result.box, load.mount),
        text=f"Bolt {load.mount} ({bolt.bolt}) of box {result.box} is strained like {load.combined_n / 1000:.1f} kN of plain pull in case {case.case}, {case.acceleration_g:g} g; its proof load is {bolt.proof_n / 1000:.1f} kN. More feet, larger bolts, or feet further apart.",
        value=load.combined_n / 1000,
        limit=bolt.proof_n / 1000,
        unit="kN",
        basis=published("EN ISO 898-1, proof loads, as printed by one fastener supplier"),
        caution=MOUNT_CAUTION,
    )


def bolt_unknown(result: BoxMounts) -> Iterator[Finding]:
    """A bolt is written so that its proof load cannot be looked up."""
    unknown = [bolt for bolt in result.bolts if bolt.proof_n is None]
    if unknown:
        yield Finding(
            rule="mounts.bolt-unknown",
            level="note",
            about=(result.box, *(bolt.mount for bolt in unknown)),
            text=f"Of box {result.box} the bolts {', '.join(sorted({bolt.bolt for bolt in unknown}))} are not in the table of proof loads, so nothing is held against them: write thread and class, such as M8 8.8.",
            basis=COMMON_PRACTICE,
            caution=MOUNT_CAUTION,
        )
