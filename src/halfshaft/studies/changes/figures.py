"""What the car is before and after: weight, balance, luggage, battery, money."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfshaft.studies.changes.records import Figure, State
from halfshaft.studies.luggage import luggage_left_l
from halfshaft.studies.mass import Stand

STAND: tuple[tuple[str, str, str, int], ...] = (
    ("mass, ready to drive", "total_kg", "kg", 1),
    ("front axle", "front_kg", "kg", 1),
    ("rear axle", "rear_kg", "kg", 1),
    ("on the front axle", "front_percent", "%", 1),
    ("front left wheel", "front_left_kg", "kg", 1),
    ("front right wheel", "front_right_kg", "kg", 1),
    ("rear left wheel", "rear_left_kg", "kg", 1),
    ("rear right wheel", "rear_right_kg", "kg", 1),
    ("CG behind the front axle", "x_mm", "mm", 0),
    ("CG to the right", "y_mm", "mm", 0),
    ("CG above the ground", "z_mm", "mm", 0),
)


def figures_of(before: State, after: State) -> tuple[Figure, ...]:
    """Those that differ as far as they are printed."""
    return tuple(figure for figure in _all(before, after) if _shown(figure.was, figure.decimals) != _shown(figure.now, figure.decimals))


def _shown(value: float | None, decimals: int) -> str:
    # Nought is nought, whether it was reached from above or from below.
    return "" if value is None else f"{round(value, decimals) + 0.0:.{decimals}f}"


def _all(before: State, after: State) -> Iterator[Figure]:
    for name, field, unit, decimals in STAND:
        yield Figure(name, _stand(before.mass.finished, field), _stand(after.mass.finished, field), unit, decimals)
    yield Figure("heaviest state of load", _heaviest(before), _heaviest(after), "kg", 1)
    yield Figure("luggage", luggage_left_l(before.conversion), luggage_left_l(after.conversion), "l", 1)
    yield from _lids(before, after)
    yield Figure("boxes", len(before.conversion.boxes), len(after.conversion.boxes), "", 0)
    yield Figure("modules", _modules(before), _modules(after), "", 0)
    was, now = before.pack, after.pack
    yield Figure("battery, nominal", was.nominal_v if was else None, now.nominal_v if now else None, "V", 1)
    yield Figure("battery, full", was.full_v if was else None, now.full_v if now else None, "V", 1)
    yield Figure("battery, energy", was.energy_kwh if was else None, now.energy_kwh if now else None, "kWh", 2)
    for name, length in (("wire of all looms", _wire_m), ("high-voltage cable", _cable_m), ("hose", _hose_m)):
        yield Figure(name, length(before), length(after), "m", 2)
    yield Figure("parts and material, as far as priced", _money(before), _money(after), "EUR", 0)
    for name, level in (("findings that stop", "stop"), ("findings to put right", "fix"), ("findings to know", "note")):
        yield Figure(name, _findings(before, level), _findings(after, level), "", 0)


def _stand(stand: Stand, field: str) -> float | None:
    value: float | None = getattr(stand, field)
    return value


def _heaviest(state: State) -> float | None:
    return max((stand.total_kg for stand in state.mass.loaded), default=None)


def _lids(before: State, after: State) -> Iterator[Figure]:
    """How far the lid of each box stays under that of its space; below nought it is too tall."""
    left: list[dict[str, float]] = []
    for state in (before, after):
        spaces = {space.ref: space for space in state.conversion.spaces}
        left.append({box.ref: spaces[box.space].top_z_mm - box.z_max_mm for box in state.conversion.boxes})
    for ref in dict.fromkeys([*left[0], *left[1]]):
        yield Figure(f"box {ref} under its lid", left[0].get(ref), left[1].get(ref), "mm", 0)


def _modules(state: State) -> int:
    return sum(len(box.modules) for box in state.conversion.boxes)


def _wire_m(state: State) -> float:
    return math.fsum(loom.cut_mm for loom in state.routing.looms) / 1000


def _cable_m(state: State) -> float:
    return math.fsum(laid.cut_mm or 0.0 for laid in state.routing.cables) / 1000


def _hose_m(state: State) -> float:
    return math.fsum(laid.cut_mm or 0.0 for laid in state.routing.hoses) / 1000


def _money(state: State) -> float:
    return math.fsum(line.price_eur for line in state.parts if line.price_eur is not None)


def _findings(state: State, level: str) -> int:
    return sum(finding.level == level for finding in state.findings)
