"""Direct volts of a battery that nothing draws from: cells as sources, studs and bars as joins, walked from a datum."""

from __future__ import annotations

import itertools
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from halfshaft.model.boxes import Box, ModulePlace, ModuleType
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding
from halfshaft.model.parts import Part
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.sensing.plugs import sense_boxes

SAME_V = 1e-6
PHYSICS = Basis("common practice", "circuit theory: volts add up along the cells")
# What carries the pack's current straight through inside a part: fuses in, contacts closed.
THROUGH = ("link", "fuse", "contact")

Join = tuple[str, str]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Source:
    """Cells of one module between two nodes; `cells` of them one after another. Each is itself and no other: keys of tables of volts."""

    module: str
    plus: str
    minus: str
    cells: float


@dataclass(frozen=True, slots=True)
class Step:
    """From a group of joined nodes to the next one, through a source: up from its minus, or down (`sign` -1)."""

    start: str
    end: str
    source: Source
    sign: int


@dataclass(frozen=True, slots=True)
class Walk:
    """The way from a datum to everything that leads to it; `roots` names each node's group.

    A source that closes a loop is no step: where bars make a loop that does not add up, the pack's own rules say so.
    """

    datum: str
    roots: dict[str, str]
    steps: tuple[Step, ...]

    def potentials(self, volts: Mapping[Source, float]) -> dict[str, float]:
        """Volts above the datum by group."""
        found = {self.roots[self.datum]: 0.0}
        for step in self.steps:
            found[step.end] = found[step.start] + step.sign * volts[step.source]
        return found

    def distances(self, sizes: Mapping[Source, float]) -> dict[str, float]:
        """Sum of sizes on the way to each group, whichever way round the sources are."""
        found = {self.roots[self.datum]: 0.0}
        for step in self.steps:
            found[step.end] = found[step.start] + sizes[step.source]
        return found


@dataclass(frozen=True, slots=True)
class Circuit:
    """Sources and what is joined."""

    sources: tuple[Source, ...]
    joins: tuple[Join, ...]

    def walk(self, datum: str) -> Walk:
        """The way to everything that leads to the datum, nearest first."""
        nodes = {node for source in self.sources for node in (source.plus, source.minus)}
        roots = joined_groups([*self.joins, *((node, node) for node in sorted(nodes)), (datum, datum)])
        edges: dict[str, list[Step]] = defaultdict(list)
        for source in self.sources:
            plus, minus = roots[source.plus], roots[source.minus]
            edges[minus].append(Step(minus, plus, source, 1))
            edges[plus].append(Step(plus, minus, source, -1))
        seen = {roots[datum]}
        steps: list[Step] = []
        pending = deque(seen)
        while pending:
            for step in edges[pending.popleft()]:
                if step.end not in seen:
                    seen.add(step.end)
                    steps.append(step)
                    pending.append(step.end)
        return Walk(datum, roots, tuple(steps))

    def potentials(self, datum: str, volts: Mapping[Source, float]) -> dict[str, float]:
        """Volts of every node that leads to the datum."""
        walk = self.walk(datum)
        found = walk.potentials(volts)
        return {node: found[root] for node, root in walk.roots.items() if root in found}


@dataclass(frozen=True, kw_only=True, slots=True)
class TapVolts:
    """What stands at one tap, nominal; `number` counts from the module's minus. None: nothing described joins it to there, or bars and numbers contradict each other."""

    module: str
    number: int
    tap: str
    pin: str
    to_module_minus_v: float | None
    to_pack_minus_v: float | None


def inside_of(ref: str, kind: ModuleType, part: Part) -> Circuit:
    """A module by itself: its cells, its links, and its studs by the names that bars use, `M01.P` and `M01.N`."""
    cells = [element for element in part.inside if element.kind == "source"]
    share = kind.cells_in_series / max(len(cells), 1)
    sources = tuple(Source(module=ref, plus=f"{ref}.{cell.pin_a}", minus=f"{ref}.{cell.pin_b}", cells=share) for cell in cells)
    links = [(f"{ref}.{item.pin_a}", f"{ref}.{item.pin_b}") for item in part.inside if item.kind == "link"]
    return Circuit(sources, (*links, *studs_of(ref, part)))


def studs_of(ref: str, part: Part, *, turned: bool = False) -> tuple[Join, ...]:
    """The two places at which bars are bolted, and the pins that are there; of a module turned end for end the other ones."""
    other = {"P": "N", "N": "P"} if turned else {"P": "P", "N": "N"}
    return tuple(
        (f"{ref}.{other[connector.ref]}", f"{ref}.{connector.ref}.{cavity.ref}")
        for connector in part.connectors
        if connector.ref in other
        for cavity in connector.cavities
    )


def joins_in(conversion: Conversion, box: Box) -> tuple[Join, ...]:
    """What is joined inside a box: by its bars where any are described, else along the string."""
    bars = [bar for bar in conversion.busbars if bar.box == box.ref]
    if not bars:
        return tuple(
            (f"{one.ref}.N", f"{other.ref}.P")
            for string in strings_of(conversion)
            for (in_one, one), (in_other, other) in itertools.pairwise(string)
            if in_one == in_other == box.ref
        )
    ends = [(bar.from_stud, bar.to_stud) for bar in bars]
    devices = dict.fromkeys(end.split(".")[0] for pair in ends for end in pair if end.count(".") == 2)
    through = [
        (f"{ref}.{element.pin_a}", f"{ref}.{element.pin_b}")
        for ref in devices
        for element in conversion.part[conversion.device[ref].part].inside
        if element.kind in THROUGH
    ]
    return (*ends, *through)


def strings_of(conversion: Conversion) -> list[list[tuple[str, ModulePlace]]]:
    """The modules of each string, plus end first, with the box that each is in."""
    strings: dict[int, list[tuple[str, ModulePlace]]] = defaultdict(list)
    for box in conversion.boxes:
        for place in box.modules:
            strings[place.string].append((box.ref, place))
    return [sorted(strings[number], key=lambda item: (item[1].order_in_string, item[1].ref)) for number in sorted(strings)]


def pack_circuit(conversion: Conversion, string: list[tuple[str, ModulePlace]]) -> Circuit:
    """One string through all its boxes; from box to box it is taken as joined in its order."""
    kinds = {kind.part: kind for kind in conversion.modules}
    modules = [inside_of(place.ref, kinds[place.module], conversion.part[place.module]) for _, place in string]
    boxes = [box for box in conversion.boxes if box.ref in {ref for ref, _ in string}]
    joins = [join for box in boxes for join in joins_in(conversion, box)]
    between = [(f"{one.ref}.N", f"{other.ref}.P") for (box, one), (next_box, other) in itertools.pairwise(string) if box != next_box]
    return Circuit(
        tuple(source for module in modules for source in module.sources),
        (*joins, *between, *(join for module in modules for join in module.joins)),
    )


def nominal_v(conversion: Conversion, sources: Iterable[Source]) -> dict[Source, float]:
    """Nominal volts of each source."""
    kinds = {kind.part: kind for kind in conversion.modules}
    kind_of = {place.ref: kinds[place.module] for box in conversion.boxes for place in box.modules}
    return {source: source.cells * kind_of[source.module].cell_nominal_v for source in sources}


def tap_volts(conversion: Conversion) -> tuple[TapVolts, ...]:
    """Every tap that is led to a board, in the order of boxes, modules and taps."""
    to_pack: dict[str, float] = {}
    for string in strings_of(conversion):
        circuit = pack_circuit(conversion, string)
        volts = nominal_v(conversion, circuit.sources)
        found = circuit.potentials(f"{string[-1][1].ref}.N", volts)
        if _adds_up(found, volts):  # else bars and numbers contradict each other, and which of them is right nobody knows here
            to_pack.update(found)
    return tuple(_taps(conversion, to_pack))


def _adds_up(potentials: Mapping[str, float], volts: Mapping[Source, float]) -> bool:
    """Whether between the ends of each source that was reached its own volts stand."""
    return all(
        abs(potentials[source.plus] - potentials[source.minus] - own) < SAME_V for source, own in volts.items() if source.plus in potentials
    )


def _taps(conversion: Conversion, to_pack: Mapping[str, float]) -> Iterator[TapVolts]:
    for item in sense_boxes(conversion):
        for module, plug in item.pairs:
            own = inside_of(module.ref, module.kind, conversion.part[module.place.module])
            to_minus = own.potentials(f"{module.ref}.N", nominal_v(conversion, own.sources))
            for number, (tap, pin) in enumerate(zip(module.plug.taps, plug.taps, strict=False)):
                yield TapVolts(
                    module=module.ref,
                    number=number,
                    tap=tap,
                    pin=pin,
                    to_module_minus_v=to_minus.get(tap),
                    to_pack_minus_v=to_pack.get(tap),
                )


def no_volts(conversion: Conversion) -> Iterator[Finding]:
    """For a module nobody can say which volts its taps have. A bar that is missing is for the pack's own rules to say."""
    for module in dict.fromkeys(tap.module for tap in tap_volts(conversion) if tap.to_module_minus_v is None):
        yield Finding(
            rule="sensing.no-volts",
            level="fix",
            about=(module,),
            text=f"Which volts to expect at the taps of {module} cannot be said: describe the cells inside its part as sources from tap to tap, and the links to its studs.",
            basis=PHYSICS,
            caution=HV_CAUTION,
        )
