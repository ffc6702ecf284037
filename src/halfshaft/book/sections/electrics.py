"""The fuses, and the voltage lost on the way."""

from __future__ import annotations

from halfshaft.book.blocks import (
    Cell,
    bold,
    column,
    heading,
    number,
    small,
    table,
)
from halfshaft.book.frame import Pages
from halfshaft.studies.looms.continuity import natural
from halfshaft.study import Study


def fuses(study: Study, pages: Pages) -> None:
    """Fuses with what they guard, and the voltage lost on the way to each load."""
    result, conversion = study.wires, study.conversion
    if not result.fuses:
        return
    rows: list[list[Cell]] = [
        [
            bold(fuse.ref), f"{fuse.rating_a:g}", number(fuse.current_a, 1), f"{number(100 * fuse.current_a / fuse.rating_a)} %" if fuse.rating_a else "",
            fuse.case, ", ".join(fuse.wires), ", ".join(conversion.load[load].name for load in fuse.loads),
        ]
        for fuse in sorted(result.fuses, key=lambda item: natural(item.ref))
    ]  # fmt: skip
    columns = [
        column("Fuse"),
        column("A", "auto", "right"),
        column("Carries, A", "auto", "right"),
        column("Share", "auto", "right"),
        column("In the case", 24.0),
        column("Wires behind it", 44.0),
        column("Loads", "1fr"),
    ]
    limit = conversion.shop.voltage_drop_max_percent
    drops: list[list[Cell]] = [
        [
            bold(drop.load),
            ", ".join(drop.wires),
            number(drop.length_m, 1),
            drop.case,
            number(drop.drop_v, 2),
            number(drop.drop_percent, 1),
            number(drop.hot_drop_percent, 1),
            f"{limit:g}",
        ]
        for drop in sorted(result.drops, key=lambda item: -item.drop_percent)
    ]
    drop_columns = [
        column("Load", 36.0),
        column("Wires behind the fuse", "1fr"),
        column("m", "auto", "right"),
        column("Worst case", 24.0),
        column("V", "auto", "right"),
        column("%", "auto", "right"),
        column("% hot", "auto", "right"),
        column("Limit", "auto", "right"),
    ]
    blocks = [
        small("First checks only: hot surroundings and heating in a bundle are under Heating of wires and cables; how fast a fuse opens and short circuits are not judged. Qualified people and local rules decide."),
        table(columns, rows, size=8.5),
        small(f"Carries: all loads that the case names at once, steady, starting peaks left out. Limit {100 * conversion.shop.fuse_load_share_max:.0f} % of the rating (setting of this shop, common practice)."),
        heading("Voltage lost on the way"),
        table(drop_columns, drops, size=8.5),
        small(f"Copper of supply and ground wires behind the fuse, of {conversion.supply.voltage_v:g} V, at {conversion.shop.drop_temperature_c:g} °C; hot: each wire at the hottest zone that it passes, with 0.00393 per kelvin (published: IEC 60028)."),
    ]  # fmt: skip
    pages.add("Fuses and voltage drop", blocks)
