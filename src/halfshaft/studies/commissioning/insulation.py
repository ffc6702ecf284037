"""Insulation: each unit alone, each side of the contactors, and the steps that find the bad unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.commissioning.limits import INSULATION_HALF, INSULATION_SHARE, OWN_DATA
from halfshaft.studies.commissioning.metal import DEAD
from halfshaft.studies.commissioning.records import Line, Part, Sense
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.hv_safety.insulation import CHARGING, CLOSED, Insulation, InsulationState, parallel_mohm
from halfshaft.studies.hv_safety.limits import basis_of
from halfshaft.studies.hv_safety.live import joints, pieces
from halfshaft.studies.hv_safety.splitting import Split

# A tester on both poles joined, or on a battery whose cells join them, reads both poles side by side.
POLES = 2


@dataclass(frozen=True, slots=True)
class _Units:
    """Megohm of either pole by unit, and under which names a unit stands in the steps of splitting."""

    mohm: dict[str, float]
    boxes: frozenset[str]
    names: dict[str, tuple[str, ...]]

    def poles(self, unit: str) -> str:
        """Where the tester's lead goes: the cells of a box join its poles, those of anything else are joined by a lead."""
        return "either pole" if unit in self.boxes else "both poles, joined"

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
    all_names = dict.fromkeys([*steps, *pieces(conversion).values()])
    names = {unit: tuple(name for name in all_names if name.partition(".")[0] == unit) or (unit,) for unit in known}
    units = _Units(known, frozenset(box.ref for box in conversion.boxes), names)
    least_mohm = max((state.required_mohm for state in sides), default=0.0)
    lines = [
        *_alone(units, least_mohm),
        *(line for state in sides for line in _whole(conversion, insulation, units, state)),
        *_splitting(insulation, units, least_mohm),
    ]
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
            "Ask each unit's maker whether it bears these volts, and with which plugs off. Join plus and minus of the unit for the test, never at a battery: its cells join them already. Expected: both poles side by side. "
            f"Passes: half of that, and never below {1000 * least_mohm:.0f} kΩ for the whole. Battery boxes are live: only a tester whose maker allows their volts on its leads, "
            "else the two volt readings of UN R100. Discharge what was tested before touching it. Where a whole side is low the steps of splitting find the bad unit."
        ),
    )


def _line(
    between: tuple[str, str], state: str, mohm: float, *, least_mohm: float, senses: tuple[Sense, ...], optional: bool = False
) -> Line:
    """The tester reads both poles side by side; the units are the suspects."""
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
        suspect=", ".join(dict.fromkeys(sense.ref.partition(".")[0] for sense in senses)),
        is_optional=optional,
    )


def _alone(units: _Units, least_mohm: float) -> Iterator[Line]:
    for unit, mohm in units.mohm.items():
        yield _line(
            (f"{unit}, {units.poles(unit)}", "body"),
            f"{DEAD}; all high-voltage plugs of {unit} off",
            mohm,
            least_mohm=least_mohm,
            senses=units.senses(units.names[unit]),
        )


def _whole(conversion: Conversion, insulation: Insulation, units: _Units, state: InsulationState) -> Iterator[Line]:
    """What hangs together in one state with the service disconnect out: on the battery's side that is each part of the pack by itself."""
    names = [name for split in insulation.splits if split.side == state.name for name in split.suspects]
    told = {name.partition(".")[0] for name in names}
    names += [name for name in pieces(conversion).values() if name.partition(".")[0] in units.mohm.keys() & _refs(state) - told]
    for group in _apart(conversion, tuple(dict.fromkeys(names))):
        devices = tuple(dict.fromkeys(name.partition(".")[0] for name in group))
        known = [unit for unit in devices if unit in units.mohm]
        if len(group) < 2 or not known:
            continue
        at = next((unit for unit in known if unit in units.boxes), known[0])
        yield _line(
            (f"{at}, {units.poles(at)}", "body"),
            f"{DEAD}; {state.name.removeprefix('contactors open, ')}, all high-voltage plugs in: {', '.join(devices)}",
            parallel_mohm(units.mohm[unit] for unit in known),
            least_mohm=state.required_mohm,
            senses=units.senses(group),
        )


def _refs(state: InsulationState) -> set[str]:
    return {item.unit for item in state.units}


def _apart(conversion: Conversion, names: tuple[str, ...]) -> list[tuple[str, ...]]:
    """The units of one side as cables join them while the service disconnect is out."""
    disconnect = conversion.pack.service_disconnect
    piece_of = pieces(conversion)

    def node(plug: str) -> str:
        return plug if piece_of[plug] == disconnect else piece_of[plug]

    pairs = [(node(one), node(other)) for one, other in joints(conversion, frozenset(names), piece_of)]
    group = joined_groups([(name, name) for name in names if name != disconnect] + pairs)
    found: dict[str, list[str]] = {}
    for member, name in group.items():
        found.setdefault(name, []).append(disconnect if disconnect and member.partition(".")[0] == disconnect else member)
    order = {name: index for index, name in enumerate(names)}
    return [tuple(sorted(set(members), key=order.__getitem__)) for members in found.values()]


def _splitting(insulation: Insulation, units: _Units, least_mohm: float) -> Iterator[Line]:
    for split in insulation.splits:
        joined = {name.partition(".")[0] for name in split.joined}
        mohm = parallel_mohm(units.mohm[unit] for unit in joined if unit in units.mohm)
        if mohm != float("inf"):
            yield _line(
                (f"{split.measure_at}, {units.poles(split.measure_at)}", "body"),
                f"{DEAD}; {split.side.removeprefix('contactors open, ')}, step {split.number}: {_pulled(split)}",
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
