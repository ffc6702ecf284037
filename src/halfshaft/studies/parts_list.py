"""What has to be bought: counted from what is fitted, wired and covered."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.wires.study import WiresResult

# Common practice: what one splice takes.
SLEEVE_OF_SPLICE_M = 0.05


@dataclass(frozen=True, kw_only=True, slots=True)
class PartLine:
    """One line of the parts list. `spare` is part of the quantity; the price is for all of it, None where one is unknown."""

    group: str
    code: str
    name: str
    quantity: float
    unit: str
    spare: float
    price_eur: float | None
    used_for: str


def parts_list(conversion: Conversion, routing: Routing, wires: WiresResult) -> tuple[PartLine, ...]:
    """Everything, group by group."""
    return (
        *_units(conversion),
        *_modules_and_plates(conversion),
        *_made_parts(conversion),
        *_ends(conversion, wires),
        *_wire(conversion, routing),
        *_cables(conversion, routing),
        *_coverings(conversion, routing),
        *_hoses(conversion, routing),
        *_grommets(conversion),
    )


def _units(conversion: Conversion) -> Iterator[PartLine]:
    used: dict[str, list[str]] = defaultdict(list)
    for device in conversion.devices:
        used[device.part].append(device.ref)
    for part in conversion.parts:
        if part.ref in used:
            yield _counted(conversion, "units", part.ref, used[part.ref])


def _counted(conversion: Conversion, group: str, ref: str, used_for: list[str]) -> PartLine:
    part = conversion.part[ref]
    price = None if part.price_eur is None else part.price_eur * len(used_for)
    return PartLine(
        group=group, code=ref, name=part.name, quantity=len(used_for), unit="", spare=0, price_eur=price, used_for=_several(used_for)
    )


def _several(refs: list[str]) -> str:
    return ", ".join(refs[:8]) + (f" and {len(refs) - 8} more" if len(refs) > 8 else "")


def _modules_and_plates(conversion: Conversion) -> Iterator[PartLine]:
    used: dict[str, list[str]] = defaultdict(list)
    for box in conversion.boxes:
        for module in box.modules:
            used[module.module].append(module.ref)
        for plate in box.plates:
            used[plate.part].append(plate.ref)
    for ref, refs in used.items():
        yield _counted(conversion, "battery", ref, refs)


def _made_parts(conversion: Conversion) -> Iterator[PartLine]:
    for item in conversion.made_parts:
        yield PartLine(
            group="made parts", code=item.ref, name=item.name, quantity=1, unit="", spare=0, price_eur=item.price_eur, used_for=""
        )


def _ends(conversion: Conversion, wires: WiresResult) -> Iterator[PartLine]:
    share = conversion.shop.spare_terminals_percent / 100
    terminals = _terminals(conversion, wires)
    for terminal in conversion.terminals:
        if terminals[terminal.ref]:
            yield _with_spare("terminals", terminal.ref, terminal.name, terminals[terminal.ref], share, terminal.price_eur)
    seals = Counter(ref for _, ref in {(end.pin, end.seal.ref) for end in wires.ends if end.seal is not None})
    plugs = Counter(item.plug.ref for item in wires.open_cavities if item.plug is not None)
    for seal in conversion.seals:
        if seals[seal.ref]:
            name = f"seal for insulation {seal.insulation_min_mm:g} to {seal.insulation_max_mm:g} mm, {seal.terminal}"
            yield _with_spare("seals", seal.ref, name, seals[seal.ref], share, seal.price_eur)
        if plugs[seal.ref]:
            yield _with_spare("seals", seal.ref, f"blanking plug, {seal.terminal}", plugs[seal.ref], share, seal.price_eur)


def _terminals(conversion: Conversion, wires: WiresResult) -> Counter[str]:
    """Terminals by mark: a ring for each wire on a stud, one crimp for a cavity or a splice however many wires it joins."""
    found: Counter[str] = Counter(conversion.splice[ref].terminal for ref in {end.pin for end in wires.ends if "." not in end.pin})
    for pin in sorted((wires.wires_at.keys() | wires.screens_at.keys()) & conversion.cavity.keys()):
        device, name, _ = pin.split(".")
        is_stud = conversion.connector[device, name].kind == "stud"
        ends = len(wires.wires_at.get(pin, ())) + len(wires.screens_at.get(pin, ()))
        found[conversion.cavity[pin].terminal] += ends if is_stud else 1
    return found


def _grommets(conversion: Conversion) -> Iterator[PartLine]:
    alike: dict[tuple[float, float, int], list[str]] = defaultdict(list)
    for item in conversion.grommets:
        alike[item.hole_mm, item.bore_mm, item.holes].append(item.ref)
    for (hole_mm, bore_mm, holes), refs in sorted(alike.items()):
        bores = f"bore {bore_mm:g}" if holes == 1 else f"{holes} bores of {bore_mm:g}"
        yield PartLine(
            group="grommets",
            code=f"hole {hole_mm:g}",
            name=f"grommet or edging, {bores} mm",
            quantity=len(refs),
            unit="",
            spare=0,
            price_eur=None,
            used_for=_several(refs),
        )


def _by_metre(group: str, code: str, name: str, length_m: float, price_eur_per_m: float | None, used_for: str = "") -> PartLine:
    """A line bought by length, rounded up to a tenth of a metre."""
    quantity = math.ceil(round(10 * length_m, 6)) / 10
    price = None if price_eur_per_m is None else price_eur_per_m * quantity
    return PartLine(group=group, code=code, name=name, quantity=quantity, unit="m", spare=0, price_eur=price, used_for=used_for)


def _with_spare(group: str, code: str, name: str, count: int, share: float, price: float | None) -> PartLine:
    spare = math.ceil(count * share)
    quantity = count + spare
    return PartLine(
        group=group,
        code=code,
        name=name,
        quantity=quantity,
        unit="",
        spare=spare,
        price_eur=None if price is None else price * quantity,
        used_for="",
    )


def _wire(conversion: Conversion, routing: Routing) -> Iterator[PartLine]:
    metres: dict[tuple[float, str, str], float] = defaultdict(float)
    for laid in routing.wires.values():
        if laid.length is not None:
            metres[laid.wire.section_mm2, laid.wire.insulation_class, laid.wire.colour] += laid.length.cut_mm / 1000
    for (section, insulation, colour), length in sorted(metres.items()):
        kind = conversion.wire_type[section]
        name = f"{kind.wall}-wall wire, class {insulation}"
        yield _by_metre("wire", f"{section:g} {colour}", name, length, kind.price_eur_per_m)


def _cables(conversion: Conversion, routing: Routing) -> Iterator[PartLine]:
    metres: dict[str, float] = defaultdict(float)
    used: dict[str, list[str]] = defaultdict(list)
    for laid in routing.cables:
        if laid.cut_mm is not None:
            metres[laid.cable.cable_type] += laid.cut_mm / 1000
            used[laid.cable.cable_type].append(laid.cable.ref)
    for ref, length in metres.items():
        kind = conversion.cable_type[ref]
        name = f"{kind.covering} cable {kind.cores} x {kind.section_mm2:g} mm²{', screened' if kind.screened else ''}".strip()
        yield _by_metre("high-voltage cable", ref, name, length, kind.price_eur_per_m, _several(used[ref]))


def _coverings(conversion: Conversion, routing: Routing) -> Iterator[PartLine]:
    metres: dict[str, float] = defaultdict(float)
    used = {run.run for loom in routing.looms for run in loom.runs}
    used |= {step.run for cable in routing.cables if cable.route for step in cable.route.steps}
    for run in conversion.runs:
        if run.covering is not None and run.ref in used:
            metres[run.covering] += routing.run_lengths[run.ref].length_mm / 1000
    joined = {end.pin for laid in routing.wires.values() for end in (laid.start, laid.end) if end.is_splice}
    for splice in conversion.splices:
        if splice.sleeve is not None and splice.ref in joined:
            metres[splice.sleeve] += SLEEVE_OF_SPLICE_M
    for covering in conversion.coverings:
        if metres[covering.ref]:
            used_for = "splices" if covering.kind == "heat-shrink" else "length of the runs covered"
            yield _by_metre("covering", covering.ref, covering.name, metres[covering.ref], covering.price_eur_per_m, used_for)


def _hoses(conversion: Conversion, routing: Routing) -> Iterator[PartLine]:
    metres: dict[tuple[float, float, float | None], float] = defaultdict(float)
    used: dict[tuple[float, float, float | None], list[str]] = defaultdict(list)
    for laid in routing.hoses:
        if laid.cut_mm is not None:
            key = (laid.hose.bore_mm, laid.hose.outside_mm, laid.hose.price_eur_per_m)
            metres[key] += laid.cut_mm / 1000
            used[key].append(laid.hose.ref)
    for (bore, outside, price), length in metres.items():
        name = f"coolant hose {bore:g} x {outside:g} mm"
        yield _by_metre("hose", f"hose {bore:g}", name, length, price, _several(used[bore, outside, price]))
