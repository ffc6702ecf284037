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
from halfshaft.book.frame import DEFER, Pages
from halfshaft.book.sections.protection import fuse_blocks
from halfshaft.study import Study


def fuses(study: Study, pages: Pages) -> None:
    """Fuses with what they guard, and the voltage lost on the way to each load."""
    result, conversion = study.wires, study.conversion
    if not result.fuses:
        return
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
        *fuse_blocks(study),
        heading("Voltage lost on the way"),
        table(drop_columns, drops, size=8.5),
        small(f"Copper of supply and ground wires behind the fuse, of {conversion.supply.voltage_v:g} V, at {conversion.shop.drop_temperature_c:g} °C; hot: each wire at the hottest zone that it passes, with 0.00393 per kelvin (published: IEC 60028). {DEFER}"),
    ]  # fmt: skip
    pages.add("Fuses and voltage drop", blocks)
