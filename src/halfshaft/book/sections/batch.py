"""All kits of the batch at the cutting machine: the list, how reels and lengths are cut, what each loom weighs and costs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import accumulate, groupby

from halfshaft.book.blocks import Block, Cell, bold, colour, column, heading, number, para, small, soft, table
from halfshaft.book.frame import Pages, count
from halfshaft.studies.looms.batch import BatchEnd, BatchLine, CutNeed
from halfshaft.studies.looms.cutting import Cut
from halfshaft.studies.parts_list import PartLine
from halfshaft.study import Study


def batch(study: Study, pages: Pages) -> None:
    """Everything about the batch; nothing where nothing is cut."""
    if not study.batch.lines and not study.batch.materials:
        return
    blocks = [*_cut_list(study), *_plans(study), *_pieces(study), *_looms(study), *_totals(study)]
    pages.add(f"Batch for {count(study.batch.kits, 'kit')}", blocks)


def _cut_list(study: Study) -> Iterator[Block]:
    if not study.batch.lines:
        return
    kits = "one kit" if study.batch.kits == 1 else f"{study.batch.kits} kits together"
    yield para(
        f"The wires of all looms of {kits}, in the order of the cutter: type, colour, longest first. Each line is one wire: cut the number of "
        "pieces, strip both ends, put the seal on before the terminal, and label both ends before the next line."
    )
    yield small(
        "Each end: strip in mm, terminal, seal. The label's words are those of the end “from”; at the other end they are turned round."
    )
    columns = [
        column("Colour", 22.0), column("Cut, mm", 14.0, "right"), column("Pieces", 11.0, "right"), column("Wire", 12.0), column("Loom", 9.0),
        column("From", 31.0), column("To", 31.0), column("Label", "1fr"),
    ]  # fmt: skip
    for (section, insulation), found in groupby(study.batch.lines, key=lambda line: (line.section_mm2, line.insulation_class)):
        lines = list(found)
        metres = sum((line.cut_mm or 0.0) * line.count for line in lines) / 1000
        pieces = sum(line.count for line in lines)
        yield heading(f"{section:g} mm², class {insulation}: {count(pieces, 'piece')}, {_metres_up(metres)}")
        colours = [len(list(alike)) for _, alike in groupby(lines, key=lambda line: line.colour)]
        yield table(columns, [_line(line) for line in lines], size=8.5, group=list(accumulate(colours)))


def _line(line: BatchLine) -> list[Cell]:
    return [
        colour(line.colour),
        bold("no way" if line.cut_mm is None else number(line.cut_mm)),
        bold(str(line.count)),
        bold(line.wire),
        line.loom,
        _end(line.start),
        _end(line.end),
        line.start.label.partition(" ")[2],
    ]


def _end(end: BatchEnd) -> str:
    return f"{end.strip_mm:g}  {end.terminal}{', ' + end.seal if end.seal else ''}"


def _plans(study: Study) -> Iterator[Block]:
    planned = [item for item in study.batch.materials if item.plan is not None]
    unlisted = [item for item in study.batch.materials if item.plan is None]
    if planned:
        proven = sum(item.plan is not None and item.plan.proven for item in planned)
        yield {"kind": "break"}
        yield heading("Cutting from reels, coils and lengths")
        yield para(
            f"What is on the shelf is used before anything is bought, and what is bought is the least that does. {_sureness(len(planned), proven)}"
        )
        rows: list[list[Cell]] = []
        last: list[int] = []
        for item in planned:
            rows += _plan_rows(item)
            last.append(len(rows))
        columns = [
            column("What", 26.0), column("Take", 32.0), column("Cut each into, pieces × mm", "1fr"), column("Left of each", 24.0, "right"), column("Plan", 14.0, "right"),
        ]  # fmt: skip
        yield table(columns, rows, size=8.5, group=last)
        yield small(
            f"An end of {study.conversion.shop.offcut_min_mm:g} mm or more is kept (setting of this shop): measure it, mark it and put it back into stock.csv; a shorter one is waste. "
            f"Of each length {study.conversion.shop.cut_trim_mm:g} mm at least are left over, for square ends and errors of measuring (common practice): where little more is left, measure the length before the first cut."
        )
    if unlisted:
        yield heading("No stock listed")
        rows = [
            [bold(item.need.material.full_code), _metres_up(item.need.needed_m), number(_count(item)), item.need.material.name]
            for item in unlisted
        ]
        yield table(
            [column("What", 34.0), column("Needed", "auto", "right"), column("Pieces", "auto", "right"), column("Kind", "1fr")],
            rows,
            size=8.5,
        )
        yield small("Pieces end to end, without waste. With the lengths that it is sold in listed in stock.csv there is a cutting plan.")


def _sureness(plans: int, proven: int) -> str:
    if proven == plans:
        return "Every plan is proven: no other takes less."
    return (
        f"Of {count(plans, 'plan')} {number(proven)} {'is' if proven == 1 else 'are'} proven: no other takes less. "
        "For the rest the last column says by how much a better one could take less, at most."
    )


def _metres_up(length_m: float) -> str:
    """Never less than is needed."""
    return f"{number(math.ceil(round(10 * length_m, 6)) / 10, 1)} m"


def _count(item: CutNeed) -> int:
    return sum(times for _, times in item.need.pieces)


def _plan_rows(item: CutNeed) -> Iterator[list[Cell]]:
    plan = item.plan
    assert plan is not None
    verdict: Cell = "proven" if plan.proven else bold(f"≤ {number(plan.gap_percent, 1)} %")
    cuts = [(cut, _take(cut)) for cut in plan.cuts] + [(cut, f"{_take(cut, named=False)}, MISSING") for cut in plan.missing]
    for index, (cut, take) in enumerate(cuts):
        first = index == 0
        yield [bold(item.need.material.full_code) if first else "", take, _into(cut.pieces), _left(cut), verdict if first else ""]
    if plan.too_long:
        yield [bold(item.need.material.full_code) if not cuts else "", bold("LONGER THAN ALL STOCK"), _into(plan.too_long), "", ""]


def _take(cut: Cut, *, named: bool = True) -> str:
    return f"{cut.times} × {_metres(cut.stock.length_mm)}{f', {cut.stock.ref}' if named else ''}"


def _metres(length_mm: int) -> str:
    return f"{length_mm / 1000:g} m"


def _into(pieces: Sequence[tuple[int, int]]) -> str:
    return ", ".join(f"{times}\u00a0×\u00a0{number(length)}" for length, times in pieces)


def _left(cut: Cut) -> Cell:
    if not cut.is_kept:
        return soft(f"{number(cut.left_mm)} mm")
    return f"{number(math.floor(cut.left_mm / 10) / 100, 2)} m, keep"


def _pieces(study: Study) -> Iterator[Block]:
    """Which cable, run or hose each length is for; for wires the cut list says it."""
    others = [item.need for item in study.batch.materials if item.need.material.group != "wire"]
    if not others:
        return
    yield heading("What the lengths are for")
    yield para("Cables and hoses by their number, tube and duct by the run that it covers, sleeves by the splice; mm, for one kit.")
    rows: list[list[Cell]] = [
        [
            bold(need.material.full_code),
            ", ".join(f"{piece.ref}\u00a0{number(length)}" for piece, length in need.lengths),
        ]
        for need in others
    ]
    yield table([column("What", 26.0), column("Pieces of one kit, mm", "1fr")], rows, size=8.5, group=1)


def _looms(study: Study) -> Iterator[Block]:
    costs = study.loom_costs
    if not costs:
        return
    yield heading("Weight and cost of each loom")
    rows: list[list[Cell]] = [
        [
            bold(cost.loom), cost.name, number(cost.wires), number(cost.wire_m, 1), number(cost.mass_kg, 2), number(cost.terminals), number(cost.seals),
            number(cost.plugs), number(cost.wire_eur, 2), number(cost.covering_eur, 2), number(cost.fittings_eur, 2), bold(number(cost.price_eur, 2)),
        ]
        for cost in costs
    ]  # fmt: skip
    kinds = ("wires", "wire_m", "mass_kg", "terminals", "seals", "plugs", "wire_eur", "covering_eur", "fittings_eur", "price_eur")
    decimals = (0, 1, 2, 0, 0, 0, 2, 2, 2, 2)
    sums = [sum(getattr(cost, kind) for cost in costs) for kind in kinds]
    rows.append([bold("all"), "one kit", *(bold(number(value, places)) for value, places in zip(sums, decimals, strict=True))])
    kits = study.batch.kits
    if kits > 1:
        rows.append(["", f"{kits} kits", *(number(kits * value, places) for value, places in zip(sums, decimals, strict=True))])
    columns = [
        column("Loom"), column("Name", "1fr"),
        *(column(head, "auto", "right") for head in ("Wires", "Wire, m", "kg", "Terminals", "Seals", "Plugs", "Wire", "Cover", "Ends", "EUR")),
    ]  # fmt: skip
    yield table(columns, rows, size=8.5, group=[len(costs)])
    unpriced = sorted({code for cost in costs for code in cost.unpriced})
    missing = f" Without a price and not in the sums: {', '.join(unpriced)}." if unpriced else ""
    yield small(
        "Wires and what covers them, without the mass of terminals and seals, for which the catalogue has none; prices of the catalogue by the metre and piece, without "
        f"waste, spare or work. What covers a run that looms share belongs to the first of them.{missing}"
    )


def _totals(study: Study) -> Iterator[Block]:
    """What the batch takes of everything; wire, cable and hose stand with their lengths above."""
    lines = study.batch.totals
    if not lines:
        return
    spare = study.conversion.shop.spare_terminals_percent
    yield heading(f"To have ready for {count(study.batch.kits, 'kit')}")
    rows: list[list[Cell]] = []
    last: list[int] = []
    for group, found in groupby(lines, key=lambda line: line.group):
        alike = list(found)
        if group in ("wire", "high-voltage cable", "hose"):
            rows.append(
                [
                    bold(group.capitalize()),
                    f"all together, {count(len(alike), 'kind')}",
                    f"{number(sum(line.quantity for line in alike), 1)} m",
                    "",
                    _euros(alike),
                ]
            )
        else:
            rows += [_total(line) for line in alike]
        last.append(len(rows))
    columns = [
        column("Code", 34.0),
        column("What", "1fr"),
        column("Quantity", 18.0, "right"),
        column("Spare", 14.0, "right"),
        column("EUR", 22.0, "right"),
    ]
    yield table(columns, rows, size=8.5, group=last)
    yield small(
        f"{spare:g} % spare of terminals, seals, plugs, tape and heat-shrink on the total, rounded up and in the quantity (setting of this shop, common practice)."
    )


def _total(line: PartLine) -> list[Cell]:
    places = 1 if line.unit else 0
    spare = number(line.spare, places) if line.spare else ""
    return [bold(line.code), line.name, f"{number(line.quantity, places)} {line.unit}".rstrip(), spare, _euros([line])]


def _euros(lines: Sequence[PartLine]) -> str:
    prices = [line.price_eur for line in lines if line.price_eur is not None]
    if not prices:
        return "no price"
    return number(sum(prices), 2) + ("" if len(prices) == len(lines) else " and more")
