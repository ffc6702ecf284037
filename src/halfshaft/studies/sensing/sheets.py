"""The probe sheet of each box: signed volts to read at the sense plugs before any of them is put on its board.

Each plug takes three kinds of line, from the lowest module of the box upwards: from its lowest tap to the highest of
the module below (a bar joins them, so nought), from tap to tap (one cell each, plus to minus), and from its highest
tap to the minus pole of the box. The first two alone hold everything, and never more than a module's volts where all
is right; the third is a check on their sum.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.model.boxes import ModuleType
from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Connector
from halfshaft.model.reading import Reading
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.sensing.plugs import SenseBox, SensedModule, sense_boxes
from halfshaft.studies.sensing.volts import Circuit, Join, Source, inside_of, joins_in, studs_of

# What a hand-held meter may show between two places that a bar joins (common practice).
NOUGHT_V = 0.1
STATE = "bars bolted, sense plugs off their boards; red lead on the first, black on the second"
# Sums of many cells are kept to a microvolt, so that eight of 3.65 V are 29.2.
DECIMALS = 6
# How the sheet of a box is called.
SHEET = "sense-"


@dataclass(frozen=True, kw_only=True, slots=True)
class ProbedModule:
    """One module on a sheet: `taps` inside it from minus to plus, and the `pins` of the plug they come to, in the same order.

    `mirrored` says by index of a pin which of the taps is there if the plug was filled as seen from its other side, or
    None for a way that is none. `studs` are its two places under the bars as it should stand, `turned` as it would stand end for end.
    """

    ref: str
    kind: ModuleType
    taps: tuple[str, ...]
    pins: tuple[str, ...]
    mirrored: tuple[int | None, ...]
    studs: tuple[Join, ...]
    turned: tuple[Join, ...]
    plus_looks: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Modules of a box that bars join, from minus to plus; `datum` is the pole at their minus end, `joins` all but the studs'."""

    datum: str
    modules: tuple[ProbedModule, ...]
    sources: tuple[Source, ...]
    joins: tuple[Join, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class ProbeSheet:
    """The sheet of one box; `owners` says by number of a line whose module it is about."""

    name: str
    box: str
    groups: tuple[Group, ...]
    readings: tuple[Reading, ...]
    owners: dict[int, str]

    @property
    def modules(self) -> tuple[ProbedModule, ...]:
        """All modules on it, in the order in which they are probed."""
        return tuple(module for group in self.groups for module in group.modules)


def probe_sheets(conversion: Conversion) -> dict[str, ProbeSheet]:
    """By its name the sheet of every box with modules whose volts can be said."""
    found = (_sheet(conversion, item) for item in sense_boxes(conversion))
    return {sheet.name: sheet for sheet in found if sheet.readings}


def _sheet(conversion: Conversion, item: SenseBox) -> ProbeSheet:
    groups = groups_in(conversion, item)
    readings: list[Reading] = []
    owners: dict[int, str] = {}
    for group in groups:
        volts = [_potentials(group, of) for of in ("nominal", "stop", "full")]
        below = group.datum
        for module in group.modules:
            pairs = [(module.taps[0], below), *zip(module.taps[1:], module.taps, strict=False), (module.taps[-1], group.datum)]
            pin_of = {tap: pin for other in group.modules for tap, pin in zip(other.taps, other.pins, strict=True)}
            for number, (red, black) in enumerate(pairs, start=len(readings) + 1):
                expected, stop, full = (round(found[red] - found[black], DECIMALS) for found in volts)
                low, high = sorted((stop, full))
                is_nought = abs(expected) < NOUGHT_V
                readings.append(
                    Reading(
                        number=number,
                        between=(pin_of[red], pin_of.get(black, black)),
                        state=STATE,
                        quantity="voltage",
                        expected=0.0 if is_nought else expected,
                        low=low - NOUGHT_V if is_nought else low,
                        high=high + NOUGHT_V if is_nought else high,
                        unit="V",
                        wires=(),
                        suspect=f"{module.ref}, its bars and its plug",
                    )
                )
                owners[number] = module.ref
            below = module.taps[-1]
    return ProbeSheet(name=f"{SHEET}{item.box.ref}", box=item.box.ref, groups=groups, readings=tuple(readings), owners=owners)


def _potentials(group: Group, of: str) -> dict[str, float]:
    """Volts of every node above the group's datum, with all cells nominal, at their stop, or full."""
    kinds = {module.ref: module.kind for module in group.modules}
    volts = {source: source.cells * getattr(kinds[source.module], f"cell_{of}_v") for source in group.sources}
    joins = (*group.joins, *(join for module in group.modules for join in module.studs))
    return Circuit(group.sources, joins).potentials(group.datum, volts)


def groups_in(conversion: Conversion, item: SenseBox) -> tuple[Group, ...]:
    """The modules of a box as its bars join them."""
    bars = joins_in(conversion, item.box)
    left = [_probed(conversion, module, item) for module, _ in item.pairs]
    groups = []
    while left:
        inside = {module.ref: _inside(conversion, item, module.ref) for module in left}
        sources = tuple(source for circuit in inside.values() for source in circuit.sources)
        joins = tuple(join for circuit in inside.values() for join in circuit.joins)
        volts = Circuit(sources, (*bars, *joins)).potentials(f"{left[0].ref}.N", dict.fromkeys(sources, 1.0))
        here = [module for module in left if module is left[0] or module.taps[0] in volts]
        left = [module for module in left if module not in here]
        if not all(tap in volts for module in here for tap in module.taps):
            continue
        refs = {module.ref for module in here}
        studs = {join for module in here for join in module.studs}
        groups.append(
            Group(
                datum=_lowest(item.box.ref, volts, (*bars, *joins)),
                modules=tuple(sorted(here, key=lambda module: (min(volts[tap] for tap in module.taps), module.ref))),
                sources=tuple(source for source in sources if source.module in refs),
                joins=(*bars, *(join for ref in sorted(refs) for join in inside[ref].joins if join not in studs)),
            )
        )
    return tuple(groups)


def _inside(conversion: Conversion, item: SenseBox, ref: str) -> Circuit:
    module = next(module for module in item.modules if module.ref == ref)
    return inside_of(ref, module.kind, conversion.part[module.place.module])


def _lowest(box: str, volts: dict[str, float], joins: tuple[Join, ...]) -> str:
    """The node at the lowest volts, called by the pole of the box where one is there, else by the stud of a module."""
    groups = joined_groups(joins)
    bottom = min(volts, key=lambda node: (volts[node], node))
    nodes = [node for node in volts if groups.get(node) == groups.get(bottom, bottom)] or [bottom]
    return min(nodes, key=lambda node: (not node.startswith(f"{box}."), node.count("."), node))


def _probed(conversion: Conversion, module: SensedModule, item: SenseBox) -> ProbedModule:
    plug = next(plug for other, plug in item.pairs if other is module)
    part = conversion.part[module.place.module]
    pins = plug.taps[: len(module.plug.taps)]
    return ProbedModule(
        ref=module.ref,
        kind=module.kind,
        taps=module.plug.taps,
        pins=pins,
        mirrored=_mirrored(conversion.connector[plug.device, plug.connectors[0]], pins),
        studs=studs_of(module.ref, part),
        turned=studs_of(module.ref, part, turned=True),
        plus_looks=module.place.plus_end or "",
    )


def _mirrored(connector: Connector, pins: tuple[str, ...]) -> tuple[int | None, ...]:
    """By index of a pin, the index of the one whose wire is there if columns were counted from the other side."""
    places = {connector.row_and_column(index): cavity.ref for index, cavity in enumerate(connector.cavities)}
    at = {ref: place for place, ref in places.items()}
    names = [pin.rpartition(".")[2] for pin in pins]
    found: list[int | None] = []
    for name in names:
        row, column = at[name]
        other = places.get((row, connector.columns - 1 - column))
        found.append(names.index(other) if other in names else None)
    return tuple(found)
