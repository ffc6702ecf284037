"""Small changes to a conversion, and what a case of a rule is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Connector
from halfshaft.model.references import key_of
from halfshaft.model.wires import BoardWay
from halfshaft.study import Study
from support import changed

Change = Callable[[Conversion], Conversion]


def kept(loom: str) -> Change:
    """The board of a loom kept as it is laid now."""
    return lambda conversion: Study(conversion).with_board_kept(loom)


def turned(loom: str, from_node: str, to_node: str, heading_deg: float) -> Change:
    """A stretch of a board turned by hand."""
    return more("board_ways", BoardWay(loom=loom, from_node=from_node, to_node=to_node, set_by="hand", heading_deg=heading_deg))


def row(table: str, key: Any, **fields: Any) -> Change:
    """One row of a table, or of the head, with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        rows = [record.model_copy(update=fields) if key_of(table, record) == key else record for record in getattr(conversion, table)]
        assert rows != list(getattr(conversion, table)), f"{key} of {table} was so already"
        return changed(conversion, **{table: tuple(rows)})

    return change


def without(table: str, *keys: Any) -> Change:
    """A table less some rows."""

    def change(conversion: Conversion) -> Conversion:
        rows = tuple(record for record in getattr(conversion, table) if key_of(table, record) not in keys)
        assert len(rows) == len(getattr(conversion, table)) - len(keys)
        return changed(conversion, **{table: rows})

    return change


def more(table: str, *records: Any) -> Change:
    """A table with rows added."""
    return lambda conversion: changed(conversion, **{table: (*getattr(conversion, table), *records)})


def car(**fields: Any) -> Change:
    """The donor car, or its plate (`limits`), with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        own = {name: value for name, value in fields.items() if name in type(conversion.car).model_fields}
        plate = {name: value for name, value in fields.items() if name not in own}
        return changed(conversion, car=conversion.car.model_copy(update={"limits": conversion.car.limits.model_copy(update=plate), **own}))

    return change


def inside(part: str, element: str, **fields: Any) -> Change:
    """A part with one of its inner elements changed, or taken out where no field is given."""

    def change(conversion: Conversion) -> Conversion:
        elements = [item.model_copy(update=fields) if item.ref == element else item for item in conversion.part[part].inside]
        kept = tuple(item for item in elements if fields or item.ref != element)
        return row("parts", part, inside=kept)(conversion)

    return change


def plug(part: str, ref: str, **fields: Any) -> Change:
    """A part with one of its connectors changed."""

    def change(conversion: Conversion) -> Conversion:
        made = tuple(item.model_copy(update=fields) if item.ref == ref else item for item in conversion.part[part].connectors)
        return row("parts", part, connectors=made)(conversion)

    return change


def box(ref: str, **fields: Any) -> Change:
    """A battery box with some of its faces elsewhere."""
    return row("boxes", ref, **fields)


def item(ref: str, **fields: Any) -> Change:
    """A device of an enclosure with some fields others."""
    return row("enclosure_items", ref, **fields)


def module(box_ref: str, ref: str, **fields: Any) -> Change:
    """One module of a box with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        owner = next(item for item in conversion.boxes if item.ref == box_ref)
        modules = tuple(item.model_copy(update=fields) if item.ref == ref else item for item in owner.modules)
        return box(box_ref, modules=modules)(conversion)

    return change


def foot(box_ref: str, *refs: str, **fields: Any) -> Change:
    """Some feet of a box with some fields others."""

    def change(conversion: Conversion) -> Conversion:
        owner = next(item for item in conversion.boxes if item.ref == box_ref)
        mounts = tuple(item.model_copy(update=fields) if item.ref in refs else item for item in owner.mounts)
        return box(box_ref, mounts=mounts)(conversion)

    return change


def renamed(box_ref: str, ref: str, mark: str) -> Change:
    """One module of a box with another mark."""

    def change(conversion: Conversion) -> Conversion:
        owner = next(item for item in conversion.boxes if item.ref == box_ref)
        modules = tuple(item.model_copy(update={"ref": mark}) if item.ref == ref else item for item in owner.modules)
        return box(box_ref, modules=modules)(conversion)

    return change


def pack(**fields: Any) -> Change:
    """The pack's settings with some others."""
    return lambda conversion: changed(conversion, pack=conversion.pack.model_copy(update=fields))


def all_in_string(number: int) -> Change:
    """Every module in a string of another number."""

    def change(conversion: Conversion) -> Conversion:
        moved = [[item.model_copy(update={"string": number}) for item in owner.modules] for owner in conversion.boxes]
        boxes = [owner.model_copy(update={"modules": tuple(items)}) for owner, items in zip(conversion.boxes, moved, strict=True)]
        return changed(conversion, boxes=tuple(boxes))

    return change


def no_bars(conversion: Conversion) -> Conversion:
    """Neither bars nor joints described."""
    return changed(conversion, busbars=(), joints=())


def board_part(change: Callable[[Connector], Connector | None]) -> Change:
    """The sense board with its connectors changed, or left out."""

    def with_connectors(conversion: Conversion) -> Conversion:
        made = tuple(new for item in conversion.part["AT-SENSE"].connectors if (new := change(item)) is not None)
        return row("parts", "AT-SENSE", connectors=made)(conversion)

    return with_connectors


def plugs_of_board(*refs: str) -> Change:
    """The sense board with these connectors only."""
    return board_part(lambda item: item if item.ref in refs else None)


def taps_of_plug(ref: str, taps: int) -> Change:
    """The sense board with only so many ways for taps in one of its plugs."""

    def change(item: Connector) -> Connector:
        ways = [cavity for cavity in item.cavities if cavity.role == "cell_tap"][:taps]
        kept = tuple(cavity for cavity in item.cavities if cavity.role != "cell_tap" or cavity in ways)
        return item.model_copy(update={"cavities": kept}) if item.ref == ref else item

    return board_part(change)


def high_voltage(**fields: Any) -> Change:
    """What switches the pack on and off, with some fields others."""
    return lambda conversion: changed(conversion, high_voltage=conversion.high_voltage.model_copy(update=fields))


def supply(**fields: Any) -> Change:
    """The 12 V side with some fields others."""
    return lambda conversion: changed(conversion, supply=conversion.supply.model_copy(update=fields))


def shop(**fields: Any) -> Change:
    """The shop's own settings with some others."""
    return lambda conversion: changed(conversion, shop=conversion.shop.model_copy(update=fields))


def fan_draws(current_a: float) -> Change:
    """The radiator fan with another current in every case."""

    def change(conversion: Conversion) -> Conversion:
        rows = [item.model_copy(update={"steady_a": current_a}) if item.load == "FAN.motor" else item for item in conversion.case_loads]
        return changed(conversion, case_loads=tuple(rows))

    return change


@dataclass(frozen=True, kw_only=True)
class Case:
    """A rule, what to change so that it is raised, and what one of its findings must then hold.

    `near` is in its unit; `also`: rules that follow; `beside`: of a rule about boards, what is said of the loom at the same time.
    """

    rule: str
    do: tuple[Change, ...]
    level: str
    about: tuple[str, ...]
    basis: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    near: float = 1e-6
    count: int = 1
    caution: str = ""
    also: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.rule} {self.about[0]}"
