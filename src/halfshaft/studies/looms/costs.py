"""What each loom weighs and costs: its wires, what covers them, and what is crimped on and plugged in."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import Loom
from halfshaft.studies.fittings import Fitting, fittings
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.materials import Material, materials
from halfshaft.studies.wires.study import WiresResult


@dataclass(frozen=True, kw_only=True, slots=True)
class LoomCost:
    """One loom of one kit, without waste, spare or work. Prices are sums over what has one; `unpriced` are the codes that have none.

    Terminals, seals and plugs are not weighed: the catalogue has no mass for them.
    """

    loom: str
    name: str
    wires: int
    wire_m: float
    wire_kg: float
    covering_kg: float
    terminals: int
    seals: int
    plugs: int
    wire_eur: float
    covering_eur: float
    fittings_eur: float
    unpriced: tuple[str, ...]

    @property
    def mass_kg(self) -> float:
        """Wires and coverings."""
        return self.wire_kg + self.covering_kg

    @property
    def price_eur(self) -> float:
        """All that has a price."""
        return self.wire_eur + self.covering_eur + self.fittings_eur


def loom_costs(conversion: Conversion, routing: Routing, wires: WiresResult) -> tuple[LoomCost, ...]:
    """Every loom. What covers a run that several looms share belongs to the first of them in `looms.csv`."""
    by_metre, fitted = materials(conversion, routing), fittings(conversion, wires)
    return tuple(_cost(conversion, loom, by_metre, [item for item in fitted if item.loom == loom.ref]) for loom in conversion.looms)


def _cost(conversion: Conversion, loom: Loom, by_metre: tuple[Material, ...], fitted: list[Fitting]) -> LoomCost:
    wire = _metres(loom, by_metre, "wire")
    covering = _metres(loom, by_metre, "covering")
    prices = {seal.ref: seal.price_eur for seal in conversion.seals} | {item.ref: item.price_eur for item in conversion.terminals}
    codes = {material.full_code: material.price_eur_per_m for material, _ in (*wire, *covering)} | {
        item.ref: prices[item.ref] for item in fitted
    }
    count = {kind: sum(item.kind == kind for item in fitted) for kind in ("terminal", "seal", "plug")}
    return LoomCost(
        loom=loom.ref,
        name=loom.name,
        wires=sum(item.loom == loom.ref for item in conversion.wires),
        wire_m=sum(length_m for _, length_m in wire),
        wire_kg=sum(material.mass_g_per_m * length_m / 1000 for material, length_m in wire),
        covering_kg=sum(material.mass_g_per_m * length_m / 1000 for material, length_m in covering),
        terminals=count["terminal"],
        seals=count["seal"],
        plugs=count["plug"],
        wire_eur=sum((material.price_eur_per_m or 0.0) * length_m for material, length_m in wire),
        covering_eur=sum((material.price_eur_per_m or 0.0) * length_m for material, length_m in covering),
        fittings_eur=sum(prices[item.ref] or 0.0 for item in fitted),
        unpriced=tuple(code for code, price in codes.items() if price is None),
    )


def _metres(loom: Loom, by_metre: tuple[Material, ...], group: str) -> list[tuple[Material, float]]:
    """How many metres of each material of a group the loom takes."""
    lengths = (
        (material, sum(piece.length_mm for piece in material.pieces if piece.loom == loom.ref) / 1000)
        for material in by_metre
        if material.group == group
    )
    return [(material, length_m) for material, length_m in lengths if length_m]
