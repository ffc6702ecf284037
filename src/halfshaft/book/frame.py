"""What the sections of the book share: the cautions, the gathering of pages, small words."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from halfshaft.book.blocks import (
    Block,
)
from halfshaft.drawings.shapes import Drawing
from halfshaft.study import Study

DEFER = "Local rules and qualified people decide."


HV_WARNING = (
    "High voltage. Contact can kill or burn. For trained people only: service disconnect out and locked, wait as long as the makers of the "
    "inverter and charger say, then prove dead between the poles and from each pole to the body, with a meter tried before and after. "
    "The disconnect does not make the battery dead: every box and the cables plugged to it stay live. " + DEFER
)


BATTERY_WARNING = (
    "Battery modules are live at all times, heavy, and burn if crushed or shorted. Lift them with two people or a hoist, "
    "cover open poles, keep metal tools and rings away. " + DEFER
)


LIFT_WARNING = (
    "A car or a motor that falls kills. Use stands on firm ground and a hoist rated for the load; nothing here replaces them. " + DEFER
)


APPROVAL_NOTICE = (
    "Road approval, axle loads, brakes and structure are judged by the authority of the place where the car is registered. "
    "This book is a description, not a permission. " + DEFER
)


@dataclass(slots=True)
class Pages:
    """Sections being gathered, with the pictures that they name."""

    sections: list[dict[str, Any]] = field(default_factory=list)
    pictures: dict[str, Drawing] = field(default_factory=dict)

    def add(self, title: str, blocks: list[Block], *, hv: bool = False, every_page: str = "") -> None:
        """A section; it starts a page. `every_page` stands at the foot of each of its pages."""
        self.sections.append({"title": title, "hv": hv, "every_page": every_page, "blocks": blocks})


def board_number(study: Study, loom: str) -> str:
    """The number of a board's drawing: conversion, LB for loom board, loom."""
    return f"{study.conversion.job.ref}-LB-{loom}"


def count(number_of: int, one: str, several: str = "") -> str:
    """`1 box`, `3 boxes`."""
    return f"{number_of} {one if number_of == 1 else several or one + 's'}"
