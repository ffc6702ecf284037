"""What the battery as a whole is: its volts and energy, and what stays live with the service disconnect out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.groups import joined_groups


@dataclass(frozen=True, kw_only=True, slots=True)
class LivePiece:
    """Boxes that high-voltage cables join straight to each other, and their volts when full."""

    boxes: tuple[str, ...]
    full_v: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Pack:
    """One string of all modules. `pieces` are what it falls into where its cables pass through another device."""

    nominal_v: float
    full_v: float
    energy_kwh: float
    pieces: tuple[LivePiece, ...]


def study_pack(conversion: Conversion) -> Pack | None:
    """Volts add up along the string; None without modules in boxes."""
    kinds = {kind.part: kind for kind in conversion.modules}
    placed = {box.ref: [kinds[item.module] for item in box.modules] for box in conversion.boxes}
    everything = [kind for modules in placed.values() for kind in modules]
    if not everything:
        return None
    full_v = {ref: math.fsum(kind.cells_in_series * kind.cell_full_v for kind in modules) for ref, modules in placed.items()}
    ends = [(cable.from_connector.partition(".")[0], cable.to_connector.partition(".")[0]) for cable in conversion.cables]
    groups = joined_groups([(ref, ref) for ref in placed] + [pair for pair in ends if set(pair) <= placed.keys()])
    pieces = []
    for group in dict.fromkeys(groups[ref] for ref in placed):
        boxes = tuple(ref for ref in placed if groups[ref] == group)
        pieces.append(LivePiece(boxes=boxes, full_v=math.fsum(full_v[ref] for ref in boxes)))
    return Pack(
        nominal_v=math.fsum(kind.cells_in_series * kind.cell_nominal_v for kind in everything),
        full_v=math.fsum(full_v.values()),
        energy_kwh=math.fsum(kind.energy_kwh for kind in everything),
        pieces=tuple(pieces),
    )
