"""What the battery as a whole is: its volts and energy, its resistance, and what stays live with the service disconnect out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfshaft.model.boxes import Box
from halfshaft.model.conversion import Conversion
from halfshaft.studies.groups import joined_groups
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.module_places import Spot
from halfshaft.studies.pack.bars import Bar, bars_of
from halfshaft.studies.pack.links import Link, web_of
from halfshaft.studies.pack.rows import CellVolts, Row, rows_of, studs_of
from halfshaft.studies.pack.shorts import Short, shorts_of
from halfshaft.studies.pack.strings import String, carried_share, links_of, share_at, strings_of
from halfshaft.studies.pack.windows import Window, windows
from halfshaft.studies.pack.working import LOW_PERCENT, Draw, Working, workings

MICRO = 1e-6
CELL_VOLTS: dict[str, CellVolts] = {"full": "cell_full_v", "nominal": "cell_nominal_v", "empty": "cell_empty_v", "stop": "cell_stop_v"}


@dataclass(frozen=True, kw_only=True, slots=True)
class LivePiece:
    """Boxes that high-voltage cables join straight to each other, and their volts when full."""

    boxes: tuple[str, ...]
    full_v: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Split:
    """What the service disconnect makes of one string: modules and volts, full, on either side of it."""

    string: int
    after: str
    before: str
    ahead_v: float
    behind_v: float

    @property
    def larger_percent(self) -> float:
        """The larger side, of the whole."""
        return 100 * max(self.ahead_v, self.behind_v) / (self.ahead_v + self.behind_v)


@dataclass(frozen=True, kw_only=True, slots=True)
class Pack:
    """Strings side by side; volts are those of the string with the most modules.

    `pieces` are what the pack falls into where its cables pass through another device. `resistance_mohm` says what each
    kind of thing adds to the pack's resistance; `link_share` which share of the pack's current each bar, cable, fuse and
    contact in its way carries.
    """

    strings: tuple[String, ...]
    bars: tuple[Bar, ...]
    studs: dict[str, Spot]
    shorts: tuple[Short, ...]
    nominal_v: float
    full_v: float
    empty_v: float
    stop_v: float
    energy_kwh: float
    usable_kwh: float
    pieces: tuple[LivePiece, ...]
    splits: tuple[Split, ...]
    resistance_mohm: dict[str, float]
    cold_modules_mohm: float | None
    link_share: dict[str, float]
    workings: tuple[Working, ...]
    windows: tuple[Window, ...]

    @property
    def total_mohm(self) -> float:
        """Resistance of the whole pack with modules at 25 C."""
        return math.fsum(self.resistance_mohm.values())

    @property
    def hardest(self) -> Working:
        """Warm, at the lowest charge at which full power is still asked for: the most amperes that anything here is judged by."""
        return next(item for item in self.workings if item.charge_percent == LOW_PERCENT and not item.cold)

    @property
    def continuous(self) -> Draw | None:
        """At the continuous power, at its hardest."""
        return self.hardest.continuous

    @property
    def peak(self) -> Draw | None:
        """At the peak power, at its hardest."""
        return self.hardest.peak

    @property
    def links(self) -> dict[str, Link]:
        """Everything in the way of the pack's current, by its mark."""
        return links_of(self.strings)


def study_pack(conversion: Conversion, routing: Routing) -> Pack | None:
    """Volts add up along a string; None without modules in boxes."""
    rows = rows_of(conversion)
    if not rows:
        return None
    bars = bars_of(conversion, rows)
    web = web_of(conversion, routing, bars)
    strings = strings_of(conversion, rows, web)
    volts = {name: max(string.volts(cell_v) for string in strings) for name, cell_v in CELL_VOLTS.items()}
    share = carried_share(strings)
    resistance_mohm = _resistance_mohm(conversion, strings, share)
    cold = _modules_mohm(strings, cold=True)
    energy_kwh = math.fsum(item.kind.energy_kwh for string in strings for item in string.modules)
    working = workings(
        strings=len(strings),
        full_v=volts["full"],
        empty_v=volts["empty"],
        warm_ohm=math.fsum(resistance_mohm.values()) / 1000,
        cold_ohm=None if cold is None else (math.fsum(resistance_mohm.values()) - resistance_mohm["modules"] + cold) / 1000,
        settings=conversion.pack,
        module_peak_a=min(item.kind.discharge_peak_a for string in strings for item in string.modules),
        units=conversion.hv_units,
    )
    return Pack(
        strings=strings,
        bars=bars,
        studs=studs_of(rows),
        shorts=shorts_of(rows, web),
        nominal_v=volts["nominal"],
        full_v=volts["full"],
        empty_v=volts["empty"],
        stop_v=volts["stop"],
        energy_kwh=energy_kwh,
        usable_kwh=conversion.pack.usable_share * math.fsum(_string_energy_kwh(string.modules) for string in strings),
        pieces=_pieces(conversion.boxes, conversion, strings),
        splits=_splits(conversion, strings),
        resistance_mohm=resistance_mohm,
        cold_modules_mohm=cold,
        link_share=share,
        workings=working,
        windows=windows(conversion.hv_units, full_v=volts["full"], nominal_v=volts["nominal"], empty_v=volts["empty"], workings=working),
    )


def _string_energy_kwh(modules: Row) -> float:
    """One after another, modules give no more ampere-hours than the smallest of them has."""
    least_ah = min(item.kind.capacity_ah for item in modules)
    return math.fsum(item.kind.energy_kwh * least_ah / item.kind.capacity_ah for item in modules)


def _modules_mohm(strings: tuple[String, ...], *, cold: bool) -> float | None:
    """What the modules add to the pack: each carries one string's share of the current, and loss goes by its square."""
    values = [item.kind.resistance_cold_mohm if cold else item.kind.resistance_mohm for string in strings for item in string.modules]
    known = [value for value in values if value is not None]
    return math.fsum(known) / len(strings) ** 2 if len(known) == len(values) else None


def _resistance_mohm(conversion: Conversion, strings: tuple[String, ...], share: dict[str, float]) -> dict[str, float]:
    """By kind of thing. A link that carries a share s of the current counts s² of its resistance: that share of the loss is its own."""
    modules = _modules_mohm(strings, cold=False)
    assert modules is not None
    parts = {"modules": modules, "busbars": 0.0, "joints": 0.0, "cables": 0.0, "fuses and contacts": 0.0}
    links = links_of(strings).values()
    for link in links:
        parts[link.kind] += share[link.ref] ** 2 * link.resistance_ohm * 1000
    carried = share_at(links, share)
    for joint in conversion.joints:
        parts["joints"] += carried.get(joint.stud, 0.0) ** 2 * joint.allowed_uohm * MICRO * 1000
    return parts


def _pieces(boxes: tuple[Box, ...], conversion: Conversion, strings: tuple[String, ...]) -> tuple[LivePiece, ...]:
    refs = [box.ref for box in boxes]
    ends = [(cable.from_connector.partition(".")[0], cable.to_connector.partition(".")[0]) for cable in conversion.cables]
    groups = joined_groups([(ref, ref) for ref in refs] + [pair for pair in ends if set(pair) <= set(refs)])
    pieces = []
    for group in dict.fromkeys(groups[ref] for ref in refs):
        inside = tuple(ref for ref in refs if groups[ref] == group)
        full_v = max(math.fsum(item.full_v for item in string.modules if item.box in inside) for string in strings)
        pieces.append(LivePiece(boxes=inside, full_v=full_v))
    return tuple(pieces)


def _splits(conversion: Conversion, strings: tuple[String, ...]) -> tuple[Split, ...]:
    """Where in each string the service disconnect is: between two of its modules, or nowhere in it."""
    device = conversion.pack.service_disconnect
    found = []
    for string in strings:
        for index, join in enumerate(string.joins[1:-1], start=1):
            if device is not None and any(link.ref.startswith(f"{device}.") for link in join.links or ()):
                found.append(split_at(string, index))
    return tuple(found)


def split_at(string: String, index: int) -> Split:
    """The string opened ahead of its module of this index."""
    ahead, behind = string.modules[:index], string.modules[index:]
    return Split(
        string=string.number,
        after=ahead[-1].ref,
        before=behind[0].ref,
        ahead_v=math.fsum(item.full_v for item in ahead),
        behind_v=math.fsum(item.full_v for item in behind),
    )
