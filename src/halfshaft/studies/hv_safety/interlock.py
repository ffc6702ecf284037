"""The interlock loop: traced pin by pin, what holds it closed, and what a meter reads at each place where it may be broken."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.hv_safety.live import Plug, live_devices, live_plugs
from halfshaft.studies.wires.circuit import Branch, branches_of

# The loop is read with the 12 V battery alone, the converter off: lead-acid at rest reads 12.0 V low to 12.7 V full.
BATTERY_V = 12.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One wire or inner link of the loop, with its ohms from the loop's first pin up to its far end.

    `held_by`: plugs (`device.connector`), `device cover` and the like that hold a link closed; empty for a wire.
    """

    ref: str
    kind: str
    start: str
    end: str
    held_by: tuple[str, ...]
    ohm_from_start: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Bypassed:
    """A held link with something else across it: the loop stays closed when it opens, so that what holds it is not guarded."""

    ref: str
    held_by: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Ends:
    """What feeds the loop and what reads it, inside the unit it begins and ends in; None where that is not described."""

    source_ohm: float | None
    sense_ohm: float | None

    def closed_v(self, supply_v: float, loop_ohm: float) -> float | None:
        """Volts at the loop's last pin when all is closed: the supply divided between source, loop and sense."""
        if self.source_ohm is None or self.sense_ohm is None:
            return None
        return supply_v * self.sense_ohm / (self.source_ohm + loop_ohm + self.sense_ohm)


@dataclass(frozen=True, kw_only=True, slots=True)
class Interlock:
    """The loop as traced. `gap`: the last pins reached from its two ends where it is broken; None where it is closed.

    `outside`: live plugs that no link of the loop is held by. `skipped`: held links that the loop does not pass.
    `open_covers`: units with live plugs of which no cover or handle is in the loop.
    """

    first: str
    last: str
    steps: tuple[Step, ...]
    gap: tuple[str, str] | None
    ends: Ends
    outside: tuple[Plug, ...]
    skipped: tuple[str, ...]
    bypassed: tuple[Bypassed, ...]
    open_covers: tuple[str, ...]

    @property
    def loop_ohm(self) -> float:
        """Ohms from first to last pin with all closed, copper at 20 C."""
        return self.steps[-1].ohm_from_start if self.steps else 0.0

    @property
    def closed_v(self) -> float | None:
        """Volts at the last pin with all closed and 12.0 V at the source."""
        return self.ends.closed_v(BATTERY_V, self.loop_ohm)

    @property
    def links(self) -> tuple[Step, ...]:
        """The steps that something holds closed, in the order of the loop."""
        return tuple(step for step in self.steps if step.held_by)


def trace_interlock(conversion: Conversion, wire_ohm: Mapping[str, float]) -> Interlock | None:
    """The loop from its first to its last pin through wires, links and contacts that rest closed; None where no ends are named."""
    settings = conversion.high_voltage
    if settings.interlock_from is None or settings.interlock_to is None:
        return None
    open_contacts = {ref for ref, element in conversion.element.items() if element.kind == "contact" and element.rest_state != "closed"}
    branches = [branch for branch in branches_of(conversion, wire_ohm) if branch.kind != "fuse" and branch.ref not in open_contacts]
    at = _by_node(branches)
    first, last = settings.interlock_from, settings.interlock_to
    way = _way(at, first, last)
    steps = _steps(conversion, first, way or ())
    bypassed = _bypassed(conversion, branches, at, first)
    guards: tuple[Step | Bypassed, ...] = (*steps, *bypassed)
    held = {name for link in guards for name in link.held_by}
    passed = {link.ref for link in guards}
    outside = tuple(plug for plug in live_plugs(conversion) if plug.ref not in held)
    covered = {name.partition(" ")[0] for name in held if "." not in name}
    links = {ref for ref, element in conversion.element.items() if element.held_by}
    return Interlock(
        first=first,
        last=last,
        steps=steps,
        gap=None if way is not None else (_furthest(at, first), _furthest(at, last)),
        ends=_ends(conversion, first, last),
        outside=outside,
        skipped=tuple(sorted(links - passed)),
        bypassed=bypassed,
        open_covers=tuple(device for device in live_devices(conversion) if device not in covered),
    )


def _bypassed(conversion: Conversion, branches: Iterable[Branch], at: Mapping[str, list[Branch]], first: str) -> tuple[Bypassed, ...]:
    """Held links on the loop whose two ends stay joined without them, whichever of the two ways the loop is traced along."""
    reached = _reach(at, first)
    return tuple(
        Bypassed(ref=branch.ref, held_by=held_by)
        for branch in branches
        if branch.start in reached
        and (held_by := _held_by(conversion, branch))
        and branch.end in _reach(at, branch.start, without=branch.ref)
    )


def _by_node(branches: Iterable[Branch]) -> dict[str, list[Branch]]:
    at: dict[str, list[Branch]] = defaultdict(list)
    for branch in branches:
        at[branch.start].append(branch)
        at[branch.end].append(branch)
    return at


def _reach(at: Mapping[str, list[Branch]], first: str, without: str = "") -> dict[str, Branch | None]:
    """Every node joined to the first, nearest first, with the branch it is reached by."""
    before: dict[str, Branch | None] = {first: None}
    waiting = deque([first])
    while waiting:
        node = waiting.popleft()
        for branch in sorted(at.get(node, ()), key=lambda found: found.ref):
            if branch.ref != without and branch.other(node) not in before:
                before[branch.other(node)] = branch
                waiting.append(branch.other(node))
    return before


def _way(at: Mapping[str, list[Branch]], first: str, last: str) -> tuple[Branch, ...] | None:
    before = _reach(at, first)
    if last not in before:
        return None
    way, node = [], last
    while (branch := before[node]) is not None:
        way.append(branch)
        node = branch.other(node)
    return tuple(reversed(way))


def _furthest(at: Mapping[str, list[Branch]], node: str) -> str:
    """The last node reached from one end of a broken loop: the most steps away."""
    return list(_reach(at, node))[-1]


def _steps(conversion: Conversion, first: str, way: tuple[Branch, ...]) -> tuple[Step, ...]:
    steps, node, ohm = [], first, 0.0
    for branch in way:
        ohm += branch.resistance_ohm
        end = branch.other(node)
        steps.append(
            Step(
                ref=branch.ref,
                kind=branch.kind,
                start=node,
                end=end,
                held_by=_held_by(conversion, branch),
                ohm_from_start=ohm,
            )
        )
        node = end
    return tuple(steps)


def _held_by(conversion: Conversion, branch: Branch) -> tuple[str, ...]:
    """What holds a link, under names that hold in the whole car: `B1.P`, `B1 cover`."""
    element = conversion.element.get(branch.ref)
    if element is None:
        return ()
    device = branch.ref.partition(".")[0]
    return tuple(f"{device}.{name}" if (device, name) in conversion.connector else f"{device} {name}" for name in element.held_by)


def _ends(conversion: Conversion, first: str, last: str) -> Ends:
    return Ends(source_ohm=_resistor_at(conversion, first), sense_ohm=_resistor_at(conversion, last))


def _resistor_at(conversion: Conversion, pin: str) -> float | None:
    """Ohms of the one resistor inside the unit that ends at this pin."""
    device, _, node = pin.partition(".")
    part = conversion.part.get(conversion.device[device].part) if device in conversion.device else None
    found = [item.resistance_ohm for item in part.inside if item.kind == "resistor" and node in (item.pin_a, item.pin_b)] if part else []
    return found[0] if len(found) == 1 else None
