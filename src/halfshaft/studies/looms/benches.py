"""A loom on its bench as one electrical network: its wires and splices, and in a second state what is plugged into it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Element
from halfshaft.model.wires import Wire
from halfshaft.standards import constants
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.continuity import Joined, joined_pins, natural
from halfshaft.studies.looms.resistances import Mesh
from halfshaft.studies.looms.routing import LaidLoom

# Kinds of branch through which a group of pins counts as joined.
JOINS = frozenset({"wire", "link", "fuse", "closed contact", "short"})
# Kinds that bridge two groups with a resistance worth reading.
BRIDGES = frozenset({"coil", "resistor"})
# Tolerances of parts as printed on most of them: common practice.
TOLERANCE = {"coil": 0.10, "resistor": 0.05}
PLUGGED_IN_BY_BLADES = frozenset({"fuse", "closed contact", "open contact"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Branch:
    """One thing between two nodes: a wire, or something inside a part that is plugged in.

    `contacts_ohm` is what its own connections may add at most; `tolerance` a share of its resistance, up and down.
    """

    ref: str
    kind: str
    start: str
    end: str
    ohm: float = 0.0
    contacts_ohm: float = 0.0
    tolerance: float = 0.0
    moved_by: str = ""

    @property
    def conducts(self) -> bool:
        """Whether an ohmmeter sees it: not so a contact at rest open, a diode, or a load of unknown resistance."""
        return self.kind in JOINS or self.kind in BRIDGES

    def least_ohm(self) -> float:
        """Without any connection, at the lower end of its tolerance."""
        return self.ohm * (1 - self.tolerance)

    def most_ohm(self) -> float:
        """With the most that its connections may add, at the upper end of its tolerance."""
        return self.ohm * (1 + self.tolerance) + self.contacts_ohm

    def likely_ohm(self) -> float:
        """With half of what its connections may add."""
        return self.ohm + self.contacts_ohm / 2


Branches = Mapping[str, Branch]


@dataclass(frozen=True, kw_only=True, slots=True)
class Socket:
    """One plug that the loom ends in, or all studs of one device; every cavity with its row and column in the plug."""

    name: str
    is_stud: bool
    places: dict[str, tuple[int, int]]

    def mirrored(self) -> dict[str, str]:
        """Each cavity with the one where its terminal goes if the plug is filled as seen from its other side."""
        columns = 1 + max(column for _, column in self.places.values())
        at = {place: pin for pin, place in self.places.items()}
        return {pin: other for pin, (row, column) in self.places.items() if (other := at.get((row, columns - 1 - column))) is not None}

    def are_neighbours(self, one: str, other: str) -> bool:
        """Whether two cavities touch, side by side, one above the other, or cornerwise."""
        if self.is_stud or one not in self.places or other not in self.places:
            return False
        (row, column), (other_row, other_column) = self.places[one], self.places[other]
        return max(abs(row - other_row), abs(column - other_column)) == 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Bench:
    """A loom and how it stands on the bench.

    `states` are branches by reference, by the state's words; `lead_ohm` is half of what the joint at a pin may add,
    which the meter sees there. `groups` are joined by the loom alone. `open_cavities` are ways of its plugs that hold
    none of its wires. `unmeasured` are wires whose length is not known. `runs` are those that each wire lies in.
    `rings` names the stud of each ring terminal: rings of one stud may change places.
    """

    name: str
    states: dict[str, dict[str, Branch]]
    groups: tuple[Joined, ...]
    lead_ohm: dict[str, float]
    open_cavities: tuple[str, ...] = ()
    unmeasured: frozenset[str] = frozenset()
    screens: dict[str, tuple[str, ...]] = field(default_factory=dict)
    plugged_in: tuple[str, ...] = ()
    no_rest_state: tuple[str, ...] = ()
    sockets: tuple[Socket, ...] = ()
    runs: dict[str, tuple[str, ...]] = field(default_factory=dict)
    rings: dict[str, str] = field(default_factory=dict)

    @property
    def bare(self) -> str:
        """The words of the state with nothing plugged in."""
        return next(iter(self.states))


def bench_of(conversion: Conversion, laid: LaidLoom, resistance_ohm: Mapping[str, float]) -> Bench:
    """The bench of one loom: nothing plugged in, then with the devices that `tested_with` names."""
    half = half_joints(conversion, (item.wire for item in laid.wires))
    wires = {item.wire.ref: wire_branch(item.wire, half, resistance_ohm) for item in laid.wires}
    place = "on its board" if laid.loom.board_width_mm else "on the bench"
    states = {f"loom {place}, nothing plugged in": wires}
    devices = tuple(dict.fromkeys(laid.loom.tested_with))
    if devices:
        elements = [branch for ref in devices for branch in elements_of(conversion, ref, half)]
        states[_plugged_words(devices, elements)] = {**wires, **{branch.ref: branch for branch in elements}}
    screens = _screens(conversion, laid)
    pins = {pin for pin in half if "." in pin} | screens.keys()
    groups = joined_pins(laid)
    drains = tuple(Joined((pin,), ()) for pin in sorted(screens, key=natural) if pin not in half)
    return Bench(
        name=laid.loom.ref,
        states=states,
        groups=(*groups, *drains),
        lead_ohm=half,
        open_cavities=_open_cavities(conversion, pins),
        unmeasured=frozenset(wires.keys() - resistance_ohm.keys()),
        screens=screens,
        plugged_in=devices,
        sockets=_sockets(conversion, pins),
        runs={item.wire.ref: tuple(step.run for step in item.route.steps) if item.route else () for item in laid.wires},
        rings=_rings(conversion, pins),
        no_rest_state=tuple(
            f"{ref}.{element.ref}"
            for ref in devices
            for element in conversion.part[conversion.device[ref].part].inside
            if element.kind == "contact" and element.rest_state is None
        ),
    )


def _plugged_words(devices: Iterable[str], elements: Iterable[Branch]) -> str:
    kinds = {branch.kind for branch in elements}
    fitted = [word for word, wanted in (("fuses", {"fuse"}), ("relays", {"coil"})) if kinds & wanted]
    return f"with {', '.join(devices)} plugged in" + (f", {' and '.join(fitted)} fitted" if fitted else "")


def wire_branch(wire: Wire, half: Mapping[str, float], resistance_ohm: Mapping[str, float]) -> Branch:
    """A wire with half of the joint at either end. One whose length is not known counts as nought ohm."""
    ohm, contacts_ohm = resistance_ohm.get(wire.ref, 0.0), half[wire.from_pin] + half[wire.to_pin]
    return Branch(ref=wire.ref, kind="wire", start=wire.from_pin, end=wire.to_pin, ohm=ohm, contacts_ohm=contacts_ohm)


def half_joints(conversion: Conversion, wires: Iterable[Wire]) -> dict[str, float]:
    """Half of what each joint may add, in ohm: 5 mohm, or what the catalogue gives its terminal, whichever is more.

    Halves, because a joint lies between two things: a wire and the meter, two wires in one splice, a wire and a part.
    """
    joints = dict.fromkeys(pin for wire in wires for pin in (wire.from_pin, wire.to_pin))
    return {pin: max(allowance_ohm(), _terminal_ohm(conversion, pin)) / 2 for pin in joints}


def allowance_ohm() -> float:
    """What one connection may add."""
    return constants()["connection_allowance_mohm"].value / 1000


def _terminal_ohm(conversion: Conversion, pin: str) -> float:
    terminal = conversion.splice[pin].terminal if pin in conversion.splice else conversion.cavity[pin].terminal
    return conversion.terminal[terminal].contact_resistance_mohm / 1000


def elements_of(conversion: Conversion, device: str, half: Mapping[str, float]) -> list[Branch]:
    """What is inside one device, with nothing powered."""
    inside = conversion.part[conversion.device[device].part].inside
    return [_element(device, element, half) for element in inside]


def _element(device: str, element: Element, half: Mapping[str, float]) -> Branch:
    kind: str = element.kind
    if kind == "contact":
        kind = "closed contact" if element.rest_state == "closed" else "open contact"
    elif kind in BRIDGES and element.resistance_ohm is None:
        kind = "load"
    start, end = f"{device}.{element.pin_a}", f"{device}.{element.pin_b}"
    blades_ohm = 2 * allowance_ohm() if kind in PLUGGED_IN_BY_BLADES else 0.0
    return Branch(
        ref=f"{device}.{element.ref}",
        kind=kind,
        start=start,
        end=end,
        ohm=element.resistance_ohm or 0.0,
        contacts_ohm=blades_ohm + half.get(start, 0.0) + half.get(end, 0.0),
        tolerance=TOLERANCE.get(kind, 0.0),
        moved_by=element.moved_by,
    )


def _screens(conversion: Conversion, laid: LaidLoom) -> dict[str, tuple[str, ...]]:
    """Screens of this loom whose drain ends at a pin, by that pin."""
    found: dict[str, dict[str, None]] = {}
    for item in laid.wires:
        if item.wire.screen and item.wire.screen_joined_to in conversion.cavity:
            found.setdefault(item.wire.screen_joined_to, {})[item.wire.screen] = None
    return {pin: tuple(names) for pin, names in found.items()}


def _connectors(pins: set[str]) -> list[tuple[str, str]]:
    found = {(device, name) for device, name, _ in (pin.split(".") for pin in pins)}
    return sorted(found, key=lambda key: natural(".".join(key)))


def _open_cavities(conversion: Conversion, pins: set[str]) -> tuple[str, ...]:
    return tuple(
        pin
        for device, name in _connectors(pins)
        if conversion.connector[device, name].kind != "stud"
        for cavity in conversion.connector[device, name].cavities
        if (pin := f"{device}.{name}.{cavity.ref}") not in pins
    )


def _sockets(conversion: Conversion, pins: set[str]) -> tuple[Socket, ...]:
    found: dict[str, Socket] = {}
    for device, name in _connectors(pins):
        connector = conversion.connector[device, name]
        places = {f"{device}.{name}.{cavity.ref}": connector.row_and_column(index) for index, cavity in enumerate(connector.cavities)}
        if connector.kind == "stud":
            studs = found.setdefault(device, Socket(name=device, is_stud=True, places={}))
            studs.places.update({pin: place for pin, place in places.items() if pin in pins})
        else:
            found[f"{device}.{name}"] = Socket(name=f"{device}.{name}", is_stud=False, places=places)
    return tuple(found.values())


def _rings(conversion: Conversion, pins: set[str]) -> dict[str, str]:
    """What joins the ring terminals of each part with studs, by pin: links alone, such as those of a ground bar."""
    rings: dict[str, str] = {}
    for device in sorted({pin.split(".")[0] for pin in pins}):
        inside = conversion.part[conversion.device[device].part].inside
        links = joined_groups((f"{device}.{item.pin_a}", f"{device}.{item.pin_b}") for item in inside if item.kind == "link")
        for pin in pins:
            if pin in links and pin.split(".")[0] == device and conversion.connector[device, pin.split(".")[1]].kind == "stud":
                rings[pin] = links[pin]
    return rings


def mesh_at(branches: Iterable[Branch], ohm: Callable[[Branch], float]) -> Mesh:
    """What an ohmmeter sees of these branches, each with the resistance that `ohm` gives it."""
    return Mesh((branch.start, branch.end, ohm(branch)) for branch in branches if branch.conducts)


def roots(branches: Iterable[Branch]) -> dict[str, str]:
    """Which nodes count as joined: through wires, links, fuses and contacts at rest closed."""
    return joined_groups((branch.start, branch.end) for branch in branches if branch.kind in JOINS)
