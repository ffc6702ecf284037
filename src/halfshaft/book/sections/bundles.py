"""How thick each bundle is, and what covers it."""

from __future__ import annotations

from halfshaft.book.blocks import Block, Cell, bold, column, heading, number, para, small, table
from halfshaft.book.frame import Pages
from halfshaft.model.parts import Covering
from halfshaft.studies.looms.coverings import CoveredRun
from halfshaft.study import Study


def bundles(study: Study, pages: Pages) -> None:
    """Runs, splices and grommets with what is in them."""
    blocks = [*_runs(study), *_splices(study), *_grommets(study)]
    if blocks:
        shop = study.conversion.shop
        blocks.append(
            small(
                f"Bundle: {shop.looseness:g} × the least circle found round its wires (setting of this shop, common practice; not for one or two); a twisted pair counts as one. The search proves no best circle: the true one may be a few per cent less, never more. Fill by area; at most what the catalogue gives, else 70 % (published: a conduit maker's design guide); grommets {shop.grommet_fill_max_percent:g} %."
            )
        )
        pages.add("Bundles and coverings", [para("What is threaded on is threaded on before the plugs: see that it passes them."), *blocks])


def _runs(study: Study) -> list[Block]:
    covered = {item.run.ref: item for item in study.coverings.runs}
    rows: list[list[Cell]] = []
    for loom in study.routing.looms:
        for run in loom.runs:
            length, item = study.routing.run_lengths[run.run], covered[run.run]
            rows.append(
                [
                    bold(loom.loom.ref), run.run, run.start, run.end, number(length.length_mm), number(length.straight_mm),
                    "" if length.taped_mm is None else number(length.taped_mm), str(len(run.wires)), number(run.bundle_mm, 1),
                    number(item.bundle_mm, 1) if len(item.passing) > len(run.wires) else "", *_covering(item),
                ]
            )  # fmt: skip
    columns = [
        column("Loom"), column("Run"), column("From"), column("To"), column("Length, mm", "auto", "right"), column("Straight", "auto", "right"),
        column("Taped", "auto", "right"), column("Wires", "auto", "right"), column("Bundle, mm", "auto", "right"), column("With all in it", "auto", "right"),
        column("Covering", "1fr"), column("Fill, %", "auto", "right"), column("Tube that would do", "auto"),
    ]  # fmt: skip
    return [heading("Runs"), table(columns, rows, size=8.5)] if rows else []


def _covering(item: CoveredRun) -> tuple[Cell, Cell, Cell]:
    """What is named, how full it is, and the smallest tube."""
    fill = "" if item.fill_percent is None else number(item.fill_percent)
    return (item.named.ref if item.named else "", fill, _or_none(item.smallest))


def _or_none(covering: Covering | None) -> str:
    return "none" if covering is None else covering.ref


def _splices(study: Study) -> list[Block]:
    rows: list[list[Cell]] = [
        [
            bold(item.splice.ref),
            item.splice.loom,
            number(item.joint_mm, 1),
            item.named.ref if item.named else "",
            f"{item.named.bore_mm:g}" if item.named and item.named.bore_mm else "",
            _or_none(item.smallest),
        ]
        for item in study.coverings.splices
    ]
    columns = [
        column("Splice"),
        column("Loom"),
        column("Thicker side, mm", "auto", "right"),
        column("Sleeve", "1fr"),
        column("Its bore, mm", "auto", "right"),
        column("Sleeve that would do"),
    ]
    note = small("A sleeve as supplied is larger than the largest part that it goes over (published: NASA-STD-8739.4, p. 47).")
    return [heading("Splices"), table(columns, rows, size=8.5), note] if rows else []


def _grommets(study: Study) -> list[Block]:
    rows: list[list[Cell]] = [
        [
            bold(item.grommet.ref),
            item.grommet.panel,
            str(len(item.passing)),
            number(item.bundle_mm, 1) if item.is_shared else number(item.thickest_mm, 1),
            f"{item.grommet.holes} × {item.grommet.bore_mm:g}" if item.grommet.holes > 1 else f"{item.grommet.bore_mm:g}",
            number(item.fill_percent) if item.is_shared else "",
            number(item.least_bore_mm if item.is_shared else item.thickest_mm, 1),
        ]
        for item in study.coverings.grommets
    ]
    columns = [
        column("Grommet"),
        column("Panel", "1fr"),
        column("Passes", "auto", "right"),
        column("Bundle or thickest, mm", "auto", "right"),
        column("Bore, mm", "auto", "right"),
        column("Fill, %", "auto", "right"),
        column("Least bore, mm", "auto", "right"),
    ]
    return [heading("Grommets"), table(columns, rows, size=8.5)] if rows else []
