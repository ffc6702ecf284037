"""What has to be bought: counted from what is fitted, wired and covered."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.fittings import fittings
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.materials import Material, materials, several
from halfshaft.studies.wires.study import WiresResult


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
        *loom_lines(conversion, routing, wires, kits=1),
        *_grommets(conversion),
    )


def loom_lines(conversion: Conversion, routing: Routing, wires: WiresResult, *, kits: int) -> Iterator[PartLine]:
    """Everything that looms, cables and hoses of so many kits are made of; the spare is on the total."""
    yield from _ends(conversion, wires, kits)
    for material in materials(conversion, routing):
        yield _by_metre(conversion, material, kits)


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
        group=group, code=ref, name=part.name, quantity=len(used_for), unit="", spare=0, price_eur=price, used_for=several(used_for)
    )


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


def _ends(conversion: Conversion, wires: WiresResult, kits: int) -> Iterator[PartLine]:
    share = conversion.shop.spare_terminals_percent / 100
    counts = Counter((fitting.kind, fitting.ref) for fitting in fittings(conversion, wires))
    for terminal in conversion.terminals:
        if count := counts["terminal", terminal.ref]:
            yield _with_spare("terminals", terminal.ref, terminal.name, kits * count, share, terminal.price_eur)
    for seal in conversion.seals:
        if count := counts["seal", seal.ref]:
            name = f"seal for insulation {seal.insulation_min_mm:g} to {seal.insulation_max_mm:g} mm, {seal.terminal}"
            yield _with_spare("seals", seal.ref, name, kits * count, share, seal.price_eur)
        if count := counts["plug", seal.ref]:
            yield _with_spare("seals", seal.ref, f"blanking plug, {seal.terminal}", kits * count, share, seal.price_eur)


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
            used_for=several(refs),
        )


def _by_metre(conversion: Conversion, material: Material, kits: int) -> PartLine:
    """A line bought by length, rounded up to a tenth of a metre."""
    needed_m = kits * material.length_m
    spare_m = needed_m * conversion.shop.spare_terminals_percent / 100 if material.has_spare else 0.0
    quantity = math.ceil(round(10 * (needed_m + spare_m), 6)) / 10
    price = None if material.price_eur_per_m is None else material.price_eur_per_m * quantity
    return PartLine(
        group=material.group,
        code=material.code,
        name=material.name,
        quantity=quantity,
        unit="m",
        spare=round(spare_m, 3),
        price_eur=price,
        used_for=material.used_for,
    )


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
