"""The pack's cable joined up anew: from the pack's plus through the boxes and the service disconnect to its minus."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.devices import Tail
from halfshaft.model.edits import next_ref
from halfshaft.model.wires import Cable, CableCore
from halfshaft.studies.arrangement.chain import disconnect_connectors, hv_connectors, nearest_spot

Link = tuple[str, str]


@dataclass(frozen=True, kw_only=True, slots=True)
class Cables:
    """The cables and cores as they are then, and in words what changes."""

    cables: tuple[Cable, ...]
    cores: tuple[CableCore, ...]
    words: tuple[str, ...]


def links_of(conversion: Conversion, boxes: Sequence[str], before_disconnect: int | None) -> list[Link]:
    """The connectors to be joined, along the string. Ends of the pack that are not named are left out."""
    disconnect = disconnect_connectors(conversion) if before_disconnect is not None else None
    ends: list[str | None] = [conversion.pack.plus_at]
    for number, ref in enumerate(boxes):
        if disconnect is not None and number == before_disconnect:
            ends += disconnect
        plus, minus = hv_connectors(conversion, ref)
        ends += [f"{ref}.{plus}" if plus else None, f"{ref}.{minus}" if minus else None]
    if disconnect is not None and before_disconnect == len(boxes):
        ends += disconnect
    ends.append(conversion.pack.minus_at)
    return [(start, end) for start, end in zip(ends[::2], ends[1::2], strict=True) if start is not None and end is not None]


def joined_up(conversion: Conversion, before: Conversion, links: Sequence[Link]) -> Cables:
    """Cables that already join two of the connectors stay; the pack's others go; what is missing is new, of the type that was there."""
    ends = {end for link in links for end in link}
    wanted = {frozenset(link): link for link in links}
    chain = [cable for cable in conversion.cables if cable.from_connector in ends or cable.to_connector in ends]
    stays = {frozenset((cable.from_connector, cable.to_connector)) for cable in chain} & set(wanted)
    model = _model(before, ends)
    if model is None:
        return Cables(
            cables=conversion.cables, cores=conversion.cable_cores, words=("the pack has no cable yet to copy: describe them all",)
        )
    dropped = [cable for cable in chain if frozenset((cable.from_connector, cable.to_connector)) not in wanted]
    was_there = [cable for cable in before.cables if cable.ref not in {item.ref for item in conversion.cables}]
    free = sorted((cable.ref for cable in (*dropped, *was_there)), key=lambda ref: (len(ref), ref))
    taken = {cable.ref for cable in before.cables}
    made, words = [], []
    for link in links:
        if frozenset(link) in stays:
            continue
        ref = free.pop(0) if free else next_ref(taken, model.ref)
        taken.add(ref)
        made.append(_cable(before, model, ref, link))
        words.append(f"cable {ref} now joins {link[0]} and {link[1]}: cut it to its new length")
    gone = {cable.ref for cable in dropped}
    words += [f"cable {ref} is no longer needed" for ref in free]
    cables = sorted(
        [*(cable for cable in conversion.cables if cable.ref not in gone), *made], key=lambda cable: (len(cable.ref), cable.ref)
    )
    new = {cable.ref for cable in made}
    cores = [core for core in conversion.cable_cores if core.cable not in gone | new]
    cores += [_core(conversion, cable) for cable in made]
    place = {cable.ref: number for number, cable in enumerate(cables)}
    return Cables(
        cables=tuple(cables), cores=tuple(sorted(cores, key=lambda core: (place.get(core.cable, 0), core.core))), words=tuple(words)
    )


def _model(before: Conversion, ends: set[str]) -> Cable | None:
    """A cable of the pack today, for its type."""
    known = ends | {f"{box.ref}.{name}" for box in before.boxes for name in hv_connectors(before, box.ref) if name}
    return next((cable for cable in before.cables if {cable.from_connector, cable.to_connector} & known), None)


def _cable(before: Conversion, model: Cable, ref: str, link: Link) -> Cable:
    names = [before.device[device].name if device in before.device else device for device in (end.partition(".")[0] for end in link)]
    return Cable(
        ref=ref,
        meaning=f"{names[0]} to {names[1]}"[:200],
        cable_type=model.cable_type,
        from_connector=link[0],
        to_connector=link[1],
        from_end=_end_words(before, link[0], model),
        to_end=_end_words(before, link[1], model),
        twist_angle_deg=0.0,
        system=model.system,
    )


def _end_words(before: Conversion, connector: str, model: Cable) -> str:
    """How a cable ends at a connector today, or as the model does."""
    for cable in before.cables:
        if cable.from_connector == connector:
            return cable.from_end
        if cable.to_connector == connector:
            return cable.to_end
    return model.from_end


def _core(conversion: Conversion, cable: Cable) -> CableCore:
    pins = []
    for end in (cable.from_connector, cable.to_connector):
        device, _, name = end.partition(".")
        pins.append(f"{end}.{conversion.connector[device, name].cavities[0].ref}")
    return CableCore(cable=cable.ref, core=1, from_pin=pins[0], to_pin=pins[1])


def tails_of_new(conversion: Conversion, box: str) -> list[Tail]:
    """Tails of the HV plugs of a box in a space that had none: straight to the nearest point that HV passes."""
    device = conversion.device[box]
    spot = nearest_spot(conversion, (device.x_mm, device.y_mm, device.z_mm))
    return [
        Tail(device=box, connector=name, point=spot.point, tail_mm=float(round(spot.tail_mm)))
        for name in hv_connectors(conversion, box)
        if name and spot.point
    ]
