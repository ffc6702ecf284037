"""The fault-finder's table: fuse by fuse what stops, load by load where to look."""

from __future__ import annotations

from halfshaft.model.conversion import Conversion
from halfshaft.studies.fault_finder.records import FaultFinder, FuseStops, Moved, Symptom
from halfshaft.studies.fault_finder.stops import LiveCircuit, stops_of
from halfshaft.studies.low_voltage.cases import pins_of
from halfshaft.studies.wires.circuit import Branch, Circuit, branches_of, supply_of
from halfshaft.studies.wires.study import LoadPath, WiresResult


def study_fault_finder(conversion: Conversion, wires: WiresResult) -> FaultFinder | None:
    """The whole study; None where the conversion names no 12 V battery."""
    supply = supply_of(conversion)
    if supply is None:
        return None
    circuit = Circuit(branches_of(conversion, wires.resistance_ohm), supply)
    live = LiveCircuit(conversion, circuit)
    stops = tuple(stops_of(live, fuse) for fuse in live.fuses)
    way_of = {path.load: path for path in wires.paths}
    symptoms = tuple(_symptom(live, stops, path) for path in way_of.values() if path.load in live.all_fed)
    return FaultFinder(fuses=stops, symptoms=symptoms)


def _symptom(live: LiveCircuit, stops: tuple[FuseStops, ...], path: LoadPath) -> Symptom:
    supply, ground = path.supply or (), path.ground or ()
    plus, minus = pins_of(live.conversion, path.load)
    behind = _from_last_fuse(supply)
    on_way = tuple(branch.ref for branch in supply if branch.kind == "fuse")
    contacts = [branch.ref for branch in (*supply, *ground) if branch.kind == "contact"]
    studs = {point.ref for point in live.conversion.ground_points}
    ends = [node.partition(".")[0] for branch in ground for node in (branch.start, branch.end)]
    return Symptom(
        load=path.load,
        fuses=on_way,
        other_feeds=_other_feeds(live, path.load, on_way),
        contacts=tuple(_moved(live, stops, contact) for contact in contacts),
        there=_steps(_start(behind, plus), behind),
        back=_steps(minus, ground),
        ground=next((device for device in reversed(ends) if device in studs), None),
    )


def _other_feeds(live: LiveCircuit, load: str, on_way: tuple[str, ...]) -> tuple[str, ...]:
    """Fuses of a second way to a load: those without which a fuse of its first way would stop it."""
    found: set[str] = set()
    for fuse in on_way:
        if load in live.fed(frozenset({fuse}), sources=live.battery_only):
            others = (other.ref for other in live.fuses if other.ref not in on_way)
            found.update(other for other in others if load not in live.fed(frozenset({fuse, other}), sources=live.battery_only))
    return tuple(sorted(found))


def _moved(live: LiveCircuit, stops: tuple[FuseStops, ...], contact: str) -> Moved:
    mover = live.mover.get(contact)
    if mover is None:
        return Moved(contact=contact, by=live.conversion.element[contact].moved_by, fuses=())
    return Moved(contact=contact, by=mover, fuses=tuple(row.fuse for row in stops if row.stops(mover)))


def _from_last_fuse(way: tuple[Branch, ...]) -> tuple[Branch, ...]:
    """What lies behind the last fuse that has a wire behind it; a fuse inside the load's own unit has none, and is passed."""
    last_wire = max((index for index, branch in enumerate(way) if branch.kind == "wire"), default=-1)
    fuses = [index for index, branch in enumerate(way[: last_wire + 1]) if branch.kind == "fuse"]
    return way[max(fuses, default=-1) + 1 :]


def _start(way: tuple[Branch, ...], end: str) -> str:
    """Where a way begins that ends at a node."""
    for branch in reversed(way):
        end = branch.other(end)
    return end


def _steps(node: str, way: tuple[Branch, ...]) -> tuple[str, ...]:
    """The wires of a way, each with the pins that it ends in, and fuses, in the order in which the current meets them."""
    steps: list[str] = []
    for branch in way:
        other = branch.other(node)
        if branch.kind == "wire":
            steps += [pin for pin in (node,) if not steps or steps[-1] != pin]
            steps += [branch.ref, other]
        elif branch.kind == "fuse":
            steps.append(branch.ref)
        node = other
    return tuple(steps)
