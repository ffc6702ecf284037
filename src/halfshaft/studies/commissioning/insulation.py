"""Insulation: each unit alone, each side of the contactors, and the steps that find the bad unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.commissioning.limits import INSULATION_HALF, INSULATION_SHARE, OWN_DATA
from halfshaft.studies.commissioning.metal import DEAD
from halfshaft.studies.commissioning.records import Line, Part, Sense
from halfshaft.studies.hv_safety.insulation import CHARGING, CLOSED, Insulation, InsulationState, parallel_mohm
from halfshaft.studies.hv_safety.limits import basis_of
from halfshaft.studies.hv_safety.splitting import Split

# A tester on both poles joined, or on a battery whose cells join them, reads both poles side by side.
POLES = 2


@dataclass(frozen=True, slots=True)
class _Units:
    """Megohm of either pole by unit, and under which names a unit stands in the steps of splitting."""

    mohm: dict[str, float]
    boxes: frozenset[str]
    names: dict[str, tuple[str, ...]]

    def senses(self, names: Iterable[str]) -> tuple[Sense, ...]:
        """The units of a line."""
        return tuple(Sense(ref=name, kind="unit") for name in names)


def insulation_part(conversion: Conversion, insulation: Insulation) -> Part:
    """Units, whole sides, and the splitting, of which a line is measured only where a whole side is low."""
    sides = [state for state in insulation.states if state.name not in (CLOSED, CHARGING)] or [
        state for state in insulation.states if state.name == CLOSED
    ]
    known = {item.unit: item.mohm for state in sides for item in state.units}
    steps = [name for split in insulation.splits for name in split.suspects]
    names = {unit: tuple(dict.fromkeys(name for name in steps if name.partition(".")[0] == unit)) or (unit,) for unit in known}
    units = _Units(known, frozenset(box.ref for box in conversion.boxes), names)
    least_mohm = max((state.required_mohm for state in sides), default=0.0)
    lines = [*_alone(units, least_mohm), *(_whole(insulation, units, state) for state in sides), *_splitting(insulation, units, least_mohm)]
    volts = conversion.high_voltage.insulation_test_v
    joined = "isolation_joined" if insulation.ohm_per_v == 500.0 else "isolation_dc_apart"
    return Part(
        key="insulation",
        title=f"Insulation to the body, tested with {volts:g} V d.c.",
        instrument=f"insulation tester, {volts:g} V d.c., read after one minute",
        basis=(basis_of(joined), OWN_DATA, INSULATION_HALF),
        wrong="{}: its insulation, or that of the cable that stays on it, is low. Dry and clean it, then test it alone.",
        lines=tuple(lines),
        note=(
            "Join plus and minus of the unit for the test, never at a battery: its cells join them already. Expected: both poles side by side. "
            f"Passes: half of that, and never below {1000 * least_mohm:.0f} kΩ for the whole. Battery boxes are live: only a tester whose maker allows their volts on its leads, "
            "else the two volt readings of UN R100. Discharge what was tested before touching it. The lines of splitting are measured only where a whole side is low."
        ),
    )


def _line(between: tuple[str, str], state: str, mohm: float, *, least_mohm: float, senses: tuple[Sense, ...], optional: bool = False) -> Line:
    expected = mohm / POLES
    return Line(
        between=between,
        state=state,
        quantity="insulation",
        unit="MΩ",
        expected=expected,
        low=max(INSULATION_SHARE * expected, least_mohm),
        high=None,
        senses=senses,
        suspect=", ".join(sense.ref for sense in senses),
        is_optional=optional,
    )


def _alone(units: _Units, least_mohm: float) -> Iterator[Line]:
    for unit, mohm in units.mohm.items():
        poles = "either pole, at its plug" if unit in units.boxes else "both poles, joined"
        yield _line(
            (f"{unit}, {poles}", "body"),
            f"{DEAD}; all high-voltage plugs of {unit} off",
            mohm,
            least_mohm=least_mohm,
            senses=units.senses(units.names[unit]),
        )


def _whole(insulation: Insulation, units: _Units, state: InsulationState) -> Line:
    pieces = [name for split in insulation.splits if split.side == state.name for name in split.suspects]
    senses = tuple(dict.fromkeys(pieces)) or tuple(item.unit for item in state.units)
    first = next((split.measure_at for split in insulation.splits if split.side == state.name), state.dominant.unit)
    return _line(
        (f"{first}, {'either pole' if first in units.boxes else 'both poles, joined'}", "body"),
        f"{DEAD}; {state.name}, all high-voltage plugs in",
        state.pole_mohm,
        least_mohm=state.required_mohm,
        senses=units.senses(senses),
    )


def _splitting(insulation: Insulation, units: _Units, least_mohm: float) -> Iterator[Line]:
    for split in insulation.splits:
        joined = {name.partition(".")[0] for name in split.joined}
        mohm = parallel_mohm(units.mohm[unit] for unit in joined if unit in units.mohm)
        if mohm != float("inf"):
            yield _line(
                (f"{split.measure_at}, {'either pole' if split.measure_at in units.boxes else 'both poles, joined'}", "body"),
                f"only if {split.side} is low, step {split.number}: {_pulled(split)}",
                mohm,
                least_mohm=least_mohm,
                senses=units.senses(split.joined),
                optional=True,
            )


def _pulled(split: Split) -> str:
    first = f"pull {', '.join(split.pull)}" if split.pull else "as it is"
    ways = []
    for word, step, unit in (("low", split.if_low, split.low_unit), ("good", split.if_good, split.good_unit)):
        ways.append(f"{word}: step {step}" if step is not None else f"{word}: {unit}")
    return f"{first}; {', '.join(ways)}"
