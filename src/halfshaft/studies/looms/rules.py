"""What can be wrong with the way wires lie."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, HV_CAUTION, Basis, Finding
from halfshaft.studies.looms.network import Network
from halfshaft.studies.looms.routing import LaidWire, Routing
from halfshaft.studies.looms.trees import edges_of, loops_in, pieces_of
from halfshaft.studies.looms.uses import some as _some

GEOMETRY = Basis("common practice", "geometry: a straight line is the shortest")
TAPE_ERROR_MM = 5.0


def loom_findings(conversion: Conversion, network: Network, routing: Routing) -> Iterator[Finding]:
    """All rules of this study."""
    yield from no_tail(conversion, routing)
    yield from no_path(network, routing)
    yield from loops(routing)
    yield from in_pieces(routing)
    yield from splice_beyond_run(routing)
    yield from splice_in_other_loom(conversion, routing)
    yield from taped_too_short(routing)
    yield from twist_of_one(conversion)
    yield from crowded_point(conversion, routing)
    yield from tested_live(conversion)


def no_tail(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """A wire ends at a connector that hangs at no route point."""
    wires: dict[str, list[str]] = defaultdict(list)
    for loom in routing.looms:
        for laid in loom.wires:
            for end in (laid.start, laid.end):
                if end.node is None and end.connector is not None:
                    wires[end.connector].append(laid.wire.ref)
    for laid_cable in routing.cables:
        for connector in (laid_cable.cable.from_connector, laid_cable.cable.to_connector):
            device, _, name = connector.partition(".")
            if (device, name) not in conversion.tail:
                wires[connector].append(laid_cable.cable.ref)
    for connector, refs in sorted(wires.items()):
        yield Finding(
            rule="looms.no-tail",
            level="stop",
            about=(connector, *sorted(refs)),
            text=f"Connector {connector} hangs at no route point, so {_some(refs)} cannot be cut: give it a line in tails.csv.",
            basis=COMMON_PRACTICE,
        )


def no_path(network: Network, routing: Routing) -> Iterator[Finding]:
    """A wire, cable or hose has no way over runs that may carry it."""
    for loom in routing.looms:
        for laid in loom.wires:
            if laid.route is None and laid.start.node is not None and laid.end.node is not None:
                places = (laid.start.node, *laid.wire.via, laid.end.node)
                yield _no_path(network, laid.wire.ref, "wire", places, loom.loom.carries)
    for cable in routing.cables:
        ends = routing_ends(cable.cable.from_connector, cable.cable.to_connector, routing)
        if cable.route is None and ends is not None:
            yield _no_path(network, cable.cable.ref, "cable", (ends[0], *cable.cable.via, ends[1]), "HV")
    for hose in routing.hoses:
        if hose.route is None and hose.hose.from_point and hose.hose.to_point:
            yield _no_path(network, hose.hose.ref, "hose", (hose.hose.from_point, hose.hose.to_point), "hose")


def routing_ends(from_connector: str, to_connector: str, routing: Routing) -> tuple[str, str] | None:
    """Route points of both connectors of a cable, where both are known."""
    points = [routing.points.get(connector) for connector in (from_connector, to_connector)]
    return None if points[0] is None or points[1] is None else (points[0], points[1])


def _no_path(network: Network, ref: str, what: str, places: tuple[str, ...], kind: str) -> Finding:
    anyhow = network.through(places, kind=None)
    if anyhow is None:
        reason = f"no run leads from {places[0]} to {places[-1]}"
        barred: tuple[str, ...] = ()
    else:
        barred = tuple(dict.fromkeys(step.run for step in anyhow.steps if not network.may_carry(step.run, kind)))
        reason = f"on the way from {places[0]} to {places[-1]} {_some(barred)} may not carry {kind}"
    return Finding(
        rule="looms.no-path",
        level="stop",
        about=(ref, *barred),
        text=f"The {what} {ref} has no way: {reason}.",
        basis=COMMON_PRACTICE,
        caution=HV_CAUTION if kind == "HV" else "",
    )


def loops(routing: Routing) -> Iterator[Finding]:
    """The wires of a loom go two ways round, so it is no tree and cannot be laid on a board."""
    for loom in routing.looms:
        for loop in loops_in(edges_of(loom, thin=True)):
            wires = sorted({wire for run in loom.runs if run.run in loop for wire in run.wires})
            yield Finding(
                rule="looms.loop",
                level="stop",
                about=(loom.loom.ref, *loop),
                text=f"{loom.loom.name} closes a loop over {_some(loop)}; send its wires one way with `via` ({_some(wires)}).",
                basis=Basis("common practice", "a loom is built as a tree"),
            )


def in_pieces(routing: Routing) -> Iterator[Finding]:
    """A loom that is built on one board does not hang together."""
    for loom in routing.looms:
        pieces = pieces_of(edges_of(loom, thin=True))
        if loom.loom.board_width_mm is not None and len(pieces) > 1:
            ends = [sorted(edge.end for edge in piece if edge.is_tail)[:1] for piece in pieces]
            yield Finding(
                rule="looms.in-pieces",
                level="fix",
                about=(loom.loom.ref,),
                text=f"{loom.loom.name} falls into {len(pieces)} pieces ({', '.join(name for end in ends for name in end)}); each is laid for itself on its board.",
                value=float(len(pieces)),
                limit=1.0,
                unit="pieces",
                basis=Basis("common practice", "a loom is built as one piece"),
            )


def splice_beyond_run(routing: Routing) -> Iterator[Finding]:
    """A splice is said to lie further along than its run is long."""
    for splice in routing.splices.values():
        length_mm = routing.run_lengths[splice.run].length_mm
        if splice.at_mm > length_mm:
            yield Finding(
                rule="looms.splice-beyond-run",
                level="stop",
                about=(splice.splice, splice.run),
                text=f"Splice {splice.splice} lies {splice.at_mm:.0f} mm along run {splice.run}, which is only {length_mm:.0f} mm long.",
                value=splice.at_mm,
                limit=length_mm,
                unit="mm",
                basis=GEOMETRY,
            )


def splice_in_other_loom(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """A wire joins a splice that belongs to another loom, or a splice joins fewer than two wires."""
    ends: dict[str, list[LaidWire]] = defaultdict(list)
    for loom in routing.looms:
        for laid in loom.wires:
            for end in (laid.start, laid.end):
                if end.is_splice:
                    ends[end.pin].append(laid)
    for splice in conversion.splices:
        strangers = [laid.wire.ref for laid in ends[splice.ref] if laid.wire.loom != splice.loom]
        if strangers:
            yield Finding(
                rule="looms.splice-in-other-loom",
                level="stop",
                about=(splice.ref, *strangers),
                text=f"Splice {splice.ref} is in loom {splice.loom}, but {_some(strangers)} of another loom ends in it.",
                basis=Basis("common practice", "a splice is made on its own loom's board"),
            )
        if len(ends[splice.ref]) < 2:
            yield Finding(
                rule="looms.splice-of-one",
                level="fix",
                about=(splice.ref,),
                text=f"Splice {splice.ref} joins {len(ends[splice.ref])} wires; a splice joins at least two.",
                value=float(len(ends[splice.ref])),
                limit=2.0,
                unit="wires",
                basis=COMMON_PRACTICE,
            )


def taped_too_short(routing: Routing) -> Iterator[Finding]:
    """A run was taped shorter than the straight line between its points: the tape or a point is wrong."""
    for length in routing.run_lengths.values():
        if length.taped_mm is not None and length.taped_mm < length.straight_mm - TAPE_ERROR_MM:
            yield Finding(
                rule="looms.taped-too-short",
                level="fix",
                about=(length.run,),
                text=f"Run {length.run} was taped {length.taped_mm:.0f} mm, but its points lie {length.straight_mm:.0f} mm apart: measure again.",
                value=length.taped_mm,
                limit=length.straight_mm - TAPE_ERROR_MM,
                unit="mm",
                basis=GEOMETRY,
            )


def twist_of_one(conversion: Conversion) -> Iterator[Finding]:
    """A twisted pair has one wire, none, or wires of two looms."""
    for group in conversion.twist_groups:
        wires = [wire for wire in conversion.wires if wire.twist_group == group.ref]
        looms = {wire.loom for wire in wires}
        if len(wires) != 2 or len(looms) > 1:
            where = " in two looms" if len(looms) > 1 else ""
            yield Finding(
                rule="looms.twist-of-one",
                level="fix",
                about=(group.ref, *(wire.ref for wire in wires)),
                text=f"Twisted pair {group.ref} has {len(wires)} wire{'' if len(wires) == 1 else 's'}{where}; a pair is two wires of one loom.",
                value=float(len(wires)),
                limit=2.0,
                unit="wires",
                basis=COMMON_PRACTICE,
            )


def crowded_point(conversion: Conversion, routing: Routing) -> Iterator[Finding]:
    """The plugs at one point are too wide, on tails too short, to lie side by side round it on any board."""
    between_mm, bundle_deg = 6.0, 20.0
    for loom in routing.looms:
        if loom.loom.board_width_mm is None:
            continue
        need: dict[str, float] = defaultdict(float)
        connectors: dict[str, list[str]] = defaultdict(list)
        for tail in loom.tails:
            device, _, name = tail.connector.partition(".")
            width_mm = conversion.connector[device, name].plug_width_mm or 0.0
            need[tail.point] += 2 * math.degrees(math.atan2(width_mm / 2 + between_mm / 2, max(tail.length_mm, 1.0)))
            connectors[tail.point].append(tail.connector)
        for run in loom.runs:
            for point in (run.start, run.end):
                need[point] += bundle_deg
        for point, degrees in sorted(need.items()):
            if degrees > 360.0:
                yield Finding(
                    rule="looms.crowded-point",
                    level="fix",
                    about=(loom.loom.ref, point, *connectors[point]),
                    text=f"At {point} {_some(connectors[point])} of loom {loom.loom.ref} need {degrees:.0f} degrees of the 360 round it: make their tails longer, or share them over two points.",
                    value=degrees,
                    limit=360.0,
                    unit="degrees",
                    basis=Basis("common practice", "geometry: plugs 6 mm apart at the ends of their tails, 20 degrees a bundle"),
                )


def tested_live(conversion: Conversion) -> Iterator[Finding]:
    """A battery is plugged in while a loom is tested with an ohmmeter."""
    boxes = {box.ref for box in conversion.boxes}
    for loom in conversion.looms:
        for device in loom.tested_with:
            if device in boxes or device == conversion.supply.battery:
                yield Finding(
                    rule="looms.tested-live",
                    level="stop",
                    about=(loom.ref, device),
                    text=f"Loom {loom.ref} is to be tested with {device} plugged in, which is a battery and always live: "
                    f"no ohms can be read there, and a probe that slips burns. Take {device} out of tested_with in looms.csv.",
                    basis=COMMON_PRACTICE,
                    caution=HV_CAUTION if device in boxes else "",
                )
