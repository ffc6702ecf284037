"""Bands of blade fuses: earliest and latest opening by family and rating."""

from __future__ import annotations

from dataclasses import dataclass

from halfshaft.standards import table
from halfshaft.studies.protection.curves import Curve


@dataclass(frozen=True, kw_only=True, slots=True)
class Band:
    """Earliest and latest opening of one fuse."""

    earliest: Curve
    latest: Curve


def blade_band(family: str, rating_a: float) -> Band | None:
    """The band of a blade fuse; None for a family that the table lacks. Source: blade_fuse_times.csv, basis row by row."""
    rows = [row for row in table("blade_fuse_times") if row["family"] == family]
    if not rows:
        return None
    return Band(earliest=_curve(rows, "time_min_s", rating_a), latest=_curve(rows, "time_max_s", rating_a))


def _curve(rows: list[dict[str, str]], column: str, rating_a: float) -> Curve:
    points = ((float(row["multiple_of_rating"]) * rating_a, float(row[column])) for row in rows if row[column])
    return Curve(points=tuple(sorted(points)))
