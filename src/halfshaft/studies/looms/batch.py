"""All kits of a batch cut together: the list for the cutter, and how reels, coils and lengths are cut."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import HV_CAUTION, Basis, Finding
from halfshaft.model.wires import StockLength
from halfshaft.studies.looms.cutting import CuttingPlan, StockKind, cut_stock
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.materials import Material, Piece, materials
from halfshaft.studies.parts_list import PartLine, loom_lines
from halfshaft.studies.wires.study import WireEnd, WiresResult

ONE_PIECE = Basis("common practice", "a piece is cut from one length")


@dataclass(frozen=True, kw_only=True, slots=True)
class BatchEnd:
    """One end of a wire at the cutting machine: how far it is stripped, what goes on it, what its label says."""

    strip_mm: float
    terminal: str
    seal: str
    label: str


@dataclass(frozen=True, kw_only=True, slots=True)
class BatchLine:
    """One wire, for all kits. `cut_mm` is None where the wire has no way."""

    section_mm2: float
    insulation_class: str
    colour: str
    cut_mm: float | None
    count: int
    wire: str
    loom: str
    start: BatchEnd
    end: BatchEnd


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """One material for all kits: pieces with their counts, longest first, in mm rounded up, and the stock to cut them from."""

    material: Material
    kits: int
    pieces: tuple[tuple[int, int], ...]
    stock: tuple[StockKind, ...]

    @property
    def lengths(self) -> tuple[tuple[Piece, int], ...]:
        """Pieces of one kit with their lengths as they are cut."""
        return tuple((piece, _whole(piece.length_mm)) for piece in self.material.pieces)

    @property
    def needed_m(self) -> float:
        """All pieces together."""
        return sum(length * count for length, count in self.pieces) / 1000


@dataclass(frozen=True, kw_only=True, slots=True)
class CutNeed:
    """A material with its cutting plan; without one where no stock of it is listed."""

    need: Need
    plan: CuttingPlan | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Batch:
    """Everything that is cut for so many kits, and what is bought for them with the spare on the total."""

    kits: int
    lines: tuple[BatchLine, ...]
    materials: tuple[CutNeed, ...]
    totals: tuple[PartLine, ...]


def study_batch(conversion: Conversion, routing: Routing, wires: WiresResult, needs: tuple[Need, ...]) -> Batch:
    """The whole batch; cutting plans are searched for here."""
    kits = conversion.job.kits
    return Batch(
        kits=kits,
        lines=tuple(_lines(routing, wires, kits)),
        materials=tuple(CutNeed(need=need, plan=_plan(conversion, need)) for need in needs),
        totals=tuple(loom_lines(conversion, routing, wires, kits=kits)),
    )


def _lines(routing: Routing, wires: WiresResult, kits: int) -> Iterator[BatchLine]:
    """Sorted for the cutter: by section, insulation and colour, so that a reel goes on once; then the longest first."""
    ends = {(end.wire, end.pin): end for end in wires.ends}

    def order(ref: str) -> tuple[float, str, str, float]:
        laid = routing.wires[ref]
        cut_mm = laid.length.cut_mm if laid.length else math.inf
        return (laid.wire.section_mm2, laid.wire.insulation_class, laid.wire.colour, -cut_mm)

    for ref in sorted(routing.wires, key=order):
        laid, wire = routing.wires[ref], routing.wires[ref].wire
        yield BatchLine(
            section_mm2=wire.section_mm2,
            insulation_class=wire.insulation_class,
            colour=wire.colour,
            cut_mm=laid.length.cut_mm if laid.length else None,
            count=kits,
            wire=ref,
            loom=wire.loom,
            start=_end(ends[ref, wire.from_pin], wire.to_pin),
            end=_end(ends[ref, wire.to_pin], wire.from_pin),
        )


def _end(end: WireEnd, other_pin: str) -> BatchEnd:
    return BatchEnd(
        strip_mm=end.terminal.strip_mm,
        terminal=end.terminal.ref,
        seal=end.seal.ref if end.seal else "",
        label=f"{end.wire} {end.pin} → {other_pin}",
    )


def needs_of(conversion: Conversion, routing: Routing) -> tuple[Need, ...]:
    """What is cut to pieces, material by material, each with its rows of the stock."""
    kits = conversion.job.kits
    return tuple(
        Need(material=material, kits=kits, pieces=_pieces(material, kits), stock=tuple(_stock(conversion.stock, material)))
        for material in materials(conversion, routing)
        if material.is_cut
    )


def _pieces(material: Material, kits: int) -> tuple[tuple[int, int], ...]:
    counts: Counter[int] = Counter()
    for piece in material.pieces:
        counts[_whole(piece.length_mm)] += kits
    return tuple(sorted(counts.items(), reverse=True))


def _whole(length_mm: float) -> int:
    """Never short: only a ten-thousandth of a millimetre is taken for an error of arithmetic."""
    return math.ceil(length_mm - 1e-4)


def _stock(stock: tuple[StockLength, ...], material: Material) -> Iterator[StockKind]:
    for row in stock:
        if row.item in (material.code, material.full_code):
            yield StockKind(ref=row.ref, length_mm=math.floor(row.length_mm), pieces=row.pieces, price_eur=row.price_eur)


def _plan(conversion: Conversion, need: Need) -> CuttingPlan | None:
    if not need.stock:
        return None
    shop = conversion.shop
    return cut_stock(dict(need.pieces), need.stock, trim_mm=math.ceil(shop.cut_trim_mm), offcut_min_mm=shop.offcut_min_mm)


def longer_than_stock(conversion: Conversion, needs: tuple[Need, ...]) -> Iterator[Finding]:
    """A piece is longer than every length in which its material is listed."""
    for need in needs:
        longest_mm = max((kind.length_mm for kind in need.stock), default=0)
        room_mm = longest_mm - math.ceil(conversion.shop.cut_trim_mm)
        too_long = [(length, piece.ref) for piece, length in need.lengths if length > room_mm]
        if not need.stock or not too_long:
            continue
        refs = tuple(ref for _, ref in sorted(too_long, key=lambda item: -item[0]))
        yield Finding(
            rule="looms.longer-than-stock",
            level="fix",
            about=(need.material.code, *refs),
            text=f"{need.material.code} is in stock in lengths of up to {_metres(longest_mm)}, but {refs[0]} takes {_metres(need.pieces[0][0])} in one piece: "
            "list a longer length in stock.csv, or part it with a connector.",
            value=need.pieces[0][0],
            limit=room_mm,
            unit="mm",
            basis=ONE_PIECE,
            caution=_caution(need),
        )


def stock_short(batch: Batch) -> Iterator[Finding]:
    """The shelf holds too little of a material, and no new length is listed."""
    for item in batch.materials:
        if item.plan is None or not item.plan.missing:
            continue
        need, missing = item.need, sum(cut.times for cut in item.plan.missing)
        lengths = "one more length" if missing == 1 else f"{missing} more lengths"
        yield Finding(
            rule="looms.stock-short",
            level="fix",
            about=(need.material.code,),
            text=f"The stock of {need.material.code} does not do for {_kits(batch.kits)}: {lengths} of "
            f"{_metres(item.plan.missing[0].stock.length_mm)} would; buy them, or leave `pieces` blank for a length that can be had at any time.",
            value=missing,
            limit=0,
            unit="lengths",
            basis=ONE_PIECE,
            caution=_caution(need),
        )


def _kits(kits: int) -> str:
    return "one kit" if kits == 1 else f"{kits} kits"


def _metres(length_mm: float) -> str:
    return f"{length_mm / 1000:g} m"


def _caution(need: Need) -> str:
    return HV_CAUTION if need.material.group == "high-voltage cable" else ""
