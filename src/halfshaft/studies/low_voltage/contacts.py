"""Which contacts are closed in a case, and what conducts then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Case
from halfshaft.studies.wires.circuit import Branch, Circuit, Supply, branches_of, node_of


@dataclass(frozen=True, kw_only=True, slots=True)
class Switching:
    """One case: each load that is on with its share of the time, the contacts that are closed, and what conducts then.

    `driven` are coils that no row names, on because something that is on needs their contact.
    """

    on: dict[str, float]
    driven: tuple[str, ...]
    closed: frozenset[str]
    circuit: Circuit


class Web:
    """Everything that conducts on the 12 V side, with any of its contacts open."""

    def __init__(self, conversion: Conversion, supply: Supply, resistance_ohm: Mapping[str, float]) -> None:
        self.supply = supply
        self.branches = tuple(branches_of(conversion, resistance_ohm))
        self.coil_of = coils_of_contacts(conversion)
        self._circuits: dict[frozenset[str], Circuit] = {}

    def circuit(self, opened: frozenset[str] = frozenset()) -> Circuit:
        """What conducts with some contacts open."""
        if opened not in self._circuits:
            self._circuits[opened] = Circuit((branch for branch in self.branches if branch.ref not in opened), self.supply)
        return self._circuits[opened]


def coils_of_contacts(conversion: Conversion) -> dict[str, str]:
    """The coil that moves each contact, where `moved_by` names a coil of the same part."""
    found = {}
    for ref, element in conversion.element.items():
        coil = f"{ref.partition('.')[0]}.{element.moved_by}"
        if element.kind == "contact" and coil in conversion.element and conversion.element[coil].kind == "coil":
            found[ref] = coil
    return found


def way_of(conversion: Conversion, circuit: Circuit, ref: str) -> tuple[list[Branch] | None, list[Branch] | None]:
    """The ways from the battery's plus to a load or coil, and from ground to it."""
    device, element = ref.partition(".")[0], conversion.element[ref]
    return (
        circuit.way(circuit.from_plus, node_of(device, element.pin_a)),
        circuit.way(circuit.from_ground, node_of(device, element.pin_b)),
    )


def switching(conversion: Conversion, web: Web, case: Case, also: str | None = None) -> Switching:
    """The contacts of one case, with one more load on if `also` names it: what `case_contacts.csv` says; else as its coil moves it; else closed where a load that is on needs it; else at rest.

    Of several ways to a load the one of least resistance is taken to be switched on. A contact that is needed and has a coil
    needs the coil too, and whatever that hangs on.
    """
    listed = {row.contact: row.state for row in conversion.case_contacts if row.case == case.ref}
    circuit = web.circuit(frozenset(contact for contact, state in listed.items() if state == "open"))
    on = {row.load: row.duty for row in conversion.case_loads if row.case == case.ref and row.duty > 0}
    if also is not None:
        on.setdefault(also, 1.0)
    needed: set[str] = set()
    driven: dict[str, float] = {}
    waiting = list(on.items())
    while waiting:
        ref, duty = waiting.pop(0)
        for branch in (branch for way in way_of(conversion, circuit, ref) for branch in way or ()):
            if branch.kind != "contact":
                continue
            needed.add(branch.ref)
            coil = web.coil_of.get(branch.ref)
            opens_by_rest = conversion.element[branch.ref].rest_state != "closed"
            if coil and opens_by_rest and branch.ref not in listed and coil not in on and duty > driven.get(coil, 0.0):
                driven[coil] = duty
                waiting.append((coil, duty))
    energised = on.keys() | driven.keys()

    def is_closed(contact: str) -> bool:
        rests_closed = conversion.element[contact].rest_state == "closed"
        if contact in listed:
            return listed[contact] == "closed"
        if web.coil_of.get(contact) in energised:
            return not rests_closed
        return contact in needed or rests_closed

    contacts = [branch.ref for branch in web.branches if branch.kind == "contact"]
    closed = frozenset(contact for contact in contacts if is_closed(contact))
    return Switching(
        on={**on, **{coil: duty for coil, duty in sorted(driven.items()) if coil in conversion.load}},
        driven=tuple(sorted(driven)),
        closed=closed,
        circuit=web.circuit(frozenset(contacts) - closed),
    )
