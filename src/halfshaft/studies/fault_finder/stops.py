"""What a fuse stops: reachability from every source with the fuse out, and again with what then lets go.

Contacts count as closed, as in wires/circuit.py, so what is told is what stops in a car in which all is switched on; but they
carry current only away from the battery. Backwards through one, as from a stop lamp's second feed through the brake switch to
the wipers, is no feed of a load: it works by chance while the pedal is down. That is told apart. Electronic switches that the
catalogue says block current from outside let none through backwards at all.

A contact that rests open lets go when what moves it has stopped: a coil of the same part, or the unit itself where the catalogue
says that its controller, monitor or driver moves it. What else moves contacts (a key, a pedal, mains) goes on.
"""

from __future__ import annotations

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Element
from halfshaft.studies.fault_finder.records import FedBack, FuseStops, Stopped
from halfshaft.studies.wires.circuit import Branch, Circuit, distances, node_of

# Words in `moved_by` that mean the unit's own works.
OWN_WORKS = frozenset({"controller", "monitor", "driver", "logic"})
CONSUMES = frozenset({"load", "coil"})


class LiveCircuit:
    """The 12 V side with its sources, and all that takes current from it."""

    def __init__(self, conversion: Conversion, circuit: Circuit) -> None:
        self.conversion = conversion
        self.circuit = circuit
        converter = conversion.supply.converter
        source = conversion.element[converter] if converter is not None else None
        self.converter_plus = () if converter is None or source is None else (node_of(converter.partition(".")[0], source.pin_a),)
        self.sources = frozenset({circuit.supply.plus, *self.converter_plus})
        self.far = {True: distances(circuit.from_plus), False: distances(circuit.from_ground)}
        self.one_way = frozenset(ref for ref, element in conversion.element.items() if element.passes)
        reached = self._reached(self.sources, plus=True, opened=frozenset())
        self.fuses = tuple(branch for branch in circuit.branches if branch.kind == "fuse" and {branch.start, branch.end} & reached)
        self.mover = {ref: by for ref, element in conversion.element.items() if (by := self._mover(ref, element)) is not None}
        self.all_fed = self.fed(frozenset())

    def _mover(self, ref: str, element: Element) -> str | None:
        """The coil or load that holds a contact closed, or None where nothing on the 12 V side does."""
        if element.kind != "contact" or element.rest_state == "closed":
            return None
        device = ref.partition(".")[0]
        if f"{device}.{element.moved_by}" in self.conversion.element:
            return f"{device}.{element.moved_by}"
        return self.works_of(device) if element.moved_by in OWN_WORKS else None

    def works_of(self, device: str) -> str | None:
        """The load that is a unit's own works: the one that a contact of its own could hang on."""
        if device not in self.conversion.device:
            return None
        inside = self.conversion.part[self.conversion.device[device].part].inside
        return next((f"{device}.{element.ref}" for element in inside if element.kind == "load"), None)

    def _reached(self, starts: frozenset[str], *, plus: bool, opened: frozenset[str], backwards: bool = False) -> frozenset[str]:
        """Nodes that current comes to from plus, or goes to ground from."""
        shut, far = self.circuit.ground_net if plus else self.sources, self.far[plus]
        reached, waiting = set(starts), sorted(starts)
        while waiting:
            node = waiting.pop()
            for branch in self.circuit.at.get(node, ()):
                other = branch.other(node)
                is_back = branch.kind == "contact" and far.get(other, 0.0) < far.get(node, 0.0)
                is_blocked = branch.ref in self.one_way and node != (branch.start if plus else branch.end)
                if other in reached or other in shut or branch.ref in opened or is_blocked or (is_back and not backwards):
                    continue
                reached.add(other)
                waiting.append(other)
        return frozenset(reached)

    def fed(self, opened: frozenset[str], *, sources: frozenset[str] | None = None, backwards: bool = False) -> frozenset[str]:
        """All loads and coils with a way from a source and a way to ground, some fuses and contacts being open."""
        from_plus = self._reached(self.sources if sources is None else sources, plus=True, opened=opened, backwards=backwards)
        from_ground = self._reached(self.circuit.supply.grounds, plus=False, opened=opened, backwards=backwards)
        return frozenset(
            ref
            for ref, element in self.conversion.element.items()
            if element.kind in CONSUMES
            and node_of(device := ref.partition(".")[0], element.pin_a) in from_plus
            and node_of(device, element.pin_b) in from_ground
        )

    @property
    def battery_only(self) -> frozenset[str]:
        """The sources while the converter is off."""
        return frozenset({self.circuit.supply.plus})

    def let_go(self, dead: frozenset[str]) -> frozenset[str]:
        """Contacts that what has stopped no longer holds closed."""
        return frozenset(contact for contact, mover in self.mover.items() if mover in dead)


def stops_of(live: LiveCircuit, fuse: Branch) -> FuseStops:
    """What one fuse stops, with and without the converter."""
    out = frozenset({fuse.ref})
    direct = live.all_fed - live.fed(out)
    dead, opened = _settled(live, out, live.sources)
    dead_alone, _ = _settled(live, out, live.battery_only)
    indirect = [Stopped(ref=ref, because_of=_because(live, out, dead, ref)) for ref in sorted(dead - direct)]
    return FuseStops(
        fuse=fuse.ref,
        rating_a=fuse.rating_a,
        direct=tuple(sorted(direct)),
        indirect=(*indirect, *_no_longer_told(live, dead)),
        opens=tuple(sorted(contact for contact in opened if _is_high_voltage(live, contact))),
        without_converter=tuple(sorted(dead_alone - dead)),
        cuts_converter=_cuts_converter(live, out),
        fed_back=_fed_back(live, out | opened, dead),
    )


def _settled(live: LiveCircuit, out: frozenset[str], sources: frozenset[str]) -> tuple[frozenset[str], frozenset[str]]:
    """Everything that stops in the end, and the contacts that let go on the way."""
    opened: frozenset[str] = frozenset()
    while True:
        dead = live.all_fed - live.fed(out | opened, sources=sources)
        more = live.let_go(dead)
        if more <= opened:
            return dead, opened
        opened |= more


def _cuts_converter(live: LiveCircuit, out: frozenset[str]) -> bool:
    """Whether the converter can feed nothing beyond itself any more."""
    own = tuple(f"{node.partition('.')[0]}." for node in live.converter_plus)
    sources = frozenset(live.converter_plus)

    def feeds(opened: frozenset[str]) -> bool:
        return any(not ref.startswith(own) for ref in live.fed(opened, sources=sources))

    return bool(own) and feeds(frozenset()) and not feeds(out)


def _fed_back(live: LiveCircuit, opened: frozenset[str], dead: frozenset[str]) -> tuple[FedBack, ...]:
    """What has stopped, but gets current backwards through contacts that happen to be closed."""
    back = sorted(dead & live.fed(opened, backwards=True))
    contacts = (
        sorted(branch.ref for branch in live.circuit.branches if branch.kind == "contact" and branch.ref not in opened) if back else []
    )
    needed = {contact: live.all_fed - live.fed(frozenset({contact})) for contact in contacts}
    without = {contact: live.fed(opened | {contact}, backwards=True) for contact in contacts}
    return tuple(
        FedBack(ref=ref, through=tuple(contact for contact in contacts if ref not in without[contact] and ref not in needed[contact]))
        for ref in back
    )


def _because(live: LiveCircuit, out: frozenset[str], dead: frozenset[str], ref: str) -> tuple[str, ...]:
    """What has stopped that alone would stop it; all that holds its contacts where each alone would not."""
    movers = sorted({live.mover[contact] for contact in live.let_go(dead)} - {ref})
    alone = [mover for mover in movers if ref not in live.fed(out | live.let_go(frozenset({mover})))]
    return tuple(alone or movers)


def _no_longer_told(live: LiveCircuit, dead: frozenset[str]) -> list[Stopped]:
    """Units that a stopped controller no longer switches on, by the table of outputs; loads that are fed no more are told already."""
    found = []
    for output in live.conversion.output_states:
        works = live.works_of(output.driven_by.partition(".")[0])
        if works is not None and works in dead:
            found += [Stopped(ref=unit, because_of=(works,)) for unit in output.acts_on if unit in live.conversion.device]
    return [item for item in dict.fromkeys(found) if live.works_of(item.ref) not in dead]


def _is_high_voltage(live: LiveCircuit, contact: str) -> bool:
    """Whether a contact switches nothing of the 12 V side."""
    element, device = live.conversion.element[contact], contact.partition(".")[0]
    nodes = {node_of(device, element.pin_a), node_of(device, element.pin_b)}
    return not nodes & (live.circuit.from_plus.keys() | live.circuit.from_ground.keys())
