"""What is taken on a board, kept as rows of bits: laying a thing and asking whether it fits are a few machine words each.

A thing is widened by half a cell's diagonal before it is drawn into the cells, so two things that touch always meet in
a cell. What the cells call free is free.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfshaft.studies.looms.geometry import Place

# Cells are counted from here, so that a place left of or below the origin still has a positive number.
_SHIFT = 4096

Stamp = dict[int, int]


@dataclass(frozen=True, slots=True)
class Grid:
    """Square cells of one size, and how shapes are drawn into them."""

    cell_mm: float

    def line(self, corners: Sequence[Place], half_width_mm: float) -> Stamp:
        """A stamp of a line of points with round ends."""
        stamp: Stamp = {}
        for start, end in itertools.pairwise(corners):
            self._stroke(stamp, start, end, half_width_mm)
        return stamp

    def disc(self, centre: Place, radius_mm: float) -> Stamp:
        """A stamp of a disc."""
        cell, reach = self.cell_mm, (radius_mm + self.cell_mm * 0.70711) / self.cell_mm
        x, y = centre[0] / cell - 0.5, centre[1] / cell - 0.5
        stamp: Stamp = {}
        for row in self._rows(centre[1] - reach * cell, centre[1] + reach * cell):
            half = math.sqrt(max(reach * reach - (row - y) ** 2, 0.0))
            first, last = math.ceil(x - half) + _SHIFT, math.floor(x + half) + _SHIFT
            if last >= first:
                stamp[row] = ((1 << (last - first + 1)) - 1) << first
        return stamp

    def box(self, left: float, bottom: float, right: float, top: float) -> Stamp:
        """A stamp of an upright rectangle."""
        wider_mm = self.cell_mm * 0.70711
        mask = self._mask(left - wider_mm, right + wider_mm)
        return dict.fromkeys(self._rows(bottom - wider_mm, top + wider_mm), mask) if mask else {}

    def polygon(self, corners: Sequence[Place]) -> Stamp:
        """A stamp of a convex polygon."""
        wider_mm = self.cell_mm * 0.70711
        edges = [
            (here, there) if here[1] <= there[1] else (there, here) for here, there in zip(corners, (*corners[1:], corners[0]), strict=True)
        ]
        stamp: Stamp = {}
        for row in self._rows(min(y for _, y in corners) - wider_mm, max(y for _, y in corners) + wider_mm):
            # All of the polygon that is within reach of this row, above and below.
            low, high = (row + 0.5) * self.cell_mm - wider_mm, (row + 0.5) * self.cell_mm + wider_mm
            left, right = 1e18, -1e18
            for (x0, y0), (x1, y1) in edges:
                if y0 <= high and y1 >= low:
                    slope = (x1 - x0) / (y1 - y0) if y1 > y0 else 0.0
                    for x in (x0 + (low - y0) * slope if y0 < low else x0, x1 - (y1 - high) * slope if y1 > high else x1):
                        left, right = min(left, x), max(right, x)
            if right >= left:
                stamp[row] = self._mask(left - wider_mm, right + wider_mm)
        return stamp

    def outside(self, stamp: Stamp, left_mm: float, bottom_mm: float, right_mm: float, top_mm: float) -> int:
        """How many cells of a stamp lie outside an upright rectangle."""
        rows, mask = self._rows(bottom_mm, top_mm), self._mask(left_mm, right_mm)
        return sum((cells & ~mask if row in rows else cells).bit_count() for row, cells in stamp.items())

    def _mask(self, left_mm: float, right_mm: float) -> int:
        """Bits of the cells whose centres lie between two x."""
        first = math.ceil(left_mm / self.cell_mm - 0.5) + _SHIFT
        last = math.floor(right_mm / self.cell_mm - 0.5) + _SHIFT
        return ((1 << (last - first + 1)) - 1) << first if last >= first else 0

    def _rows(self, low_mm: float, high_mm: float) -> range:
        return range(math.ceil(low_mm / self.cell_mm - 0.5), math.floor(high_mm / self.cell_mm - 0.5) + 1)

    def _stroke(self, stamp: Stamp, start: Place, end: Place, half_width_mm: float) -> None:
        half = half_width_mm + self.cell_mm * 0.70711
        if start[0] == end[0] or start[1] == end[1]:
            self._upright(stamp, start, end, half)
            return
        low, high = (start, end) if start[1] <= end[1] else (end, start)
        rise = high[1] - low[1]
        length = math.hypot(rise, high[0] - low[0])
        # In the rows between the round ends the strip is cut straight across, and one slanted line gives them all.
        overhang = half * abs(high[0] - low[0]) / length if length else 0.0
        inner = self._rows(low[1] + overhang, high[1] - overhang) if rise > 2 * overhang else range(0)
        for row in self._rows(low[1] - half, high[1] + half):
            if row not in inner:
                mask = self._end_mask((row + 0.5) * self.cell_mm, low, high, half, length)
                if mask:
                    stamp[row] = stamp.get(row, 0) | mask
        if inner:
            self._strip(stamp, inner, low, (high[0] - low[0]) / rise, half * length / rise)

    def _upright(self, stamp: Stamp, start: Place, end: Place, half: float) -> None:
        """A level or upright line; its ends are taken as square, which is quicker and takes a little more."""
        mask = self._mask(min(start[0], end[0]) - half, max(start[0], end[0]) + half)
        if mask:
            for row in self._rows(min(start[1], end[1]) - half, max(start[1], end[1]) + half):
                stamp[row] = stamp.get(row, 0) | mask

    def _strip(self, stamp: Stamp, rows: range, low: Place, slope: float, reach_mm: float) -> None:
        cell = self.cell_mm
        left = (low[0] - reach_mm - slope * low[1]) / cell + 0.5 * slope + _SHIFT - 0.5
        width = 2 * reach_mm / cell
        get, ceil, floor = stamp.get, math.ceil, math.floor
        for row in rows:
            x = left + slope * row
            first = ceil(x)
            stamp[row] = get(row, 0) | ((1 << (floor(x + width) - first + 1)) - 1) << first

    def _end_mask(self, y: float, low: Place, high: Place, half: float, length: float) -> int:
        """The cells of one row of a line with round ends, wherever the row cuts it."""
        left, right = 1e18, -1e18
        for x, end_y in (low, high):
            reach2 = half * half - (y - end_y) ** 2
            if reach2 >= 0:
                reach = math.sqrt(reach2)
                left, right = min(left, x - reach), max(right, x + reach)
        rise, run = high[1] - low[1], high[0] - low[0]
        if rise:
            nx, ny = -rise / length * half, run / length * half
            for x, foot in ((low[0] + nx, low[1] + ny), (low[0] - nx, low[1] - ny)):
                if 0 <= (y - foot) / rise <= 1:
                    x += (y - foot) * run / rise
                    left, right = min(left, x), max(right, x)
        elif length and abs(y - low[1]) <= half:
            left, right = min(left, low[0], high[0]), max(right, low[0], high[0])
        return self._mask(left, right) if right >= left else 0


@dataclass(frozen=True, slots=True)
class Taken:
    """Cells that are taken, row by row. Never changed: taking more makes a new one."""

    rows: Stamp

    def meets(self, stamp: Stamp, *, but: Stamp | None = None) -> bool:
        """Whether a stamp touches anything taken, cells of `but` left aside."""
        rows = self.rows
        if but is None:
            return any(row in rows and mask & rows[row] for row, mask in stamp.items())
        return any(row in rows and mask & rows[row] & ~but.get(row, 0) for row, mask in stamp.items())

    def overlap(self, stamp: Stamp, *, but: Stamp) -> int:
        """How many taken cells a stamp covers, cells of `but` left aside."""
        rows = self.rows
        return sum((mask & rows[row] & ~but.get(row, 0)).bit_count() for row, mask in stamp.items() if row in rows)

    def plus(self, stamps: Iterable[Stamp]) -> Taken:
        """These cells and those of further stamps."""
        rows = dict(self.rows)
        for stamp in stamps:
            for row, mask in stamp.items():
                rows[row] = rows.get(row, 0) | mask
        return Taken(rows)
